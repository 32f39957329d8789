"""A session's file: read, added to, and repaired from memory while a bench has it open.

Its storage never writes in place, keeps no file open, and reads a file only when it changed. TinyDB's own JSON
storage rewrites the file in place and treats an empty one as new: a power cut between would lose the day.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from pathlib import Path

from tinydb import TinyDB
from tinydb.storages import Storage
from tinydb.table import Document

from dyeday.files.durable import (
    FileLock,
    NotPlain,
    StoreError,
    Unsure,
    link_as,
    not_saved,
    read_bytes,
    reason,
    replace_file,
)
from dyeday.plan.model import Plan
from dyeday.plan.serialize import to_plain
from dyeday.store import backups, clock
from dyeday.store.backups import newest_good, set_aside
from dyeday.store.sealed import LARGEST_FILE, Damaged, FileGone, Kind, RowTexts, Tables, rows_in, seal, unseal
from dyeday.store.session_form import SESSION, Listed, SessionInfo, event_of, is_closed, session_of, tables_of
from dyeday.track.day.day_state import Event, in_order_of_recording, spread
from dyeday.track.timestamp import Moment

BENCH_WAIT_S = 0.5
Stamp = tuple[int, int]
"""a file's size in bytes, and its time of change in ns"""
Check = Callable[[Sequence[Event], Sequence[Event]], None]
"""called with the stored events and the new ones; raises to refuse these"""


class DurableStorage(Storage):
    """A sealed file of a kind. ``read`` returns what it last read until the file's identity, size or time changes.

    Writing makes copies too, unless `copies_later`. Write only while holding the file's lock.
    """

    def __init__(self, path: str | Path, kind: Kind, now: Callable[[], Moment] = clock.now) -> None:
        super().__init__()
        self.path, self.kind, self.now = Path(path), kind, now
        self.backup_failed = ""
        """why the latest copy could not be made"""
        self.unsure = False
        """whether the latest write failed and may or may not be on the disk"""
        self.built: object = None
        """what the kind's ``check`` built when the file was last read; None after a write"""
        self.copies_later = False
        """whether copies wait for `copy_if_due`, because reading one back is too slow for a key"""
        self._owes_copy = False
        self._previous = backups.backup_folder(self.path) / backups.PREVIOUS
        self._texts = RowTexts()
        self._kept: Tables | None = None
        self.seen: tuple[int, int, int] | None = None
        """the file's identity, size and time of change in ns when it was last read or written here"""
        self._version = kind.version
        self._was_there = False

    def read(self) -> Tables | None:
        """Return the file's tables; None if neither it nor a copy is there. Raises Damaged or another StoreError."""
        if (stamp := self._stamp()) is None:
            if self._was_there:
                # TinyDB would treat None as a new database.
                raise FileGone(f"{self.path} is gone", "put its folder back where it was")
            if backups.copies_of(self.path):
                name = self.path.stem
                right = f"`dyeday restore {name} --newest` brings it back; to start again, move its copies away too"
                raise FileGone(f"{self.path} is not there, though copies of it are", right)
            return None
        if stamp != self.seen:
            self._kept, self.seen = None, None
            try:
                unsealed = unseal(read_bytes(self.path, LARGEST_FILE), self.path, self.kind)
            except (Damaged, NotPlain) as error:
                copy = backups.newest_good(self.path, self.kind)
                right = "keep it, and restore a copy of your own"
                if copy is not None:
                    when = f"{copy.taken.astimezone():%a %d %b %Y %H:%M}"
                    right = f"`dyeday restore {self.path.stem} --newest` brings back the copy of {when}: {copy.holds}"
                raise Damaged(error.what, f"{right}; nothing was changed") from None
            self._kept, self._version, self.built = unsealed.tables, unsealed.version, unsealed.built
            self.seen, self._was_there = stamp, True
        return self._kept

    def write(self, data: Tables) -> None:
        """Put tables on the disk, all of them or none.

        Raises StoreError or OSError: after Unsure the new file is in place, after any other the old one is intact.
        """
        if self._version < self.kind.version and self._was_there:
            backups.back_up(self.path, read_bytes(self.path, LARGEST_FILE), self.kind, self.now().utc)
        # TinyDB has changed what `read` returned: until it is on the disk, nothing in memory can be trusted.
        self._kept = self.seen = self.built = None
        try:
            raw = seal(data, self.kind, self._texts)
        except (ValueError, TypeError):
            raise StoreError(f"the new content of {self.path.name} is not valid text", "write it again") from None
        if len(raw) > LARGEST_FILE:
            what = f"{self.path.name} would be larger than {LARGEST_FILE // 1_000_000} MB and was not changed"
            raise StoreError(what, "close the session and start another one")
        if self._was_there and not self.unsure:
            link_as(self.path, self._previous)
        self.unsure = True
        replace_file(self.path, raw)
        self.unsure = False
        self._kept, self.seen, self._version, self._was_there = data, self._stamp(), self.kind.version, True
        self._owes_copy = True
        if not self.copies_later:
            self.copy_if_due()

    def copy_if_due(self) -> None:
        """Make a copy if one is due. Never raises, as `back_up`."""
        owed, self._owes_copy = self._owes_copy, False
        if owed and self._kept is not None and backups.is_due(self.path, rows_in(self._kept), self.now().utc):
            self.back_up()

    def back_up(self) -> None:
        """Make a copy unless the newest is the same. Never raises: ``backup_failed`` has the reason."""
        self.backup_failed = ""
        try:
            raw = read_bytes(self.path, LARGEST_FILE)
            for _, _, newest in backups.copies_of(self.path)[:1]:
                with contextlib.suppress(StoreError):
                    if read_bytes(newest, LARGEST_FILE) == raw:
                        return
            backups.back_up(self.path, raw, self.kind, self.now().utc)
        except (StoreError, OSError) as error:
            self.backup_failed = reason(error) if isinstance(error, OSError) else error.what

    def changed(self) -> bool:
        """Return whether the file differs from the one last read or written."""
        return self._stamp() != self.seen

    def _stamp(self) -> tuple[int, int, int] | None:
        try:
            about = self.path.stat(follow_symlinks=False)
        except FileNotFoundError:
            return None
        except OSError as error:
            raise StoreError(f"{self.path} cannot be read: {reason(error)}", "check the data folder") from None
        return about.st_ino, about.st_size, about.st_mtime_ns


class SessionFile:
    """A session's file. ``plan`` is as it was at the start; ``events`` are in their order of recording.

    The bench that has it open restores confirmed entries from memory if something damages, removes or replaces it.
    """

    def __init__(self, path: Path, now: Callable[[], Moment] = clock.now) -> None:
        self.path = path
        self.now = now
        self.storage = DurableStorage(path, SESSION, now)
        self._db = TinyDB(storage=lambda: self.storage)
        self._lock = FileLock(path.with_suffix(".lock"))
        self._bench = FileLock(path.with_suffix(".bench"))
        self.repairs = False
        """whether a damaged or missing file is written again from memory: while a bench has it open"""
        self.mended = ""
        """what was repaired from memory since this was last read, in words"""
        self.lacks_events = False
        """whether the file lacks events that were confirmed"""
        if (tables := self.storage.read()) is None:
            raise StoreError(f"{self.path} is not there", "see `dyeday sessions`, and `dyeday restore` for copies")
        built, self.storage.built = self.storage.built, None
        self.about: SessionInfo
        self.plan: Plan
        self.events: tuple[Event, ...]
        self.about, self.plan, self.events = built if isinstance(built, tuple) else session_of(tables)

    @property
    def data_folder(self) -> Path:
        """The folder that holds this and all other sessions and records."""
        return self.path.parent.parent

    @property
    def without_copy(self) -> str:
        """The message if the file was saved but its copy could not be made; else ""."""
        why = self.storage.backup_failed.rpartition(": ")[2]
        return f"saved, but no copy was made: {why}; see `dyeday doctor`" if why else ""

    @property
    def is_closed(self) -> bool:
        return is_closed(self.events)

    @property
    def stamp(self) -> Stamp | None:
        """The stamp of the file when last read or written here."""
        return self.storage.seen and self.storage.seen[1:]

    def refresh(self) -> bool:
        """Read what another shell wrote; return whether there was any. Raises StoreError, changing nothing."""
        if not self.storage.changed():
            return False
        tables = self.storage.read() or {}
        before = self.events
        rows = list(tables["events"].values())
        if [row["id"] for row in rows[: len(before)]] == [event.id for event in before]:
            there = (*before, *(event_of(row) for row in rows[len(before) :]))
        else:
            there = session_of(tables)[2]
        self.about = SessionInfo(**tables["about"]["1"])
        self.events = self._with_own(there, before)
        return self.events != before

    def _with_own(self, there: tuple[Event, ...], own: Sequence[Event]) -> tuple[Event, ...]:
        """Return the file's events and those confirmed here that it lacks, because an older file replaced it."""
        have = {event.id for event in there}
        lacking = [event for event in own if event.id not in have]
        self.lacks_events |= bool(lacking)
        return tuple(in_order_of_recording((*there, *lacking))) if lacking else there

    def add(self, events: Iterable[Event], check: Check | None = None) -> tuple[Event, ...]:
        """Store events durably, all of them or none; return those that were new.

        Known ids are left out. ``check`` is called under the lock and may raise to refuse them. When this returns,
        they are on the disk. Raises StoreError if they could not be saved; it says so if they are there all the same.
        """
        try:
            with self._lock:
                self._read_or_repair()
                known = {event.id for event in self.events}
                fresh = spread(event for event in in_order_of_recording(events) if event.id not in known)
                if fresh and self.events and fresh[0].recorded_at == self.events[-1].recorded_at:
                    fresh = spread([self.events[-1], *fresh])[1:]
                if check is not None:
                    check(self.events, fresh)
                if self.lacks_events or self.storage.unsure:
                    self._write_whole((*self.events, *fresh))
                elif fresh:
                    # TinyDB would number on from what it last read, not from what another shell wrote.
                    first = len(self.events) + 1
                    rows = [Document(event.to_json(), first + n) for n, event in enumerate(fresh)]
                    self._db.table("events").insert_multiple(rows)
        except Unsure as error:
            raise not_saved("it is", error, "") from None
        except OSError as error:
            raise StoreError(f"nothing could be saved: {reason(error)}", f"check {self.path.parent}") from None
        self.events = (*self.events, *fresh)
        return tuple(fresh)

    def listed(self) -> Listed:
        """Return this session's row in a list."""
        about, counts = self.about, (len(self.plan.batches), len(self.events))
        return Listed(about.id, about.name, about.date, about.begun, self.is_closed, *counts, about.source)

    def _read_or_repair(self) -> None:
        """Read the file; repair it from memory if it is damaged or gone and this bench has it open."""
        try:
            self.refresh()
        except (Damaged, FileGone) as error:
            # If the folder is gone, a stick was pulled out: wait for it.
            if not (self.repairs and self.path.parent.is_dir()):
                raise
            aside = set_aside(self.path, self.now().utc)
            aside_text = f"; what was there is kept as {aside}" if aside is not None else ""
            if (copy := newest_good(self.path, SESSION)) is not None:
                there = session_of(unseal(read_bytes(copy.file, LARGEST_FILE), copy.file, SESSION).tables)[2]
                self.events = self._with_own(there, self.events)
            self._write_whole(self.events)
            self.mended = f"{error.what}: the day was saved again from memory{aside_text}"
        if self.lacks_events and not self.mended:
            self.mended = f"{self.path} was restored to an older state: the missing entries are saved again"

    def _write_whole(self, events: Sequence[Event]) -> None:
        self.storage.write(tables_of(self.about, self.plan, in_order_of_recording(events)))
        self.lacks_events = False

    def set_source(self, source: str, digest: str) -> None:
        """Store the plan file and its digest after its changes were applied."""
        try:
            with self._lock:
                self._read_or_repair()
                about = replace(self.about, source=source, digest=digest)
                self._db.table("about").update(to_plain(about))
        except OSError as error:
            raise not_saved("the plan's file is", error, f"check {self.path.parent}") from None
        self.about = about

    def claim_bench(self) -> bool:
        """Claim the session for one bench, whose copies wait for `copy_if_due`; return False if another has it."""
        if not self._bench.grab():
            return False
        # A shell that hangs while holding the lock must not block keys for long.
        self._lock.wait_s = BENCH_WAIT_S
        self.repairs = self.storage.copies_later = True
        return True

    def release_bench(self) -> None:
        """Make a copy if one is due, and release the session to other benches."""
        self.storage.copy_if_due()
        self.repairs = self.storage.copies_later = False
        self._bench.release()
