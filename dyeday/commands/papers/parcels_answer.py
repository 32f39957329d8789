"""`parcels`: orders and parcels over the chosen session and those carried into it."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterator

from dyeday.commands.common import fields_of, opened, print_json, say, sessions
from dyeday.craft.dye.measuring import figure
from dyeday.plan.model import Plan
from dyeday.plan.serialize import to_plain
from dyeday.store.sessions import days_until
from dyeday.studio.costs import CostLine, LotCost, OrderMargin, lot_costs, money_text, order_margins
from dyeday.studio.labels import Label, labels
from dyeday.studio.parcels import OrderStatus, Outgoing, orders_out
from dyeday.text import counted
from dyeday.track.timestamp import length_text


def parcels(args: Namespace) -> int:
    """Print which parcels are complete and what others wait for; with options labels and costs."""
    at = opened(args, reading=True)
    days = days_until(sessions(args), at.file.about.id, at.day)
    out = orders_out(days)
    lots = lot_costs(days)
    orders = order_margins(out, lots, days)
    if args.json:
        print_json({**parcels_data(out), "labels": to_plain(tuple(labels(out, days))), **money_data(lots, orders)})
    else:
        say(*parcel_lines(out))
        if args.labels:
            ready = [f"  {counted(label.count, 'label')}: {label_text(label)}" for label in labels(out, days)]
            say("Labels", *(ready or ["  none: nothing is ready"]))
        if args.cost:
            say(*money_lines(lots, orders, at.day.plan))
    return 1 if args.strict and not all(parcel.is_complete for parcel in out.parcels) else 0


def parcels_data(out: Outgoing) -> dict[str, object]:
    """Return parcels and other finished pieces as JSON-able data."""
    return {
        "parcels": [
            {
                "parcel": parcel.name,
                "due": parcel.due.isoformat() if parcel.due else None,
                "complete": parcel.is_complete,
                "orders": [_order_data(order) for order in parcel.orders],
                "flags": {no: [rule.value for rule in rules] for no, rules in parcel.flags.items()},
            }
            for parcel in out.parcels
        ],
        "samples": [_order_data(order) for order in out.samples],
        **{name: to_plain(pieces) for name, pieces in fields_of(out, "spares seconds one_offs").items()},
    }


def _order_data(order: OrderStatus) -> dict[str, object]:
    return {
        **fields_of(order.order, "item colourway base"),
        **fields_of(order, "wanted ready"),
        "complete": order.is_complete,
        "alternate_skeins": order.alternate,
        "pieces": to_plain(order.pieces),
        "waits": to_plain(order.waits),
    }


def money_data(lots: list[LotCost], orders: list[OrderMargin]) -> dict[str, object]:
    """Return costs and margins as JSON-able data."""
    return {
        "lots": [
            {
                **fields_of(lot, "lot colourway base"),
                "skeins": lot.sellable,
                "cost": lot.total_money,
                "per_skein": lot.money_per_piece,
                "lines": [{**to_plain(line), "money": line.money} for line in lot.lines],
                "unpriced": list(lot.unpriced),
                "by_recipe": lot.by_recipe,
            }
            for lot in lots
        ],
        "orders": [{**to_plain(order), "margin": order.margin} for order in orders],
    }


def parcel_lines(out: Outgoing) -> Iterator[str]:
    """Yield parcels and other finished pieces in lines."""
    yield f"Parcels: {sum(parcel.is_complete for parcel in out.parcels)} of {len(out.parcels)} complete"
    for parcel in out.parcels:
        due = f", due {parcel.due:%a %d %b}" if parcel.due else ""
        yield f"{parcel.name}{due}: {'COMPLETE' if parcel.is_complete else 'waits'}"
        for order in parcel.orders:
            yield from _order_lines(order)
        yield from (f"    check first: {check}" for check in parcel.checks)
    for order in out.samples:
        yield f"Sample {order.order.item}, not sold"
        yield from _order_lines(order)
    heads = ("Spares, not sold with an order", "Seconds", "One-offs")
    for head, apart in zip(heads, (out.spares, out.seconds, out.one_offs), strict=True):
        if apart:
            yield head
            yield from (f"  {one.skeins} {one.colourway} on {one.base}, lot {one.lot}" for one in apart)


def _order_lines(order: OrderStatus) -> Iterator[str]:
    alternate = ", alternate skeins" if order.alternate else ""
    lots = f", lot {' + '.join(order.lots)}{alternate}" if order.lots else ""
    yield f"  {order.ready} of {order.wanted} {order.order.colourway} on {order.order.base}{lots}"
    yield from (f"    waits for {wait.skeins}: {wait.what}" for wait in order.waits)


def label_text(label: Label) -> str:
    """Return a label in one line."""
    metres = f", {label.length_m:g} m" if label.length_m is not None else ""
    note = f", {label.note}" if label.note else ""
    about = f"{label.weight_g:g} g{metres}, {label.fibre}, {label.care}"
    return f"{label.colourway} / {label.base}, {about}, lot {label.lot}{note}"


def _amount_text(line: CostLine) -> str:
    """Return work as time, anything else to three digits, pieces whole: "2 h 01", "4.74 kWh"."""
    if line.unit == "h":
        return length_text(line.amount * 60)
    unit = "skeins" if line.unit == "skein" and line.amount != 1 else line.unit
    return f"{figure(line.amount, 4 if line.amount >= 1000 else 3)} {unit}"


def money_lines(lots: list[LotCost], orders: list[OrderMargin], plan: Plan) -> Iterator[str]:
    """Yield what each lot cost, line by line, and what each order's ready pieces bring."""
    yield "Cost"
    for lot in lots:
        lost = "" if lot.sellable else ", all of it scrapped"
        each = f", {money_text(lot.money_per_piece, plan)} a piece" if lot.sellable else ""
        least = "at least " if lot.unpriced else ""
        total = f"{least}{money_text(lot.total_money, plan)}{each}" if lot.total_money else "no price known"
        yield f"  lot {lot.lot} {lot.colourway} on {lot.base}: {total}{lost}"
        parts = [
            f"{line.what} {_amount_text(line)}" + (f" {money_text(line.money, plan)}" if line.price else "")
            for line in lot.lines
            if line.amount
        ]
        yield f"    {', '.join(parts)}"
        if lot.unpriced:
            yield f"    no price known for {', '.join(lot.unpriced)}: add prices to the plan"
        if lot.by_recipe:
            yield "    where no dye or acid was recorded, the recipe's amount counts"
    for order in orders:
        if not order.pieces:
            continue
        brings = "no price known" if order.brings is None else f"brings {money_text(order.brings, plan)}"
        margin = "" if order.margin is None else f", leaves {money_text(order.margin, plan)}"
        cost = f" cost {money_text(order.cost, plan)}" if order.cost else ""
        yield f"  {order.item}: {counted(order.pieces, 'piece')}{cost}, {brings}{margin}"
