"""Sessions on disk: one file each, with the frozen plan and the events; begun, found, listed, added to."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tinydb import TinyDB
from tinydb.table import Document

from dyeday.plan.keep import from_plain, to_plain
from dyeday.plan.model import Plan
from dyeday.plan.problems import near
from dyeday.store.durable import StoreError, make_folder, reason, sweep
from dyeday.store.lock import FileLock
from dyeday.store.session_index import Listed, SessionIndex
from dyeday.store.storage import DurableStorage
from dyeday.track.events import Event, in_order_of_recording, read_event, spread
from dyeday.track.instant import Now, iso, parse_utc
from dyeday.track.keys import EventError

if TYPE_CHECKING:
    from dyeday.store.closing import Settled

SCHEMA_VERSION = 1
_ID = re.compile(r"^\d{4}-\d{2}-\d{2}-\d{1,4}$")


@dataclass(frozen=True, slots=True)
class About:
    """What a session's file says of itself."""

    id: str
    name: str
    date: str
    begun: str
    source: str
    """the plan file it was begun from"""
    digest: str
    """of that file's bytes when it was begun or its changes were taken"""
    schema_version: int = SCHEMA_VERSION


def digest_of(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


class SessionFile:
    """One session's file. ``plan`` is as it was begun; ``events`` are in their order of recording."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._storage = DurableStorage(path)
        # No query cache: results would share objects with it.
        self._db = TinyDB(storage=lambda: self._storage)
        self._lock = FileLock(path.with_suffix(".lock"))
        self._bench = FileLock(path.with_suffix(".bench"))
        self.about, self.plan = self._header()
        self.events = self._read_events()
        self.settled: Settled | None = None
        """what the books said when a closed day was last taken into them from here"""

    def _header(self) -> tuple[About, Plan]:
        tables = self._storage.read()
        if tables is None:
            raise StoreError(f"{self.path} is not there", "see `dyeday sessions`")
        try:
            about = About(**next(iter(tables["about"].values())))
            if about.schema_version > SCHEMA_VERSION:
                raise StoreError(f"{self.path} was written by a newer dyeday", "install that one")
            return about, from_plain(Plan, next(iter(tables["plan"].values())))
        except (KeyError, TypeError, ValueError, StopIteration):
            raise StoreError(f"{self.path} holds something else", "keep it, and bring a backup back") from None

    def _read_events(self) -> tuple[Event, ...]:
        tables = self._storage.read() or {}
        rows = sorted(tables.get("events", {}).items(), key=lambda item: int(item[0]))
        try:
            return tuple(read_event(row, Now(parse_utc(row["recorded_at"]))) for _, row in rows)
        except (EventError, KeyError, ValueError, TypeError):
            raise StoreError(
                f"{self.path} holds an event that cannot be read", "keep it, and bring a backup back"
            ) from None

    def refresh(self) -> bool:
        """Take in what another shell wrote; tell whether there was anything."""
        if not self._storage.changed():
            return False
        before = len(self.events)
        tables = self._storage.read() or {}
        rows = list(tables.get("events", {}).values())
        known = [event.id for event in self.events]
        if [row["id"] for row in rows[:before]] == known:
            fresh = tuple(read_event(row, Now(parse_utc(row["recorded_at"]))) for row in rows[before:])
            self.events = (*self.events, *fresh)
        else:
            self.events = self._read_events()
        return len(self.events) != before

    def add(
        self, events: Iterable[Event], check: Callable[[Sequence[Event], Sequence[Event]], None] | None = None
    ) -> tuple[Event, ...]:
        """Store events durably, all of them or none; return those that were new.

        Events already there (by id) are left out. ``check`` is given the events there are and those about to
        come, under the lock, and may raise to refuse them. When this returns they are on the disk. Raises
        StoreError where they could not be written; then nothing changed.
        """
        try:
            with self._lock:
                self.refresh()
                known = {event.id for event in self.events}
                fresh = [event for event in in_order_of_recording(events) if event.id not in known]
                fresh = spread(fresh)
                if fresh and self.events and fresh[0].recorded_at == self.events[-1].recorded_at:
                    fresh = spread([self.events[-1], *fresh])[1:]
                if check is not None:
                    check(self.events, fresh)
                if fresh:
                    # Numbered here: TinyDB would count on from what it last saw, not from what another wrote.
                    first = len(self.events) + 1
                    rows = [Document(event.to_json(), first + n) for n, event in enumerate(fresh)]
                    self._db.table("events").insert_multiple(rows)
        except OSError as error:
            raise StoreError(f"nothing could be saved: {reason(error)}", f"look at {self.path.parent}") from None
        self.events = (*self.events, *fresh)
        if fresh and is_closed(self.events):
            self.settle()
        return tuple(fresh)

    def settle(self) -> Settled:
        """Take a closed day into the books (see `dyeday.store.closing`); nothing is raised, trouble is told."""
        from dyeday.store.closing import settle

        self.settled = settle(self.path.parent.parent, self.about.id, self.plan, self.events)
        return self.settled

    def listed(self) -> Listed:
        """Return this session as one of a list."""
        about, closed = self.about, is_closed(self.events)
        counts = (len(self.plan.batches), len(self.events))
        return Listed(about.id, about.name, about.date, about.begun, closed, *counts, about.source)

    def set_source(self, source: str, digest: str) -> None:
        """Remember the plan file's present digest, once its changes were taken."""
        with self._lock:
            self.about = replace(self.about, source=source, digest=digest)
            table = self._db.table("about")
            table.update(to_plain(self.about))

    def hold_bench(self) -> bool:
        """Claim this session for one bench; False where another bench has it."""
        return self._bench.grab()

    def release_bench(self) -> None:
        self._bench.release()


class Sessions:
    """The sessions of a data folder."""

    def __init__(self, data: Path) -> None:
        self.folder = data / "sessions"

    def ids(self) -> list[str]:
        """Return all ids, newest first."""
        if not self.folder.is_dir():
            return []
        names = (path.stem for path in self.folder.glob("*.json") if _ID.match(path.stem))
        return sorted(names, key=lambda name: (name[:10], int(name[11:])), reverse=True)

    def open(self, session_id: str) -> SessionFile:
        """Return a session by its id. Raises StoreError where there is none."""
        if not _ID.match(session_id) or not (self.folder / f"{session_id}.json").is_file():
            raise StoreError(f"there is no session {session_id!r}", near(session_id, self.ids()))
        return SessionFile(self.folder / f"{session_id}.json")

    def newest(self, *, unfinished: bool) -> SessionFile | None:
        """Return the newest session, or the newest one that was not closed.

        A closed one is opened once, and again only when its file changed.
        """
        ids = self.ids()
        index = SessionIndex(self.folder)
        found = None
        for session_id in ids:
            known = index.get(session_id) if unfinished else None
            if known is not None and known.closed:
                continue
            stamp = index.stamp(session_id)
            session = self.open(session_id)
            if not unfinished or not is_closed(session.events):
                found = session
                break
            index.learn(session.listed(), stamp)
        index.save(ids)
        return found

    def listed(self) -> list[Listed]:
        """Return all sessions, newest first; only those are opened that changed since they last were."""
        ids = self.ids()
        index = SessionIndex(self.folder)
        rows = []
        for session_id in ids:
            row = index.get(session_id)
            if row is None:
                stamp = index.stamp(session_id)
                row = self.open(session_id).listed()
                index.learn(row, stamp)
            rows.append(row)
        index.save(ids)
        return rows

    def of_plan(self, source: Path, day: date) -> SessionFile | None:
        """Return the newest session begun from this file for this date that was not closed, or None."""
        for session_id in self.ids():
            if session_id[:10] == day.isoformat():
                session = self.open(session_id)
                if session.about.source == str(source) and not is_closed(session.events):
                    return session
        return None

    def begin(self, plan: Plan, source: Path, text: str, now: Now) -> SessionFile:
        """Begin a session of ``plan``; its id is its date and a number never used before. Raises StoreError."""
        make_folder(self.folder)
        sweep(self.folder)
        try:
            with FileLock(self.folder / "begin.lock"):
                day = plan.session.date.isoformat()
                used = [int(name[11:]) for name in self.ids() if name[:10] == day]
                session_id = f"{day}-{max(used, default=0) + 1}"
                path = self.folder / f"{session_id}.json"
                about = About(session_id, plan.session.name, day, iso(now.utc), str(source), digest_of(text))
                tables: dict[str, dict[str, Any]] = {
                    "about": {"1": to_plain(about)},
                    "plan": {"1": to_plain(plan)},
                    "events": {},
                }
                DurableStorage(path).write(tables)
        except OSError as error:
            raise StoreError(f"the session could not be saved: {reason(error)}", f"look at {self.folder}") from None
        return SessionFile(path)


def is_closed(events: Sequence[Event]) -> bool:
    """Tell whether the day was closed and that was not struck."""
    from dyeday.track.fold import effective

    if not any(event.kind == "closed" for event in events):
        return False
    return any(event.kind == "closed" for event in effective(events)[0])
