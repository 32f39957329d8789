"""The database file: made whole or not at all, refused where it is not ours, and its refusals true."""

from __future__ import annotations

import sqlite3
import stat
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from dyeday.files.durable import StoreError
from dyeday.store.records import database
from dyeday.store.records.copies import NEWEST_KEPT, records_of
from dyeday.store.records.database import NAME, Records
from dyeday.store.records.shelf import ShelfRecords
from dyeday.store.sealed import Damaged, FileGone, FileNewer
from dyeday.studio.shelf.movements import Move
from dyeday.terms import MoveKind, StockKind
from tests.fakes import MORNING


def received(data: Path, name: str) -> None:
    ShelfRecords(data).add(lambda _: [Move(name, MORNING, MoveKind.RECEIVED, StockKind.DYE, "Peat", 1.0, "g")])


def ids(data: Path) -> list[str]:
    return [move.id for move in ShelfRecords(data).moves()]


def test_nothing_is_made_by_looking(tmp_path: Path) -> None:
    """An empty folder stays empty."""
    assert ids(tmp_path) == []
    assert list(tmp_path.iterdir()) == []


def test_it_is_its_owners_alone_and_leaves_nothing_beside_it(tmp_path: Path) -> None:
    """No journal, no half-made file; only the lock under which it was made."""
    received(tmp_path, "a")
    assert stat.S_IMODE((tmp_path / NAME).stat().st_mode) == 0o600
    assert sorted(path.name for path in tmp_path.iterdir()) == [NAME, "studio.lock"]


@pytest.mark.parametrize("content", [b"", b"\0" * 8192, b"not a database" * 100])
def test_what_is_not_a_database_of_dyeday_is_refused_and_unchanged(tmp_path: Path, content: bytes) -> None:
    """An empty file is a new database to SQLite; here it was one that is lost."""
    (tmp_path / NAME).write_bytes(content)
    with pytest.raises(Damaged, match="restore studio --newest"):
        received(tmp_path, "a")
    assert (tmp_path / NAME).read_bytes() == content


def test_another_programs_database_is_refused(tmp_path: Path) -> None:
    """Whole, and not ours."""
    sqlite3.connect(tmp_path / NAME).execute("CREATE TABLE cats(name)").connection.close()
    with pytest.raises(Damaged, match="does not hold the studio"):
        ids(tmp_path)


def test_a_newer_dyedays_database_is_refused_and_changed_in_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its form is one that this dyeday does not know."""
    received(tmp_path, "a")
    before = (tmp_path / NAME).read_bytes()
    monkeypatch.setattr(database, "FORM", 0)
    with pytest.raises(FileNewer, match="install the newer one"):
        received(tmp_path, "b")
    assert (tmp_path / NAME).read_bytes() == before


def test_a_lost_database_is_not_begun_again_while_copies_of_it_are_there(tmp_path: Path) -> None:
    """What was typed is in the copies alone."""
    received(tmp_path, "a")
    records_of(tmp_path).back_up(MORNING)
    (tmp_path / NAME).unlink()
    with pytest.raises(FileGone, match="restore studio --newest"):
        received(tmp_path, "b")
    kept = records_of(tmp_path)
    kept.restore_copy(kept.copies()[0], MORNING)
    assert ids(tmp_path) == ["a"]


def test_a_link_is_refused(tmp_path: Path) -> None:
    """It might lead anywhere."""
    received(tmp_path / "other", "a")
    data = tmp_path / "data"
    data.mkdir()
    (data / NAME).symlink_to(tmp_path / "other" / NAME)
    with pytest.raises(StoreError, match="is not a regular file"):
        ids(data)


def test_who_holds_it_too_long_is_reported(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """And nothing of what waited is in it."""
    received(tmp_path, "a")
    monkeypatch.setattr(database, "LONGEST_WAIT_S", 0.01)
    with Records(tmp_path).writing(), pytest.raises(StoreError, match=r"another program has studio\.db locked"):
        received(tmp_path, "b")
    assert ids(tmp_path) == ["a"]


class _Failing(sqlite3.Connection):
    """A connection whose COMMIT is done, or not, and then fails."""

    commits = True

    def execute(self, sql: str, *more: Any) -> sqlite3.Cursor:
        if sql != "COMMIT":
            return super().execute(sql, *more)
        if self.commits:
            super().execute(sql)
        error = sqlite3.OperationalError("disk I/O error")
        error.sqlite_errorname = "SQLITE_IOERR_DIR_FSYNC"
        raise error


@pytest.mark.parametrize(("commits", "said"), [(True, "it is saved, but the disk"), (False, "nothing was changed")])
def test_a_commit_that_failed_is_reported_as_what_became_of_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, commits: bool, said: str
) -> None:
    """Looked at again before anything is said."""
    received(tmp_path, "a")
    connect = sqlite3.connect
    monkeypatch.setattr(_Failing, "commits", commits)
    with monkeypatch.context() as broken:
        broken.setattr(sqlite3, "connect", lambda *args, **more: connect(*args, factory=_Failing, **more))
        with pytest.raises(StoreError, match=said):
            received(tmp_path, "b")
    assert ids(tmp_path) == (["a", "b"] if commits else ["a"])


def test_copies_are_made_of_what_changed_and_few_are_kept(tmp_path: Path) -> None:
    """The newest, and the last of days and weeks; the same twice is one."""
    kept = records_of(tmp_path)
    kept.back_up(MORNING)
    assert kept.copies() == []
    for n in range(NEWEST_KEPT + 3):
        received(tmp_path, f"{n}")
        for _ in range(2):
            kept.back_up(MORNING + timedelta(minutes=n))
    assert len(kept.copies()) == NEWEST_KEPT
    assert all(copy.good for copy in kept.copies())
    assert kept.copies()[0].holds.endswith(f"{NEWEST_KEPT + 3} shelf movements")


def test_a_good_copy_of_the_records_never_goes_for_damaged_ones(tmp_path: Path) -> None:
    """Every copy since was damaged on the disk: the oldest is the one to bring back."""
    kept = records_of(tmp_path)
    for n in range(NEWEST_KEPT + 3):
        received(tmp_path, f"{n}")
        kept.back_up(MORNING + timedelta(days=100 * n))
        if n:
            kept.copies()[0].file.write_bytes(b"spoilt")
    good = [copy.holds for copy in kept.copies() if copy.good]
    assert good == ["0 lots of 0 days, 0 later notes, 1 shelf movement"]
