"""The rule about alarms themselves: one that nobody acknowledged for too long."""

from __future__ import annotations

from collections.abc import Iterator

from dyeday.terms import AlarmKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.flags.rule import Raised
from dyeday.track.timers.alarm_states import Alarm, of_batch, of_tanks
from dyeday.track.timestamp import Now, length_text

_REMEDY = {
    AlarmKind.HEAT: "turn the heat off, open with care, and look for scorched or felted yarn",
    AlarmKind.WAIT: "feel for dry places, damp them with acid water, and fix it now",
    AlarmKind.TANK: "turn it off, let it cool, fill it, and look at the yarn above",
}


def overdue(day: Day, batch: BatchRecord, now: Now) -> Iterator[Raised]:
    """An alarm stood unacknowledged for longer than ``rules.overdue``."""
    limit = day.plan.rules.overdue
    tanks = (alarm for alarm in of_tanks(day, now) if _was_over(batch, alarm))
    for alarm in (*of_batch(day, batch, now), *tanks):
        since = alarm.stood_for(limit, now.utc)
        if since is not None:
            stood = length_text(alarm.stood_min(now.utc))
            yield Raised(since, f"an alarm stood {stood} unacknowledged: {alarm.text}", _REMEDY[alarm.kind])


def _was_over(batch: BatchRecord, alarm: Alarm) -> bool:
    """Tell whether a batch was in the alarm's unit while it stood."""
    return any(
        place.unit == alarm.unit
        and (place.until is None or place.until.utc > alarm.since)
        and (alarm.until is None or place.since.utc < alarm.until)
        for place in batch.placements
    )
