"""The health of what is kept: every file of ours, its copies, and what lies beside them."""

from __future__ import annotations

import contextlib
import stat
import sys
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

from dyeday.store import backups
from dyeday.store.durable import StoreError, read_bytes
from dyeday.store.finding import Finding
from dyeday.store.kinds import files_of, kept_in
from dyeday.store.lock import FileLock
from dyeday.store.lot_book import LotBook
from dyeday.store.lot_copy import YearKept, years_kept
from dyeday.store.lot_lines import SUFFIX
from dyeday.store.sealed import LARGEST_FILE, Kind, unseal
from dyeday.text import counted
from dyeday.track.timestamp import Now, length_text


def health_of_files(data: Path, now: Now) -> Iterator[Finding]:
    """Look at every file of ours and its copies, and at what lies beside them. Raises nothing; changes nothing."""
    for path, kind in files_of(data):
        yield from _file(path, kind, now)
    for kept in years_kept(LotBook(data).folder):
        yield from _year(kept)
    yield from _strangers(data)


def _file(path: Path, kind: Kind, now: Now) -> Iterator[Finding]:
    name = path.stem if path.stem.startswith(kind.word) else f"{kind.word} {path.stem}"
    good = backups.newest_good(path, kind)
    back = f"dyeday restore {path.stem} --newest" if good is not None else "look for a copy of your own"
    try:
        if not path.exists() and not path.is_symlink():
            yield Finding(name, "wrong", "is not there, though copies of it are", back)
            return
        read = unseal(read_bytes(path, LARGEST_FILE), path, kind)
    except StoreError as error:
        right = error.right if error.right.startswith("install") else back
        yield Finding(name, "wrong", error.what.removeprefix(f"{path} "), right)
        return
    if read.version < kind.version:
        said = f"of version {read.version}, whole as far as can be told: it has no check sum yet"
        yield Finding(name, "note", said, "nothing; it is copied and brought up with its next entry")
    else:
        yield Finding(name, "well", f"whole, version {read.version}: {kind.holds(read.tables)}")
    bench = path.with_suffix(".bench")
    if bench.exists():
        lock = FileLock(bench)
        with contextlib.suppress(StoreError):
            if not lock.grab():
                yield Finding(name, "well", "a bench has it open now")
        lock.release()
    yield from _copies(path, kind, name, now)
    yield from _private(path, name)


def _private(path: Path, name: str) -> Iterator[Finding]:
    if sys.platform != "win32" and stat.S_IMODE(path.stat().st_mode) & 0o077:
        yield Finding(name, "note", "others of this computer may read it", f"chmod 600 {path}")


def _copies(path: Path, kind: Kind, name: str, now: Now) -> Iterator[Finding]:
    found = [copy for copy in backups.copies(path, kind) if not copy.was_set_aside]
    good = [copy for copy in found if copy.good]
    about = f"copies of {name}"
    if not good:
        yield Finding(about, "note", "there is none yet", "one is made with the next entry")
    else:
        age = now.utc - good[0].taken
        yield Finding(about, "well", f"{len(good)}, the newest {_age(age)}: {good[0].holds}")
    if len(found) > len(good):
        said = f"{len(found) - len(good)} of {len(found)} are damaged"
        yield Finding(about, "wrong", said, "look at the disk; copy the folder to another one")
    if any(copy.taken > now.utc + timedelta(minutes=5) for copy in found):
        yield Finding(about, "note", "some are of the future", "the clock was wrong once; look at what each holds")


def _age(age: timedelta) -> str:
    return f"{length_text(max(0.0, age.total_seconds() / 60))} old"


def _year(kept: YearKept) -> Iterator[Finding]:
    name = f"{kept.word} {kept.path.stem}"
    back = f"dyeday restore {kept.name} --newest"
    try:
        if not kept.path.exists() and not kept.path.is_symlink():
            yield Finding(name, "wrong", "is not there, though its copy is", back)
            return
        seen = kept.check()
    except StoreError as error:
        yield Finding(name, "wrong", error.what, error.right)
        return
    if seen.lacking:
        yield Finding(name, "wrong", f"{_lines(seen.lacking, ' that its copy has')} damaged or gone", back)
    elif seen.damaged and seen.ahead is None:
        do = "dyeday lots --rebuild puts back what the days' own records have of it"
        yield Finding(name, "wrong", f"{_lines(seen.damaged)} damaged and count as not there", do)
    elif seen.damaged:
        said = f"{_lines(seen.damaged)} torn as by a pulled plug; every one that its copy has is there"
        yield Finding(name, "note", said, "nothing; `dyeday lots` takes in again what a day's lines lack")
    else:
        yield Finding(name, "well", f"every line's sum is right: {seen.holds}")
    about = f"copy of {name}"
    if seen.ahead is None:
        yield Finding(about, "note", "there is none yet", "it is made with the next line")
    elif seen.copy_damaged:
        said = f"{_lines(seen.copy_damaged, ' of it')} damaged"
        yield Finding(about, "wrong", said, "look at the disk; dyeday lots --rebuild makes the copy again")
    elif seen.ahead:
        said = f"{_lines(seen.ahead)} not in it yet"
        yield Finding(about, "note", said, "make room, if there is little; the next line brings it up to the book")
    else:
        yield Finding(about, "well", "it has every line")
    yield from _private(kept.path, name)


def _lines(number: int, which: str = "") -> str:
    """Return "1 line is", "3 lines of it are"."""
    return counted(number, f"line{which} is", f"lines{which} are")


def _strangers(data: Path) -> Iterator[Finding]:
    """What lies beside our files and is none: a sync program's second version, a crash's leavings."""
    known = {kept.path for kept in kept_in(data)}
    for folder in sorted({path.parent for path in known}):
        beside = (path for pattern in ("*.json", f"*{SUFFIX}") for path in folder.glob(pattern))
        names = [path.name for path in beside if path not in known]
        for name in sorted(names)[:5]:
            do = "if a sync program made it, compare, then move it away; open one computer at a time"
            yield Finding("strangers", "note", f"{folder / name} is beside our files and none of them", do)
        left = list(folder.glob(".*.new"))
        if left:
            yield Finding("strangers", "well", f"{counted(len(left), 'half-written file')} of a crash, of no account")
        aside = list(backups.aside_folder(folder / "x.json").glob("*.*"))
        if aside:
            do = "`dyeday restore` lists them; delete them once you are sure"
            yield Finding(
                "set aside",
                "note",
                f"{counted(len(aside), 'file was', 'files were')} set aside in {folder / 'set-aside'}",
                do,
            )
