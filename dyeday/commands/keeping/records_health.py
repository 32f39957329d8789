"""The health of the data files and their copies, and foreign files beside them."""

from __future__ import annotations

import contextlib
import os
import stat
import sys
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

from dyeday.files.durable import FileLock, StoreError, read_bytes
from dyeday.quick_dataclass import dataclass
from dyeday.store import backups
from dyeday.store.records.copies import kept_in, records_of
from dyeday.store.sealed import LARGEST_FILE, unseal
from dyeday.store.session_form import SESSION
from dyeday.store.sessions import session_files
from dyeday.text import counted
from dyeday.track.timestamp import Moment, length_text


def health_of_files(data: Path, now: Moment) -> Iterator[Finding]:
    """Yield the findings about every data file, its copies and foreign files. Raises nothing; changes nothing."""
    yield from _records(data, now)
    for path in session_files(data):
        yield from _session(path, now)
    yield from _strangers(data)


def _session(path: Path, now: Moment) -> Iterator[Finding]:
    name, good = f"session {path.stem}", backups.newest_good(path, SESSION)
    back = f"dyeday restore {path.stem} --newest" if good is not None else "look for a copy of your own"
    try:
        if not path.exists() and not path.is_symlink():
            yield Finding(name, "wrong", "is not there, though copies of it are", back)
            return
        read = unseal(read_bytes(path, LARGEST_FILE), path, SESSION)
    except StoreError as error:
        right = error.hint if error.hint.startswith("install") else back
        yield Finding(name, "wrong", error.what.removeprefix(f"{path} "), right)
        return
    if read.version < SESSION.version:
        message = f"of version {read.version}, it has no check sum yet"
        yield Finding(name, "note", message, "nothing to do; the next entry copies and updates it")
    else:
        yield Finding(name, "well", f"complete: {SESSION.holds(read.built)}")
    bench = path.with_suffix(".bench")
    if bench.exists():
        lock = FileLock(bench)
        with contextlib.suppress(StoreError):
            if not lock.grab():
                yield Finding(name, "well", "a bench has it open now")
        lock.release()
    yield from _copies_of(backups.BackedUpFile(path, SESSION), name, now)
    yield from _private(path, name)


def _private(path: Path, name: str) -> Iterator[Finding]:
    if sys.platform != "win32" and stat.S_IMODE(path.stat().st_mode) & 0o077:
        yield Finding(name, "note", "other users of this computer can read it", f"chmod 600 {path}")


def _copies_of(file: backups.BackedUpFile, name: str, now: Moment) -> Iterator[Finding]:
    copies = [copy for copy in file.copies() if not copy.was_set_aside]
    good = [copy for copy in copies if copy.good]
    about = f"copies of {name}"
    if not good:
        yield Finding(about, "note", "none yet", "one is made with the next entry")
    else:
        age_min = max(0.0, (now.utc - good[0].taken).total_seconds() / 60)
        yield Finding(about, "well", f"{len(good)}, the newest {length_text(age_min)} old: {good[0].holds}")
    if len(copies) > len(good):
        message = f"{len(copies) - len(good)} of {len(copies)} are damaged"
        yield Finding(about, "wrong", message, "check the disk; copy the folder to another one")
    if any(copy.taken > now.utc + timedelta(minutes=5) for copy in copies):
        yield Finding(about, "note", "some have a date in the future", "the clock was wrong; compare what each holds")


def _records(data: Path, now: Moment) -> Iterator[Finding]:
    file = records_of(data)
    if not os.path.lexists(file.path):
        return
    try:
        yield Finding("records", "well", f"complete by SQLite's own check: {file.present()}")
    except StoreError as error:
        yield Finding("records", "wrong", error.what.removeprefix(f"{file.path} "), error.hint)
    else:
        yield from _private(file.path, "records")
    yield from _copies_of(file, "records", now)


def _strangers(data: Path) -> Iterator[Finding]:
    """Find foreign files: a sync program's second version, remains of a crash."""
    known = {file.path for file in kept_in(data)}
    for folder in (data, data / "sessions"):
        beside = (path for pattern in ("*.json", "*.db") for path in folder.glob(pattern))
        names = [path.name for path in beside if path not in known]
        for name in sorted(names)[:5]:
            do = "if a sync program made it, compare, then move it away; open one computer at a time"
            yield Finding("strangers", "note", f"{folder / name} is in dyeday's folder but is not its file", do)
        left = list(folder.glob(".*.new*"))
        if left:
            yield Finding("strangers", "well", f"{counted(len(left), 'half-written file')} left by a crash, harmless")
        aside = list(backups.aside_folder(folder / "x.json").glob("*.*"))
        if aside:
            do = "`dyeday restore` lists them; delete them once you are sure"
            count = counted(len(aside), "file was", "files were")
            yield Finding("set aside", "note", f"{count} set aside in {folder / 'set-aside'}", do)


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding: ``state`` is well, note or wrong; ``do`` is what to do about it."""

    about: str
    state: str
    message: str
    do: str = ""
