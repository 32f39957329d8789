"""Which mill lot and powder lots a day's lots were made of, and from which day their solutions, by the shelf."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime

from dyeday.studio.lots.lot import Lot, LotFact
from dyeday.studio.shelf.movements import Move, Shelf, counting, shelf_of
from dyeday.terms import MoveKind, StockKind


def with_shelf(lots: Sequence[Lot], session: str, at: datetime, moves: Iterable[Move]) -> list[Lot]:
    """Return lots with what the shelf knew of their yarn and dyes when their session closed ``at``.

    A bottle the session drew from tells the powder it was made of; powder that went on dry, and yarn, are of the
    delivery that came last. Deliveries after the close do not count, so that a later entry changes none of it.
    """
    names = {lot.base.name for lot in lots} | {dye.name for lot in lots for dye in lot.dyes}
    then = [m for m in counting(moves) if m.name in names and (m.at <= at or m.session == session)]
    shelf = shelf_of(then)
    took = [move for move in then if move.session == session and move.kind is MoveKind.USED]
    return [replace(lot, shelf=tuple(_known(lot, shelf, took, at))) for lot in lots]


def _known(lot: Lot, shelf: Shelf, took: list[Move], at: datetime) -> Iterator[LotFact]:
    yarn = shelf.item(StockKind.YARN, lot.base.name)
    if yarn is not None and yarn.lot:
        yield LotFact(at, "mill lot", yarn.lot)
    bottles = {bottle.name: bottle for bottle in shelf.bottles}
    for dye in lot.dyes:
        drawn = [bottles[move.bottle] for move in took if move.name == dye.name and move.bottle in bottles]
        powders = [bottle.powder_lot for bottle in drawn]
        powder = shelf.item(StockKind.DYE, dye.name)
        if powder is not None and any(move.thing is StockKind.DYE and move.name == dye.name for move in took):
            powders.append(powder.lot)
        said = [text for text in dict.fromkeys(powders) if text]
        if said:
            yield LotFact(at, "powder lot", " + ".join(said), dye.name)
        if drawn:
            days = sorted({bottle.made for bottle in drawn})
            yield LotFact(at, "solution made", " + ".join(day.isoformat() for day in days), dye.name)


def mill_lot_now(shelf: Shelf, base: str) -> str:
    """Return the mill lot of the yarn that is there, or nothing."""
    yarn = shelf.item(StockKind.YARN, base)
    return yarn.lot if yarn is not None else ""


def powder_lot_now(shelf: Shelf, dye: str) -> str:
    """Return the powder lot of the bottle that would be used first, else of the powder that is there, or nothing."""
    bottles = shelf.bottles_of(dye)
    if bottles:
        return bottles[0].powder_lot
    powder = shelf.item(StockKind.DYE, dye)
    return powder.lot if powder is not None else ""
