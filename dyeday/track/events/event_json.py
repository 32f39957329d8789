"""Events from their one-line JSON form: what `Event.to_json` gives, `read_event` takes back unchanged."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterator, Mapping
from typing import Any

from dyeday.plan.reading.problems import similar
from dyeday.text import brief, harmless
from dyeday.track.day.day_state import Body, Event
from dyeday.track.event_keys import EventError, instant
from dyeday.track.events import (  # noqa: F401 - a class is known once its module is loaded
    batch_changes,
    hours_events,
    measured,
    movements,
    remarks,
    rewriting,
    session_events,
)
from dyeday.track.timestamp import Moment, iso

_OWN = frozenset(("event", "at", "batch", "id", "recorded_at", "boot_s", "boot_id", "about"))


def read_event(raw: object, now: Moment, *, twin: int = 0) -> Event:
    """Return the event in ``raw``, one JSON object.

    Without an ``id`` it gets one made from what it says, so that the same line read again is the same event; ``twin``
    numbers equal lines of one file. Without ``recorded_at`` it is recorded ``now``. Raises EventError.
    """
    if not isinstance(raw, Mapping):
        raise EventError("it is not a JSON object", 'write {"at": "…", "batch": "03", "to": "soak"}')
    data = {key: value for key, value in raw.items() if key not in _OWN}
    body = _kind(raw, data).read(data)
    if raw.get("at") is None:
        raise EventError("it has no time", 'add "at": "2026-03-14T09:05:00Z"')
    at = instant("at", raw["at"])
    batch = raw.get("batch")
    if batch is not None and not isinstance(batch, str):
        raise EventError(f"batch {brief(batch)} is not text", 'write it in quotes, such as "03"')
    if batch is not None and body.batches:
        raise EventError("a load has a batch of its own", 'name all of them in "batches"')
    if body.needs_batch and batch is None:
        raise EventError(f"{body.NAME!r} names no batch", 'add "batch": "03"')
    boot_s, boot_id = raw.get("boot_s"), raw.get("boot_id")
    is_number = isinstance(boot_s, (int, float)) and not isinstance(boot_s, bool) and math.isfinite(boot_s)
    if boot_s is not None and not is_number:
        raise EventError(f"boot_s {brief(boot_s)} is not a number", "leave it out")
    if not isinstance(boot_id, (str, type(None))):
        raise EventError("boot_id is not text", "leave it out")
    is_approximate = raw.get("about", False)
    if not isinstance(is_approximate, bool):
        raise EventError("about is neither true nor false", "leave it out")
    if (event_id := raw.get("id")) is None:
        content = json.dumps([body.NAME, batch, iso(at), body.to_json(), twin], sort_keys=True, ensure_ascii=True)
        event_id = hashlib.sha256(content.encode()).hexdigest()[:12]
    if not isinstance(event_id, str) or not 1 <= len(event_id) <= 64 or not event_id.isprintable():
        raise EventError("its id is not a short text", "leave id out")
    clean_batch = harmless(batch) if batch is not None else None
    recorded = now.utc if raw.get("recorded_at") is None else instant("recorded_at", raw["recorded_at"])
    return Event(event_id, body, at, recorded, clean_batch, boot_s, boot_id, is_approximate)


def _kind(raw: Mapping[str, Any], data: Mapping[str, Any]) -> type[Body]:
    name = raw.get("event")
    if name is None:
        if (kind := next((kind for key, kind in KNOWN_BY.items() if key in data), None)) is None:
            raise EventError("nothing in it says what happened", f'add "event": one of {", ".join(KINDS)}')
        return kind
    spelt = str(name).replace("-", " ").replace("_", " ").casefold()
    if spelt not in KINDS:
        raise EventError(f"{brief(name)} is not an event", similar(spelt, KINDS))
    return KINDS[spelt]


def _named(base: type[Body]) -> Iterator[type[Body]]:
    for kind in base.__subclasses__():
        if "NAME" in vars(kind):
            yield kind
        yield from _named(kind)


_ALL = sorted(_named(Body), key=lambda kind: kind.MATCH_ORDER)
KINDS = {kind.NAME: kind for kind in _ALL}
"""by their names in JSON"""
KNOWN_BY = {key: kind for kind in _ALL for key in kind.KNOWN_BY}
"""by the keys that tell them, for a line of JSON that names no kind; tried in this order"""
