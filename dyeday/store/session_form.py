"""The content of a session's file as tables and as values: its facts, the frozen plan and the events."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from dyeday.plan.model import Plan
from dyeday.plan.serialize import from_plain, to_plain
from dyeday.quick_dataclass import dataclass
from dyeday.store.sealed import Kind, Tables
from dyeday.text import counted
from dyeday.track.day.day_state import Day, Event
from dyeday.track.event_keys import EventError
from dyeday.track.events.event_json import read_event
from dyeday.track.events.session_events import Closed
from dyeday.track.folding.fold import effective, fold
from dyeday.track.folding.related_rows import related_rows
from dyeday.track.timestamp import Moment, local

SESSION_ID = re.compile(r"^\d{4}-\d{2}-\d{2}-\d{1,4}$")
_NEVER = Moment(datetime.min.replace(tzinfo=UTC))
"""a time that no stored event has, in place of the present"""


@dataclass(frozen=True, slots=True)
class SessionInfo:
    """The facts at the head of a session's file."""

    id: str
    name: str
    date: str
    begun: str
    source: str
    """the plan file it was begun from"""
    digest: str
    """of that file when the session started or its changes were applied"""


@dataclass(frozen=True, slots=True)
class Listed:
    """One session in a list."""

    id: str
    name: str
    date: str
    begun: str
    closed: bool
    batches: int
    events: int
    plan: str
    """the file it was begun from"""


Session = tuple[SessionInfo, Plan, tuple[Event, ...]]


def session_of(tables: Tables) -> Session:
    """Return the session in tables. Raises KeyError, TypeError or ValueError if they are not one."""
    events = tuple(map(event_of, _rows(tables)))
    return SessionInfo(**tables["about"]["1"]), from_plain(Plan, tables["plan"]["1"]), events


def _rows(tables: Tables) -> list[Any]:
    return [row for _, row in sorted(tables["events"].items(), key=lambda item: int(item[0]))]


def day_of_batches(tables: Tables, event_count: int, batches: Collection[str]) -> Day:
    """Return the day by those of its first ``event_count`` events that ``batches`` need. Raises as `session_of`."""
    rows = related_rows(_rows(tables)[:event_count], batches)
    return fold(from_plain(Plan, tables["plan"]["1"]), map(event_of, rows))


def tables_of(about: SessionInfo, plan: Plan, events: Iterable[Event]) -> Tables:
    """Return the tables that `session_of` reads."""
    rows = {str(n): event.to_json() for n, event in enumerate(events, 1)}
    return {"about": {"1": to_plain(about)}, "plan": {"1": to_plain(plan)}, "events": rows}


def event_of(row: Mapping[str, Any]) -> Event:
    """Return the event in a row. Raises KeyError or ValueError if it is not one."""
    if "recorded_at" not in row:
        raise KeyError("recorded_at")
    try:
        return read_event(row, _NEVER)
    except EventError as error:
        raise ValueError(str(error)) from None


def is_closed(events: Sequence[Event]) -> bool:
    """Return whether the day was closed and the closing is not void."""
    if not any(isinstance(event.body, Closed) for event in events):
        return False
    return any(isinstance(event.body, Closed) for event in effective(events)[0])


def digest_of(text: str) -> str:
    """Return the SHA-256 of a text in UTF-8, as 64 hexadecimal digits."""
    return hashlib.sha256(text.encode()).hexdigest()


def _holds(session: Session) -> str:
    about, plan, events = session
    closed = ", closed" if is_closed(events) else ""
    last = f", the last {local(events[-1].recorded_at, None):%a %d %b %Y %H:%M}" if events else ""
    batches, entries = counted(len(plan.batches), "batch", "batches"), counted(len(events), "entry", "entries")
    return f"{about.name}, {batches}, {entries}{last}{closed}"


def _unsealed(tables: Tables) -> int | None:
    """Version 1 had no seal, and its version among the facts."""
    one = set(tables) == {"about", "plan", "events"} and tables["about"]["1"]["schema_version"] == 1
    return 1 if one else None


def _to_2(tables: Tables) -> Tables:
    """The seal has the version now."""
    about = {key: value for key, value in tables["about"]["1"].items() if key != "schema_version"}
    return {**tables, "about": {"1": about}}


SESSION = Kind(
    "session", 2, {1: _to_2}, build=session_of, unsealed=_unsealed, holds=_holds, only_added=("plan", "events")
)
