"""Where batches come from: a plan, a changed plan, a rush order, an earlier session. Deliveries, too."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields, replace
from datetime import datetime
from itertools import chain
from typing import Any

from dyeday.plan.batches import batch_no, full_batch_no, lots_of, split_no, split_orders
from dyeday.plan.library import without_amounts
from dyeday.plan.model import Batch, HandBatch, Order, Plan, Session
from dyeday.plan.serialize import from_plain
from dyeday.quick_dataclass import altered
from dyeday.terms import Outcome, State, StockKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.carried import Carried, CarriedChange, CarriedFlag
from dyeday.track.day.consumption import wetted_at
from dyeday.track.day.day_state import Day, Event
from dyeday.track.day.unit_record import UnitRecord

_ON_HAND = {
    StockKind.DYE: ("dyes", "on_hand_g"),
    StockKind.EXTRA: ("extras", "on_hand"),
    StockKind.YARN: ("bases", "on_hand"),
}


def unit_records(plan: Plan, there: Mapping[str, UnitRecord]) -> dict[str, UnitRecord]:
    """Return a plan's units by name: the records that are ``there``, else new ones."""
    broken = {name for kit in plan.kit for name in kit.down}
    return {name: there.get(name) or UnitRecord(name, is_down=name in broken) for name in plan.unit_names}


def fresh_batch(plan: Plan, batch: Batch) -> BatchRecord:
    """Return the record of a planned batch to which nothing happened yet."""
    return BatchRecord(
        no=batch.no,
        colourway=plan.colourway(batch.colourway),
        base=plan.base(batch.base),
        skeins=batch.skeins,
        tag=batch.tag,
        shares=batch.shares,
        planned_mix=batch.mix or _lot_mix(batch.colourway, batch.base),
        lot=batch.lot,
    )


def came_over(data: Mapping[str, Any], event: Event, day: Day) -> BatchRecord:
    """Return the record in the keys of a ``carried`` event under its new number, for the orders of ``day``.

    Skeins whose order is not in its plan are for the order that the plan names for the batch. Raises KeyError,
    TypeError or ValueError if there is no record.
    """
    record, planned = from_plain(BatchRecord, data["record"]), day.batches.get(event.batch or "")
    known = {order.key for order in day.plan.orders}
    kept = tuple((item, count) for item, count in record.shares if record.order_key(item) in known)
    shares = Counter[str]()
    for item, count in kept:
        shares[item] += count
    if planned is not None and planned.shares:
        shares[planned.shares[0][0]] += record.skeins - shares.total()
    mark = Carried(
        at=event.moment,
        session=str(data["from"]),
        no_there=str(data["was"]),
        used_ml=record.used_ml,
        powder_g=record.powder_g,
        left_over_ml=record.left_over_ml,
        extras=record.extras,
        acid_count=len(record.acids),
        shares=kept,
        flags=tuple(from_plain(CarriedFlag, carried) for carried in data.get("doubts", ())),
        changes=tuple(from_plain(CarriedChange, change) for change in data.get("changes", ())),
    )
    tag = planned.tag if planned is not None else ""
    whose = tuple((+shares).items()) or record.shares
    return replace(record, no=str(event.batch), tag=tag or record.tag, shares=whose, carried=mark)


def order_of(table: Mapping[str, Any]) -> Order:
    """Return the order in an ``added`` event's table. Raises KeyError, TypeError or ValueError."""
    return from_plain(Order, {key: value for key, value in table.items() if key in Order.__dataclass_fields__})


def with_order(day: Day, order: Order, at: datetime) -> Day:
    """Return the day with an order that came ``at`` a moment, and its batches, with a mix of their own.

    Raises KeyError, TypeError or ValueError if the plan cannot have it.
    """
    new = _of_own_mix(day.plan, order)
    total = len(day.batches) + len(new)
    first = max((int(split_no(no)[0]) for no in day.batches), default=0)
    batches = dict(day.batches)
    for n, fresh in enumerate(new, first + 1):
        numbered = replace(fresh, no=batch_no(n, max(total, n)))
        batches[numbered.no] = fresh_batch(day.plan, numbered)
    plan = altered(day.plan, orders=(*day.plan.orders, order))
    # Skeins dyed again are spares of an order that the plan has had from the beginning.
    came_at = {**day.order_came_at, order.key: at} if order.skeins else day.order_came_at
    return altered(day, plan=plan, batches=batches, order_came_at=came_at)


def _lot_mix(colourway: str, base: str) -> str:
    return f"{colourway} / {base}"


def _own_mix(order: Order) -> str:
    return f"{_lot_mix(order.colourway, order.base)} / {order.item}"


def _of_own_mix(plan: Plan, order: Order) -> list[Batch]:
    """Return the batches of a rush order, with a mix of their own: the one of the lot may be used up."""
    return [replace(batch, mix=_own_mix(order)) for batch in split_orders(plan, [order])]


def with_delivery(day: Day, thing: StockKind, name: str, more: float) -> Day:
    """Return the day with a delivery on hand: g of a dye, mL or g of an acid or extra, pieces of yarn.

    An unknown amount on hand stays unknown, as it may be large. Things that are not in the plan are ignored.
    """
    if thing is StockKind.ACID:
        return altered(day, plan=altered(day.plan, acid=_with_more(day.plan.acid, "on_hand", name, more)))
    where, field = _ON_HAND[thing]
    items = tuple(_with_more(item, field, name, more) for item in getattr(day.plan, where))
    return altered(day, plan=altered(day.plan, **{where: items}))


def _with_more(item: Any, field: str, name: str, more: float) -> Any:
    there = getattr(item, field)
    return item if item.name != name or there is None else replace(item, **{field: there + more})


def plan_of(table: Mapping[str, Any]) -> Plan | None:
    """Return the plan in a ``plan changed`` event's table, None where it cannot be read."""
    try:
        return from_plain(Plan, table)
    except (KeyError, TypeError, ValueError, StopIteration):
        return None


def keeping_hours(day: Day, before: Plan, plan: Plan) -> Plan:
    """Return a changed plan with the session's present hours, but for those that it changed since ``before``."""
    current, planned, was = day.plan.session, plan.session, before.session
    same = [f.name for f in fields(Session) if getattr(planned, f.name) == getattr(was, f.name)]
    carried = {name: getattr(current, name) for name in same}
    return replace(plan, session=replace(plan.session, **carried))


def with_plan(day: Day, plan: Plan, *, renews_dry: bool = False) -> Day:
    """Return the day under a changed plan: batches with entries keep number and skeins, the others follow the plan.

    If it ``renews_dry``, yarn that was never wetted gets the plan's recipe. Skeins that were scrapped or lost, and
    those done as seconds or one-offs, are planned once more. Orders that came in during the session and are not in
    the plan stay, each with a mix of its own. So do the dyes and extras that batches with entries take.
    """
    planned_orders = {order.key for order in plan.orders}
    came = (order for order in day.plan.orders if order.key in day.order_came_at and order.key not in planned_orders)
    rushed = [order for order in came if order.skeins]  # what was lost of the others is planned once more below
    planned = plan.batches
    kept = {no: _with_recipe(b, plan) if renews_dry else b for no, b in day.batches.items() if b.last_id}
    plan = _with_taken(replace(plan, orders=(*plan.orders, *rushed)), day.plan, kept.values())
    mixes = {order: _own_mix(order) for order in rushed}
    own_mixes = {*mixes.values()}
    done: Counter[tuple[str, str]] = Counter()
    there = set()
    for no, batch in kept.items():
        lot_mix = _lot_mix(batch.colourway.name, batch.base.name)
        if batch.state is not State.SCRAPPED:
            there.add((lot_mix, split_no(no)[0]))
        is_second = batch.state is State.DONE and batch.outcome is not Outcome.FIRST
        if batch.state not in (State.SCRAPPED, State.SPLIT) and not is_second:
            mix = batch.planned_mix if batch.planned_mix in own_mixes else lot_mix
            done[mix, ""] += batch.skeins
            for item, count in batch.shares:
                done[mix, item] += count
                done[mix, ""] -= count
    mix_of = [mixes.get(order) or _lot_mix(order.colourway, order.base) for order in plan.orders]
    lacks = zip(plan.orders, _lacking(plan.orders, mix_of, done), strict=True)
    short = [(order, replace(order, skeins=pieces, spare=0)) for order, pieces in lacks if pieces]
    by_lot = [rest for order, rest in short if order not in mixes]
    alone = [rest for order, rest in short if order in mixes]
    left = [b for b in planned if (_lot_mix(b.colourway, b.base), split_no(b.no)[0]) not in there]
    hand = _as_listed(left, by_lot)
    listed = {one.no for one in hand} - {*kept}
    total = len(plan.batches)
    free = (no for n in range(1, 10_000) if (no := batch_no(n, total)) not in kept and no not in listed)
    batches = dict(kept)
    rushes = (batch for order in alone for batch in _of_own_mix(plan, order))
    for fresh in (*split_orders(plan, by_lot, hand), *rushes):
        no = full_batch_no(fresh.no, total)
        numbered = replace(fresh, no=no if no in listed and fresh.mix not in own_mixes else next(free))
        batches[numbered.no] = fresh_batch(plan, numbered)
    # Where the file says nothing new, the changed plan has the day's hours: `keeping_hours`.
    out = plan.session.out if plan.session.out != day.plan.session.out else day.planned_out
    return altered(day, plan=plan, planned_out=out, batches=batches, units=unit_records(plan, day.units))


def _with_recipe(batch: BatchRecord, plan: Plan) -> BatchRecord:
    """Return a batch of this session that was never wetted with a plan's recipe and base, any other as it is."""
    if wetted_at(batch) is not None or batch.carried is not None:
        return batch
    colourway = next((each for each in plan.colourways if each.name == batch.colourway.name), batch.colourway)
    base = next((each for each in plan.bases if each.name == batch.base.name), batch.base)
    return altered(batch, colourway=colourway, base=base)


def _with_taken(plan: Plan, before: Plan, kept: Iterable[BatchRecord]) -> Plan:
    """Return a changed plan with the dyes and extras that it lacks and batches ``kept`` take, without amounts."""
    dyes, extras = {dye.name for dye in plan.dyes}, {extra.name for extra in plan.extras}
    took, took_extras = set[str](), set[str]()
    for batch in kept:
        layers = (*batch.colourway.layers, *chain(*batch.recipes_beneath))
        took |= {*chain(*(layer.dyes for layer in layers)), *dict(batch.used_ml), *dict(batch.powder_g)}
        took_extras |= {*dict(batch.extras)}
    gone = (without_amounts(dye) for dye in before.dyes if dye.name in took - dyes)
    gone_extras = (replace(extra, on_hand=None) for extra in before.extras if extra.name in took_extras - extras)
    return replace(plan, dyes=(*plan.dyes, *gone), extras=(*plan.extras, *gone_extras))


def _lacking(orders: Sequence[Order], mix_of: Sequence[str], done: Counter[tuple[str, str]]) -> list[int]:
    """Return what each order lacks; those ``done``, by (mix, item), are for their own order, then for others."""
    lacks = [order.skeins + order.spare for order in orders]
    left = done.copy()
    for n, order in enumerate(orders):
        own = min(left[mix_of[n], order.item], lacks[n])
        left[mix_of[n], order.item] -= own
        lacks[n] -= own
    for n, of in enumerate(mix_of):
        for key in [key for key in left if key[0] == of]:
            more = min(left[key], lacks[n])
            left[key] -= more
            lacks[n] -= more
    return lacks


def _as_listed(planned: Iterable[Batch], orders: Sequence[Order]) -> list[HandBatch]:
    """Return the batches of a plan that dye ``orders``: all of a lot if they add up, else tagged ones that fit."""
    listed = []
    for lot in lots_of(orders):
        of_lot = [batch for batch in planned if (batch.colourway, batch.base) == (lot.colourway, lot.base)]
        lacks, items = lot.skeins, [order.item for order in lot.orders]
        fits = sum(batch.skeins for batch in of_lot) == lacks
        for batch in of_lot:
            if batch.skeins <= lacks and (fits or batch.tag):
                lacks -= batch.skeins
                item = next((item for item, _ in batch.shares if item in items), items[0])
                as_listed = (batch.no, item, batch.skeins, batch.tag, batch.carried, batch.colourway, batch.base)
                listed.append(HandBatch(*as_listed))
    return listed
