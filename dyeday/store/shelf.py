"""The shelf on disk: one file of movements that only grows, and the step that takes a closed day off the shelf."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import fields, replace
from datetime import date as Date  # noqa: N812 - the field is called date
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dyeday.craft.dye.measuring import figure
from dyeday.plan.serialize import to_plain
from dyeday.store import clock
from dyeday.store.durable import StoreError, make_folder, reason
from dyeday.store.lock import FileLock
from dyeday.store.sealed import Kind, Tables
from dyeday.store.storage import DurableStorage
from dyeday.studio.shelf.day_movements import moves_of_day
from dyeday.studio.shelf.movements import CARRIED_OVER, Move, Shelf, counting, shelf_of, split_off
from dyeday.studio.shelf.reorder_forecast import outlook
from dyeday.text import counted

if TYPE_CHECKING:
    from dyeday.store.closing import ClosedDay

_DEFAULTS = tuple((field.name, field.default) for field in fields(Move))


def row_of(move: Move) -> dict[str, Any]:
    """Return a movement as JSON-able data, without what is as usual."""
    return {key: to_plain(value) for key, usual in _DEFAULTS if (value := getattr(move, key)) != usual}


def move_of(row: dict[str, Any]) -> Move:
    """Return the movement in a row. Raises TypeError, ValueError or KeyError where it holds none.

    Without the checks of `dyeday.plan.serialize`, which would take a second for ten years: a sealed file is our own.
    """
    made = row.get("made")
    at = datetime.fromisoformat(row["at"])
    return Move(**{**row, "at": at, "made": None if made is None else Date.fromisoformat(made)})


def _made(tables: Tables) -> list[Move]:
    return [move_of(row) for row in tables["moves"].values()]


def _holds(tables: Tables) -> str:
    moves = _made(tables)
    last = f", the last of {moves[-1].at:%d %b %Y}" if moves else ""
    return f"{counted(len(moves), 'movement')}{last}"


def _tables(moves: list[Move]) -> Tables:
    return {"moves": {str(n): row_of(move) for n, move in enumerate(moves, 1)}}


MOST, KEPT = 1500, timedelta(days=120)
"""beyond so many movements those older than this go into a file of their own, so that closing a day stays quick"""
SHELF = Kind("shelf", 1, check=_made, holds=_holds)


class ShelfFile:
    """The movements of a data folder, in the order of recording."""

    def __init__(self, data: Path) -> None:
        self.data = data
        self.path = data / "shelf.json"
        self._storage = DurableStorage(self.path, SHELF)
        self._seen: tuple[Tables, list[Move]] | None = None
        """the tables last read or written, and their movements"""

    def moves(self) -> list[Move]:
        """Return every movement; none where there is no file yet. Raises StoreError."""
        tables = self._storage.read()
        if tables is None:
            return []
        if self._seen is None or self._seen[0] is not tables:
            self._seen = (tables, _made(tables))
        return list(self._seen[1])

    def shelf(self) -> Shelf:
        return shelf_of(self.moves())

    def add(self, make: Callable[[list[Move]], Iterable[Move]]) -> list[Move]:
        """Add what ``make`` gives for the movements there are, under the lock; leave out ids that are there.

        When this returns they are on the disk. Raises StoreError; then nothing changed.
        """
        make_folder(self.data)
        try:
            with FileLock(self.path.with_suffix(".lock")):
                existing = self.moves()
                known = {move.id for move in existing}
                fresh = [move for move in make(existing) if move.id not in known]
                if fresh:
                    self._write([*existing, *fresh])
        except OSError as error:
            raise StoreError(f"the shelf could not be saved: {reason(error)}", f"look at {self.data}") from None
        return fresh

    def _write(self, moves: list[Move]) -> None:
        old, going_on = split_off(moves, MOST, clock.now().utc - KEPT)
        if old:
            # First the old ones where they will stay: a plug pulled between the two leaves them twice, never nowhere.
            away = self.data / f"shelf-{old[-1].at:%Y-%m-%d}.json"
            DurableStorage(away, SHELF).write(_tables(old))
        before, seen = self._seen if self._seen is not None else ({"moves": {}}, [])
        if old or len(before["moves"]) != len(seen):
            tables = _tables(going_on)
        else:  # only lines are added: those that are there are as they were
            rows = {str(n): row_of(move) for n, move in enumerate(going_on[len(seen) :], len(seen) + 1)}
            tables = {"moves": {**before["moves"], **rows}}
        self._storage.write(tables)
        self._seen = (tables, going_on)

    def all_moves(self) -> list[Move]:
        """Return every movement there ever was, also those put away in files of their own, each once."""
        found: dict[str, Move] = {}
        for path in sorted(self.data.glob("shelf-*.json")):
            for move in _made(DurableStorage(path, SHELF).read() or {"moves": {}}):
                found.setdefault(move.id, move)
        for move in self.moves():
            found.setdefault(move.id, move)
        return [move for move in found.values() if move.why != CARRIED_OVER]


def take_down(closed: ClosedDay) -> list[str]:
    """Take what a closed day used off the shelf. Done again, it changes nothing unless the day was changed."""

    def of_day(existing: list[Move]) -> list[Move]:
        written = [move for move in counting(existing) if move.session == closed.session_id]
        others = [move for move in existing if move.session != closed.session_id]
        ended = closed.now.utc
        if not written and others and others[0].why == CARRIED_OVER and ended <= others[0].at:
            return []  # so long ago that what it took is put away; a count puts the shelf right
        wanted = moves_of_day(closed.day, closed.session_id, shelf_of(others), ended, clock.new_id)
        if [_said(move) for move in wanted] == [_said(move) for move in written]:
            return []
        undo = Move(clock.new_id(), clock.now().utc, "undone", session=closed.session_id, why="the day was changed")
        return [undo, *wanted] if written else wanted

    file = closed.shelf
    took = {(move.thing, move.name) for move in file.add(of_day)}
    took |= {("dye", name) for thing, name in took if thing == "bottle"}
    due = [each for each in outlook(file.shelf(), closed.now.utc) if each.reorder] if took else []
    return [
        f"reorder {each.item.name}: {figure(max(0.0, each.item.amount or 0.0))} {each.item.unit} left"
        for each in due
        if (each.item.thing, each.item.name) in took
    ]


def _said(move: Move) -> Move:
    """Return a movement without what tells one writing of it from another."""
    return replace(move, id="", at=move.at.min, amount=round(move.amount, 6), powder_g=round(move.powder_g, 6))
