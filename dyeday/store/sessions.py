"""Sessions on disk: one file each, with the frozen plan and the events; begun, found, listed, added to."""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from tinydb import TinyDB
from tinydb.table import Document

from dyeday.files.durable import Late, StoreError, make_folder, not_saved, read_bytes, reason, sweep
from dyeday.files.lock import FileLock
from dyeday.plan.model import Plan
from dyeday.plan.reading.problems import near
from dyeday.plan.serialize import from_plain, to_plain
from dyeday.store import clock
from dyeday.store.backups import newest_good, set_aside, taken
from dyeday.store.sealed import LARGEST_FILE, Damaged, Gone, Kind, Tables, unseal
from dyeday.store.storage import DurableStorage
from dyeday.text import brief, counted
from dyeday.track.events.event import Event, in_order_of_recording, spread
from dyeday.track.events.event_json import read_event
from dyeday.track.events.field_checks import EventError
from dyeday.track.events.session_events import Closed
from dyeday.track.timestamp import Now, iso, local

BENCH_WAIT_S = 0.5
LOOK_BACK = 60
"""sessions among which the day to go on with is looked for"""
_CLOSED, _STRUCK = re.compile(rb'"event": ?"closed"'), re.compile(rb'"event": ?"struck"')
Stamp = tuple[int, int]
"""a session's file as it was: its size, and when it was changed in ns"""
Check = Callable[[Sequence[Event], Sequence[Event]], None]
"""given the events that are there and those about to come, raises to refuse them"""
SESSION_ID = re.compile(r"^\d{4}-\d{2}-\d{2}-\d{1,4}$")


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


def digest_of(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _unsealed(tables: Tables) -> int | None:
    """Sessions of version 1 had no seal and told their version among what they said of themselves."""
    one = set(tables) == {"about", "plan", "events"} and tables["about"]["1"]["schema_version"] == 1
    return 1 if one else None


def _to_2(tables: Tables) -> Tables:
    """The seal tells the version now."""
    about = {key: value for key, value in tables["about"]["1"].items() if key != "schema_version"}
    return {**tables, "about": {"1": about}}


def made(tables: Tables) -> tuple[About, Plan, tuple[Event, ...]]:
    """Return what a session's tables hold. Raises KeyError, TypeError or ValueError where they are none."""
    about = About(**tables["about"]["1"])
    plan = from_plain(Plan, tables["plan"]["1"])
    rows = sorted(tables["events"].items(), key=lambda item: int(item[0]))
    return about, plan, tuple(_event(row) for _, row in rows)


_NEVER = Now(datetime.min.replace(tzinfo=UTC))
"""for a reader that would take the present for a time that is missing"""


def _event(row: dict[str, Any]) -> Event:
    if "recorded_at" not in row:
        raise KeyError("recorded_at")
    try:
        return read_event(row, _NEVER)
    except EventError as error:
        raise ValueError(str(error)) from None


def _holds(tables: Tables) -> str:
    about, plan, events = made(tables)
    closed = ", closed" if is_closed(events) else ""
    last = f", the last {local(events[-1].recorded_at, None):%a %d %b %Y %H:%M}" if events else ""
    batches, entries = counted(len(plan.batches), "batch", "batches"), counted(len(events), "entry", "entries")
    return f"{about.name}, {batches}, {entries}{last}{closed}"


SESSION = Kind("session", 2, {1: _to_2}, check=made, unsealed=_unsealed, holds=_holds, only_added=("plan", "events"))


class SessionFile:
    """One session's file. ``plan`` is as it was begun; ``events`` are in their order of recording.

    Whoever holds the bench also guards the file: what was confirmed is put back from memory where the file was
    damaged, taken away or put back to an older state by something else.
    """

    def __init__(self, path: Path, now: Callable[[], Now] = clock.now) -> None:
        self.path = path
        self.now = now
        self._storage = DurableStorage(path, SESSION, now)
        # No query cache: results would share objects with it.
        self._db = TinyDB(storage=lambda: self._storage)
        self._lock = FileLock(path.with_suffix(".lock"))
        self._bench = FileLock(path.with_suffix(".bench"))
        self.guards = False
        self.mended = ""
        """what was put right from memory since somebody last looked, in words"""
        self.owed = False
        """whether the file lacks events that were confirmed"""
        tables = self._storage.read()
        if tables is None:
            raise StoreError(f"{self.path} is not there", "see `dyeday sessions`, and `dyeday restore` for copies")
        built, self._storage.made = self._storage.made, None
        self.about: About
        self.plan: Plan
        self.events: tuple[Event, ...]
        self.about, self.plan, self.events = built if isinstance(built, tuple) else made(tables)

    @property
    def backup_failed(self) -> str:
        return self._storage.backup_failed

    @property
    def is_closed(self) -> bool:
        """Whether the day was closed and that was not undone."""
        return is_closed(self.events)

    @property
    def stamp(self) -> Stamp | None:
        """The file as it was last read or written here."""
        return self._storage.seen

    def refresh(self) -> bool:
        """Take in what another shell wrote; tell whether there was anything.

        Raises Damaged, Newer, Gone or another StoreError; what is in memory stays as it is.
        """
        if not self._storage.changed():
            return False
        tables = self._storage.read() or {}
        before = self.events
        rows = list(tables["events"].values())
        if [row["id"] for row in rows[: len(before)]] == [event.id for event in before]:
            there = (*before, *(_event(row) for row in rows[len(before) :]))
        else:
            there = made(tables)[2]
        self.about = About(**tables["about"]["1"])
        self.events = self._with_own(there, before)
        return self.events != before

    def _with_own(self, there: tuple[Event, ...], mine: Sequence[Event]) -> tuple[Event, ...]:
        """Return the file's events with those confirmed here that it lacks: an older file was put in its place."""
        have = {event.id for event in there}
        lacking = [event for event in mine if event.id not in have]
        if not lacking:
            return there
        self.owed = True
        return tuple(in_order_of_recording((*there, *lacking)))

    def add(self, events: Iterable[Event], check: Check | None = None) -> tuple[Event, ...]:
        """Store events durably, all of them or none; return those that were new.

        Events already there (by id) are left out. ``check`` is given the events there are and those about to
        come, under the lock, and may raise to refuse them. When this returns they are on the disk. Raises
        StoreError where they could not be written, which says so where they are there all the same.
        """
        try:
            with self._lock:
                self._see()
                wanted = in_order_of_recording(events)
                ids = {event.id for event in wanted}
                known = {event.id for event in self.events if event.id in ids}
                fresh = [event for event in wanted if event.id not in known]
                fresh = spread(fresh)
                if fresh and self.events and fresh[0].recorded_at == self.events[-1].recorded_at:
                    fresh = spread([self.events[-1], *fresh])[1:]
                if check is not None:
                    check(self.events, fresh)
                if self.owed or self._storage.unsure:
                    self._write_whole((*self.events, *fresh))
                elif fresh:
                    # Numbered here: TinyDB would count on from what it last saw, not from what another wrote.
                    first = len(self.events) + 1
                    rows = [Document(event.to_json(), first + n) for n, event in enumerate(fresh)]
                    self._db.table("events").insert_multiple(rows)
        except Late as error:
            raise not_saved("it is", error, "") from None
        except OSError as error:
            raise StoreError(f"nothing could be saved: {reason(error)}", f"look at {self.path.parent}") from None
        self.events = (*self.events, *fresh)
        return tuple(fresh)

    def listed(self) -> Listed:
        """Return this session as one of a list."""
        about, closed = self.about, is_closed(self.events)
        counts = (len(self.plan.batches), len(self.events))
        return Listed(about.id, about.name, about.date, about.begun, closed, *counts, about.source)

    def _see(self) -> None:
        """Take in the file as it is; put it right from memory where it is no more what it was and we guard it."""
        try:
            self.refresh()
        except (Damaged, Gone) as error:
            if not self.guards:
                raise
            # The folder itself gone is a stick pulled out: it is waited for, not made anew.
            if not self.path.parent.is_dir():
                raise
            aside = set_aside(self.path, self.now().utc)
            kept = f"; what was there is kept as {aside}" if aside is not None else ""
            copy = newest_good(self.path, SESSION)
            if copy is not None:
                there = made(unseal(read_bytes(copy.file, LARGEST_FILE), copy.file, SESSION).tables)[2]
                self.events = self._with_own(there, self.events)
            self._write_whole(self.events)
            self.mended = f"{error.what}: the day was saved again from memory{kept}"
        if self.owed:
            self.mended = self.mended or f"{self.path} was put back to an older state: what it lacked is saved again"

    def _write_whole(self, events: Sequence[Event]) -> None:
        rows = {str(n): event.to_json() for n, event in enumerate(in_order_of_recording(events), 1)}
        self._storage.write(
            {"about": {"1": to_plain(self.about)}, "plan": {"1": to_plain(self.plan)}, "events": rows}
        )
        self.owed = False

    def set_source(self, source: str, digest: str) -> None:
        """Remember the plan file's present digest, once its changes were taken."""
        try:
            with self._lock:
                self._see()
                about = replace(self.about, source=source, digest=digest)
                self._db.table("about").update(to_plain(about))
        except OSError as error:
            raise not_saved("the plan's file is", error, f"look at {self.path.parent}") from None
        self.about = about

    def hold_bench(self, *, copy: bool = True) -> bool:
        """Claim this session for one bench; False where another has it.

        Without ``copy`` it is copied neither now nor as it is written, but by `back_up` and `copy_if_due`.
        """
        if not self._bench.grab():
            return False
        if not self.guards:
            self.guards = True
            # A shell that hangs with the lock in its hand must not stop the bench's keys for long.
            self._lock.wait_s = BENCH_WAIT_S
            self._storage.copies_later = not copy
            if copy:
                self.back_up()
        return True

    def copy_if_due(self) -> None:
        """Make the copy that entries left for later, where one is due."""
        self._storage.copy_if_due()

    def back_up(self) -> None:
        """Copy the file as it is, unless the newest copy is the same; ``backup_failed`` says where that failed."""
        self._storage.back_up()

    def release_bench(self) -> None:
        self.copy_if_due()
        self._storage.copies_later = False
        self.guards = False
        self._bench.release()


class Sessions:
    """The sessions of a data folder."""

    def __init__(self, data: Path, now: Callable[[], Now] = clock.now) -> None:
        self.folder = data / "sessions"
        self.now = now
        self.unreadable: list[str] = []
        """what was wrong with files that could not be listed"""

    def ids(self) -> list[str]:
        """Return all ids, newest first."""
        if not self.folder.is_dir():
            return []
        files = (name for name in os.listdir(self.folder) if name.endswith(".json"))  # noqa: PTH208 - thousands
        names = (name[:-5] for name in files if SESSION_ID.match(name[:-5]))
        return sorted(names, key=lambda name: (name[:10], int(name[11:])), reverse=True)

    def open(self, session_id: str) -> SessionFile:
        """Return a session by its id. Raises StoreError where there is none."""
        if not SESSION_ID.match(session_id) or not (self.folder / f"{session_id}.json").is_file():
            if SESSION_ID.match(session_id) and taken(self.folder / f"{session_id}.json"):
                right = f"`dyeday restore {session_id} --newest` brings its newest copy back"
                raise StoreError(f"the file of session {session_id} is not there", right)
            raise StoreError(f"there is no session {brief(session_id)}", near(session_id, self.ids()))
        return SessionFile(self.folder / f"{session_id}.json", self.now)

    def is_surely_open(self, session_id: str) -> bool:
        """Tell by a glance at its file whether a session was never closed. Raises StoreError."""
        return _CLOSED.search(read_bytes(self.folder / f"{session_id}.json", LARGEST_FILE)) is None

    def newest(self, *, unfinished: bool) -> SessionFile | None:
        """Return the newest session, or the newest one that was not closed, of the latest `LOOK_BACK`.

        A closed one in which nothing was undone is passed by a glance at its file.
        """
        for n, session_id in enumerate(self.ids()[:LOOK_BACK]):
            if n and unfinished:
                raw = read_bytes(self.folder / f"{session_id}.json", LARGEST_FILE)
                if _CLOSED.search(raw) and not _STRUCK.search(raw):
                    continue
            session = self.open(session_id)
            if not unfinished or not session.is_closed:
                return session
        return None

    def stamps(self) -> dict[str, Stamp]:
        """Return what tells one state of each session's file from another."""
        found = {}
        with contextlib.suppress(FileNotFoundError), os.scandir(self.folder) as there:
            for entry in there:
                if entry.name.endswith(".json") and SESSION_ID.match(entry.name[:-5]):
                    about = entry.stat(follow_symlinks=False)
                    found[entry.name[:-5]] = (about.st_size, about.st_mtime_ns)
        return found

    def listed(self, known: Mapping[str, tuple[Stamp, Listed]] | None = None) -> list[Listed]:
        """Return all sessions that can be read, newest first; ``known`` ones are opened only where they changed.

        `unreadable` has what is wrong with the others.
        """
        self.unreadable = []
        stamps, rows = self.stamps(), []
        for session_id in self.ids():
            stamp, row = (known or {}).get(session_id, (None, None))
            if row is None or stamp != stamps.get(session_id):
                try:
                    row = self.open(session_id).listed()
                except StoreError as error:
                    self.unreadable.append(str(error))
                    continue
            rows.append(row)
        return rows

    def of_plan(self, source: Path, day: date) -> SessionFile | None:
        """Return the newest session begun from this file for this date that was not closed, or None."""
        for session_id in self.ids():
            if session_id[:10] == day.isoformat():
                session = self.open(session_id)
                if session.about.source == str(source) and not is_closed(session.events):
                    return session
        return None

    def begin(
        self, plan: Plan, source: Path, text: str, now: Now, events: Iterable[Event] = (), of_plan: bool = False
    ) -> SessionFile:
        """Begin a session of ``plan`` with its first events in one write; its id is its date and a number never used
        before. With ``of_plan`` a session of this file and date that another shell just began is gone on with.

        Raises StoreError.
        """
        make_folder(self.folder)
        for folder in (self.folder, self.folder.parent, self.folder.parent / "pages"):
            sweep(folder)
        try:
            with FileLock(self.folder / "begin.lock"):
                there = self.of_plan(source, plan.session.date) if of_plan else None
                if there is not None:
                    return there
                day = plan.session.date.isoformat()
                # A file that was lost has its number in its copies still.
                known = {
                    path.name for path in (self.folder / "backups").glob(f"{day}-*") if SESSION_ID.match(path.name)
                }
                used = [int(name[11:]) for name in known | set(self.ids()) if name[:10] == day]
                session_id = f"{day}-{max(used, default=0) + 1}"
                path = self.folder / f"{session_id}.json"
                about = About(session_id, plan.session.name, day, iso(now.utc), str(source), digest_of(text))
                tables: dict[str, dict[str, Any]] = {
                    "about": {"1": to_plain(about)},
                    "plan": {"1": to_plain(plan)},
                    "events": {str(n): event.to_json() for n, event in enumerate(spread(events), 1)},
                }
                DurableStorage(path, SESSION, self.now).write(tables)
        except OSError as error:
            raise not_saved("the session is", error, f"look at {self.folder}") from None
        try:
            return SessionFile(path, self.now)
        except StoreError as error:
            what = f"session {session_id} is saved, but could not be opened: {error.what}"
            raise StoreError(what, "`dyeday open PLAN` goes on with it") from None


def is_closed(events: Sequence[Event]) -> bool:
    """Tell whether the day was closed and that was not struck."""
    from dyeday.track.day.fold import effective

    if not any(isinstance(event.body, Closed) for event in events):
        return False
    return any(isinstance(event.body, Closed) for event in effective(events)[0])
