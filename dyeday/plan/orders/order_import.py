"""Rows of a table become orders of a plan, with names matched to the studio's; reports all problems at once.

Rows of one order number are one parcel. Cells that may mean two things are refused, never guessed.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import field, replace
from datetime import date, timedelta
from typing import Any

from dyeday.plan.model import MOST_PIECES, MOST_SPARE, Order
from dyeday.plan.orders.csv_table import Columns, OrderRow, SetPart, column_places
from dyeday.plan.reading.problems import PlanError, Problem, similar
from dyeday.plan.reading.table_reader import MOST_PROBLEMS
from dyeday.plan.writing.toml_values import toml
from dyeday.quick_dataclass import dataclass
from dyeday.text import HintedError, brief, harmless, shortened

There = Mapping[str, tuple[int, str]]
"""by an order's item without case: its pieces, and in which plan. One with other yarn there is the same."""
_COUNT = re.compile(r"(\d{1,6})(?:[.,]0{1,2})?\s*(?:x|×|skeins?|minis?|blanks?|pieces?|pcs\.?)?", re.IGNORECASE)
_SLASHED = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4}|\d{2})")
_DOTTED = re.compile(r"(\d{1,2})\.\s*(\d{1,2})\.\s*(\d{4}|\d{2})")
_MONEY = re.compile(r"(?:[^\d-]*(?:[^\d.,-]|[^\W\d_]\.))?(\d+(?:[.,]\d+|['’\s]\d{3}(?!\d))*)(?:[.,]?\D*)")
"""One number, possibly with a thousands separator and a currency before or after it: Rs.50, but not $.50."""
_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
_TIME = re.compile(r"(?:,?\s+|T)\d{1,2}:\d{2}.*$", re.DOTALL)
YES = ("yes", "y", "x", "true", "1", "ja", "j", "oui", "si", "sí", "✓", "✔")
NO = ("", "no", "n", "false", "0", "nein", "non", "-")


@dataclass(frozen=True, slots=True)
class Incoming:
    """An order and the line it came from."""

    line: int
    order: Order


@dataclass(frozen=True, slots=True)
class Read:
    """The result of reading a table of orders: new orders, and messages."""

    orders: tuple[Incoming, ...]
    skipped: tuple[str, ...] = ()
    """``line: …``, what is worth knowing and not a mistake"""
    repeated: int = 0
    """rows that are in the table twice"""


def read_orders(
    rows: Sequence[OrderRow], columns: Columns, colourways: Collection[str], bases: Collection[str]
) -> Read:
    """Return the orders in ``rows``, the first its header. Raises PlanError with every problem, by line."""
    header = tuple(cell.strip() for cell in rows[0].cells)
    at = column_places(columns, header, rows[0].line)
    known = {"colourway": tuple(colourways), "base": tuple(bases)}
    return _Reader(columns, at, len(header), known, columns.dates).read(rows[1:])


@dataclass(slots=True)
class _Reader:
    """The reading of one table; wrong cells are noted and replaced, so that reading continues."""

    columns: Columns
    at: Mapping[str, int]
    width: int
    known: Mapping[str, tuple[str, ...]]
    """the studio's names of each kind"""
    dates: str
    problems: list[Problem] = field(default_factory=list)
    unknown: dict[tuple[str, str], list[int]] = field(default_factory=dict)
    line: int = 0

    def read(self, rows: Sequence[OrderRow]) -> Read:
        if not self.dates:
            self.dates = order_of_days(self._cell(row, key) for row in rows for key in ("due", "ordered"))
        customers: dict[str, str] = {}
        for row in rows:  # many exports write who it is for on an order's first line only
            if self._cell(row, "customer"):
                customers.setdefault(self._cell(row, "number"), self._cell(row, "customer"))
        seen: dict[tuple[str, ...], int] = {}
        incoming: dict[tuple[str, str, str], Incoming] = {}
        skipped: list[str] = []
        repeated = 0
        for row in rows:
            self.line = row.line
            if any(cell.strip() for cell in row.cells[self.width :]):
                what = f"this row has {len(row.cells)} cells, the header {self.width}"
                self._wrong(what, "quote what has separators")
                continue
            whole = tuple(cell.strip() for cell in row.cells)
            if whole in seen:
                skipped.append(f"{row.line}: the same as line {seen[whole]}, imported once")
                repeated += 1
                continue
            seen[whole] = row.line
            number = self._cell(row, "number")
            customer = self._cell(row, "customer") or (customers.get(number, "") if number else "")
            for order in self._orders(row, number, customer, skipped):
                key = (order.item.casefold(), order.colourway, order.base)
                if key in incoming:
                    skipped.append(f"{row.line}: goes with line {incoming[key].line}, the same order and yarn")
                    order = _together(incoming[key].order, order)
                if order.skeins > MOST_PIECES or order.spare > MOST_SPARE:
                    what = f"{max(order.skeins, order.spare)} skeins are out of range"
                    self._wrong(what, f"write 1 to {MOST_PIECES}, spares to {MOST_SPARE}")
                    continue
                incoming[key] = Incoming(incoming[key].line if key in incoming else row.line, order)
        self._note_unknown()
        if self.problems:
            raise PlanError(self.problems[:MOST_PROBLEMS])
        return Read(tuple(incoming.values()), tuple(skipped), repeated)

    def _cell(self, row: OrderRow, meaning: str) -> str:
        if (place := self.at.get(meaning)) is None or place >= len(row.cells):
            return ""
        return harmless(row.cells[place]).strip()

    def _wrong(self, what: str, right: str) -> None:
        self.problems.append(Problem(self.line, what, right))

    def _orders(self, row: OrderRow, number: str, customer: str, skipped: list[str]) -> Iterable[Order]:
        skeins = self._read(row, "skeins", count_of, 1)
        if not self._cell(row, "skeins"):
            self._wrong("this row has no number of skeins", "write how many")
        spare = self._read(row, "spare", count_of, 0)
        sample = self._read(row, "sample", is_yes, False)
        if skeins == 0:
            skipped.append(f"{self.line}: 0 skeins, nothing to dye")
            return
        title = " ".join(filter(None, (self._cell(row, "title"), self._cell(row, "variant"))))
        parts, set_name = self._parts(row, title)
        who = number or customer or "stock"
        parcel = self._cell(row, "parcel") or " ".join(filter(None, (number, customer))) or set_name
        price = self._read(row, "price", money_of, None)
        pieces = sum(part.skeins for part in parts) or 1
        due = self._due(row)
        priority = self._read(row, "priority", count_of, 5)
        if not 1 <= priority <= 9:
            self._wrong(f"priority {priority} is out of range", "write 1 to 9")
        for part in parts:
            lead = f"{who} sample" if sample else who
            yield Order(
                item=shortened(f"{lead} {part.colourway} / {part.base}"),
                colourway=part.colourway,
                base=part.base,
                skeins=skeins * part.skeins,
                due=due,
                priority=priority,
                match=self._read(row, "match", is_yes, False),
                spare=spare,
                price=price / pieces if price is not None and not sample else None,
                parcel=shortened(parcel),
                sample=sample,
            )

    def _parts(self, row: OrderRow, title: str) -> tuple[list[SetPart], str]:
        """Return the colourways and bases that a row orders, and the set's name if it is a set."""
        sets = {name.casefold(): (name, parts) for name, parts in self.columns.sets.items()}
        for cell in (self._cell(row, "title"), title, self._cell(row, "colourway")):
            if cell.casefold() in sets:
                name, parts = sets[cell.casefold()]
                base = self._name(row, "base", title, missing_is_wrong=any(not part.base for part in parts))
                for part in parts:
                    self._must_know("colourway", part.colourway)
                    self._must_know("base", part.base)
                return [replace(part, base=part.base or base) for part in parts], name
        return [SetPart(self._name(row, "colourway", title), self._name(row, "base", title))], ""

    def _must_know(self, kind: str, name: str) -> None:
        if name and name not in self.known[kind]:
            self.unknown.setdefault((kind, name), []).append(self.line)

    def _name(self, row: OrderRow, kind: str, title: str, *, missing_is_wrong: bool = True) -> str:
        """Return the plan's name of a row's colourway or base: from its own cell, else found in the title."""
        written = self._cell(row, kind)
        names = {name.casefold(): name for name in self.known[kind]}
        called = self.columns.colourways if kind == "colourway" else self.columns.bases
        names |= {shop.casefold(): plan for shop, plan in called.items() if plan}
        if written:
            name = names.get(written.casefold(), "")
            if name in self.known[kind]:
                return name
            self.unknown.setdefault((kind, name or written), []).append(self.line)
            return ""
        for spelt in sorted(names, key=len, reverse=True):
            if re.search(rf"(?<!\w){re.escape(spelt)}(?!\w)", title.casefold()):
                self._must_know(kind, names[spelt])
                return names[spelt]
        only = self.known[kind]
        if kind == "base" and len(only) == 1 and not title:
            return only[0]
        if missing_is_wrong and title:
            self.unknown.setdefault((kind, title), []).append(self.line)
        elif missing_is_wrong:
            self._wrong(f"this row names no {kind}", similar("", self.known[kind]))
        return ""

    def _note_unknown(self) -> None:
        for (kind, name), lines in self.unknown.items():
            more = "" if len(lines) == 1 else f" (and in {len(lines) - 1} more)"
            what = f"no {kind} is called {brief(name, 60)}{more}"
            # As many words of a title as the names have at most: one may begin alike.
            words = max((len(known.split()) for known in self.known[kind]), default=1)
            right = similar(" ".join(name.split()[:words]), self.known[kind])
            mapped = f'write {toml(name)} = "…" under [{kind}s] of the columns\' file'
            right += f" Or {mapped}" if "?" in right else f", or {mapped}"
            self.problems.append(Problem(lines[0], what, right))

    def _due(self, row: OrderRow) -> date | None:
        due: date | None = self._read(row, "due", lambda cell: day_of(cell, self.dates), None)
        if due is None and self.columns.due_days is not None:
            ordered: date | None = self._read(row, "ordered", lambda cell: day_of(cell, self.dates), None)
            due = None if ordered is None else ordered + timedelta(days=self.columns.due_days)
        return due

    def _read(self, row: OrderRow, meaning: str, read: Any, default: Any) -> Any:
        if not (written := self._cell(row, meaning)):
            return default
        try:
            return read(written)
        except HintedError as error:
            self._wrong(f"{meaning} {brief(written)} {error.what}", error.hint)
            return default


def _together(one: Order, other: Order) -> Order:
    dues = [due for due in (one.due, other.due) if due is not None]
    return replace(
        one,
        skeins=one.skeins + other.skeins,
        spare=one.spare + other.spare,
        due=min(dues, default=None),
        priority=min(one.priority, other.priority),
        match=one.match or other.match,
        price=one.price if one.price == other.price else None,
    )


def not_yet(incoming: Iterable[Incoming], there: There) -> tuple[list[Incoming], list[tuple[Incoming, int, str]]]:
    """Return the orders not yet ``there``, and those that are, with their pieces and plan."""
    found = [(one, there.get(one.order.item.casefold())) for one in incoming]
    return [one for one, at in found if at is None], [(one, *at) for one, at in found if at is not None]


def orders_there(tables: object, where: str) -> dict[str, tuple[int, str]]:
    """Return the orders of a plan's raw ``order`` tables (see `There`), with ``where`` they are."""
    orders: dict[str, tuple[int, str]] = {}
    for table in tables if isinstance(tables, list) else []:
        item = table.get("item") if isinstance(table, Mapping) else None
        if isinstance(item, str) and item.strip():
            skeins = table.get("skeins")
            orders[harmless(item).strip().casefold()] = (skeins if isinstance(skeins, int) else 0, where)
    return orders


def count_of(text: str) -> int:
    """Return a whole number: "3", "3,0", "3 skeins". Raises HintedError, also for "1.000", which may be one."""
    if (match := _COUNT.fullmatch(text.strip())) is None:
        raise HintedError("is not a whole number of skeins", "write digits only, such as 3")
    return int(match[1])


def money_of(text: str) -> float:
    """Return money: "24.50", "24,50", "€ 1.234,50", "24,-".

    Raises HintedError where point or comma may be either, and where there are several numbers ("2 for 30").
    """
    if (match := _MONEY.fullmatch(text.strip())) is None:
        raise HintedError("is not a price", "write such as 24.50")
    digits = re.sub(r"[^\d.,]", "", match[1])
    if not (signs := re.findall(r"[.,]", digits)):
        return float(digits)
    whole, part = digits[: digits.rfind(signs[-1])], digits[digits.rfind(signs[-1]) + 1 :]
    others = set(signs[:-1])
    if signs[-1] in others or (len(part) == 3 and not others):
        if len(part) == 3 and len(signs) > 1 and others == {signs[-1]}:
            return float(re.sub(r"[.,]", "", digits))  # 1.234.567: thousands all the way
        raise HintedError("may be thousands or a decimal", "write such as 1234.50")
    return float(re.sub(r"[.,]", "", whole) + "." + part)


def is_yes(text: str) -> bool:
    """Return what a yes or a no says. Raises HintedError."""
    word = text.strip().casefold()
    if word in YES:
        return True
    if word in NO:
        return False
    raise HintedError("is neither yes nor no", "write yes, or leave it empty")


def order_of_days(cells: Iterable[str]) -> str:
    """Return "day first" or "month first" where the dates of a column can be only one of them, else ""."""
    pairs = [(int(m[1]), int(m[2])) for cell in cells if (m := _SLASHED.fullmatch(_TIME.sub("", cell.strip())))]
    if any(a > 12 for a, _ in pairs) and all(b <= 12 for _, b in pairs):
        return "day first"
    if any(b > 12 for _, b in pairs) and all(a <= 12 for a, _ in pairs):
        return "month first"
    return ""


def day_of(text: str, dates: str) -> date | None:
    """Return the day in a cell, None if empty; ``dates`` says which of 03/04/2026 is the day. Raises HintedError."""
    right = "write year-month-day, such as 2026-04-11"
    if not (written := _TIME.sub("", text.strip())):
        return None
    if match := _YEAR_FIRST.fullmatch(written):
        year, month, day = match.groups()
    elif match := _DOTTED.fullmatch(written) or _SLASHED.fullmatch(written):
        day, month, year = match.groups()
        if "." not in written and int(day) != int(month):
            if not dates:
                raise HintedError("may be day first or month first", 'write dates = "day first" under [reading]')
            day, month = (day, month) if dates == "day first" else (month, day)
    else:
        raise HintedError("is not a date", right)
    try:
        return date(int(year) if len(year) == 4 else 2000 + int(year), int(month), int(day))
    except ValueError:
        raise HintedError("is not a day that exists", right) from None
