"""New events, the ids of events that are one entry, and the order of recording."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import datetime, timedelta

from dyeday.track.day.day_state import Body, Event
from dyeday.track.timestamp import Now


def make(
    body: Body,
    now: Now,
    new_id: Callable[[], str],
    *,
    batch: str | None = None,
    minutes_ago: float = 0.0,
    at: datetime | None = None,
    is_approximate: bool = False,
) -> Event:
    """Return a new event that says ``body``, recorded ``now``, that happened ``minutes_ago``, or at ``at``.

    Raises EventError where a value of ``body`` is out of its bounds.
    """
    ago_s = (now.utc - at).total_seconds() if at is not None else minutes_ago * 60
    then = now.earlier(ago_s)
    return Event(new_id(), body.checked(), then.utc, now.utc, batch, then.boot_s, then.boot_id, is_approximate)


ENTRY_MARK = "+"
"""in ids of events that were recorded as one entry: those after the first have the first's id before this sign"""


def entry_of(event_id: str) -> str:
    """Return what the ids of all events of one entry have in common; one movement may be several events."""
    return event_id.partition(ENTRY_MARK)[0]


def entry_ids(first: str, count: int) -> list[str]:
    """Return the ids of ``count`` events that are one entry."""
    return [first, *(f"{first}{ENTRY_MARK}{n}" for n in range(1, count))]


def in_order_of_recording(events: Iterable[Event]) -> list[Event]:
    """Return events as they were recorded; ties stay as they come."""
    return sorted(events, key=lambda event: event.recorded_at)


def spread(events: Iterable[Event]) -> list[Event]:
    """Give events recorded in one go recording times a microsecond apart, so that their order can be told."""
    out: list[Event] = []
    for event in events:
        if out and event.recorded_at <= out[-1].recorded_at:
            event = replace(event, recorded_at=out[-1].recorded_at + timedelta(microseconds=1))
        out.append(event)
    return out
