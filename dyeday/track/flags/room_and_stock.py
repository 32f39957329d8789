"""Rules about what must be enough: room in a unit and on a rack, one mix for what must match, dye, acid, yarn."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from datetime import datetime, timedelta
from itertools import takewhile

from dyeday.craft.errors import above
from dyeday.grouping import grouped
from dyeday.plan.batches import pegs_taken, soaks_in_several
from dyeday.plan.doses import acid_of_layer
from dyeday.plan.model import Base, Kit, Layer, Plan
from dyeday.plan.recipe import WASTE_PCT, planned_dyes
from dyeday.quick_dataclass import altered, dataclass
from dyeday.terms import KIT_TRAITS, AcidPlace, KitKind, State, StockKind
from dyeday.track.day.batch_record import BatchRecord, Placement
from dyeday.track.day.consumption import (
    acids_put_in,
    dye_needs_g,
    dyes_to_come,
    extra_by_plan,
    extra_recorded,
    layers_recorded,
    solution_in_all_ml,
    wetted_before,
    wetted_here,
)
from dyeday.track.day.day_state import Day
from dyeday.track.events.remarks import FlagCleared
from dyeday.track.events.session_events import Received
from dyeday.track.flags.rule import RaisedFlag, amounts, distinct_numbers
from dyeday.track.folding.fold import fold
from dyeday.track.timestamp import Moment

_HEATED = (
    "move one out, and heat what was on top again",
    "what was on top may lack heat: look at it, and heat it again",
)
"""what to do while a unit is crowded, and afterwards"""
_WET = ("move one out", "check that all of it was wet through")
_HUNG = ("move one out; it dries more slowly", "check that it is dry all through")
LEAST_SHORT_ML = 1.0
"""less clings to a jug"""
LEAST_SHORT = 0.001
"""mL or g: the last digit of a fine scale; less is rounding. Numerical choice."""
SHORT_MIX_REMEDY = "mix the rest now and stir it into what is left, before the next skein"


def over_full(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """A unit held more skeins, or grams, than it should with this batch in it; again when another goes in."""
    return _crowded(day, batch, now, hangs=False)


def crowded_rack(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """A rack held more skeins than it should once this batch was hung there; those hung before raise nothing."""
    return _crowded(day, batch, now, hangs=True)


def _crowded(day: Day, batch: BatchRecord, now: Moment, *, hangs: bool) -> Iterator[RaisedFlag]:
    for place in batch.placements:
        kit = day.plan.kit_of(place.unit)
        if kit is None or KIT_TRAITS[kit.kind].hangs is not hangs:
            continue
        others = _others(day, batch, place)
        later = (theirs.since.utc for _, theirs in others if theirs.since > place.since and not hangs)
        flagged: list[set[str]] = []
        for moment in sorted({place.since.utc, *later}):
            inside = [batch, *(other for other, theirs in others if theirs.holds(moment))]
            inside = _together_at([one for one in inside if not rests(one, place.unit, kit, moment)], moment)
            why, nos = over_room(kit, inside), {one.no for one in inside}
            if why and not any(nos <= before for before in flagged):
                flagged.append(nos)
                text = f"{place.unit}: {why} ({' + '.join(sorted(nos))})"
                remedies = _HUNG if hangs else _HEATED if KIT_TRAITS[kit.kind].heat is not None else _WET
                is_past = not over_room(kit, [one for one in inside if one.unit == place.unit])
                yield RaisedFlag(moment, text, remedies[is_past], cause=f"{text} {moment}")


def _others(day: Day, batch: BatchRecord, place: Placement) -> list[tuple[BatchRecord, Placement]]:
    others = (other for other in day.unsplit if other.no != batch.no)
    in_unit = ((other, theirs) for other in others for theirs in other.placements if theirs.unit == place.unit)
    return [(other, theirs) for other, theirs in in_unit if theirs.meets(place.since, place.until)]


def _together_at(batches: Sequence[BatchRecord], moment: datetime) -> list[BatchRecord]:
    """Return ``batches`` with those that were one batch at ``moment`` joined into it."""
    whole: dict[str, BatchRecord] = {}
    for batch in batches:
        no = batch.no_at(moment)
        if (one := whole.get(no)) is None:
            whole[no] = altered(batch, no=no)
            continue
        weighed = [b.weighed_wof_g for b in (one, batch) if b.weighed_wof_g is not None]
        weight = sum(weighed) if len(weighed) == 2 else None
        whole[no] = altered(one, skeins=one.skeins + batch.skeins, weighed_wof_g=weight)
    return list(whole.values())


def rests(batch: BatchRecord, unit: str, kit: Kit | None, at: datetime | None) -> bool:
    """Return whether a batch rests after its burst in ``unit``, a microwave: ``at`` then, else by ends on record."""
    if kit is None or not KIT_TRAITS[kit.kind].in_turn:
        return False
    heats = [heat for heat in batch.heats if heat.unit == unit and (at is None or heat.start.utc <= at)]
    ends = [heat.end if at is None else heat.end or heat.own_end for heat in heats]
    return bool(ends) and all(end is not None and (at is None or end.utc <= at) for end in ends)


def over_room(kit: Kit, inside: list[BatchRecord]) -> str:
    """Return "6 skeins, room for 4" or "700 g, room for 600 g" if a unit of ``kit`` holds too much, else ""."""

    def in_parts(batch: BatchRecord) -> bool:
        # Dish by dish or in several trays, a batch counts as one unit's fill.
        in_trays = kit.kind is KitKind.TRAY and soaks_in_several(batch.colourway)
        return KIT_TRAITS[kit.kind].in_turn or in_trays

    if kit.holds_skeins is not None:
        if KIT_TRAITS[kit.kind].hangs:
            pegs = sum(pegs_taken(b.base, b.skeins) for b in inside)
            return f"{pegs} skeins, room for {kit.holds_skeins}" if pegs > kit.holds_skeins else ""
        room = kit.holds_skeins
        counts = [room if b.skeins > room and in_parts(b) else b.skeins for b in inside]
        return f"{sum(counts)} skeins, room for {room}" if sum(counts) > room else ""
    if kit.holds_g is None:
        return ""
    limit = kit.holds_g
    weights = [limit if b.wof_g > limit and in_parts(b) else b.wof_g for b in inside]
    held, most = distinct_numbers(sum(weights), limit)
    return f"{held} g, room for {most} g" if above(sum(weights), limit) else ""


def mixed_lot(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """An order that must match got skeins from more than one mix: raised once for each further mix.

    Mixes that are all on the same batches, as after an overdye in their own colour, count as one.
    """
    if not batch.painted or batch.state is State.SCRAPPED:
        return
    matching = {order.key for order in day.plan.orders if order.match}
    for item, _ in batch.shares:
        if (order := batch.order_key(item)) not in matching:
            continue
        mixes: dict[tuple[int, str], list[tuple[datetime, str]]] = {}
        for other in day.unsplit:
            if other.state == State.SCRAPPED or order not in other.order_keys:
                continue
            for put_on in {last.layer: last for last in other.painted}.values():
                had = mixes.setdefault((other.layer_no(put_on.layer), put_on.mix), [])
                had.append((put_on.since.utc, other.no))
        alike = grouped(((layer, frozenset(no for _, no in had)), min(had)[0]) for (layer, _), had in mixes.items())
        begun = grouped((layer, min(moments)) for (layer, _), moments in alike.items())
        nos = ((sorted({no for _, no in had}), mix) for (_, mix), had in mixes.items())
        by_mix = ", ".join(f"{'+'.join(own)} from {mix!r}" for own, mix in nos)
        for another in (moment for of_layer in begun.values() for moment in sorted(of_layer)[1:]):
            yield RaisedFlag(
                max(another, batch.painted[0].since.utc),
                f"{item!r} must match, and has skeins from more than one mix: {by_mix}",
                "hold them side by side by daylight; send skeins of one mix, or sell them for alternating rows",
                cause=item,
            )


@dataclass(frozen=True, slots=True)
class ShortMix:
    """A dye of a lot that must match: what is left of its mix, and what ``batches`` still to be dyed need."""

    colourway: str
    dye: str
    left_ml: float
    wants_ml: float
    batches: tuple[str, ...]

    def __str__(self) -> str:
        return (
            f"{self.colourway} must match: about {max(0.0, self.left_ml):.0f} mL of {self.dye} are left of its mix, "
            f"and {'+'.join(self.batches)} need {self.wants_ml:.0f} mL"
        )


def short_mixes(day: Day) -> Iterator[ShortMix]:
    """Yield the dyes of lots that must match whose mix is too small for what is still to be dyed.

    None for a lot with a second mix on it. A mix is what the recipe takes and `WASTE_PCT` more; used is what was
    recorded, else the recipe's, on earlier days too.
    """
    must_match = {(order.colourway, order.base) for order in day.plan.orders if order.match}
    alive = (batch for batch in day.unsplit if batch.state is not State.SCRAPPED)
    matching = (batch for batch in alive if (batch.colourway.name, batch.base.name) in must_match)
    for lot in grouped((batch.planned_mix, batch) for batch in matching).values():
        second = any(put_on.mix != batch.planned_mix for batch in lot for put_on in batch.painted)
        if second or not any(layers_recorded(batch) for batch in lot):
            continue
        left: defaultdict[str, float] = defaultdict(float)
        wants: dict[str, dict[str, float]] = {}
        for batch in lot:
            for planned in planned_dyes(day.plan.solution_pct, batch.colourway, batch.dyed_g):
                left[planned.dye] += (planned.solution_ml or 0.0) * (1 + WASTE_PCT / 100)
            for name, ml in solution_in_all_ml(day, batch).items():
                left[name] -= ml
            for dye in dyes_to_come(day, batch):
                wants.setdefault(dye.dye, {})[batch.no] = dye.solution_ml
        for name, by_batch in wants.items():
            if above(sum(by_batch.values()), left[name] + LEAST_SHORT_ML):
                yield ShortMix(lot[0].colourway.name, name, left[name], sum(by_batch.values()), tuple(by_batch))


def short_stock(day: Day, now: Moment) -> Iterator[RaisedFlag]:
    """More needed than is known to be on hand; again when another thing or a later order makes it more."""
    if not day.events or not (short := _short_things(day)):
        return
    begun, before = day.first_at or min(event.at for event in day.events), ""
    since = {name: max(begun, min(now.utc, _short_since(day, name))) for name in short}
    for at in sorted({*since.values(), *(came for came in day.order_came_at.values() if came > begun)}):
        later = {order for order, came in day.order_came_at.items() if came > at}
        there = {no: batch for no, batch in day.batches.items() if not later & batch.order_keys}
        then = _short_things(altered(day, batches=there)) if later else short
        why = "; ".join(text for name, text in then.items() if since[name] <= at)
        if why not in ("", before):
            yield RaisedFlag(at, why, "dye fewer skeins, use a paler depth, or buy more before you start these")
        before = why


def _short_since(day: Day, name: str) -> datetime:
    """Return when a thing became short: at the entry that made it so, the first since a clearing or delivery."""
    looks = (n for n, event in enumerate(day.events[:-1], 1) if isinstance(event.body, FlagCleared | Received))
    marks = [0, *looks]
    enough = next((n for n in reversed(marks) if name not in _short_after(day, n)), None)
    if enough is None:
        return day.events[0].at
    lacks = next((n for n in marks if n > enough), len(day.events))
    while lacks - enough > 1:
        # The roundest number between: the next entry asks for the same ones, which are worked out.
        step = 1 << (enough ^ (lacks - 1)).bit_length() - 1
        middle = (lacks - 1) // step * step
        enough, lacks = (enough, middle) if name in _short_after(day, middle) else (middle, lacks)
    known = (event.at + timedelta(microseconds=1) for event in day.events[: lacks - 1])
    return max(day.events[lacks - 1].at, *known)


def _short_after(day: Day, count: int) -> Collection[str]:
    """Return what was short after the first ``count`` events; worked out once."""
    plan, recorded = day.first_plan or day.plan, day.events[:count]
    asked = (_short_after, *(event.id for event in recorded))
    if asked not in plan.worked_out:
        plan.worked_out[asked] = {*_short_things(fold(plan, recorded))}
    names: Collection[str] = plan.worked_out[asked]
    return names


def shortages(day: Day) -> Iterator[str]:
    """Yield a sentence for each dye, acid, extra and base that is short."""
    yield from _short_things(day).values()


def _short_things(day: Day) -> dict[str, str]:
    """Return the sentence about each thing that is short, by its kind and name."""
    return {f"{kind.value} {name}": f"{name}: {text}" for kind, name, text in _short(day)}


def _short(day: Day) -> Iterator[tuple[StockKind, str, str]]:
    """Yield (kind, name, how much is needed and on hand) of each thing that is short."""
    plan = day.plan
    # The needs take every batch to compute; most plans have no amounts on hand.
    needs = dye_needs_g(day) if any(dye.on_hand_g is not None for dye in plan.dyes) else {}
    for dye in plan.dyes:
        solution_g, powder_g = needs.get(dye.name, (0.0, 0.0))
        # What is left in the bottle serves solutions only, and comes before powder.
        bottle = min(dye.bottle_ml * (dye.bottle_pct or dye.solution_pct) / 100, solution_g)
        if dye.on_hand_g is not None and solution_g + powder_g - dye.on_hand_g - bottle >= LEAST_SHORT:
            takes, has, wet = distinct_numbers(solution_g + powder_g, dye.on_hand_g, bottle, least=1)
            old = f" and {wet} g in the bottle" if bottle else ""
            yield StockKind.DYE, dye.name, f"{takes} g needed, {has} g on hand{old}"
    if plan.acid.on_hand is not None and (acid := acid_need(day)) - plan.acid.on_hand >= LEAST_SHORT:
        takes, has = amounts(acid, plan.acid.on_hand)
        needs_acid = f"{takes} {plan.acid.unit} needed, {has} {plan.acid.unit} on hand"
        yield StockKind.ACID, plan.acid.name, needs_acid
    takes_yarn = (batch for batch in day.unsplit if batch.state is not State.SCRAPPED or wetted_here(batch))
    of_day = [batch for batch in takes_yarn if not wetted_before(batch)]
    for extra in plan.extras:
        if extra.on_hand is None:
            continue
        need = sum(extra_recorded(day, extra).values()) + sum(extra_by_plan(day, extra, of_day).values())
        if need - extra.on_hand >= LEAST_SHORT:
            takes, has = amounts(need, extra.on_hand)
            yield StockKind.EXTRA, extra.name, f"{takes} {extra.unit} needed, {has} {extra.unit} on hand"
    for base in plan.bases:
        if base.on_hand is None:
            continue
        pieces = sum(batch.dyed_skeins for batch in of_day if batch.base.name == base.name)
        if pieces > base.on_hand:
            yield StockKind.YARN, base.name, f"{pieces} {base.form.value}s needed, {base.on_hand:g} on hand"


def acid_need(day: Day) -> float:
    """Return the acid the day takes, mL or g: what is on record, and the dose for layers not begun.

    Unlike the shelf it takes a layer begun without acid on record for one without acid: its flag says that.
    """
    plan = day.plan
    total = sum(put.amount_of(plan.acid) for put in acids_put_in(day))
    for batch in day.unfinished:
        for number, layer in enumerate(batch.colourway.layers, 1):
            in_soak = layer.acid_in is AcidPlace.SOAK
            begun = _soaked(batch, number) if in_soak else any(p.layer == number for p in batch.painted)
            total += 0.0 if begun else _acid_of(plan, layer, batch.wof_g, batch.base)
    return total


def _acid_of(plan: Plan, layer: Layer, wof_g: float, base: Base) -> float:
    """Return the acid a layer takes, mL or g; worked out once for a plan."""
    asked = (acid_of_layer, layer, wof_g, base)
    if asked not in plan.worked_out:
        dose = acid_of_layer(plan, layer, wof_g, base)
        plan.worked_out[asked] = dose.amount if dose is not None else 0.0
    amount: float = plan.worked_out[asked]
    return amount


def _soaked(batch: BatchRecord, layer: int) -> bool:
    """Return whether a batch has come to a layer's soak, or past it, since it last waited dry."""
    stays = (stay for stay in reversed(batch.stays) if stay.state is not State.SET_ASIDE)
    since = takewhile(lambda stay: stay.state is not State.WAITING, stays)
    return any(stay.layer >= layer for stay in since)
