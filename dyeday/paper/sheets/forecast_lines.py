"""The forecast in lines: both answers, what is next, warnings, latest starts, gains of changes, all steps."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rich.cells import cell_len

from dyeday.ahead.advising.advice import advice
from dyeday.ahead.advising.hindrances import cannot_be_finished
from dyeday.ahead.deadlines import deadlines, heat_text
from dyeday.ahead.foreseen_steps import Forecast
from dyeday.ahead.kernel.problem import Problem
from dyeday.ahead.problem_parts.fill_steps import with_fills
from dyeday.ahead.problem_parts.hours import clock_text
from dyeday.ahead.problem_parts.mid_heat import hands_steps
from dyeday.ahead.problem_parts.session_days import next_hours
from dyeday.ahead.what_if import Gain, bottleneck, gain_text
from dyeday.grouping import grouped
from dyeday.paper.sheets.step_words import step_words, unit_words_of
from dyeday.plan.step_ids import ChoreId
from dyeday.terms import DayAim, StepKind
from dyeday.text import batches_text, clip, counted, pad, wrap
from dyeday.track.day.day_state import Day
from dyeday.track.events.hours_events import AIM_WORDS
from dyeday.track.timestamp import time_text_on

MOST_UNIT_CELLS = 18
"""left to the column of units, where its names are as long, however long a step is"""


def verdict_lines(forecast: Forecast, zone: str | None) -> list[str]:
    """Return both answers: when all is rinsed, and how much by the stop."""
    if not forecast.steps and not forecast.left_out:
        return [f"nothing left to do: {forecast.reached} of {forecast.of} batches rinsed"]
    at = forecast.at.utc
    likely, stop = (time_text_on(moment, zone, at) for moment in (forecast.finish, forecast.stop))
    runs_over = forecast.finish > forecast.stop
    if forecast.nothing_ends:
        lines = ["no batch that is left can be finished"]
    elif forecast.left_out:
        count = counted(len(forecast.left_out), "batch", "batches")
        lines = [f"{count} cannot be finished; the others rinsed by {likely}"]
    else:
        lines = [f"all rinsed by {likely}{' if you work on' if runs_over else f'; you stop at {stop}'}"]
    so_far = "through their heat" if forecast.counts_heat else "rinsed"
    count = f"{forecast.reached} of {forecast.of} batches {so_far}"
    rinsed = f"if you stop at {stop}: {count}" if runs_over else f"{count} by {stop}"
    heat = forecast.last_heat_text(lambda moment: time_text_on(moment, zone, at)) if forecast.counts_heat else ""
    rinsed += f"; {heat}" if heat else ""
    if forecast.left_over:
        rinsed += f"; {batches_text(forecast.left_over)} left over"
    if forecast.tomorrow_finish is not None:
        rinsed += f", rinsed by {time_text_on(forecast.tomorrow_finish, zone, at)}"
    lines.append(rinsed)
    if forecast.made_by_stop is not None:
        made, first_stop = forecast.made_by_stop
        by = time_text_on(first_stop, zone, at)
        lines.append(f"{made} of {forecast.of} batches were through their heat by {by}")
    lines += [text for _, text in cannot_be_finished(forecast)]
    return lines


def serving_line(forecast: Forecast, day: Day) -> str:
    """Return the aim, what is busiest, and how late the day may become."""
    most = DayAim.HEAT_BY_STOP if forecast.counts_heat else DayAim.BY_STOP
    asked = AIM_WORDS[DayAim.TONIGHT if forecast.for_end else most]
    neck = bottleneck(forecast, day)
    busiest = f"; busiest: {neck.name}, {100 * neck.busy_share:.0f} %" if neck is not None else ""
    late = time_text_on(forecast.finish_late, day.plan.session.zone, forecast.at.utc)
    band = f"; nine days in ten end by {late}" if forecast.finish_late > forecast.finish else ""
    return f"aim: {asked}{busiest}{band}"


def next_lines(forecast: Forecast, day: Day, width: int) -> list[str]:
    """Return the three things that are next, as on the bench, after the reason if the advice changed."""
    lines = wrap(forecast.changed, width, "  ", "") if forecast.changed else []
    for n, item in enumerate(advice(day, forecast.at, 3, forecast)):
        about = f"{item.about}{':' if item.about in day.units else ''} " if item.about else ""
        lead, why = "next: " if n == 0 else "then: ", f", {item.why}" if item.why else ""
        lines += wrap(f"{about}{item.do}{why}", width, "      ", lead)
    return lines


def warning_lines(forecast: Forecast, width: int = 80) -> list[str]:
    """Return the warnings, soonest first."""
    return [line for warned in forecast.warned for line in wrap(str(warned), width, "  ", "~ ")]


def deadline_lines(forecast: Forecast, day: Day, width: int = 80) -> list[str]:
    """Return the latest start of each batch's next step and heats by the stop, all other work waiting."""
    zone = day.plan.session.zone
    last: dict[str, list[str]] = {}
    for deadline in sorted(deadlines(forecast), key=lambda one: (one.batch, one.at)):
        id_ = deadline.step
        is_heat, layer = id_.kind is StepKind.LOAD, f"layer {id_.layer} " if id_.layer > 1 else ""
        bare = id_._replace(layer=min(id_.layer, 1)).words
        what = heat_text(day.batches.get(deadline.batch), id_, "on") if is_heat else bare
        at = time_text_on(deadline.by, zone, forecast.at.utc)
        last.setdefault(deadline.batch, []).append(f"{layer}{what} {at}")
    if not last:
        return []
    stop = time_text_on(forecast.stop, zone, forecast.at.utc)
    parts = [f"{batch}: {', '.join(chances)}" for batch, chances in last.items()]
    title = f"last chance to be {forecast.counted_as} by {stop}, each batch alone, all other work waiting"
    lines = wrap(title, width, "  ", "")
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


def table_notes(forecast: Forecast, day: Day) -> Iterator[str]:
    """Yield what a timetable's reader must know: whether it stops at the stop, and how a tank is filled."""
    stop = time_text_on(forecast.stop, day.plan.session.zone, forecast.at.utc)
    if forecast.finish > forecast.stop and forecast.for_end:
        yield f"these steps go on after {stop}"
    elif forecast.finish > forecast.stop and not forecast.counts_heat:
        hours = ", ".join(f"{clock_text(a)}-{clock_text(b)}" for a, b in next_hours(day.plan))
        on = f"go on the next day, {hours}"
        yield f"these steps stop at {stop} and {on}; set a later stop to see those of working on"
    if any(step.kind is StepKind.FILL for step in with_fills(day.plan, forecast.steps)):
        yield "fill the tank switched off, with boiling water"


def table_lines(forecast: Forecast, day: Day, width: int = 80) -> list[str]:
    """Return the steps of the hands, one a line, by start, below their notes; [] if there are none."""
    zone, of = day.plan.session.zone, chores(forecast.problem)
    rows = [("start", "end", "batch", "step", "unit")]
    for step in (step for step in hands_steps(day, forecast) if step.attended):
        start = time_text_on(step.start, zone, forecast.at.utc)
        end = time_text_on(step.end, zone, forecast.at.utc) if step.minutes else ""
        where = unit_words_of(step, day) if step.batch else of.get(step.owner, "")
        rows.append((start, end, step.batch, step_words(step, forecast, day), where))
    if len(rows) == 1:
        return []
    cells = [max(cell_len(row[n]) for row in rows) + 2 for n in range(4)]
    units = min(MOST_UNIT_CELLS, max(cell_len(row[4]) for row in rows))
    before = sum(cells[:3])
    cells[3] = min(cells[3], width - before - units)
    lines = [line for note in table_notes(forecast, day) for line in wrap(note, min(width, 80), "  ", "")]
    for *row, what, unit in rows:
        first, *more = wrap(what, cells[3] - 2, "", "")
        lines.append(clip("".join(map(pad, [*row, first], cells)) + unit, width).rstrip())
        lines += [f"{'':{before}}{words}" for words in more]
    return lines


def chores(problem: Problem) -> dict[str | ChoreId, str]:
    """Return the batches that chores of a lot or of the day come before or after, by chore: "for 11, 12"."""
    ends = [ends for link in problem.links for ends in ((link.of, link.to), (link.to, link.of))]
    batches_of = grouped((chore, no) for chore, no in ends if isinstance(chore, ChoreId) and isinstance(no, str))
    return {chore: f"for {batches_text(list(dict.fromkeys(numbers)))}" for chore, numbers in batches_of.items()}
