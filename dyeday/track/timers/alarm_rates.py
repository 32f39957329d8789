"""How many prompts and alarms a day made, and how long alarms stood, counted as in EEMUA 191 and ISA-18.2."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise

from dyeday.quick_dataclass import dataclass
from dyeday.terms import State
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import (
    at_heat_min,
    dishes_to_heat,
    heat_due_min,
    last_heat_end,
    soak_needed_min,
    soaked_min,
)
from dyeday.track.day.waiting_time import wait_used_up_at, waits
from dyeday.track.timers.alarm_states import alarms
from dyeday.track.timers.timers import tanks
from dyeday.track.timestamp import Moment, minutes

TEN_MIN = timedelta(minutes=10)
LONGEST_GAP_H = 2.0
"""with nothing recorded for longer, work has stopped"""


@dataclass(frozen=True, slots=True)
class Rates:
    """How a day's timers loaded one person: counts, the hours at work, the worst of them."""

    prompts: int
    alarms: int
    hours: float
    """of recorded activity: the gaps between entries, of each `LONGEST_GAP_H` at most; in all 0.25 at least"""
    busiest: int
    """prompts and alarms in the busiest ten minutes"""
    longest_min: float
    """the longest that an alarm was active"""


def prompts(day: Day, now: Moment) -> list[datetime]:
    """Return each minute of the day in which timers or dishes came due, in order; drying makes no prompt."""
    began, ended = _from_to(day, now)
    came_due = ((b, at) for b in day.unsplit for at in (*_of_batch(day, b, now), *_of_rests(b, now)))
    of_batches = [moment for batch, moment in came_due if batch.is_of_session(moment)]
    of_tanks = (fill.when_low() for _, fills in tanks(day, now) for fill in fills)
    moments = (moment for moment in (*of_batches, *of_tanks) if moment is not None and began <= moment <= ended)
    return sorted({moment.replace(second=0, microsecond=0) for moment in moments})


def _from_to(day: Day, now: Moment) -> tuple[datetime, datetime]:
    return day.first_at or now.utc, min(day.ended or now, now).utc


def _of_batch(day: Day, batch: BatchRecord, now: Moment) -> Iterator[datetime]:
    for stay in batch.stays:
        if stay.state is State.SOAK:
            before_min = soaked_min(batch, stay.since, stay.layer) - minutes(stay.since, stay.until or stay.since)
            due = stay.since.later(max(0.0, soak_needed_min(batch, day.plan) - before_min) * 60)
        elif stay.state is State.COOL:
            cool_min = batch.layer_of(stay.layer).cool_min
            due = (last_heat_end(batch, stay.since) or stay.since).later(cool_min * 60)
        else:
            continue
        if due.utc <= (stay.until or now).utc:
            yield due.utc
    for heat in batch.heats:
        each_min = batch.planned_heat(heat).minutes
        dishes, first_min = dishes_to_heat(heat_due_min(day.plan, batch, heat), each_min)
        due_min = (first_min + n * each_min for n in range(dishes))
        yield from (heat.at_heat_since.later(due * 60).utc for due in due_min if at_heat_min(heat, now) >= due)
    limits = (wait_used_up_at(batch, wait, day.plan, now) for wait in waits(day, batch))
    yield from (limit.utc for limit in limits if limit is not None)


def _of_rests(batch: BatchRecord, now: Moment) -> Iterator[datetime]:
    fixing = [stay for stay in batch.stays if stay.state == State.FIX]
    for heat, after in zip(batch.heats, [*batch.heats[1:], None], strict=False):
        if heat.end is None or (after is not None and (after.layer, after.heat_no) == (heat.layer, heat.heat_no)):
            continue  # still on, or another dish of the same heat follows
        rest = batch.layer_of(heat.layer).rest_before(heat.heat_no + 1)
        until = next((stay.until for stay in reversed(fixing) if stay.since.utc <= heat.start.utc), None) or now
        ends = min(until.utc, after.start.utc) if after is not None else until.utc
        due = heat.end.later(rest * 60).utc
        if rest > 0 and due <= ends:
            yield due


def rates(day: Day, now: Moment) -> Rates:
    """Return the day's counts up to ``now``, or its end. Prompts of one minute are one: they make one sound."""
    came, (began, ended) = prompts(day, now), _from_to(day, now)
    raised = [alarm for alarm in alarms(day, now) if alarm.since <= ended]
    # An alarm that a batch came with counts, but not in the busiest ten minutes.
    moments = sorted([*came, *(alarm.since for alarm in raised if alarm.since >= began)])
    in_ten_min = (sum(moment <= other < moment + TEN_MIN for other in moments) for moment in moments)
    active_min = (replace(alarm, since=max(alarm.since, began)).active_min(ended) for alarm in raised)
    entries = sorted(event.at for event in day.shown_events if event.body.IS_OF_DAY)
    gaps_h = ((later - earlier).total_seconds() / 3600 for earlier, later in pairwise(entries))
    return Rates(
        prompts=len(came),
        alarms=len(raised),
        hours=max(0.25, sum(min(gap_h, LONGEST_GAP_H) for gap_h in gaps_h)),
        busiest=max(in_ten_min, default=0),
        longest_min=max(active_min, default=0.0),
    )
