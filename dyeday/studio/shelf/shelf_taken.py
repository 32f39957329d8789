"""What a closed day takes off the shelf, beside what is written of it already; and what is to be reordered then."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import datetime

from dyeday.craft.dye.measuring import figure
from dyeday.studio.shelf.day_movements import moves_of_day
from dyeday.studio.shelf.movements import CARRIED_OVER, Move, Shelf, counting, shelf_of
from dyeday.studio.shelf.reorder_forecast import outlook
from dyeday.terms import MoveKind, StockKind
from dyeday.track.day.day_state import Day


def taking_down(
    existing: Sequence[Move], day: Day, session: str, ended: datetime, now: datetime, new_id: Callable[[], str]
) -> list[Move]:
    """Return the movements to add for a day that ``ended``: none where what is written is what it took.

    A day that was changed since is undone by a movement of its own and taken off again.
    """
    written = [move for move in counting(existing) if move.session == session]
    others = [move for move in existing if move.session != session]
    if not written and others and others[0].why == CARRIED_OVER and ended <= others[0].at:
        return []  # so long ago that what it took is put away; a count puts the shelf right
    wanted = moves_of_day(day, session, shelf_of(others), ended, new_id)
    if [_said(move) for move in wanted] == [_said(move) for move in written]:
        return []
    undo = Move(new_id(), now, MoveKind.UNDONE, session=session, why="the day was changed")
    return [undo, *wanted] if written else wanted


def _said(move: Move) -> Move:
    """Return a movement without what tells one writing of it from another."""
    return replace(move, id="", at=move.at.min, amount=round(move.amount, 6), powder_g=round(move.powder_g, 6))


def to_reorder(fresh: Iterable[Move], shelf: Shelf, now: datetime) -> list[str]:
    """Return a line for each thing that fresh movements touched and that is to be reordered."""
    touched = {(move.thing, move.name) for move in fresh}
    touched |= {(StockKind.DYE, name) for thing, name in touched if thing is StockKind.BOTTLE}
    due = [each for each in outlook(shelf, now) if each.reorder] if touched else []
    return [
        f"reorder {each.item.name}: {figure(max(0.0, each.item.amount or 0.0))} {each.item.unit} left"
        for each in due
        if (each.item.thing, each.item.name) in touched
    ]
