"""While nothing can be saved the bench keeps timing, says since when, and saves by itself when it can."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from dyeday.bench.live_session import EventDraft, LiveSession
from dyeday.files.durable import FileLock
from dyeday.store.session_file import SessionFile
from dyeday.store.sessions import Sessions
from dyeday.terms import State
from dyeday.track.event_keys import EventError
from tests.bench.driving import Bench, drive
from tests.fakes import FakeClock, Ids, begun
from tests.typed_events import draft


@contextmanager
def full_disk(where: str = "write") -> Iterator[None]:
    """Every write to the data folder finds the disk full."""

    def fail(*_args: object, **_more: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    with pytest.MonkeyPatch.context() as broken:
        broken.setattr("os.fsync" if where == "write" else "pathlib.Path.replace", fail)
        yield


def live_of(session: SessionFile, clock: FakeClock, ids: Ids | None = None) -> LiveSession:
    live = LiveSession(session, clock, ids or Ids())
    assert session.claim_bench()
    return live


def move(batch: str, to: str) -> EventDraft:
    return draft("moved", batch, {"to": to})


def test_a_copy_that_cannot_be_made_is_shown_once_on_the_bench(tmp_path: Path) -> None:
    """The entry is saved all the same; shown again only after copies could be made in between."""
    clock = FakeClock()
    live = live_of(begun(tmp_path, clock), clock)
    copies = tmp_path / "sessions" / "backups"
    aside = copies.rename(tmp_path / "aside")
    copies.write_text("in the way", encoding="utf-8")

    def told_after(batch: str) -> str:
        live.record(move(batch, "soak"))
        clock.on(40)
        live.file.storage.copy_if_due()
        live.refresh()
        shown, live.notice = live.notice, ""
        return shown

    assert told_after("01").startswith("saved, but no copy was made: ")
    assert live.trouble is None
    assert told_after("02") == ""
    copies.unlink()
    aside.rename(copies)
    assert told_after("03") == ""
    aside = copies.rename(tmp_path / "aside")
    copies.write_text("in the way", encoding="utf-8")
    assert told_after("04").startswith("saved, but no copy was made: ")


def test_entries_are_kept_in_memory_while_the_disk_is_full_and_saved_once_there_is_room(tmp_path: Path) -> None:
    """The day has them, the file does not; a later tick puts them on the disk in their order."""
    clock = FakeClock()
    live = live_of(begun(tmp_path, clock), clock)
    with full_disk():
        live.record(move("01", "soak"))
        clock.on(5)
        live.record(move("02", "soak"))
        live.refresh()
        assert live.trouble is not None
        assert (live.trouble.since.utc, len(live.unsaved)) == (clock.utc.replace(hour=9, minute=0), 2)
        assert "no space left" in live.trouble.why
        assert live.day.batches["02"].state == State.SOAK
    assert Sessions(tmp_path).open(live.file.about.id).events == ()
    clock.on(seconds=4)
    live.refresh()
    assert live.trouble is None
    assert not live.unsaved
    assert live.notice == "saved again: 2 entries are on the disk now"
    assert [e.batch for e in Sessions(tmp_path).open(live.file.about.id).events] == ["01", "02"]
    assert live.day.events == live.file.events


def test_what_cannot_be_true_is_refused_while_nothing_can_be_saved_too(tmp_path: Path) -> None:
    """Memory keeps no entry that the file would not have taken."""
    clock = FakeClock()
    live = live_of(begun(tmp_path, clock), clock)
    with full_disk(), pytest.raises(EventError, match="no batch"):
        live.record(move("77", "soak"))
    assert live.unsaved == ()


def test_a_shell_that_hangs_with_the_lock_does_not_stop_the_bench(tmp_path: Path) -> None:
    """The entry waits in memory and is saved once the lock is free."""
    clock = FakeClock()
    live = live_of(begun(tmp_path, clock), clock)
    live.file._lock.wait_s = 0.0
    hanging = FileLock(live.file.path.with_suffix(".lock"))
    assert hanging.grab()
    live.record(move("01", "soak"))
    assert live.trouble is not None
    assert "another program has" in live.trouble.why
    hanging.release()
    clock.on(1)
    live.refresh()
    assert live.trouble is None
    assert len(SessionFile(live.file.path).events) == 1


def test_what_another_shell_recorded_meanwhile_is_kept_beside_what_was_not_saved(tmp_path: Path) -> None:
    """Both are there when it saves again."""
    clock, ids = FakeClock(), Ids()
    live = live_of(begun(tmp_path, clock), clock, ids)
    other = LiveSession(Sessions(tmp_path).open(live.file.about.id), clock, ids)
    with full_disk("rename"):
        live.record(move("01", "soak"))
    clock.on(1)
    other.record(move("02", "soak"))
    clock.on(1)
    live.refresh()
    assert {e.batch for e in SessionFile(live.file.path).events} == {"01", "02"}
    assert live.day.batches["01"].state == live.day.batches["02"].state == State.SOAK


def test_a_folder_that_went_away_is_shown_and_the_day_stays_on_screen(tmp_path: Path) -> None:
    """A stick pulled out while nothing is entered, then while something is."""
    clock = FakeClock()
    live = live_of(begun(tmp_path / "stick", clock), clock)
    live.record(move("01", "soak"))
    (tmp_path / "stick").rename(tmp_path / "pulled")
    live.refresh()
    assert live.trouble is not None
    assert live.day.batches["01"].state == State.SOAK
    clock.on(1)
    live.record(move("02", "soak"))
    (tmp_path / "pulled").rename(tmp_path / "stick")
    clock.on(1)
    live.refresh()
    assert live.trouble is None
    assert len(SessionFile(live.file.path).events) == 2


def test_a_file_spoilt_behind_the_bench_is_put_back_at_the_next_tick(tmp_path: Path) -> None:
    """No key is needed for that."""
    clock = FakeClock()
    live = live_of(begun(tmp_path, clock), clock)
    live.record(move("01", "soak"))
    live.file.path.write_bytes(b'{"about": 3}')
    live.refresh()
    assert "saved again from memory" in live.notice
    assert len(SessionFile(live.file.path).events) == 1


def test_the_banner_says_since_when_nothing_is_saved_and_goes_by_itself(tmp_path: Path) -> None:
    """At 80 x 24; the entry's own message says so too, and leaving warns."""

    async def script(bench: Bench) -> None:
        with full_disk():
            await bench.press("0", "1", "space", "enter")
            said = "! NOT SAVED since 09:00: 2 entries not on disk; no space left on device"
            assert said in bench.screen
            assert "in memory, NOT SAVED yet: 01 to soak" in bench.screen
            await bench.on(5)
            assert "NOT SAVED since 09:00" in bench.screen
            assert "15 min left" in bench.screen
            await bench.press("q")
            assert "not saved: nothing could be saved: no space left" in bench.screen
            await bench.press("n")
            await bench.press("v")
            assert "NOT SAVED since 09:00" in bench.screen
            await bench.press("v")
        await bench.on(1)
        assert "NOT SAVED" not in bench.screen
        assert "saved again: 2 entries are on the disk now" in bench.screen
        assert len(bench.second_shell().events) == 2
        await bench.press("q")
        assert "Everything is saved" in bench.screen

    drive(tmp_path, script)
