"""What differs since a lot was dyed: water, acid, yarn and dyes, and which mill and powder lots the shelf knows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date as Date  # noqa: N812 - as in the model
from datetime import datetime

from dyeday.craft.dye.measuring import figure
from dyeday.plan.model import Acid, Base, Dye, Plan, Water
from dyeday.quick_dataclass import dataclass
from dyeday.studio.lots.lot import Lot, LotFact
from dyeday.studio.shelf.movements import Move, Shelf, shelf_of, valid
from dyeday.terms import MoveKind, StockKind
from dyeday.text import counted

NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class LotDifference:
    """One difference: what, its old and new value, and what that means, if anything."""

    what: str
    then: str
    now: str
    so: str = ""


def differs(lot: Lot, today: Plan, shelf: Shelf, base: Base, acids: list[float | None]) -> Iterator[LotDifference]:
    """Yield what differs; ``acids`` are the amounts the same skeins took then and take today."""
    yield from _water(lot.water, today.water)
    yield from _acid(lot.acid, today.acid, acids)
    yield from _base(lot, base)
    so = "another mill lot may take up dye differently: try one skein first"
    yield from _lots("mill lot", lot.mill_lot, _lot_now(shelf, StockKind.YARN, base.name), so, "look at the bands")
    for dye in lot.dyes:
        yield from _dye(lot, dye, today)
        then = lot.powder_lots.get(dye.name, lot.powder_lots.get("", ""))
        so = "powder lots differ: try one skein first"
        now = _lot_now(shelf, StockKind.DYE, dye.name)
        yield from _lots(f"{dye.name}, powder lot", then, now, so, "look at the jar")


def _water(then: Water, now: Water) -> Iterator[LotDifference]:
    for what, was, is_, unit in (
        ("water alkalinity", then.alkalinity_mg_l, now.alkalinity_mg_l, "mg/L"),
        ("water hardness", then.hardness_mg_l, now.hardness_mg_l, "mg/L"),
        ("water temperature", then.temperature_c, now.temperature_c, "°C"),
    ):
        if was != is_:
            yield LotDifference(what, _amount_text(was, unit), _amount_text(is_, unit))


def _acid(then: Acid, now: Acid, acids: list[float | None]) -> Iterator[LotDifference]:
    if then.name != now.name:
        yield LotDifference("acid", then.name, now.name)
    if then.target_ph != now.target_ph:
        yield LotDifference("target pH", f"{then.target_ph:g}", f"{now.target_ph:g}")
    was, is_ = acids
    amounts = _amount_text(was, then.unit), _amount_text(is_, now.unit)
    if was is None or is_ is None:
        if was is not is_:
            yield LotDifference("acid for it", *amounts, "read the pH of the soak")
    elif then.unit != now.unit or abs(was - is_) > 0.005 * max(was, is_):
        so = "" if then.name != now.name or was == 0 else f"{is_ / was:.2f} times as much"
        yield LotDifference("acid for it", *amounts, so)


def _base(lot: Lot, base: Base) -> Iterator[LotDifference]:
    if lot.base.skein_g != base.skein_g:
        so = f"{base.skein_g / lot.base.skein_g:.3g} times the dye for each"
        yield LotDifference(f"weight of one {base.form.value}", f"{lot.base.skein_g:g} g", f"{base.skein_g:g} g", so)
    if weighed := [batch for batch in lot.batches if batch.weighed and batch.skeins]:
        each = sum(batch.wof_g for batch in weighed) / sum(batch.skeins for batch in weighed)
        if abs(each - base.skein_g) > 0.005 * base.skein_g:
            what, by_count = f"weighed, one {lot.base.form.value}", f"{base.skein_g:g} g by count"
            yield LotDifference(what, f"{figure(each)} g", by_count, "weigh them dry again")
    if dict(lot.base.fibre) != dict(base.fibre):
        then, now = (", ".join(f"{share:g} % {name}" for name, share in item.fibre) for item in (lot.base, base))
        yield LotDifference("fibre", then, now, "another fibre takes up dye differently: try one skein first")


def _lots(what: str, then: str, now: str, so: str, look: str) -> Iterator[LotDifference]:
    """Yield what differs between two of a maker's lots, if one is known."""
    if then != now:
        yield LotDifference(what, then or NOT_KNOWN, now or NOT_KNOWN, so if then and now else look)


def _dye(lot: Lot, dye: Dye, today: Plan) -> Iterator[LotDifference]:
    now = today.dye(dye.name)
    strength = dye.solution_pct if now is None else now.solution_pct
    if strength != dye.solution_pct:
        so = f"{dye.solution_pct / strength:.3g} times the mL"
        yield LotDifference(f"{dye.name}, solution", f"{dye.solution_pct:g} %", f"{strength:g} %", so)
    drawn = lot.solutions_made.get(dye.name, "")
    made = Date.fromisoformat(drawn.split(" + ")[0]) if drawn else dye.bottle_made if dye.bottle_ml else None
    then_days = (lot.date - made).days if made is not None else 0
    now_days = (today.session.date - now.bottle_made).days if now and now.bottle_made and now.bottle_ml else 0
    if then_days != now_days:
        yield LotDifference(f"{dye.name}, age of the solution", _days(then_days), _days(now_days))


def _days(days: int) -> str:
    return "mixed fresh" if days <= 0 else counted(days, "day")


def _amount_text(value: float | None, unit: str) -> str:
    return NOT_KNOWN if value is None else f"{figure(value)} {unit}"


def with_shelf(lots: Sequence[Lot], session: str, at: datetime, moves: Iterable[Move]) -> list[Lot]:
    """Return lots with the shelf's facts about their yarn and dyes when their session closed ``at``.

    A bottle the session drew from has the powder lot it was made of; yarn and powder that went on dry are of the last
    delivery. Deliveries after the close do not count.
    """
    names = {lot.base.name for lot in lots} | {dye.name for lot in lots for dye in lot.dyes}
    then = [m for m in valid(moves) if m.name in names and (m.at <= at or m.session == session)]
    shelf = shelf_of(then)
    took = [move for move in then if move.session == session and move.kind is MoveKind.USED]
    return [replace(lot, shelf=tuple(_known(lot, shelf, took, at))) for lot in lots]


def _known(lot: Lot, shelf: Shelf, took: list[Move], at: datetime) -> Iterator[LotFact]:
    if (yarn := shelf.item(StockKind.YARN, lot.base.name)) is not None and yarn.lot:
        yield LotFact(at, "mill lot", yarn.lot)
    bottles = {bottle.name: bottle for bottle in shelf.bottles}
    for dye in lot.dyes:
        drawn = [bottles[move.bottle] for move in took if move.name == dye.name and move.bottle in bottles]
        powders = [bottle.powder_lot for bottle in drawn]
        powder = shelf.item(StockKind.DYE, dye.name)
        if powder is not None and any(move.thing is StockKind.DYE and move.name == dye.name for move in took):
            powders.append(powder.lot)
        if powder_lots := [text for text in dict.fromkeys(powders) if text]:
            yield LotFact(at, "powder lot", " + ".join(powder_lots), dye.name)
        if drawn:
            days = sorted({bottle.made for bottle in drawn})
            yield LotFact(at, "solution made", " + ".join(day.isoformat() for day in days), dye.name)


def _lot_now(shelf: Shelf, kind: StockKind, name: str) -> str:
    """Return the maker's lot of the bottle to be used first, else of the powder, else ""."""
    bottles = shelf.bottles_of(name) if kind is StockKind.DYE else ()
    if bottles:
        return bottles[0].powder_lot
    stock = shelf.item(kind, name)
    return stock.lot if stock is not None else ""
