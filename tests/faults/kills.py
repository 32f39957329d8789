"""Faults that end the process: at every call of the system, and at any time of a scripted day."""

from __future__ import annotations

import os
import random
import shutil
import signal
import time
from collections.abc import Callable
from pathlib import Path

from dyeday.bench.live_session import LiveSession
from dyeday.files.durable import FileLock
from dyeday.store.backups import BackedUpFile
from dyeday.store.clock import new_id
from dyeday.store.records.lots import LotBook
from dyeday.store.records.shelf import ShelfRecords
from dyeday.store.records.sync import sync_records
from dyeday.store.session_file import SessionFile
from dyeday.store.session_form import SESSION
from dyeday.store.sessions import Sessions
from tests.fakes import FakeClock
from tests.faults.catalogue import Outcome, fault
from tests.faults.killer import at_every_call, in_child
from tests.faults.script import ENTRIES, again, close, finished, is_as_the_model, started
from tests.typed_events import make

CALLS = "SIGKILL just before each open, write (half of it done), fsync, rename, link, unlink, mkdir and chmod in turn"
V1 = Path(__file__).parent.parent / "store" / "files" / "session-1.json"


def _adding(folder: Path, before: int, more: int, long: bool) -> Outcome:
    """Kill a shell that adds ``more`` entries after the first ``before``, at every call."""
    ready = folder / "ready"
    started(ready, before)
    lost = 0

    def work(tell: Callable[[str], None]) -> None:
        again(folder / "now").add(ENTRIES[before : before + more])
        tell("done")

    def look(through: bool, words: list[str]) -> None:
        nonlocal lost
        session = again(folder / "now")
        count = len(session.events)
        whole = is_as_the_model(session) and count in (before, before + more)
        lost += not whole or ("done" in words and count == before)
        # And the next shell goes on at once: no lock is left, no leaving is in the way.
        session.add(ENTRIES[count : count + 1])
        assert is_as_the_model(again(folder / "now"))
        fresh(through)

    def fresh(_through: bool) -> None:
        shutil.rmtree(folder / "now", ignore_errors=True)
        shutil.copytree(ready, folder / "now", symlinks=True)

    fresh(False)
    return Outcome(
        at_every_call(work, look, 1 if long or more == 1 else 4),
        lost,
        "the day before or after the entry; the next goes in",
    )


@fault("killed while an entry is saved", CALLS)
def entry(folder: Path, long: bool) -> Outcome:
    """One entry, in the middle of the day."""
    return _adding(folder, 10, 1, long)


@fault("killed while many are saved and a copy is due", CALLS)
def many(folder: Path, long: bool) -> Outcome:
    """So many that the copy by 25 entries comes with them."""
    return _adding(folder, 3, 30, long)


@fault("killed while a file becomes shorter", CALLS)
def shorter(folder: Path, long: bool) -> Outcome:
    """A copy of fewer entries brought back; the longer file that was there is kept aside."""
    ready, now = folder / "ready", folder / "now"
    started(ready, 3).add(ENTRIES[3:40])
    lost = 0

    def work(tell: Callable[[str], None]) -> None:
        path = again(now).path
        small = min(
            (c for c in BackedUpFile(path, SESSION).copies() if c.good), key=lambda copy: len(copy.file.read_bytes())
        )
        BackedUpFile(path, SESSION).restore_copy(small, FakeClock().utc)
        tell("done")

    def look(through: bool, words: list[str]) -> None:
        nonlocal lost
        session = again(now)
        full = [c for c in BackedUpFile(session.path, SESSION).copies() if c.good and "40 entries" in c.holds]
        back = len(session.events) < 40
        lost += not is_as_the_model(session) or (back and not full) or ("done" in words and not back)
        fresh()

    def fresh() -> None:
        shutil.rmtree(now, ignore_errors=True)
        shutil.copytree(ready, now)

    fresh()
    deaths = at_every_call(work, look, 1 if long else 4)
    return Outcome(deaths, lost, "the present or the copy, and the present kept aside")


@fault("killed while a session begins", CALLS)
def beginning(folder: Path, long: bool) -> Outcome:
    """The session is whole or not there; none is half there, and the next one begins."""
    now = folder / "now"
    lost = 0

    def work(tell: Callable[[str], None]) -> None:
        tell(started(now).about.id)

    def look(through: bool, words: list[str]) -> None:
        nonlocal lost
        there = Sessions(now).ids()
        lost += bool(words) and words[0] not in there
        for session_id in there:
            assert Sessions(now).open(session_id).events == ()
        assert started(now).about.id not in there
        shutil.rmtree(now)

    deaths = at_every_call(work, look, 1 if long else 4)
    return Outcome(deaths, lost, "a whole session or none, and the next begins")


@fault("killed while a file of version 1 is brought up", CALLS)
def migrating(folder: Path, long: bool) -> Outcome:
    """The old file or the new one, the copy of the old one before the new one is there."""
    now = folder / "now"
    path = now / "sessions" / "2026-03-14-1.json"
    lost = 0

    def fresh() -> None:
        shutil.rmtree(now, ignore_errors=True)
        path.parent.mkdir(parents=True)
        shutil.copy(V1, path)

    def work(tell: Callable[[str], None]) -> None:
        SessionFile(path).add([make("note", FakeClock()(), new_id, note="x")])
        tell("done")

    def look(through: bool, words: list[str]) -> None:
        nonlocal lost
        count = len(SessionFile(path).events)
        old = [copy for copy in BackedUpFile(path, SESSION).copies() if copy.file.read_bytes() == V1.read_bytes()]
        lost += count not in (4, 5) or ("done" in words and count == 4) or (count == 5 and not old)
        fresh()

    fresh()
    deaths = at_every_call(work, look, 1 if long else 4)
    return Outcome(deaths, lost, "the old file or the new one with a copy of the old")


@fault("killed while a day is closed into the records", CALLS)
def closed(folder: Path, long: bool) -> Outcome:
    """Looked at again, the records are what they are without a kill."""
    ready, now = folder / "ready", folder / "now"
    finished(ready)

    def work(tell: Callable[[str], None]) -> None:
        close(again(now))
        tell("done")

    def books() -> tuple[object, object]:
        shelf = [(move.kind, move.thing, move.name, move.amount) for move in ShelfRecords(now).moves()]
        return sorted(map(str, shelf)), LotBook(now).find(())

    def fresh() -> None:
        shutil.rmtree(now, ignore_errors=True)
        shutil.copytree(ready, now)

    fresh()
    close(again(now))
    wanted = books()
    fresh()
    lost = 0

    def look(through: bool, words: list[str]) -> None:
        nonlocal lost
        session = again(now)
        lost += "done" in words and session.events[-1].id != "closing"
        close(session)
        sync_records(now, lambda said: None)
        lost += books() != wanted
        fresh()

    deaths = at_every_call(work, look, 1 if long else 12)
    return Outcome(deaths, lost, "the records as without a kill, at the next look")


@fault("killed at random times in a scripted day", "SIGKILL after a random time; the day gone on with")
def random_times(folder: Path, long: bool) -> Outcome:
    """A bench's keeper puts entry after entry on record; each confirmed one must be there, and equal the model."""
    chance = random.Random(20260314)  # noqa: S311 - chance that repeats
    wanted = 200 if long else 12
    kills = lost = days = 0
    while kills < wanted:
        data = folder / f"day{days}"
        days += 1
        started(data)
        confirmed = 0
        while confirmed < len(ENTRIES) and kills < wanted:
            killed, words = _killed_after(data, chance.uniform(0.001, 0.05))
            kills += killed
            confirmed += len(words)
            session = again(data)
            # One more than confirmed may be there: the plug was pulled between the disk and the word.
            lost += max(0, confirmed - len(session.events))
            lost += not is_as_the_model(session)
            confirmed = len(session.events)
    return Outcome(kills, lost, f"{days} days replayed, each equal to the model after every kill")


def _killed_after(data: Path, seconds: float) -> tuple[bool, list[str]]:
    """Let a keeper go on with the script and kill it; return whether it was still at work, and what it confirmed."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(reader)
            session = again(data)
            assert session.claim_bench()
            live = LiveSession(session, FakeClock(), new_id)
            for event in ENTRIES[len(session.events) :]:
                session.add([event])
                live.refresh()
                assert live.day.events[-1].id == event.id
                os.write(writer, event.id.encode() + b"\n")
            os._exit(0)
        finally:
            os._exit(77)
    os.close(writer)
    time.sleep(seconds)
    os.kill(child, signal.SIGKILL)
    with os.fdopen(reader, "rb") as said:
        words = said.read().decode().split("\n")[:-1]
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status) or os.WEXITSTATUS(status) == 0
    return os.WIFSIGNALED(status), words


@fault("a lock and half-written files left by the dead", "a holder killed while it has the lock; files beside")
def leavings(folder: Path, long: bool) -> Outcome:
    """The next shell starts at once, takes none of them for the file, and the old ones go at the next beginning."""
    session = started(folder, 5)
    tried = lost = 0
    for n in range(5):

        def hold(tell: Callable[[str], None]) -> None:
            mine = again(folder)
            assert mine.claim_bench()
            with FileLock(mine.path.with_suffix(".lock")):
                os.kill(os.getpid(), signal.SIGKILL)

        in_child(hold, None)
        left = session.path.parent / f".{session.path.name}.{n}.new"
        left.write_bytes(session.path.read_bytes()[: 100 * n])
        os.utime(left, (1_000_000_000, 1_000_000_000))
        tried += 1
        fresh = again(folder)
        lost += not is_as_the_model(fresh) or not fresh.claim_bench()
        fresh.release_bench()
    started(folder)
    assert not list(session.path.parent.glob(".*.new"))
    return Outcome(tried, lost, "nothing waits, nothing half-written is read, the leavings are deleted")
