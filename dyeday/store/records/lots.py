"""The lot book: its lots, read from their sessions, the words that find them, and what was noted of them later."""

from __future__ import annotations

import contextlib
import json
import re
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date as Date  # noqa: N812 - the field is called date
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from dyeday.files.durable import StoreError
from dyeday.plan.reading.problems import similar
from dyeday.plan.serialize import from_plain, to_plain
from dyeday.store.records.database import Records
from dyeday.store.sessions import Sessions
from dyeday.studio.lots.lot import Lot, LotFact, LotFactKind, LotFlag
from dyeday.studio.lots.lot_making import BookDay, Judged, book_day, lot_of_day
from dyeday.studio.lots.lot_view import LotRow, asked, found_by, lot_of_parts, row_of
from dyeday.text import brief
from dyeday.track.day.day_state import Day
from dyeday.track.folding.fold import fold

NUMBER = re.compile(r"^\d{6}(\.\d{1,4})?-\d{2,3}[a-zA-Z]{0,3}$")
"""a lot's number: 260314-03, 260314.2-03"""
GONE = "a later entry changed or withdrew it"
_ROW = "SELECT number, date, colourway, base, skeins, mark FROM lot"


class _PartRow(NamedTuple):
    """One row of the table ``part``: what one day made of a lot."""

    number: str
    session: str
    events: int
    """how many of the session's events made it"""
    shelf: str
    """JSON: facts of dye and yarn from the shelf"""
    withdrawn: str
    body: str | None
    """JSON of the whole lot, where its session is not here"""
    flags: str = ""
    """JSON by batch; empty in a database of form 1"""

    def read_flags(self) -> dict[str, tuple[LotFlag, ...]]:
        """Return the flags by batch number. Raises KeyError, TypeError or ValueError."""
        by_batch = json.loads(self.flags or "{}")
        return {no: tuple(from_plain(LotFlag, flag) for flag in flags) for no, flags in by_batch.items()}


class LotBook(Records):
    """The lots of a data folder."""

    def __init__(self, data: Path) -> None:
        super().__init__(data)
        self.sessions = Sessions(data)
        self._day: tuple[str, int, Day] | None = None
        """(session, number of events, day) read last: neighbours in a list are mostly of one day"""

    def find(self, words: Iterable[str]) -> list[LotRow]:
        """Return the lots that have every word, newest first. Raises StoreError."""
        wanted = asked(words)
        where = " AND ".join("instr(words, ?)" for _ in wanted) or "1"
        with self.reading() as db:
            rows = db.execute(f"{_ROW} WHERE {where} ORDER BY date DESC, number DESC", wanted)
            return [LotRow(*row) for row in rows]

    def row(self, number: str) -> LotRow | None:
        """Return a lot's row; None if the book lacks it. Raises StoreError."""
        with self.reading() as db:
            row = db.execute(f"{_ROW} WHERE number = ?", (number,)).fetchone()
        return None if row is None else LotRow(*row)

    def lot(self, number: str) -> Lot:
        """Return a lot. Raises StoreError if there is none, or if its session cannot be read."""
        with self.reading() as db:
            return self.lot_in(db, number, alone=True)

    def lots(self, rows: Iterable[LotRow]) -> Iterator[Lot]:
        """Yield the lots of rows. Raises StoreError as `lot`."""
        with self.reading() as db:
            yield from (self.lot_in(db, row.number) for row in rows)

    def season(self, first: Date, last: Date) -> Iterator[Lot | BookDay]:
        """Yield the lots, but withdrawn ones, and the readable closed days of a span. Raises StoreError as `lot`."""
        span = (first.isoformat(), last.isoformat())
        with self.reading() as db:
            sql = "SELECT number FROM lot WHERE date BETWEEN ? AND ? AND skeins > 0 ORDER BY number"
            yield from (self.lot_in(db, number) for (number,) in db.execute(sql, span).fetchall())
            days = db.execute("SELECT session, events FROM taken WHERE substr(session, 1, 10) BETWEEN ? AND ?", span)
            for session, events in days.fetchall():
                try:
                    day = self._day_at(session, events)
                except StoreError:
                    continue  # the file is lost; its lots were yielded
                if day.ended is not None:
                    yield book_day(day, day.ended)

    def lot_in(self, db: sqlite3.Connection, number: str, *, alone: bool = False) -> Lot:
        """Return a lot within a transaction; ``alone`` reads only the events it depends on. Raises StoreError."""
        parts = db.execute("SELECT * FROM part WHERE number = ? ORDER BY session", (number,)).fetchall()
        if not parts:
            # Only similar numbers: comparing all of a book of years would take a second.
            like = db.execute("SELECT number FROM lot WHERE number LIKE ? || '%'", (number[:4],)).fetchall()
            like = like or db.execute("SELECT number FROM lot ORDER BY date DESC LIMIT 20").fetchall()
            right = similar(number, [name for (name,) in like]) if like else "see `dyeday lots`"
            raise StoreError(f"no lot {brief(number)}", right)
        noted = db.execute("SELECT at, what, text, of FROM noted WHERE number = ? ORDER BY id", (number,))
        try:
            facts = [LotFact(datetime.fromisoformat(at), LotFactKind(what), *more) for at, what, *more in noted]
        except ValueError:
            raise _by_another(number) from None
        return lot_of_parts([self._part(_PartRow(*row), alone=alone) for row in parts], facts)

    def _part(self, row: _PartRow, *, alone: bool = False) -> Lot:
        number, session = row.number, row.session
        try:
            if row.body is not None:
                return replace(from_plain(Lot, json.loads(row.body)), withdrawn=row.withdrawn)
            flags = row.read_flags()
            if alone and flags:
                day = self.sessions.day_of_batches(session, row.events, flags)
            else:
                day = self._day_at(session, row.events)
            lot = lot_of_day(day, session, day.ended, number, flags) if day.ended is not None else None
            if lot is None:
                what = f"session {session} no longer has lot {number}: its file was restored to an older state"
                raise StoreError(what, f"`dyeday restore {session}` lists its copies")
            known = tuple(from_plain(LotFact, one) for one in json.loads(row.shelf))
            return replace(lot, shelf=known, withdrawn=row.withdrawn)
        except (KeyError, TypeError, ValueError, IndexError):
            raise _by_another(number) from None

    def _day_at(self, session: str, events: int) -> Day:
        if self._day is None or self._day[:2] != (session, events):
            file = self.sessions.open(session)
            self._day = (session, events, fold(file.plan, file.events[:events]))
        return self._day[2]

    def add_facts(self, number: str, facts: Sequence[LotFact]) -> None:
        """Add facts to a lot. Raises StoreError if there is no such lot."""
        with self.writing() as db:
            self.lot_in(db, number)
            _note(db, number, facts)
            put_row(db, self.lot_in(db, number))

    def import_lots(self, lots: Sequence[Lot]) -> list[Lot]:
        """Import lots; return those that were new or brought a new fact.

        Raises StoreError if the book has a different lot of the same number; then none is imported.
        """
        fresh: dict[str, Lot] = {}
        with self.writing() as db:
            for lot in lots:
                known = db.execute("SELECT 1 FROM lot WHERE number = ?", (lot.number,)).fetchone()
                there = self.lot_in(db, lot.number) if known else None
                if there is None:
                    put_whole(db, lot)
                elif replace(there, added=()) != replace(lot, added=()):
                    raise StoreError(f"lot {lot.number} is in the book already, and differs", "leave it out")
                facts = [one for one in lot.added if there is None or one not in there.added]
                if there is None or facts:
                    _note(db, lot.number, facts)
                    fresh[lot.number] = self.lot_in(db, lot.number)
                    put_row(db, fresh[lot.number])
        return list(fresh.values())

    def take_day(
        self, db: sqlite3.Connection, session: str, day: Day, make: Callable[[Judged], Sequence[Lot]]
    ) -> list[Lot]:
        """Store a closed day's lots; return those that are new or changed. Raises StoreError.

        ``make`` gets the stored flags of batches whose entries are as then. A lot that the day lost is withdrawn.
        """
        rows = map(_PartRow._make, db.execute("SELECT * FROM part WHERE session = ?", (session,)))
        before = {row.number: row for row in rows}
        was: dict[str, Lot] = {}
        for row in before.values():
            with contextlib.suppress(StoreError):
                was[row.number] = self._part(row)
        same = (row for row in before.values() if row.events == len(day.events))
        lots = make({no: flags for row in same for no, flags in row.read_flags().items()})
        self._day = (session, len(day.events), day)
        changed = [lot for lot in lots if was.get(lot.number) != lot]
        gone = sorted(before.keys() - {lot.number for lot in lots})
        for lot in lots:
            flags = {batch.no: to_plain(batch.flags) for batch in lot.batches}
            cells = (lot.number, session, len(day.events), json.dumps(to_plain(lot.shelf)), json.dumps(flags))
            db.execute("INSERT OR REPLACE INTO part VALUES (?, ?, ?, ?, '', NULL, ?)", cells)
        for number in gone:
            say = "UPDATE part SET withdrawn = ? WHERE number = ? AND session = ? AND withdrawn = ''"
            db.execute(say, (GONE, number, session))
        for number in (*(lot.number for lot in changed), *gone):
            put_row(db, self.lot_in(db, number))
        return changed


def _by_another(number: str) -> StoreError:
    return StoreError(f"lot {number} was written by another dyeday", "install the newest one; nothing was changed")


def _note(db: sqlite3.Connection, number: str, facts: Iterable[LotFact]) -> None:
    rows = [(number, to_plain(one.at), one.what.value, one.text, one.of) for one in facts]
    db.executemany("INSERT INTO noted(number, at, what, text, of) VALUES (?, ?, ?, ?, ?)", rows)


def put_row(db: sqlite3.Connection, lot: Lot) -> None:
    """Store what a lot is listed and found by."""
    row = row_of(lot)
    cells = (row.number, row.date, row.colourway, row.base, row.skeins, row.mark, found_by(lot))
    db.execute("INSERT OR REPLACE INTO lot VALUES (?, ?, ?, ?, ?, ?, ?)", cells)


def put_whole(db: sqlite3.Connection, lot: Lot) -> None:
    """Store a whole lot, a part for each day, because its sessions are not here."""
    for session in dict.fromkeys(batch.session for batch in lot.batches):
        part = replace(lot, batches=tuple(b for b in lot.batches if b.session == session), added=(), withdrawn="")
        body = json.dumps(to_plain(part), ensure_ascii=False, allow_nan=False)
        row = (lot.number, session, 0, "[]", lot.withdrawn, body)
        db.execute("INSERT OR IGNORE INTO part VALUES (?, ?, ?, ?, ?, ?, '')", row)
