"""The shelf: the stock of dye, solution, acid, extras and yarn, summed from movements that are never changed.

Amounts are g of powder, mL of solution, mL or g of acid and extras, pieces of yarn.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date as Date  # noqa: N812 - the field is called date
from datetime import datetime, timedelta
from math import ceil
from operator import attrgetter

from dyeday.craft.dye.measuring import figure
from dyeday.quick_dataclass import dataclass
from dyeday.terms import MoveKind, StockKind
from dyeday.text import counted

UNITS = {StockKind.DYE: "g", StockKind.BOTTLE: "mL", StockKind.YARN: "pieces"}
OPENING = "carried over"
"""the ``why`` of the opening movements that stand for those put away"""
HARDLY = 1e-6
"""smaller amounts count as zero"""


@dataclass(frozen=True, slots=True)
class Move:
    """One movement of stock, not of yarn in work. ``amount`` is what came, went, was made, or (counted) is there."""

    id: str
    at: datetime
    kind: MoveKind
    thing: StockKind | None = None
    """None for what is undone"""
    name: str = ""
    amount: float = 0.0
    unit: str = ""
    session: str = ""
    """which session made the movement; "" if it was typed"""
    planned: bool = False
    """whether it is the plan's amount, none being recorded"""
    why: str = ""
    lot: str = ""
    """the powder's or the mill's"""
    bottle: str = ""
    """name of the bottle made, drawn from or counted"""
    strength_pct: float | None = None
    made: Date | None = None
    powder_g: float = 0.0
    """powder that went into a bottle made"""


@dataclass(frozen=True, slots=True)
class Bottle:
    """A bottle of solution; see `bottle_name`."""

    name: str
    dye: str
    strength_pct: float
    made: Date
    left_ml: float
    powder_lot: str

    @property
    def powder_g(self) -> float:
        """Powder in what is left; strength is g in 100 mL."""
        return self.left_ml * self.strength_pct / 100


@dataclass(frozen=True, slots=True)
class ShelfItem:
    """One thing. ``amount`` is None until its first delivery or count; below zero, something was not recorded."""

    thing: StockKind
    name: str
    unit: str
    amount: float | None
    used: tuple[tuple[datetime, float], ...] = ()
    """every use, negative where one was put back"""
    first_at: datetime | None = None
    lot: str = ""
    """the lot that came last"""


@dataclass(frozen=True, slots=True)
class Shelf:
    """The stock: one item for each thing and name, and the bottles of solution."""

    items: tuple[ShelfItem, ...] = ()
    bottles: tuple[Bottle, ...] = ()

    def item(self, thing: StockKind, name: str) -> ShelfItem | None:
        """Return the item of a thing by its name; None if no movement has it."""
        return next((item for item in self.items if (item.thing, item.name) == (thing, name)), None)

    def amount(self, thing: StockKind, name: str) -> float | None:
        """Return how much there is of a thing by its name; None if that is unknown."""
        item = self.item(thing, name)
        return item.amount if item is not None else None

    def bottles_of(self, dye: str) -> list[Bottle]:
        """Return the bottles of a dye with something in them, oldest first."""
        left = (bottle for bottle in self.bottles if bottle.dye == dye and bottle.left_ml > HARDLY)
        return sorted(left, key=lambda bottle: (bottle.made, bottle.name))


Items = dict[tuple[StockKind, str], ShelfItem]
_at = attrgetter("at")


def shelf_of(moves: Iterable[Move]) -> Shelf:
    """Return the shelf that movements, in the order of recording, make; they are summed in the order of time."""
    items: Items = {}
    bottles: dict[str, Bottle] = {}
    moves = sorted(valid(moves), key=_at)
    for move in moves:
        if move.thing is StockKind.BOTTLE:
            _bottle(bottles, move)
            if move.kind is MoveKind.MADE:
                powder = replace(
                    move, kind=MoveKind.USED, thing=StockKind.DYE, amount=move.powder_g, unit="g", lot=""
                )
                _item(items, powder, StockKind.DYE, is_use=False)
        elif move.thing is not None:
            _item(items, move, move.thing)
    _count_solutions(items, moves)
    kinds = list(StockKind)
    order = sorted(items.values(), key=lambda item: (kinds.index(item.thing), item.name.casefold()))
    return Shelf(tuple(order), tuple(bottles.values()))


def valid(moves: Iterable[Move]) -> list[Move]:
    """Return the movements, in the order of recording, without those undone and without the undoing."""
    alive: list[Move] = []
    for move in moves:
        if move.kind is MoveKind.UNDONE:
            alive = [one for one in alive if one.session != move.session]
        else:
            alive.append(move)
    return alive


def lot_at(moves: Iterable[Move], thing: StockKind, name: str, at: datetime) -> str:
    """Return the lot of a thing that came last by ``at``; "" if valid movements name none."""
    named = (m for m in sorted(moves, key=_at) if (m.thing, m.name) == (thing, name) and m.lot and m.at <= at)
    return next((move.lot for move in reversed([*named])), "")


def split_off(moves: list[Move], most: int, keep_from: datetime) -> tuple[list[Move], list[Move]]:
    """Return (movements put away, movements that go on) if there are more than ``most``; else ([], all).

    A quarter of ``most`` is put away at least, else none. What goes on begins with the shelf at the cut and has the
    valid movements since ``keep_from``; those of one session stay together.
    """
    if len(moves) <= most:
        return [], moves
    alive = sorted(valid(moves), key=_at)
    cut = next((n for n, move in enumerate(alive) if move.at >= keep_from), len(alive))
    last = {move.session: n for n, move in enumerate(alive) if move.session}
    first = {move.session: n for n, move in reversed(list(enumerate(alive)))}
    while (early := min((first[s] for s, n in last.items() if n >= cut), default=cut)) < cut:
        cut = early
    stay = {move.id for move in alive[cut:]}
    old, rest = [m for m in moves if m.id not in stay], [m for m in moves if m.id in stay]
    return (old, [*_opening(old), *rest]) if alive[:cut] and len(old) >= most // 4 else ([], moves)


def _opening(old: list[Move]) -> list[Move]:
    """Return movements that make the amounts, lots and bottles that ``old`` made."""
    shelf, first = shelf_of(old), Move("", max(move.at for move in valid(old)), MoveKind.COUNTED, why=OPENING)
    counted = [
        replace(first, thing=item.thing, name=item.name, amount=item.amount, unit=item.unit, lot=item.lot)
        for item in shelf.items
        if item.amount is not None
    ]
    bottled = replace(first, kind=MoveKind.MADE, thing=StockKind.BOTTLE, unit="mL")
    opening = []
    for bottle in (bottle for bottle in shelf.bottles if bottle.left_ml > HARDLY):
        left = replace(bottled, name=bottle.dye, amount=bottle.left_ml, lot=bottle.powder_lot, bottle=bottle.name)
        opening.append(replace(left, strength_pct=bottle.strength_pct, made=bottle.made))
    return [replace(move, id=f"{old[-1].id}+{n}") for n, move in enumerate([*opening, *counted])]


def _item(items: Items, move: Move, thing: StockKind, *, is_use: bool = True) -> None:
    key = (thing, move.name)
    item = items.get(key) or ShelfItem(thing, move.name, move.unit or UNITS.get(thing, ""), None)
    amount, used = item.amount, item.used
    if move.kind is MoveKind.RECEIVED:
        amount = (amount or 0.0) + move.amount
    elif move.kind is MoveKind.COUNTED:
        amount = move.amount
    elif move.kind is MoveKind.USED:
        amount = None if amount is None else amount - move.amount
        if is_use:
            used = (*used, (move.at, move.amount))
    first_at, lot = item.first_at or move.at, move.lot or item.lot
    items[key] = replace(item, amount=amount, used=used, first_at=first_at, lot=lot)


def _bottle(bottles: dict[str, Bottle], move: Move) -> None:
    bottle = bottles.get(move.bottle)
    if move.kind is MoveKind.MADE and move.strength_pct is not None and move.made is not None:
        left_ml, lot = (bottle.left_ml, bottle.powder_lot) if bottle is not None else (0.0, "")
        left_ml += move.amount
        bottles[move.bottle] = Bottle(move.bottle, move.name, move.strength_pct, move.made, left_ml, move.lot or lot)
    elif bottle is not None and move.kind is MoveKind.USED:
        bottles[move.bottle] = replace(bottle, left_ml=bottle.left_ml - move.amount)
    elif bottle is not None and move.kind is MoveKind.COUNTED:
        bottles[move.bottle] = replace(bottle, left_ml=move.amount)


def _count_solutions(items: Items, moves: list[Move]) -> None:
    """Count solution drawn from bottles among the uses of its dye, as powder: it is bought again."""
    strengths = {move.bottle: move.strength_pct or 0.0 for move in moves if move.kind is MoveKind.MADE}
    for move in moves:
        if move.thing is StockKind.BOTTLE and move.kind is MoveKind.USED and (StockKind.DYE, move.name) in items:
            item = items[StockKind.DYE, move.name]
            grams = move.amount * strengths.get(move.bottle, 0.0) / 100
            items[StockKind.DYE, move.name] = replace(item, used=(*item.used, (move.at, grams)))


def bottle_name(dye: str, strength_pct: float, made: Date) -> str:
    """Return what a bottle is called: "Peat 2 % 2026-03-14"."""
    return f"{dye} {strength_pct:g} % {made.isoformat()}"


PAST_WEEKS = 8
LEAD_DAYS = 14.0
"""how long a delivery takes, where not given; common practice, no source"""


@dataclass(frozen=True, slots=True)
class ReorderForecast:
    """How long a thing will last by past weeks' use."""

    item: ShelfItem
    per_week: float
    days_left: float | None
    """None if nothing was used or the amount is unknown"""
    reorder: bool
    in_bottles: float
    """g of a dye that stands in bottles"""
    known_days: int
    """days on record, part days counted as whole; below 7 the weekly use is a guess"""
    lead_days: float

    @property
    def lead_text(self) -> str:
        """Why it is to be reordered before it is used up: "; an order takes 14 days"; else ""."""
        return f"; an order takes {self.lead_days:g} days" if self.reorder and self.days_left is not None else ""

    @property
    def bottles_text(self) -> str:
        """What stands in bottles: " and 2 g in bottles"; "" without any."""
        return f" and {figure(self.in_bottles, 3)} g in bottles" if self.in_bottles else ""


def outlook(
    shelf: Shelf, now_utc: datetime, *, weeks: float = PAST_WEEKS, lead_days: float = LEAD_DAYS
) -> list[ReorderForecast]:
    """Return each thing with its weekly use over the past ``weeks``, 1 or more, and whether to reorder now.

    The use is over the weeks on record, if fewer, one at least. Dye in bottles counts as in stock. Reordering is due
    if what is left will not outlast ``lead_days``, or nothing is left.
    """
    since = now_utc - timedelta(weeks=weeks)
    forecasts = []
    for item in shelf.items:
        used = sum(amount for at, amount in item.used if since < at <= now_utc)
        known = now_utc - (item.first_at or since)
        known_days = max(1, ceil(known / timedelta(days=1)))
        per_week = max(0.0, used) / min(weeks, max(1.0, known / timedelta(weeks=1)))
        wet = sum(bottle.powder_g for bottle in shelf.bottles_of(item.name)) if item.thing is StockKind.DYE else 0.0
        left = None if item.amount is None else max(0.0, item.amount) + wet
        days = left / per_week * 7 if left is not None and per_week > HARDLY else None
        empty = left is not None and left <= HARDLY
        due = empty or (days is not None and days <= lead_days)
        forecasts.append(ReorderForecast(item, per_week, days, due, wet, known_days, lead_days))
    return forecasts


def to_reorder(fresh: Iterable[Move], shelf: Shelf, now_utc: datetime) -> list[str]:
    """Return a line for each thing that ``fresh`` movements touched and that is to be reordered."""
    touched = {(move.thing, move.name) for move in fresh}
    touched |= {(StockKind.DYE, name) for thing, name in touched if thing is StockKind.BOTTLE}
    due = [each for each in outlook(shelf, now_utc) if each.reorder] if touched else []
    return [f"reorder {one.item.name}: {_left(one)}" for one in due if (one.item.thing, one.item.name) in touched]


def _left(one: ReorderForecast) -> str:
    days = f" for {counted(round(one.days_left), 'day')}" if one.days_left is not None else ""
    left = f"{figure(max(0.0, one.item.amount or 0.0))} {one.item.unit}{one.bottles_text}"
    return f"{left} left{days}{one.lead_text}"
