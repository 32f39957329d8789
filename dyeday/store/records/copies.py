"""All of which copies are kept. Those of the database are made by SQLite's own backup, verified by its own check."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from dyeday.files.durable import StoreError, make_folder, reason, saved, sweep, sync_folder
from dyeday.store import backups
from dyeday.store.backups import BackedUpFile, Copy
from dyeday.store.records.database import FORM, RESTORE, Records, check_form, connect, new_file
from dyeday.store.sealed import Damaged, Kind
from dyeday.store.session_form import SESSION
from dyeday.store.sessions import session_files
from dyeday.text import counted

COUNTS = NEWEST_KEPT, *_ = 4, 7, 8


class KeptRecords(BackedUpFile):
    """The database of a data folder."""

    def look(self, file: Path) -> str:
        return checked(file)[0]

    def back_up(self, now: datetime) -> None:
        """Copy what changed since the newest copy, and let older ones go. Raises StoreError."""
        folder, newest = backups.backup_folder(self.path), next(iter(backups.taken(self.path)), None)
        try:
            changed_ns = self.path.stat().st_mtime_ns
            if newest is not None and newest[2].stat().st_mtime_ns >= changed_ns:
                return
            make_folder(folder)
            sweep(folder)
            _put(self.path, folder, lambda entries: folder / f"{backups.stamp(now)}-{entries}.db")
            keep = backups.kept_of([when for when, _, _ in backups.taken(self.path)], now, COUNTS)
            for when, _, file in backups.taken(self.path):
                if when not in keep:
                    file.unlink(missing_ok=True)
        except FileNotFoundError:
            return  # nothing was kept yet
        except OSError as error:
            raise StoreError(f"{self.path} could not be copied: {reason(error)}", "make room; it is whole") from None

    def bring_back(self, copy: Copy, now: datetime) -> Path | None:
        checked(copy.file)
        folder = backups.aside_folder(self.path)
        make_folder(folder)
        try:
            try:
                checked(self.path)
            except StoreError:
                aside = backups.set_aside(self.path, now)
                journal = Path(f"{self.path}-journal")
                if os.path.lexists(journal):  # of the damaged file: it would be played back into the good one
                    journal.rename(backups.free_name(journal, now))
                _put(copy.file, self.path.parent, lambda entries: self.path)
                return aside
            aside = _put(self.path, folder, lambda entries: backups.free_name(self.path, now))
            # In place and as one transaction: a shell that has it open goes on with it, and a pulled plug undoes it.
            with contextlib.closing(connect(copy.file)) as source, contextlib.closing(connect(self.path)) as target:
                source.backup(target)
            saved(self.path.name)
        except (OSError, sqlite3.Error) as error:
            why = reason(error) if isinstance(error, OSError) else str(error)
            if _token(self.path) == _token(copy.file):
                right = "look at the disk; the copy is as it was"
                raise StoreError(f"{self.path} is put back, but the disk did not confirm it: {why}", right) from None
            what = f"{self.path} could not be put back: {why}"
            raise StoreError(what, "the copy and the present are as they were") from None
        return aside


def kept_in(data: Path) -> list[BackedUpFile]:
    """Return the records, then every session, newest first; also those of which only copies are left."""
    records = records_of(data)
    there = os.path.lexists(records.path) or backups.backup_folder(records.path).is_dir()
    return [*([records] if there else []), *(BackedUpFile(path, SESSION) for path in session_files(data))]


def records_of(data: Path) -> KeptRecords:
    """Return the database of a data folder as a thing of which copies are kept."""
    return KeptRecords(Records(data).path, Kind("records", FORM))


def checked(path: Path) -> tuple[str, int]:
    """Return what a database holds in a few words, and how many entries. Raises StoreError where it is not whole."""
    try:
        with contextlib.closing(connect(path)) as db:
            check_form(db, path)
            if db.execute("PRAGMA integrity_check(1)").fetchall() != [("ok",)]:
                raise Damaged(f"{path} is damaged", RESTORE)
            tables = ("lot", "taken", "move", "noted", "definition")
            lots, days, moves, notes, _ = counts = [
                int(db.execute(f"SELECT count(*) FROM {name}").fetchone()[0]) for name in tables
            ]
    except sqlite3.Error as error:
        raise Damaged(f"{path} is damaged: {error}", RESTORE) from None
    said = f"{counted(lots, 'lot')} of {counted(days, 'day')}, {counted(notes, 'thing')} noted of them later, "
    return f"{said}{counted(moves, 'movement')} of the shelf", sum(counts)


def _token(path: Path) -> object:
    """Return what tells one state of a database from another; itself where it cannot be read."""
    try:
        with contextlib.closing(connect(path)) as db:
            return db.execute("SELECT token FROM latest").fetchone()
    except sqlite3.Error:
        return object()


def _put(source: Path, folder: Path, named: Callable[[int], Path]) -> Path:
    """Copy a database into a checked file of ``folder``, then give it its name. Raises OSError or StoreError."""
    with new_file(folder) as temporary:
        try:
            with contextlib.closing(connect(source)) as db, contextlib.closing(connect(temporary)) as target:
                db.backup(target)
        except sqlite3.Error as error:
            raise StoreError(f"{source} could not be copied: {error}", "look at the disk and its room") from None
        target_path = named(checked(temporary)[1])
        temporary.replace(target_path)
        sync_folder(folder)
        return target_path
