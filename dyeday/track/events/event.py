"""One entry of a day: what happened (its body), when, to which batch, and when it was recorded."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from dyeday.track.events.body import Body
from dyeday.track.timestamp import Now, iso, parse_utc

LATE_S = 60.0
"""recorded this long after it happened, an event is late"""


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened. `track/events/kinds.py` lists what ``body`` may be."""

    id: str
    body: Body
    at: datetime
    recorded_at: datetime
    batch: str | None = None
    boot_s: float | None = None
    boot_id: str | None = None
    is_about: bool = False
    """whether its time was suggested by the plan and the clocks, not seen by anybody"""

    @property
    def moment(self) -> Now:
        """When it happened, by the wall clock and the boot clock."""
        return Now(self.at, self.boot_s, self.boot_id)

    @property
    def batches(self) -> tuple[str, ...]:
        """The batches it is about: those of a load, or its one batch."""
        return self.body.batches or (() if self.batch is None else (self.batch,))

    @property
    def is_late(self) -> bool:
        """Whether it was recorded more than LATE_S after it happened."""
        return (self.recorded_at - self.at).total_seconds() > LATE_S

    def corrected(self, keys: Mapping[str, Any]) -> Event:
        """Return this event with other keys, as a correction gives them. Raises ValueError, for a key EventError."""
        body = self.body.corrected({k: v for k, v in keys.items() if k not in ("at", "batch")})
        at = parse_utc(keys["at"]) if "at" in keys else self.at
        # A moved event has no boot clock of its own any more.
        boot_s = self.boot_s if at == self.at else None
        about = self.is_about and at == self.at
        return replace(self, body=body, at=at, batch=keys.get("batch", self.batch), boot_s=boot_s, is_about=about)

    def to_json(self) -> dict[str, Any]:
        """Return it as a JSON object, as it is stored; keys that are None are left out."""
        out: dict[str, Any] = {"event": self.body.NAME, "at": iso(self.at)}
        if self.batch is not None:
            out["batch"] = self.batch
        out.update(self.body.to_json())
        out["id"] = self.id
        out["recorded_at"] = iso(self.recorded_at)
        if self.boot_s is not None:
            out["boot_s"] = self.boot_s
        if self.boot_id is not None:
            out["boot_id"] = self.boot_id
        if self.is_about:
            out["about"] = True
        return out


def make(
    body: Body,
    now: Now,
    new_id: Callable[[], str],
    *,
    batch: str | None = None,
    minutes_ago: float = 0.0,
    at: datetime | None = None,
    is_about: bool = False,
) -> Event:
    """Return a new event that says ``body``, recorded ``now``, that happened ``minutes_ago``, or at ``at``.

    Raises EventError where a value of ``body`` is out of its bounds.
    """
    ago_s = (now.utc - at).total_seconds() if at is not None else minutes_ago * 60
    then = now.earlier(ago_s)
    return Event(new_id(), body.checked(), then.utc, now.utc, batch, then.boot_s, then.boot_id, is_about)


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
