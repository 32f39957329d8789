"""A day closed is a day in the records: at once, at the next look where that failed, and once however often."""

from __future__ import annotations

from pathlib import Path

import pytest

from dyeday.files.durable import StoreError
from dyeday.store.records.database import Records
from dyeday.store.records.lots import LotBook
from dyeday.store.records.shelf import ShelfRecords
from dyeday.store.records.sync import sync_records
from dyeday.store.records.taking_in import TakenIn, take_in
from dyeday.store.session_file import SessionFile
from dyeday.store.sessions import Sessions
from dyeday.studio.shelf.movements import Move
from dyeday.terms import MoveKind, StockKind
from dyeday.track.day.day_state import Event
from tests.fakes import MORNING, FakeClock, Ids, begun
from tests.faults.script import closing, finished
from tests.store.test_lot_book import rows_of_all_tables
from tests.typed_events import make


def told_by_sync(data: Path) -> list[str]:
    messages: list[str] = []
    sync_records(data, messages.append)
    return messages


def put(session: SessionFile, event: Event) -> TakenIn:
    """Add an entry as commands and the bench do."""
    session.add([event])
    return take_in(session)


def taken(data: Path) -> dict[str, int]:
    with Records(data).reading() as db:
        return dict(db.execute("SELECT session, events FROM taken"))


def test_a_day_is_taken_in_as_it_closes_and_again_with_every_later_entry(tmp_path: Path) -> None:
    """Not before the close; nothing is owed afterwards."""
    session = finished(tmp_path)
    assert taken(tmp_path) == {}
    taken_in = put(session, closing())
    assert taken(tmp_path) == {session.about.id: len(session.events)}
    assert any(line.startswith("lot ") for line in taken_in.lines)
    clock = FakeClock()
    clock.on(2000)
    put(session, make("note", clock(), Ids(), note="after"))
    assert taken(tmp_path) == {session.about.id: len(session.events)}
    assert told_by_sync(tmp_path) == []


def test_a_day_whose_closing_was_undone_is_not_taken_in(tmp_path: Path) -> None:
    """It is open again, until it is closed again."""
    clock, ids = FakeClock(), Ids()
    session = begun(tmp_path, clock)
    end = make("closed", clock(), ids)
    put(session, end)
    put(session, make("struck", clock(), ids, strikes=end.id))
    assert taken(tmp_path) == {session.about.id: 1}
    assert told_by_sync(tmp_path) == []
    put(session, make("closed", clock(), ids))
    assert taken(tmp_path) == {session.about.id: 3}


def test_a_day_the_records_could_not_take_in_stays_closed_and_is_taken_in_at_the_next_look(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What it says then is what closing would have said; another look says nothing."""

    def full(_: object) -> None:
        raise StoreError("the disk is full", "make room")

    session = finished(tmp_path)
    with monkeypatch.context() as broken:
        broken.setattr(Records, "writing", full)
        taken_in = put(session, closing())
    assert taken_in.trouble == (
        "the day is closed, but could not be added to the records now: the disk is full; make room"
    )
    assert taken(tmp_path) == {}
    (message,) = told_by_sync(tmp_path)
    assert message.startswith(f"{session.about.id} was closed, and is now in the records: ")
    assert told_by_sync(tmp_path) == []


def test_a_day_half_taken_in_is_not_taken_in_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One transaction: a shelf without its lots would stay so."""

    def broken_lots(*_: object) -> None:
        raise StoreError("nothing of it", "try again")

    session = finished(tmp_path)
    with monkeypatch.context() as broken:
        broken.setattr(LotBook, "take_day", broken_lots)
        put(session, closing())
    assert ShelfRecords(tmp_path).moves() == []
    told_by_sync(tmp_path)
    assert ShelfRecords(tmp_path).moves() != []


def test_days_taken_in_from_any_number_of_shells_are_taken_in_once(tmp_path: Path) -> None:
    """By the session and how many events it had."""
    session = finished(tmp_path)
    put(session, closing())
    before = rows_of_all_tables(tmp_path)
    for _ in range(3):
        take_in(SessionFile(session.path))
    assert rows_of_all_tables(tmp_path) == before


def test_a_session_put_back_to_before_its_last_entries_is_taken_in_as_it_is(tmp_path: Path) -> None:
    """Its lots are as that state makes them; a lot it no longer has is withdrawn, and says so."""
    session = finished(tmp_path)
    put(session, closing())
    older = session.path.read_bytes()
    clock = FakeClock()
    clock.on(2000)
    put(session, make("note", clock(), Ids(), batch="01", note="a knot"))
    session.path.write_bytes(older)
    told_by_sync(tmp_path)
    assert taken(tmp_path) == {session.about.id: len(Sessions(tmp_path).open(session.about.id).events)}


def test_what_the_shelf_owes_a_day_is_reported_once(tmp_path: Path) -> None:
    """Kept with the movement in one transaction, forgotten when the day has it."""
    clock, ids = FakeClock(), Ids()
    session = begun(tmp_path, clock)
    move = Move("delivery", MORNING, MoveKind.RECEIVED, StockKind.DYE, "Slate Blue", 100.0, "g")
    event = make("received", clock(), lambda: "delivery", thing="dye", name="Slate Blue", amount=100.0, measure="g")
    ShelfRecords(tmp_path).add(lambda _: [move], lambda fresh: [(session.about.id, event) for _ in fresh])
    assert session.events == ()
    for _ in range(2):
        told_by_sync(tmp_path)
        assert [e.id for e in Sessions(tmp_path).open(session.about.id).events] == ["delivery"]
    assert ids() is not None
