"""The lot book: finished lots of all sessions, one file a year to which lines are only ever added.

A plain file, not a database: closing a day costs as much in the tenth year as in the first, and a line that is
there is never touched again. What is kept with a lot later, and what became of it, are lines of their own.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from dyeday.plan.reading.problems import near
from dyeday.plan.serialize import to_plain
from dyeday.store.durable import StoreError, append_lines, make_folder, read_bytes, reason
from dyeday.store.lock import FileLock
from dyeday.store.lot_copy import LOCK, copy_again, copy_of, keep_copy, years_kept
from dyeday.store.lot_index import (
    Row,
    matching,
    read_index,
    read_row,
    row_of,
    rows_of,
    stamp_of,
    write_index,
    written,
)
from dyeday.store.lot_lines import LARGEST, SUFFIX, Head, Span, line_of, lines_in, read_line
from dyeday.store.lot_parts import Lines, body_of, day_from, head_of, lot_from, parts_of, year_of
from dyeday.store.sealed import Gone
from dyeday.store.session_index import Listed
from dyeday.studio.lots.lot import DayKept, Kept, Lot
from dyeday.studio.lots.search_words import asked, kept_words

T = TypeVar("T", Lot, DayKept)
NUMBER = re.compile(r"^\d{6}(\.\d{1,4})?-\d{2,3}[a-zA-Z]{0,3}$")
"""what a lot's number looks like"""


class LotBook:
    """The lot book of a data folder."""

    def __init__(self, data: Path) -> None:
        self.folder = data / "lots"
        self._lock = FileLock(self.folder / LOCK)
        self.copy_failed = ""
        """why the copy of a year could not be brought up to it; the year itself is saved"""
        self._known: dict[int, tuple[str, list[str]]] = {}
        """by year: the stamp of its file, and the index's lines that fit it"""

    def file_of(self, year: int) -> Path:
        return self.folder / f"{year:04d}{SUFFIX}"

    def index_of(self, year: int) -> Path:
        return self.folder / f"{year:04d}.index"

    def years(self) -> list[int]:
        """Return the years that have a file, newest first; also those of which only the copy is left."""
        return [int(kept.path.stem) for kept in years_kept(self.folder)]

    # Finding

    def find(self, words: Iterable[str]) -> list[Row]:
        """Return the lots in which every word is found, newest first. No year's file is opened for it."""
        wanted = asked(words)
        found: list[Row] = []
        for year in self.years():
            rows = matching(self._lines(year), wanted)
            found += sorted(rows, key=lambda row: (row.date, row.number), reverse=True)
        return found

    def row(self, number: str) -> Row | None:
        """Return a lot's row, or a closed day's by its session behind an @."""
        wanted = f"{number}\t"
        for year in self._years_of(number):
            for line in self._lines(year):
                if line.startswith(wanted):
                    row = read_row(line)
                    return None if row.is_headless else row
        return None

    def lot(self, number: str) -> Lot:
        """Return one lot whole. Raises StoreError where there is none, or its lines are damaged."""
        row = self.row(number)
        if row is None or row.is_day:
            # Of a book of years, only what is near enough to have been meant: comparing all would take a second.
            known = [line.partition("\t")[0] for year in self._years_of(number) for line in self._lines(year)]
            meant = [no for no in known if no[:4] == number[:4]] or known[-20:]
            raise StoreError(f"there is no lot {number!r}", near(number, meant) if meant else "see `dyeday lots`")
        year = self._year_of(row)
        lines = self._read(year, row.spans)
        if lines is None:  # the index speaks of another file than this
            again = next((line for line in self.rebuild(year) if line.startswith(f"{number}\t")), None)
            row = read_row(again) if again is not None else row
            lines = self._read(year, row.spans)
        if lines is None:
            what = f"the lines of lot {number} in {self.file_of(year)} are damaged"
            raise StoreError(what, f"`dyeday restore lots-{year:04d} --newest` puts back what its copy has")
        return self._made(number, year, lines, lot_from)

    def lots(self, rows: Iterable[Row]) -> Iterator[Lot]:
        """Yield the lots of rows, one after the other. Raises StoreError as `lot` does."""
        for row in rows:
            lines = self._read(self._year_of(row), row.spans)
            yield self._made(row.number, self._year_of(row), lines, lot_from) if lines else self.lot(row.number)

    def season(self, years: Iterable[int]) -> Iterator[Lot | DayKept]:
        """Yield every lot, withdrawn ones left out, and every closed day of some years; files are read whole."""
        for year in years:
            data = self._bytes(year)
            for row in rows_of(lines_in(data)).values():
                lines = [read_line(data[span.start : span.start + span.length]) for span in row.spans]
                good = [line for line in lines if line is not None]
                if row.is_day:
                    yield self._made(row.number, year, good, day_from)
                elif row.parts and any(head.kind == "lot" for head, _ in good):
                    yield self._made(row.number, year, good, lot_from)

    def events_taken(self) -> dict[str, int]:
        """Return how many events of each closed day the book has taken in, by session."""
        taken: dict[str, int] = {}
        for year in self.years():
            for line in self._lines(year):
                if line.startswith("@"):
                    taken |= dict(read_row(line).parts)
        return taken

    def lacking(self, listed: Iterable[Listed]) -> list[str]:
        """Return the ids of closed sessions that the book has not taken in, or not with all their entries.

        A step of closing that failed, a plug pulled between the entry and the books, a book brought back.
        """
        taken = self.events_taken()
        return [row.id for row in listed if row.closed and taken.get(row.id) != row.events]

    # Adding

    def take_day(self, lots: Sequence[Lot], day: DayKept) -> list[Lot]:
        """Take in a closed day, and return those of its lots that are new or changed.

        Done again, it adds only what changed; a lot the day no longer has is withdrawn, its lines stay.
        """
        make_folder(self.folder)
        with self._lock:
            fresh = [lot for lot in lots if self._part(lot.number, day.session) != body_of(lot)]
            adding: dict[int, list[tuple[Head, Any]]] = {}
            for lot in fresh:
                adding.setdefault(year_of(lot.number, day.date.year), []).append((head_of(lot), body_of(lot)))
            known = self._day(day.session)
            now_there = {lot.number for lot in lots}
            for number in known.lots if known is not None else ():
                row = self.row(number)
                if number not in now_there and row is not None and day.session in dict(row.parts):
                    gone = Head("withdrawn", number, session=day.session)
                    body = {"why": "by a later entry of its day it is not done, or another lot"}
                    adding.setdefault(year_of(number, day.date.year), []).append((gone, body))
            if known != day:
                mine = adding.setdefault(day.date.year, [])
                mine.append((Head("day", f"@{day.session}", day.session, day.date.isoformat(), count=day.events),
                             to_plain(day)))  # fmt: skip
            # The day's own year last: its line says that all is done.
            for year in sorted(adding, key=lambda year: year == day.date.year):
                self._append(year, adding[year])
        return fresh

    def keep(self, number: str, kept: Sequence[Kept]) -> None:
        """Keep something with a lot. Raises StoreError where there is no such lot."""
        row = self.row(number)
        if row is None or row.is_day:
            raise StoreError(f"there is no lot {number!r}", "see `dyeday lots`")
        with self._lock:
            year = self._year_of(row)
            self._append(year, [(Head("kept", number, find=kept_words(one)), to_plain(one)) for one in kept])

    def take_lots(self, lots: Sequence[Lot]) -> list[Lot]:
        """Take in lots that were exported, and return those that were not there, or of which something kept was not.

        Raises StoreError where one of another content has its number; then none is taken.
        """
        make_folder(self.folder)
        with self._lock:
            fresh: dict[str, Lot] = {}
            adding: dict[int, list[tuple[Head, Any]]] = {}
            for lot in lots:
                there = fresh.get(lot.number)
                if there is None and self.row(lot.number) is not None:
                    there = self.lot(lot.number)
                if there is not None and replace(there, kept=()) != replace(lot, kept=()):
                    raise StoreError(f"lot {lot.number} is in the book, and not the same", "leave it out")
                kept = [one for one in lot.kept if there is None or one not in there.kept]
                if there is not None and not kept:
                    continue
                fresh[lot.number] = lot if there is None else replace(lot, kept=(*there.kept, *kept))
                lines = adding.setdefault(year_of(lot.number, lot.date.year), [])
                if there is None:
                    lines += parts_of(lot)
                lines += [(Head("kept", lot.number, find=kept_words(one)), to_plain(one)) for one in kept]
            for year, lines in adding.items():
                self._append(year, lines)
        return list(fresh.values())

    def rebuild(self, year: int) -> list[str]:
        """Make a year's index again from its lines, and return the index's lines. Raises StoreError."""
        stamp = stamp_of(self.file_of(year)) or ""  # before reading: lines added meanwhile make it not fit
        lines = [written(row) for row in rows_of(lines_in(self._bytes(year))).values()]
        self._remember(year, stamp, lines)
        return lines

    def copy_again(self, year: int) -> None:
        """Make a year's copy anew, of every line that it or the year has. Raises StoreError."""
        try:
            with self._lock:
                copy_again(self.file_of(year))
        except OSError as error:
            what = f"the copy of {self.file_of(year)} could not be made: {reason(error)}"
            raise StoreError(what, "make room; the year itself is as it was") from None

    def damaged(self, year: int) -> int:
        """Return how many lines of a year's file are damaged."""
        return sum(head is None for _, head in lines_in(self._bytes(year)))

    # Within

    def _made(self, number: str, year: int, lines: Lines, make: Callable[[Lines], T]) -> T:
        try:
            return make(lines)
        except (KeyError, TypeError, ValueError, IndexError):
            what = f"lot {number} in {self.file_of(year)} was written by another dyeday"
            raise StoreError(what, "install the newest one; nothing was changed") from None

    def _years_of(self, number: str) -> list[int]:
        if number.startswith("@"):
            return [year for year in self.years() if number[1:5] == f"{year:04d}"]
        return [year for year in self.years() if number[:2] == f"{year % 100:02d}"]

    def _year_of(self, row: Row) -> int:
        return year_of(row.number, int(row.date[:4]))

    def _lines(self, year: int) -> list[str]:
        stamp = stamp_of(self.file_of(year))
        if stamp is None:
            self._must_not_be_lost(year)
            return []
        if self._known.get(year, ("", []))[0] != stamp:
            lines = read_index(self.index_of(year), stamp)
            if lines is None:
                return self.rebuild(year)
            self._known[year] = (stamp, lines)
        return self._known[year][1]

    def _bytes(self, year: int) -> bytes:
        path = self.file_of(year)
        if path.exists():
            return read_bytes(path, LARGEST)
        self._must_not_be_lost(year)
        return b""

    def _must_not_be_lost(self, year: int) -> None:
        """Raise Gone where a year's file is not there and its copy is: it is not begun anew."""
        path = self.file_of(year)
        if copy_of(path).exists():
            right = f"`dyeday restore lots-{year:04d} --newest` brings it back; to begin anew, move its copy away too"
            raise Gone(f"{path} is not there, though its copy is", right)

    def _read(self, year: int, spans: Sequence[Span]) -> list[tuple[Head, bytes]] | None:
        """Return the lines at ``spans``, None where one is not what its sum says. Raises StoreError."""
        out = []
        try:
            with self.file_of(year).open("rb") as file:
                for span in spans:
                    file.seek(span.start)
                    line = read_line(file.read(span.length))
                    if line is None:
                        return None
                    out.append(line)
        except OSError as error:
            raise StoreError(f"{self.file_of(year)} cannot be read: {reason(error)}", "look at the disk") from None
        return out

    def _part(self, number: str, session: str) -> Any:
        """Return what the book has of a lot from one day, as plain data; None where it has nothing."""
        row = self.row(number)
        if row is None or session not in dict(row.parts):
            return None
        lines = self._read(self._year_of(row), row.spans) or []
        bodies = [body for head, body in lines if head.kind == "lot" and head.session == session]
        return json.loads(bodies[-1]) if bodies else None

    def _day(self, session: str) -> DayKept | None:
        row = self.row(f"@{session}")
        if row is None:
            return None
        lines = self._read(int(session[:4]), row.spans)
        return day_from(lines) if lines else None

    def _append(self, year: int, lines: Sequence[tuple[Head, Any]]) -> None:
        """Add lines durably to a year's file, then to its index and its copy. The lock is held.

        Raises StoreError where they could not be added; what was there is as it was.
        """
        if not lines:
            return
        path = self.file_of(year)
        known = {line.partition("\t")[0]: line for line in self._lines(year)}
        data = b""
        touched: dict[str, list[Span]] = {}
        for head, body in lines:
            line = line_of(head, body)
            touched.setdefault(head.number, []).append(Span(len(data), len(line) - 1))
            data += line
        try:
            start = append_lines(path, data)
        except OSError as error:
            raise StoreError(f"{path} could not be added to: {reason(error)}", "make room, and do it again") from None
        for number, places in touched.items():
            before = read_row(known[number]).spans if number in known else ()
            spans = (*before, *(Span(start + place.start, place.length) for place in places))
            heads = [(span, head) for span, (head, _) in zip(spans, self._read(year, spans) or (), strict=False)]
            if heads:
                known[number] = written(row_of(number, heads))
        self._remember(year, stamp_of(path) or "", list(known.values()))
        try:
            keep_copy(path)
            self.copy_failed = ""
        except (OSError, StoreError) as error:
            self.copy_failed = reason(error) if isinstance(error, OSError) else str(error)

    def _remember(self, year: int, stamp: str, lines: list[str]) -> None:
        write_index(self.index_of(year), stamp, lines)
        self._known[year] = (stamp, lines)
