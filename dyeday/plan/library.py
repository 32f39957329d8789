"""The studio's library: definitions kept between days, which plans only name; without amounts on hand and bottles."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import field, fields, replace
from datetime import date
from typing import Any, TypeVar

from dyeday.plan.model import Acid, Base, Circuit, Colourway, Dye, Kit, Plan, Session, Water
from dyeday.quick_dataclass import dataclass
from dyeday.text import brief

T = TypeVar("T", Circuit, Kit, Base, Dye, Colourway)
_UNITS = re.compile(r"(_per_100g|_per_g|_min|_mm|_skeins|_pct|_ml|_g|_m|_w|_l|_h)+$")


@dataclass(frozen=True, slots=True)
class Studio:
    """The unnamed settings of a studio. Name and date of ``session`` are unused."""

    session: Session = field(default_factory=lambda: Session("", date(2000, 1, 1), 540, 1020))
    water: Water = field(default_factory=Water)
    acid: Acid = field(default_factory=Acid)
    scale_g: float = 0.1
    jug_ml: float = 5.0


@dataclass(frozen=True, slots=True)
class Library:
    """The definitions of a studio that plans may name."""

    circuits: tuple[Circuit, ...] = ()
    kit: tuple[Kit, ...] = ()
    bases: tuple[Base, ...] = ()
    dyes: tuple[Dye, ...] = ()
    colourways: tuple[Colourway, ...] = ()
    studio: Studio | None = None
    """None before setup"""


KEPT = (("circuits", "circuit"), ("kit", "kit"), ("bases", "base"), ("dyes", "dye"), ("colourways", "colourway"))
"""fields of both the library and the plan, and the word for one item of each"""
EMPTY = Library()


@dataclass(frozen=True, slots=True)
class LibraryChange:
    """The change of the library by a plan's definition; ``differs`` names the keys, none if it is new."""

    word: str
    name: str
    differs: tuple[str, ...] = ()


def without_amounts(thing: T) -> T:
    """Return a definition without what changes from day to day."""
    if isinstance(thing, Base):
        return replace(thing, on_hand=None)
    if isinstance(thing, Dye):
        return replace(thing, on_hand_g=None, bottle_ml=0.0, bottle_pct=None, bottle_made=None)
    if isinstance(thing, Kit):
        return replace(thing, down=())
    return thing


def without_stock(plan: Plan) -> Plan:
    """Return ``plan`` without what it says is on hand."""
    return replace(
        plan,
        acid=replace(plan.acid, on_hand=None),
        extras=tuple(replace(extra, on_hand=None) for extra in plan.extras),
        bases=tuple(map(without_amounts, plan.bases)),
        dyes=tuple(map(without_amounts, plan.dyes)),
    )


def by_name(things: Iterable[T], name: str) -> T | None:
    """Return the first definition of this name, or None."""
    return next((thing for thing in things if thing.name == name), None)


def overridden_definitions(plan: Plan, library: Library) -> list[str]:
    """Return what `check` says of the plan's definitions that are not the library's of the same name."""
    changes = [change for change in _changes(plan, library) if change.differs]
    what = "is the plan's own, the library's differs in"
    return [f"{one.word} {brief(one.name, 82)} {what} {', '.join(one.differs)}" for one in changes]


def with_definitions(library: Library, plan: Plan, *, only_new: bool = False) -> tuple[Library, list[LibraryChange]]:
    """Return the library with a plan's definitions, with ``only_new`` only those of new names, and the changes."""
    changes = [change for change in _changes(plan, library) if not (only_new and change.differs)]
    wanted = {(change.word, change.name) for change in changes}
    made: dict[str, Any] = {"studio": library.studio}
    for key, word in KEPT:
        things = {thing.name: thing for thing in getattr(library, key)}
        things |= {thing.name: without_amounts(thing) for thing in getattr(plan, key) if (word, thing.name) in wanted}
        made[key] = tuple(things.values())
    return Library(**made), changes


def _changes(plan: Plan, library: Library) -> Iterator[LibraryChange]:
    for key, word in KEPT:
        for own in getattr(plan, key):
            if (known := by_name(getattr(library, key), own.name)) is None:
                yield LibraryChange(word, own.name)
            elif differs := tuple(dict.fromkeys(_differing(without_amounts(own), known))):
                yield LibraryChange(word, own.name, differs)


def _differing(one: Any, other: Any) -> Iterator[str]:
    """Yield the plan's keys in which two definitions differ, those of layers by themselves."""
    for f in fields(one):
        own, theirs = getattr(one, f.name), getattr(other, f.name)
        if own == theirs or (f.name == "fibre" and dict(own) == dict(theirs)):
            continue
        if f.name == "layers" and len(own) == len(theirs):
            for left, right in zip(own, theirs, strict=True):
                yield from _differing(left, right)
        else:
            yield _UNITS.sub("", f.name)


def change_text(change: LibraryChange) -> str:
    """Return the change in words."""
    how = f"changed in {', '.join(change.differs)}" if change.differs else "is new"
    return f"{change.word} {brief(change.name, 82)} {how}"
