"""Lots and closed days as lines of the lot book, and back: what is written of each, and what its lines make."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from dyeday.plan.model import Order
from dyeday.plan.serialize import from_plain, to_plain
from dyeday.store.lot_lines import Head
from dyeday.studio.lots.lot import DayKept, Kept, Lot
from dyeday.studio.lots.search_words import words_of
from dyeday.terms import Outcome

Lines = Sequence[tuple[Head, bytes]]
"""a number's lines, each its head and the bytes of its body"""


def year_of(number: str, near_year: int) -> int:
    """Return the year whose file a lot is in: that of its number, at or before ``near_year``."""
    wanted = number[:2]
    back = (near_year % 100 - int(wanted)) % 100 if wanted.isdecimal() else 0
    return near_year - back


def head_of(lot: Lot, session: str | None = None) -> Head:
    """Return the head of the line for a lot's part of one day."""
    marks = [outcome.value for outcome in lot.outcomes if outcome is not Outcome.FIRST]
    if any(batch.open_flags for batch in lot.batches):
        marks.append("in-doubt")
    if any(batch.went_back for batch in lot.batches):
        marks.append("back-to-fix")
    return Head(
        "lot",
        lot.number,
        session or lot.batches[0].session,
        lot.date.isoformat(),
        lot.colourway.name,
        lot.base.name,
        lot.skeins,
        " ".join(marks),
        words_of(lot),
    )


def parts_of(lot: Lot) -> Iterator[tuple[Head, Any]]:
    """Yield the lines of a lot, one for each day it was done on, without what was kept with it."""
    for session in dict.fromkeys(batch.session for batch in lot.batches):
        part = replace(lot, batches=tuple(b for b in lot.batches if b.session == session))
        yield head_of(part, session), body_of(part)
        if lot.withdrawn:
            yield Head("withdrawn", lot.number, session=session), {"why": lot.withdrawn}


def body_of(lot: Lot) -> Any:
    """Return a part's own plain data: what was kept later and withdrawn are lines of their own."""
    return to_plain(replace(lot, kept=(), withdrawn=""))


def day_from(lines: Lines) -> DayKept:
    """Return the closed day that its lines make: the latest counts."""
    return from_plain(DayKept, json.loads(lines[-1][1]))


def lot_from(lines: Lines) -> Lot:
    """Return the lot that its lines, in their order, make. The head is that of the day it began on."""
    parts: dict[str, Lot] = {}
    gone: dict[str, str] = {}
    kept: list[Kept] = []
    for head, body in lines:
        raw = json.loads(body)
        if head.kind == "lot":
            gone.pop(head.session, None)
            parts[head.session] = from_plain(Lot, raw)
        elif head.kind == "withdrawn":
            gone[head.session] = str(raw.get("why", ""))
        elif head.kind == "kept":
            kept.append(from_plain(Kept, raw))
    there = [part for session, part in parts.items() if session not in gone] or list(parts.values())
    # What goes on tomorrow is there again for the rest of its pieces: the order as it was at first counts.
    orders: dict[tuple[str, str, str], Order] = {}
    for order in (order for part in there for order in part.orders):
        orders.setdefault((order.item, order.colourway, order.base), order)
    return replace(
        there[0],
        batches=tuple(batch for part in there for batch in part.batches),
        orders=tuple(orders.values()),
        shelf=tuple({(known.what, known.of, known.text): known for part in there for known in part.shelf}.values()),
        kept=tuple(kept),
        withdrawn=next(iter(gone.values())) if len(gone) == len(parts) else "",
    )
