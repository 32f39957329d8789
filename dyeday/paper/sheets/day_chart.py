"""Hands and kit over a day, drawn in characters: the past as it happened, a line for now, the rest as forecast."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from dyeday.ahead.forecast import Forecast, Planned
from dyeday.ahead.hours import wall
from dyeday.paper.layout.text_page import clip, pad
from dyeday.paper.local_time import clock, local
from dyeday.plan.model import Plan
from dyeday.terms import KIT_TRAITS, CoolWhere, KitKind, State, StepKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day

SLOT_MIN = (5, 10, 15, 20, 30, 60)
HEAT, LIES, FREE, PAUSE, NOW = "=", "-", ".", "_", "|"
WORKS = {State.SOAK: "s", State.PAINT: "p", State.FIX: "h", State.RINSE: "r"}
LONGEST_NAME = 14


@dataclass(frozen=True, slots=True)
class Bar:
    """A stretch on one row: what fills it, and the batch's number where that has room."""

    row: str
    start: datetime
    end: datetime
    fill: str
    label: str = ""


def chart_lines(found: Forecast, day: Day, width: int = 80) -> list[str]:
    """Return today's chart, and tomorrow's below it where the advice leaves work for tomorrow."""
    if not found.steps and not day.has_begun:
        return ["nothing is left to do"]
    night = _night(found, day.plan)
    later = [step for step in found.next_steps if night <= step.start < night + timedelta(days=1)]
    coming = list(coming_bars(found, day))
    bars = [*past_bars(day, found.at.utc), *coming]
    begin = min([found.at.utc, *(bar.start for bar in bars)])
    end = max([found.at.utc, *(bar.end for bar in bars if bar.fill != LIES and bar.start < night)])
    lines = _drawn([bar for bar in bars if bar.start < end], day, begin, min(end, night), found.at.utc, width)
    if later:
        morning, evening = min(step.start for step in later), max(step.end for step in later)
        rest = [bar for bar in coming if bar.end > morning and bar.start < evening]
        lines += ["", "tomorrow", *_drawn(rest, day, morning, evening, None, width)]
    return [*lines, "", *legend(width, together=any("+" in line for line in lines))]


def legend(width: int = 80, *, together: bool = False) -> list[str]:
    """Return what the signs mean; with ``together`` that of batches which lie in one unit, too."""
    words = [
        f"07{HEAT}{HEAT} heat on",
        f"07{LIES}{LIES} yarn in it",
        *(["07+ and others with it"] if together else []),
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


def _night(found: Forecast, plan: Plan) -> datetime:
    """Return the moment from which work is tomorrow's: tomorrow's first hour, or a day after now at the latest."""
    session = plan.session
    first = session.tomorrow[0][0] if session.tomorrow else session.start_min
    morning = wall(plan, 1440 + first)
    return morning if morning > found.at.utc else found.at.utc + timedelta(days=1)


def past_bars(day: Day, now: datetime) -> Iterator[Bar]:
    """Yield what happened: where yarn lay, what heated, and what hands were at."""
    for batch in day.live:
        for place in batch.placements:
            if not _hangs(day, place.unit):
                until = place.until.utc if place.until is not None else now
                yield Bar(place.unit, place.since.utc, min(until, now), LIES, batch.no)
        for run in batch.runs:
            if run.unit is not None:
                yield Bar(run.unit, run.start.utc, min(run.end.utc if run.end else now, now), HEAT)
        for stay in batch.stays:
            if stay.state in (State.PAINT, State.RINSE):
                until = min(stay.until.utc if stay.until is not None else now, now)
                yield Bar("hands", stay.since.utc, until, WORKS[stay.state])


def _hangs(day: Day, unit: str) -> bool:
    kit = day.plan.kit_of(unit)
    return kit is None or KIT_TRAITS[kit.kind].hangs


def coming_bars(found: Forecast, day: Day) -> Iterator[Bar]:
    """Yield what is foreseen: what hands do, which heat is on, and where yarn lies from going in to coming out."""
    for step in found.steps:
        if step.attended:
            yield Bar("hands", step.start, step.end, WORKS.get(step.state, "c") if step.state else "c")
        if step.kind is StepKind.HEAT and step.unit is not None:
            yield Bar(step.unit, step.start, step.end, HEAT)
    for batch in day.live:
        mine = [step for step in found.steps if step.batch == batch.no]
        yield from _lies(batch, mine, day, found.at.utc)


def _lies(batch: BatchRecord, steps: Sequence[Planned], day: Day, now: datetime) -> Iterator[Bar]:
    """Yield where one batch will lie; a step that takes it elsewhere ends a stay."""
    unit, since = (batch.unit, now) if batch.unit is not None and not _hangs(day, batch.unit) else (None, now)
    run = batch.open_run
    if unit is not None and run is not None:
        over = run.heat_start.later(batch.layer_of(run.layer).heat_of(run.pass_no).minutes * 60).utc
        yield Bar(unit, now, max(now, over), HEAT)
    for step in steps:
        kit = day.plan.kit_of(step.unit) if step.unit is not None else None
        # Dye goes on outside the tray the yarn was soaked in.
        goes_in = (
            kit is not None
            and not KIT_TRAITS[kit.kind].hangs
            and (kit.kind is not KitKind.TRAY or step.state is State.SOAK)
        )
        into = step.unit if goes_in else None
        elsewhere = into != unit and (
            into is not None or step.state in (State.PAINT, State.FIX, State.RINSE, State.DRY)
        )
        if unit is not None and elsewhere:
            yield Bar(unit, since, step.start, LIES, batch.no)
            unit = None
        if into is not None and unit is None:
            unit, since = into, step.start
        in_place = step.layer is not None and batch.layer_of(step.layer).cool_where == CoolWhere.IN_PLACE
        if unit is not None and (step.kind is StepKind.RINSE or (step.kind is StepKind.UNLOAD and not in_place)):
            yield Bar(unit, since, step.end, LIES, batch.no)
            unit = None


def _drawn(
    bars: Sequence[Bar], day: Day, begin: datetime, end: datetime, now: datetime | None, width: int
) -> list[str]:
    units = [unit for unit in day.plan.unit_names if any(bar.row == unit for bar in bars)]
    left = min(LONGEST_NAME, max(len(name) for name in ("hands", *units))) + 1
    room = max(10, width - left - 1)
    minutes = (end - begin).total_seconds() / 60
    slot = next((size for size in SLOT_MIN if minutes / size <= room - 1), SLOT_MIN[-1])
    cells = max(1, min(room, int(-(-minutes // slot))))
    at = None if now is None or now <= begin else min(cells, int((now - begin).total_seconds() // 60 // slot))
    zone = day.plan.session.zone
    lines = [] if at is None or now is None else [_now_line(left + at, clock(now, zone), width)]
    lines.append(pad(f"{slot} min", left) + _with_now(_scale(begin, slot, cells, zone), at))
    for name in ("hands", *units):
        row = [FREE] * cells
        mine = sorted((bar for bar in bars if bar.row == name), key=lambda bar: (bar.fill == HEAT, bar.start))
        if name == "hands":
            mine = [*_breaks(day.plan), *mine]
        for bar in mine:
            _fill(row, bar, begin, slot)
        for bar in _together(mine):
            _name(row, bar, begin, slot)
        lines.append(pad(clip(name, left - 1), left) + _with_now("".join(row), at))
    return lines


def _now_line(column: int, at: str, width: int) -> str:
    said = f"now {at} "
    if column >= len(said):
        return " " * (column - len(said)) + said + NOW
    return clip(" " * column + NOW + f" now {at}", width)


def _with_now(row: str, at: int | None) -> str:
    return row if at is None else row[:at] + NOW + row[at:]


def _breaks(plan: Plan) -> Iterator[Bar]:
    for pause, back in plan.session.breaks:
        yield Bar("hands", wall(plan, pause), wall(plan, back), PAUSE)


def _span(row: Sequence[str], bar: Bar, begin: datetime, slot: int) -> range:
    """Return the cells of a bar: every one it touches for more than a moment, at least one."""
    first = int((bar.start - begin).total_seconds() / 60 // slot)
    last = int(-(-((bar.end - begin).total_seconds() / 60) // slot))
    return range(max(0, first), min(len(row), max(last, first + 1)))


def _fill(row: list[str], bar: Bar, begin: datetime, slot: int) -> None:
    for cell in _span(row, bar, begin, slot):
        row[cell] = bar.fill


def _together(bars: Sequence[Bar]) -> list[Bar]:
    """Return the bars that name a batch, those of batches that lie together for a while as one: "01+02+03"."""
    out: list[Bar] = []
    for bar in sorted((bar for bar in bars if bar.label), key=lambda bar: bar.start):
        if out and bar.start < out[-1].end and bar.label not in out[-1].label.split("+"):
            label = f"{out[-1].label}+{bar.label}"
            out[-1] = replace(out[-1], end=max(out[-1].end, bar.end), label=label)
        else:
            out.append(bar)
    return out


def _name(row: list[str], bar: Bar, begin: datetime, slot: int) -> None:
    """Write a bar's batch at its beginning: whole where it has room, else the first and a "+", else its last sign."""
    cells = _span(row, bar, begin, slot)
    first, more, _ = bar.label.partition("+")
    said = next((words for words in (bar.label, first + more) if len(words) <= len(cells)), first[-1:])
    for cell, sign in zip(cells, said, strict=False):
        row[cell] = sign


def _scale(begin: datetime, slot: int, cells: int, zone: str | None) -> str:
    marks = [" "] * (cells + 6)
    start = local(begin, zone)
    hour = start.replace(minute=0, second=0, microsecond=0)
    every = timedelta(hours=max(1, -(-4 * slot // 60)))
    while True:
        place = int((hour - start).total_seconds() // 60 // slot)
        if place >= cells:
            break
        text = f"'{hour:%H}"
        if place >= 0:
            marks[place : place + len(text)] = text
        hour += every
    return "".join(marks[:cells])
