"""A finished lot to be dyed again: the order and the recipe as they were then, and what differs today."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date as Date  # noqa: N812 - as in the model

from dyeday.plan.amounts import planned_dyes
from dyeday.plan.as_text import base_text, colourway_text, dye_text, order_text
from dyeday.plan.model import Acid, Base, Batch, Colourway, Dye, Order, Plan, Session, Water
from dyeday.plan.weigh import weigh_batch
from dyeday.track.lot import Lot, LotDye
from dyeday.track.shelf import Shelf
from dyeday.track.shelf_lots import mill_lot_now, powder_lot_now

NOT_KNOWN = "not known"
USED_APART = 0.05
"""recorded amounts further than this share from the recipe are worth a word; a jug's own uncertainty is near it"""


@dataclass(frozen=True, slots=True)
class Differs:
    """One thing that is not as it was: what, how it was, how it is, and what that means, if anything."""

    what: str
    then: str
    now: str
    so: str = ""


@dataclass(frozen=True, slots=True)
class DyeAgain:
    """One dye: what the lot took by the recipe and as recorded, and what the same skeins take today."""

    dye: str
    then_g: float
    then_ml: float
    used_ml: float | None
    used_g: float | None
    now_g: float
    now_ml: float


@dataclass(frozen=True, slots=True)
class Again:
    """``definitions`` is TOML of what the plan lacks beside the order, which ``defines`` names."""

    order: Order
    definitions: str
    defines: tuple[str, ...]
    dyes: tuple[DyeAgain, ...]
    acid_then: float | None
    acid_now: float | None
    """mL or g by the acid of then and of today, for the water alone; None where it cannot be worked out"""
    differs: tuple[Differs, ...]
    reminders: tuple[str, ...]

    @property
    def toml(self) -> str:
        """What goes at the end of a plan."""
        return "\n".join(part for part in (self.definitions, order_text(self.order)) if part)


def again(lot: Lot, today: Plan | None, shelf: Shelf, skeins: int | None = None) -> Again:
    """Return how to repeat a lot: ``skeins`` pieces, or as many as it had.

    ``today`` is the plan it goes into, or the newest there is: its water, acid, base and dyes are today's. Without
    one nothing is compared. ``shelf`` knows today's mill lot and powder lots.
    """
    count = lot.skeins if skeins is None else skeins
    defined, colourway, base = _definitions(lot, today)
    taken = [order.item for order in today.orders] if today is not None else []
    item = _fresh(f"{lot.colourway.name} again, lot {lot.number}", taken)
    order = Order(item=item, colourway=colourway.name, base=base.name, skeins=count)
    then = _as_plan(lot.water, lot.acid, lot.base, lot.dyes, lot.colourway, today)
    now = then if today is None else _today(today, lot, base, colourway)
    weighed_then = weigh_batch(then, _batch(lot.colourway.name, lot.base.name, count))
    weighed_now = weigh_batch(now, _batch(colourway.name, base.name, count))
    acids = [
        sum(dose.amount for dose in weighed.doses) if weighed.doses else None
        for weighed in (weighed_then, weighed_now)
    ]
    return Again(
        order=order,
        definitions="\n".join(text for _, text in defined),
        defines=tuple(name for name, _ in defined),
        dyes=tuple(_dyes(lot, now, colourway, base, count)),
        acid_then=acids[0],
        acid_now=acids[1] if today is not None else None,
        differs=tuple(_differs(lot, today, shelf, base, acids)) if today is not None else (),
        reminders=tuple(_reminders(lot)),
    )


def _batch(colourway: str, base: str, skeins: int) -> Batch:
    return Batch("01", colourway, base, skeins)


def _fresh(name: str, taken: list[str]) -> str:
    number, said = 1, name
    while said in taken:
        number += 1
        said = f"{name} ({number})"
    return said


def _definitions(lot: Lot, today: Plan | None) -> tuple[list[tuple[str, str]], Colourway, Base]:
    """Return (name, TOML) of what today's plan lacks, and the colourway and base the order names."""
    defined = []
    colourways = {item.name: item for item in today.colourways} if today else {}
    bases = {item.name: item for item in today.bases} if today else {}
    dyes = {item.name for item in today.dyes} if today else set()
    if today is not None:
        defined += [(f"dye {dye.name}", dye_text(_without_stock(dye))) for dye in lot.dyes if dye.name not in dyes]
        if lot.base.name not in bases:
            defined.append((f"base {lot.base.name}", base_text(replace(lot.base, on_hand=None))))
    colourway = lot.colourway
    if colourways.get(colourway.name) != colourway:
        if colourway.name in colourways:
            colourway = replace(colourway, name=_fresh(f"{colourway.name}, lot {lot.number}", list(colourways)))
        defined.append((f"colourway {colourway.name}", colourway_text(colourway)))
    return defined, colourway, bases.get(lot.base.name, lot.base)


def _without_stock(dye: Dye) -> Dye:
    return replace(dye, on_hand_g=None, bottle_ml=0.0, bottle_pct=None, bottle_made=None)


def _as_plan(
    water: Water, acid: Acid, base: Base, dyes: tuple[Dye, ...], colourway: Colourway, like: Plan | None
) -> Plan:
    """Return a plan of one colourway on one base, for working out amounts."""
    plan = like if like is not None else Plan(Session("", Date(2000, 1, 1), 0, 0))
    plan = replace(plan, water=water, acid=acid, bases=(base,), dyes=dyes, colourways=(colourway,))
    return replace(plan, orders=(), batches=())


def _today(today: Plan, lot: Lot, base: Base, colourway: Colourway) -> Plan:
    dyes = tuple(today.dye(dye.name) or dye for dye in lot.dyes)
    return _as_plan(today.water, today.acid, base, dyes, colourway, today)


def _dyes(lot: Lot, now: Plan, colourway: Colourway, base: Base, skeins: int) -> Iterator[DyeAgain]:
    sums: dict[str, list[float]] = {}
    used: dict[str, list[float | None]] = {}
    for batch in lot.batches:
        for dye in batch.dyes:
            mine = sums.setdefault(dye.dye, [0.0, 0.0])
            mine[0] += dye.recipe_g
            mine[1] += dye.recipe_ml
            seen = used.setdefault(dye.dye, [None, None])
            for place, amount in enumerate((dye.used_ml, dye.used_g)):
                if amount is not None:
                    seen[place] = (seen[place] or 0.0) + amount
    today: dict[str, list[float]] = {}
    for planned in planned_dyes(now, colourway, skeins * base.skein_g):
        mine = today.setdefault(planned.dye, [0.0, 0.0])
        mine[0] += planned.powder_g
        mine[1] += planned.solution_ml or 0.0
    for name in dict.fromkeys((*today, *sums)):
        then, seen, wants = sums.get(name, [0.0, 0.0]), used.get(name, [None, None]), today.get(name, [0.0, 0.0])
        yield DyeAgain(name, then[0], then[1], seen[0], seen[1], wants[0], wants[1])


def _differs(lot: Lot, today: Plan, shelf: Shelf, base: Base, acids: list[float | None]) -> Iterator[Differs]:
    yield from _water(lot.water, today.water)
    yield from _acid(lot.acid, today.acid, acids)
    yield from _base(lot, base)
    so = "another mill lot may take dye otherwise: try one skein first"
    yield from _lots("mill lot", lot.mill_lot, mill_lot_now(shelf, base.name), so, "look at the bands")
    for dye in lot.dyes:
        yield from _dye(lot, dye, today)
        then = lot.powder_lots.get(dye.name, lot.powder_lots.get("", ""))
        so = "powders differ from lot to lot: try one skein first"
        yield from _lots(f"{dye.name}, powder lot", then, powder_lot_now(shelf, dye.name), so, "look at the jar")


def _water(then: Water, now: Water) -> Iterator[Differs]:
    for what, was, is_, unit in (
        ("water alkalinity", then.alkalinity_mg_l, now.alkalinity_mg_l, "mg/L"),
        ("water hardness", then.hardness_mg_l, now.hardness_mg_l, "mg/L"),
        ("water temperature", then.temperature_c, now.temperature_c, "°C"),
    ):
        if was != is_:
            yield Differs(what, _said(was, unit), _said(is_, unit))


def _acid(then: Acid, now: Acid, acids: list[float | None]) -> Iterator[Differs]:
    names = [then.name, now.name]
    if names[0] != names[1]:
        yield Differs("acid", names[0], names[1])
    if then.target_ph != now.target_ph:
        yield Differs("target pH", f"{then.target_ph:g}", f"{now.target_ph:g}")
    units = [then.unit, now.unit]
    was, is_ = acids
    if was is None or is_ is None:
        if was is not is_:
            yield Differs("acid for it", _said(was, units[0]), _said(is_, units[1]), "read the pH of the soak")
    elif units[0] != units[1] or abs(was - is_) > 0.005 * max(was, is_):
        so = "" if names[0] != names[1] or was == 0 else f"{is_ / was:.2f} times as much"
        yield Differs("acid for it", _said(was, units[0]), _said(is_, units[1]), so)


def _base(lot: Lot, base: Base) -> Iterator[Differs]:
    if lot.base.skein_g != base.skein_g:
        so = f"{base.skein_g / lot.base.skein_g:.3g} times the dye for each"
        yield Differs("weight of one piece", f"{lot.base.skein_g:g} g", f"{base.skein_g:g} g", so)
    weighed = [batch for batch in lot.batches if batch.weighed and batch.skeins]
    if weighed:
        each = sum(batch.wof_g for batch in weighed) / sum(batch.skeins for batch in weighed)
        if abs(each - base.skein_g) > 0.005 * base.skein_g:
            yield Differs(
                "weighed, one piece", f"{each:.4g} g", f"{base.skein_g:g} g by count", "weigh them dry again"
            )
    if lot.base.fibre != base.fibre:
        then, now = (", ".join(f"{share:g} % {name}" for name, share in item.fibre) for item in (lot.base, base))
        yield Differs("fibre", then, now, "another fibre takes dye otherwise: try one skein first")


def _lots(what: str, then: str, now: str, so: str, look: str) -> Iterator[Differs]:
    """Yield what differs between two lots of a maker, where either is known and they are not the same."""
    if then != now:
        yield Differs(what, then or NOT_KNOWN, now or NOT_KNOWN, so if then and now else look)


def _dye(lot: Lot, dye: Dye, today: Plan) -> Iterator[Differs]:
    now = today.dye(dye.name)
    strength = dye.solution_pct if now is None else now.solution_pct
    if strength != dye.solution_pct:
        so = f"{dye.solution_pct / strength:.3g} times the mL"
        yield Differs(f"{dye.name}, solution", f"{dye.solution_pct:g} %", f"{strength:g} %", so)
    drawn = lot.solutions_made.get(dye.name, "")
    made = Date.fromisoformat(drawn.split(" + ")[0]) if drawn else dye.bottle_made if dye.bottle_ml else None
    then_days = (lot.date - made).days if made is not None else 0
    now_days = (today.session.date - now.bottle_made).days if now and now.bottle_made and now.bottle_ml else 0
    if then_days != now_days:
        yield Differs(f"{dye.name}, age of the solution", _days(then_days), _days(now_days))


def _days(days: int) -> str:
    return "mixed fresh" if days <= 0 else f"{days} days"


def _said(value: float | None, unit: str) -> str:
    return NOT_KNOWN if value is None else f"{value:.4g} {unit}"


def _reminders(lot: Lot) -> Iterator[str]:
    """Yield what the record says that a recipe does not."""
    if lot.withdrawn:
        yield f"it was withdrawn: {lot.withdrawn}"
    if lot.looks:
        yield f"against the kept swatch it was: {', '.join(lot.looks)}"
    acids = {(acid.at, acid.acid_ml, acid.acid_g, acid.bath) for batch in lot.batches for acid in batch.acids}
    if acids:
        ml, grams = sum(acid[1] for acid in acids), sum(acid[2] for acid in acids)
        amounts = [f"{ml:.4g} mL" for _ in "x" if ml] + [f"{grams:.4g} g" for _ in "x" if grams]
        shared = ", some of it in baths that others may have shared" if any(acid[3] for acid in acids) else ""
        yield f"{' and '.join(amounts)} of acid were put in for {lot.wof_g:.4g} g of yarn{shared}"
    for batch in lot.batches:
        for dye in batch.dyes:
            yield from _used_apart(batch.no, dye)
        if batch.went_back:
            yield f"batch {batch.no} went back to fix"
        for flag in batch.open_flags:
            yield f"batch {batch.no} in doubt, {flag.rule}: {flag.why}"
        if batch.overdyed_from:
            before = ", ".join(batch.overdyed_from)
            yield f"batch {batch.no} was overdyed, from {before}: the recipe is what went on last"


def _used_apart(batch_no: str, dye: LotDye) -> Iterator[str]:
    wet = (dye.used_ml, dye.recipe_ml, "mL")
    dry = (dye.used_g, 0.0 if dye.recipe_ml else dye.recipe_g, "g")
    for used, recipe, unit in (wet, dry):
        if used is not None and abs(used - recipe) > USED_APART * max(used, recipe):
            by_recipe = f"the recipe says {recipe:.4g} {unit}"
            yield f"batch {batch_no} used {used:.4g} {unit} of {dye.dye} where {by_recipe}"
