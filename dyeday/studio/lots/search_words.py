"""What a lot is found by: every word of it that a dyer might remember, without case and accents."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import fields, is_dataclass
from typing import Any

from dyeday.studio.lots.lot import Lot, LotChangeKind, LotFact
from dyeday.text import harmless

MONTHS = ("january", "february", "march", "april", "may", "june", "july", "august", "september", "october",
          "november", "december")  # fmt: skip


def folded(text: str) -> str:
    """Return ``text`` on one line without case and accents: what is searched, and what is searched for."""
    apart = unicodedata.normalize("NFKD", harmless(text).casefold())
    return "".join(char for char in apart if not unicodedata.combining(char))


def words_of(lot: Lot) -> str:
    """Return the folded text a lot is found by; what was kept with it later is not in it (see `kept_words`)."""
    return " | ".join(dict.fromkeys(text for said in _said(lot) if (text := folded(said)).strip()))


def kept_words(kept: LotFact) -> str:
    """Return the folded text that something kept later adds."""
    return folded(f"{kept.what} {kept.of} {kept.text}")


def asked(words: Iterable[str]) -> tuple[str, ...]:
    """Return the folded words of a search, each of which must be in a lot's text."""
    return tuple(word for said in words for word in folded(said).split())


def _said(lot: Lot) -> Iterator[str]:
    day = lot.date
    yield lot.number
    yield f"{day.isoformat()} {day.day} {MONTHS[day.month - 1]} {day.year}"
    yield lot.session
    yield lot.session_name
    yield f"{lot.colourway.name} on {lot.base.name}"
    yield lot.mix
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
        for flag in batch.flags:
            yield f"{flag.rule} {flag.resolved_why}"
        yield from (str(reading.value) for reading in batch.readings if isinstance(reading.value, str))
        yield from (note.text for note in batch.notes)
        yield from (
            f"{change.what.value} {change.text}"
            for change in batch.changes
            if change.what not in (LotChangeKind.LATE, LotChangeKind.ABOUT)
        )
    yield from (f"{kept.what} {kept.of} {kept.text}" for kept in lot.shelf)
    if any(batch.went_back for batch in lot.batches):
        yield "back to fix"


def _texts(value: Any) -> Iterator[str]:
    """Yield every text and date in a frozen value, so that a key added to orders is found by at once."""
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
