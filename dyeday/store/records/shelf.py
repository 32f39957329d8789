"""The shelf's movements in the records; none is ever changed."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterable
from dataclasses import fields
from datetime import timedelta

from dyeday.plan.serialize import from_plain, to_plain
from dyeday.store import clock
from dyeday.store.records.database import Records
from dyeday.studio.shelf.movements import OPENING, Move, Shelf, shelf_of, split_off
from dyeday.track.day.day_state import Event

MOST, KEPT = 600, timedelta(days=60)
"""beyond so many movements, counts stand for those older than this"""
_NAMES = [field.name for field in fields(Move)]
_PUT = f"INSERT INTO move(seq, {', '.join(_NAMES)}) VALUES (:seq, :{', :'.join(_NAMES)})"


def moves_in(db: sqlite3.Connection, which: str = "aside = 0") -> list[Move]:
    """Return movements in their order of recording: those that sum to the shelf, or ``which``, an SQL condition."""
    rows = db.execute(f"SELECT {', '.join(_NAMES)} FROM move WHERE {which} ORDER BY seq")
    plain = (dict(zip(_NAMES, row, strict=True)) for row in rows)
    return [from_plain(Move, {**row, "thing": row["thing"] or None, "planned": row["planned"] > 0}) for row in plain]


def add_moves(db: sqlite3.Connection, moves: Iterable[Move]) -> list[Move]:
    """Add movements whose ids are new, and return those; put old ones aside if there are many."""
    last = max(db.execute("SELECT max(seq) FROM move").fetchone()[0] or 0, 0)
    fresh = [move for move in moves if not db.execute("SELECT 1 FROM move WHERE id = ?", (move.id,)).fetchone()]
    db.executemany(_PUT, [_cells(last + n, move) for n, move in enumerate(fresh, 1)])
    if db.execute("SELECT count(*) FROM move WHERE aside = 0").fetchone()[0] > MOST:
        _put_aside(db)
    return fresh


def _cells(seq: int, move: Move) -> dict[str, object]:
    plain = to_plain(move)
    return {**plain, "thing": plain["thing"] or "", "seq": seq}


def _put_aside(db: sqlite3.Connection) -> None:
    """Mark the oldest movements as put aside, and put counts that sum to them before the rest."""
    moves = moves_in(db)
    old, going_on = split_off(moves, MOST, clock.now().utc - KEPT)
    if old:
        counts = going_on[: len(going_on) - (len(moves) - len(old))]
        first = (db.execute("SELECT min(seq) FROM move").fetchone()[0] or 1) - len(counts)
        db.executemany("UPDATE move SET aside = 1 WHERE id = ?", [(move.id,) for move in old])
        db.executemany(_PUT, [_cells(min(first, -len(counts)) + n, move) for n, move in enumerate(counts)])


class ShelfRecords(Records):
    """The shelf movements of a data folder."""

    def moves(self) -> list[Move]:
        """Return the movements that sum to the shelf. Raises StoreError."""
        with self.reading() as db:
            return moves_in(db)

    def shelf(self) -> Shelf:
        """Return the shelf. Raises StoreError."""
        return shelf_of(self.moves())

    def all_moves(self) -> list[Move]:
        """Return every movement, those put aside too. Raises StoreError."""
        with self.reading() as db:
            return [move for move in moves_in(db, "seq > 0") if move.why != OPENING]

    def add(
        self,
        make: Callable[[list[Move]], Iterable[Move]],
        events_owed: Callable[[list[Move]], Iterable[tuple[str, Event]]] = lambda fresh: (),
    ) -> list[Move]:
        """Add those movements that ``make`` returns for the present ones whose ids are new; return them.

        ``events_owed`` returns (session, event) for sessions that need to know, stored in the same transaction.
        Raises StoreError; then nothing changed, or the error says that it did.
        """
        with self.writing() as db:
            fresh = add_moves(db, make(moves_in(db)))
            rows = [(event.id, session, json.dumps(event.to_json())) for session, event in events_owed(fresh)]
            db.executemany("INSERT OR IGNORE INTO to_tell VALUES (?, ?, ?)", rows)
        return fresh
