"""A lot put together from its days and later notes; its line in a list; the words a search finds it by."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import fields, is_dataclass, replace
from typing import Any

from dyeday.plan.model import Order, OrderKey
from dyeday.quick_dataclass import dataclass
from dyeday.studio.lots.lot import Lot, LotFact
from dyeday.terms import Outcome
from dyeday.text import harmless
from dyeday.track.day.carried import EntryChange


@dataclass(frozen=True, slots=True)
class LotRow:
    """One lot in a list; ``mark`` is what stands behind its name."""

    number: str
    date: str
    colourway: str
    base: str
    skeins: int
    mark: str


def lot_of_parts(parts: Sequence[Lot], facts: Sequence[LotFact]) -> Lot:
    """Return the lot of its days' parts, earliest first, and later notes; withdrawn parts count only if all are."""
    there = [part for part in parts if not part.withdrawn] or parts
    # An order continued on another day is in both parts: the first has all its skeins.
    orders: dict[OrderKey, Order] = {}
    for order in (order for lot in there for order in lot.orders):
        orders.setdefault(order.key, order)
    return replace(
        there[0],
        batches=tuple(batch for lot in there for batch in lot.batches),
        orders=tuple(orders.values()),
        shelf=tuple({(known.what, known.of, known.text): known for lot in there for known in lot.shelf}.values()),
        added=tuple(facts),
    )


def row_of(lot: Lot) -> LotRow:
    """Return a lot's line; a withdrawn lot counts no skeins."""
    marks = [outcome.value for outcome in lot.outcomes if outcome is not Outcome.FIRST]
    if any(batch.open_flags for batch in lot.batches):
        marks.append("in-doubt")
    if any(batch.went_back for batch in lot.batches):
        marks.append("back-to-fix")
    mark, skeins = ("withdrawn", 0) if lot.withdrawn else (" ".join(dict.fromkeys(marks)), lot.skeins)
    return LotRow(lot.number, lot.date.isoformat(), lot.colourway.name, lot.base.name, skeins, mark)


def found_by(lot: Lot) -> str:
    """Return the words that a lot is found by, those of later notes too."""
    added = (search_form(f"{fact.what.value} {fact.of} {fact.text}") for fact in lot.added)
    return narrowed(" ".join((words_of(lot), *added)).split())


def narrowed(words: Sequence[str]) -> str:
    """Return words without those within another: a search looks for parts of words."""
    longest: list[str] = []
    for word in sorted(set(words), key=lambda word: (-len(word), word)):
        if not any(word in longer for longer in longest):
            longest.append(word)
    return " ".join(longest)


MONTHS = ("january", "february", "march", "april", "may", "june", "july", "august", "september", "october",
          "november", "december")  # fmt: skip


def search_form(text: str) -> str:
    """Return ``text`` on one line, without case and accents, as searches compare it."""
    apart = unicodedata.normalize("NFKD", harmless(text).casefold())
    return "".join(char for char in apart if not unicodedata.combining(char))


def words_of(lot: Lot) -> str:
    """Return the text that a lot is found by, without later notes."""
    return " | ".join(dict.fromkeys(text for part in _texts_of(lot) if (text := search_form(part)).strip()))


def asked(words: Iterable[str]) -> tuple[str, ...]:
    """Return the words of a search, each of which must be in a lot's text."""
    return tuple(word for part in words for word in search_form(part).split())


def _texts_of(lot: Lot) -> Iterator[str]:
    day = lot.date
    yield lot.number
    yield f"{day.isoformat()} {day.day} {MONTHS[day.month - 1]} {day.year}"
    yield lot.session
    yield lot.session_name
    yield f"{lot.colourway.name} on {lot.base.name}"
    yield lot.planned_mix
    yield from (name for name, _ in lot.base.fibre)
    yield from (layer.how.value for layer in lot.colourway.layers)
    yield from (heat.how.value for layer in lot.colourway.layers for heat in layer.heats)
    yield from (dye.name for dye in lot.dyes)
    yield lot.acid.kind.value
    for order in lot.orders:
        yield from _texts(order)
    for batch in lot.batches:
        yield from (f"batch {batch.no}", batch.tag, batch.outcome.value, *batch.overdyed_from, *batch.mixes)
        yield from (item for item, _ in batch.shares)
        yield from (dye.dye for dye in batch.dyes)
        yield from (unit for stay in batch.stays for unit in stay.units)
        yield from (f"{flag.rule} {flag.cleared_why}" for flag in batch.flags)
        yield from (str(reading.value) for reading in batch.readings if isinstance(reading.value, str))
        yield from (note.text for note in batch.notes)
        unlisted = (EntryChange.LATE, EntryChange.APPROXIMATE)
        yield from (f"{change.what.value} {change.text}" for change in batch.changes if change.what not in unlisted)
    yield from (f"{fact.what.value} {fact.of} {fact.text}" for fact in lot.shelf)
    if any(batch.went_back for batch in lot.batches):
        yield "back to fix"


def _texts(value: Any) -> Iterator[str]:
    """Yield every text and date in a frozen value."""
    if is_dataclass(value):
        for field in fields(value):
            yield from _texts(getattr(value, field.name))
    elif isinstance(value, (tuple, list)):
        for item in value:
            yield from _texts(item)
    elif isinstance(value, str):
        yield value
    elif hasattr(value, "isoformat"):
        yield value.isoformat()
