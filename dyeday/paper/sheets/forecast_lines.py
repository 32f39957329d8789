"""The forecast in lines: both answers, what is next, warnings, latest starts, gains of changes, all steps."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.cells import cell_len

from dyeday.ahead.advising.advice import advice
from dyeday.ahead.advising.hindrances import grouped
from dyeday.ahead.bottleneck import bottleneck
from dyeday.ahead.deadlines import deadlines
from dyeday.ahead.forecast import TONIGHT, Forecast
from dyeday.ahead.kernel.problem import Problem
from dyeday.ahead.problem_parts.later_acid import hands_steps
from dyeday.ahead.what_if import Gain, gain_text
from dyeday.paper.layout.text_page import clip, pad, wrap
from dyeday.paper.local_time import clock_on
from dyeday.plan.step_ids import ChoreId
from dyeday.terms import DayAim, StepKind
from dyeday.text import counted, ordinal
from dyeday.track.day.day_state import Day
from dyeday.track.events.event_text import batches_text
from dyeday.track.timestamp import length_text


def verdict_lines(found: Forecast, zone: str | None) -> list[str]:
    """Return both answers: when all is rinsed, and how much by the stop."""
    if not found.steps and not found.left_out:
        return [f"nothing left to do: {found.rinsed} of {found.of} batches rinsed"]
    at = found.at.utc
    likely, late = clock_on(found.hands_off, zone, at), clock_on(found.hands_off_late, zone, at)
    stop = clock_on(found.stop, zone, at)
    over = (found.hands_off - found.stop).total_seconds() / 60
    band = f", 9 days in 10 by {late}" if found.hands_off_late > found.hands_off else ""
    if found.nothing_ends:
        lines = ["no batch that is left can be finished"]
    elif found.left_out:
        count = counted(len(found.left_out), "batch", "batches")
        lines = [f"{count} cannot be finished; the others rinsed by {likely}{band}"]
    else:
        lines = [
            f"all rinsed by {likely}{band}; before {stop}, your stop"
            if over <= 0
            else f"all rinsed by {likely}{band}; {length_text(round(over))} after {stop}"
        ]
    so_far = "through their heat" if found.counts_heat else "rinsed"
    count = f"{found.rinsed} of {found.of} batches {so_far}"
    rinsed = f"{count} by {stop}" if over <= 0 else f"stopping at {stop}: {count}"
    heat = found.last_heat_text(lambda moment: clock_on(moment, zone, at)) if found.counts_heat else ""
    rinsed += f"; {heat}" if heat else ""
    never = {batch for batch, _ in found.left_out}
    carried = [batch for batch in found.carried if batch not in never]
    if carried:
        rinsed += f"; {batches_text(carried)} left for tomorrow"
    if found.tomorrow_hands_off is not None:
        rinsed += f", finish {clock_on(found.tomorrow_hands_off, zone, at)}"
    lines.append(rinsed)
    lines += [f"{batches_text(batches)} cannot be finished: {why}" for batches, why in grouped(found.left_out)]
    return lines


def serving_line(found: Forecast, day: Day) -> str:
    """Return the aim and the bottleneck."""
    most = "most through their heat by stop" if found.counts_heat else "most rinsed by stop"
    fits = "all fits by stop, so " if day.aim is not DayAim.TONIGHT else ""
    asked = f"{fits}all rinsed as early as possible" if found.serving == TONIGHT else most
    neck = bottleneck(found, day)
    if neck is None:
        return f"aim: {asked}"
    until = clock_on(neck.until, day.plan.session.zone, found.at.utc)
    idle = f"busy {100 * neck.busy_share:.0f} %, {length_text(neck.idle_min)} idle"
    busy = f"{idle if round(neck.idle_min) else 'never idle'} until {until}"
    return f"aim: {asked}; bottleneck: {neck.name}, {busy}"


def one_more_line(gain: Gain) -> str:
    """Return the gain of one more of the bottleneck."""
    return f"{gain.label}: {gain_text(gain)}"


def next_lines(found: Forecast, day: Day, width: int = 80, most: int = 3) -> list[str]:
    """Return what is next, as on the bench, after the reason if the advice changed."""
    lines = wrap(found.changed, width, "  ", "") if found.changed else []
    for n, item in enumerate(advice(day, found.at, most, found)):
        about = f"{item.about}{':' if item.about in day.units else ''} " if item.about else ""
        lead = "next: " if n == 0 else "then: "
        lines += wrap(f"{about}{item.do}, {item.why}", width, "      ", lead)
    return lines


def warning_lines(found: Forecast, width: int = 80) -> list[str]:
    """Return the warnings, soonest first."""
    return [line for warned in found.warned for line in wrap(str(warned), width, "  ", "~ ")]


def deadline_lines(found: Forecast, zone: str | None, width: int = 80) -> list[str]:
    """Return the latest starts of each batch and its heats with which it can be rinsed by the stop."""
    begins: dict[str, str] = {}
    heats: dict[str, list[str]] = {}
    for deadline in deadlines(found):
        at = clock_on(deadline.at, zone, found.at.utc)
        if deadline.step.kind is StepKind.LOAD:
            layer = f"layer {deadline.step.layer} " if deadline.step.layer > 1 else ""
            heats.setdefault(deadline.batch, []).append(f"{layer}{ordinal(deadline.step.heat)} heat {at}")
        else:
            begins[deadline.batch] = f"begin {at}"
    if not begins and not heats:
        return []
    stop = clock_on(found.stop, zone, found.at.utc)
    parts = []
    for batch in sorted({*begins, *heats}):
        parts.append(f"{batch}: {', '.join([*([begins[batch]] if batch in begins else []), *heats.get(batch, ())])}")
    lines = [f"latest starts to be rinsed by {stop}"]
    cells = max(len(part) for part in parts) + 3
    across = max(1, width // cells)
    if across == 1:
        return [*lines, *(line for part in parts for line in wrap(part, width, "    ", ""))]
    for n in range(0, len(parts), across):
        lines.append(clip("".join(pad(part, cells) for part in parts[n : n + across]).rstrip(), width))
    return lines


def gain_lines(gains: Iterable[Gain], width: int = 80) -> list[str]:
    """Return the gains of changes, one a line."""
    return [clip(f"{pad(gain.label, 16)} {gain_text(gain)}", width) for gain in gains]


def table_lines(found: Forecast, day: Day, width: int = 80) -> list[str]:
    """Return the steps of the hands, one a line, by start; [] if there are none."""
    zone, of = day.plan.session.zone, chores(found.problem)
    rows = [("start", "end", "batch", "step", "unit")]
    for step in (step for step in hands_steps(day, found) if step.attended):
        start, end = (clock_on(moment, zone, found.at.utc) for moment in (step.start, step.end))
        where = (step.unit or "") if step.batch else of.get(step.owner, "")
        rows.append((start, end, step.batch, step.id.words, where))
    if len(rows) == 1:
        return []
    cells = [max(cell_len(row[n]) for row in rows) + 2 for n in range(4)]
    return [clip("".join(map(pad, row, cells)) + row[4], width).rstrip() for row in rows]


def chores(problem: Problem) -> dict[str | ChoreId, str]:
    """Return the batches that chores of a lot or of the day come before or after, by chore: "for 11, 12"."""
    found: dict[str | ChoreId, list[str]] = {}
    for link in problem.links:
        for chore, batch in ((link.of, link.to), (link.to, link.of)):
            if isinstance(chore, ChoreId) and isinstance(batch, str):
                found.setdefault(chore, []).append(batch)
    return {chore: f"for {', '.join(dict.fromkeys(batches))}" for chore, batches in found.items()}


def sections(parts: Sequence[Sequence[str]]) -> list[str]:
    """Return parts as lines, an empty line between them; empty parts are left out."""
    out: list[str] = []
    for part in parts:
        if part:
            out += ["", *part] if out else list(part)
    return out
