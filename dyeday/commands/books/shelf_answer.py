"""`shelf`: what is in stock and to reorder, and movements as typed: what came, was counted, mixed or used up."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date as Date  # noqa: N812 - the class is called date
from datetime import datetime
from pathlib import Path

from dyeday import units
from dyeday.commands.books.shelf_files import moves_csv, moves_in, row_of, shelf_csv
from dyeday.commands.common import (
    RETRY_S,
    Refusal,
    UsageError,
    copy_records,
    fields_of,
    print_json,
    put_table,
    read_text,
    say,
    sessions,
    typed_amount,
    typed_time,
    update_records,
)
from dyeday.commands.usage.options import THINGS
from dyeday.craft.dye.measuring import figure
from dyeday.files.durable import StoreError
from dyeday.paper.sheets.reorder_list import stock_text
from dyeday.plan.reading.problems import similar
from dyeday.store import clock
from dyeday.store.records.shelf import ShelfRecords
from dyeday.store.session_file import SessionFile
from dyeday.studio.shelf.day_movements import first_counts
from dyeday.studio.shelf.movements import (
    PAST_WEEKS,
    UNITS,
    Bottle,
    Move,
    ReorderForecast,
    Shelf,
    bottle_name,
    outlook,
    shelf_of,
    valid,
)
from dyeday.terms import MoveKind, StockKind
from dyeday.text import brief, harmless
from dyeday.track.day.day_state import Event, make
from dyeday.track.events.session_events import Received
from dyeday.track.folding.fold import fold
from dyeday.track.timestamp import Moment, local

HEADINGS = {StockKind.DYE: "Dye powder", StockKind.ACID: "Acid", StockKind.EXTRA: "Extras", StockKind.YARN: "Yarn"}
OLD_SOLUTION_DAYS = 60
"""from this age on, a bottle's age is shown; common practice, no source: makers' sheets differ"""
Known = dict[tuple[StockKind, str], str]
"""the unit of each known thing, by kind and name"""
EXAMPLES = {"g": "100 g", "mL": "2 L", "pieces": "20 skeins"}


def shelf(args: Namespace) -> int:
    """Print the shelf, or record movements. Raises UsageError, Refusal or StoreError."""
    file, now = ShelfRecords(args.data), clock.now()
    fresh: list[Move] = []
    kinds = {MoveKind(kind) for kind, *_ in args.moved or ()}
    if kinds or args.from_file:
        if kinds & {MoveKind.COUNTED, MoveKind.USED} and not args.why:
            raise UsageError("a count or a loss needs a reason: add --why TEXT")
        going_on = sessions(args).newest(unfinished=True) if MoveKind.RECEIVED in kinds else None

        def typed(existing: list[Move]) -> list[Move]:
            moves = typed_moves(args, shelf_of(existing), now.utc, going_on)
            if not args.again and not args.from_file:
                refuse_typed_again(existing, moves)
            return moves

        fresh = file.add(typed, lambda came: _events(came, going_on, now))
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


def _events(came: list[Move], going_on: SessionFile | None, now: Moment) -> Iterator[tuple[str, Event]]:
    """Yield deliveries as events of the running session, for its stock flag."""
    if going_on is None:
        return
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
    is_in_name = bottle.name == bottle_name(bottle.dye, bottle.strength_pct, bottle.made)
    what = "" if is_in_name else f" of {bottle.strength_pct:g} %, made {bottle.made:%d %b %Y}"
    return f"bottle {bottle.name}: {bottle.left_ml:.0f} mL{what}{lot}{old}"


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


def typed_moves(args: Namespace, shelf: Shelf, now_utc: datetime, going_on: SessionFile | None) -> list[Move]:
    """Return the typed movements in order, a new thing's after the running plan's amount of it. Raises Refusal."""
    if args.from_file:
        return moves_in(read_text(Path(args.from_file)), args.from_file)
    at = typed_time(args.at, None, clock.now()) if args.at else now_utc
    known = _known(args, shelf)
    thing = None if args.thing is None else StockKind(args.thing)
    why, lot = harmless(args.why or "").strip(), harmless(args.lot or "").strip()
    moves: list[Move] = []
    for word, name, quantity, strength in args.moved or ():
        if (kind := MoveKind(word)) is MoveKind.MADE:
            move = _made(name, quantity, strength, at, known, thing, shelf)
        elif strength:
            raise Refusal(f"--{word} {brief(name)}: --strength goes with --made")
        else:
            move = _moved(kind, name, quantity, at, known, thing)
        move = replace(move, why=why, lot=lot or move.lot)
        is_first = all((each.thing, each.name) != (move.thing, move.name) for each in moves)
        if kind is MoveKind.RECEIVED and going_on is not None and is_first:
            counts = first_counts(going_on.plan, shelf)
            same = (count for count in counts if (count.thing, count.name) == (move.thing, move.name))
            moves += [replace(count, id=clock.new_id(), at=at) for count in same]
        of_bottle = move.thing is StockKind.BOTTLE and kind is not MoveKind.MADE
        moves.append(_of_bottle(move, shelf) if of_bottle else move)
    return moves


def refuse_typed_again(existing: list[Move], typed: list[Move]) -> None:
    """Raise Refusal for a movement that says the same as one recorded within `RETRY_S`."""
    for move in typed:
        for before in reversed(existing):
            ago_s = (move.at - before.at).total_seconds()
            if 0 <= ago_s < RETRY_S and replace(before, id=move.id, at=move.at, session=move.session) == move:
                what = f"{move.name}: you recorded the same {ago_s:.0f} s ago"
                raise Refusal(f"{what}; add --again if it happened a second time")


def _moved(kind: MoveKind, name: str, quantity: str, at: datetime, known: Known, thing: StockKind | None) -> Move:
    option = f"--{kind.value}"
    names = [each for of, each in known if thing in (None, of)]
    meant = _named(name, names) or (harmless(name).strip() if thing is not None else "")
    if not meant:
        offered = similar(name, names) if names else "the shelf is empty"
        right = f"{offered}, or say what it is with --as {'|'.join(THINGS)}"
        raise Refusal(f"{option}: nothing is called {brief(name)}; {right}")
    kinds = [of for of, each in known if each == meant] if thing is None else [thing]
    if len(kinds) > 1:
        both = " and ".join(of.value for of in kinds)
        raise Refusal(f"{option}: {brief(meant)} is {both}; say which with --as {'|'.join(THINGS)}")
    of = kinds[0]
    unit = known.get((of, meant)) or UNITS.get(of) or ("g" if _amount(quantity, "g") is not None else "mL")
    right = f"write --amount {EXAMPLES.get(unit, '20 skeins')}"
    if not quantity:
        raise Refusal(f"{option} {brief(meant)}: the amount is missing; {right}")
    if (amount := _amount(quantity, unit)) is None:
        raise Refusal(f"{option} {brief(meant)}: {brief(quantity)} is not an amount of it; {right}")
    return Move(clock.new_id(), at, kind, of, meant, amount, unit)


def _of_bottle(move: Move, shelf: Shelf) -> Move:
    bottle = next(b for b in shelf.bottles if b.name == move.name)
    if move.kind is MoveKind.RECEIVED:
        right = f"write --made {brief(bottle.dye)} --amount 500 mL --strength '2 %'"
        raise Refusal(f"--received: you make a bottle of solution, you do not receive it; {right}")
    return replace(move, name=bottle.dye, bottle=bottle.name)


def _known(args: Namespace, shelf: Shelf) -> Known:
    """Return the names of the shelf, and of the newest session's plan where the shelf does not have them."""
    known = {(item.thing, item.name): item.unit for item in shelf.items}
    known |= {(StockKind.BOTTLE, bottle.name): "mL" for bottle in shelf.bottles}
    if (newest := sessions(args).newest(unfinished=False)) is None:
        return known
    plan = newest.plan
    planned = {(StockKind.DYE, dye.name): "g" for dye in plan.dyes}
    planned |= {(StockKind.YARN, base.name): "pieces" for base in plan.bases}
    planned |= {(StockKind.EXTRA, extra.name): extra.unit for extra in plan.extras}
    return {**planned, (StockKind.ACID, plan.acid.name): plan.acid.unit, **known}


def _named(name: str, known: Iterable[str]) -> str | None:
    """Return the known name that equals ``name`` in any case, else the only one that begins with it, else None."""
    names = list(dict.fromkeys(known))
    exact = [each for each in names if each.casefold() == name.casefold()]
    begins = [each for each in names if each.casefold().startswith(name.casefold() + " ")]
    return exact[0] if exact else (begins[0] if len(begins) == 1 else None)


def _amount(quantity: str, unit: str) -> float | None:
    """Return an amount in g, mL or pieces; None where the text is not one, or lacks its unit."""
    try:
        if unit == "pieces":
            for word in (" pieces", " piece", " skeins", " skein", " minis", " mini", " blanks", " blank"):
                quantity = quantity.removesuffix(word)
            number = units.number(quantity.strip())
            return number if 0 <= number <= 1e6 and number == int(number) else None
        if quantity.strip().replace(".", "").replace(",", "").isdecimal():
            return None
        return units.read(quantity, units.MASS_G if unit == "g" else units.VOLUME_ML, low=0, high=1e7)
    except (units.QuantityError, ValueError):
        return None


def _made(
    name: str, quantity: str, strength: str, at: datetime, known: Known, thing: StockKind | None, shelf: Shelf
) -> Move:
    right = "write --made Peat --amount 500 mL --strength '2 %'"
    dyes = [each for kind, each in known if kind is StockKind.DYE]
    dye = _named(name, dyes) or (harmless(name).strip() if thing is StockKind.DYE else None)
    if dye is None:
        raise Refusal(f"--made: {brief(name)} is not a known dye; {similar(name, dyes) if dyes else right}")
    for word, typed in (("amount", quantity), ("strength", strength)):
        if not typed:
            raise Refusal(f"--made {brief(dye)}: the {word} is missing; {right}")
    if not (volume_ml := _amount(quantity, "mL")):
        raise Refusal(f"--made {brief(dye)}: {brief(quantity)} is not a volume; {right}")
    strength_pct = typed_amount(f"--made {brief(dye)}", strength, units.STRENGTH_PCT, 0.01, 30)
    made = local(at, None).date()
    powder = shelf.item(StockKind.DYE, dye)
    return Move(
        clock.new_id(), at, MoveKind.MADE, StockKind.BOTTLE, dye, volume_ml, "mL",
        lot=powder.lot if powder is not None else "", bottle=bottle_name(dye, strength_pct, made),
        strength_pct=strength_pct, made=made, powder_g=volume_ml * strength_pct / 100,
    )  # fmt: skip
