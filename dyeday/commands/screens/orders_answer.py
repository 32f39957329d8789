"""`orders`: a table of orders imported into a plan, all or none, without changing what is there."""

from __future__ import annotations

import sys
from argparse import Namespace
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from dyeday.commands.common import Refusal, fields_of, first_lines, print_json, read_text, refusing, report, say
from dyeday.commands.days.check_and_begin import plan_file_text
from dyeday.commands.studio_records import studio_library
from dyeday.files.durable import StoreError, read_bytes
from dyeday.files.out_files import put_text, replace_text
from dyeday.files.safe_read import is_there
from dyeday.plan.model import Plan
from dyeday.plan.orders.csv_table import (
    Columns,
    CsvError,
    TableText,
    columns_text,
    guessed_columns,
    normalized,
    read_columns,
    read_table,
)
from dyeday.plan.orders.order_editor import names_in
from dyeday.plan.orders.order_import import Incoming, Read, not_yet, orders_there, read_orders
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.reading.problems import PlanError
from dyeday.plan.reading.toml_syntax import toml_of
from dyeday.plan.serialize import to_plain
from dyeday.plan.writing.plan_text import order_table
from dyeday.plan.writing.text_edit import add_orders
from dyeday.text import counted

COLUMNS_NAME = "orders.columns.toml"
LARGEST_TABLE = 8_000_000
MOST_PLANS = 200
"""plans of the folder that are searched for known orders"""
Known = list[tuple[Incoming, int, str]]
"""orders that are in a plan already: the pieces there, and which plan"""


def orders(args: Namespace) -> None:
    """Import a table of orders into a plan; without a table, show the plan's orders on a screen."""
    path = Path(args.into)
    if args.csv is None:
        from dyeday.commands.screens.start_screens import plan_on_screen

        plan_on_screen(path, args.data)
        return
    library = studio_library(args)
    table_name = Path(args.csv)
    raw = _raw(args.csv)
    if not is_there(path):
        raise Refusal(f"{path} is not there; make the plan first: `dyeday`, then n")
    text = plan_file_text(path)
    with refusing(path):
        plan_raw, _ = toml_of(text)
        if plan_raw.get("order"):  # it may have none yet
            read_plan(text, library)
    columns, columns_path, is_new = _columns(args, path, raw)
    table, columns = _table(raw, table_name, columns, is_new)
    colourways, bases = names_in(plan_raw, library)
    try:
        read = read_orders(table.rows, columns, colourways, bases)
    except PlanError as error:
        mend = ", saved now: correct what is wrong" if is_new else "; --columns FILE is for another kind of table"
        right = f"its columns are named in {columns_path}{mend}"
        if is_new and not args.dry_run:
            _columns_kept(columns_path, columns_text(columns, table_name.name), "nothing was imported")
        lines = first_lines(f"{table_name}:{p}" for p in error.problems)
        raise Refusal(*lines, f"{table_name}: nothing was imported; {right}") from None
    there = {} if args.again else _in_plans_beside(path)
    there |= orders_there(plan_raw.get("order"), str(path))
    fresh, known = not_yet(read.orders, there)
    with refusing(path, f"{path}: nothing was imported"):
        changed = add_orders(text, [order_table(one.order) for one in fresh])
        plan = read_plan(changed, library) if toml_of(changed)[0].get("order") else None
    if not args.dry_run:
        if fresh:
            replace_text(path, text, changed, args.data)
        if is_new:
            kept_so = f"the orders are saved in {path}"
            is_new = _columns_kept(columns_path, columns_text(columns, table_name.name), kept_so)
    if args.json:
        print_json(_data(table, fresh, known, read, plan))
        return
    if is_new and args.dry_run:
        report([f"{columns_path} would say which column means what, guessed from the header"])
    elif is_new:
        readings = [f"{header!r} as {meaning}" for meaning, header in columns.columns.items()]
        report([f"{columns_path} says which column means what, guessed now: {', '.join(readings)}"])
    report(f"{table_name}:{line}" for line in read.skipped)
    report(_known_lines(table_name, path, known))
    report(_duplicate_lines(table_name, path, fresh, plan_raw.get("order")))
    if table.encoding == "cp1252":
        report([f'{table_name} was read as cp1252; encoding = "…" in {columns_path} changes that'])
    say(*_report(path, fresh, known, read, plan, would=args.dry_run))


def _columns_kept(columns_path: Path, text: str, so_far: str) -> bool:
    """Save the meaning of the columns; report a failure after ``so_far``. Return whether it was saved."""
    try:
        put_text(columns_path, text)
    except StoreError as error:
        report([f"{so_far}; the meaning of the columns could not be saved: {error}"])
        return False
    return True


def _raw(name: str) -> bytes:
    if name == "-":
        raw = sys.stdin.buffer.read(LARGEST_TABLE + 1)
        if len(raw) > LARGEST_TABLE:
            raise Refusal(f"- is larger than {LARGEST_TABLE // 1_000_000} MB; split it")
        return raw
    return read_bytes(Path(name), LARGEST_TABLE)


def _columns(args: Namespace, plan: Path, raw: bytes) -> tuple[Columns, Path, bool]:
    """Return the meaning of the columns, its file, and whether that is still to be written."""
    path = Path(args.columns) if args.columns else plan.parent / COLUMNS_NAME
    if not path.exists() and not path.is_symlink():
        return Columns({}), path, True
    with refusing(path):
        return read_columns(read_text(path)), path, False


def _table(raw: bytes, name: Path, columns: Columns, is_new: bool) -> tuple[TableText, Columns]:
    try:
        table = read_table(raw, columns.encoding, columns.separator)
    except CsvError as error:
        raise Refusal(f"{name}:{error}") from None
    if not is_new:
        return table, columns
    header = [cell.strip() for cell in table.rows[0].cells]
    if not guessed_columns(header) and not any(normalized(cell) for cell in header):
        raise Refusal(f"{name}:1: the first line must name the columns")
    return table, Columns(guessed_columns(header))


def _in_plans_beside(path: Path) -> dict[str, tuple[int, str]]:
    """Return the orders of other plans of the folder; other files are skipped."""
    orders: dict[str, tuple[int, str]] = {}
    try:
        beside = sorted(p for p in path.parent.glob("*.toml") if p.name != path.name and p.name != COLUMNS_NAME)
    except OSError:
        return orders
    for other in beside[-MOST_PLANS:]:
        try:
            raw, _ = toml_of(read_text(other))
        except (StoreError, PlanError):
            continue
        orders |= orders_there(raw.get("order"), str(other))
    return orders


def _known_lines(name: Path, plan: Path, known: Known) -> Iterable[str]:
    for one, skeins, where in known:
        if where != str(plan):
            yield f"{name}:{one.line}: {one.order.item!r} is in {where}, not imported; --again imports it"
        elif skeins != one.order.skeins:
            differs = f"has {skeins} in the plan, {one.order.skeins} here"
            yield f"{name}:{one.line}: {one.order.item!r} {differs}; not imported"


def _duplicate_lines(name: Path, plan: Path, fresh: Iterable[Incoming], there: object) -> Iterable[str]:
    """Yield a warning for each imported order that a handwritten order of the plan may already be."""
    by_hand = [one for one in there if isinstance(one, dict)] if isinstance(there, list) else []
    for one in fresh:
        new = one.order
        for old in by_hand:
            item = str(old.get("item", ""))
            same = (new.colourway, new.base, new.skeins) == (old.get("colourway"), old.get("base"), old.get("skeins"))
            if same and new.parcel and item and new.parcel.casefold() in item.casefold():
                right = "take one out if they are the same"
                yield f"{name}:{one.line}: {new.item!r} is imported, and {plan} has as many for {item!r}; {right}"


def _report(
    path: Path, fresh: list[Incoming], known: Known, read: Read, plan: Plan | None, *, would: bool
) -> Iterable[str]:
    new = [one.order for one in fresh]
    lots = {(order.colourway, order.base) for order in new}
    parcels = {order.parcel for order in new if order.parcel}
    verb = "would be imported" if would else "imported"
    pieces = sum(order.skeins + order.spare for order in new)
    going = f" for {counted(len(parcels), 'parcel')}" if parcels else ""
    many = f"{counted(pieces, 'piece')} in {counted(len(lots), 'lot')}{going}"
    yield f"{path}: {counted(len(new), 'order')} {verb}, {many}"
    if known:
        yield f"{len(known)} exist already, skipped"
    if read.repeated:
        yield f"{counted(read.repeated, 'row')} in the table twice, skipped"
    if plan is not None and new:
        count = counted(len(plan.batches), "batch", "batches")
        yield f"the plan now has {count}; `dyeday check {path}` says whether the day fits"


def _data(table: TableText, fresh: list[Incoming], known: Known, read: Read, plan: Plan | None) -> dict[str, Any]:
    return {
        **fields_of(table, "encoding separator"),
        "taken": [{"line": one.line, **to_plain(one.order)} for one in fresh],
        "already": [{"line": o.line, "item": o.order.item, "skeins": n, "in": where} for o, n, where in known],
        "repeated": read.repeated,
        "told": list(read.skipped),
        "batches": len(plan.batches) if plan is not None else 0,
    }
