"""The page's content as plain values for JSON: batch, colourway and unit, never an order or a customer."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from dyeday.ahead.advising.next_step import next_step
from dyeday.ahead.advising.next_up import NextUp, pressing_timer
from dyeday.bench.view.attention import Attention, needing_attention
from dyeday.text import harmless
from dyeday.track.day.day_state import Day
from dyeday.track.timers.alarm_states import Alarm, standing
from dyeday.track.timers.timers import Timer, all_timers
from dyeday.track.timestamp import Moment, local, time_text_near

if TYPE_CHECKING:
    from dyeday.ahead.foreseen_steps import Forecast

MOST_NEXT = 3
"""what is next and the two after it, as the far view has them"""


def page_values(
    day: Day, now: Moment, items: Sequence[NextUp], forecast: Forecast | None, *, unsaved: bool = False
) -> dict[str, object]:
    """Return the page of ``day`` at ``now``; ``items`` is what is next, most urgent first.

    Instants are milliseconds since 1970, UTC, by the clock that says ``now_ms``: the page counts on from there.
    ``sounding`` has a word for each sound an alarm owes, ``due`` one for each timer that has reached its time.
    """
    stand = [alarm for alarm in standing(day, now) if alarm.lasts]
    timers = all_timers(day, now)
    re_alarm = day.plan.rules.re_alarm
    chores = {(item.about, item.do) for item in items if item.is_chore}
    sounds = [(alarm, alarm.sounds(now.utc, re_alarm)) for alarm in stand]
    offset = local(now.utc, day.plan.session.zone).utcoffset() or timedelta()
    return {
        "now_ms": _ms(now.utc),
        "utc_offset_min": round(offset.total_seconds() / 60),
        "next": [_next(day, now, thing, chores) for thing in needing_attention(day, now, items)[:MOST_NEXT]],
        "alarms": [_alarm(alarm, now) for alarm in stand],
        "clocks": [_timer(day, now, timer) for timer in _in_order(timers)],
        "finish": _finish(day, now, forecast),
        "sounding": [f"{alarm.id}.{len(alarm.snoozes)}.{count}" for alarm, count in sounds if count > 0],
        "due": sorted(timer.id for timer in timers if timer.calls_hands),
        "unsaved": unsaved,
        "ended": "",
    }


def _ms(moment: datetime) -> int:
    return round(moment.timestamp() * 1000)


def _finish(day: Day, now: Moment, forecast: Forecast | None) -> str:
    if forecast is None or forecast.nothing_ends or not forecast.steps or day.closed is not None:
        return ""
    return time_text_near(forecast.finish, day.plan.session.zone, now.utc)


def _next(day: Day, now: Moment, thing: Attention, chores: set[tuple[str, str]]) -> dict[str, object]:
    """Return a thing that needs attention. ``due_ms`` is when its time is up, ``since_ms`` when it began."""
    batch = day.batches.get(thing.about.split("+")[0])
    timer = unit = None
    if batch is not None and (thing.about, thing.word) not in chores:
        timer, step = pressing_timer(day, batch, now), next_step(day, batch, now)
        unit = (step.unit if step is not None else None) or batch.unit
    return {
        "about": harmless(thing.about),
        "word": harmless(thing.word),
        "colourway": harmless(batch.colourway.name) if batch is not None else "",
        "unit": harmless(unit or ""),
        "due_ms": None if thing.left_s is None else _ms(now.later(thing.left_s).utc),
        "since_ms": None if thing.so_far_s is None else _ms(now.earlier(thing.so_far_s).utc),
        "to_come": thing.to_come.value,
        "harms": batch is None or (timer is not None and timer.is_left_to_hands),
        "urgency": thing.urgency,
    }


def _alarm(alarm: Alarm, now: Moment) -> dict[str, object]:
    return {
        "about": harmless(alarm.about),
        "what": harmless(alarm.what),
        "since_ms": _ms(alarm.since),
        "silenced": alarm.silenced_at is not None or alarm.is_snoozed(now.utc),
    }


def _timer(day: Day, now: Moment, timer: Timer) -> dict[str, object]:
    batch = day.batches.get(timer.batch or "")
    due = timer.due_at(now)
    assert due is not None  # noqa: S101 - `_in_order` keeps only timers that run to a time
    return {
        "about": harmless(timer.batch or timer.unit or ""),
        "colourway": harmless(batch.colourway.name) if batch is not None else "",
        "unit": harmless(timer.unit or "") if timer.batch else "",
        "what": timer.kind.value,
        "due_ms": _ms(due),
        "harms": timer.is_left_to_hands,
    }


def _in_order(timers: Sequence[Timer]) -> list[Timer]:
    """Return the timers that run to a time: what harms and is over, what runs, what is ready; soonest first."""

    def place(timer: Timer) -> tuple[int, float]:
        return 1 if not timer.is_due else 0 if timer.is_left_to_hands else 2, timer.left_s or 0.0

    return sorted((timer for timer in timers if timer.left_s is not None), key=place)
