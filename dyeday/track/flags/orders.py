"""Rules about orders: one mix for skeins that must match, and enough dye, acid, extras and yarn on hand."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from dyeday.craft.errors import above
from dyeday.grouping import grouped
from dyeday.plan.doses import acid_of_layer
from dyeday.plan.model import Base, Extra, Layer, Plan
from dyeday.terms import AcidPlace, State
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.consumption import acid_put_in, dye_needs_g, extra_by_plan, extra_recorded, wetted_before
from dyeday.track.day.day_state import Day
from dyeday.track.flags.rule import RaisedFlag, amounts, distinct_numbers
from dyeday.track.timestamp import Moment


def mixed_lot(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """An order that must match got skeins from more than one mix.

    Raised once for each further mix: at its first skein, or when this batch got dye, if later.
    """
    matching = {order.key for order in day.plan.orders if order.match}
    for item, _ in batch.shares:
        order = next((key for key in batch.order_keys(item) if key in matching), None)
        if order is None or not batch.painted:
            continue
        mixes: dict[tuple[int, str], set[str]] = {}
        first: dict[tuple[int, str], datetime] = {}
        for other in day.unsplit:
            if other.state == State.SCRAPPED or not any(order in other.order_keys(name) for name, _ in other.shares):
                continue
            for put_on in {last.layer: last for last in other.painted}.values():
                key = (put_on.layer, put_on.mix)
                mixes.setdefault(key, set()).add(other.no)
                first[key] = min(first.get(key, put_on.since.utc), put_on.since.utc)
        begun = grouped((layer, moment) for (layer, _), moment in first.items())
        by_mix = ", ".join(f"{'+'.join(sorted(nos))} from {mix!r}" for (_, mix), nos in mixes.items())
        for another in (moment for of_layer in begun.values() for moment in sorted(of_layer)[1:]):
            yield RaisedFlag(
                max(another, batch.painted[0].since.utc),
                f"{item!r} must match, and has skeins from more than one mix: {by_mix}",
                "hold them side by side by daylight; send skeins of one mix, or sell them for alternating rows",
                cause=item,
            )


def short_stock(day: Day, now: Moment) -> Iterator[RaisedFlag]:
    """More needed than is on hand; not raised where the amount on hand is unknown."""
    if not day.events:
        return
    since = day.first_at or min(event.at for event in day.events)
    short = list(shortages(day))
    if short:
        yield RaisedFlag(
            since, "; ".join(short), "dye fewer skeins, use a paler depth, or buy more before you start these"
        )


def shortages(day: Day) -> Iterator[str]:
    """Yield a sentence for every dye, for the acid, for every extra and every base that is short."""
    plan = day.plan
    # What is on hand is often not known, and what is needed takes the recipe of every batch to say.
    needs = dye_needs_g(day) if any(dye.on_hand_g is not None for dye in plan.dyes) else {}
    for dye in plan.dyes:
        solution_g, powder_g = needs.get(dye.name, (0.0, 0.0))
        # What is left in the bottle serves solutions only, and comes before powder.
        bottle = min(dye.bottle_ml * (dye.bottle_pct or dye.solution_pct) / 100, solution_g)
        if dye.on_hand_g is not None and above(solution_g + powder_g, dye.on_hand_g + bottle):
            takes, has, wet = distinct_numbers(solution_g + powder_g, dye.on_hand_g, bottle, least=1)
            old = f" and {wet} g in the bottle" if bottle else ""
            yield f"{dye.name}: {takes} g needed, {has} g on hand{old}"
    if plan.acid.on_hand is not None and above(acid := acid_need(day), plan.acid.on_hand):
        takes, has = amounts(acid, plan.acid.on_hand)
        yield f"{plan.acid.name}: {takes} {plan.acid.unit} needed, {has} {plan.acid.unit} on hand"
    for extra in plan.extras:
        if extra.on_hand is not None and above(of_extra := extra_need(day, extra), extra.on_hand):
            takes, has = amounts(of_extra, extra.on_hand)
            yield f"{extra.name}: {takes} {extra.unit} needed, {has} {extra.unit} on hand"
    for base in plan.bases:
        if base.on_hand is None:
            continue
        pieces = sum(b.skeins for b in day.unsplit if b.base.name == base.name and not wetted_before(b))
        if pieces > base.on_hand:
            yield f"{base.name}: {pieces} {base.form.value}s needed, {base.on_hand:g} on hand"


def acid_need(day: Day) -> float:
    """Return the acid the day takes, mL or g: what was put in, and the dose for what was not begun yet."""
    plan = day.plan
    total = acid_put_in(day)
    for batch in day.unfinished:
        for number, layer in enumerate(batch.colourway.layers, 1):
            in_soak = layer.acid_in is AcidPlace.SOAK
            begun = _soaked(batch, number) if in_soak else any(p.layer == number for p in batch.painted)
            total += 0.0 if begun else _acid_of(plan, layer, batch.wof_g, batch.base)
    return total


def _acid_of(plan: Plan, layer: Layer, wof_g: float, base: Base) -> float:
    """Return the acid a layer takes, mL or g; worked out once for a plan, as every entry asks."""
    asked = (layer, wof_g, base)
    if asked not in plan.worked_out:
        dose = acid_of_layer(plan, layer, wof_g, base)
        plan.worked_out[asked] = dose.amount if dose is not None else 0.0
    return plan.worked_out[asked]


def extra_need(day: Day, extra: Extra) -> float:
    """Return what the day takes of an extra, in its own unit: as recorded, else by the plan."""
    to_wet = [batch for batch in day.unsplit if batch.state != State.SCRAPPED and not wetted_before(batch)]
    return sum(extra_recorded(day, extra).values()) + sum(extra_by_plan(day, extra, to_wet).values())


def _soaked(batch: BatchRecord, layer: int) -> bool:
    """Return whether the soak of a layer has begun, or was passed over."""
    if layer == 1:
        return batch.state != State.WAITING
    return any(stay.layer >= layer and stay.state in (State.SOAK, State.PAINT) for stay in batch.stays)
