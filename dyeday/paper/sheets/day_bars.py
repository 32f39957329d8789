"""Hands and kit over a day as bars: the past as it happened, the rest as forecast."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from enum import IntEnum
from typing import TYPE_CHECKING

from dyeday.ahead.problem_parts.hours import breaks_until, wall
from dyeday.ahead.problem_parts.session_days import day_number, morning_of
from dyeday.ahead.problem_parts.tank_fills import with_fills
from dyeday.plan.model import Plan
from dyeday.quick_dataclass import dataclass
from dyeday.terms import KIT_TRAITS, CoolWhere, KitKind, State, StepKind
from dyeday.track.day.batch_record import BatchRecord, Heat
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import heat_due_at

if TYPE_CHECKING:
    from dyeday.ahead.foreseen_steps import Forecast, Planned

HANDS = "hands"
"""the row of the dyer's hands, beside those of the units"""


class BarKind(IntEnum):
    """What a bar stands for; of two at once, the later in this list is drawn."""

    OUT = 0
    """out of the house"""
    BREAK = 1
    LIES = 2
    """yarn is in the unit"""
    HEAT = 3
    OVER = 4
    """heat that is still on past its time"""
    SOAK = 5
    PAINT = 6
    HEATER = 7
    """hands load a unit, switch it on or off, take yarn out"""
    RINSE = 8
    CHORE = 9
    FILL = 10
    """a tank is filled"""


WORK = {State.SOAK: BarKind.SOAK, State.PAINT: BarKind.PAINT, State.FIX: BarKind.HEATER, State.RINSE: BarKind.RINSE}
"""the work of hands, by the state of its step"""


@dataclass(frozen=True, slots=True)
class Bar:
    """A stretch of time on one row; ``batch`` is "" if it belongs to none."""

    row: str
    start: datetime
    end: datetime
    kind: BarKind
    batch: str = ""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A time span to be drawn; ``bars`` may reach beyond it."""

    start: datetime
    end: datetime
    bars: tuple[Bar, ...]

    @property
    def minutes(self) -> float:
        """Its length in minutes."""
        return (self.end - self.start).total_seconds() / 60


def day_bars(day: Day, forecast: Forecast | None, now_utc: datetime) -> list[Bar]:
    """Return the bars up to ``now_utc``, and those that are foreseen."""
    coming = coming_bars(forecast, day) if forecast is not None else ()
    until = max(now_utc, forecast.finish) if forecast is not None else now_utc
    return [*breaks(day.plan, until), *past_bars(day, now_utc), *coming]


def stretches(day: Day, forecast: Forecast | None, now_utc: datetime) -> list[Stretch]:
    """Return today, and tomorrow if the forecast leaves work for it, without the night between."""
    bars = tuple(day_bars(day, forecast, now_utc))
    night = next_morning(day.plan, now_utc)
    past = [bar.start for bar in bars if bar.kind not in (BarKind.BREAK, BarKind.OUT) and bar.start <= now_utc]
    ends = [bar.end for bar in bars if bar.kind > BarKind.LIES and bar.start < night]
    number, begin = day_number(day.plan, now_utc), min([now_utc, *past])
    # On a later day of the session the night before it is not drawn.
    begin = max(begin, morning_of(day.plan, number)) if number else begin
    today = Stretch(begin, min(night, max([now_utc, *ends])), bars)
    later = (
        [] if forecast is None else [s for s in forecast.next_steps if night <= s.start < night + timedelta(days=1)]
    )
    if not later:
        return [today]
    return [today, Stretch(min(step.start for step in later), max(step.end for step in later), bars)]


def next_morning(plan: Plan, now_utc: datetime) -> datetime:
    """Return when tomorrow's work starts: its first hour, at the latest a day after ``now_utc``."""
    morning = morning_of(plan, day_number(plan, now_utc) + 1)
    return morning if morning > now_utc else now_utc + timedelta(days=1)


def rows_of(day: Day, bars: Sequence[Bar]) -> list[str]:
    """Return the rows of ``bars``: hands, then units in the plan's order."""
    used = {bar.row for bar in bars}
    return [HANDS, *(unit for unit in day.plan.unit_names if unit in used)]


def breaks(plan: Plan, until: datetime) -> Iterator[Bar]:
    """Yield the breaks of every day up to that of ``until``, and hours out of the house."""
    for spans, kind in ((breaks_until(plan, until), BarKind.BREAK), (plan.session.out, BarKind.OUT)):
        for pause, back in spans:
            yield Bar(HANDS, wall(plan, pause), wall(plan, back), kind)


def past_bars(day: Day, now_utc: datetime) -> Iterator[Bar]:
    """Yield the past: yarn in units, heats, fillings of tanks, and the work of hands."""
    for batch in day.unsplit:
        for place in batch.placements:
            if not _hangs(day, place.unit):
                until = place.until.utc if place.until is not None else now_utc
                yield Bar(place.unit, place.since.utc, min(until, now_utc), BarKind.LIES, batch.no)
        for heat in batch.heats:
            if heat.unit is not None:
                yield from _heated(batch, heat, now_utc)
        for stay in batch.stays:
            if stay.state in (State.PAINT, State.RINSE):
                until = min(stay.until.utc if stay.until is not None else now_utc, now_utc)
                yield Bar(HANDS, stay.since.utc, until, WORK[stay.state], batch.no)
    for unit in day.units.values():
        for fill in unit.filled:
            yield Bar(unit.name, fill.utc, fill.utc, BarKind.FILL)


def _heated(batch: BatchRecord, heat: Heat, now_utc: datetime) -> Iterator[Bar]:
    """Yield a heat up to ``now_utc``: its planned minutes, and those beyond."""
    until = min(heat.end.utc if heat.end is not None else now_utc, now_utc)
    due = heat.heat_start.later(batch.planned_heat(heat).minutes * 60).utc
    at_heat = min(until, due) if heat.own_end is None else until
    yield Bar(str(heat.unit), heat.start.utc, at_heat, BarKind.HEAT, batch.no)
    if heat.own_end is None and until > due:
        yield Bar(str(heat.unit), due, until, BarKind.OVER, batch.no)


def _hangs(day: Day, unit: str) -> bool:
    kit = day.plan.kit_of(unit)
    return kit is None or KIT_TRAITS[kit.kind].hangs


def coming_bars(forecast: Forecast, day: Day) -> Iterator[Bar]:
    """Yield the forecast: the work of hands, heats, and yarn in units."""
    for step in with_fills(day.plan, forecast.steps):
        if step.kind is StepKind.FILL and step.unit is not None:
            yield Bar(step.unit, step.start, step.start, BarKind.FILL)
        if step.attended:
            work = WORK.get(step.state, BarKind.CHORE) if step.state else BarKind.CHORE
            work = BarKind.HEATER if step.kind is StepKind.FILL else work
            yield Bar(HANDS, step.start, step.end, work, step.batch)
        if step.kind is StepKind.HEAT and step.unit is not None:
            yield Bar(step.unit, step.start, step.end, BarKind.HEAT, step.batch)
    for batch in day.unsplit:
        steps = [step for step in forecast.steps if step.batch == batch.no]
        yield from _lies(batch, steps, day, forecast.at.utc)


def _lies(batch: BatchRecord, steps: Sequence[Planned], day: Day, now_utc: datetime) -> Iterator[Bar]:
    """Yield where a batch will be; a step that moves it ends a bar."""
    unit, since = (batch.unit, now_utc) if batch.unit is not None and not _hangs(day, batch.unit) else (None, now_utc)
    heat = batch.open_heat
    if unit is not None and heat is not None:
        due = heat_due_at(day.plan, batch, heat).utc
        off = next((step.start for step in steps if step.kind is StepKind.UNLOAD), due)
        on = BarKind.HEAT if due > now_utc else BarKind.OVER
        yield Bar(unit, now_utc, max(now_utc, min(due, off)), on, batch.no)
    for step in steps:
        kit = day.plan.kit_of(step.unit) if step.unit is not None else None
        # Yarn is painted outside its tray.
        goes_in = (
            kit is not None
            and not KIT_TRAITS[kit.kind].hangs
            and (kit.kind is not KitKind.TRAY or step.state is State.SOAK)
        )
        into = step.unit if goes_in else None
        leaves = into is not None or step.state in (State.PAINT, State.FIX, State.RINSE, State.DRY)
        elsewhere = into != unit and leaves
        if unit is not None and elsewhere:
            yield Bar(unit, since, step.start, BarKind.LIES, batch.no)
            unit = None
        if into is not None and unit is None:
            unit, since = into, step.start
        in_place = step.layer is not None and batch.layer_of(step.layer).cool_where == CoolWhere.IN_PLACE
        if unit is not None and (step.kind is StepKind.RINSE or (step.kind is StepKind.UNLOAD and not in_place)):
            yield Bar(unit, since, step.end, BarKind.LIES, batch.no)
            unit = None
