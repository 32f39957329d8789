"""Which steps of a forecast are still to be done, since a forecast lags behind the entries."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, cast

from dyeday.plan.step_ids import ChoreId, StepId
from dyeday.terms import State, StepKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.flags.exhausting import needs_heat

if TYPE_CHECKING:
    from dyeday.ahead.foreseen_steps import Forecast, Planned

LONGEST_SOAK = timedelta(hours=24)
"""a soak that begins earlier before its dye is not advised yet; common practice, no source"""
SEEN = 3
"""lines of what to do next that the smallest usual screen shows"""
_AFTER_HEAT = (State.COOL, State.RINSE, State.DRY)


def to_do(step: Planned, day: Day) -> bool:
    """Return whether an attended step is still to be done: not under way or done, nor of a finished batch."""
    if step.is_chore and (day.has_done(step.batch, chore_of(step)) or day.chore_begun(step.batch, chore_of(step))):
        return False
    if (batch := day.batches.get(step.batch)) is None:
        return True
    return batch.is_unfinished and not _is_begun(step, batch, day)


def changed_since(then: Day, day: Day) -> set[str]:
    """Return the batches that entries have changed between ``then`` and ``day``, their units, and those broken down.

    A tank filled, water or acid in a unit leaves what comes into it as it was.
    """
    if then is day:
        return set()
    units = {
        name for name, unit in day.units.items() if name not in then.units or then.units[name].is_down != unit.is_down
    }
    changed = [(no, batch, then.batches.get(no)) for no, batch in day.batches.items()]
    changed = [(no, new, old) for no, new, old in changed if new != old]
    around = (one.unit for _, *both in changed for one in both if one is not None and one.unit is not None)
    return {*units, *(no for no, _, _ in changed), *around}


def chore_of(step: Planned) -> StepId | ChoreId:
    """Return the chore of a step, as the day's entries identify it."""
    return step.owner if isinstance(step.owner, ChoreId) else step.id


def soaks_from(step: Planned, forecast: Forecast) -> datetime | None:
    """Return when a soak should begin whose load is foreseen to be too early; None for any other step."""
    if step.kind is not StepKind.SOAK_LOAD:
        return None
    dyed = (s.start for s in forecast.steps if s.owner == step.owner and s.kind.puts_dye_on and s.start >= step.end)
    since = next(dyed, step.end) - LONGEST_SOAK
    return since if step.start < since else None


def chores_under_way(day: Day, forecast: Forecast) -> Iterator[Planned]:
    """Yield each chore under way, but of a batch that has begun something else since."""
    from dyeday.ahead.foreseen_steps import Planned

    for batch in forecast.problem.batches:
        id_ = batch.steps[len(batch.past) - 1].id if batch.past else None
        if isinstance(id_, StepId) and id_.kind is StepKind.CHORE:
            step = Planned(cast("str | ChoreId", batch.id), id_, None, forecast.at.utc, forecast.at.utc, True)
            if day.chore_begun(step.batch, chore_of(step)) is not None:
                yield step


def with_ready_seen(steps: list[Planned], marks: Mapping[str, str], most: int) -> list[Planned]:
    """Return the first ``most`` steps; the first one whose batch has a mark is moved up into the first `SEEN`."""
    ready = next((step for step in steps if not step.is_chore and marks.get(step.batch)), None)
    if ready is None or ready in steps[:SEEN]:
        return steps[:most]
    return [*steps[: SEEN - 1], ready, *(step for step in steps[SEEN - 1 :] if step is not ready)][:most]


def _is_begun(step: Planned, batch: BatchRecord, day: Day) -> bool:
    """Return whether a step of a batch is under way or past."""
    if step.is_chore or batch.state is State.SET_ASIDE:
        return False
    if step.layer is not None and batch.layer != step.layer:
        return batch.layer > step.layer
    if step.kind is StepKind.SOAK_LOAD:
        return batch.state is not State.WAITING
    if step.kind.puts_dye_on:
        return batch.state not in (State.WAITING, State.SOAK)
    if step.kind in (StepKind.FILL, StepKind.LOAD):
        heat = batch.open_heat
        is_on = heat is not None and heat.heat_no == step.heat_no
        return is_on or (batch.state in _AFTER_HEAT and not needs_heat(day, batch))
    if step.kind is StepKind.UNLOAD and batch.state in _AFTER_HEAT:
        return True
    if step.kind is StepKind.UNLOAD and not step.id.part and step.id.heat < len(batch.current_layer.heats):
        # What switches itself off is taken out with the heat that follows.
        return day.plan.switches_off(step.unit, batch.current_layer.heat_of(step.id.heat).how)
    return step.kind is StepKind.RINSE and batch.state in (State.RINSE, State.DRY)
