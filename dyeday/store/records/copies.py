"""The files that have copies. SQLite's own backup and check make and verify those of the database."""

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

NEWEST_KEPT = 4
COUNTS = (NEWEST_KEPT, 7, 8)
"""copies kept: the newest, then the last of each day, then the last of each week"""


class KeptRecords(BackedUpFile):
    """The database of a data folder."""

    def verify(self, file: Path) -> str:
        return checked(file)[0]

    def back_up(self, now: datetime) -> None:
        """Make a copy unless nothing changed since the newest, and delete older ones. Raises StoreError."""
        folder, newest = backups.backup_folder(self.path), next(iter(backups.copies_of(self.path)), None)
        try:
            changed_ns = self.path.stat().st_mtime_ns
            if newest is not None and newest.file.stat().st_mtime_ns >= changed_ns:
                return
            make_folder(folder)
            sweep(folder)
            _put(self.path, folder, lambda entries: folder / f"{backups.stamp_text(now)}-{entries}.db")
            backups.delete_old(self.path, self, now, COUNTS)
        except FileNotFoundError:
            return  # nothing was kept yet
        except OSError as error:
            what = f"{self.path} could not be copied: {reason(error)}"
            raise StoreError(what, "make room; the file is undamaged") from None

    def restore_copy(self, copy: Copy, now: datetime) -> Path | None:
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
            # In place, in one transaction: shells that have it open continue, and a power cut rolls it back.
            with contextlib.closing(connect(copy.file)) as source, contextlib.closing(connect(self.path)) as target:
                source.backup(target)
            saved(self.path.name)
        except (OSError, sqlite3.Error) as error:
            why = reason(error) if isinstance(error, OSError) else str(error)
            if _token(self.path) == _token(copy.file):
                right = "check the disk; the copy is unchanged"
                raise StoreError(f"{self.path} is put back, but the disk did not confirm it: {why}", right) from None
            raise StoreError(f"{self.path} could not be put back: {why}", "nothing was changed") from None
        return aside


def kept_in(data: Path) -> list[BackedUpFile]:
    """Return the records, then every session, newest first, even if only its copies are left."""
    records = records_of(data)
    there = os.path.lexists(records.path) or backups.backup_folder(records.path).is_dir()
    return [*([records] if there else []), *(BackedUpFile(path, SESSION) for path in session_files(data))]


def records_of(data: Path) -> KeptRecords:
    """Return the database of a data folder with its copies."""
    return KeptRecords(Records(data).path, Kind("records", FORM))


def checked(path: Path) -> tuple[str, int]:
    """Return what a database holds, in a few words, and its number of entries. Raises StoreError if damaged."""
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
    message = f"{counted(lots, 'lot')} of {counted(days, 'day')}, {counted(notes, 'later note')}"
    return f"{message}, {counted(moves, 'shelf movement')}", sum(counts)


def _token(path: Path) -> object:
    """Return the token of a database's state; a new object, equal to none, if it cannot be read."""
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
            raise StoreError(f"{source} could not be copied: {error}", "check the disk and its free space") from None
        target_path = named(checked(temporary)[1])
        temporary.replace(target_path)
        sync_folder(folder)
        return target_path
