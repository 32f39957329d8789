"""Hands and kit over a day as bars, the past as it happened and the rest as forecast, and drawn in characters."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from enum import IntEnum

from dyeday.ahead.foreseen_steps import Forecast, Planned
from dyeday.ahead.problem_parts.fill_steps import with_fills
from dyeday.ahead.problem_parts.hours import breaks_until, wall
from dyeday.ahead.problem_parts.session_days import day_number, morning_of
from dyeday.plan.model import Plan
from dyeday.quick_dataclass import dataclass
from dyeday.terms import KIT_TRAITS, CoolWhere, KitKind, State, StepKind
from dyeday.text import clip, pad
from dyeday.track.day.batch_record import BatchRecord, Heat
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import heat_due_at
from dyeday.track.timestamp import local, time_text

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
    number = day_number(day.plan, now_utc)
    morning = morning_of(day.plan, number + 1)
    night = morning if morning > now_utc else now_utc + timedelta(days=1)
    past = [bar.start for bar in bars if bar.kind not in (BarKind.BREAK, BarKind.OUT) and bar.start <= now_utc]
    ends = [bar.end for bar in bars if bar.kind > BarKind.LIES and bar.start < night]
    begin = min([now_utc, *past])
    # On a later day of the session the night before it is not drawn.
    begin = max(begin, morning_of(day.plan, number)) if number else begin
    today = Stretch(begin, min(night, max([now_utc, *ends])), bars)
    coming = forecast.next_steps if forecast is not None else ()
    if not (later := [step for step in coming if night <= step.start < night + timedelta(days=1)]):
        return [today]
    return [today, Stretch(min(step.start for step in later), max(step.end for step in later), bars)]


def rows_of(day: Day, bars: Sequence[Bar]) -> list[str]:
    """Return the rows of ``bars``: hands, then units in the plan's order."""
    used = {bar.row for bar in bars}
    return [HANDS, *(unit for unit in day.plan.unit_names if unit in used)]


def breaks(plan: Plan, until: datetime) -> Iterator[Bar]:
    """Yield the breaks of every day up to that of ``until``, and hours out of the house."""
    for spans, kind in ((breaks_until(plan, until), BarKind.BREAK), (plan.session.out, BarKind.OUT)):
        yield from (Bar(HANDS, wall(plan, pause), wall(plan, back), kind) for pause, back in spans)


def past_bars(day: Day, now_utc: datetime) -> Iterator[Bar]:
    """Yield the past: yarn in units, heats, fillings of tanks, and the work of hands."""
    for batch in day.unsplit:
        for place in batch.placements:
            if not _hangs(day, place.unit):
                until = place.until.utc if place.until is not None else now_utc
                yield Bar(place.unit, place.since.utc, min(until, now_utc), BarKind.LIES, batch.no)
        for heat in batch.heats:
            if heat.unit is not None:
                yield from _heated(day, batch, heat, now_utc)
        for stay in batch.stays:
            if stay.state in (State.PAINT, State.RINSE):
                until = min(stay.until.utc if stay.until is not None else now_utc, now_utc)
                yield Bar(HANDS, stay.since.utc, until, WORK[stay.state], batch.no)
    for unit in day.units.values():
        yield from (Bar(unit.name, fill.utc, fill.utc, BarKind.FILL) for fill in unit.filled)


def _heated(day: Day, batch: BatchRecord, heat: Heat, now_utc: datetime) -> Iterator[Bar]:
    """Yield a heat up to ``now_utc``: the minutes it should give, and those beyond."""
    until = min(heat.end.utc if heat.end is not None else now_utc, now_utc)
    due = heat_due_at(day.plan, batch, heat).utc
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
        lies = kit is not None and not KIT_TRAITS[kit.kind].hangs
        into = step.unit if kit and lies and (kit.kind is not KitKind.TRAY or step.state is State.SOAK) else None
        leaves = into is not None or step.state in (State.PAINT, State.FIX, State.RINSE, State.DRY)
        if unit is not None and leaves and into != unit:
            yield Bar(unit, since, step.start, BarKind.LIES, batch.no)
            unit = None
        if into is not None and unit is None:
            unit, since = into, step.start
        in_place = step.layer is not None and batch.layer_of(step.layer).cool_where == CoolWhere.IN_PLACE
        if unit is not None and (step.kind is StepKind.RINSE or (step.kind is StepKind.UNLOAD and not in_place)):
            yield Bar(unit, since, step.end, BarKind.LIES, batch.no)
            unit = None


SLOT_MIN = (5, 10, 15, 20, 30, 60)
HEAT, LIES, OVER, FILL, FREE, PAUSE, NOW = "=", "-", "!", "^", ".", "_", "|"
SIGNS = dict(zip(BarKind, (PAUSE, PAUSE, LIES, HEAT, OVER, *"sphrc", FILL), strict=True))
_ON_TOP = (BarKind.HEAT, BarKind.OVER, BarKind.FILL)
OTHER = "/"
LABEL = "0123456789+/abcdefghijklmnopqrstuvwxyz"
LONGEST_NAME = 14


def chart_lines(forecast: Forecast, day: Day, width: int = 80) -> list[str]:
    """Return today's chart, and tomorrow's below it if work is left for tomorrow."""
    if not forecast.steps and not day.events:
        return ["nothing is left to do"]
    today, *later = stretches(day, forecast, forecast.at.utc)
    lines = _drawn(today, day, forecast.at.utc, width)
    for stretch in later:
        lines += ["", f"{local(stretch.start, day.plan.session.zone):%a}", *_drawn(stretch, day, None, width)]
    return [*lines, "", *legend(lines, width)]


def legend(drawn: Sequence[str], width: int = 80) -> list[str]:
    """Return the legend of a chart; rare signs only if they are ``drawn``."""
    rows = "".join(line[LONGEST_NAME:] for line in drawn)
    slots = dict.fromkeys(match[0] for line in drawn if (match := re.match(r"\d+ min\b", line)))
    words = [
        *([f"each sign {' or '.join(slots)}"] if slots else []),
        "digits: the batch in it",
        *(["+ others with it"] if "+" in rows else []),
        f"{HEAT} heat on",
        *([f"{OVER} heat over its time"] if OVER in rows else []),
        f"{LIES} yarn without heat",
        *([f"{OTHER} another batch: see the list"] if OTHER in rows else []),
        *([f"{FILL} fill its tank"] if FILL in rows else []),
        f"{FREE} free",
        f"{PAUSE} break",
        "work: s soak, p paint, h heat on or off, r rinse, c chore",
    ]
    line, lines = "", []
    for word in words:
        if line and len(line) + len(word) + 3 > width:
            lines.append(line)
            line = ""
        line += ("   " if line else "") + word
    return [*lines, line]


def _drawn(stretch: Stretch, day: Day, now_utc: datetime | None, width: int) -> list[str]:
    begin = stretch.start
    bars = [bar for bar in stretch.bars if bar.start < stretch.end and bar.end >= begin]
    names = rows_of(day, bars)
    left = min(LONGEST_NAME, max(map(len, names))) + 1
    room = max(10, width - left - 1)
    slot = next((size for size in SLOT_MIN if stretch.minutes / size <= room - 1), SLOT_MIN[-1])
    cells = max(1, min(room, int(-(-stretch.minutes // slot))))
    since_min = (now_utc - begin).total_seconds() // 60 if now_utc is not None and now_utc > begin else None
    at = None if since_min is None else min(cells, int(since_min // slot))
    zone = day.plan.session.zone
    lines = [] if at is None or now_utc is None else [_now_line(left + at, time_text(now_utc, zone), width)]
    lines.append(pad(f"{slot} min", left) + _with_now(_scale(begin, slot, cells, zone), at))
    for name in names:
        row = [FREE] * cells
        row_bars = sorted(
            (bar for bar in bars if bar.row == name),
            key=lambda bar: (bar.kind in _ON_TOP, bar.kind > BarKind.BREAK, bar.start),
        )
        for bar in row_bars:
            for cell in _span(row, bar, begin, slot):
                row[cell] = SIGNS[bar.kind]
        if name != HANDS:
            before = ""
            for bar in _together([bar for bar in row_bars if bar.kind is BarKind.LIES]):
                _name(row, bar, _span(row, bar, begin, slot), before)
                before = bar.batch
        lines.append(pad(clip(name, left - 1), left) + _with_now("".join(row), at))
    return lines


def _now_line(column: int, at: str, width: int) -> str:
    label = f"now {at} "
    if column >= len(label):
        return " " * (column - len(label)) + label + NOW
    return clip(" " * column + NOW + f" now {at}", width)


def _with_now(row: str, at: int | None) -> str:
    return row if at is None else row[:at] + NOW + row[at:]


def _span(row: Sequence[str], bar: Bar, begin: datetime, slot: int) -> range:
    """Return the cells that a bar touches, at least one."""
    first = int((bar.start - begin).total_seconds() / 60 // slot)
    last = int(-(-((bar.end - begin).total_seconds() / 60) // slot))
    return range(max(0, first), min(len(row), max(last, first + 1)))


def _together(bars: Sequence[Bar]) -> list[Bar]:
    """Return bars with those that overlap joined: "01+02+03"."""
    out: list[Bar] = []
    for bar in sorted(bars, key=lambda bar: bar.start):
        if out and bar.start < out[-1].end and bar.batch not in out[-1].batch.split("+"):
            out[-1] = replace(out[-1], end=max(out[-1].end, bar.end), batch=f"{out[-1].batch}+{bar.batch}")
        else:
            out.append(bar)
    return out


def _name(row: list[str], bar: Bar, cells: range, before: str) -> None:
    """Write a bar's batches into it, all or the first and "+", apart from others; else a sign that one is in it."""
    first, more, _ = bar.batch.partition("+")
    for label in (bar.batch, first + more):
        for at in range(cells.start, cells.stop - len(label) + 1):
            if not any(sign in LABEL for sign in row[max(0, at - 1) : at + len(label) + 1]):
                row[at : at + len(label)] = label
                return
    if bar.batch != before and (free := next((cell for cell in cells if row[cell] not in LABEL), None)) is not None:
        row[free] = OTHER


def _scale(begin: datetime, slot: int, cells: int, zone: str | None) -> str:
    marks = [" "] * cells
    start = local(begin, zone)
    hour = start.replace(minute=0, second=0, microsecond=0)
    every = timedelta(hours=max(1, -(-4 * slot // 60)))
    while True:
        place = int((hour - start).total_seconds() // 60 // slot)
        if place >= cells:
            break
        text = f"'{hour:%H}"
        if 0 <= place <= cells - len(text):
            marks[place : place + len(text)] = text
        hour += every
    return "".join(marks)
