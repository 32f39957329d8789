"""What follows from a day being closed: the books take it in, step by step, in one place for shell and bench.

`SessionFile.add` comes here whenever a day that is closed got an entry: its closing, or something recorded later.
Every step must do the same again without harm, for a pulled plug may stop it anywhere and later entries repeat it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from dyeday.plan.model import Plan
from dyeday.store.durable import StoreError, reason
from dyeday.store.library_file import keep_definitions
from dyeday.store.lot_book import LotBook
from dyeday.store.shelf import ShelfFile, take_down
from dyeday.store.times import note_times
from dyeday.studio.lots.lot_making import kept_of_day, lots_of_day
from dyeday.studio.shelf.powder_lots import with_shelf
from dyeday.text import counted
from dyeday.track.day.day_state import Day
from dyeday.track.day.fold import fold
from dyeday.track.events.event import Event
from dyeday.track.timestamp import Now


@dataclass(frozen=True, slots=True)
class ClosedDay:
    """A closed day as a step is given it: the data folder, the session's id, the day, and when it ended.

    The shelf's file is one for all steps, so that it is read once.
    """

    data: Path
    session_id: str
    day: Day
    now: Now
    shelf: ShelfFile


Step = Callable[[ClosedDay], Iterable[str]]
"""Takes a closed day into one book; gives what to tell the person, a line each. Raises StoreError or OSError."""


def into_lot_book(closed: ClosedDay) -> Iterable[str]:
    """Put the day's finished lots into the lot book, and say which are new or changed."""
    moves = closed.shelf.moves()
    ended = closed.day.closed or closed.now  # not the last entry: one that comes later changes nothing of the shelf
    made = lots_of_day(closed.day, closed.session_id, closed.now)
    lots = with_shelf(made, closed.session_id, ended.utc, moves)
    kept = kept_of_day(closed.day, closed.session_id, closed.now, lots)
    book = LotBook(closed.data)
    told = [
        f"lot {lot.number}: {lot.colourway.name} on {lot.base.name}, {counted(lot.skeins, 'piece')}"
        for lot in book.take_day(lots, kept)
    ]
    return [*told, f"the lot book has it, its copy not: {book.copy_failed}"] if book.copy_failed else told


ON_CLOSE: tuple[tuple[str, Step], ...] = (
    ("the shelf", take_down),
    ("the studio's times", note_times),
    ("the library", keep_definitions),
    ("the lot book", into_lot_book),
)
"""(what the step is about, the step) in their order. The lot book is last: its line for the day says all is done."""


@dataclass(frozen=True, slots=True)
class Settled:
    """What the steps had to tell, and what stopped them, if anything did."""

    told: tuple[str, ...] = ()
    trouble: str = ""


def settle(data: Path, session_id: str, plan: Plan, events: Iterable[Event]) -> Settled:
    """Take a closed day into every book. A step that fails stops those after it and is told, never raised:
    what was closed is closed, and the next look at the lot book tries again.
    """
    day = fold(plan, events)
    if day.ended is None:
        return Settled()
    closed = ClosedDay(data, session_id, day, day.ended, ShelfFile(data))
    told: list[str] = []
    for about, step in ON_CLOSE:
        try:
            told += step(closed)
        except (StoreError, OSError) as error:
            said = str(error) if isinstance(error, StoreError) else reason(error)
            return Settled(tuple(told), f"the day is closed, but {about} could not take it in: {said}")
    return Settled(tuple(told))
