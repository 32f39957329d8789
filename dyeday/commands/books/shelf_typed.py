"""Movements of the shelf as a person types them: what came, was counted, mixed or spilled."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from dyeday import units
from dyeday.commands.books.shelf_files import moves_in
from dyeday.commands.common import Refusal, read_text, sessions, typed_time
from dyeday.commands.usage.books import THINGS
from dyeday.paper.local_time import local
from dyeday.plan.model import Plan
from dyeday.plan.reading.problems import near
from dyeday.store import clock
from dyeday.store.session_file import SessionFile
from dyeday.studio.shelf.day_movements import first_counts
from dyeday.studio.shelf.movements import UNITS, Move, Shelf, bottle_name
from dyeday.terms import MoveKind, StockKind
from dyeday.text import harmless


def typed_moves(args: Namespace, kept: Shelf, now: datetime, going_on: SessionFile | None) -> list[Move]:
    """Return the movements that were typed, in the order of the options. Raises Refusal.

    Before a delivery of a thing the shelf never knew stands what the plan of the session that goes on says of it.
    """
    if args.from_file:
        return moves_in(read_text(Path(args.from_file)), args.from_file)
    zone = None
    at = typed_time(args.at, zone, clock.now()) if args.at else now
    known = _known(args, kept)
    why, lot = harmless(args.why or "").strip(), harmless(args.lot or "").strip()
    found = []
    thing = None if args.thing is None else StockKind(args.thing)
    for word, name, amount, strength in args.moved or ():
        kind = MoveKind(word)
        if kind is MoveKind.MADE:
            said = f"{name} {amount} {strength}".strip()
            made = _solution(said, known, at, thing, kept)
            found.append(replace(made, why=why, lot=lot or made.lot))
            continue
        if strength:
            raise Refusal(f"--{word} {harmless(name)!r}: --strength goes with --made")
        move = _move(kind, name, amount, at, known, thing)
        move = replace(move, why=why, lot=lot)
        if kind is MoveKind.RECEIVED and going_on is not None:
            of = (move.thing, move.name)
            counts = (one for one in first_counts(going_on.plan, kept) if (one.thing, one.name) == of)
            found += [replace(one, id=clock.new_id(), at=at) for one in counts]
        found.append(_of_bottle(move, kept) if move.thing is StockKind.BOTTLE else move)
    return found


JUST_NOW_S = 60.0
"""the same movement typed again within so long is rather a retry than a second one"""


def refuse_typed_again(existing: list[Move], typed: list[Move]) -> None:
    """Raise Refusal where a movement says the same as one that was put on the shelf just now."""
    for move in typed:
        for before in reversed(existing):
            ago_s = (move.at - before.at).total_seconds()
            if 0 <= ago_s < JUST_NOW_S and replace(before, id=move.id, at=move.at, session=move.session) == move:
                said = f"{move.name}: you typed the same {ago_s:.0f} s ago and is on the shelf"
                raise Refusal(f"{said}; add --again if it happened a second time")


def _move(
    kind: MoveKind,
    name: str,
    amount: str,
    at: datetime,
    known: dict[str, tuple[StockKind, str]],
    thing: StockKind | None,
) -> Move:
    """Return what was typed as one movement: a name and its amount, or (the old form) both in one word."""
    option = f"--{kind.value}"
    if not amount:
        of, meant, much, unit = _quantity(name, known, option, thing)
        return Move(clock.new_id(), at, kind, of, meant, much, unit)
    meant = _named(name, known) or (harmless(name).strip() if thing is not None else "")
    if not meant:
        offered = near(name, list(known)) if known else "nothing is known yet"
        said = f"{option}: nothing is called {harmless(name)!r}; {offered}"
        raise Refusal(f"{said}, or say what it is with --as {'|'.join(THINGS)}")
    of, unit = known[meant] if thing is None or meant in known else (thing, _unit_of(thing, amount))
    found = _amount(amount, unit)
    if found is None:
        example = {"g": "100 g", "mL": "2 L"}.get(unit, "20 skeins")
        what = f"{option} {harmless(meant)!r}: {harmless(amount)!r} is not an amount of it"
        raise Refusal(f"{what}; write --amount {example}")
    return Move(clock.new_id(), at, kind, of, meant, found, unit)


def _of_bottle(move: Move, kept: Shelf) -> Move:
    bottle = next(b for b in kept.bottles if b.name == move.name)
    if move.kind is MoveKind.RECEIVED:
        right = f"write --made '{bottle.dye}' --amount 500 mL --strength '2 %'"
        raise Refusal(f"--received: you make a bottle of solution, you do not receive it; {right}")
    return replace(move, name=bottle.dye, bottle=bottle.name)


def _known(args: Namespace, kept: Shelf) -> dict[str, tuple[StockKind, str]]:
    """Return what each known name is, and its unit: on the shelf, else in the newest session's plan."""
    found = {item.name: (item.thing, item.unit) for item in kept.items}
    found |= {bottle.name: (StockKind.BOTTLE, "mL") for bottle in kept.bottles}
    newest = sessions(args).newest(unfinished=False)
    if newest is not None:
        found = {**_in_plan(newest.plan), **found}
    return found


def _in_plan(plan: Plan) -> dict[str, tuple[StockKind, str]]:
    found = {dye.name: (StockKind.DYE, "g") for dye in plan.dyes}
    found |= {base.name: (StockKind.YARN, "pieces") for base in plan.bases}
    found |= {extra.name: (StockKind.EXTRA, extra.unit) for extra in plan.extras}
    found[plan.acid.name] = (StockKind.ACID, plan.acid.unit)
    return found


def _quantity(
    said: str, known: dict[str, tuple[StockKind, str]], option: str, thing: StockKind | None
) -> tuple[StockKind, str, float, str]:
    """Return (thing, name, amount, unit) of "Peat 50 g": the name is what comes before the last quantity.

    Raises Refusal.
    """
    words = said.split()
    for begin in range(len(words) - 1, 0, -1):
        name, quantity = harmless(" ".join(words[:begin])), " ".join(words[begin:])
        meant = _named(name, known)
        if meant is not None:
            of = known[meant]
        elif thing is not None:
            of = (thing, _unit_of(thing, quantity))
        else:
            continue
        amount = _amount(quantity, of[1])
        if amount is not None:
            return of[0], meant or name, amount, of[1]
    example = f"write {option} Peat --amount 50 g, {option} 'Plain Sock' --amount 20 skeins"
    ends = [n for n in range(1, len(words)) if any(_amount(" ".join(words[n:]), u) for u in ("g", "mL", "pieces"))]
    name = harmless(" ".join(words[: ends[0]])) if ends else ""
    if name and _named(name, known) is None and thing is None:
        offered = near(name, list(known)) if known else "nothing is known yet"
        raise Refusal(
            f"{option}: nothing is called {name!r}; {offered}, or say what it is with --as {'|'.join(THINGS)}"
        )
    if len(words) == 1:
        raise Refusal(f"{option} {harmless(said)}: the amount is missing; {example}")
    raise Refusal(f"{option}: {harmless(said)!r} does not give a valid amount; {example}")


def _unit_of(thing: StockKind, quantity: str) -> str:
    if thing in UNITS:
        return UNITS[thing]
    return "g" if _amount(quantity, "g") is not None else "mL"


def _named(name: str, known: Iterable[str]) -> str | None:
    """Return the known thing of that name: whatever its capitals, or the only one that begins so."""
    names = list(known)
    exact = [each for each in names if each.casefold() == name.casefold()]
    begins = [each for each in names if each.casefold().startswith(name.casefold() + " ")]
    return exact[0] if exact else (begins[0] if len(begins) == 1 else None)


def _amount(quantity: str, unit: str) -> float | None:
    try:
        if unit == "pieces":
            for word in (" pieces", " piece", " skeins", " skein", " minis", " mini", " blanks", " blank"):
                quantity = quantity.removesuffix(word)
            number = units.number(quantity.strip())
            return number if 0 <= number <= 1e6 and number == int(number) else None
        if quantity.strip().replace(".", "").replace(",", "").isdecimal():
            return None  # without a unit nobody can tell
        return units.read(quantity, units.MASS_G if unit == "g" else units.VOLUME_ML, low=0, high=1e7)
    except (units.QuantityError, ValueError):
        return None


def _solution(
    said: str, known: dict[str, tuple[StockKind, str]], at: datetime, thing: StockKind | None, kept: Shelf
) -> Move:
    """Return a solution made: "Peat 500 mL 2 %". Raises Refusal."""
    right = "write --made Peat --amount 500 mL --strength '2 %'"
    words = said.split()
    if len(words) < 3:
        raise Refusal(f"--made: {harmless(said)!r} is not a solution; {right}")
    if words[-1] == "%":
        words[-2:] = [f"{words[-2]} %"]
    try:
        strength = units.read(words[-1], units.STRENGTH_PCT, low=0.01, high=30)
    except units.QuantityError as error:
        raise Refusal(f"--made: {error}; {right}") from None
    dyes = {name: of for name, of in known.items() if of[0] is StockKind.DYE}
    rest = words[:-1]
    for begin in range(len(rest) - 1, 0, -1):
        name = _named(" ".join(rest[:begin]), dyes) or (
            harmless(" ".join(rest[:begin])) if thing is StockKind.DYE else None
        )
        volume = _amount(" ".join(rest[begin:]), "mL")
        if name is not None and volume:
            made = local(at, None).date()
            dye = kept.item(StockKind.DYE, name)
            return Move(
                clock.new_id(),
                at,
                MoveKind.MADE,
                StockKind.BOTTLE,
                name,
                volume,
                "mL",
                lot=dye.lot if dye is not None else "",
                bottle=bottle_name(name, strength, made),
                strength_pct=strength,
                made=made,
                powder_g=volume * strength / 100,
            )
    raise Refusal(f"--made: {harmless(said)!r} does not name a known dye and a volume; {right}")
