"""One session's file: its events taken in, added to, and put right from memory while a bench guards it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from pathlib import Path

from tinydb import TinyDB
from tinydb.table import Document

from dyeday.files.durable import Late, StoreError, not_saved, read_bytes, reason
from dyeday.files.lock import FileLock
from dyeday.plan.model import Plan
from dyeday.plan.serialize import to_plain
from dyeday.store import clock
from dyeday.store.backups import newest_good, set_aside
from dyeday.store.sealed import LARGEST_FILE, Damaged, FileGone, unseal
from dyeday.store.session_form import SESSION, Listed, SessionInfo, event_of, is_closed, made, tables_of
from dyeday.store.storage import DurableStorage
from dyeday.track.day.day_state import Event
from dyeday.track.events.recording import in_order_of_recording, spread
from dyeday.track.timestamp import Now

BENCH_WAIT_S = 0.5
Stamp = tuple[int, int]
"""a session's file as it was: its size, and when it was changed in ns"""
Check = Callable[[Sequence[Event], Sequence[Event]], None]
"""given the events that are there and those about to come, raises to refuse them"""


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
        self.about: SessionInfo
        self.plan: Plan
        self.events: tuple[Event, ...]
        self.about, self.plan, self.events = built if isinstance(built, tuple) else made(tables)

    @property
    def without_copy(self) -> str:
        """What to say of the latest copy where it could not be made, though the file is saved; else ""."""
        why = self._storage.backup_failed.rpartition(": ")[2]
        return f"saved, but no copy was made: {why}; see `dyeday doctor`" if why else ""

    @property
    def is_closed(self) -> bool:
        """Whether the day was closed and that was not undone."""
        return is_closed(self.events)

    @property
    def stamp(self) -> Stamp | None:
        """The file as it was last read or written here."""
        return self._storage.seen and self._storage.seen[1:]

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
            there = (*before, *(event_of(row) for row in rows[len(before) :]))
        else:
            there = made(tables)[2]
        self.about = SessionInfo(**tables["about"]["1"])
        self.events = self._with_own(there, before)
        return self.events != before

    def _with_own(self, there: tuple[Event, ...], mine: Sequence[Event]) -> tuple[Event, ...]:
        """Return the file's events with those confirmed here that it lacks: an older file was put in its place."""
        have = {event.id for event in there}
        lacking = [event for event in mine if event.id not in have]
        self.owed |= bool(lacking)
        return tuple(in_order_of_recording((*there, *lacking))) if lacking else there

    def add(self, events: Iterable[Event], check: Check | None = None) -> tuple[Event, ...]:
        """Store events durably, all of them or none; return those that were new.

        Events already there (by id) are left out. ``check`` is given the events there are and those about to
        come, under the lock, and may raise to refuse them. When this returns they are on the disk. Raises
        StoreError where they could not be written, which says so where they are there all the same.
        """
        try:
            with self._lock:
                self._see()
                known = {event.id for event in self.events}
                fresh = spread(event for event in in_order_of_recording(events) if event.id not in known)
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
        about, counts = self.about, (len(self.plan.batches), len(self.events))
        return Listed(about.id, about.name, about.date, about.begun, self.is_closed, *counts, about.source)

    def _see(self) -> None:
        """Take in the file as it is; put it right from memory where it is no more what it was and we guard it."""
        try:
            self.refresh()
        except (Damaged, FileGone) as error:
            if not self.guards:
                raise
            # The folder itself gone is a stick pulled out: it is waited for, not made again.
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
        if self.owed and not self.mended:
            self.mended = f"{self.path} was restored to an older state: the missing entries are saved again"

    def _write_whole(self, events: Sequence[Event]) -> None:
        self._storage.write(tables_of(self.about, self.plan, in_order_of_recording(events)))
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

    def hold_bench(self) -> bool:
        """Claim this session for one bench; False where another has it.

        It is then copied neither now nor as it is written, but by `back_up` and `copy_if_due`.
        """
        if not self._bench.grab():
            return False
        # A shell that hangs with the lock in its hand must not stop the bench's keys for long.
        self._lock.wait_s = BENCH_WAIT_S
        self.guards = self._storage.copies_later = True
        return True

    def copy_if_due(self) -> None:
        """Make the copy that entries left for later, where one is due."""
        self._storage.copy_if_due()

    def back_up(self) -> None:
        """Copy the file as it is, unless the newest copy is the same; ``without_copy`` says where that failed."""
        self._storage.back_up()

    def release_bench(self) -> None:
        """Make a copy that is due, stop guarding the file, and let another shell hold the bench."""
        self.copy_if_due()
        self.guards = self._storage.copies_later = False
        self._bench.release()
