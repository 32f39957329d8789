"""Copies of data files: verified, thinned out by days and weeks, listed, brought back.

They are in ``backups/NAME/`` beside the file, named by their time and number of entries. A replaced or damaged file
is kept in ``set-aside/`` under a dated name. Names are made of the data file's name and a time, never of typed text.
``previous`` is the file before its latest entry: a hard link, which needs no room.
"""

from __future__ import annotations

import contextlib
import os
import re
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import NamedTuple

from dyeday.files.durable import (
    FileLock,
    StoreError,
    Unsure,
    make_folder,
    read_bytes,
    reason,
    replace_file,
    sweep,
    sync_folder,
)
from dyeday.quick_dataclass import dataclass
from dyeday.store.sealed import LARGEST_FILE, FileGone, Kind, rows_in, unseal

EVERY_ROWS, EVERY_MIN = 25, 30.0
"""a copy is due after so many new entries or minutes, whichever comes first"""
NEWEST_KEPT = 8
COUNTS = (NEWEST_KEPT, 14, 52)
"""copies kept: the newest, then the last of each day, then the last of each week"""
PREVIOUS = "previous.json"
_NAME = re.compile(r"^(?P<when>\d{8}T\d{6}Z)-(?P<rows>\d{1,9})\.(json|db)$")
_ASIDE = re.compile(r"^(?P<stem>.+)\.(?P<when>\d{8}T\d{6}Z)(?:-\d+)?(?P<suffix>\.[a-z]+)$")


@dataclass(frozen=True, slots=True)
class Copy:
    """One copy of a data file: ``good`` if it can be brought back, else ``problem`` says why not."""

    file: Path
    taken: datetime
    good: bool
    holds: str
    problem: str = ""
    was_set_aside: bool = False

    @property
    def name(self) -> str:
        """Its name for the user: its time and entries, or ``aside-`` and its time."""
        return f"aside-{self.file.stem.rpartition('.')[2]}" if self.was_set_aside else self.file.stem


def stamp_text(moment: datetime) -> str:
    """Return an aware instant as a file name has it, in UTC: "20260314T210500Z"."""
    return moment.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")


def backup_folder(path: Path) -> Path:
    """Return the folder for the copies of ``path``."""
    return path.parent / "backups" / path.stem


def aside_folder(path: Path) -> Path:
    """Return the folder for what is moved out of the way of ``path``."""
    return path.parent / "set-aside"


def _dated(folder: Path, name: re.Pattern[str]) -> list[tuple[datetime, re.Match[str], Path]]:
    dated = []
    with contextlib.suppress(OSError):
        for file in folder.iterdir():
            with contextlib.suppress(ValueError):
                if (named := name.match(file.name)) is not None:
                    when = datetime.strptime(named["when"], "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC)
                    dated.append((when, named, file))
    return dated


class CopyFile(NamedTuple):
    """A copy as its name tells it."""

    when: datetime
    entries: int
    file: Path


def copies_of(path: Path) -> list[CopyFile]:
    """Return the copies of ``path`` in its backup folder, by their names alone, newest first."""
    dated = _dated(backup_folder(path), _NAME)
    return sorted((CopyFile(when, int(named["rows"]), file) for when, named, file in dated), reverse=True)


def newest_good(path: Path, form: Kind | BackedUpFile) -> Copy | None:
    """Return the newest undamaged copy; older ones are not read."""
    looked = (_looked_at(file, when, form) for when, file in _newest_first(path))
    return next((copy for copy in looked if copy.good), None)


def _newest_first(path: Path) -> list[tuple[datetime, Path]]:
    copies = copies_of(path)
    previous = backup_folder(path) / PREVIOUS
    with contextlib.suppress(OSError, OverflowError, ValueError):
        copies.append(CopyFile(datetime.fromtimestamp(previous.stat().st_mtime, tz=UTC), 0, previous))
    return [(copy.when, copy.file) for copy in sorted(copies, reverse=True)]


def _looked_at(file: Path, when: datetime, form: Kind | BackedUpFile, *, aside: bool = False) -> Copy:
    try:
        return Copy(file, when, True, form.verify(file), "", aside)
    except StoreError as error:
        return Copy(file, when, False, "", error.what.removeprefix(f"{file} "), aside)


def is_due(path: Path, rows: int, now: datetime) -> bool:
    """Return whether ``path``, which now has ``rows`` entries, should be copied."""
    # Near in time on either side: a clock that is set must neither stop copies nor make one at every entry.
    near = timedelta(minutes=EVERY_MIN)
    return not any(abs(rows - count) < EVERY_ROWS and abs(now - when) < near for when, count, _ in copies_of(path))


def back_up(path: Path, raw: bytes, kind: Kind, now: datetime) -> Path:
    """Copy ``raw``, undamaged bytes of ``path``, verify it and delete older ones. Raises StoreError or OSError."""
    rows = rows_in(unseal(raw, path, kind).tables)
    folder = backup_folder(path)
    make_folder(folder)
    sweep(folder)
    file = folder / f"{stamp_text(now)}-{rows}.json"
    replace_file(file, raw)
    if read_bytes(file, LARGEST_FILE) != raw:
        raise StoreError(f"{file} cannot be read back as it was written", "check the disk")
    delete_old(path, kind, now)
    return file


def delete_old(path: Path, form: Kind | BackedUpFile, now: datetime, counts: tuple[int, int, int] = COUNTS) -> None:
    """Delete the good copies of ``path`` that `moments_kept` does not keep; damaged ones are read again each time."""
    every = copies_of(path)
    if len(every) > counts[0]:
        good = [copy for when, _, file in every if (copy := _looked_at(file, when, form)).good]
        keep = moments_kept([copy.taken for copy in good], now, counts)
        for copy in good:
            if copy.taken not in keep:
                with contextlib.suppress(OSError):
                    copy.file.unlink()


def moments_kept(moments: Iterable[datetime], now: datetime, counts: tuple[int, int, int] = COUNTS) -> set[datetime]:
    """Return which good copies are kept: the newest, the last of each day and of each week (UTC)."""
    newest, days, weeks = counts
    newest_first = sorted(moments, reverse=True)
    keep = set(newest_first[:newest])
    for lasts_days, part_of in ((days, datetime.date), (weeks * 7, lambda moment: moment.isocalendar()[:2])):
        last_of_each = {part_of(moment): moment for moment in reversed(newest_first)}
        keep |= {moment for moment in last_of_each.values() if (now.date() - moment.date()).days <= lasts_days}
    return keep


def set_aside(path: Path, now: datetime) -> Path | None:
    """Keep what is at ``path`` under a dated name too; None if nothing is there. Raises OSError."""
    if not os.path.lexists(path):
        return None
    folder = aside_folder(path)
    make_folder(folder)
    while True:
        file = free_name(path, now)
        try:
            # A hard link needs no room on a full disk, and leaves the file in place.
            os.link(path, file, follow_symlinks=False)
        except FileExistsError:
            continue
        except OSError:
            if path.is_symlink() or not path.is_file():
                path.rename(file)
            else:
                replace_file(file, path.read_bytes())
        sync_folder(folder)
        return file


def free_name(path: Path, now: datetime) -> Path:
    """Return a free dated name for ``path`` in `aside_folder`. Raises StoreError."""
    folder = aside_folder(path)
    for n in range(1000):
        file = folder / f"{path.stem}.{stamp_text(now)}{f'-{n}' if n else ''}{path.suffix}"
        if not os.path.lexists(file):
            return file
    raise StoreError(f"{folder} has too many copies from this second", "check that folder")


@dataclass(frozen=True, slots=True)
class BackedUpFile:
    """A data file of which copies are kept."""

    path: Path
    kind: Kind

    @property
    def name(self) -> str:
        """Its name for the user: the file's name without the ending."""
        return self.path.stem

    def verify(self, file: Path) -> str:
        """Return what ``file`` holds, in a few words. Raises StoreError if it is damaged."""
        return self.kind.verify(file)

    def restore_copy(self, copy: Copy, now: datetime) -> Path | None:
        """Bring a copy back; return the name under which the replaced file is kept. Raises StoreError."""
        raw = read_bytes(copy.file, LARGEST_FILE)
        unseal(raw, copy.file, self.kind)
        make_folder(self.path.parent)
        try:
            with FileLock(self.path.with_suffix(".lock")):
                aside = set_aside(self.path, now)
                replace_file(self.path, raw)
        except Unsure as error:
            what = f"{self.path} is put back, but the disk did not confirm it: {reason(error)}"
            raise StoreError(what, "check the disk") from None
        except OSError as error:
            raise StoreError(f"{self.path} could not be written: {reason(error)}", "nothing was changed") from None
        return aside

    def current_contents(self) -> str:
        """Return what it holds now. Raises StoreError if it is missing or damaged."""
        if not os.path.lexists(self.path):
            raise FileGone(f"{self.path} is not there", "bring a copy back")
        return self.verify(self.path)

    def copies(self) -> list[Copy]:
        """Return its copies, newest first, each verified; those set aside too."""
        copies = [_looked_at(file, when, self) for when, file in _newest_first(self.path)]
        for when, named, file in _dated(aside_folder(self.path), _ASIDE):
            if (named["stem"], named["suffix"]) == (self.path.stem, self.path.suffix):
                copies.append(_looked_at(file, when, self, aside=True))
        return sorted(copies, key=lambda copy: (copy.taken, copy.was_set_aside), reverse=True)
