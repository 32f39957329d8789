"""`shelf`: what is there, what to reorder; what came, was counted, mixed or spilled."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date as Date  # noqa: N812 - the class is called date
from datetime import datetime
from pathlib import Path

from dyeday import units
from dyeday.commands.common import Refusal, UsageError, answer, put_table, read_text, say, sessions, typed_time
from dyeday.commands.shelf_files import moves_csv, moves_in, shelf_csv
from dyeday.commands.usage.stock import SPOKEN
from dyeday.craft.measuring import figure
from dyeday.paper.when import local
from dyeday.plain import harmless
from dyeday.plan.model import Plan
from dyeday.plan.problems import near
from dyeday.store import clock
from dyeday.store.places import data_folder
from dyeday.store.sessions import SessionFile
from dyeday.store.shelf import ShelfFile, row_of
from dyeday.track.events import make
from dyeday.track.instant import Now
from dyeday.track.outlook import Outlook, outlook
from dyeday.track.shelf import UNITS, Bottle, Move, Shelf, bottle_name, counting, shelf_of
from dyeday.track.shelf_day import first_counts

OLD_SOLUTION_DAYS = 60
"""beyond this a bottle's age is said; common practice, no source: makers' sheets differ"""


def shelf(args: Namespace) -> int:
    if not 1 <= args.weeks <= 520:
        raise UsageError(f"--weeks {args.weeks:g}: 1 to 520 past weeks can tell the use")
    if not 0 <= args.lead <= 730:
        raise UsageError(f"--lead {args.lead:g}: 0 to 730 days")
    file = ShelfFile(data_folder(args.data))
    now = clock.now()
    fresh: list[Move] = []
    if any((args.received, args.counted, args.used, args.made, args.from_file)):
        if (args.counted or args.used) and not args.why:
            raise UsageError("a count or a loss needs its reason: add --why TEXT")
        going_on = sessions(args).newest(unfinished=True) if args.received else None
        fresh = file.add(lambda existing: _typed(args, shelf_of(existing), now.utc, going_on))
        if going_on is not None:
            _told(going_on, fresh, now)
    moves = file.all_moves() if args.moves else counting(file.moves())
    kept = shelf_of(file.moves())
    seen = outlook(kept, now.utc, weeks=args.weeks, lead_days=args.lead)
    if args.csv:
        put_table(args.csv, moves_csv(moves) if args.moves else shelf_csv(kept, seen))
    if args.json:
        answer([row_of(move) for move in moves] if args.moves else shelf_data(kept, seen, fresh))
    elif args.csv == "-":
        pass
    elif args.moves:
        say(*(f"{local(move.at, None):%Y-%m-%d} {move_text(move)}" for move in moves))
    else:
        say(*(move_text(move) for move in fresh))
        say(*shelf_lines(kept, seen, now.utc.date()))
    return 1 if args.strict and any(each.reorder for each in seen) else 0


def _told(going_on: SessionFile, fresh: list[Move], now: Now) -> None:
    """Record what came with the session that goes on, whose doubts about the shelf go by it."""
    came = [move for move in fresh if move.kind == "received"]
    going_on.add(
        make("received", now, clock.new_id, thing=m.thing, name=m.name, amount=m.amount, measure=m.unit) for m in came
    )


def _typed(args: Namespace, kept: Shelf, now: datetime, going_on: SessionFile | None) -> list[Move]:
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
    for kind in ("received", "counted", "used"):
        for said in getattr(args, kind) or ():
            thing, name, amount, unit = _quantity(said, known, f"--{kind}", args.thing)
            move = Move(clock.new_id(), at, kind, thing, name, amount, unit, why=why, lot=lot)
            if kind == "received" and going_on is not None:
                counts = (one for one in first_counts(going_on.plan, kept) if (one.thing, one.name) == (thing, name))
                found += [replace(one, id=clock.new_id(), at=at) for one in counts]
            found.append(_of_bottle(move, kept) if thing == "bottle" else move)
    for said in args.made or ():
        made = _solution(said, known, at, args.thing, kept)
        found.append(replace(made, why=why, lot=lot or made.lot))
    return found


def _of_bottle(move: Move, kept: Shelf) -> Move:
    bottle = next(b for b in kept.bottles if b.name == move.name)
    if move.kind == "received":
        raise Refusal(
            f"--received: a bottle of solution is made, not received; write --made '{bottle.dye} 500 mL 2 %'"
        )
    return replace(move, name=bottle.dye, bottle=bottle.name)


def _known(args: Namespace, kept: Shelf) -> dict[str, tuple[str, str]]:
    """Return what each known name is, and its unit: on the shelf, else in the newest session's plan."""
    found = {item.name: (item.thing, item.unit) for item in kept.items}
    found |= {bottle.name: ("bottle", "mL") for bottle in kept.bottles}
    newest = sessions(args).newest(unfinished=False)
    if newest is not None:
        found = {**_in_plan(newest.plan), **found}
    return found


def _in_plan(plan: Plan) -> dict[str, tuple[str, str]]:
    found = {dye.name: ("dye", "g") for dye in plan.dyes}
    found |= {base.name: ("yarn", "pieces") for base in plan.bases}
    found |= {extra.name: ("extra", extra.unit) for extra in plan.extras}
    found[plan.acid.name] = ("acid", plan.acid.unit)
    return found


def _quantity(
    said: str, known: dict[str, tuple[str, str]], option: str, thing: str | None
) -> tuple[str, str, float, str]:
    """Return (thing, name, amount, unit) of "Peat 50 g": the name is what comes before the last quantity.

    Raises Refusal.
    """
    words = said.split()
    for begin in range(len(words) - 1, 0, -1):
        name, quantity = harmless(" ".join(words[:begin])), " ".join(words[begin:])
        meant = _named(name, known)
        if meant is None and thing is None:
            continue
        of = known[meant] if meant is not None else (thing or "", _unit_of(thing or "", quantity))
        amount = _amount(quantity, of[1])
        if amount is not None:
            return of[0], meant or name, amount, of[1]
    example = f"write {option} 'Peat 50 g', {option} 'Plain Sock 20 pieces'"
    ends = [n for n in range(1, len(words)) if any(_amount(" ".join(words[n:]), u) for u in ("g", "mL", "pieces"))]
    name = harmless(" ".join(words[: ends[0]])) if ends else ""
    if name and _named(name, known) is None and thing is None:
        offered = near(name, list(known)) if known else "nothing is known yet"
        raise Refusal(
            f"{option}: nothing is called {name!r}; {offered}, or say what it is with --as {'|'.join(SPOKEN)}"
        )
    raise Refusal(f"{option}: {harmless(said)!r} names no amount that can be; {example}")


def _unit_of(thing: str, quantity: str) -> str:
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


def _solution(said: str, known: dict[str, tuple[str, str]], at: datetime, thing: str | None, kept: Shelf) -> Move:
    """Return a solution made: "Peat 500 mL 2 %". Raises Refusal."""
    right = "write --made 'Peat 500 mL 2 %'"
    words = said.split()
    if len(words) < 3:
        raise Refusal(f"--made: {harmless(said)!r} is no solution; {right}")
    if words[-1] == "%":
        words[-2:] = [f"{words[-2]} %"]
    try:
        strength = units.read(words[-1], units.STRENGTH_PCT, low=0.01, high=30)
    except units.QuantityError as error:
        raise Refusal(f"--made: {error}; {right}") from None
    dyes = {name: of for name, of in known.items() if of[0] == "dye"}
    rest = words[:-1]
    for begin in range(len(rest) - 1, 0, -1):
        name = _named(" ".join(rest[:begin]), dyes) or (harmless(" ".join(rest[:begin])) if thing == "dye" else None)
        volume = _amount(" ".join(rest[begin:]), "mL")
        if name is not None and volume:
            made = local(at, None).date()
            dye = kept.item("dye", name)
            return Move(
                clock.new_id(),
                at,
                "made",
                "bottle",
                name,
                volume,
                "mL",
                lot=dye.lot if dye is not None else "",
                bottle=bottle_name(name, strength, made),
                strength_pct=strength,
                made=made,
                powder_g=volume * strength / 100,
            )
    raise Refusal(f"--made: {harmless(said)!r} names no dye that is known, or no volume; {right}")


def shelf_data(kept: Shelf, seen: list[Outlook], fresh: list[Move]) -> dict[str, object]:
    """Return the shelf as JSON-able data."""
    return {
        "things": [
            {
                "thing": each.item.thing,
                "name": each.item.name,
                "amount": each.item.amount,
                "unit": each.item.unit,
                "in_bottles_g": each.in_bottles,
                "per_week": each.per_week,
                "days_left": each.days_left,
                "reorder": each.reorder,
                "lot": each.item.lot,
            }
            for each in seen
        ],
        "bottles": [
            {
                "name": bottle.name,
                "dye": bottle.dye,
                "strength_pct": bottle.strength_pct,
                "made": bottle.made.isoformat(),
                "left_ml": bottle.left_ml,
                "powder_lot": bottle.powder_lot,
            }
            for dye in dict.fromkeys(b.dye for b in kept.bottles)
            for bottle in kept.bottles_of(dye)
        ],
        "moved": [row_of(move) for move in fresh],
    }


def shelf_lines(kept: Shelf, seen: list[Outlook], today: Date) -> Iterator[str]:
    """Yield the shelf for a person, what to reorder first."""
    if not seen:
        yield "the shelf is empty: begin with `dyeday shelf --received 'Peat 50 g' --as dye`"
        return
    due = [each for each in seen if each.reorder]
    for each in due:
        yield f"reorder {each.item.name}: {_left_text(each)}"
    thing = ""
    for each in seen:
        if each.item.thing != thing:
            thing = each.item.thing
            yield {"dye": "Dye powder", "acid": "Acid", "extra": "Extras", "yarn": "Yarn"}.get(thing, thing)
        yield f"  {each.item.name}: {_left_text(each)}"
        if thing == "dye":
            yield from (f"    {_bottle_text(bottle, today)}" for bottle in kept.bottles_of(each.item.name))


def _left_text(each: Outlook) -> str:
    item = each.item
    if item.amount is None:
        left = "never counted"
    elif item.amount < -0.05:
        left = f"{figure(-item.amount)} {item.unit} more used than was there: count it"
    else:
        left = f"{figure(max(0.0, item.amount))} {item.unit}"
    wet = f" and {figure(each.in_bottles, 3)} g in bottles" if each.in_bottles else ""
    rate = f", {figure(each.per_week, 3)} {item.unit} a week" if each.per_week else ""
    days = f", {each.days_left:.0f} days left" if each.days_left is not None else ""
    return f"{left}{wet}{rate}{days}"


def _bottle_text(bottle: Bottle, today: Date) -> str:
    age = (today - bottle.made).days
    old = f", {age} days old: look for sediment and mould" if age > OLD_SOLUTION_DAYS else ""
    lot = f", powder lot {bottle.powder_lot}" if bottle.powder_lot else ""
    return f"bottle {bottle.left_ml:.0f} mL of {bottle.strength_pct:g} %, made {bottle.made:%d %b %Y}{lot}{old}"


def move_text(move: Move) -> str:
    """Return a movement in one line."""
    amount = f"{figure(move.amount)} {move.unit}"
    lot = f", lot {move.lot}" if move.lot else ""
    tail = f"{lot}{', by the plan' if move.planned else ''}{f' ({move.why})' if move.why else ''}"
    tail += f" [{move.session}]" if move.session else ""
    match move.kind:
        case "received":
            return f"{move.name}: {amount} came{tail}"
        case "counted":
            return f"{move.bottle or move.name}: counted {amount}{tail}"
        case "made":
            took = f", {figure(move.powder_g)} g of powder" if move.powder_g else ""
            return f"{move.name}: {amount} of {move.strength_pct or 0:g} % made{took}{tail}"
        case "undone":
            return f"what {move.session} took is undone ({move.why})"
        case _:
            return f"{move.bottle or move.name}: {amount} used{tail}"
