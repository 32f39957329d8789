"""Events that change what a batch is: split, counted, tagged, overdyed, dye used."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from dyeday.craft.errors import below
from dyeday.plan.batches import take_shares
from dyeday.plan.model import OrderKey
from dyeday.quick_dataclass import altered
from dyeday.terms import State
from dyeday.text import brief, counted, harmless
from dyeday.track import event_keys as check
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.batch_split import split_batch
from dyeday.track.day.consumption import layers_recorded
from dyeday.track.day.day_state import Day, Event
from dyeday.track.day.transitions import OfBatch
from dyeday.track.event_keys import EventError, key

_APART = ("powder", "extra")
"""names under which amounts of another measure have a table of their own"""


def _into(name: str, value: Any) -> dict[str, int]:
    if not isinstance(value, Mapping) or len(value) < 2:
        raise EventError("a split needs two parts or more", 'write "into": {"03a": 3, "03b": 2}')
    for no in value:
        if not check.BATCH_NO.match(str(no)):
            raise EventError(f"{brief(no)} is not a batch number", 'write such as "03a"')
    return {str(no): check.skeins(f"{name} {no}", skeins) for no, skeins in value.items()}


class Split(OfBatch):
    """A batch goes on as its parts."""

    NAME = "split"
    KNOWN_BY = ("into",)
    into: Mapping[str, int] = key(_into)

    def apply(self, day: Day, event: Event) -> Day:
        return split_batch(day, event.batch or "", self.into, event.moment, event.id)

    def refuse_of(self, day: Day, batch: BatchRecord, event: Event, *, typed: bool) -> None:
        total = sum(self.into.values())
        if total != batch.skeins:
            what = f"batch {batch.no} has {counted(batch.skeins, 'skein')}, the parts have {total}"
            raise EventError(what, "make them add up, or record the new count first")
        if taken := [no for no in self.into if no in day.batches]:
            raise EventError(f"batch {taken[0]} exists already", "give the parts new letters")

    def words(self, event: Event, day: Day | None) -> str:
        return "split into " + ", ".join(f"{no} ({count})" for no, count in self.into.items())


class Counted(OfBatch):
    """The skeins of a batch were counted again; a weight by the scale follows in proportion, as in a split."""

    NAME = "counted"
    KNOWN_BY = ("skeins",)
    skeins: int = key(check.skeins)

    def change(self, day: Day, batch: BatchRecord, event: Event) -> BatchRecord:
        shares, _ = take_shares(batch.shares, self.skeins)
        more = self.skeins - sum(count for _, count in shares)
        if more > 0 and shares:
            shares = (*shares[:-1], (shares[-1][0], shares[-1][1] + more))
        lost = batch.lost + (batch.skeins - self.skeins if batch.painted else 0)
        weighed_g = batch.weighed_wof_g and batch.weighed_wof_g * self.skeins / batch.skeins
        return altered(batch, skeins=self.skeins, shares=shares, weighed_wof_g=weighed_g, lost=lost)

    def words(self, event: Event, day: Day | None) -> str:
        return f"counted {counted(self.skeins, 'skein')}"


class Tagged(OfBatch):
    """A batch is tied with another tag."""

    NAME = "tagged"
    WORDS = "tag {tag}"
    KNOWN_BY = ("tag",)
    tag: str = key(check.tag)

    def change(self, day: Day, batch: BatchRecord, event: Event) -> BatchRecord:
        return altered(batch, tag=self.tag)


class Overdyed(OfBatch):
    """A batch goes on under another colourway."""

    NAME = "overdyed"
    WORDS = "overdyed into {colourway}"
    KNOWN_BY = ("colourway",)
    colourway: str = key(check.name)

    def change(self, day: Day, batch: BatchRecord, event: Event) -> BatchRecord:
        colourway = next((item for item in day.plan.colourways if item.name == self.colourway), None)
        if colourway is None:
            return batch
        own = (batch.colourway.name, len(batch.painted_since_overdye), layers_recorded(batch))
        has_dye = any(put_on.layer == batch.layer for put_on in batch.painted)
        dyed = max(0, batch.layer if has_dye else batch.layer - 1)
        recipes = (batch.colourway.layers[:dyed],) if dyed else ()
        # The new colourway's layers count from 1, those beneath it from 0 down.
        past = ("stays", "heats", "acids", "readings", "painted")
        return altered(
            batch,
            colourway=colourway,
            layer=batch.layer - dyed,
            overdyed_from=(*batch.overdyed_from, batch.colourway.name),
            beneath=tuple((name, n, recorded - dyed) for name, n, recorded in (*batch.beneath, own)),
            recipes_beneath=(*batch.recipes_beneath, *recipes),
            recorded_layer=0,
            planned_mix=f"{batch.planned_mix} > {self.colourway}",
            lot="",
            **{name: tuple(replace(one, layer=one.layer - dyed) for one in getattr(batch, name)) for name in past},
        )

    def refuse_of(self, day: Day, batch: BatchRecord, event: Event, *, typed: bool) -> None:
        check.known("the plan has no colourway", self.colourway, [each.name for each in day.plan.colourways])


def orders_short(day: Day, recorded: Iterable[Event]) -> str:
    """Return "; Fair: 7 of 8 Plum Soot": orders that a count or overdye just recorded leaves short of skeins."""
    changed = (day.batches[e.batch or ""] for e in recorded if isinstance(e.body, Counted | Overdyed))
    keys = {(batch.base.name, name) for batch in changed for name in batch.colours}
    orders = dict.fromkeys(order.key for order in day.plan.orders if (order.base, order.colourway) in keys)
    short = ((item, colourway, *wanted_and_has(day, (item, colourway, base))) for item, colourway, base in orders)
    return "".join(
        f"; {item}: {has} of {wanted} {colourway}" for item, colourway, wanted, has in short if has < wanted
    )


def wanted_and_has(day: Day, key: OrderKey) -> tuple[int, int]:
    """Return how many skeins the orders of a key want, and how many the batches bring for them."""
    wanted = sum(order.skeins for order in day.plan.orders if order.key == key)
    alive = (one for one in day.unsplit if one.state is not State.SCRAPPED)
    return wanted, sum(count for one in alive for item, count in one.shares if one.order_key(item) == key)


def _amounts(name: str, value: Any) -> dict[str, Any]:
    if not isinstance(value, Mapping) or not value:
        raise EventError(f"{name} is not a table of amounts", f'write "{name}": {{"dye": 40}} in mL')
    out: dict[str, Any] = {}
    for each, amount in value.items():
        if each in _APART and isinstance(amount, Mapping):
            out[each] = {harmless(one): check.amount(f"{name} {one}", much) for one, much in amount.items()}
        else:
            out[harmless(each)] = check.amount(f"{name} {harmless(each)}", amount)
    return out


class DyeUsed(OfBatch):
    """Dye and extras that a batch took, or that were left over: mL of solution, g of powder, an extra in its unit."""

    NAME = "used"
    KNOWN_BY = ("used", "left_over")
    ONE_OF = ("used", "left_over")
    used: Mapping[str, Any] | None = key(_amounts, default=None)
    left_over: Mapping[str, Any] | None = key(_amounts, default=None)

    def change(self, day: Day, batch: BatchRecord, event: Event) -> BatchRecord:
        (used, powder, extra), (left, powder_left, extra_left) = map(_by_measure, (self.used, self.left_over))
        return altered(
            batch,
            used_ml=_added(batch.used_ml, used),
            powder_g=_added(batch.powder_g, powder, powder_left),
            left_over_ml=_added(batch.left_over_ml, left),  # it stands in a bottle, and is counted apart
            recorded_layer=batch.layer if used or powder else batch.recorded_layer,
            extras=_added(batch.extras, extra, extra_left),
        )

    def refuse_of(self, day: Day, batch: BatchRecord, event: Event, *, typed: bool) -> None:
        dyes, extras = [dye.name for dye in day.plan.dyes], [extra.name for extra in day.plan.extras]
        for solution, powder, extra in map(_by_measure, (self.used, self.left_over)):
            for name in (*solution, *powder):
                check.known("the plan has no dye", name, dyes)
            for name in extra:
                check.known("the plan has no extra", name, extras)
        after = self.change(day, batch, event)
        left_ml = dict(after.left_over_ml)
        of_solution = ((name, used_ml - left_ml.get(name, 0.0)) for name, used_ml in after.used_ml)
        for name, amount in (*after.powder_g, *after.extras, *of_solution) if typed and self.left_over else ():
            if below(amount, 0.0):
                raise EventError(f"more {name} is left over than was used", "record what was used first")

    def words(self, event: Event, day: Day | None) -> str:
        parts = []
        for amounts, word in ((self.used, "used"), (self.left_over, "left over")):
            solution, powder, extra = _by_measure(amounts)
            parts += [f"{word} {ml:g} mL {dye}" for dye, ml in solution.items()]
            parts += [f"{word} {grams:g} g {dye} powder" for dye, grams in powder.items()]
            parts += [f"{word} {much:g} of {name}" for name, much in extra.items()]
        return ", ".join(parts)


def _by_measure(amounts: Mapping[str, Any] | None) -> list[dict[str, float]]:
    """Return mL of solution by dye, g of powder by dye, and amounts of extras by name.

    A dye may be called "powder" or "extra": a number under such a name is of solution.
    """
    apart = {name: amount for name, amount in (amounts or {}).items() if isinstance(amount, Mapping)}
    solution = {name: amount for name, amount in (amounts or {}).items() if name not in apart}
    return [solution, *(dict(apart.get(name, {})) for name in _APART)]


def _added(
    sums: tuple[tuple[str, float], ...], more: Mapping[str, float], back: Mapping[str, float] | None = None
) -> tuple[tuple[str, float], ...]:
    """Return ``sums`` with ``more`` added, and ``back`` taken off, name by name."""
    total = defaultdict(float, sums)
    for sign, amounts in ((1, more), (-1, back or {})):
        for name, amount in amounts.items():
            total[name] += sign * amount
    return tuple(total.items())
