"""The sessions of a data folder: started, found, listed, followed where batches were carried."""

from __future__ import annotations

import contextlib
import os
import re
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import cast

from dyeday.files.durable import FileLock, StoreError, make_folder, not_saved, read_bytes, sweep
from dyeday.plan.model import Plan
from dyeday.plan.reading.problems import similar
from dyeday.store import clock
from dyeday.store.backups import copies_of
from dyeday.store.sealed import LARGEST_FILE
from dyeday.store.session_file import DurableStorage, SessionFile, Stamp
from dyeday.store.session_form import SESSION, SESSION_ID, Listed, SessionInfo, day_of_batches, digest_of, tables_of
from dyeday.text import brief
from dyeday.track.day.day_state import Day, Event, spread
from dyeday.track.events.session_events import CarriedOver
from dyeday.track.folding.fold import effective, fold
from dyeday.track.timestamp import Moment, iso

LOOK_BACK = 60
"""newest sessions among which the running one is looked for"""
LONGEST_CHAIN = 60
"""sessions carried into each other that are followed back"""
_CLOSED, _STRUCK = re.compile(rb'"event": ?"closed"'), re.compile(rb'"event": ?"struck"')


def sort_key(session_id: str) -> tuple[str, int]:
    """Return what sorts sessions by their ids: the day, then which of the day's it is."""
    return session_id[:10], int(session_id[11:])


class Sessions:
    """The sessions of a data folder."""

    def __init__(self, data: Path, now: Callable[[], Moment] = clock.now) -> None:
        self.folder = data / "sessions"
        self.now = now
        self.unreadable: list[str] = []
        """errors of files that could not be listed"""

    def ids(self) -> list[str]:
        """Return all ids, newest first."""
        if not self.folder.is_dir():
            return []
        files = (name for name in os.listdir(self.folder) if name.endswith(".json"))  # noqa: PTH208 - thousands
        names = (name[:-5] for name in files if SESSION_ID.match(name[:-5]))
        return sorted(names, key=sort_key, reverse=True)

    def open(self, session_id: str) -> SessionFile:
        """Return a session by its id. Raises StoreError if there is none."""
        return SessionFile(self._path(session_id), self.now)

    def day_of_batches(self, session_id: str, event_count: int, batches: Collection[str]) -> Day:
        """Return the day by those of its first ``event_count`` events that ``batches`` need. Raises StoreError."""
        kind = replace(SESSION, build=lambda tables: day_of_batches(tables, event_count, batches))
        (storage := DurableStorage(self._path(session_id), kind, self.now)).read()
        return cast(Day, storage.built)

    def _path(self, session_id: str) -> Path:
        path = self.folder / f"{session_id}.json"
        if not SESSION_ID.match(session_id) or not (path.is_file() or copies_of(path)):
            raise StoreError(f"no session {brief(session_id)}", similar(session_id, self.ids()))
        return path

    def was_never_closed(self, session_id: str) -> bool:
        """Return whether a session was never closed, by a search in its bytes. Raises StoreError."""
        return _CLOSED.search(read_bytes(self.folder / f"{session_id}.json", LARGEST_FILE)) is None

    def newest(self, *, unfinished: bool) -> SessionFile | None:
        """Return the newest session, or the newest one that was not closed, of the latest `LOOK_BACK`."""
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
        """Return the stamp of each session's file."""
        stamps = {}
        with contextlib.suppress(FileNotFoundError), os.scandir(self.folder) as there:
            for entry in there:
                if entry.name.endswith(".json") and SESSION_ID.match(entry.name[:-5]):
                    about = entry.stat(follow_symlinks=False)
                    stamps[entry.name[:-5]] = (about.st_size, about.st_mtime_ns)
        return stamps

    def listed(self, known: Mapping[str, tuple[Stamp, Listed]] | None = None) -> list[Listed]:
        """Return all sessions but `unreadable` ones, newest first; ``known`` ones are opened only if changed."""
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
        """Return the newest open session started from this file for this date, or None."""
        for session_id in self.ids():
            if session_id[:10] == day.isoformat():
                session = self.open(session_id)
                if session.about.source == str(source) and not session.is_closed:
                    return session
        return None

    def begin(
        self, plan: Plan, source: Path, text: str, now: Moment, events: Iterable[Event] = (), of_plan: bool = False
    ) -> SessionFile:
        """Start a session of ``plan`` with its first events in one write; its id is its date and a new number.

        With ``of_plan`` an open session of this file and date is returned instead. Raises StoreError.
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
                # Copies keep the numbers of lost files.
                used = [int(path.stem[11:]) for path in session_files(self.folder.parent) if path.stem[:10] == day]
                session_id = f"{day}-{max(used, default=0) + 1}"
                path = self.folder / f"{session_id}.json"
                about = SessionInfo(session_id, plan.session.name, day, iso(now.utc), str(source), digest_of(text))
                storage = DurableStorage(path, SESSION, self.now)
                storage.copies_later = True
                storage.write(tables_of(about, plan, spread(events)))
        except OSError as error:
            raise not_saved("the session is", error, f"check {self.folder}") from None
        try:
            session = SessionFile(path, self.now)
        except StoreError as error:
            what = f"session {session_id} is saved, but cannot be opened: {error.what}"
            raise StoreError(what, "`dyeday open PLAN` continues it") from None
        session.storage.back_up()
        return session


def session_files(data: Path) -> list[Path]:
    """Return the file of every session, newest first, even if only its copies are left."""
    folder = data / "sessions"
    stems = {path.stem for path in folder.glob("*.json")}
    with contextlib.suppress(OSError):
        stems |= {path.name for path in (folder / "backups").iterdir()}
    ids = sorted(filter(SESSION_ID.match, stems), key=sort_key, reverse=True)
    return [folder / f"{session_id}.json" for session_id in ids]


def days_until(sessions: Sessions, session_id: str, day: Day) -> list[tuple[str, Day]]:
    """Return (id, day) of the sessions carried into a ``day``, of those before them, and itself, oldest first."""
    return _days_until(sessions, session_id, day, {session_id})


def _days_until(sessions: Sessions, session_id: str, day: Day, seen: set[str]) -> list[tuple[str, Day]]:
    names = {b.carried.session for b in day.batches.values() if b.carried is not None} - seen
    days: list[tuple[str, Day]] = []
    for name in sorted(names.intersection(sessions.ids()), key=sort_key):
        if len(seen) < LONGEST_CHAIN:
            seen.add(name)
            file = sessions.open(name)
            days += _days_until(sessions, name, fold(file.plan, file.events), seen)
    return [*days, (session_id, day)]


def carried_to(sessions: Sessions, sources: Collection[str], into: str = "") -> dict[tuple[str, str], str]:
    """Return where batches of ``sources`` were carried last: (session, batch) to "session/batch"; not to ``into``."""
    batch_now: dict[tuple[str, str], str] = {}
    first = min((source[:10] for source in sources), default="")
    later = [name for name in reversed(sessions.ids()) if first and name[:10] >= first and name != into]
    for name in later:
        with contextlib.suppress(StoreError):
            for event in effective(sessions.open(name).events)[0]:
                body = event.body
                if isinstance(body, CarriedOver) and body.source and body.source in sources:
                    batch_now[body.source, str(body.was)] = f"{name}/{event.batch}"
    return batch_now
