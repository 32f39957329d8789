"""Orders become lots, lots become numbered batches.

Orders of one colourway and base are a lot. It is split into ⌈n / holds⌉ batches for the smallest kit on its way that
limits a batch, sizes differing by at most one, larger first, numbered by due date, then in the plan's order.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date
from functools import lru_cache
from itertools import count as count_from
from math import ceil
from string import ascii_lowercase

from dyeday.craft.errors import round_up
from dyeday.grouping import grouped
from dyeday.plan.model import Base, Batch, Colourway, HandBatch, Order, Plan
from dyeday.quick_dataclass import dataclass
from dyeday.terms import KIT_OF_HEAT, KIT_TRAITS, DyeMethod, Form, KitKind
from dyeday.text import counted

MOST_BATCHES = 999
"""most batches: three digits"""


@dataclass(frozen=True, slots=True)
class PlannedLot:
    """Skeins of one colourway on one base, with the orders they are for."""

    colourway: str
    base: str
    orders: tuple[Order, ...]

    @property
    def skeins(self) -> int:
        """Pieces ordered, spares among them."""
        return sum(order.skeins + order.spare for order in self.orders)

    @property
    def due(self) -> date | None:
        """The earliest due date of its orders; None where none has one."""
        return min((order.due for order in self.orders if order.due), default=None)


def lots_of(orders: Iterable[Order]) -> tuple[PlannedLot, ...]:
    """Return the lots in the order of the day: by due date (none last), then by the plan's order."""
    alike = grouped(((order.colourway, order.base), order) for order in orders)
    lots = [PlannedLot(colourway, base, tuple(of)) for (colourway, base), of in alike.items()]
    return tuple(sorted(lots, key=lambda lot: lot.due or date.max))


def kinds_needed(colourway: Colourway) -> tuple[KitKind, ...]:
    """Return the kinds of kit that a colourway's yarn lies in, in the order of their table."""
    kinds = {KitKind.TRAY}
    for layer in colourway.layers:
        if layer.how is DyeMethod.IMMERSED:
            kinds.add(KitKind.POT)
        kinds |= {KIT_OF_HEAT[step.how] for step in layer.heats}
    return tuple(kind for kind in KitKind if kind in kinds)


def soaks_in_several(colourway: Colourway) -> bool:
    """Return whether a batch may soak in several trays: yarn that is immersed afterwards is dyed in one pot."""
    soaked = (layer for n, layer in enumerate(colourway.layers) if n == 0 or layer.own_acid_soak)
    return all(layer.how is DyeMethod.IMMERSED for layer in soaked)


def largest_batch(plan: Plan, lot: PlannedLot) -> int | None:
    """Return how many skeins of a lot fit every unit on the way; 0 where a kind holds none, None without a limit."""
    colourway, skein_g, limits = plan.colourway(lot.colourway), plan.base(lot.base).skein_g, []
    for kind in kinds_needed(colourway):
        if not KIT_TRAITS[kind].limits_batch or (kind is KitKind.TRAY and soaks_in_several(colourway)):
            continue
        holds = [n for item in plan.kit if item.kind is kind and (n := item.skeins_of(skein_g)) is not None]
        if holds:
            limits.append(min((n for n in holds if n > 0), default=0))
    return min(limits, default=None)


PEG_G = 100.0
"""grams of minis that take the room of one skein on a rack; common practice, no source"""


def pegs_taken(base: Base, pieces: int) -> int:
    """Return the room that ``pieces`` take on a rack, in skeins: minis hang several to a peg, by weight."""
    return round_up(pieces * min(1.0, base.skein_g / PEG_G)) if base.form is Form.MINI else pieces


def batch_sizes(skeins: int, holds: int | None) -> tuple[int, ...]:
    """Return the sizes ``skeins`` are split into: as few as possible, differing by at most one, larger first."""
    if not holds or skeins <= 0:
        return (skeins,) if skeins > 0 else ()
    parts = ceil(skeins / holds)
    small, larger = divmod(skeins, parts)
    return tuple(small + 1 if n < larger else small for n in range(parts))


def shares_of(
    orders: Sequence[Order], counts: Sequence[int], wanted: Sequence[str | None] = ()
) -> list[tuple[tuple[str, int], ...]]:
    """Return whose skeins each batch has, order after order; ``wanted`` names which order each begins with."""
    left = [(order.item, order.skeins + order.spare) for order in orders]
    out = []
    for n, count in enumerate(counts):
        if n < len(wanted):
            left.sort(key=lambda pair: pair[0] != wanted[n])
        share, left = take_shares(left, count)
        out.append(share)
    return out


def shares_text(plan: Plan, no: str, yarn: tuple[str, str], shares: Sequence[tuple[str, int]]) -> str:
    """Return whose skeins batch ``no`` of a (colourway, base) has: "Shop (2 and 1 spare)", spares last."""
    parts = []
    for item, count in shares:
        key = (item, *yarn)
        ordered = sum(order.skeins for order in plan.orders if order.key == key)
        before = (other for other in plan.batches if other.no <= no)
        shared = ((other, name, skeins) for other in before for name, skeins in other.shares)
        up_to = sum(skeins for other, name, skeins in shared if (name, other.colourway, other.base) == key)
        spare = min(count, max(0, up_to - ordered)) if ordered else 0
        words = [f"{count - spare}"] * (count > spare) + [f"{spare} spare"] * (spare > 0)
        parts.append(f"{item} ({' and '.join(words)})")
    return ", ".join(parts)


def take_shares(
    shares: Sequence[tuple[str, int]], skeins: int
) -> tuple[tuple[tuple[str, int], ...], list[tuple[str, int]]]:
    """Take ``skeins`` off the front of (order, skeins) pairs; return the pairs taken and those that are left."""
    taken: list[tuple[str, int]] = []
    left = list(shares)
    while skeins > 0 and left:
        item, count = left.pop(0)
        from_order = min(skeins, count)
        taken.append((item, from_order))
        skeins -= from_order
        if count > from_order:
            left.insert(0, (item, count - from_order))
    return tuple(taken), left


def batch_no(index: int, total: int) -> str:
    """Return batch number ``index`` (from 1) as it is written: two digits, three from 100 batches on."""
    return f"{index:0{2 if total < 100 else 3}d}"


def full_batch_no(no: str, total: int) -> str:
    """Return a typed number with the digits of a day of ``total`` batches: "03" is "003" from 100 on."""
    digits, letters = split_no(no)
    return batch_no(int(digits), total) + letters


def split_no(no: str) -> tuple[str, str]:
    """Return (digits, letters) of a batch number: "03a" is "03" and "a", the first part of batch 03."""
    digits = no.rstrip(ascii_lowercase)
    return digits, no[len(digits) :]


@lru_cache(maxsize=4096)
def by_number(no: str) -> tuple[int, str]:
    """Return what puts batch numbers in order, "99" before "100" and "03" before its parts."""
    digits, letters = split_no(no)
    return int(digits), letters


def split_orders(plan: Plan, orders: Sequence[Order], hand: Sequence[HandBatch] = ()) -> tuple[Batch, ...]:
    """Return the batches of ``orders``; ``hand`` must fit (`hand_misfit`). Raises KeyError for an unknown name."""
    drafts: list[Batch] = []
    lots = lots_of(orders)
    for lot in lots:
        by_hand_of_lot = [batch for batch in hand if batch.skeins and lot in lots_named(lots, batch)]
        counts = [batch.skeins or 0 for batch in by_hand_of_lot]
        counts += batch_sizes(lot.skeins - sum(counts), largest_batch(plan, lot))
        shares = shares_of(lot.orders, counts, [batch.order for batch in by_hand_of_lot])
        for n, (count, share) in enumerate(zip(counts, shares, strict=True)):
            by_hand = by_hand_of_lot[n] if n < len(by_hand_of_lot) else HandBatch()
            mix = f"{lot.colourway} / {lot.base}"
            draft = Batch(by_hand.no or "", lot.colourway, lot.base, count, by_hand.tag, share, mix)
            drafts.append(replace(draft, carried=by_hand.carried))
    total = len(drafts)
    drafts = [replace(draft, no=full_batch_no(draft.no, total)) if draft.no else draft for draft in drafts]
    taken = {draft.no for draft in drafts if draft.no}
    free = (no for n in count_from(1) if (no := batch_no(n, total)) not in taken)
    numbered = [draft if draft.no else replace(draft, no=next(free)) for draft in drafts]
    tags = {full_batch_no(batch.no, total): batch.tag for batch in hand if batch.no and not batch.order and batch.tag}
    tagged = [replace(batch, tag=tags[batch.no]) if batch.no in tags else batch for batch in numbered]
    return tuple(sorted(tagged, key=lambda batch: by_number(batch.no)))


def lots_named(lots: Sequence[PlannedLot], batch: HandBatch) -> list[PlannedLot]:
    """Return the lots a hand-made batch may belong to: several if its order's item is ambiguous."""
    alike = (lot for lot in lots if batch.colourway in ("", lot.colourway) and batch.base in ("", lot.base))
    return [lot for lot in alike if any(order.item == batch.order for order in lot.orders)]


def hand_misfit(orders: Sequence[Order], hand: Sequence[HandBatch]) -> Iterator[tuple[int, str, str]]:
    """Yield (index of the hand-made batch, message, hint) for every impossible one."""
    lots = lots_of(orders)
    used: dict[int, int] = {}
    numbers: set[str] = set()
    for n, batch in enumerate(hand):
        no = full_batch_no(batch.no, MOST_BATCHES) if batch.no else ""  # "03" and "003" are one
        if no and no in numbers:
            yield n, f"batch {batch.no} appears twice", "give each its own number"
        numbers.add(no)
        if batch.order is None:
            continue
        named = lots_named(lots, batch)
        if len(named) > 1:
            what = f"several orders have the item {batch.order!r}"
            yield n, what, "add the order's colourway and base to this [[batch]]"
            continue
        if not named:
            if any(order.item == batch.order for order in orders):
                what = f"no order {batch.order!r} matches this batch's colourway and base"
                yield n, what, "write those of its [[order]]"
            continue
        lot = lots.index(named[0])
        used[lot] = used.get(lot, 0) + (batch.skeins or 0)
        if used[lot] > lots[lot].skeins:
            what = f"the batches of {batch.order!r} hold {counted(used[lot], 'skein')}"
            yield n, what, f"its lot has {lots[lot].skeins}"
