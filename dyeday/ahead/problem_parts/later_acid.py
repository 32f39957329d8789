"""The later parts of a pot's acid: a minute of the hands each as it simmers, between two skeins of other work."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from dyeday.ahead.foreseen_steps import Forecast, Planned
from dyeday.ahead.problem_parts.hours import absence_met, break_met
from dyeday.ahead.problem_parts.tank_fills import with_fills
from dyeday.plan.doses import acid_parts
from dyeday.plan.model import Plan
from dyeday.plan.step_ids import StepId
from dyeday.terms import State, StepKind
from dyeday.track.day.batch_record import BatchRecord, Stay
from dyeday.track.day.bath_contents import ACID_PART_MIN, stay_acids
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import heats_of
from dyeday.track.timestamp import Moment

POUR = timedelta(minutes=1)


def hands_steps(day: Day, forecast: Forecast) -> list[Planned]:
    """Return the steps in their order, with fills and a pot's later acid as steps of their own."""
    every = with_fills(day.plan, forecast.steps)
    acids = [acid for heat in _heats(day, every) for acid in _of_heat(day, heat, every, forecast.at.utc)]
    for acid in acids:
        every = [part for step in every for part in _put_down(step, acid)]
    return sorted((*every, *acids), key=lambda step: step.start) if acids else every


def _put_down(step: Planned, acid: Planned) -> Iterator[Planned]:
    """Yield a step, painting in two parts if the acid interrupts it."""
    if not step.attended or not step.start <= acid.start < step.end:
        yield step
        return
    if step.start < acid.start:
        yield replace(step, end=acid.start, goes_on=True)
    if acid.end < step.end:
        part = step.id.part + (step.start < acid.start)
        unit = None if step.kind is StepKind.PAINT else step.unit  # its yarn is out of its tray by then
        yield replace(step, id=step.id._replace(part=part), start=acid.end, unit=unit)


def _heats(day: Day, steps: Sequence[Planned]) -> Iterator[Planned]:
    """Yield the heats to come, and those on that do not simmer yet."""
    yield from (step for step in steps if step.kind is StepKind.HEAT and step.batch)
    for batch in day.unsplit:
        on = batch.open_heat
        offs = (step for step in steps if step.kind is StepKind.UNLOAD and step.batch == batch.no)
        if on is not None and (off := next(offs, None)) is not None:
            id_ = off.id._replace(kind=StepKind.HEAT)
            yield Planned(batch.no, id_, on.unit, on.start.utc, off.start, attended=False)


def _of_heat(day: Day, heat: Planned, steps: Sequence[Planned], now_utc: datetime) -> Iterator[Planned]:
    batch, kit = day.batches.get(heat.batch), day.plan.kit_of(heat.unit)
    if batch is None or kit is None or heat.id.heat != 1:
        return
    parts = acid_parts(day.plan, batch.layer_of(heat.id.layer))
    simmers = heat.start + timedelta(minutes=kit.warm_up_min)
    for n in range(_put_in(day, batch, heat, Moment(now_utc)), parts - 1):
        at = _hands_from(day.plan, max(now_utc, simmers + timedelta(minutes=n * ACID_PART_MIN)), steps)
        if at < heat.end:
            acid = StepId(StepKind.ACID, heat.id.layer, heat.id.heat, part=n)
            yield Planned(heat.owner, acid, heat.unit, at, at + POUR, attended=True)


def _put_in(day: Day, batch: BatchRecord, heat: Planned, now: Moment) -> int:
    """Return how often acid was put in since the heat was switched on, for the first time where it broke off."""
    on = next((one.start for one in heats_of(batch, heat.id.layer, heat.id.heat)), now)
    stay = Stay(State.FIX, heat.id.layer, on, None)
    return sum(put.at.utc > on.utc for put in (*batch.acids, *stay_acids(day, batch, stay, now)))


def _hands_from(plan: Plan, at: datetime, steps: Sequence[Planned]) -> datetime:
    """Return when hands are free from ``at`` on: painting is put down for it, other work ends first."""
    for step in sorted((step for step in steps if step.attended), key=lambda step: step.start):
        if step.start <= at < step.end and not step.kind.puts_dye_on:
            at = step.end
        away = break_met(plan, at) or absence_met(plan, at, at + POUR)
        at = away[1] if away is not None else at
    return at
