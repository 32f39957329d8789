"""How to dye a finished lot again: its order and recipe, what differs today, what else its record says."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date as Date  # noqa: N812 - as in the model
from itertools import count as count_from

from dyeday.craft.dye.measuring import figure
from dyeday.plan.library import without_amounts
from dyeday.plan.model import Acid, Base, Batch, Colourway, Dye, Order, Plan, Session, Water
from dyeday.plan.recipe import planned_dyes
from dyeday.plan.weigh_out import weigh_batch
from dyeday.plan.writing.plan_text import item_text
from dyeday.quick_dataclass import dataclass
from dyeday.studio.lots.lot import Lot, LotDye, LotFactKind
from dyeday.studio.shelf.movements import Shelf
from dyeday.terms import StockKind
from dyeday.text import LONGEST_NAME, counted, shortened
from dyeday.track.flags import flag_words

Acids = tuple[float | None, float | None]
"""acid then and today, mL or g as each is measured; None if it cannot be worked out"""
NOT_KNOWN = "not known"
USED_APART = 0.05
"""recorded amounts further than this fraction from the recipe are mentioned; about the error of a jug"""


@dataclass(frozen=True, slots=True)
class LotDifference:
    """One difference: what, its old and new value, and what follows from it, if anything."""

    what: str
    then: str
    now: str
    so: str = ""


@dataclass(frozen=True, slots=True)
class DyeAgain:
    """One dye: what the lot took by the recipe and as recorded, and what the order takes today."""

    dye: str
    then_g: float
    then_ml: float
    used_ml: float | None
    used_g: float | None
    now_g: float
    now_ml: float


@dataclass(frozen=True, slots=True)
class RepeatedLot:
    """How to repeat a lot. ``definitions`` is TOML of what the plan lacks besides the order; ``defines`` names it."""

    order: Order
    definitions: str
    defines: tuple[str, ...]
    dyes: tuple[DyeAgain, ...]
    acid_then: float | None
    """what the lot took by its recipe, mL or g as its acid is measured; None if unknown"""
    acid_now: float | None
    """what the order takes, mL or g as today's acid is measured; None if unknown"""
    differs: tuple[LotDifference, ...]
    reminders: tuple[str, ...]

    @property
    def toml(self) -> str:
        """What goes at the end of a plan."""
        return "\n".join(part for part in (self.definitions, item_text(self.order)) if part)


def again(lot: Lot, today: Plan | None, shelf: Shelf, skeins: int | None = None) -> RepeatedLot:
    """Return how to repeat a lot, ``skeins`` pieces of it or as many as it had.

    It is compared with the plan ``today`` if there is one, and with the mill and powder lots on ``shelf``.
    """
    count = lot.skeins if skeins is None else skeins
    defined, colourway, base = _definitions(lot, today)
    taken = [order.item for order in today.orders] if today is not None else []
    item = _fresh(lot.colourway.name, f" again, lot {lot.number}", taken)
    match = any(order.match for order in lot.orders)
    order = Order(item=item, colourway=colourway.name, base=base.name, skeins=count, match=match)
    then = _as_plan(lot.water, lot.acid, lot.base, lot.dyes, lot.colourway, today)
    now = then
    if today is not None:
        dyes = tuple(today.dye(dye.name) or dye for dye in lot.dyes)
        now = _as_plan(today.water, today.acid, base, dyes, colourway, today)
    acids = _acid_of(then, lot.base, count), _acid_of(now, base, count)
    return RepeatedLot(
        order=order,
        definitions="\n".join(text for _, text in defined),
        defines=tuple(name for name, _ in defined),
        dyes=tuple(_dyes(lot, now, colourway, base, count)),
        acid_then=_acid_of(then, lot.base, lot.skeins),
        acid_now=acids[1] if today is not None else None,
        differs=tuple(differs(lot, today, shelf, base, acids)) if today is not None else (),
        reminders=tuple(_reminders(lot)),
    )


def _fresh(name: str, what: str, taken: list[str]) -> str:
    """Return ``name``, shortened as a plan needs it, with ``what`` behind it, and a number if that is taken."""
    ends = (f"{what} ({number})" if number > 1 else what for number in count_from(1))
    names = (shortened(name, LONGEST_NAME - len(end)) + end for end in ends)
    return next(fresh for fresh in names if fresh not in taken)


def _definitions(lot: Lot, today: Plan | None) -> tuple[list[tuple[str, str]], Colourway, Base]:
    """Return (name, TOML) of each thing that today's plan lacks, and the order's colourway and base."""
    defined = []
    colourways = {item.name: item for item in today.colourways} if today else {}
    bases = {item.name: item for item in today.bases} if today else {}
    dyes = {item.name for item in today.dyes} if today else set()
    if today is not None:
        defined += [(f"dye {dye.name}", item_text(without_amounts(dye))) for dye in lot.dyes if dye.name not in dyes]
        if lot.base.name not in bases:
            defined.append((f"base {lot.base.name}", item_text(without_amounts(lot.base))))
    colourway = lot.colourway
    if colourways.get(colourway.name) != colourway:
        if colourway.name in colourways:
            colourway = replace(colourway, name=_fresh(colourway.name, f", lot {lot.number}", list(colourways)))
        defined.append((f"colourway {colourway.name}", item_text(colourway)))
    return defined, colourway, bases.get(lot.base.name, lot.base)


def _as_plan(
    water: Water, acid: Acid, base: Base, dyes: tuple[Dye, ...], colourway: Colourway, like: Plan | None
) -> Plan:
    plan = like if like is not None else Plan(Session("", Date(2000, 1, 1), 0, 0))
    plan = replace(plan, water=water, acid=acid, bases=(base,), dyes=dyes, colourways=(colourway,))
    return replace(plan, orders=(), batches=())


def _acid_of(plan: Plan, base: Base, skeins: int) -> float | None:
    """Return the acid, mL or g, that skeins of a base take in a plan's only colourway; None if not known."""
    doses = weigh_batch(plan, Batch("01", plan.colourways[0].name, base.name, skeins)).doses
    return sum(dose.amount for dose in doses) if doses else None


def _dyes(lot: Lot, now: Plan, colourway: Colourway, base: Base, skeins: int) -> Iterator[DyeAgain]:
    recorded = [dye for batch in lot.batches for dye in batch.dyes]
    planned = planned_dyes(now.solution_pct, colourway, skeins * base.skein_g)
    for name in dict.fromkeys((*(dye.dye for dye in planned), *(dye.dye for dye in recorded))):
        then = [dye for dye in recorded if dye.dye == name]
        today = [dye for dye in planned if dye.dye == name]
        yield DyeAgain(
            dye=name,
            then_g=sum(dye.recipe_g for dye in then),
            then_ml=sum(dye.recipe_ml for dye in then),
            used_ml=_sum_known(dye.used_ml for dye in then),
            used_g=_sum_known(dye.used_g for dye in then),
            now_g=sum(dye.powder_g for dye in today),
            now_ml=sum(dye.solution_ml or 0.0 for dye in today),
        )


def _sum_known(amounts: Iterable[float | None]) -> float | None:
    known = [amount for amount in amounts if amount is not None]
    return sum(known) if known else None


def _reminders(lot: Lot) -> Iterator[str]:
    """Yield what the record says beyond the recipe, the dyer's notes first."""
    yield from (fact.text for fact in lot.facts_of(LotFactKind.NOTE))
    if lot.withdrawn:
        yield f"it was withdrawn: {lot.withdrawn}"
    if lot.beside_sample:
        yield f"beside the kept sample it was: {', '.join(lot.beside_sample)}"
    if acids := lot.acids_put_in:
        ml, grams = sum(acid.acid_ml for acid in acids), sum(acid.acid_g for acid in acids)
        amounts = [f"{figure(amount)} {unit}" for amount, unit in ((ml, "mL"), (grams, "g")) if amount]
        is_shared = any(acid.bath and acid.shared for acid in acids)
        shared = ", some of it in baths shared with other batches" if is_shared else ""
        yield f"{' and '.join(amounts)} of acid was put in for {figure(lot.wof_g)} g of yarn{shared}"
    for batch in lot.batches:
        if kept := sum(acid.acid_ml or acid.acid_g for acid in batch.acids if acid.kept):
            yield f"batch {batch.no} went into kept water with about {figure(kept, 2)} {lot.acid.unit} of acid left"
    for batch in lot.batches:
        for dye in batch.dyes if not batch.overdyed_from else ():  # those records have what is beneath too
            yield from _used_apart(batch.no, dye)
        if batch.went_back:
            yield f"batch {batch.no} went back to fix"
        for flag in batch.open_flags:
            yield f"batch {batch.no} flagged {flag_words(flag.rule)}: {flag.why}"
        if batch.overdyed_from:
            before = ", ".join(batch.overdyed_from)
            yield f"batch {batch.no} was overdyed, from {before}: the recipe is what went on last"


def _used_apart(batch_no: str, dye: LotDye) -> Iterator[str]:
    wet = (dye.used_ml, dye.recipe_ml, "mL")
    dry = (dye.used_g, 0.0 if dye.recipe_ml else dye.recipe_g, "g")
    for used, recipe, unit in (wet, dry):
        if used is not None and abs(used - recipe) > USED_APART * max(used, recipe):
            by_recipe = f"the recipe says {figure(recipe)} {unit}"
            yield f"batch {batch_no} used {figure(used)} {unit} of {dye.dye} where {by_recipe}"


def differs(lot: Lot, today: Plan, shelf: Shelf, base: Base, acids: Acids) -> Iterator[LotDifference]:
    """Yield what differs; ``acids`` are what the order's skeins would have taken then, and take today."""
    yield from _water(lot.water, today.water)
    yield from _acid(lot.acid, today.acid, acids)
    yield from _base(lot, base)
    so = "another mill lot may take up dye differently: try one skein first"
    yield from _lots("mill lot", lot.mill_lot, _lot_now(shelf, StockKind.YARN, base.name), so, "look at the bands")
    for dye in lot.dyes:
        yield from _dye(lot, dye, today)
        so = "powder lots differ: try one skein first"
        now = _lot_now(shelf, StockKind.DYE, dye.name)
        yield from _lots(f"{dye.name}, powder lot", lot.powder_lot_of(dye.name), now, so, "look at the jar")


def _water(then: Water, now: Water) -> Iterator[LotDifference]:
    for what, was, is_, unit in (
        ("water alkalinity", then.alkalinity_mg_l, now.alkalinity_mg_l, "mg/L"),
        ("water hardness", then.hardness_mg_l, now.hardness_mg_l, "mg/L"),
        ("water temperature", then.temperature_c, now.temperature_c, "°C"),
    ):
        if was != is_:
            yield LotDifference(what, _amount_text(was, unit), _amount_text(is_, unit))


def _acid(then: Acid, now: Acid, acids: Acids) -> Iterator[LotDifference]:
    if then.name != now.name:
        yield LotDifference("acid", then.name, now.name)
    if then.target_ph != now.target_ph:
        yield LotDifference("target pH", f"{then.target_ph:g}", f"{now.target_ph:g}")
    was, is_ = acids
    amounts = _amount_text(was, then.unit), _amount_text(is_, now.unit)
    if was is None or is_ is None:
        if was is not is_:
            yield LotDifference("acid by recipe", *amounts, "read the pH of the soak")
    elif then.unit != now.unit or abs(was - is_) > 0.005 * max(was, is_):
        so = "" if then.name != now.name or was == 0 else f"{is_ / was:.2f} times as much"
        yield LotDifference("acid by recipe", *amounts, so)


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
        then, now = (", ".join(f"{pct:g} % {name}" for name, pct in item.fibre) for item in (lot.base, base))
        yield LotDifference("fibre", then, now, "another fibre takes up dye differently: try one skein first")


def _lots(what: str, then: str, now: str, so: str, look: str) -> Iterator[LotDifference]:
    """Yield the difference of two of a maker's lots; "" is not known."""
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


def _lot_now(shelf: Shelf, kind: StockKind, name: str) -> str:
    """Return the maker's lot of the bottle to be used first; without bottles that of the item, or ""."""
    bottles = shelf.bottles_of(name) if kind is StockKind.DYE else ()
    if bottles:
        return bottles[0].powder_lot
    stock = shelf.item(kind, name)
    return stock.lot if stock is not None else ""
