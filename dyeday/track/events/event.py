"""The events a day is made of: their kinds, their keys, and their one-line JSON form both ways.

Stored and exchanged alike: what `to_json` gives, `read_event` takes back unchanged.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from dyeday.plan.reading.problems import near
from dyeday.text import harmless
from dyeday.track.events.event_schema import KINDS, EventError, check_keys, kind_by_keys
from dyeday.track.timestamp import Now, iso, parse_utc

LATE_S = 60.0
"""recorded this long after it happened, an event is late"""


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened. ``data`` holds the keys of its kind (see `dyeday.track.events.event_schema`)."""

    id: str
    kind: str
    at: datetime
    recorded_at: datetime
    data: Mapping[str, Any]
    batch: str | None = None
    boot_s: float | None = None
    boot_id: str | None = None

    @property
    def moment(self) -> Now:
        return Now(self.at, self.boot_s, self.boot_id)

    @property
    def batches(self) -> tuple[str, ...]:
        """The batches it is about: those of a load, or its one batch."""
        return tuple(self.data["batches"]) if self.kind == "load" else () if self.batch is None else (self.batch,)

    @property
    def is_late(self) -> bool:
        return (self.recorded_at - self.at).total_seconds() > LATE_S

    def corrected(self, keys: Mapping[str, Any]) -> Event:
        """Return this event with other keys, as a correction gives them."""
        data = {**self.data, **{k: v for k, v in keys.items() if k not in ("at", "batch")}}
        if "batches" in keys and isinstance(data.get("pass"), Mapping) and "pass" not in keys:
            # A batch that was not in the load had no heat in it either.
            data["pass"] = {no: heat for no, heat in data["pass"].items() if no in keys["batches"]}
        at = parse_utc(keys["at"]) if "at" in keys else self.at
        # A moved event has no boot clock of its own any more.
        boot_s = self.boot_s if at == self.at else None
        return replace(self, data=data, at=at, batch=keys.get("batch", self.batch), boot_s=boot_s)

    def to_json(self) -> dict[str, Any]:
        out: dict[str, Any] = {"event": self.kind, "at": iso(self.at)}
        if self.batch is not None:
            out["batch"] = self.batch
        out.update(self.data)
        out["id"] = self.id
        out["recorded_at"] = iso(self.recorded_at)
        if self.boot_s is not None:
            out["boot_s"] = self.boot_s
        if self.boot_id is not None:
            out["boot_id"] = self.boot_id
        return out


def make(
    kind: str,
    now: Now,
    new_id: Callable[[], str],
    *,
    batch: str | None = None,
    minutes_ago: float = 0.0,
    at: datetime | None = None,
    **data: Any,
) -> Event:
    """Return a new event of ``kind`` recorded ``now`` that happened ``minutes_ago``, or at ``at``.

    Raises EventError where ``data`` does not fit the kind.
    """
    ago_s = (now.utc - at).total_seconds() if at is not None else minutes_ago * 60
    then = now.earlier(ago_s)
    checked = check_keys(kind, {k: v for k, v in data.items() if v is not None})
    return Event(new_id(), kind, then.utc, now.utc, checked, batch, then.boot_s, then.boot_id)


_OWN = ("event", "at", "batch", "id", "recorded_at", "boot_s", "boot_id")


def read_event(raw: object, now: Now, *, twin: int = 0) -> Event:
    """Return the event in ``raw``, one JSON object.

    One without an ``id`` gets one made from what it says, so that reading the same line again gives the same
    event; ``twin`` tells equal lines of one file apart. Without ``recorded_at`` it is recorded ``now``.
    Raises EventError.
    """
    if not isinstance(raw, Mapping):
        raise EventError("it is not a JSON object", 'write {"at": "…", "batch": "03", "to": "soak"}')
    data = {key: value for key, value in raw.items() if key not in _OWN}
    kind = _kind(raw, data)
    checked = check_keys(kind, data)
    at = _instant(raw, "at")
    if at is None:
        raise EventError("it has no time", 'add "at": "2026-03-14T09:05:00Z"')
    batch = raw.get("batch")
    if batch is not None and not isinstance(batch, str):
        raise EventError(f"batch {batch!r} is not text", 'write it in quotes, such as "03"')
    if kind == "load" and batch is not None:
        raise EventError("a load has a batch of its own", 'name all of them in "batches"')
    if KINDS[kind].needs_batch and batch is None and not ("unit" in data and KINDS[kind].unit_will_do):
        raise EventError(f"{kind!r} names no batch", 'add "batch": "03"')
    boot_s, boot_id = raw.get("boot_s"), raw.get("boot_id")
    if isinstance(boot_s, bool) or not isinstance(boot_s, (int, float, type(None))):
        raise EventError(f"boot_s {boot_s!r} is no number", "leave it out")
    if boot_s is not None and not math.isfinite(boot_s):
        raise EventError(f"boot_s {boot_s!r} is no number", "leave it out")
    if not isinstance(boot_id, (str, type(None))):
        raise EventError("boot_id is not text", "leave it out")
    event_id = raw.get("id")
    if event_id is None:
        event_id = _content_id(kind, batch, iso(at), checked, twin)
    if not isinstance(event_id, str) or not 1 <= len(event_id) <= 64 or not event_id.isprintable():
        raise EventError("its id is not a short text", "leave id out")
    clean_batch = harmless(batch) if batch is not None else None
    recorded = _instant(raw, "recorded_at") or now.utc
    return Event(event_id, kind, at, recorded, checked, clean_batch, boot_s, boot_id)


def _kind(raw: Mapping[str, Any], data: Mapping[str, Any]) -> str:
    said = raw.get("event")
    if said is None:
        kind = kind_by_keys(data)
        if kind is None:
            raise EventError("nothing in it says what happened", f'add "event": one of {", ".join(KINDS)}')
        return kind
    spelt = str(said).replace("-", " ").replace("_", " ").casefold()
    if spelt not in KINDS:
        raise EventError(f"{harmless(said)!r} is no event", near(spelt, KINDS))
    return spelt


def _instant(raw: Mapping[str, Any], key: str) -> datetime | None:
    value = raw.get(key)
    if value is None:
        return None
    try:
        return parse_utc(value)
    except (ValueError, TypeError, AttributeError, OverflowError):
        raise EventError(f"{key} {harmless(value)!r} is no time", 'write "2026-03-14T09:05:00Z"') from None


def _content_id(kind: str, batch: str | None, at: str, data: Mapping[str, Any], twin: int) -> str:
    said = json.dumps([kind, batch, at, data, twin], sort_keys=True, ensure_ascii=True)
    return hashlib.sha256(said.encode()).hexdigest()[:12]


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
