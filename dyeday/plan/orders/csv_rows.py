"""Bytes of a table that a spreadsheet or a shop wrote, into rows: encoding, separator, quotes, each row's line.

The form is that of RFC 4180, or with other common separators and line ends. Options override each guess.
"""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Sequence

from dyeday.quick_dataclass import dataclass
from dyeday.text import HintedError, brief

SEPARATORS = (",", ";", "\t")
MOST_ROWS = 20_000
MOST_CELLS = 200
LONGEST_CELL = 10_000
_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
"""byte order marks; that of UTF-32 LE begins as that of UTF-16 LE does, so it goes first"""


class CsvError(HintedError):
    """A table that cannot be read, with the line (from 1) of what is wrong."""

    def __init__(self, line: int, what: str, hint: str) -> None:
        super().__init__(f"{line}: {what}", hint)
        self.line = line


@dataclass(frozen=True, slots=True)
class OrderRow:
    """One row of a table of orders."""

    line: int
    """where it begins, from 1"""
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TableText:
    """A table as it was read, and what was guessed to read it. ``rows`` has the header first, no blank rows."""

    rows: tuple[OrderRow, ...]
    encoding: str
    separator: str


def read_table(raw: bytes, encoding: str = "", separator: str = "") -> TableText:
    """Return the rows of ``raw``; ``encoding`` and ``separator`` are guessed if empty. Raises CsvError."""
    text, encoding = decoded(raw, encoding)
    if not text.strip():
        raise CsvError(1, "nothing is in it", "give a table with a first line that names its columns")
    first = text[: text.find("\n") + 1 or len(text)].strip().casefold()
    skip = 0
    if len(first) == 5 and first.startswith("sep="):  # some spreadsheets say it in a line of its own
        separator, skip = separator or first[4], 1
        text = text[text.find("\n") + 1 :] if "\n" in text else ""
    separator = separator or separator_of(text)
    rows = tuple(OrderRow(row.line + skip, row.cells) for row in rows_of(text, separator))
    if not rows:
        raise CsvError(1, "nothing is in it", "give a table with a first line that names its columns")
    return TableText(rows, encoding, separator)


def decoded(raw: bytes, encoding: str = "") -> tuple[str, str]:
    """Return the text of ``raw`` without a byte order mark, and the encoding it was read in.

    By its mark; else UTF-16 where many bytes are zero; else UTF-8, or cp1252 where it is not valid UTF-8.
    Raises CsvError.
    """
    marked = next(((mark, name) for mark, name in _MARKS if raw.startswith(mark)), None)
    if marked is not None:
        tries, raw = [marked[1]], raw[len(marked[0]) :]
    elif encoding:
        tries = [encoding]
    else:
        tries = _without_mark(raw)
    failed: UnicodeDecodeError | None = None
    for name in tries:
        try:
            text = raw.decode(name)
        except UnicodeDecodeError as error:
            failed = failed or error
            continue
        except (LookupError, ValueError):  # one Python has and that reads nothing is a ValueError
            raise CsvError(1, f"no encoding is called {brief(name)}", "write utf-8, utf-16 or cp1252") from None
        nul = text.find("\0")
        if nul >= 0:
            line = text.count("\n", 0, nul) + 1
            raise CsvError(line, "it contains a NUL, so it is not a text table", "save it again as CSV")
        return text, name
    at = raw.count(b"\n", 0, failed.start) + 1 if failed else 1
    raise CsvError(at, f"this is not {' or '.join(tries)} text", "save it again as CSV in UTF-8")


def _without_mark(raw: bytes) -> list[str]:
    sample = raw[:4000]
    if sample and sample.count(0) * 4 >= len(sample):
        even = sum(1 for byte in sample[::2] if byte == 0)
        return ["utf-16-be" if even * 2 > sample.count(0) else "utf-16-le"]
    return ["utf-8", "cp1252"]


def separator_of(text: str) -> str:
    """Return which separator makes the most even table: every row as wide as the first, then the wider first."""

    def even(separator: str) -> tuple[bool, int]:
        try:
            widths = [len(row.cells) for row in rows_of(text, separator)]
        except CsvError:
            return False, 0
        if not widths:
            return False, 0
        return widths[0] > 1 and all(width == widths[0] for width in widths), widths[0]

    # The first of equals: max keeps it.
    return max(SEPARATORS, key=even)


def rows_of(text: str, separator: str) -> Sequence[OrderRow]:
    """Return the rows of ``text``, blank ones left out. Raises CsvError with the line a broken row begins on."""
    rows: list[OrderRow] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return rows
        except csv.Error as error:
            raise CsvError(line, *_why(str(error))) from None
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) > MOST_CELLS or len(rows) >= MOST_ROWS or max(map(len, cells)) > LONGEST_CELL:
            what = f"this has more than {MOST_ROWS} rows, {MOST_CELLS} columns or {LONGEST_CELL} letters in a cell"
            raise CsvError(line, what, "give a list of orders, fewer at a time")
        rows.append(OrderRow(line, tuple(cells)))


def _why(message: str) -> tuple[str, str]:
    if "end of data" in message or "field larger" in message:
        return "a quote that opens in this row is never closed", 'close it, or double a quote inside: ""'
    return "something stands behind a closing quote", 'double a quote inside a quoted cell: ""'
