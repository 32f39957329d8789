"""Events made from their names and keys in JSON, as a line of a file would have them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from dyeday.bench.live_session import EventDraft
from dyeday.track.day import day_state
from dyeday.track.day.day_state import Event
from dyeday.track.events.event_json import KINDS
from dyeday.track.timestamp import Moment


def make(
    kind: str,
    now: Moment,
    new_id: Callable[[], str],
    *,
    batch: str | None = None,
    minutes_ago: float = 0.0,
    at: datetime | None = None,
    **keys: Any,
) -> Event:
    """Return an event of the kind called ``kind`` with ``keys`` as in JSON. Raises EventError."""
    body = KINDS[kind].read({key: value for key, value in keys.items() if value is not None})
    then = now.earlier(minutes_ago * 60).utc if at is None else at
    return day_state.make(body, now, new_id, batch=batch, at=then)


def draft(kind: str, batch: str | None, keys: dict[str, Any]) -> EventDraft:
    """Return an entry of the bench of the kind called ``kind`` with ``keys`` as in JSON."""
    return EventDraft(KINDS[kind].read(keys), batch)
