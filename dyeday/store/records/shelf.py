"""The shelf's movements in the records, none of which is ever changed.

Beyond some hundreds the oldest are put aside behind counts of what was there then, so that the shelf is quickly made
whatever its age; they stay in the same table.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields
from datetime import date as Date  # noqa: N812 - the field is called date
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from dyeday.plan.serialize import to_plain
from dyeday.store import clock
from dyeday.store.records.database import Records
from dyeday.studio.shelf.movements import CARRIED_OVER, Move, Shelf, shelf_of, split_off
from dyeday.terms import MoveKind, Thing
from dyeday.track.events.event import Event

MOST, KEPT = 600, timedelta(days=60)
"""beyond so many movements those older than this are put aside"""
_DEFAULTS = tuple((field.name, field.default) for field in fields(Move))
_NAMES = ", ".join(name for name, _ in _DEFAULTS)
_PUT = f"INSERT INTO move(seq, {_NAMES}) VALUES (?{', ?' * len(_DEFAULTS)})"


def row_of(move: Move) -> dict[str, Any]:
    """Return a movement as JSON-able data, without what is as usual."""
    return {key: to_plain(value) for key, usual in _DEFAULTS if (value := getattr(move, key)) != usual}


def move_of(row: Mapping[str, Any]) -> Move:
    """Return the movement in a row. Raises TypeError, ValueError or KeyError where it holds none."""
    made = row.get("made")
    at = datetime.fromisoformat(row["at"])
    thing = Thing(row["thing"]) if row.get("thing") else None
    given = {"planned": bool(row.get("planned")), "made": None if made is None else Date.fromisoformat(made)}
    return Move(**{**row, "at": at, "kind": MoveKind(row["kind"]), "thing": thing, **given})


def moves_in_force(db: sqlite3.Connection) -> list[Move]:
    """Return the movements that make the shelf, in the order of recording."""
    return _moves(db, "aside = 0")


def _moves(db: sqlite3.Connection, which: str) -> list[Move]:
    rows = db.execute(f"SELECT {_NAMES} FROM move WHERE {which} ORDER BY seq")
    names = [name for name, _ in _DEFAULTS]
    return [move_of(dict(zip(names, row, strict=True))) for row in rows]


def add_moves(db: sqlite3.Connection, moves: Iterable[Move]) -> list[Move]:
    """Add movements whose ids are new, and return those; put old ones aside where there are many."""
    last = db.execute("SELECT max(seq) FROM move").fetchone()[0] or 0
    fresh = []
    for move in moves:
        if not db.execute("SELECT 1 FROM move WHERE id = ?", (move.id,)).fetchone():
            fresh.append(move)
            put_move(db, max(last, 0) + len(fresh), move)
    if db.execute("SELECT count(*) FROM move WHERE aside = 0").fetchone()[0] > MOST:
        _put_aside(db)
    return fresh


def _cells(move: Move) -> list[Any]:
    plain = {name: to_plain(getattr(move, name)) for name, _ in _DEFAULTS}
    return list({**plain, "thing": plain["thing"] or ""}.values())


def put_move(db: sqlite3.Connection, seq: int, move: Move) -> None:
    """Put a movement in at its place in the order of recording."""
    db.execute(_PUT, (seq, *_cells(move)))


def _put_aside(db: sqlite3.Connection) -> None:
    now = moves_in_force(db)
    old, going_on = split_off(now, MOST, clock.now().utc - KEPT)
    counts = going_on[: len(going_on) - (len(now) - len(old))] if old else []
    if old:
        first = (db.execute("SELECT min(seq) FROM move").fetchone()[0] or 1) - len(counts)
        db.executemany("UPDATE move SET aside = 1 WHERE id = ?", [(move.id,) for move in old])
        db.executemany(_PUT, [(min(first, -len(counts)) + n, *_cells(move)) for n, move in enumerate(counts)])


class ShelfRecords:
    """The movements of a data folder, in the order of recording."""

    def __init__(self, data: Path) -> None:
        self.records = Records(data)

    def moves(self) -> list[Move]:
        """Return the movements that make the shelf as it is; none where nothing was kept yet. Raises StoreError."""
        with self.records.reading() as db:
            return moves_in_force(db)

    def shelf(self) -> Shelf:
        return shelf_of(self.moves())

    def all_moves(self) -> list[Move]:
        """Return every movement there ever was, also those put aside. Raises StoreError."""
        with self.records.reading() as db:
            return [move for move in _moves(db, "seq > 0") if move.why != CARRIED_OVER]

    def add(
        self,
        make: Callable[[list[Move]], Iterable[Move]],
        tell: Callable[[list[Move]], Iterable[tuple[str, Event]]] = lambda fresh: (),
    ) -> list[Move]:
        """Add what ``make`` gives for the movements there are; leave out ids that are there. Return the new ones.

        ``tell`` gives the events that sessions, by their ids, are to have of it: those cannot be lost once this has
        returned. Raises StoreError; then nothing changed, or the error says that it did.
        """
        with self.records.writing() as db:
            fresh = add_moves(db, make(moves_in_force(db)))
            told = [(event.id, session, json.dumps(event.to_json())) for session, event in tell(fresh)]
            db.executemany("INSERT OR IGNORE INTO to_tell VALUES (?, ?, ?)", told)
        return fresh
