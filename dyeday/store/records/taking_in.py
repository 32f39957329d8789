"""A closed day taken into the records, in one transaction; taking it in again is harmless."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import asdict

from dyeday.ahead.accuracy import first_recorded
from dyeday.files.durable import StoreError
from dyeday.plan.library import KEPT
from dyeday.quick_dataclass import dataclass
from dyeday.store import clock
from dyeday.store.records.database import Records
from dyeday.store.records.library import take_plan
from dyeday.store.records.lots import LotBook
from dyeday.store.records.shelf import add_moves, moves_in
from dyeday.store.records.times import put_forecast, put_observed
from dyeday.store.session_file import SessionFile
from dyeday.studio.lots.lot import Lot
from dyeday.studio.lots.lot_making import Judged, lots_of_day, with_shelf
from dyeday.studio.shelf.day_movements import moves_to_add
from dyeday.studio.shelf.movements import shelf_of, to_reorder
from dyeday.text import counted
from dyeday.track.day.day_state import Day
from dyeday.track.durations import durations_of
from dyeday.track.folding.fold import fold
from dyeday.track.timestamp import Moment


@dataclass(frozen=True, slots=True)
class TakenIn:
    """Messages from taking a closed day in, and the ``trouble`` that stopped it, if any."""

    lines: tuple[str, ...] = ()
    trouble: str = ""


def take_in(file: SessionFile) -> TakenIn:
    """Take a day into the records if it is closed. Raises nothing: the next command tries again."""
    day, data = fold(file.plan, file.events), file.data_folder
    if day.ended is None:
        return TakenIn()
    try:
        with Records(data).writing() as db:
            lines = _taken_in(LotBook(data), db, file, day, day.ended)
    except StoreError as error:
        return TakenIn((), f"the day is closed, but could not be added to the records now: {error}")
    return TakenIn(tuple(lines))


def _taken_in(book: LotBook, db: sqlite3.Connection, file: SessionFile, day: Day, ended: Moment) -> list[str]:
    session = file.about.id
    known = db.execute("SELECT events FROM taken WHERE session = ?", (session,)).fetchone()
    lines: list[str] = []
    if known != (len(file.events),):
        closed_at = (day.closed or ended).utc  # entries after closing take nothing off the shelf
        down = moves_to_add(moves_in(db), day, session, ended.utc, clock.now().utc, clock.new_id)
        fresh = add_moves(db, down)
        moves = moves_in(db)
        lines += to_reorder(fresh, shelf_of(moves), ended.utc)
        put_observed(db, session, durations_of(day))
        put_forecast(db, session, first_recorded(day))
        words = [change.word for change in take_plan(db, day.plan, only_new=True)]
        news = [counted(words.count(word), word, key) for key, word in KEPT if word in words]
        lines += [f"new in the library: {', '.join(news)}"] if news else []

        def make(judged: Judged) -> list[Lot]:
            return with_shelf(lots_of_day(day, session, ended, judged=judged), session, closed_at, moves)

        lines += [
            f"lot {lot.number}: {lot.colourway.name} on {lot.base.name}, {counted(lot.skeins, lot.base.form.value)}"
            for lot in book.take_day(db, session, day, make)
        ]
    listed = json.dumps(asdict(file.listed()), ensure_ascii=False)
    row = (session, len(file.events), *(file.stamp or (None, None)), listed)
    db.execute("INSERT OR REPLACE INTO taken VALUES (?, ?, ?, ?, ?)", row)
    return lines
