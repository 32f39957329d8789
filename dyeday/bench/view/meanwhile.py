"""What came due, began to alarm or was recorded since the last key press."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from dyeday.track.day.day_state import Day
from dyeday.track.events.event_text import event_text, whose
from dyeday.track.timers.alarm_states import standing
from dyeday.track.timers.clocks import due
from dyeday.track.timestamp import Now, length_text
from dyeday.track.timestamp import clock as clock_text


def meanwhile(day: Day, since: datetime, now: Now, own: Collection[str]) -> list[str]:
    """Return a line for each thing that came due, began to alarm or was recorded by another shell after ``since``.

    Alarms that still stand come first, then what came due, then records; ``own`` are the ids of events this bench
    recorded. Where anything is new, what already did harm before ``since`` is listed too.
    """
    zone = day.plan.session.zone
    alarms = [alarm for alarm in standing(day, now) if alarm.until is None]
    alarmed = {each for alarm in alarms for each in alarm.ids}
    lines = [f"! {alarm.text}, since {clock_text(alarm.since, zone)}" for alarm in alarms]
    is_new = [alarm.since > since for alarm in alarms]
    for clock in due(day, now):
        due_at = clock.due_at(now) if clock.calls_hands and clock.id not in alarmed else None
        if due_at is not None and (clock.harms or due_at > since):
            about = clock.batch or clock.unit or ""
            what = clock.text or clock.what.value
            lines.append(f"* {about} {what}, {length_text(-(clock.left_s or 0.0) / 60)} ago")
            is_new.append(due_at > since)
    for event in day.events:
        if event.recorded_at > since and event.id not in own:
            lines.append(f"  {clock_text(event.at, zone)} another shell: {whose(event)}{event_text(event, day)}")
            is_new.append(True)
    return lines if any(is_new) else []
