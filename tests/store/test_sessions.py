"""Sessions on disk: what was stored is there, whole, for every reader, or nothing changed."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from dyeday.files import durable
from dyeday.files.durable import FileLock, StoreError, replace_file
from dyeday.store.sealed import FileNewer, Kind, seal
from dyeday.store.session_file import DurableStorage, SessionFile
from dyeday.store.session_form import SESSION
from dyeday.store.sessions import Sessions, session_files
from dyeday.track.day.day_state import Event
from dyeday.track.event_keys import EventError
from tests.fakes import ROOT, FakeClock, Ids, begun
from tests.typed_events import make


def moved(clock: FakeClock, ids: Ids, batch: str = "01", to: str = "soak", unit: str | None = None) -> Event:
    return make("moved", clock(), ids, batch=batch, to=to, unit=unit)


def test_an_event_stored_is_read_back_the_same_by_another_reader(tmp_path: Path) -> None:
    """What `add` returned from is on the disk, with every key it had."""
    clock, ids = FakeClock(), Ids()
    session = begun(tmp_path, clock)
    event = moved(clock, ids, unit="tray 1")
    session.add([event])
    again = Sessions(tmp_path).open(session.about.id)
    assert again.events == (event,)
    assert again.plan == session.plan


def test_a_session_is_named_by_its_date_and_a_number_that_goes_up(tmp_path: Path) -> None:
    """Ids are YYYY-MM-DD-n."""
    clock = FakeClock()
    assert [begun(tmp_path, clock).about.id for _ in range(2)] == ["2026-03-14-1", "2026-03-14-2"]
    assert Sessions(tmp_path).ids() == ["2026-03-14-2", "2026-03-14-1"]


def test_the_tenth_session_of_a_day_comes_before_its_second_where_files_are_listed(tmp_path: Path) -> None:
    first = begun(tmp_path, FakeClock())
    for number in (2, 10):
        (tmp_path / "sessions" / f"2026-03-14-{number}.json").write_bytes(first.path.read_bytes())
    (tmp_path / "sessions" / "notes.json").write_text("{}")
    listed = [path.stem for path in session_files(tmp_path)]
    assert listed == Sessions(tmp_path).ids() == [f"2026-03-14-{number}" for number in (10, 2, 1)]


def test_events_already_there_are_left_out(tmp_path: Path) -> None:
    """The same ids again add nothing."""
    clock, ids = FakeClock(), Ids()
    session = begun(tmp_path, clock)
    event = moved(clock, ids)
    assert session.add([event]) == (event,)
    assert session.add([event]) == ()
    assert session.events == (event,)


def test_two_readers_write_in_turn_and_both_see_all(tmp_path: Path) -> None:
    """A second shell's events come in at the next refresh, and none is lost."""
    clock, ids = FakeClock(), Ids()
    bench = begun(tmp_path, clock)
    shell = Sessions(tmp_path).open(bench.about.id)
    for n in range(6):
        clock.on(1)
        (bench if n % 2 else shell).add([moved(clock, ids, batch=f"0{n % 5 + 1}")])
    bench.refresh()
    shell.refresh()
    assert bench.events == shell.events
    assert len(bench.events) == 6


def test_processes_writing_at_once_lose_nothing(tmp_path: Path) -> None:
    """The lock is held for each write, so every event of every process is kept."""
    session = begun(tmp_path, FakeClock())
    code = (
        "import sys\nfrom pathlib import Path\n"
        "from dyeday.store.sessions import Sessions\nfrom dyeday.store.clock import now, new_id\n"
        "from tests.typed_events import make\n"
        f"session = Sessions(Path({str(tmp_path)!r})).open({session.about.id!r})\n"
        "for n in range(20):\n"
        "    session.add([make('note', now(), new_id, note=f'{sys.argv[1]} {n}')])\n"
    )
    running = [subprocess.Popen([sys.executable, "-c", code, str(n)], cwd=ROOT) for n in range(3)]
    assert [process.wait(timeout=60) for process in running] == [0, 0, 0]
    session.refresh()
    notes = sorted(str(event.body.to_json()["note"]) for event in session.events)
    assert notes == sorted(f"{who} {n}" for who in range(3) for n in range(20))


def test_a_check_that_refuses_leaves_the_file_as_it_was(tmp_path: Path) -> None:
    """All events or none."""
    clock, ids = FakeClock(), Ids()
    session = begun(tmp_path, clock)
    before = session.path.read_bytes()

    def refuse(existing: Sequence[Event], fresh: Sequence[Event]) -> None:
        raise EventError("no", "never")

    with pytest.raises(EventError):
        session.add([moved(clock, ids), moved(clock, ids, batch="02")], refuse)
    assert session.path.read_bytes() == before
    assert session.events == ()


@pytest.mark.parametrize("call", ["write", "fsync", "replace"])
def test_a_disk_that_fails_once_loses_nothing_that_was_confirmed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    """A failed save is said and changes nothing; the next one stores, from memory, without a gap."""
    clock, ids = FakeClock(), Ids()
    session = begun(tmp_path, clock)
    first = moved(clock, ids)
    session.add([first])
    clock.on(1)
    second = moved(clock, ids, batch="02")
    with monkeypatch.context() as broken:
        if call == "fsync":
            broken.setattr("os.fsync", _no_space)
        elif call == "replace":
            broken.setattr("pathlib.Path.replace", _no_space)
        else:
            broken.setattr("os.open", _no_space)
        with pytest.raises(StoreError, match=r"nothing could be saved|cannot be"):
            session.add([second])
    assert Sessions(tmp_path).open(session.about.id).events == (first,)
    session.add([second])
    assert Sessions(tmp_path).open(session.about.id).events == (first, second)
    assert list(tmp_path.rglob("*.new")) == []


def _no_space(*_args: object, **_more: object) -> int:
    raise OSError(28, "No space left on device")


def test_a_file_is_never_written_in_place(tmp_path: Path) -> None:
    """A reader that holds the old file open still reads the old bytes whole."""
    target = tmp_path / "file.json"
    replace_file(target, b"old")
    with target.open("rb") as old:
        replace_file(target, b"newer and longer")
        assert old.read() == b"old"
    assert target.read_bytes() == b"newer and longer"


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no mode bits")
def test_files_are_the_owners_alone_whatever_the_umask(tmp_path: Path) -> None:
    """0600 in a 0700 folder."""
    before = os.umask(0)
    try:
        session = begun(tmp_path / "data", FakeClock())
    finally:
        os.umask(before)
    assert stat.S_IMODE(session.path.stat().st_mode) == 0o600
    assert stat.S_IMODE(session.path.parent.stat().st_mode) == 0o700


@pytest.mark.parametrize("harm", [b"", b"{", b"[1]", b'{"about": {"1": {}}}', b"\xff\xfe", b'{"about": 3}'])
def test_a_damaged_file_is_said_and_left_alone(tmp_path: Path, harm: bytes) -> None:
    """Neither an empty nor a torn file is taken for a new session."""
    session = begun(tmp_path, FakeClock())
    session.path.write_bytes(harm)
    with pytest.raises(StoreError):
        Sessions(tmp_path).open(session.about.id)
    assert session.path.read_bytes() == harm


def test_a_session_of_a_newer_version_is_refused(tmp_path: Path) -> None:
    """Nothing is guessed from a file of the future, and it is not taken for a damaged one."""
    session = begun(tmp_path, FakeClock())
    newer = seal({"about": {"1": {}}, "all new": {}}, replace(SESSION, version=99))
    session.path.write_bytes(newer)
    with pytest.raises(FileNewer, match="newer dyeday"):
        Sessions(tmp_path).open(session.about.id)
    with pytest.raises(FileNewer):
        session.add([moved(FakeClock(), Ids())])
    assert session.path.read_bytes() == newer


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no FIFOs here")
def test_a_fifo_in_place_of_a_file_does_not_hang(tmp_path: Path) -> None:
    """What is not a regular file is refused at once."""
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(StoreError, match="is not a regular file"):
        durable.read_bytes(tmp_path / "pipe", 100)


def test_the_storage_reads_again_only_when_the_file_changed(tmp_path: Path) -> None:
    """What was last read is kept in memory until the file is another."""
    path = tmp_path / "t.json"
    kind = Kind("note", 1)
    storage = DurableStorage(path, kind)
    storage.write({"a": {"1": {"x": 1}}})
    first = storage.read()
    assert storage.read() is first
    replace_file(path, seal({"a": {"1": {"x": 2}}}, kind))
    assert storage.changed()
    assert storage.read() == {"a": {"1": {"x": 2}}}


def test_what_a_crash_left_half_written_is_swept_as_a_day_begins(tmp_path: Path) -> None:
    """In every folder of dyeday; not what another program may be writing just now, nor anything else."""
    begun(tmp_path, FakeClock())
    (tmp_path / "pages").mkdir()
    for folder in (tmp_path, tmp_path / "sessions", tmp_path / "pages"):
        for name in (".shelf.json.0123456789abcdef.new", ".just.json.0123456789abcdef.new", "old.json"):
            (folder / name).write_bytes(b"half")
        os.utime(folder / ".shelf.json.0123456789abcdef.new", (1_000_000_000, 1_000_000_000))
    begun(tmp_path, FakeClock())
    left = sorted(path.name for path in tmp_path.rglob("*") if path.is_file() and path.read_bytes() == b"half")
    assert left == [*3 * [".just.json.0123456789abcdef.new"], *3 * ["old.json"]]


def test_a_lock_is_gone_with_its_holder(tmp_path: Path) -> None:
    """A killed process leaves no lock behind."""
    path = tmp_path / "x.lock"
    code = (
        "import os, signal\nfrom pathlib import Path\nfrom dyeday.files.durable import FileLock\n"
        f"assert FileLock(Path({str(path)!r})).grab()\nprint('held', flush=True)\nos.kill(os.getpid(), 9)"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.stdout == "held\n"
    assert FileLock(path).grab()


def test_one_bench_at_a_time_holds_a_session(tmp_path: Path) -> None:
    """The second bench finds it held; writes of events are not stopped by that."""
    clock, ids = FakeClock(), Ids()
    first = begun(tmp_path, clock)
    second = Sessions(tmp_path).open(first.about.id)
    assert first.claim_bench()
    assert not second.claim_bench()
    second.add([moved(clock, ids)])
    first.release_bench()
    assert second.claim_bench()


def test_the_newest_unfinished_session_is_found(tmp_path: Path) -> None:
    """A closed day is passed over, and counts again when its closing is undone."""
    clock, ids = FakeClock(), Ids()
    old, new = begun(tmp_path, clock), begun(tmp_path, clock)
    closing = make("closed", clock(), ids)
    new.add([closing])
    kept = Sessions(tmp_path)
    assert _id(kept.newest(unfinished=True)) == old.about.id
    assert _id(kept.newest(unfinished=False)) == new.about.id
    new.add([make("struck", clock(), ids, strikes=closing.id)])
    assert _id(kept.newest(unfinished=True)) == new.about.id


def _id(session: SessionFile | None) -> str:
    assert session is not None
    return session.about.id


def test_events_recorded_in_one_go_keep_their_order(tmp_path: Path) -> None:
    """Recording times a microsecond apart tell the order, also after a log was shuffled."""
    clock, ids = FakeClock(), Ids()
    session = begun(tmp_path, clock)
    stored = session.add([moved(clock, ids), moved(clock, ids, to="paint"), moved(clock, ids, to="fix")])
    times = [event.recorded_at for event in stored]
    assert sorted(set(times)) == times
    other = begun(tmp_path, clock)
    other.add(reversed(stored))
    assert [event.body.to_json()["to"] for event in other.events] == ["soak", "paint", "fix"]
