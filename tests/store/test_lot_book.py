"""The lot book: found by anything, read from the days themselves, noted on, and never a copy of them."""

from __future__ import annotations

import contextlib
import shutil
import sqlite3
import subprocess
import sys
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from dyeday.files.durable import StoreError
from dyeday.store.records.database import Records
from dyeday.store.records.lots import LotBook, put_row, put_whole
from dyeday.store.records.shelf import ShelfRecords
from dyeday.store.records.sync import sync_records
from dyeday.store.records.taking_in import take_in
from dyeday.store.session_file import SessionFile
from dyeday.store.sessions import Sessions
from dyeday.studio.lots import lot_making
from dyeday.studio.lots.lot import LotFact, LotFactKind
from dyeday.studio.lots.lot_making import lots_of_day
from dyeday.studio.shelf.movements import Move
from dyeday.terms import MoveKind, StockKind
from dyeday.track.folding.fold import fold
from tests.fakes import ROOT, FakeClock, Ids
from tests.track.days import MIDNIGHT, PLAN, THE_PLAN, Line, at, events, now, proper
from tests.typed_events import make

FORM_1 = Path(__file__).parent / "files" / "records-1"
LATER = datetime(2026, 5, 1, 12, tzinfo=UTC)


def finished(*batches: str) -> list[Line]:
    return [line for batch in batches for line in (*proper(batch), at("33:00", batch, to="done"))]


def session_of(data: Path, lines: list[Line], text: str = PLAN) -> SessionFile:
    """Return a session with what lines say, and closed."""
    from dyeday.plan.reading.plan_reader import read_plan

    session = Sessions(data).begin(read_plan(text), Path("plan.toml"), text, now("08:00"))
    session.add(events([*lines, at("34:00", event="closed")]))
    assert take_in(session).trouble == ""
    return session


@pytest.fixture
def closed(tmp_path: Path) -> SessionFile:
    return session_of(tmp_path, finished("01", "08"))


def rows_of_all_tables(data: Path) -> dict[str, list[tuple[object, ...]]]:
    with Records(data).reading() as db:
        names = [name for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        return {name: db.execute(f"SELECT * FROM {name}").fetchall() for name in names if name != "latest"}  # noqa: S608


def numbers(book: LotBook, *words: str) -> list[str]:
    return [row.number for row in book.find(words)]


def test_closing_puts_every_finished_lot_into_the_book(tmp_path: Path, closed: SessionFile) -> None:
    """What the day says is what the book says, beside what the shelf knew of it."""
    day = fold(closed.plan, closed.events)
    book = LotBook(tmp_path)
    assert numbers(book) == ["260418-08", "260418-01"]
    made = lots_of_day(day, closed.about.id, now("34:00"))
    assert [replace(book.lot(lot.number), shelf=()) for lot in made] == made


@pytest.mark.parametrize(
    ("words", "found"),
    [
        (["harbour"], ["260418-08", "260418-01"]),
        (["HARBOUR", "sock"], ["260418-01"]),
        (["ida"], ["260418-01"]),
        (["jumper"], ["260418-08"]),
        (["2026-04-18"], ["260418-08", "260418-01"]),
        (["april 2026", "navy", "steam"], ["260418-08", "260418-01"]),
        (["260418-01"], ["260418-01"]),
        (["superwash"], ["260418-01"]),
        (["short-soak"], []),
        (["0:"], []),
        (["peat"], []),
    ],
)
def test_a_lot_is_found_by_anything_it_has(
    tmp_path: Path, closed: SessionFile, words: list[str], found: list[str]
) -> None:
    """Colourway, base, order, date, dye, fibre, number; every word must be there."""
    assert numbers(LotBook(tmp_path), *words) == found


def test_what_is_kept_later_is_found_and_shown_and_changes_nothing_before_it(
    tmp_path: Path, closed: SessionFile
) -> None:
    """Notes and mill lots stand beside the lot; nothing of its day is touched."""
    book = LotBook(tmp_path)
    before = closed.path.read_bytes()
    lot = book.lot("260418-01")
    kept = (
        LotFact(LATER, LotFactKind.MILL_LOT, "MW 4471"),
        LotFact(LATER, LotFactKind.POWDER_LOT, "N-88", of="Navy"),
        LotFact(LATER, LotFactKind.LOOK, "redder"),
        LotFact(LATER, LotFactKind.NOTE, "für Jürgen zurückgelegt"),
    )
    book.add_facts("260418-01", kept)
    assert closed.path.read_bytes() == before
    again = LotBook(tmp_path)
    for words in (["4471"], ["n-88"], ["redder"], ["jurgen"], ["harbour", "Jürgen"]):
        assert numbers(again, *words) == ["260418-01"]
    after = again.lot("260418-01")
    assert after.added == kept
    assert (after.mill_lot, after.powder_lots, after.beside_sample) == ("MW 4471", {"Navy": "N-88"}, ("redder",))
    assert after.batches == lot.batches
    with pytest.raises(StoreError, match="no lot"):
        book.add_facts("260418-77", kept)


def test_a_powder_lot_said_later_for_all_dyes_replaces_what_was_known_of_each(
    tmp_path: Path, closed: SessionFile
) -> None:
    book = LotBook(tmp_path)
    book.add_facts("260418-01", [LotFact(LATER, LotFactKind.POWDER_LOT, "N-88", of="Navy")])
    book.add_facts("260418-01", [LotFact(LATER, LotFactKind.POWDER_LOT, "B-1")])
    assert (book.lot("260418-01").powder_lots, book.lot("260418-01").powder_lot_of("Navy")) == ({"": "B-1"}, "B-1")
    book.add_facts("260418-01", [LotFact(LATER, LotFactKind.POWDER_LOT, "N-89", of="Navy")])
    assert [book.lot("260418-01").powder_lot_of(dye) for dye in ("Navy", "Black")] == ["N-89", "B-1"]


def test_a_lot_with_a_fact_of_a_newer_kind_names_the_remedy(tmp_path: Path, closed: SessionFile) -> None:
    book = LotBook(tmp_path)
    book.add_facts("260418-01", [LotFact(LATER, LotFactKind.NOTE, "soft")])
    with book.writing() as db:
        db.execute("UPDATE noted SET what = 'scent'")
    with pytest.raises(StoreError, match="another dyeday"):
        LotBook(tmp_path).lot("260418-01")


def test_taking_a_day_in_again_adds_nothing(tmp_path: Path, closed: SessionFile) -> None:
    """The same entries are the same lots, and nothing is said to be new."""
    before = rows_of_all_tables(tmp_path)
    taken_in = take_in(closed)
    assert (taken_in.lines, taken_in.trouble) == ((), "")
    assert rows_of_all_tables(tmp_path) == before


def test_an_entry_after_the_close_is_in_the_book_and_notes_stay(tmp_path: Path, closed: SessionFile) -> None:
    """A note on a batch changes its lot alone."""
    LotBook(tmp_path).add_facts("260418-01", [LotFact(LATER, LotFactKind.NOTE, "soft")])
    closed.add(events([at("35:00", "01", note="a knot in the second skein")]))
    assert take_in(closed).lines == ("lot 260418-01: Harbour on Sock, 3 skeins",)
    assert numbers(LotBook(tmp_path), "knot") == ["260418-01"]
    assert numbers(LotBook(tmp_path), "knot", "soft") == ["260418-01"]
    lot = LotBook(tmp_path).lot("260418-01")
    assert [note.text for note in lot.batches[0].notes] == ["a knot in the second skein"]
    assert [fact.text for fact in lot.added] == ["soft"]


def test_a_lot_is_judged_by_the_rules_under_which_its_day_closed(
    tmp_path: Path, closed: SessionFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Other rules, as a later version has, raise and clear nothing in it; after an entry it is judged again."""
    before = LotBook(tmp_path).lot("260418-01")
    assert before.batches[0].flags
    monkeypatch.setattr(lot_making, "flags_of_batch", lambda *_: [])
    assert LotBook(tmp_path).lot("260418-01") == before
    assert take_in(closed).lines == ()
    (tmp_path / "sessions" / f"{closed.about.id}.json").touch()
    sync_records(tmp_path, pytest.fail)
    assert LotBook(tmp_path).lot("260418-01") == before
    closed.add(events([at("35:00", "01", note="a knot in the second skein")]))
    take_in(closed)
    assert LotBook(tmp_path).lot("260418-01").batches[0].flags == ()


def test_records_of_form_1_are_read_as_they_are_and_brought_up_by_the_first_note(tmp_path: Path) -> None:
    """Form 1 kept no flags: they are worked out."""
    (tmp_path / "sessions").mkdir()
    shutil.copy(FORM_1 / "2026-04-18-1.json", tmp_path / "sessions")
    with contextlib.closing(sqlite3.connect(tmp_path / "studio.db")) as db:
        db.executescript((FORM_1 / "studio.sql").read_text(encoding="utf-8"))
    raw, before = (tmp_path / "studio.db").read_bytes(), rows_of_all_tables(tmp_path)
    lot = LotBook(tmp_path).lot("260418-01")
    assert [fact.text for fact in lot.added] == ["soft"]
    assert (tmp_path / "studio.db").read_bytes() == raw
    LotBook(tmp_path).add_facts("260418-01", [LotFact(LATER, LotFactKind.NOTE, "sold")])
    assert [fact.text for fact in LotBook(tmp_path).lot("260418-01").added] == ["soft", "sold"]
    assert replace(LotBook(tmp_path).lot("260418-01"), added=()) == replace(lot, added=())
    after = rows_of_all_tables(tmp_path)
    assert [row[:6] for row in after["part"]] == before["part"]
    assert {name: rows for name, rows in after.items() if name not in ("part", "noted", "lot")} == {
        name: rows for name, rows in before.items() if name not in ("part", "noted", "lot")
    }
    (closed,) = Sessions(tmp_path).ids()
    assert take_in(Sessions(tmp_path).open(closed)).trouble == ""
    assert replace(LotBook(tmp_path).lot("260418-01"), added=()) == replace(lot, added=())


def test_a_lot_that_turns_out_to_be_none_is_withdrawn_and_can_come_back(tmp_path: Path, closed: SessionFile) -> None:
    """Its number is not given again, and what it was can still be read."""
    done = next(e for e in closed.events if e.batch == "01" and e.body.to_json().get("to") == "done")
    clock, ids = FakeClock(utc=MIDNIGHT.replace(day=22)), Ids()
    strike = make("struck", clock(), ids, strikes=done.id)
    closed.add([strike])
    take_in(closed)
    book = LotBook(tmp_path)
    lot = book.lot("260418-01")
    assert lot.withdrawn
    assert lot.batches[0].no == "01"
    assert [row.mark for row in book.find(["260418-01"])] == ["withdrawn"]
    closed.add([make("unstruck", clock(), ids, strikes=done.id)])
    take_in(closed)
    assert LotBook(tmp_path).lot("260418-01").withdrawn == ""


def test_batches_carried_over_come_to_the_lot_of_the_day_they_were_begun(tmp_path: Path) -> None:
    """One number, two days; a later entry of one day leaves the other's part alone."""
    first = session_of(tmp_path, finished("08"))
    day = fold(THE_PLAN, events([*finished("09"), at("34:00", event="closed")]))
    day = replace(day, batches={**day.batches, "09": replace(day.batches["09"], lot="260418-08")})
    other_part = lots_of_day(day, "2026-04-19-1", now("34:00"))
    with LotBook(tmp_path).writing() as db:
        for part in other_part:
            put_whole(db, part)
            put_row(db, LotBook(tmp_path).lot_in(db, part.number))
    lot = LotBook(tmp_path).lot("260418-08")
    assert [(batch.session, batch.no) for batch in lot.batches] == [("2026-04-18-1", "08"), ("2026-04-19-1", "09")]
    assert lot.skeins == 8
    assert [row.skeins for row in LotBook(tmp_path).find(["jumper"])] == [8]
    other = LotBook(tmp_path / "other")
    other.import_lots([lot])
    assert other.lot("260418-08") == lot
    first.add(events([at("35:00", "08", note="soft")]))
    take_in(first)
    lot = LotBook(tmp_path).lot("260418-08")
    assert [(batch.no, len(batch.notes)) for batch in lot.batches] == [("08", 1), ("09", 0)]


def years(data: Path) -> LotBook:
    for year in (2024, 2025, 2026):
        session_of(data, finished("01"), PLAN.replace("date = 2026", f"date = {year}"))
    return LotBook(data)


def test_the_day_to_go_on_with_is_found_without_the_database(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing the bench does before its first frame may open it."""
    years(tmp_path)
    Sessions(tmp_path).begin(THE_PLAN, Path("plan.toml"), PLAN, now("08:00"))

    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("the database was opened")

    monkeypatch.setattr("sqlite3.connect", refuse)
    found = Sessions(tmp_path).newest(unfinished=True)
    assert found is not None and found.about.id.endswith("-2")


def test_a_lot_knows_the_mill_lot_and_powder_lots_of_the_shelf_at_its_close(tmp_path: Path) -> None:
    """The bottle it was drawn from tells its powder; a delivery that comes later changes nothing."""
    shelf = ShelfRecords(tmp_path)
    early, late = MIDNIGHT.replace(day=1), MIDNIGHT.replace(day=25)
    shelf.add(
        lambda _: [
            Move("a", early, MoveKind.RECEIVED, StockKind.YARN, "Sock", 20, "pieces", lot="MW 4471"),
            Move("b", early, MoveKind.RECEIVED, StockKind.DYE, "Navy", 100, "g", lot="N-88"),
            Move("c", early, MoveKind.MADE, StockKind.BOTTLE, "Navy", 2000, "mL", lot="N-88", bottle="Navy 1",
                 strength_pct=1.0, made=early.date(), powder_g=20),
        ]
    )  # fmt: skip
    closed = session_of(tmp_path, finished("01"))
    shelf.add(
        lambda _: [
            Move("d", late, MoveKind.RECEIVED, StockKind.YARN, "Sock", 20, "pieces", lot="MW 5000"),
            Move("e", late, MoveKind.RECEIVED, StockKind.DYE, "Navy", 100, "g", lot="N-99"),
        ]
    )
    closed.add(events([at("90:00", "01", note="later")]))
    take_in(closed)
    lot = LotBook(tmp_path).lot("260418-01")
    assert [note.text for note in lot.batches[0].notes] == ["later"]
    assert (lot.mill_lot, lot.powder_lots, lot.solutions_made) == (
        "MW 4471",
        {"Navy": "N-88"},
        {"Navy": "2026-04-01"},
    )
    assert numbers(LotBook(tmp_path), "4471", "n-88") == ["260418-01"]
    LotBook(tmp_path).add_facts("260418-01", [LotFact(LATER, LotFactKind.MILL_LOT, "MW 4470, looked again")])
    assert LotBook(tmp_path).lot("260418-01").mill_lot == "MW 4470, looked again"


def test_lots_taken_out_go_into_an_empty_book_unchanged(tmp_path: Path) -> None:
    """Also with what was kept later and with a withdrawn one; a second time nothing is added."""
    book = years(tmp_path / "one")
    book.add_facts(
        "250418-01", [LotFact(LATER, LotFactKind.PHOTO, "porch.jpg"), LotFact(LATER, LotFactKind.LOOK, "lighter")]
    )
    closed = Sessions(tmp_path / "one").open("2024-04-18-1")
    done = next(e for e in closed.events if e.body.to_json().get("to") == "done")
    closed.add([make("struck", FakeClock(utc=LATER)(), Ids(), strikes=done.id)])
    take_in(closed)
    lots = list(book.lots(book.find(())))
    assert [bool(lot.withdrawn) for lot in lots] == [False, False, True]
    other = LotBook(tmp_path / "other")
    assert other.import_lots(lots) == lots
    assert list(other.lots(other.find(()))) == lots
    assert other.import_lots(lots) == []
    with pytest.raises(StoreError, match="and differs"):
        other.import_lots([replace(lots[0], planned_mix="another")])
    noted = replace(lots[0], added=(*lots[0].added, LotFact(LATER, LotFactKind.NOTE, "seen elsewhere")))
    assert other.import_lots([noted]) == [noted], "what was kept in one book comes to the other"
    assert other.import_lots(lots) == [], "and stays there"
    assert other.lot(noted.number) == noted


def test_shells_that_write_at_once_lose_nothing(tmp_path: Path, closed: SessionFile) -> None:
    """Each write waits for the one before."""
    code = (
        "import sys\nfrom datetime import UTC, datetime\nfrom pathlib import Path\n"
        "from dyeday.store.records.lots import LotBook\nfrom dyeday.studio.lots.lot import LotFact, LotFactKind\n"
        f"book = LotBook(Path({str(tmp_path)!r}))\n"
        "for n in range(15):\n"
        "    book.add_facts('260418-01', ["
        "LotFact(datetime.now(UTC), LotFactKind.NOTE, f'shell {sys.argv[1]} number {n}')])\n"
    )
    running = [subprocess.Popen([sys.executable, "-c", code, str(n)], cwd=ROOT) for n in range(3)]
    assert [process.wait(timeout=60) for process in running] == [0, 0, 0]
    book = LotBook(tmp_path)
    notes = sorted(kept.text for kept in book.lot("260418-01").added)
    assert notes == sorted(f"shell {who} number {n}" for who in range(3) for n in range(15))
    assert numbers(book, "shell", "2", "number", "14") == ["260418-01"]
