"""Copies: verified, kept by days then weeks, never a good one for a bad one, brought back without destroying."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.files.durable import StoreError
from dyeday.store import backups
from dyeday.store.backups import NEWEST_KEPT, BackedUpFile, back_up, copies_of, moments_kept, newest_good
from dyeday.store.sealed import Kind, Tables, seal
from dyeday.store.session_file import DurableStorage, SessionFile
from dyeday.store.session_form import SESSION
from tests.fakes import FakeClock, Ids, begun
from tests.typed_events import make

NOTES = Kind("note", 1)
NOON = datetime(2026, 3, 14, 12, 0, tzinfo=UTC)


def notes(count: int) -> Tables:
    return {"notes": {str(n): {"n": n} for n in range(count)}}


def test_a_session_is_copied_at_its_start_every_25_events_and_every_half_hour(tmp_path: Path) -> None:
    """By itself, as it is written."""
    clock, ids = FakeClock(), Ids()
    session = begun(tmp_path, clock)
    rows = 2
    assert [count for _, count, _ in copies_of(session.path)] == [rows]

    def note() -> None:
        session.add([make("note", clock(), ids, note="x")])

    for _ in range(25):
        clock.on(seconds=10)
        note()
    assert [count for _, count, _ in copies_of(session.path)] == [rows + 25, rows]
    clock.on(29)
    note()
    assert len(copies_of(session.path)) == 2
    clock.on(1)
    note()
    assert [count for _, count, _ in copies_of(session.path)] == [rows + 27, rows + 25, rows]
    assert [copy.good for copy in BackedUpFile(session.path, SESSION).copies()] == [True] * 4


def test_a_clock_that_was_set_brings_no_copy_at_every_entry(tmp_path: Path) -> None:
    """Copies of a wrong future lie there; the next are made as ever."""
    clock, ids = FakeClock(), Ids()
    clock.step(9000)
    session = begun(tmp_path, clock)
    clock.step(-9000)
    for _ in range(5):
        clock.on(1)
        session.add([make("note", clock(), ids, note="x")])
    assert len(copies_of(session.path)) == 2


def test_a_bench_that_opens_a_session_copies_it_unless_the_newest_copy_is_the_same(tmp_path: Path) -> None:
    """The start of use."""
    clock, ids = FakeClock(), Ids()
    session = begun(tmp_path, clock)
    session.add([make("note", clock(), ids, note="x")])
    clock.on(5)
    for _ in range(2):
        again = SessionFile(session.path, clock)
        assert again.claim_bench()
        again.storage.back_up()
        again.release_bench()
        clock.on(5)
    assert len(copies_of(session.path)) == 2


def test_a_newest_copy_that_cannot_be_read_is_not_a_copy(tmp_path: Path) -> None:
    """A folder of that name in its place, say: the start of use makes another."""
    clock, ids = FakeClock(), Ids()
    session = begun(tmp_path, clock)
    session.add([make("note", clock(), ids, note="x")])
    file = copies_of(session.path)[0].file
    file.unlink()
    file.mkdir()
    clock.on(5)
    session.storage.back_up()
    assert session.without_copy == ""
    assert [copy.good for copy in BackedUpFile(session.path, SESSION).copies() if "1 entry" in copy.holds] == [True]
    session.path.unlink()
    session.storage.back_up()
    assert "is not there" in session.without_copy


def test_a_copy_that_cannot_be_made_stops_no_entry(tmp_path: Path) -> None:
    """The day goes on; `without_copy` says why there is none."""
    clock, ids = FakeClock(), Ids()
    (tmp_path / "sessions").mkdir()
    (tmp_path / "sessions" / "backups").write_text("in the way", encoding="utf-8")
    session = begun(tmp_path, clock)
    session.add([make("note", clock(), ids, note="x")])
    assert len(SessionFile(session.path).events) == 1
    assert session.without_copy.startswith("saved, but no copy was made: ")
    (tmp_path / "sessions" / "backups").unlink()
    session.add([make("note", clock(), ids, note="y")])
    assert session.without_copy == ""


def test_damaged_bytes_are_never_copied(tmp_path: Path) -> None:
    """A copy is of a file that is whole."""
    path = tmp_path / "notes.json"
    with pytest.raises(StoreError):
        back_up(path, b"spoilt", NOTES, NOON)
    assert copies_of(path) == []


def test_a_good_copy_never_goes_for_a_bad_one(tmp_path: Path) -> None:
    """Every copy since was damaged on the disk: the last good one stays, however old, and is the one offered."""
    path = tmp_path / "notes.json"
    back_up(path, seal(notes(1), NOTES), NOTES, NOON)
    for n in range(1, NEWEST_KEPT + 6):
        bad = back_up(path, seal(notes(n), NOTES), NOTES, NOON + timedelta(days=100 * n))
        bad.write_bytes(bad.read_bytes()[:-1])
    found = newest_good(path, NOTES)
    assert found is not None
    assert (found.taken, found.holds) == (NOON, "1 entry")


@given(st.lists(st.integers(0, 400 * 24), unique=True, max_size=300), st.integers(0, 24))
def test_copies_are_kept_by_days_and_then_by_weeks(hours_ago: list[int], later: int) -> None:
    """The newest stays; so does the last of each day of a fortnight and of each week of a year; not much more."""
    now = NOON + timedelta(hours=later)
    moments = [NOON - timedelta(hours=h) for h in hours_ago]
    keep = moments_kept(moments, now)
    assert keep <= set(moments)
    assert set(sorted(moments)[-NEWEST_KEPT:]) <= keep
    for moment in moments:
        age = (now.date() - moment.date()).days
        same_day = [kept for kept in keep if kept.date() == moment.date()]
        same_week = [kept for kept in keep if kept.isocalendar()[:2] == moment.isocalendar()[:2]]
        assert same_day or age > 14
        assert same_week or age > 52 * 7
    assert len(keep) <= NEWEST_KEPT + 15 + 54


def test_the_file_before_the_latest_entry_is_a_copy_too(tmp_path: Path) -> None:
    """So a file spoilt by something else costs one entry, not all since the latest copy."""
    clock, ids = FakeClock(), Ids()
    session = begun(tmp_path, clock)
    for _ in range(5):
        session.add([make("note", clock(), ids, note="x")])
    session.path.write_bytes(b"spoilt")
    found = newest_good(session.path, SESSION)
    assert found is not None
    assert (found.name, "4 entries" in found.holds) == ("previous", True)
    with pytest.raises(StoreError):
        session.refresh()
    found = newest_good(session.path, SESSION)
    assert found is not None
    assert "4 entries" in found.holds


def test_bringing_a_copy_back_keeps_what_was_there_under_a_dated_name(tmp_path: Path) -> None:
    """And that can be brought back again."""
    path = tmp_path / "notes.json"
    storage = DurableStorage(path, NOTES, FakeClock())
    storage.write(notes(1))
    storage.write(notes(3))
    old = BackedUpFile(path, NOTES).copies()[-1]
    aside = BackedUpFile(path, NOTES).restore_copy(old, NOON)
    assert aside is not None
    assert DurableStorage(path, NOTES).read() == notes(1)
    present = next(copy for copy in BackedUpFile(path, NOTES).copies() if copy.was_set_aside)
    assert (present.file, present.holds) == (aside, "3 entries")
    BackedUpFile(path, NOTES).restore_copy(present, NOON)
    assert DurableStorage(path, NOTES).read() == notes(3)
    assert len([copy for copy in BackedUpFile(path, NOTES).copies() if copy.was_set_aside]) == 2


def test_a_damaged_copy_is_not_brought_back(tmp_path: Path) -> None:
    """It is refused before the present is touched."""
    path = tmp_path / "notes.json"
    DurableStorage(path, NOTES).write(notes(2))
    copy = BackedUpFile(path, NOTES).copies()[0]
    copy.file.write_bytes(b"")
    before = path.read_bytes()
    with pytest.raises(StoreError):
        BackedUpFile(path, NOTES).restore_copy(copy, NOON)
    assert path.read_bytes() == before


def test_what_is_set_aside_twice_in_a_second_has_two_names(tmp_path: Path) -> None:
    """Nothing set aside is overwritten."""
    path = tmp_path / "notes.json"
    names = set()
    for n in range(3):
        path.write_bytes(bytes([n]))
        names.add(backups.set_aside(path, NOON))
        path.unlink()
    assert len(names) == 3
    assert backups.set_aside(path, NOON) is None
