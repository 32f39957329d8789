"""`lots --again`: a finished lot's order and recipe for today's plan, and what is not as it was."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

from dyeday.commands.common import Refusal, answer, choose, complain, say
from dyeday.commands.plans import load
from dyeday.commands.stocked import stocked, studio_library
from dyeday.plan.keep import to_plain
from dyeday.plan.library import Library
from dyeday.plan.model import Plan
from dyeday.plan.problems import PlanError
from dyeday.plan.read import read_plan
from dyeday.store.durable import StoreError
from dyeday.store.places import data_folder
from dyeday.store.shelf import ShelfFile
from dyeday.track.again import Again, DyeAgain, again
from dyeday.track.lot import Lot
from dyeday.track.shelf import Shelf


def dye_again(args: Namespace, lot: Lot) -> int:
    """Print what goes at the end of a plan; what differs goes to stderr, so that the first can go into a file."""
    if args.skeins is not None and not 1 <= args.skeins <= 5000:
        raise Refusal(f"--skeins {args.skeins} is no number of pieces; write 1 to 5000")
    today, whose = _today(args)
    if today is not None:
        today, told = stocked(args, today)
        complain(told)
    found = again(lot, today, _shelf(args), args.skeins)
    if args.plan:
        _must_read(Path(args.plan), found, studio_library(args))
    if args.json:
        answer({
            "lot": lot.number,
            "compared_with": whose,
            "toml": found.toml,
            "order": to_plain(found.order),
            "defines": list(found.defines),
            "dyes": [asdict(dye) for dye in found.dyes],
            "acid_then": found.acid_then,
            "acid_now": found.acid_now,
            "differs": [asdict(item) for item in found.differs],
            "reminders": list(found.reminders),
        })  # fmt: skip
        return 0
    say(*found.toml.rstrip("\n").split("\n"))
    complain(_told(lot, found, whose))
    return 0


def _today(args: Namespace) -> tuple[Plan | None, str]:
    """Return today's plan and what it is: the one named, else the newest session's, else none."""
    if args.plan:
        return load(Path(args.plan), studio_library(args))[0], args.plan
    try:
        session = choose(args, reading=True)
    except Refusal:
        return None, ""
    return session.plan, f"session {session.about.id}"


def _shelf(args: Namespace) -> Shelf:
    try:
        return ShelfFile(data_folder(args.data)).shelf()
    except StoreError:
        return Shelf()  # told already, where there is anything to compare with


def _must_read(path: Path, found: Again, library: Library) -> None:
    """Raise Refusal where the plan with the new lines would be none."""
    _, text = load(path, library)
    try:
        read_plan(f"{text}\n{found.toml}", library)
    except PlanError as error:
        raise Refusal(*(f"with this at the end of {path}, line {problem}" for problem in error.problems)) from None


def _told(lot: Lot, found: Again, whose: str) -> Iterator[str]:
    yield f"lot {lot.number}, {lot.date}: {lot.skeins} then, {found.order.skeins} now"
    for dye in found.dyes:
        yield f"  {dye.dye}: {_amount(dye.now_g, dye.now_ml)}{_then(dye)}"
    if not whose:
        yield "  nothing to compare with: --plan PLAN names today's plan"
    elif not found.differs:
        yield f"  nothing differs from {whose}"
    for item in found.differs:
        so = f" ({item.so})" if item.so else ""
        yield f"  {item.what}: {item.then} then, {item.now} now{so}"
    for reminder in found.reminders:
        yield f"  then: {reminder}"


def _then(dye: DyeAgain) -> str:
    used = "" if dye.used_ml is None and dye.used_g is None else f", used {_used(dye)}"
    return f"; then {_amount(dye.then_g, dye.then_ml)} by the recipe{used}"


def _amount(grams: float, ml: float) -> str:
    return f"{grams:.4g} g" + (f" in {ml:.4g} mL" if ml else "")


def _used(dye: DyeAgain) -> str:
    parts = [f"{dye.used_ml:.4g} mL" for _ in "x" if dye.used_ml is not None]
    parts += [f"{dye.used_g:.4g} g" for _ in "x" if dye.used_g is not None]
    return " and ".join(parts)
