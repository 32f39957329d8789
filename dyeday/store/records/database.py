"""The database file: created, opened for one transaction at a time, and its errors in words."""

from __future__ import annotations

import contextlib
import os
import secrets
import sqlite3
import stat
from collections.abc import Callable, Iterator
from pathlib import Path

from dyeday.files.durable import LONGEST_WAIT_S, FileLock, StoreError, make_folder, reason, saved, sync_folder
from dyeday.store.backups import copies_of
from dyeday.store.sealed import Damaged, FileGone, FileNewer

NAME = "studio.db"
FORM = 3
RESTORE = "`dyeday restore studio --newest` brings back its newest copy"
_MARK = 0x64796564
SCHEMA = f"""
PRAGMA application_id = {_MARK};
PRAGMA user_version = {FORM};
CREATE TABLE latest(token TEXT NOT NULL);
INSERT INTO latest VALUES ('');
CREATE TABLE taken(session TEXT PRIMARY KEY, events INTEGER NOT NULL, size INTEGER, changed_ns INTEGER, listed TEXT);
CREATE TABLE lot(number TEXT PRIMARY KEY, date TEXT NOT NULL, colourway TEXT NOT NULL, base TEXT NOT NULL,
  skeins INTEGER NOT NULL, mark TEXT NOT NULL, words TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE part(number TEXT NOT NULL, session TEXT NOT NULL, events INTEGER NOT NULL, shelf TEXT NOT NULL,
  withdrawn TEXT NOT NULL DEFAULT '', body TEXT, flags TEXT NOT NULL DEFAULT '',
  PRIMARY KEY (number, session)) WITHOUT ROWID;
CREATE INDEX part_of ON part(session);
CREATE TABLE noted(id INTEGER PRIMARY KEY, number TEXT NOT NULL, at TEXT NOT NULL, what TEXT NOT NULL,
  text TEXT NOT NULL, of TEXT NOT NULL);
CREATE INDEX noted_of ON noted(number);
CREATE TABLE move(seq INTEGER PRIMARY KEY, aside INTEGER NOT NULL DEFAULT 0, id TEXT NOT NULL UNIQUE,
  at TEXT NOT NULL, kind TEXT NOT NULL, thing TEXT NOT NULL, name TEXT NOT NULL, amount REAL NOT NULL,
  unit TEXT NOT NULL, session TEXT NOT NULL, planned INTEGER NOT NULL, why TEXT NOT NULL, lot TEXT NOT NULL,
  bottle TEXT NOT NULL, strength_pct REAL, made TEXT, powder_g REAL NOT NULL);
CREATE INDEX move_now ON move(seq) WHERE aside = 0;
CREATE TABLE to_tell(id TEXT PRIMARY KEY, session TEXT NOT NULL, event TEXT NOT NULL);
CREATE TABLE seen(kind TEXT NOT NULL, day TEXT NOT NULL, nth INTEGER NOT NULL, n INTEGER NOT NULL,
  planned_min REAL NOT NULL, actual_min REAL NOT NULL, batch TEXT NOT NULL, at_most INTEGER NOT NULL,
  PRIMARY KEY (kind, day, nth, n)) WITHOUT ROWID;
CREATE TABLE own(kind TEXT PRIMARY KEY, factor REAL NOT NULL, spread REAL NOT NULL, n INTEGER NOT NULL);
CREATE TABLE definition(id INTEGER PRIMARY KEY, kind TEXT NOT NULL, name TEXT NOT NULL, body TEXT NOT NULL,
  UNIQUE (kind, name));
CREATE TABLE forecast(session TEXT PRIMARY KEY, at TEXT NOT NULL, likely TEXT NOT NULL, late TEXT NOT NULL,
  ended TEXT NOT NULL, late_scale REAL NOT NULL DEFAULT 1);
"""
_STEPS = {
    1: ("ALTER TABLE part ADD COLUMN flags TEXT NOT NULL DEFAULT ''",),
    2: ("ALTER TABLE forecast ADD COLUMN late_scale REAL NOT NULL DEFAULT 1",),
}
"""what makes the next form of each older one, done at the first write; until then an older form is read as it is"""
_WHY = {
    "SQLITE_FULL": "the disk is full",
    "SQLITE_READONLY": "it is write-protected",
    "SQLITE_IOERR": "the disk reports an error",
    "SQLITE_CANTOPEN": "it cannot be opened",
}

Tell = Callable[[str], None]


class Records:
    """The database of a data folder. A folder of an older dyeday is converted when it is first opened."""

    def __init__(self, data: Path, tell: Tell = lambda line: None) -> None:
        self.data = data
        self.path = data.absolute() / NAME
        self.tell = tell

    @contextlib.contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """Give a connection that sees one state; an empty database if there is none yet. Raises StoreError."""
        there = self._found_or_converted()
        with self._closing(lambda: connect(self.path) if there else sqlite3.connect(":memory:")) as db:
            if there:
                check_form(db, self.path)
                db.execute("BEGIN")
            else:
                db.executescript(SCHEMA)
            yield db

    @contextlib.contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """Give a connection whose changes are saved with the block, or none. Raises StoreError, which says which."""
        if not self._found_or_converted():
            self._begin()
        token = secrets.token_hex(8)
        with self._closing(lambda: connect(self.path)) as db:
            db.execute("BEGIN IMMEDIATE")
            for form in range(check_form(db, self.path), FORM):
                for statement in (*_STEPS[form], f"PRAGMA user_version = {form + 1}"):
                    db.execute(statement)
            yield db
            db.execute("UPDATE latest SET token = ?", (token,))
            try:
                db.execute("COMMIT")
            except sqlite3.Error as error:
                db.close()
                raise self._after_commit(error, token) from None
        saved(self.path.name)

    def _after_commit(self, error: sqlite3.Error, token: str) -> StoreError:
        """Return the error of a failed commit; the token in the file shows whether it was saved."""
        try:
            with contextlib.closing(connect(self.path)) as db:
                there = db.execute("SELECT token FROM latest").fetchone() == (token,)
        except sqlite3.Error:
            return StoreError(f"it may or may not be saved: {_why(error)}", "check before you do it again")
        if there:
            return StoreError(f"it is saved, but the disk did not confirm it: {_why(error)}", "do not do it again")
        return self._refused(error)

    @contextlib.contextmanager
    def _closing(self, opened: Callable[[], sqlite3.Connection]) -> Iterator[sqlite3.Connection]:
        try:
            with contextlib.closing(opened()) as db:
                yield db
        except sqlite3.Error as error:
            raise self._refused(error) from None

    def _refused(self, error: sqlite3.Error) -> StoreError:
        name = getattr(error, "sqlite_errorname", "")
        if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
            return StoreError(f"another program has {self.path.name} locked", "close it, or try again in a moment")
        if any(name.startswith(known) for known in _WHY):
            what = f"{self.path} could not be read or written: {_why(error)}"
            return StoreError(what, "nothing was changed; check the disk and its free space")
        return Damaged(f"{self.path} is damaged", RESTORE)

    def _found_or_converted(self) -> bool:
        """Convert an older folder, if there is one; return whether there is a database to open. Raises StoreError."""
        from dyeday.store.records.old_folders import archive_old_files, convert_folder, old_files

        old = old_files(self.data)
        try:
            mode = self.path.lstat().st_mode
        except FileNotFoundError:
            if copies_of(self.path):
                raise FileGone(f"{self.path} is not there, though copies of it are", RESTORE) from None
            if old:
                self._begin(lambda db: convert_folder(self.data, db, self.tell))
                archive_old_files(self.data)
            return bool(old)
        except OSError as error:
            raise StoreError(f"{self.path} cannot be read: {reason(error)}", "check the data folder") from None
        if not stat.S_ISREG(mode):
            right = "move it away; `dyeday restore studio` lists its copies"
            raise StoreError(f"{self.path} is not a regular file", right)
        if old:  # after a power cut during the conversion, or if an old folder's files were copied here
            archive_old_files(self.data)
            self.tell(f"files of an older dyeday beside {self.path.name} were moved to old-records, and not read")
        return True

    def _begin(self, fill: Callable[[sqlite3.Connection], None] = lambda db: None) -> None:
        """Create the database: written under another name, then renamed. Raises StoreError."""
        make_folder(self.data)
        try:
            with FileLock(self.data / "studio.lock"):
                if os.path.lexists(self.path):
                    return
                with new_file(self.data) as temporary:
                    with self._closing(lambda: connect(temporary)) as db:
                        db.executescript(f"PRAGMA page_size = 8192; BEGIN; {SCHEMA}")
                        fill(db)
                        db.execute("COMMIT")
                    temporary.replace(self.path)
                    sync_folder(self.data)
        except OSError as error:
            raise StoreError(f"{self.path} could not be created: {reason(error)}", f"check {self.data}") from None


@contextlib.contextmanager
def new_file(folder: Path) -> Iterator[Path]:
    """Give a new private file in ``folder``, deleted after the block unless the block renamed it. Raises OSError."""
    file = folder / f".{NAME}.{secrets.token_hex(8)}.new"
    os.close(os.open(file, os.O_CREAT | os.O_EXCL | os.O_WRONLY | getattr(os, "O_NOFOLLOW", 0), 0o600))
    try:
        if hasattr(os, "fchmod"):
            file.chmod(0o600)
        yield file
    finally:
        for left in (file, Path(f"{file}-journal")):
            left.unlink(missing_ok=True)


def connect(path: Path) -> sqlite3.Connection:
    """Open an existing database, in autocommit mode. Raises sqlite3.Error."""
    db = sqlite3.connect(f"{path.as_uri()}?mode=rw", uri=True, timeout=LONGEST_WAIT_S, isolation_level=None)
    try:
        db.executescript("PRAGMA synchronous = EXTRA; PRAGMA fullfsync = 1; PRAGMA trusted_schema = 0;")
    except BaseException:
        db.close()
        raise
    return db


def check_form(db: sqlite3.Connection, path: Path) -> int:
    """Return the version of a database. Raises Damaged if it is not dyeday's, FileNewer if it is of a later one."""
    mark, form = (int(db.execute(f"PRAGMA {name}").fetchone()[0]) for name in ("application_id", "user_version"))
    if mark != _MARK or form < 1:
        raise Damaged(f"{path} is empty or does not hold the studio's records", RESTORE)
    if form > FORM:
        what = f"{path} was written by a newer dyeday (form {form}, this one knows {FORM})"
        raise FileNewer(what, "install the newer one; nothing was changed")
    return form


def _why(error: sqlite3.Error) -> str:
    name = getattr(error, "sqlite_errorname", "")
    return next((why for known, why in _WHY.items() if name.startswith(known)), str(error))
