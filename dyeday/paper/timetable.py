"""The forecast as a timetable and as a chart of hands and kit drawn in characters."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from dyeday.ahead.forecast import Forecast, Planned
from dyeday.paper.page import clip, pad
from dyeday.paper.when import clock_on, local

SLOT_MIN = (5, 10, 15, 20, 30, 60)


def verdict_lines(found: Forecast, zone: str | None) -> list[str]:
    """Return both answers in words: how late tonight, and how much by stop."""
    at = found.at.utc
    likely, late = clock_on(found.hands_off, zone, at), clock_on(found.hands_off_late, zone, at)
    stop = clock_on(found.stop, zone, at)
    over = (found.hands_off - found.stop).total_seconds() / 60
    fit = f"inside {stop}" if over <= 0 else f"{over:.0f} min after {stop}"
    lines = [f"all rinsed tonight: hands off {likely}, one day in ten as late as {late}; {fit}"]
    rinsed = f"by {stop}: {found.rinsed} of {found.of} batches rinsed"
    if found.carried:
        tomorrow = found.tomorrow_hands_off
        end = f", tomorrow over at {clock_on(tomorrow, zone, at)}" if tomorrow is not None else ""
        rinsed += f"; left for tomorrow {', '.join(found.carried)}{end}"
    lines.append(rinsed)
    lines += [f"{batch} cannot be finished: {why}" for batch, why in found.left_out]
    return lines


def table_lines(found: Forecast, zone: str | None, width: int = 80) -> list[str]:
    """Return the steps of the hands, one a line, in the order they begin."""
    lines = [f"{'from':7}{'to':7}{pad('batch', 10)} {pad('step', 18)} unit"]
    for step in found.steps:
        if step.attended:
            start, end = (clock_on(m, zone, found.at.utc) for m in (step.start, step.end))
            lines.append(clip(f"{start:7}{end:7}{pad(step.batch, 10)} {pad(step.what, 18)} {step.unit or ''}", width))
    return lines


def chart_lines(found: Forecast, zone: str | None, width: int = 80) -> list[str]:
    """Return hands and units as rows over time: each busy slot shows its batch's last digit, hands a #.

    A slot is as many minutes as let the day fit ``width``.
    """
    if not found.steps:
        return ["nothing is left to do"]
    begin = found.at.utc
    end = max(step.end for step in found.steps if step.attended or step.what.startswith(("run", "soak")))
    names = ["hands", *dict.fromkeys(step.unit for step in found.steps if step.unit and step.what != "dry")]
    left = max(len(name) for name in names) + 1
    room = max(10, width - left)
    minutes = (end - begin).total_seconds() / 60
    slot = next((size for size in SLOT_MIN if minutes / size <= room), SLOT_MIN[-1])
    cells = min(room, int(minutes // slot) + 1)
    lines = [pad("", left) + _scale(begin, slot, cells, zone)]
    for name in names:
        row = "".join(_cell(found, name, begin + timedelta(minutes=slot * n), slot) for n in range(cells))
        lines.append(pad(name, left) + row)
    lines.append(pad("", left) + f"a sign is {slot} min; # hands at work, a digit the batch in a unit")
    return lines


def _scale(begin: datetime, slot: int, cells: int, zone: str | None) -> str:
    marks = [" "] * (cells + 6)
    hour = local(begin, zone).replace(minute=0, second=0, microsecond=0)
    while True:
        place = int((hour - local(begin, zone)).total_seconds() // 60 // slot)
        if place >= cells:
            break
        text = f"|{hour:%H}"
        if place >= 0:
            marks[place : place + len(text)] = text
        hour += timedelta(hours=max(1, -(-4 * slot // 60)))
    return "".join(marks[:cells])


def _cell(found: Forecast, name: str, at: datetime, slot: int) -> str:
    until = at + timedelta(minutes=slot)
    for step in _steps_of(found, name):
        if step.start < until and step.end > at:
            return "#" if name == "hands" else step.batch[-1:]
    return "."


def _steps_of(found: Forecast, name: str) -> Iterator[Planned]:
    if name == "hands":
        yield from (step for step in found.steps if step.attended)
    else:
        yield from (step for step in found.steps if step.unit == name and step.what != "dry")
