"""The chosen batch beside the list: its orders, timer, flags and acid, what comes next, what happened."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from rich.text import Text

from dyeday.ahead.advising.next_step import next_step
from dyeday.ahead.advising.reasons import do_text
from dyeday.bench.looks.themes import LookStyles
from dyeday.bench.view.batch_row import BatchRow, Urgency
from dyeday.bench.widgets.board import Canvas
from dyeday.terms import State
from dyeday.text import clip, counted, ordinal, wrap
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day, Event
from dyeday.track.day.progress import state_word, unit_words
from dyeday.track.events.reading_text import reading_text
from dyeday.track.events.rewriting import Corrected
from dyeday.track.flags import RULES, Flag
from dyeday.track.folding.fold import current
from dyeday.track.timers.timers import Timer, timer_of
from dyeday.track.timestamp import Moment, time_text_near

if TYPE_CHECKING:
    from dyeday.ahead.foreseen_steps import Forecast

MOST_BAR = 24
LEAST_HISTORY = 3


def pane_lines(
    day: Day, row: BatchRow, flags: Sequence[Flag], now: Moment, forecast: Forecast | None, canvas: Canvas
) -> list[Text]:
    """Return the pane of the batch of ``row``; lines to spare go to its latest history, then to foreseen steps."""
    width, height, look, _ = canvas
    batch = day.batches[row.no]
    head = [Text(line) for line in wrap(_whose(day, batch), width)]
    if (timer := timer_of(day, batch, now)) is not None:
        head.append(_timer_line(timer, row, width, look))
    opened = [flag for flag in flags if flag.cleared is None]
    room = max(1, (height - len(head) - LEAST_HISTORY - 2) // max(1, len(opened)))
    for flag in opened:
        words = f"⚑ {RULES[flag.rule].short}: {flag.remedy}"
        head += [Text(line, style=look.flag_style) for line in wrap(words, width, "  ", "")[: min(3, room)]]
    if acid := _acid(batch):
        head.append(Text(clip(acid, width)))
    step = next_step(day, batch, now)
    foot = [Text(line, style="bold") for line in wrap(f"next: {step.text}", width, "  ", "")[:2]] if step else []
    steps = batch.colourway.steps if batch.state in (State.SOAK, State.PAINT) else ()
    for n, step_text in enumerate(steps, 1):
        if len(head) + len(foot) + LEAST_HISTORY < height:
            head.append(Text(clip(f"{n}. {step_text}", width)))
    left = height - len(head) - len(foot)
    history = list(_history(day, batch, now, width))[-left:] if left > 0 else []
    ahead = _foreseen(day, batch, forecast, now) if forecast is not None else []
    left -= len(history)
    coming = [Text(clip(line, width), style=look.quiet) for line in ahead[: max(0, left)]]
    return [*head, *(Text(line, style=look.quiet) for line in history), *foot, *coming][:height]


def _foreseen(day: Day, batch: BatchRecord, forecast: Forecast, now: Moment) -> list[str]:
    zone = day.plan.session.zone
    steps = (s for s in forecast.steps if s.owner == batch.no and s.attended and s.start >= now.utc)
    return [f"{time_text_near(step.start, zone, now.utc)} {do_text(step)}" for step in steps]


def _whose(day: Day, batch: BatchRecord) -> str:
    parts = [counted(batch.skeins, batch.base.form.value), *([batch.tag] if batch.tag else [])]
    dues = {order.item: order.due for order in day.plan.orders}
    for item, count in batch.shares:
        due = f", due {dues[item]:%d %b}" if dues.get(item) else ""
        parts.append(f"{count} for {item}{due}")
    return " · ".join(parts)


def _timer_line(timer: Timer, row: BatchRow, width: int, look: LookStyles) -> Text:
    """Return a timer as a bar: its time so far, what it is over its time, what is left."""
    line = Text(f"{row.state} ")
    style = row.urgency.style(look)
    if timer.left_s is not None:
        room = max(6, min(MOST_BAR, width - line.cell_len - len(row.time) - 2))
        total = max(timer.elapsed_s + max(0.0, timer.left_s), 1.0)
        in_time_share = min(1.0, max(0.0, (timer.elapsed_s + min(0.0, timer.left_s)) / total))
        in_time = round(room * in_time_share) if timer.left_s > 0 or row.urgency >= Urgency.OVER else room
        over = room - in_time if timer.left_s <= 0 else 0
        line.append("█" * in_time, style=look.quiet)
        line.append("▓" * over, style=look.urgent)
        line.append("░" * (room - in_time - over) + " ", style=look.quiet)
    line.append(row.time, style=style)
    return line


def _acid(batch: BatchRecord) -> str:
    ml, grams = (sum(getattr(acid, f"amount_{unit}") for acid in batch.acids) for unit in ("ml", "g"))
    amounts = [f"{amount:.3g} {unit}" for amount, unit in ((ml, "mL"), (grams, "g")) if amount]
    return f"acid so far: {', '.join(amounts)}" if amounts else ""


def history_of(day: Day, batch: BatchRecord) -> list[tuple[Event, Event]]:
    """Return (as it counts, as entered) each event of a batch and of those it was split from, in their order.

    An event that was corrected to another batch is in the history of both.
    """
    line = _line(batch)
    corrected = {event.body.target_id for event in day.events if isinstance(event.body, Corrected)}
    both = ((current(day, event) if event.id in corrected else event, event) for event in day.events)
    own = [(counts, entered) for counts, entered in both if line & {*counts.batches, *entered.batches}]
    return sorted(own, key=lambda pair: pair[0].at)


def counts_for(batch: BatchRecord, event: Event) -> bool:
    """Return whether an event of `history_of` is of the batch as it counts: not corrected to another."""
    return not _line(batch).isdisjoint(event.batches)


def _line(batch: BatchRecord) -> set[str]:
    return {batch.no, *(no for _, no in batch.earlier_nos)}


def history_before(day: Day, batch: BatchRecord) -> list[str]:
    """Return what happened to a batch before it was carried over, each with its day, "Fri 14:05 to soak"."""
    if batch.carried is None:
        return []
    heats = [(heat, f"{ordinal(heat.heat_no)} heat") for heat in batch.heats]
    done = [(stay.since, f"to {state_word(batch, stay.state, stay.layer)}") for stay in batch.stays]
    done += [(heat.start, f"{words} started{unit_words(heat.unit, hangs=False)}") for heat, words in heats]
    done += [(heat.end, f"{words} ended") for heat, words in heats if heat.end is not None]
    done += [(read.at, reading_text(read.name, read.value, read.where)) for read in batch.readings]
    earlier = sorted((at.utc, text) for at, text in [*done, *batch.notes] if not batch.is_of_session(at.utc))
    return [f"{day.time_text(at)} {text}" for at, text in earlier]


def _history(day: Day, batch: BatchRecord, now: Moment, width: int) -> Iterator[str]:
    """Yield what happened to a batch, oldest first, without what was made void."""
    zone = day.plan.session.zone
    alive = (event for event, _ in history_of(day, batch) if event.id not in day.void_ids)
    own = (event for event in alive if counts_for(batch, event))
    today = (f"{time_text_near(event.at, zone, now.utc)} {event.text(day)}" for event in own)
    for line in [*history_before(day, batch), *today]:
        yield from wrap(line, width, " " * 6, "")
