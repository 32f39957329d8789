"""Movements of the shelf as typed with `dyeday shelf`: what came, was counted, mixed or used up."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from dyeday import units
from dyeday.commands.books.shelf_files import moves_in
from dyeday.commands.common import RETRY_S, Refusal, read_text, sessions, typed_amount, typed_time
from dyeday.commands.usage.options import THINGS
from dyeday.plan.reading.problems import similar
from dyeday.store import clock
from dyeday.store.session_file import SessionFile
from dyeday.studio.shelf.day_movements import first_counts
from dyeday.studio.shelf.movements import UNITS, Move, Shelf, bottle_name
from dyeday.terms import MoveKind, StockKind
from dyeday.text import brief, harmless
from dyeday.track.timestamp import local

Known = dict[tuple[StockKind, str], str]
"""the unit of each known thing, by kind and name"""
EXAMPLES = {"g": "100 g", "mL": "2 L", "pieces": "20 skeins"}


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
    """Return the known name that is meant: the same but for capitals, else the only one that begins with it."""
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
