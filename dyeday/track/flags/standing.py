"""The rule about alarms themselves: heat over its time whose alarm was not silenced."""

from __future__ import annotations

from collections.abc import Iterator

from dyeday.terms import AlarmKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.flags.rule import RaisedFlag
from dyeday.track.timers.alarm_states import is_one_cause, of_batch, of_tanks
from dyeday.track.timestamp import Now, clock_from, length_text

_REMEDY = "turn the heat off, open with care, and look for scorched or felted yarn"


def overdue(day: Day, batch: BatchRecord, now: Now) -> Iterator[RaisedFlag]:
    """Heat stood over its time, its alarm not silenced for longer than ``rules.overdue``.

    Yarn that dried out and a tank that ran low have flags of their own and are not flagged twice.
    """
    limit = day.plan.rules.overdue
    for alarm in of_batch(day, batch, now):
        since = alarm.stood_for(limit, now.utc) if alarm.kind is AlarmKind.HEAT else None
        if since is None or any(is_one_cause(alarm, low) for low in of_tanks(day, now)):
            continue
        stood = length_text(alarm.stood_min(now.utc))
        began = clock_from(alarm.since, day.plan.session.zone, day.plan.session.date)
        why = f"alarm of {began} not answered for {stood}: {alarm.text}"
        yield RaisedFlag(since, why, _REMEDY, alarm.unit, f"{alarm.unit} {alarm.since}")
