"""The copy of a year of the lot book: a second file that the same lines are added to, with every write of the book.

One copy and no older ones: a line is never changed, so one that only grows has all that older ones would have. What
is damaged never takes a whole line's place: copy and book, whichever lost lines, are put together from both.
"""

from __future__ import annotations

import stat
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from difflib import SequenceMatcher
from pathlib import Path

from dyeday.store.backups import Copy, backup_folder, set_aside, those_set_aside
from dyeday.store.durable import StoreError, append_bytes, make_folder, read_bytes, reason, replace_file, sweep
from dyeday.store.lock import FileLock
from dyeday.store.lot_lines import LARGEST, SUFFIX, Head, lines_in
from dyeday.text import counted

COPY = f"copy{SUFFIX}"
TAIL = 65_536
LOCK = "book.lock"
"""what is held in the book's folder for each write"""


def copy_of(year_file: Path) -> Path:
    """Return where the copy of a year's file is."""
    return backup_folder(year_file) / COPY


def keep_copy(year_file: Path) -> None:
    """Add to the copy what its year's file has behind it, and read that back. The lock is held.

    That the file goes on where the copy ends is told by the copy's last `TAIL` bytes, so that a line costs the same
    however long the year is; where it does not, the copy is made again. Raises StoreError or OSError.
    """
    copy = copy_of(year_file)
    end, size = _size(copy), year_file.stat().st_size
    start = max(0, end - TAIL)
    if not 0 < end <= size or _part(copy, start, end) != _part(year_file, start, end):
        copy_again(year_file)
    elif end < size:
        fresh = _part(year_file, end, size)
        append_bytes(copy, fresh)
        _must_be(_part(copy, end, size), fresh, copy)


def copy_again(year_file: Path) -> None:
    """Make the copy anew, of every line that it or its year's file has. The lock is held.

    Raises StoreError or OSError; then the copy is as it was.
    """
    data, copy = read_bytes(year_file, LARGEST), copy_of(year_file)
    there = read_bytes(copy, LARGEST) if copy.exists() else b""
    lines = whole_lines(data)
    both = put_together(whole_lines(there), lines)
    # Where nothing is lacking the bytes are the file's own, what was torn in it too: so it goes on from there.
    wanted = data if both == lines else b"".join(both)
    make_folder(copy.parent)
    sweep(copy.parent)
    replace_file(copy, wanted)
    _must_be(read_bytes(copy, LARGEST), wanted, copy)


def _must_be(there: bytes, wanted: bytes, copy: Path) -> None:
    if there != wanted:
        raise StoreError(f"{copy} cannot be read back as it was written", "look at the disk")


def _size(copy: Path) -> int:
    """Return how long a copy is, 0 where there is none that is a plain file."""
    try:
        about = copy.stat(follow_symlinks=False)
    except FileNotFoundError:
        return 0
    return about.st_size if stat.S_ISREG(about.st_mode) else 0


def _part(path: Path, start: int, end: int) -> bytes:
    with path.open("rb") as file:
        file.seek(start)
        return file.read(end - start)


def whole_lines(data: bytes) -> list[bytes]:
    """Return the lines that are as they were written, each with its end; torn and damaged ones are left out."""
    return _looked_through(data).whole


@dataclass(frozen=True, slots=True)
class _Lines:
    """What a file's lines are: those that are whole, each with its end, their heads, and how many are not."""

    whole: list[bytes]
    heads: list[Head]
    damaged: int

    def told(self) -> str:
        """Return what the lines hold, in a few words."""
        lots = {head.number for head in self.heads if head.kind == "lot"}
        days = {head.number for head in self.heads if head.kind == "day"}
        kept = sum(head.kind == "kept" for head in self.heads)
        things = f"{counted(kept, 'thing')} kept with them later"
        return f"{counted(len(lots), 'lot')} of {counted(len(days), 'day')}, {things}"


def _looked_through(data: bytes) -> _Lines:
    found = list(lines_in(data))
    good = [(span, head) for span, head in found if head is not None]
    whole = [data[span.start : span.start + span.length] + b"\n" for span, _ in good]
    return _Lines(whole, [head for _, head in good], len(found) - len(good))


def put_together(older: Sequence[bytes], newer: Sequence[bytes]) -> list[bytes]:
    """Return every line that either has, in the order of both; what stands in the same place, the older's first."""
    if list(newer[: len(older)]) == list(older):
        return list(newer)
    out: list[bytes] = []
    for tag, start, end, other, other_end in SequenceMatcher(None, older, newer, autojunk=False).get_opcodes():
        out += older[start:end]
        out += [] if tag == "equal" else newer[other:other_end]
    return out


@dataclass(frozen=True, slots=True)
class YearCheck:
    """A year's file beside its copy, by whole lines."""

    holds: str
    damaged: int
    """lines of the file that are torn or damaged"""
    lacking: int
    """lines that only the copy has"""
    ahead: int | None
    """lines that only the file has; None where there is no copy"""
    copy_damaged: int = 0


@dataclass(frozen=True, slots=True)
class YearKept:
    """One year of the lot book, for whoever lists copies or brings them back."""

    path: Path
    word: str = "lot book"
    is_put_together: bool = True

    @property
    def name(self) -> str:
        return f"lots-{self.path.stem}"

    def present(self) -> str:
        """Return the file in a few words. Raises StoreError where it is not there or cannot be read."""
        return _looked_through(_read(self.path)).told()

    def copies(self) -> list[Copy]:
        """Return the copy, then what was set aside, newest first."""
        copy = copy_of(self.path)
        found = [_looked_at(copy, _changed(copy), aside=False)] if copy.exists() else []
        return found + [_looked_at(file, when, aside=True) for when, file in those_set_aside(self.path)]

    def bring_back(self, copy: Copy, now: datetime) -> Path | None:
        """Put back what the copy has and the file lacks; nothing of the file that is whole is lost.

        Returns the name that what was there is kept under. Raises StoreError.
        """
        make_folder(self.path.parent)
        try:
            with FileLock(self.path.parent / LOCK):
                there = _read(self.path) if self.path.is_file() else b""
                aside = set_aside(self.path, now)
                replace_file(self.path, b"".join(put_together(whole_lines(_read(copy.file)), whole_lines(there))))
                copy_again(self.path)
        except OSError as error:
            what = f"{self.path} could not be written: {reason(error)}"
            raise StoreError(what, "the copy and the present are as they were") from None
        return aside

    def check(self) -> YearCheck:
        """Compare the file with its copy. Raises StoreError where one of them cannot be read."""
        data, copy = _read(self.path), copy_of(self.path)
        read = _looked_through(data)
        if not copy.exists():
            return YearCheck(read.told(), read.damaged, 0, None)
        raw = _read(copy)
        there = _looked_through(raw)
        mine, theirs = Counter(read.whole), Counter(there.whole)
        # The copy has what a plug tore as the book has it: no damage of its own.
        own_damage = 0 if data.startswith(raw) else there.damaged
        return YearCheck(read.told(), read.damaged, (theirs - mine).total(), (mine - theirs).total(), own_damage)


def years_kept(folder: Path) -> list[YearKept]:
    """Return every year of a lot book's folder, newest first; also those of which only the copy is left."""
    names = {path.stem for path in folder.glob(f"*{SUFFIX}")}
    names |= {path.parent.name for path in (folder / "backups").glob(f"*/{COPY}")}
    return [YearKept(folder / f"{name}{SUFFIX}") for name in sorted(names, reverse=True) if name.isdecimal()]


def _read(path: Path) -> bytes:
    if not path.exists() and not path.is_symlink():
        raise StoreError(f"{path} is not there", "bring its copy back")
    return read_bytes(path, LARGEST)


def _changed(file: Path) -> datetime:
    try:
        return datetime.fromtimestamp(file.stat().st_mtime, tz=UTC)
    except (OSError, OverflowError, ValueError):
        return datetime.fromtimestamp(0, tz=UTC)


def _looked_at(file: Path, when: datetime, *, aside: bool) -> Copy:
    try:
        data = read_bytes(file, LARGEST)
    except StoreError as error:
        return Copy(file, when, False, "", error.what.removeprefix(f"{file} "), aside)
    read = _looked_through(data)
    if not read.whole:
        return Copy(file, when, False, "", "has no line that is whole", aside)
    doubt = f", {read.damaged} of its lines torn or damaged" if read.damaged else ""
    return Copy(file, when, True, read.told() + doubt, "", aside)
