"""The lot book on disk: found by anything, added to and never changed, whole again after a pulled plug."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from dyeday.store.durable import StoreError
from dyeday.store.lot_book import LotBook
from dyeday.store.lot_lines import Head, line_of
from dyeday.store.sessions import SessionFile, Sessions
from dyeday.store.shelf import ShelfFile
from dyeday.studio.lots.lot import Kept
from dyeday.studio.lots.lot_making import kept_of_day, lots_of_day
from dyeday.studio.shelf.movements import Move
from dyeday.track.day.fold import fold
from dyeday.track.events.event import make
from tests.fakes import ROOT, FakeClock, Ids
from tests.track.days import MIDNIGHT, PLAN, THE_PLAN, Line, at, events, now, proper

LATER = datetime(2026, 5, 1, 12, tzinfo=UTC)


def finished(*batches: str) -> list[Line]:
    return [line for batch in batches for line in (*proper(batch), at("33:00", batch, to="done"))]


def session_of(data: Path, lines: list[Line], text: str = PLAN) -> SessionFile:
    """Return a session with what lines say, and closed."""
    from dyeday.plan.reading.plan_reader import read_plan

    session = Sessions(data).begin(read_plan(text), Path("plan.toml"), text, now("08:00"))
    session.add(events([*lines, at("34:00", event="closed")]))
    assert session.settled is not None and session.settled.trouble == ""
    return session


@pytest.fixture
def closed(tmp_path: Path) -> SessionFile:
    return session_of(tmp_path, finished("01", "08"))


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
    """Notes and mill lots are lines added to the end."""
    book = LotBook(tmp_path)
    before = book.file_of(2026).read_bytes()
    lot = book.lot("260418-01")
    kept = (
        Kept(LATER, "mill lot", "MW 4471"),
        Kept(LATER, "powder lot", "N-88", of="Navy"),
        Kept(LATER, "look", "redder"),
        Kept(LATER, "note", "für Jürgen zurückgelegt"),
    )
    book.keep("260418-01", kept)
    assert book.file_of(2026).read_bytes().startswith(before)
    again = LotBook(tmp_path)
    for words in (["4471"], ["n-88"], ["redder"], ["jurgen"], ["harbour", "Jürgen"]):
        assert numbers(again, *words) == ["260418-01"]
    after = again.lot("260418-01")
    assert after.kept == kept
    assert (after.mill_lot, after.powder_lots, after.looks) == ("MW 4471", {"Navy": "N-88"}, ("redder",))
    assert after.batches == lot.batches
    with pytest.raises(StoreError, match="no lot"):
        book.keep("260418-77", kept)


def test_taking_a_day_in_again_adds_nothing(tmp_path: Path, closed: SessionFile) -> None:
    """The same entries are the same lots."""
    book = LotBook(tmp_path)
    before = book.file_of(2026).read_bytes()
    closed.settle()
    assert book.file_of(2026).read_bytes() == before


def test_an_entry_after_the_close_is_in_the_book_and_what_was_there_stays(
    tmp_path: Path, closed: SessionFile
) -> None:
    """A note on a batch changes its lot alone; the older lines are still in the file."""
    book = LotBook(tmp_path)
    before = book.file_of(2026).read_bytes()
    closed.add(events([at("35:00", "01", note="a knot in the second skein")]))
    assert book.file_of(2026).read_bytes().startswith(before)
    assert numbers(LotBook(tmp_path), "knot") == ["260418-01"]
    lot = LotBook(tmp_path).lot("260418-01")
    assert [note.text for note in lot.batches[0].notes] == ["a knot in the second skein"]
    added = book.file_of(2026).read_bytes()[len(before) :].decode()
    assert "260418-08" in added.splitlines()[-1], "the day's own line names all its lots"
    assert len(added.splitlines()) == 2


def test_a_lot_that_turns_out_to_be_none_is_withdrawn_and_can_come_back(tmp_path: Path, closed: SessionFile) -> None:
    """Its number is not given again, and what it was can still be read."""
    done = next(e for e in closed.events if e.batch == "01" and e.data.get("to") == "done")
    clock, ids = FakeClock(utc=MIDNIGHT.replace(day=22)), Ids()
    strike = make("struck", clock(), ids, strikes=done.id)
    closed.add([strike])
    book = LotBook(tmp_path)
    lot = book.lot("260418-01")
    assert lot.withdrawn
    assert lot.batches[0].no == "01"
    assert [row.mark for row in book.find(["260418-01"])] == ["withdrawn"]
    closed.add([make("unstruck", clock(), ids, strikes=done.id)])
    assert LotBook(tmp_path).lot("260418-01").withdrawn == ""


def test_batches_carried_over_come_to_the_lot_of_the_day_they_were_begun(tmp_path: Path) -> None:
    """One number, two days; a later entry of one day leaves the other's part alone."""
    first = session_of(tmp_path, finished("08"))
    day = fold(THE_PLAN, events([*finished("09"), at("34:00", event="closed")]))
    day = replace(day, batches={**day.batches, "09": replace(day.batches["09"], lot="260418-08")})
    book = LotBook(tmp_path)
    lots = lots_of_day(day, "2026-04-19-1", now("34:00"))
    book.take_day(lots, kept_of_day(day, "2026-04-19-1", now("34:00"), lots))
    lot = LotBook(tmp_path).lot("260418-08")
    assert [(batch.session, batch.no) for batch in lot.batches] == [("2026-04-18-1", "08"), ("2026-04-19-1", "09")]
    assert lot.skeins == 8
    assert [row.count for row in LotBook(tmp_path).find(["jumper"])] == [8]
    other = LotBook(tmp_path / "other")
    other.take_lots([lot])
    assert other.lot("260418-08") == lot
    first.add(events([at("35:00", "08", note="soft")]))
    lot = LotBook(tmp_path).lot("260418-08")
    assert [(batch.no, len(batch.notes)) for batch in lot.batches] == [("08", 1), ("09", 0)]


@pytest.fixture
def read_files(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    """The names of the files of the lot book that were opened."""
    import io
    import os

    seen: list[str] = []
    original = os.open
    opening = io.open

    def noting(path: object, *args: object, **more: object) -> int:
        seen.append(Path(str(path)).name)
        return original(path, *args, **more)  # type: ignore[arg-type]

    def noting_open(path: object, *args: object, **more: object) -> object:
        seen.append(Path(str(path)).name)
        return opening(path, *args, **more)  # type: ignore[call-overload]

    monkeypatch.setattr("os.open", noting)
    monkeypatch.setattr("io.open", noting_open)
    yield seen


def years(data: Path) -> LotBook:
    for year in (2024, 2025, 2026):
        session_of(data, finished("01"), PLAN.replace("date = 2026", f"date = {year}"))
    return LotBook(data)


def test_finding_opens_no_years_file_and_closing_only_its_own(tmp_path: Path, read_files: list[str]) -> None:
    """Searches read the indexes; a day is added to its year."""
    years(tmp_path)
    read_files.clear()
    assert numbers(LotBook(tmp_path), "harbour") == ["260418-01", "250418-01", "240418-01"]
    assert [name for name in read_files if name.endswith(".lots")] == []
    read_files.clear()
    session_of(tmp_path, finished("08"))
    assert {name for name in read_files if name.endswith(".lots")} == {"2026.lots", "copy.lots"}
    assert {name for name in read_files if name.endswith(".index") and name[0].isdigit()} == {"2026.index"}


def test_the_bench_s_start_looks_at_no_lot_book(tmp_path: Path, read_files: list[str]) -> None:
    """Finding the day to go on with opens neither a year nor its index."""
    years(tmp_path)
    Sessions(tmp_path).begin(THE_PLAN, Path("plan.toml"), PLAN, now("08:00"))
    read_files.clear()
    found = Sessions(tmp_path).newest(unfinished=True)
    assert found is not None
    assert [name for name in read_files if name.endswith(".lots") or (name[:4].isdigit() and "index" in name)] == []


@pytest.mark.parametrize("harm", ["gone", "empty", "cut", "another's", "rows", "later"])
def test_an_index_that_does_not_fit_is_made_again(tmp_path: Path, closed: SessionFile, harm: str) -> None:
    """Lost, damaged, of another file, or older than its file: the answers stay the same."""
    book = LotBook(tmp_path)
    index = book.index_of(2026)
    good = index.read_text(encoding="utf-8")
    stamp, *rows = good.split("\n")
    if harm == "gone":
        index.unlink()
    elif harm == "later":
        with book.file_of(2026).open("ab") as file:
            file.write(b"\n")
    else:
        shifted = [row.replace(":", "9:", 1) for row in rows]
        bad = {"empty": "", "cut": good[: len(good) // 2], "another's": good.replace("lots 1", "lots 0", 1)}
        bad["rows"] = "\n".join((stamp, *shifted))
        index.write_text(bad[harm], encoding="utf-8")
    again = LotBook(tmp_path)
    assert numbers(again, "harbour") == ["260418-08", "260418-01"]
    assert again.lot("260418-01").number == "260418-01"


def test_a_plug_pulled_anywhere_in_a_write_loses_nothing_that_was_there(tmp_path: Path) -> None:
    """Cut at many places, the book has what it had before, and taking the day in again makes it whole."""
    session_of(tmp_path, finished("01"))
    book = LotBook(tmp_path)
    path = book.file_of(2026)
    before = path.read_bytes()
    second = session_of(tmp_path, finished("08"))
    whole = path.read_bytes()
    wanted = {number: LotBook(tmp_path).lot(number) for number in numbers(LotBook(tmp_path))}
    added = len(whole) - len(before)
    for cut in (0, 1, 5, added // 3, added // 2, added - 40, added - 1):
        path.write_bytes(whole[: len(before) + cut])
        torn = LotBook(tmp_path)
        assert torn.lot("260418-01") == wanted["260418-01"]
        second.settle()
        healed = LotBook(tmp_path)
        assert {number: healed.lot(number) for number in numbers(healed)} == wanted
        index = healed.index_of(2026).read_text(encoding="utf-8")
        healed.rebuild(2026)
        assert sorted(healed.index_of(2026).read_text(encoding="utf-8").split("\n")) == sorted(index.split("\n"))


def test_a_flipped_byte_costs_its_own_line_and_is_counted(tmp_path: Path, closed: SessionFile) -> None:
    """Damage is never taken for a lot, and never overwritten."""
    book = LotBook(tmp_path)
    raw = bytearray(book.file_of(2026).read_bytes())
    raw[raw.index(b"harbour for Ida")] ^= 1
    book.file_of(2026).write_bytes(bytes(raw))
    again = LotBook(tmp_path)
    assert again.damaged(2026) == 1
    assert numbers(again) == ["260418-08"]
    with pytest.raises(StoreError, match="no lot"):
        again.lot("260418-01")
    closed.settle()
    assert LotBook(tmp_path).lot("260418-01").shares == (("harbour for Ida", 3),)
    assert LotBook(tmp_path).file_of(2026).read_bytes().startswith(bytes(raw))


def test_a_lot_of_which_only_its_notes_are_whole_is_none_until_its_day_is_taken_in_again(
    tmp_path: Path, closed: SessionFile
) -> None:
    """Then it has them still."""
    book = LotBook(tmp_path)
    book.keep("260418-01", [Kept(LATER, "note", "soft")])
    raw = book.file_of(2026).read_bytes()
    book.file_of(2026).write_bytes(raw.replace(b"harbour for Ida", b"harbour for Eva"))
    assert numbers(LotBook(tmp_path)) == ["260418-08"]
    for refused in (LotBook(tmp_path).lot, lambda number: LotBook(tmp_path).keep(number, [])):
        with pytest.raises(StoreError, match="no lot"):
            refused("260418-01")
    closed.settle()
    assert [kept.text for kept in LotBook(tmp_path).lot("260418-01").kept] == ["soft"]
    assert numbers(LotBook(tmp_path), "ida", "soft") == ["260418-01"]


def test_a_lot_knows_the_mill_lot_and_powder_lots_of_the_shelf_at_its_close(tmp_path: Path) -> None:
    """The bottle it was drawn from tells its powder; a delivery that comes later changes nothing."""
    shelf = ShelfFile(tmp_path)
    early, late = MIDNIGHT.replace(day=1), MIDNIGHT.replace(day=25)
    shelf.add(
        lambda _: [
            Move("a", early, "received", "yarn", "Sock", 20, "pieces", lot="MW 4471"),
            Move("b", early, "received", "dye", "Navy", 100, "g", lot="N-88"),
            Move("c", early, "made", "bottle", "Navy", 2000, "mL", lot="N-88", bottle="Navy 1",
                 strength_pct=1.0, made=early.date(), powder_g=20),
        ]
    )  # fmt: skip
    closed = session_of(tmp_path, finished("01"))
    shelf.add(
        lambda _: [
            Move("d", late, "received", "yarn", "Sock", 20, "pieces", lot="MW 5000"),
            Move("e", late, "received", "dye", "Navy", 100, "g", lot="N-99"),
        ]
    )
    closed.add(events([at("90:00", "01", note="later")]))
    lot = LotBook(tmp_path).lot("260418-01")
    assert [note.text for note in lot.batches[0].notes] == ["later"]
    assert (lot.mill_lot, lot.powder_lots, lot.solutions_made) == (
        "MW 4471",
        {"Navy": "N-88"},
        {"Navy": "2026-04-01"},
    )
    assert numbers(LotBook(tmp_path), "4471", "n-88") == ["260418-01"]
    LotBook(tmp_path).keep("260418-01", [Kept(LATER, "mill lot", "MW 4470, looked again")])
    assert LotBook(tmp_path).lot("260418-01").mill_lot == "MW 4470, looked again"


def test_lots_taken_out_go_into_an_empty_book_unchanged(tmp_path: Path) -> None:
    """Also with what was kept later and with a withdrawn one; a second time nothing is added."""
    book = years(tmp_path / "one")
    book.keep("250418-01", [Kept(LATER, "photo", "porch.jpg"), Kept(LATER, "look", "lighter")])
    closed = Sessions(tmp_path / "one").open("2024-04-18-1")
    done = next(e for e in closed.events if e.data.get("to") == "done")
    closed.add([make("struck", FakeClock(utc=LATER)(), Ids(), strikes=done.id)])
    lots = list(book.lots(book.find(())))
    assert [bool(lot.withdrawn) for lot in lots] == [False, False, True]
    other = LotBook(tmp_path / "other")
    assert other.take_lots(lots) == lots
    assert list(other.lots(other.find(()))) == lots
    assert other.take_lots(lots) == []
    with pytest.raises(StoreError, match="not the same"):
        other.take_lots([replace(lots[0], mix="another")])
    noted = replace(lots[0], kept=(*lots[0].kept, Kept(LATER, "note", "seen elsewhere")))
    assert other.take_lots([noted]) == [noted], "what was kept in one book comes to the other"
    assert other.take_lots(lots) == [], "and stays there"
    assert other.lot(noted.number) == noted


def test_shells_that_write_at_once_lose_nothing(tmp_path: Path, closed: SessionFile) -> None:
    """The book's lock is held for each write, and the index fits when all are done."""
    code = (
        "import sys\nfrom datetime import UTC, datetime\nfrom pathlib import Path\n"
        "from dyeday.store.lot_book import LotBook\nfrom dyeday.studio.lots.lot import Kept\n"
        f"book = LotBook(Path({str(tmp_path)!r}))\n"
        "for n in range(15):\n"
        "    book.keep('260418-01', [Kept(datetime.now(UTC), 'note', f'shell {sys.argv[1]} number {n}')])\n"
    )
    running = [subprocess.Popen([sys.executable, "-c", code, str(n)], cwd=ROOT) for n in range(3)]
    assert [process.wait(timeout=60) for process in running] == [0, 0, 0]
    book = LotBook(tmp_path)
    notes = sorted(kept.text for kept in book.lot("260418-01").kept)
    assert notes == sorted(f"shell {who} number {n}" for who in range(3) for n in range(15))
    assert numbers(book, "shell", "2", "number", "14") == ["260418-01"]
    assert book.damaged(2026) == 0


def test_lines_of_a_later_dyeday_are_passed_over_and_its_lots_are_told(tmp_path: Path, closed: SessionFile) -> None:
    """Whole lines that this one does not know: neither damage nor a lot."""
    book = LotBook(tmp_path)
    with book.file_of(2026).open("ab") as file:
        file.write(line_of(Head("weather", "260418-01"), {"rain": 3}))
        file.write(
            line_of(Head("lot", "260418-20", "2026-04-18-1", "2026-04-18", "Fern", "Sock", 2), {"new": "shape"})
        )
    again = LotBook(tmp_path)
    assert again.damaged(2026) == 0
    assert again.lot("260418-01").number == "260418-01"
    assert numbers(again, "260418-20") == []
    with pytest.raises(StoreError, match="another dyeday"):
        again.lot("260418-20")


def test_every_line_of_the_book_is_json_behind_its_sum(tmp_path: Path, closed: SessionFile) -> None:
    """Other programs can read it."""
    for line in LotBook(tmp_path).file_of(2026).read_text(encoding="utf-8").splitlines():
        _, head, body = line.split("\t")
        assert json.loads(head)["number"] in ("260418-01", "260418-08", "@2026-04-18-1")
        assert isinstance(json.loads(body), dict)
