"""Hands and kit over a day, drawn in characters: the past as it happened, a line for now, the rest as forecast."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from dyeday.ahead.forecast import Forecast
from dyeday.paper.sheets.day_bars import HANDS, Bar, BarKind, Stretch, rows_of, stretches
from dyeday.text import clip, pad
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import local, time_text

SLOT_MIN = (5, 10, 15, 20, 30, 60)
HEAT, LIES, OVER, FILL, FREE, PAUSE, NOW = "=", "-", "!", "^", ".", "_", "|"
SIGNS = dict(zip(BarKind, (PAUSE, PAUSE, LIES, HEAT, OVER, *"sphrc", FILL), strict=True))
_ON_TOP = (BarKind.HEAT, BarKind.OVER, BarKind.FILL)
OTHER = "/"
LABEL = "0123456789+/abcdefghijklmnopqrstuvwxyz"
LONGEST_NAME = 14


def chart_lines(forecast: Forecast, day: Day, width: int = 80) -> list[str]:
    """Return today's chart, and tomorrow's below it if work is left for tomorrow."""
    if not forecast.steps and not day.has_entries:
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
    """Write a bar's batches into it: all if they fit, else the first and "+", apart from the label before.

    Where neither fits, a sign says that another batch than that ``before`` is in the unit.
    """
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
