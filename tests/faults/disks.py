"""Faults of the disk and the folder: full, failing, read-only, gone; and several writers at once."""

from __future__ import annotations

import contextlib
import errno
import os
import resource
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from unittest.mock import patch

from dyeday.bench.live_session import EventDraft, LiveSession
from dyeday.files.durable import StoreError, replace_file
from dyeday.store.clock import new_id, now
from dyeday.store.sessions import Sessions
from dyeday.track.events.remarks import Noted
from tests.fakes import ROOT, FakeClock
from tests.faults.catalogue import Outcome, fault
from tests.faults.killer import in_child
from tests.faults.script import ENTRIES, NUMBERS, again, is_as_the_model, started
from tests.typed_events import draft


def _on_a_bench(data: Path, broken: contextlib.AbstractContextManager[object], *, hold: bool = True) -> int:
    """Enter two things while ``broken`` holds and one after; return how many entries were lost or came too many."""
    session = started(data, 5)
    clock = FakeClock()
    clock.on(60)
    assert not hold or session.claim_bench()
    live = LiveSession(session, clock, new_id)
    with broken:
        for batch in NUMBERS[:2]:
            live.record(draft("note", batch, {"note": "while it is broken"}))
            clock.on(1)
        assert live.trouble is not None
        assert len(live.unsaved) == 2
        assert len(live.day.events) == 7
        live.refresh()
    clock.on(1)
    live.refresh()
    assert live.trouble is None
    live.record(EventDraft(Noted(note="after"), NUMBERS[2]))
    session.release_bench()
    there = again(data)
    assert not [path for path in data.rglob("*.new") if path.name.startswith(".")] or os.name == "nt"
    return abs(len(there.events) - 8) + (there.events[:5] != tuple(ENTRIES[:5]))


@contextlib.contextmanager
def failing(name: str, number: int, once: bool) -> Iterator[None]:
    """Let the call ``os.name`` fail with ``number``, the first time only where ``once``."""
    real = getattr(os, name)
    left = [1 if once else 1_000_000]

    def fail(*args: object, **more: object) -> object:
        if left[0]:
            left[0] -= 1
            raise OSError(number, os.strerror(number))
        return real(*args, **more)

    with patch.object(os, name, fail):
        yield


@fault("a write torn at every byte", "RLIMIT_FSIZE of each size, so that the system itself cuts the write there")
def torn(folder: Path, long: bool) -> Outcome:
    """The file is the old one every time, and the next try goes in."""
    session = started(folder, 12)
    raw = session.path.read_bytes()
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    tried = lost = 0
    whole = 61 if long else 600
    for size in range(0, len(raw), 1 if long else 83):
        resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
        try:
            if size % whole:
                replace_file(session.path, raw.swapcase())
            else:
                session.add(ENTRIES[12:13])
            lost += 1
        except (StoreError, OSError):
            tried += 1
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        lost += session.path.read_bytes() != raw
    session.add(ENTRIES[12:13])
    lost += len(again(folder).events) != 13 or not is_as_the_model(again(folder))
    return Outcome(tried, lost, "shown as not saved, the old file whole, saved at the next try")


@fault("the disk full while a file is written, or put in place, or the folder synced", "the call fails with ENOSPC")
def full(folder: Path, long: bool) -> Outcome:
    """The bench keeps timing and saves by itself once there is room."""
    lost = tried = 0
    for name in ("open", "fsync", "replace", "fchmod"):
        lost += _on_a_bench(folder / name, failing(name, errno.ENOSPC, once=False))
        tried += 1
    return Outcome(tried, lost, "kept in memory, banner, saved by itself")


@fault("a disk that is really full", "a file system of 300 kB in memory, filled up (root only)")
def really_full(folder: Path, long: bool) -> Outcome:
    """A real ENOSPC wherever the system gives it."""
    with _mounted(folder, "size=300k") as disk:
        if disk is None:
            return Outcome(0, 0, "", "not tried: nothing can be mounted here")

        @contextlib.contextmanager
        def filled() -> Iterator[None]:
            # Letting the file before the last go makes room for one more entry; here there shall be none.
            for previous in disk.rglob("previous.json"):
                previous.unlink()
            with (disk / "filler").open("wb", buffering=0) as filler, contextlib.suppress(OSError):
                while True:
                    filler.write(b"x" * 512)
            yield
            (disk / "filler").unlink()

        return Outcome(1, _on_a_bench(disk / "data", filled()), "kept in memory, banner, saved by itself")


@fault("a disk that becomes read-only", "a file system in memory, mounted read-only and back (root only)")
def read_only_disk(folder: Path, long: bool) -> Outcome:
    """What a failing card does."""
    with _mounted(folder, "size=4m") as disk:
        if disk is None:
            return Outcome(0, 0, "", "not tried: nothing can be mounted here")

        @contextlib.contextmanager
        def read_only() -> Iterator[None]:
            # A system refuses this while the bench's own lock file is open for writing: hence none is held.
            subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
            yield
            subprocess.run(["mount", "-o", "remount,rw", str(disk)], check=True)

        return Outcome(
            1, _on_a_bench(disk / "data", read_only(), hold=False), "kept in memory, banner, saved by itself"
        )


@contextlib.contextmanager
def _mounted(folder: Path, how: str) -> Iterator[Path | None]:
    disk = folder / "disk"
    disk.mkdir()
    mount = shutil.which("mount")
    done = mount and subprocess.run(
        [mount, "-t", "tmpfs", "-o", how, "tmpfs", str(disk)], capture_output=True, check=False
    )
    if not done or done.returncode:
        yield None
        return
    try:
        yield disk
    finally:
        subprocess.run(["umount", "--lazy", str(disk)], check=True)


@fault("fsync fails once, then is well", "fsync gives EIO the first, second … time; every handle's calls are counted")
def fsync_once(folder: Path, long: bool) -> Outcome:
    """Not saved, and a new file is written from memory: a failed handle asked again would say that all is well."""
    lost = tried = 0
    real = os.fsync
    for bad in range(1, 4):
        names: list[str] = []

        def fail(handle: int, bad: int = bad, names: list[str] = names) -> None:
            names.append(str(Path(f"/proc/self/fd/{handle}").resolve()))
            if len(names) == bad:
                raise OSError(errno.EIO, os.strerror(errno.EIO))
            real(handle)

        data = folder / str(bad)
        session = started(data, 5)
        clock = FakeClock()
        clock.on(60)
        assert session.claim_bench()
        live = LiveSession(session, clock, new_id)
        with patch.object(os, "fsync", fail):
            for _ in range(2):
                live.record(draft("note", NUMBERS[0], {"note": "x"}))
                clock.on(1)
                live.refresh()
        tried += 1
        files = [name for name in names if ".new" in name]
        # Nothing found is nothing tested: the failed file, the fresh one and the folder must be among the calls.
        lost += len(files) < 2 or len(names) < bad or len(files) == len(names)
        lost += len(files) != len(set(files))
        lost += live.trouble is not None or len(again(data).events) != 7
        session.release_bench()
    return Outcome(tried, lost, "a fresh file from memory, never the failed one's fsync again")


@fault("a folder that may not be written", "a child without root's rights, the folder's mode 0500, then 0700 again")
def read_only_folder(folder: Path, long: bool) -> Outcome:
    """The day can be looked at; entries wait in memory."""
    data = folder / "data"
    path = started(data, 5).path
    other_user = 65534
    now()  # what it imports may lie where the other user may not read
    if os.getuid() == 0:
        folder.chmod(0o755)
        for above in folder.parents:
            if above.stat().st_uid == 0 and above.stat().st_mode & 0o077 == 0:
                above.chmod(0o711)
        for each in (data, *data.rglob("*")):
            os.chown(each, other_user, other_user)

    def work(tell: Callable[[str], None]) -> None:
        if os.getuid() == 0:
            os.setgid(other_user)
            os.setuid(other_user)
        session = again(data)
        clock = FakeClock()
        clock.on(60)
        assert session.claim_bench()
        live = LiveSession(session, clock, new_id)
        path.parent.chmod(0o500)
        live.record(draft("note", NUMBERS[0], {"note": "x"}))
        if live.trouble is not None and "permission denied" in live.trouble.why:
            tell("shown")
        path.chmod(0o400)
        path.parent.chmod(0o700)
        clock.on(1)
        live.refresh()
        if live.trouble is None:
            tell("saved")

    _, words = in_child(work, None)
    lost = (words != ["shown", "saved"]) + (len(again(data).events) != 6)
    return Outcome(2, lost, "shown, the day on screen, saved by itself; a read-only file is replaced all the same")


@fault("a folder that goes away and comes back", "renamed away under an open bench that gets entries meanwhile")
def pulled(folder: Path, long: bool) -> Outcome:
    """A stick pulled out: nothing is made in its place."""
    lost = tried = 0
    for whole in (True, False):
        data = folder / str(whole) / "stick"
        data.parent.mkdir()
        away = data if whole else data / "sessions"

        @contextlib.contextmanager
        def gone(away: Path = away) -> Iterator[None]:
            away.rename(away.with_name("pulled"))
            yield
            assert not away.exists()
            away.with_name("pulled").rename(away)

        lost += _on_a_bench(data, gone())
        tried += 1
    return Outcome(tried, lost, "waited for, nothing made in its place, saved once it is back")


WRITER = """
import sys
from pathlib import Path
from dyeday.store.sessions import Sessions
from dyeday.store.clock import now, new_id
from tests.typed_events import make
session = Sessions(Path(sys.argv[1])).open(sys.argv[2])
for n in range(int(sys.argv[4])):
    session.add([make("note", now(), new_id, note=f"{sys.argv[3]} {n}")])
"""


@fault("two shells and a bench writing at once", "three processes, no pause between their entries")
def at_once(folder: Path, long: bool) -> Outcome:
    """All are kept, each writer's in its order, and seen by all."""
    session = started(folder)
    each = 100 if long else 12
    running = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, str(folder), session.about.id, who, str(each)],
            cwd=ROOT,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
        )
        for who in ("a", "b")
    ]
    assert session.claim_bench()
    live = LiveSession(session, now, new_id)
    for n in range(each):
        live.record(draft("note", NUMBERS[0], {"note": f"bench {n}"}))
        live.refresh()
    assert [process.wait(timeout=120) for process in running] == [0, 0]
    live.refresh()
    there = Sessions(folder).open(session.about.id).events
    lost = int(live.day.events != there)
    for who in ("a", "b", "bench"):
        said = [
            event.body.to_json()["note"] for event in there if str(event.body.to_json()["note"]).startswith(f"{who} ")
        ]
        lost += said != [f"{who} {n}" for n in range(each)]
    session.release_bench()
    return Outcome(3 * each, lost, "all kept, in order, seen by all")


@fault("any umask", "umask 000, 022, 077 and 777 in a child")
def umasks(folder: Path, long: bool) -> Outcome:
    """Files are 0600 in folders of 0700: other users cannot read them."""
    lost = 0
    for mask in (0o000, 0o022, 0o077, 0o777):
        data = folder / f"{mask:03o}"

        def work(tell: Callable[[str], None], mask: int = mask, data: Path = data) -> None:
            data.mkdir()
            os.umask(mask)
            started(data / "in" / "it" if mask != 0o777 else data, 2)
            tell("done")

        _, words = in_child(work, None)
        modes = {p.stat().st_mode & 0o777 for p in data.rglob("*") if p.is_file()}
        folders = {p.stat().st_mode & 0o077 for p in data.rglob("*") if p.is_dir()}
        lost += words != ["done"] or not modes <= {0o600, 0o600 & ~mask} or folders != {0}
    return Outcome(4, lost, "0600 in 0700")
