"""The index of one year of the lot book: a line for each lot with where its lines lie and what it is found by.

Text, one lot a line, so that a search is one pass over it. Its first line has the size and the time of the year's
file and a sum of the rows; where they are not so, it is made again from the heads of the book's lines.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from zlib import crc32

from dyeday.store.durable import StoreError, read_bytes, replace_file
from dyeday.store.lot_lines import KINDS, LARGEST, Head, Span

VERSION = "lots 1"
_BREAKS = {ord("\t"): " ", ord("\n"): " "}


@dataclass(frozen=True, slots=True)
class Row:
    """One lot, or one closed day (its number begins with an @), as lists and searches need it."""

    number: str
    date: str
    colourway: str
    base: str
    parts: tuple[tuple[str, int], ...]
    """(session, skeins) of each day it was done on, (session, events) of a day; none where it was withdrawn"""
    mark: str
    spans: tuple[Span, ...]
    find: str = ""

    @property
    def is_day(self) -> bool:
        return self.number.startswith("@")

    @property
    def is_headless(self) -> bool:
        """Whether only what was kept with a lot is there: the lines of the lot itself are damaged."""
        return not self.date

    @property
    def count(self) -> int:
        return sum(count for _, count in self.parts)


def row_of(number: str, lines: Sequence[tuple[Span, Head]]) -> Row:
    """Return the row that a number's lines, in their order, make."""
    first = next((head for _, head in lines if head.date), lines[0][1])
    parts: dict[str, int] = {}
    marks: dict[str, str] = {}
    finds: dict[str, str] = {}
    kept: list[str] = []
    for _, head in lines:
        if head.kind == "kept":
            kept.append(head.find)
        elif head.kind == "withdrawn":
            parts.pop(head.session, None)
            marks.pop(head.session, None)
        else:
            parts[head.session], marks[head.session], finds[head.session] = head.count, head.mark, head.find
    mark = " ".join(dict.fromkeys(part for mark in marks.values() for part in mark.split() if part))
    return Row(
        number,
        first.date,
        first.colourway,
        first.base,
        tuple(parts.items()),
        mark if parts else "withdrawn",
        tuple(span for span, _ in lines),
        " | ".join((*finds.values(), *kept)),
    )


def rows_of(lines: Iterable[tuple[Span, Head | None]]) -> dict[str, Row]:
    """Return the rows of a whole file's lines, damaged ones left out."""
    of: dict[str, list[tuple[Span, Head]]] = {}
    for span, head in lines:
        if head is not None and head.kind in KINDS:
            of.setdefault(head.number, []).append((span, head))
    return {number: row_of(number, mine) for number, mine in of.items()}


def written(row: Row) -> str:
    """Return a row as its line of the index."""
    parts = ",".join(f"{session}={count}" for session, count in row.parts)
    spans = ",".join(f"{span.start}:{span.length}" for span in row.spans)
    cells = (row.number, row.date, row.colourway, row.base, parts, row.mark, spans, row.find)
    # What people typed is harmless already; only what ends a cell or a line would do harm here.
    return "\t".join(cell.translate(_BREAKS) for cell in cells)


def read_row(line: str) -> Row:
    """Return the row in an index's line. Raises ValueError where it is none."""
    number, date, colourway, base, parts, mark, spans, find = line.split("\t")
    pairs = (part.rsplit("=", 1) for part in parts.split(",") if part)
    places = (span.split(":") for span in spans.split(",") if span)
    return Row(
        number,
        date,
        colourway,
        base,
        tuple((session, int(count)) for session, count in pairs),
        mark,
        tuple(Span(int(start), int(length)) for start, length in places),
        find,
    )


def stamp_of(year_file: Path) -> str | None:
    """Return what tells one state of a year's file from another; None where it is not there."""
    try:
        about = os.stat(year_file)  # noqa: PTH116 - beside the other index, which asks thousands of times
    except OSError:
        return None
    return f"{VERSION}\t{about.st_size}\t{about.st_mtime_ns}"


def write_index(path: Path, stamp: str, lines: Iterable[str]) -> None:
    """Write an index. What cannot be written is made again when it is wanted."""
    rows = "\n".join(lines).encode()
    with contextlib.suppress(OSError):
        replace_file(path, b"%s\t%08x\n%s" % (stamp.encode(), crc32(rows), rows))


def read_index(path: Path, stamp: str) -> list[str] | None:
    """Return the lines of an index that fits ``stamp``, None where it does not fit or cannot be read."""
    try:
        first, _, rows = read_bytes(path, LARGEST).partition(b"\n")
        if first != b"%s\t%08x" % (stamp.encode(), crc32(rows)):
            return None
        return rows.decode().split("\n") if rows else []
    except (StoreError, ValueError):
        return None


def matching(lines: Iterable[str], words: Sequence[str]) -> Iterator[Row]:
    """Yield the rows of lots in whose text every word is. Raises ValueError where a row cannot be read."""
    for line in lines:
        if all(word in line for word in words) and not line.startswith("@"):
            row = read_row(line)
            if not row.is_headless and all(word in row.find for word in words):
                yield row
