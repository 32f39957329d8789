"""`shelf`: what is in stock and to reorder, and movements of it."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterator
from datetime import date as Date  # noqa: N812 - the class is called date

from dyeday.commands.books.shelf_files import moves_csv, row_of, shelf_csv
from dyeday.commands.books.shelf_typed import refuse_typed_again, typed_moves
from dyeday.commands.common import (
    UsageError,
    copy_records,
    fields_of,
    print_json,
    put_table,
    say,
    sessions,
    update_records,
)
from dyeday.craft.dye.measuring import figure
from dyeday.files.durable import StoreError
from dyeday.paper.sheets.reorder_list import stock_text
from dyeday.store import clock
from dyeday.store.records.shelf import ShelfRecords
from dyeday.store.session_file import SessionFile
from dyeday.studio.shelf.movements import PAST_WEEKS, Bottle, Move, ReorderForecast, Shelf, outlook, shelf_of, valid
from dyeday.terms import MoveKind, StockKind
from dyeday.track.day.day_state import Event, make
from dyeday.track.events.session_events import Received
from dyeday.track.folding.fold import fold
from dyeday.track.timestamp import Moment, local

HEADINGS = {StockKind.DYE: "Dye powder", StockKind.ACID: "Acid", StockKind.EXTRA: "Extras", StockKind.YARN: "Yarn"}
OLD_SOLUTION_DAYS = 60
"""from this age on, a bottle's age is shown; common practice, no source: makers' sheets differ"""


def shelf(args: Namespace) -> int:
    """Print the shelf, or record movements. Raises UsageError, Refusal or StoreError."""
    file, now = ShelfRecords(args.data), clock.now()
    fresh: list[Move] = []
    kinds = {MoveKind(kind) for kind, *_ in args.moved or ()}
    if kinds or args.from_file:
        if kinds & {MoveKind.COUNTED, MoveKind.USED} and not args.why:
            raise UsageError("a count or a loss needs a reason: add --why TEXT")
        going_on = sessions(args).newest(unfinished=True) if MoveKind.RECEIVED in kinds else None

        def events_owed(came: list[Move]) -> Iterator[tuple[str, Event]]:
            return _events(came, going_on, now) if going_on is not None else iter(())

        def typed(existing: list[Move]) -> list[Move]:
            moves = typed_moves(args, shelf_of(existing), now.utc, going_on)
            if not args.again and not args.from_file:
                refuse_typed_again(existing, moves)
            return moves

        fresh = file.add(typed, events_owed)
        copy_records(args)
        if going_on is not None:
            update_records(args)
    every, in_force = _looked_at(file, fresh, whole=args.moves or args.weeks > PAST_WEEKS)
    moves = every if args.moves else valid(in_force)
    shelf = shelf_of(in_force)
    seen = outlook(shelf_of(every) if every else shelf, now.utc, weeks=args.weeks, lead_days=args.lead)
    if args.csv:
        put_table(args, moves_csv(moves) if args.moves else shelf_csv(shelf, seen))
    if args.json:
        print_json([row_of(move) for move in moves] if args.moves else shelf_data(shelf, seen, fresh))
    elif args.csv == "-":
        pass
    elif args.moves:
        say(*(f"{local(move.at, None):%Y-%m-%d} {move_text(move)}" for move in moves))
    else:
        say(*(move_text(move) for move in fresh))
        say(*shelf_lines(shelf, seen, local(now.utc, None).date()))
    return 1 if args.strict and any(each.reorder for each in seen) else 0


def _looked_at(file: ShelfRecords, fresh: list[Move], *, whole: bool) -> tuple[list[Move], list[Move]]:
    """Return all movements if ``whole``, else [], and those in force. Raises StoreError, which says what is saved."""
    try:
        return file.all_moves() if whole else [], file.moves()
    except StoreError as error:
        if not fresh:
            raise
        raise StoreError(f"the entry is on the shelf, but cannot be shown: {error.what}", error.hint) from None


def _events(came: list[Move], going_on: SessionFile, now: Moment) -> Iterator[tuple[str, Event]]:
    """Yield deliveries as events of the running session, for its stock flag."""
    at = fold(going_on.plan, going_on.events).on_day_clock(now)
    for move in came:
        if move.kind is not MoveKind.RECEIVED or move.thing is None:
            continue
        ids = iter((move.id,))
        came_in = Received(thing=move.thing, name=move.name, amount=move.amount, measure=move.unit)
        yield going_on.about.id, make(came_in, at, ids.__next__)


def shelf_data(shelf: Shelf, seen: list[ReorderForecast], fresh: list[Move]) -> dict[str, object]:
    """Return the shelf as JSON-able data."""
    return {
        "things": [
            {
                "thing": each.item.thing.value,
                **fields_of(each.item, "name amount unit lot"),
                "in_bottles_g": each.in_bottles,
                **fields_of(each, "per_week days_left reorder"),
            }
            for each in seen
        ],
        "bottles": [
            {"made": bottle.made.isoformat(), **fields_of(bottle, "name dye strength_pct left_ml powder_lot")}
            for dye in dict.fromkeys(b.dye for b in shelf.bottles)
            for bottle in shelf.bottles_of(dye)
        ],
        "moved": [row_of(move) for move in fresh],
    }


def shelf_lines(shelf: Shelf, seen: list[ReorderForecast], today: Date) -> Iterator[str]:
    """Yield the shelf in lines, what to reorder first."""
    if not seen:
        yield "the shelf is empty; start with `dyeday shelf --received Peat --amount 50 g --as dye`"
        return
    yield from (f"reorder {each.item.name}: {stock_text(each)}" for each in seen if each.reorder)
    thing: StockKind | None = None
    for each in seen:
        if each.item.thing is not thing:
            thing = each.item.thing
            yield HEADINGS.get(thing, thing.value)
        yield f"  {each.item.name}: {stock_text(each)}"
        if thing is StockKind.DYE:
            yield from (f"    {_bottle_text(bottle, today)}" for bottle in shelf.bottles_of(each.item.name))


def _bottle_text(bottle: Bottle, today: Date) -> str:
    age = (today - bottle.made).days
    old = f", {age} days old: look for sediment and mould" if age > OLD_SOLUTION_DAYS else ""
    lot = f", powder lot {bottle.powder_lot}" if bottle.powder_lot else ""
    return f"bottle {bottle.left_ml:.0f} mL of {bottle.strength_pct:g} %, made {bottle.made:%d %b %Y}{lot}{old}"


def move_text(move: Move) -> str:
    """Return a movement in one line."""
    amount = f"{figure(move.amount)} {move.unit}"
    lot = f", lot {move.lot}" if move.lot else ""
    tail = f"{lot}{', as planned, not recorded' if move.planned else ''}{f' ({move.why})' if move.why else ''}"
    tail += f" [{move.session}]" if move.session else ""
    match move.kind:
        case MoveKind.RECEIVED:
            return f"{move.name}: {amount} received{tail}"
        case MoveKind.COUNTED:
            return f"{move.bottle or move.name}: counted {amount}{tail}"
        case MoveKind.MADE:
            took = f", {figure(move.powder_g)} g of powder" if move.powder_g else ""
            return f"{move.name}: {amount} of {move.strength_pct or 0:g} % made{took}{tail}"
        case MoveKind.UNDONE:
            return f"the use of {move.session} is undone ({move.why})"
        case _:
            return f"{move.bottle or move.name}: {amount} used{tail}"
