"""What each column of an orders table means: guessed from the headers once, then kept beside the plan as TOML."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Mapping, Sequence
from dataclasses import field

from dyeday.plan.reading.problems import PlanError, Problem, near
from dyeday.plan.reading.table_reader import Notes, Table
from dyeday.plan.reading.toml_syntax import toml_of
from dyeday.plan.writing.toml_values import toml
from dyeday.quick_dataclass import dataclass
from dyeday.text import harmless

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


def plainly(header: str) -> str:
    """Return a header's words without case, accents, signs: "Order-No." is "order no"."""
    spelt = unicodedata.normalize("NFKD", header.casefold())
    return " ".join(re.findall(r"[a-z0-9]+", "".join(c for c in spelt if not unicodedata.combining(c))))


def guessed(header: Sequence[str]) -> dict[str, str]:
    """Return which header means what, by usual words; each header once, exact words before ones they begin with."""
    words = {name: plainly(name) for name in header if name.strip()}
    columns_by_meaning: dict[str, str] = {}
    for end in ("", " "):  # the word itself, then a header that begins with it
        for meaning, usual in WORDS.items():
            free = [(name, plain) for name, plain in words.items() if name not in columns_by_meaning.values()]
            columns = (
                n for word in usual for n, plain in free if plain == word or (end and plain.startswith(word + end))
            )
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
    due_days = reading.count("due_days", -1, low=0, high=400) if reading.has("due_days") else None
    out = Columns(
        columns=columns,
        encoding=reading.text("encoding"),
        separator=separator or "",
        dates=reading.word("dates", DATES, "") if reading.has("dates") else "",
        due_days=None if due_days is not None and due_days < 0 else due_days,
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
        parts.append(
            SetPart(part.text("colourway", required=True), part.text("base") or base, part.count("skeins", 1, low=1))
        )
        part.finish()
    if not parts and not t.wrong("of"):
        t.lacks("of", f"set {name!r} has nothing in it", 'add of = [{ colourway = "…", base = "…", skeins = 1 }, …]')
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


def places(columns: Columns, header: Sequence[str], line: int) -> dict[str, int]:
    """Return what each cell means. Raises PlanError if a named column is missing."""
    problems = []
    by_words = {plainly(name) or name: n for n, name in reversed(list(enumerate(header)))}
    place_of: dict[str, int] = {}
    for meaning, name in columns.columns.items():
        if name in header:
            place_of[meaning] = list(header).index(name)
        elif (plainly(name) or name) in by_words:
            place_of[meaning] = by_words[plainly(name) or name]
        else:
            problems.append(Problem(line, f"no column is called {harmless(name)!r} ({meaning})", near(name, header)))
    problems += _lacking(place_of, line, columns.columns)
    if problems:
        raise PlanError(problems)
    return place_of


def _lacking(meanings: Collection[str], line: int, named: Collection[str]) -> list[Problem]:
    out = []
    if "skeins" not in meanings and "skeins" not in named:
        out.append(Problem(line, "no column has the number of skeins", "name it under [columns] as skeins"))
    titled = {"title", "variant"} & set(named)
    for meaning in ("colourway", "base"):
        if meaning not in named and not titled:
            out.append(Problem(line, f"no column has the {meaning}", f"name it under [columns] as {meaning}"))
    return out
