"""`lots --again`: a lot's order and recipe for today's plan, and what differs."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterator
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from dyeday.commands.common import Refusal, choose, fields_of, print_json, read_text, refusing, report, say
from dyeday.commands.days.check_and_begin import load, named_day
from dyeday.commands.studio_records import stocked, studio_library
from dyeday.craft.dye.measuring import figure
from dyeday.files.durable import StoreError
from dyeday.files.out_files import put_text, refuse_own, replace_text
from dyeday.files.safe_read import is_there
from dyeday.plan.amount_text import used_text
from dyeday.plan.library import Library, by_name, without_stock
from dyeday.plan.model import Plan
from dyeday.plan.orders.order_editor import new_plan_text
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.serialize import to_plain
from dyeday.plan.writing.plan_text import order_table
from dyeday.plan.writing.text_edit import add_orders
from dyeday.store import clock
from dyeday.store.records.shelf import ShelfRecords
from dyeday.studio.lots.lot import Lot
from dyeday.studio.lots.repeat_lot import RepeatedLot, again
from dyeday.studio.shelf.movements import Shelf
from dyeday.track.timestamp import local


def dye_again(args: Namespace, lot: Lot) -> None:
    """Print the text to add to a plan; differences go to stderr, so that stdout can go into a file."""
    library = studio_library(args)
    path = Path(args.into or args.plan) if args.into or args.plan else None
    new = _new_plan(path, library) if args.into and path is not None and not is_there(path) else ""
    today, whose = _today(args, path, library, new)
    if today is not None:
        today, shelf_notes = stocked(args, _with_library(today, library))
        report(shelf_notes)
    repeated = again(lot, today, _shelf(args), args.skeins)
    if path is not None:
        text = new or read_text(path)
        with refusing(path, f"{path}: nothing was added"):
            changed = add_orders(text, [order_table(repeated.order)])
            changed = f"{changed.rstrip()}\n\n{repeated.definitions}" if repeated.definitions else changed
            read_plan(changed, library)
        if new:
            refuse_own(path, args.data)
            put_text(path, changed)
        elif args.into:
            replace_text(path, text, changed, args.data)
    if args.json:
        print_json({
            "lot": lot.number,
            "compared_with": whose,
            "toml": repeated.toml,
            "order": to_plain(repeated.order),
            "defines": list(repeated.defines),
            "dyes": [asdict(dye) for dye in repeated.dyes],
            **fields_of(repeated, "acid_then acid_now"),
            "differs": [asdict(item) for item in repeated.differs],
            "reminders": list(repeated.reminders),
        })  # fmt: skip
        return
    if args.into:
        made = f", a new plan for {today.session.date:%a %d %b %Y}" if new and today is not None else ""
        own = "".join(f", with its own {name}" for name in repeated.defines)
        say(f"{repeated.order.item!r} is in {path}{made}{own}")
    else:
        say(*repeated.toml.rstrip("\n").split("\n"))
    report(_report(lot, repeated, whose))


def _new_plan(path: Path, library: Library) -> str:
    """Return the text of a plan without orders, as the start screen begins one: for the day of its name, or today."""
    zone = library.studio.session.zone if library.studio is not None else None
    return new_plan_text(named_day(path) or local(clock.now().utc, zone).date(), None, library)


def _today(args: Namespace, path: Path | None, library: Library, new: str) -> tuple[Plan | None, str]:
    """Return today's plan and its name: ``new``, the named one, the newest session's without past stock, or none."""
    if new:
        return read_plan(new, library, without_orders=True), str(path)
    if path is not None:
        return load(path, library, without_orders=True)[0], str(path)
    try:
        session = choose(args, reading=True)
    except Refusal:
        return None, ""
    return without_stock(session.plan), f"session {session.about.id}"


def _with_library(plan: Plan, library: Library) -> Plan:
    both: dict[str, Any] = {}
    for key in ("bases", "dyes", "colourways"):
        own = getattr(plan, key)
        both[key] = own + tuple(one for one in getattr(library, key) if by_name(own, one.name) is None)
    return replace(plan, **both)


def _shelf(args: Namespace) -> Shelf:
    try:
        return ShelfRecords(args.data).shelf()
    except StoreError:
        return Shelf()  # `stocked` has reported it


def _report(lot: Lot, repeated: RepeatedLot, whose: str) -> Iterator[str]:
    yield f"lot {lot.number} of {lot.date:%a %d %b %Y}: {lot.skeins} then, {repeated.order.skeins} now"
    for dye in repeated.dyes:
        recorded = used_text(dye.used_ml, dye.used_g)
        then = f"{_amount(dye.then_g, dye.then_ml)} by recipe{f', used {recorded}' if recorded else ''}"
        yield f"  {dye.dye}: {_amount(dye.now_g, dye.now_ml)}; last time {then}"
    if not whose:
        yield "  nothing to compare with: name today's plan with --plan PLAN"
    elif not repeated.differs:
        yield f"  nothing differs from {whose}"
    for item in repeated.differs:
        so = f" ({item.so})" if item.so else ""
        yield f"  {item.what}: {item.then} last time, {item.now} now{so}"
    yield from (f"  last time: {reminder}" for reminder in repeated.reminders)


def _amount(grams: float, ml: float) -> str:
    return f"{figure(grams)} g" + (f" in {figure(ml)} mL" if ml else "")
