"""Dyed yarn put into an idle heater before other work begins, where that costs little."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, cast

from dyeday.ahead.advising.wishes import holding, put_first
from dyeday.ahead.followed_rows import followed
from dyeday.ahead.from_day import BRIEF_MIN
from dyeday.ahead.kernel.problem import Problem, Row
from dyeday.plan.step_ids import StepId
from dyeday.terms import AdviceAction, State, StepKind
from dyeday.track.day.day_state import Day

if TYPE_CHECKING:
    from dyeday.ahead.foreseen_steps import Forecast, Planned

MOST_LATER = timedelta(minutes=5)
"""by which the day may end later for that"""


def loads_that_wait(forecast: Forecast, day: Day) -> list[Planned]:
    """Return the loads of dyed yarn that the forecast has more than `BRIEF_MIN` after its first step.

    None while the dyer's own choice, a load or an unloading comes first, nor of yarn that others join in its heat.
    """
    steps = forecast.next_steps
    chosen = any(wish.what is AdviceAction.THIS_FIRST for wish in holding(day, forecast.problem.batches).values())
    if chosen or not steps or steps[0].kind in (StepKind.LOAD, StepKind.UNLOAD):
        return []
    firsts: dict[str, Planned] = {}
    for step in steps:
        firsts.setdefault(step.batch, step)
    heats = [step for step in forecast.steps if step.kind is StepKind.HEAT]
    late = steps[0].start + timedelta(minutes=BRIEF_MIN)
    dyed = {batch.no for batch in day.batches.values() if batch.state in (State.PAINT, State.FIX)}
    loads = [step for step in firsts.values() if step.kind is StepKind.LOAD and step.start > late]
    loads = [load for load in loads if load.batch in dyed and not _is_shared(load, heats)]
    return sorted(loads, key=lambda load: (day.batches[load.batch].state is State.PAINT, load.start))


def _is_shared(load: Planned, heats: Sequence[Planned]) -> bool:
    own = next((heat for heat in heats if heat.owner == load.owner and heat.id.heat == load.id.heat), None)
    together = (heat for heat in heats if heat.unit == load.unit and heat.owner != load.owner)
    return own is None or any(own.start < heat.start < own.end for heat in together)


def linked_first(problem: Problem, load: Planned) -> Problem:
    """Return the problem with the links of `put_first` for ``load``."""
    wanted = next(batch for batch in problem.batches if batch.id == load.owner)
    return replace(problem, links=(*problem.links, *put_first(wanted, problem.batches, problem.links)))


def brought_forward(problem: Problem, objective: int, rows: Sequence[Row], load: Planned) -> Sequence[Row] | None:
    """Return a schedule in the order of ``rows``, but with ``load`` and its heat first; None if that cannot be."""
    attended = [row for row in rows if row.attended]
    was = next((row for row in attended if (row.batch, row.step) == load.key), None)
    if was is None:
        return None
    sooner = was.start - problem.now + 1
    moved = [replace(row, start=row.start - sooner) if _is_of_heat(row, load) else row for row in rows]
    answer = followed(problem, objective, moved, sooner=True)
    rows = answer.rows if answer is not None else ()
    return rows if any((row.batch, row.step) == load.key and row.start <= attended[0].start for row in rows) else None


def _is_of_heat(row: Row, load: Planned) -> bool:
    step = cast(StepId, row.step)
    return row.batch == load.owner and (step.layer, step.heat) == (load.id.layer, load.id.heat)


def costs_little(other: Forecast, forecast: Forecast) -> bool:
    """Return whether another forecast ends at most `MOST_LATER` later, and is worse in nothing that counts more."""
    ours, theirs = forecast.advised.value, other.advised.value
    return (
        other.reached >= forecast.reached
        and other.finish <= forecast.finish + MOST_LATER
        and (theirs.late, theirs.missed) <= (ours.late, ours.missed)
        and theirs.end <= ours.end + MOST_LATER.total_seconds() / 60
    )
