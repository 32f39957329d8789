"""What hands do in mid-heat, other work put down: a pot's later acid takes a minute, a microwave's next dish none."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from dyeday.ahead.foreseen_steps import Forecast, Planned
from dyeday.ahead.problem_parts.fill_steps import with_fills
from dyeday.ahead.problem_parts.hours import absence_met, break_met
from dyeday.plan.model import Plan
from dyeday.plan.step_ids import StepId
from dyeday.terms import KIT_TRAITS, StepKind
from dyeday.track.day.bath_contents import ACID_PART_MIN, parts_lacking
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import dishes_to_heat, heat_due_min
from dyeday.track.timestamp import Moment

TAKES = timedelta(minutes=1)


def hands_steps(day: Day, forecast: Forecast) -> list[Planned]:
    """Return the steps in their order, with fills, a pot's later acid and a microwave's next dishes as own steps."""
    every = with_fills(day.plan, forecast.steps)
    extra: list[Planned] = []
    for heat in _heats(day, every):
        extra += _acids(day, heat, every, forecast.at.utc)
        extra += _dishes(day, heat, every, forecast.at.utc)
    for one in extra:
        every = [part for step in every for part in _put_down(step, one)]
    return sorted((*extra, *every), key=lambda step: step.start) if extra else every


def _put_down(step: Planned, other: Planned) -> Iterator[Planned]:
    """Yield a step beside ``other``, work in mid-heat.

    Dye, chores and a rinse are put down for it and taken up again; other steps end before it, or begin after it.
    """
    if not step.attended or not step.start <= other.start < step.end:
        yield step
        return
    has_begun = step.start < other.start
    if not _is_put_down(step) and step.kind is not StepKind.RINSE:
        later = max(step.end, other.end + TAKES)
        yield replace(step, end=other.start) if has_begun else replace(step, start=other.end, end=later)
        return
    if has_begun:
        yield replace(step, end=other.start, put_down=True)
    if other.end < step.end:
        unit = None if has_begun and step.kind is StepKind.PAINT else step.unit  # its yarn is out of its tray by then
        yield replace(step, id=step.id._replace(part=step.id.part + has_begun), start=other.end, unit=unit)


def _is_put_down(step: Planned) -> bool:
    """Return whether hands put a step down for work in mid-heat, rather than finish it first."""
    return step.kind.puts_dye_on or step.is_chore


def _heats(day: Day, steps: Sequence[Planned]) -> Iterator[Planned]:
    """Yield the heats to come, and those that are on, from when they were switched on."""
    yield from (step for step in steps if step.kind is StepKind.HEAT and step.batch)
    for batch in day.unsplit:
        on = batch.open_heat
        offs = (step for step in steps if step.kind is StepKind.UNLOAD and step.batch == batch.no)
        if on is not None and (off := next(offs, None)) is not None:
            id_ = off.id._replace(kind=StepKind.HEAT)
            yield Planned(batch.no, id_, on.unit, on.start.utc, off.start, attended=False)


def _acids(day: Day, heat: Planned, steps: Sequence[Planned], now_utc: datetime) -> Iterator[Planned]:
    batch, kit = day.batches.get(heat.batch), day.plan.kit_of(heat.unit)
    if batch is None or kit is None or heat.id.heat != 1:
        return
    on, lacking = batch.open_heat, parts_lacking(day, batch, heat.id.layer, Moment(now_utc))
    is_on = on is not None and on.start.utc == heat.start
    simmers = on.at_heat_since.utc if on and is_on else heat.start + timedelta(minutes=kit.warm_up_min)
    due = {max(now_utc, simmers + timedelta(minutes=(part - 2) * ACID_PART_MIN)): part for part in lacking}
    for due_at, part in due.items():
        at = _hands_from(day.plan, due_at, steps)
        if at < heat.end:
            acid = StepId(StepKind.ACID, heat.id.layer, heat.id.heat, part=part - 2)
            yield Planned(heat.owner, acid, heat.unit, at, at + TAKES, attended=True)


def _dishes(day: Day, heat: Planned, steps: Sequence[Planned], now_utc: datetime) -> Iterator[Planned]:
    """Yield each change of dish in a microwave: as hands are free, or as a dish is done if that is too late."""
    batch, kit = day.batches.get(heat.batch), day.plan.kit_of(heat.unit)
    if batch is None or kit is None or not KIT_TRAITS[kit.kind].in_turn:
        return
    on, warm = batch.open_heat, timedelta(minutes=kit.warm_up_min)
    is_on = on is not None and on.start.utc == heat.start
    needed_min = heat_due_min(day.plan, batch, on) if on and is_on else heat.minutes - kit.warm_up_min
    each_min = batch.layer_of(heat.id.layer).heat_of(heat.id.heat).minutes
    dishes, first_min = dishes_to_heat(needed_min, each_min)
    of_heat = (heat.owner, heat.id._replace(kind=StepKind.UNLOAD))
    off = next((step.start for step in steps if step.key == of_heat), heat.end)
    for n in range(dishes - 1):
        done = heat.start + warm + timedelta(minutes=first_min + n * each_min)
        if done >= now_utc:
            free = _hands_from(day.plan, done, steps)
            at = free if free + timedelta(minutes=each_min) <= off else done
            yield Planned(heat.owner, heat.id._replace(kind=StepKind.DISH, part=n), heat.unit, at, at, attended=True)


def _hands_from(plan: Plan, at: datetime, steps: Sequence[Planned]) -> datetime:
    """Return when hands are there and free, from ``at`` on: dye and chores are put down, other work is finished."""
    for step in sorted((step for step in steps if step.attended), key=lambda step: step.start):
        if step.start <= at < step.end and not _is_put_down(step):
            at = step.end
        away = break_met(plan, at) or absence_met(plan, at, at + TAKES)
        at = away[1] if away is not None else at
    return at
