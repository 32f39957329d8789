"""A lot put together from the days it was done on and what was noted of it afterwards; and its line in a list."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from dyeday.plan.model import Order
from dyeday.plan.serialize import from_plain, to_plain
from dyeday.quick_dataclass import dataclass
from dyeday.studio.lots.lot import Lot, LotFact, LotFlag
from dyeday.studio.lots.search_words import kept_words, words_of
from dyeday.terms import Outcome


@dataclass(frozen=True, slots=True)
class LotRow:
    """One lot as lists and searches need it; ``mark`` is what a list shows behind the name."""

    number: str
    date: str
    colourway: str
    base: str
    skeins: int
    mark: str


@dataclass(frozen=True, slots=True)
class Part:
    """What one day made of a lot; ``withdrawn`` says why that is no lot any more."""

    lot: Lot
    withdrawn: str = ""


def put_together(parts: Sequence[Part], kept: Sequence[LotFact]) -> Lot:
    """Return the lot that its parts, earliest first, and later notes make; its head is the first day's."""
    there = [part.lot for part in parts if not part.withdrawn] or [part.lot for part in parts]
    # What goes on tomorrow is there again for the rest of its skeins: the order as it was at first counts.
    orders: dict[tuple[str, str, str], Order] = {}
    for order in (order for lot in there for order in lot.orders):
        orders.setdefault((order.item, order.colourway, order.base), order)
    return replace(
        there[0],
        batches=tuple(batch for lot in there for batch in lot.batches),
        orders=tuple(orders.values()),
        shelf=tuple({(known.what, known.of, known.text): known for lot in there for known in lot.shelf}.values()),
        kept=tuple(kept),
        withdrawn=parts[0].withdrawn if all(part.withdrawn for part in parts) else "",
    )


def judged(lot: Lot) -> dict[str, Any]:
    """Return the flags of a lot by the numbers of its batches, as JSON-able data."""
    return {batch.no: to_plain(batch.flags) for batch in lot.batches}


def judgement(said: Mapping[str, Any]) -> dict[str, tuple[LotFlag, ...]]:
    """Return the flags by batch number that `judged` gave. Raises KeyError, TypeError or ValueError."""
    return {no: tuple(from_plain(LotFlag, flag) for flag in flags) for no, flags in said.items()}


def row_of(lot: Lot) -> LotRow:
    """Return a lot's line; a withdrawn one counts no skeins."""
    marks = [outcome.value for outcome in lot.outcomes if outcome is not Outcome.FIRST]
    if any(batch.open_flags for batch in lot.batches):
        marks.append("in-doubt")
    if any(batch.went_back for batch in lot.batches):
        marks.append("back-to-fix")
    mark, skeins = ("withdrawn", 0) if lot.withdrawn else (" ".join(dict.fromkeys(marks)), lot.skeins)
    return LotRow(lot.number, lot.date.isoformat(), lot.colourway.name, lot.base.name, skeins, mark)


def found_by(lot: Lot) -> str:
    """Return the folded words a lot is found by, what was noted afterwards too, each once."""
    said = " ".join((words_of(lot), *map(kept_words, lot.kept)))
    return narrowed(said.split())


def narrowed(words: Sequence[str]) -> str:
    """Return words without those that stand within another: a search looks for parts of words."""
    kept: list[str] = []
    for word in sorted(set(words), key=lambda word: (-len(word), word)):
        if not any(word in longer for longer in kept):
            kept.append(word)
    return " ".join(kept)
