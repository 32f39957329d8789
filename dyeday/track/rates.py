"""How many prompts and alarms a day made, when they crowded, and how long an alarm stood; for the day's page.

Counting as EEMUA 191 and ISA-18.2 do, by ten minutes and by the hour.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from dyeday.track.alarms import alarms
from dyeday.track.day import Day
from dyeday.track.instant import Now
from dyeday.track.progress import at_heat_min, soak_needed_min
from dyeday.track.record import BatchRecord

TEN_MIN = timedelta(minutes=10)
LONGEST_GAP_H = 2.0
"""with nothing recorded for longer, nobody is at work"""


@dataclass(frozen=True, slots=True)
class Rates:
    prompts: int
    alarms: int
    hours: float
    busiest: int
    """prompts and alarms in the busiest ten minutes"""
    busiest_at: datetime | None
    longest_min: float
    """the longest an alarm stood unacknowledged"""
    longest_text: str


def prompts(day: Day, now: Now) -> list[datetime]:
    """Return the instants at which a clock came due while its batch was still there, in order."""
    found = {
        moment.replace(second=0, microsecond=0)
        for batch in day.live
        for moment in _of_batch(day, batch, now)
        if moment <= now.utc and (batch.carried is None or moment > batch.carried.at.utc)
    }
    return sorted(found)


def _of_batch(day: Day, batch: BatchRecord, now: Now) -> Iterator[datetime]:
    soaked = 0.0
    for stay in batch.stays:
        length = (stay.until or now).utc - stay.since.utc
        if stay.state == "waiting":
            soaked = 0.0
        elif stay.state == "soak":
            left = timedelta(minutes=max(0.0, soak_needed_min(batch, day.plan) - soaked))
            if length >= left:
                yield stay.since.utc + left
            soaked += length.total_seconds() / 60
        elif stay.state == "cool":
            ends = [run.end.utc for run in batch.runs if run.end is not None and run.end.utc <= stay.since.utc]
            due = (max(ends) if ends else stay.since.utc) + timedelta(minutes=batch.layer_of(stay.layer).cool_min)
            if due <= (stay.until or now).utc:
                yield due
    for run in batch.runs:
        heat = batch.layer_of(run.layer).heat_of(run.pass_no)
        if at_heat_min(run, now) >= heat.minutes:
            yield run.heat_start.later(heat.minutes * 60).utc


def _hours_at_work(day: Day) -> float:
    """Return the hours in which something was recorded: gaps between events, of each no more than `LONGEST_GAP_H`.

    A night on the pegs would make few alarms an hour of many.
    """
    moments = sorted(event.at for event in day.events if event.kind != "carried")
    gaps = ((later - earlier).total_seconds() / 3600 for earlier, later in pairwise(moments))
    return sum(min(gap, LONGEST_GAP_H) for gap in gaps)


def rates(day: Day, now: Now) -> Rates:
    """Return the day's counts up to ``now``. Prompts of the same minute count as one: they are one sound."""
    came = prompts(day, now)
    raised = alarms(day, now)
    moments = sorted([*came, *(alarm.since for alarm in raised)])
    busiest, at = 0, None
    for n, moment in enumerate(moments):
        count = sum(other < moment + TEN_MIN for other in moments[n:])
        if count > busiest:
            busiest, at = count, moment
    longest = max(raised, key=lambda alarm: alarm.stood_min(now.utc), default=None)
    return Rates(
        prompts=len(came),
        alarms=len(raised),
        hours=max(0.25, _hours_at_work(day)),
        busiest=busiest,
        busiest_at=at,
        longest_min=longest.stood_min(now.utc) if longest is not None else 0.0,
        longest_text=longest.text if longest is not None else "",
    )
