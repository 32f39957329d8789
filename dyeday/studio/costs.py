"""What lots and orders cost and bring: dye, acid, yarn, energy, work and extras used, by the plan's prices.

Painting, rinsing, loading and unloading are paid, chores are not: how long they took is seldom recorded.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import field
from itertools import pairwise

from dyeday.craft.yarn.heat_into_yarn import energy_kwh
from dyeday.plan.model import Plan
from dyeday.quick_dataclass import dataclass
from dyeday.studio.lots.lot_numbers import lot_numbers
from dyeday.studio.parcels import Outgoing, continued
from dyeday.terms import State
from dyeday.track.day.batch_record import AcidIn, BatchRecord, Heat
from dyeday.track.day.consumption import (
    acid_by_plan,
    acids_consumed,
    dyes_consumed,
    extra_by_plan,
    extra_recorded,
    wetted_before,
    wetted_here,
)
from dyeday.track.day.day_state import Day
from dyeday.track.durations import ATTENDED, durations_of
from dyeday.track.timestamp import NO_END, minutes


@dataclass(frozen=True, slots=True)
class CostLine:
    """One thing that went into a lot, at ``price`` a ``unit``; lost pieces raise the price of the yarn left."""

    what: str
    amount: float
    unit: str
    price: float

    @property
    def money(self) -> float:
        """Amount times price."""
        return self.amount * self.price


@dataclass(frozen=True, slots=True)
class LotCost:
    """A lot's cost; ``unpriced`` are the things in it without a known price."""

    lot: str
    colourway: str
    base: str
    lines: tuple[CostLine, ...]
    unpriced: tuple[str, ...]
    by_recipe: bool
    """whether the recipe's amount counts for some of its dye or acid, which was not recorded"""
    sellable: int
    """pieces not scrapped"""
    bearing: int
    """pieces that bear the cost: those not scrapped; if all were, all of them"""

    @property
    def total_money(self) -> float:
        """Money for the whole lot."""
        return sum(line.money for line in self.lines)

    @property
    def money_per_piece(self) -> float:
        """Money for one piece that bears the cost."""
        return self.total_money / self.bearing


@dataclass(frozen=True, slots=True)
class OrderMargin:
    """An order's ready pieces: cost, price (None if unknown) and margin."""

    item: str
    colourway: str
    base: str
    pieces: int
    cost: float
    brings: float | None

    @property
    def margin(self) -> float | None:
        """What it brings less what it costs; None without a price."""
        return None if self.brings is None else self.brings - self.cost


@dataclass()
class _Sums:
    """What went into one lot over the days."""

    colourway: str
    base: str
    plan: Plan
    """the latest day's, whose prices count; an acid has that of the latest plan with it"""
    skeins: int = 0
    scrapped: int = 0
    yarn: int = 0
    dyes_g: defaultdict[str, float] = field(default_factory=lambda: defaultdict(float))
    extras: defaultdict[str, float] = field(default_factory=lambda: defaultdict(float))
    acids: defaultdict[tuple[str, str], float] = field(default_factory=lambda: defaultdict(float))
    """by (kind, unit)"""
    acid_prices: dict[tuple[str, str], float | None] = field(default_factory=dict)
    kwh: float = 0.0
    hands_min: float = 0.0
    by_recipe: bool = False


def lot_costs(days: Sequence[tuple[str, Day]]) -> list[LotCost]:
    """Return what each lot of ``days``, (session id, day) oldest first, cost; only of batches that were wetted."""
    lots: dict[str, _Sums] = {}
    later, numbers_of = continued(days), _numbers(days)
    for session, day in days:
        numbers = numbers_of[session]
        extras = _extras(day)
        hands = defaultdict[str, float](float)
        for one in durations_of(day):
            if one.kind in ATTENDED:
                hands[one.batch] += min(one.planned_min, one.actual_min) if one.at_most else one.actual_min
        for batch in day.batches.values():
            if not (batch.state == State.SPLIT or wetted_here(batch) or wetted_before(batch)):
                continue
            for no, fraction in _parts(day, batch):
                of_lot = lots.setdefault(numbers[no], _Sums(batch.colourway.name, batch.base.name, day.plan))
                of_lot.plan = day.plan
                _add(of_lot, day, batch, fraction)
                for name, amounts in extras.items():
                    of_lot.extras[name] += amounts.get(batch.no, 0.0) * fraction
                of_lot.hands_min += hands[batch.no] * fraction
            if batch.state == State.SCRAPPED:
                of_lot.scrapped += batch.skeins
            elif batch.state != State.SPLIT and (session, batch.no) not in later:
                of_lot.skeins += batch.skeins
    return [_cost(number, each) for number, each in lots.items() if each.skeins or each.scrapped]


def _numbers(days: Sequence[tuple[str, Day]]) -> dict[str, dict[str, str]]:
    """Return the lot's number of each batch, by session; of a batch carried on, the number on its last day."""
    numbers: dict[str, dict[str, str]] = {}
    later: dict[tuple[str, str], str] = {}
    for session, day in reversed(days):
        numbers[session] = {no: later.get((session, no), own) for no, own in lot_numbers(day, session).items()}
        for batch in day.unsplit:
            if batch.carried is not None:
                later.setdefault((batch.carried.session, batch.carried.no_there), numbers[session][batch.no])
    return numbers


def _parts(day: Day, batch: BatchRecord) -> list[tuple[str, float]]:
    """Return the number of a batch, or of each part it became, with the fraction of the yarn, 0 to 1."""
    if batch.state != State.SPLIT:
        return [(batch.no, 1.0)]
    parts = [part for part in day.unsplit if batch.no in day.lineage(part)]
    total = sum(part.dyed_skeins for part in parts)
    return [(part.no, part.dyed_skeins / total) for part in parts]


def _add(sums: _Sums, day: Day, batch: BatchRecord, fraction: float) -> None:
    plan = day.plan
    for used in dyes_consumed(day, batch):
        sums.dyes_g[used.dye] += used.grams(plan.solution_pct(used.dye)) * fraction
        sums.by_recipe = sums.by_recipe or not used.recorded
    by_plan = acid_by_plan(day, batch)
    sums.by_recipe = sums.by_recipe or by_plan > 0
    acid = (by_plan + sum(put.amount_of(plan.acid) for put in acids_consumed(day, batch))) * fraction
    if batch.state != State.SPLIT:
        acid += sum(put.amount_of(plan.acid) * of_bath for put, of_bath in _bath_acids(day, batch))
        sums.kwh += sum(_heat_kwh(day, batch, heat) for heat in batch.heats if batch.is_of_session(heat.start.utc))
    kind = plan.acid.kind.value, plan.acid.unit
    sums.acids[kind] += acid
    sums.acid_prices[kind] = plan.acid.price
    sums.yarn += batch.dyed_skeins if wetted_here(batch) else 0


def _extras(day: Day) -> dict[str, dict[str, float]]:
    """Return how much of each extra went, mL or g, by batch: as recorded, else by the plan."""
    begun = [batch for batch in day.batches.values() if wetted_here(batch)]
    extras = day.plan.extras
    return {extra.name: {**extra_by_plan(day, extra, begun), **extra_recorded(day, extra)} for extra in extras}


def _bath_acids(day: Day, batch: BatchRecord) -> Iterator[tuple[AcidIn, float]]:
    """Yield the acid of baths a batch was in, with its fraction by weight, lost skeins too, of all that had it."""
    for unit in {place.unit for place in batch.placements} & day.units.keys():
        for bath in day.units[unit].baths:
            for put in bath.acids_by(NO_END):
                stays = ((b, place) for b in day.unsplit for place in b.placements if place.unit == unit)
                later = {b.no: b for b, place in stays if place.until is None or place.until.utc >= put.at.utc}
                had = [b for b in later.values() if any(no in day.lineage(b) for no, _ in bath.entered)]
                if batch in had:
                    yield put, batch.dyed_g / sum(b.dyed_g for b in had)


def _heat_kwh(day: Day, batch: BatchRecord, heat: Heat) -> float:
    """Return the energy of a batch's heat: its unit's input power, split by weight among the batches heated then."""
    kit = day.plan.kit_of(heat.unit)
    if kit is None or kit.power_w is None or heat.end is None or heat.end.utc <= heat.start.utc:
        return 0.0
    start, end = heat.start.utc, heat.end.utc
    heats = ((each, one.dyed_g) for one in day.unsplit for each in one.heats if each.unit == heat.unit)
    on = [(each.start.utc, each.end.utc if each.end is not None else end, dyed_g) for each, dyed_g in heats]
    edges = sorted({start, end, *(at for *stretch, _ in on for at in stretch if start < at < end)})
    stretches = ((at, (until - at) / (end - start)) for at, until in pairwise(edges))
    own = sum(part * batch.dyed_g / sum(dyed_g for a, b, dyed_g in on if a <= at < b) for at, part in stretches)
    return energy_kwh(kit.power_w, minutes(heat.start, heat.end)) * own


def _cost(number: str, sums: _Sums) -> LotCost:
    plan, unpriced = sums.plan, list[str]()

    def price(known: float | None, name: str, amount: float) -> float:
        if known is None and amount:
            unpriced.append(name)
        return known or 0.0

    bearing = sums.skeins or sums.scrapped
    base = next((b for b in plan.bases if b.name == sums.base), None)
    yarn_price = price(base.price if base is not None else None, "yarn", sums.yarn)
    lines = [CostLine("yarn", bearing, "skein", yarn_price * sums.yarn / bearing)]
    for name, grams in sums.dyes_g.items():
        dye = plan.dye(name)
        per_g = price(dye.price_per_g if dye is not None else None, name, grams)
        lines.append(CostLine(name, max(0.0, grams), "g", per_g))
    for (acid, unit), put_in in sums.acids.items():
        lines.append(CostLine("acid", put_in, unit, price(sums.acid_prices[acid, unit], acid, put_in)))
    lines += [
        CostLine("energy", sums.kwh, "kWh", price(plan.money.energy_per_kwh, "energy", sums.kwh)),
        CostLine("hands", sums.hands_min / 60, "h", price(plan.money.hands_per_h, "hands", sums.hands_min)),
    ]
    for extra in plan.extras:
        if amount := sums.extras.get(extra.name):
            lines.append(CostLine(extra.name, amount, extra.unit, price(extra.price, extra.name, amount)))
    unpriced += [name for name, amount in sums.extras.items() if amount and name not in {e.name for e in plan.extras}]
    names = number, sums.colourway, sums.base
    return LotCost(*names, tuple(lines), tuple(unpriced), sums.by_recipe, sums.skeins, bearing)


def order_margins(outgoing: Outgoing, lots: Sequence[LotCost], days: Sequence[tuple[str, Day]]) -> list[OrderMargin]:
    """Return what each order's ready pieces cost and bring, by parcel, then samples, which bring nothing."""
    per_skein = {lot.lot: lot.money_per_piece for lot in lots}
    every = [(order, day.plan.base(order.base).sells) for _, day in days for order in day.plan.orders]
    # Of orders alike, one added to dye lost skeins again has no price of its own.
    sells = {order.key: base for order, base in every} | {o.key: o.price for o, _ in every if o.price is not None}
    rows = []
    for status in outgoing.orders:
        cost = sum(per_skein.get(pieces.lot, 0.0) * pieces.skeins for pieces in status.pieces)
        price = 0.0 if status.order.sample else sells[status.order.key]
        brings = None if price is None else price * status.ready
        rows.append(OrderMargin(*status.order.key, status.ready, cost, brings))
    return rows


def money_text(amount: float, plan: Plan) -> str:
    """Return an amount with two decimals and the plan's currency."""
    return f"{amount:.2f} {plan.money.currency}".rstrip()
