"""A table of orders that a spreadsheet or a shop wrote: its rows, and what each of its columns means.

RFC 4180 or common variants are read. Columns are guessed from the headers, then kept beside the plan as TOML.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import field

from dyeday.plan.reading.problems import PlanError, Problem, similar
from dyeday.plan.reading.table_reader import Notes, Table
from dyeday.plan.reading.toml_syntax import toml_of
from dyeday.plan.writing.toml_values import toml
from dyeday.quick_dataclass import dataclass
from dyeday.text import HintedError, brief, harmless

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
    """A table's rows, header first, blank ones left out; and the encoding and separator it was read with."""

    rows: tuple[OrderRow, ...]
    encoding: str
    separator: str


def read_table(raw: bytes, encoding: str = "", separator: str = "") -> TableText:
    """Return the rows of ``raw``; ``encoding`` and ``separator`` are guessed if empty. Raises CsvError."""
    text, encoding = decoded(raw, encoding)
    if not text.strip():
        raise CsvError(1, "it is empty", "give a table with a first line that names its columns")
    first = text[: text.find("\n") + 1 or len(text)].strip().casefold()
    skip = 0
    if len(first) == 5 and first.startswith("sep="):  # some spreadsheets say it in a line of its own
        separator, skip = separator or first[4], 1
        text = text[text.find("\n") + 1 :] if "\n" in text else ""
    separator = separator or separator_of(text)
    rows = tuple(OrderRow(row.line + skip, row.cells) for row in rows_of(text, separator))
    if not rows:
        raise CsvError(1, "it is empty", "give a table with a first line that names its columns")
    return TableText(rows, encoding, separator)


def decoded(raw: bytes, encoding: str = "") -> tuple[str, str]:
    """Return the text of ``raw`` without a byte order mark, and its encoding. Raises CsvError.

    By its mark; else UTF-16 where many bytes are zero; else UTF-8, or cp1252 where it is not valid UTF-8.
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
        if (nul := text.find("\0")) >= 0:
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
        first = widths[0] if widths else 0
        return first > 1 and all(width == first for width in widths), first

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
    return "there is text after a closing quote", 'double a quote inside a quoted cell: ""'


WORDS: dict[str, tuple[str, ...]] = {
    "number": ("order", "order no", "order number", "order id", "number", "no", "nr", "bestellung", "bestellnummer",
               "auftrag", "commande", "pedido", "id"),
    "customer": ("customer", "customer name", "buyer", "buyer name", "ship to", "recipient", "name", "for", "who",
                 "kunde", "kundin", "client"),
    "title": ("title", "product", "product name", "item", "item name", "line item", "description",
              "artikel", "produkt", "what"),
    "variant": ("variant", "variation", "variations", "option", "options", "variante"),
    "colourway": ("colourway", "colorway", "colour", "color", "colour name", "farbe", "couleur", "shade"),
    "base": ("base", "yarn", "yarn base", "garn", "fil", "quality"),
    "skeins": ("skeins", "quantity", "qty", "count", "how many", "pieces", "amount", "menge",
               "anzahl", "quantite", "cantidad"),
    "due": ("due", "due date", "ship by", "wanted by", "deadline", "needed by", "dispatch by", "faellig", "fallig",
            "bis", "date due", "send by"),
    "ordered": ("ordered", "order date", "date", "created", "created at", "datum", "bestelldatum"),
    "priority": ("priority", "rank"),
    "match": ("match", "same mix", "must match", "one lot"),
    "sample": ("sample", "samples", "muster"),
    "spare": ("spare", "spares", "extra"),
    "price": ("price", "unit price", "item price", "price each", "preis", "prix"),
    "parcel": ("parcel", "parcel no", "shipment", "paket", "club"),
}  # fmt: skip
"""what headers are usually called; common practice, no source"""
DATES = ("day first", "month first")


@dataclass(frozen=True, slots=True)
class SetPart:
    """One colourway and base of a set, and its number of skeins."""

    colourway: str
    base: str
    """empty: the row's own"""
    skeins: int = 1


@dataclass(frozen=True, slots=True)
class Columns:
    """How a table of orders is read. ``columns`` has a header's words by what the column means."""

    columns: Mapping[str, str]
    encoding: str = ""
    separator: str = ""
    dates: str = ""
    """of 03/04/2026: "day first" or "month first"; empty if only the cells show it"""
    due_days: int | None = None
    """due this many days after the order, if it has no due date"""
    colourways: Mapping[str, str] = field(default_factory=dict)
    """the plan's name by the shop's"""
    bases: Mapping[str, str] = field(default_factory=dict)
    sets: Mapping[str, tuple[SetPart, ...]] = field(default_factory=dict)
    """what is in a set, by its title"""


def normalized(header: str) -> str:
    """Return a header's words without case, accents, signs: "Order-No." is "order no"."""
    spelt = unicodedata.normalize("NFKD", header.casefold())
    return " ".join(re.findall(r"[a-z0-9]+", "".join(c for c in spelt if not unicodedata.combining(c))))


def guessed_columns(header: Sequence[str]) -> dict[str, str]:
    """Return which header means what, by usual words; each header once, exact words before ones they begin with."""
    words = {name: normalized(name) for name in header if name.strip()}
    columns_by_meaning: dict[str, str] = {}
    for end in ("", " "):  # the word itself, then a header that begins with it
        for meaning, usual in WORDS.items():
            free = [(name, plain) for name, plain in words.items() if name not in columns_by_meaning.values()]
            pairs = ((word, name, plain) for word in usual for name, plain in free)
            columns = (name for word, name, plain in pairs if plain == word or (end and plain.startswith(word + end)))
            if meaning not in columns_by_meaning and (column := next(columns, None)) is not None:
                columns_by_meaning[meaning] = column
    return {meaning: columns_by_meaning[meaning] for meaning in WORDS if meaning in columns_by_meaning}


def read_columns(text: str) -> Columns:
    """Return the mapping in ``text`` (TOML). Raises PlanError with every problem and its line."""
    raw, lines = toml_of(text)
    notes = Notes(lines)
    root = Table(notes, raw, ())
    if not root.has("columns"):
        root.lacks("columns", "there is no [columns]", "delete this file; the next import guesses it again")
    inner = root.table("columns")
    columns = {meaning: got for meaning in WORDS if (got := inner.text(meaning, longest=200))}
    inner.finish()
    reading = root.table("reading")
    separator = reading.get("separator")
    if separator is not None and (not isinstance(separator, str) or len(separator) != 1 or separator in '"\r\n'):
        reading.problem("separator", "it must be one character", 'write "," or ";" or "\\t"')
        separator = None
    due_days = reading.count("due_days", -1, low=0, high=400)
    out = Columns(
        columns=columns,
        encoding=reading.text("encoding"),
        separator=separator or "",
        dates=reading.word("dates", DATES, ""),
        due_days=due_days if due_days >= 0 else None,
        colourways=_names(root.table("colourways")),
        bases=_names(root.table("bases")),
        sets=dict(map(_set, root.tables("set"))),
    )
    reading.finish()
    root.finish()
    if notes.problems:
        raise PlanError(notes.problems)
    return out


def _names(t: Table) -> dict[str, str]:
    return {harmless(name).strip(): t.text(name) for name in t.raw}


def _set(t: Table) -> tuple[str, tuple[SetPart, ...]]:
    name = t.text("name", required=True)
    base = t.text("base")
    parts = []
    for part in t.tables("of"):
        yarn = part.text("colourway", required=True), part.text("base") or base
        parts.append(SetPart(*yarn, part.count("skeins", 1, low=1)))
        part.finish()
    if not parts and not t.has_problem("of"):
        t.lacks("of", f"set {name!r} is empty", 'add of = [{ colourway = "…", base = "…", skeins = 1 }, …]')
    t.finish()
    return name, tuple(parts)


def columns_text(columns: Columns, csv_name: str) -> str:
    """Return the mapping as the file a person reads and edits."""
    width = max(len(meaning) for meaning in WORDS)
    lines = [
        "# How dyeday reads tables of orders into the plans of this folder.",
        f"# Guessed from the first line of {harmless(csv_name)}; correct what is wrong.",
        "",
        "[columns]    # what it means = the column's own header, empty where there is none",
        *(f"{meaning:{width}} = {toml(harmless(columns.columns.get(meaning, '')))}" for meaning in WORDS),
        "",
        "[reading]",
    ]
    lines.append(f"separator = {toml(columns.separator)}" if columns.separator else '# separator = ";"')
    lines.append(f"encoding = {toml(columns.encoding)}" if columns.encoding else '# encoding = "cp1252"')
    lines += [
        '# dates = "day first"       # or "month first": what 03/04/2026 is',
        "# due_days = 14             # due this many days after the order, if it has no due date",
        "",
        "[colourways]    # the shop's name = the plan's",
        '# "Kelp (light)" = "Kelp Light"',
        "",
        "[bases]",
        "",
        "# A set is several colourways under one title; they stay together to the packing list.",
        "# [[set]]",
        '# name = "Three greys"',
        '# base = "Plain Sock"',
        '# of = [{ colourway = "…" }, { colourway = "…", skeins = 2 }]',
    ]
    return "\n".join(lines) + "\n"


def column_places(columns: Columns, header: Sequence[str], line: int) -> dict[str, int]:
    """Return what each cell means. Raises PlanError if a named column is missing."""
    problems = []
    by_words = {normalized(name) or name: n for n, name in reversed(list(enumerate(header)))}
    place_of: dict[str, int] = {}
    for meaning, name in columns.columns.items():
        if name in header:
            place_of[meaning] = list(header).index(name)
        elif (normalized(name) or name) in by_words:
            place_of[meaning] = by_words[normalized(name) or name]
        else:
            what = f"no column is called {brief(name)} ({meaning})"
            problems.append(Problem(line, what, similar(name, header)))
    titled = {"title", "variant"} & set(columns.columns)
    wanted = {"skeins": "number of skeins"} if titled else {"skeins": "number of skeins", "colourway": "", "base": ""}
    for meaning, what in wanted.items():
        if meaning not in columns.columns:
            name = f"name it under [columns] as {meaning}"
            problems.append(Problem(line, f"no column has the {what or meaning}", name))
    if problems:
        raise PlanError(problems)
    return place_of
