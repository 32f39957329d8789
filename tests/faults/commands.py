"""Whole commands killed or failed by strace at every call of theirs, and shells that race: what outlives a day.

After each the next command is run, which must find the state before or the state after, nothing counted twice and
nothing to be healed by hand; what a command confirmed or refused must be so.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from dyeday.store.records.database import Records
from dyeday.store.records.lots import LotBook
from dyeday.store.records.shelf import ShelfRecords
from dyeday.store.records.sync import sync_records
from dyeday.store.sessions import Sessions
from dyeday.studio.lots.lot import LotFact, LotFactKind
from dyeday.terms import MoveKind
from tests.fakes import MORNING, ROOT, SHORT_DAY
from tests.faults.calls import calls_between
from tests.faults.catalogue import Outcome, fault
from tests.faults.script import NUMBERS, again, close, finished, started

CALLS = ("openat", "write", "pwrite64", "fsync", "fdatasync", "rename", "link", "linkat", "unlink", "ftruncate",
         "fchmod", "chmod", "mkdir", "flock")  # fmt: skip
ERRORS = (("write", "ENOSPC"), ("pwrite64", "ENOSPC"), ("pwrite64", "EIO"), ("fsync", "EIO"), ("fdatasync", "EIO"),
          ("openat", "ENOSPC"), ("rename", "ENOSPC"), ("link", "EIO"), ("linkat", "EIO"), ("unlink", "EIO"),
          ("ftruncate", "EIO"))  # fmt: skip
RUN = """
import contextlib, io, os, shutil, sys
from dyeday.cli import main
now, *argv = sys.argv[1:]
shutil.copytree(now, now + "-warm")
with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
    main([word.replace(now, now + "-warm") for word in argv])  # all modules are loaded then
from dyeday.files.durable import SAVED
SAVED.clear()
os.write(1, b"go\\n")
status = main(argv)
sys.stdout.flush()
os.write(1, b"done %d\\n" % status)
"""
SAYS_SAVED = re.compile(r"\b(is|are) (saved|closed|put back|on the shelf)\b")
ORDERS = "item,colourway,base,skeins\nguild,Tin Roof Rain,Sock Mini,2\n"


@dataclass(frozen=True, slots=True)
class Heat:
    """What a command came to: its exit status, None where it was killed, and what it said on stderr."""

    status: int | None
    said: str


class Folder:
    """A folder with a data folder in it, put back to what it was before each run; and the command that is tried."""

    def __init__(self, folder: Path, prepare: Callable[[Path], list[str]]) -> None:
        self.ready, self.now, self.log = folder / "ready", folder / "now", folder / "strace.log"
        self.ready.mkdir(parents=True)
        # A place that stays the same: sessions name the plan's file.
        self.now.mkdir()
        self.argv = [word.replace("NOW", str(self.now)) for word in prepare(self.now)]
        shutil.rmtree(self.ready)
        self.now.rename(self.ready)

    def fresh(self) -> None:
        for old in (self.now, Path(f"{self.now}-warm")):
            shutil.rmtree(old, ignore_errors=True)
        shutil.copytree(self.ready, self.now, symlinks=True)

    def run(self, *how: str) -> Heat:
        """Run the command in a fresh copy, under strace with ``how``."""
        self.fresh()
        env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONHASHSEED": "0", "PYTHONDONTWRITEBYTECODE": "1"}
        command = [shutil.which("strace") or "", "-f", "--seccomp-bpf", "-o", str(self.log)]
        command += ["-e", f"trace={','.join(CALLS)}", *how, sys.executable, "-c", RUN, str(self.now), *self.argv]
        done = subprocess.run(command, capture_output=True, cwd=ROOT, env=env, timeout=120, check=False)
        ended = re.search(r"^done (\d+)$", done.stdout.decode(), re.MULTILINE)
        return Heat(int(ended[1]) if ended else None, done.stderr.decode())

    def counted(self) -> dict[str, range]:
        """Return, by call, which of its calls are the command's own."""
        return calls_between(self.log, CALLS) if self.run().status == 0 else {}

    def state(self) -> dict[str, Any]:
        """Return all that is kept, as it is before and after the next command."""
        data = self.now / "data"
        sync_records(data, lambda said: None)
        with Records(data).reading() as db:
            taken = dict(db.execute("SELECT session, events FROM taken"))
            owed = db.execute("SELECT count(*) FROM to_tell").fetchone()[0]
            library = sorted(db.execute("SELECT kind, name FROM definition"))
            assert db.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        book, sessions = LotBook(data), Sessions(data)
        moves = [(move.kind, move.thing, move.name, round(move.amount, 6)) for move in ShelfRecords(data).moves()]
        plans = [path for path in (self.now / "plan.toml", self.now / "tomorrow.toml") if path.exists()]
        return {
            "lots": [(row.number, row.skeins, len(book.lot(row.number).added)) for row in book.find(())],
            "moves": sorted(map(str, moves)),
            "taken": taken,
            "owed": owed,
            "library": library,
            "sessions": {name: len(sessions.open(name).events) for name in sessions.ids()},
            "plans": {path.name: path.read_text(encoding="utf-8") for path in plans},
        }


def _tried(folder: Path, prepare: Callable[[Path], list[str]], ways: Iterable[tuple[str, str]]) -> Outcome:
    if shutil.which("strace") is None:
        return Outcome(0, 0, "", "not tried: no strace here that may trace")
    tried = Folder(folder, prepare)
    calls = tried.counted()
    if not calls:
        return Outcome(0, 0, "", "not tried: no strace here that may trace")
    after = tried.state()
    tried.fresh()
    before = tried.state()
    assert before != after
    count = lost = 0
    for call, what in ways:
        for number in calls[call]:
            run = tried.run("-e", f"inject={call}:{what}:when={number}")
            count += 1
            found = tried.state()
            saved = run.status == 0 or SAYS_SAVED.search(run.said) is not None
            expected = [before, after] if run.status is None else [after] if saved else [before]
            if found not in expected:
                lost += 1
                wrong = {key: (found[key], [one[key] for one in expected]) for key in found
                         if all(found[key] != one[key] for one in expected)}  # fmt: skip
                print(f"{call} {what} {number}: {run}: {wrong}", file=sys.stderr)
    return Outcome(count, lost, "the state before or after, and what was said of it is so")


def _closing(now: Path) -> list[str]:
    finished(now / "data")
    ShelfRecords(now / "data").moves()
    return ["close", "--data", "NOW/data", "--yes"]


def _shelf(now: Path) -> list[str]:
    close(finished(now / "data"))
    started(now / "data", 4)
    return ["shelf", "--data", "NOW/data", "--received", "Slate Blue", "--amount", "100 g"]


def _noting(now: Path) -> list[str]:
    close(finished(now / "data"))
    number = LotBook(now / "data").find(())[0].number
    return ["lots", "--data", "NOW/data", number, "--note", "sent the last one"]


def _restoring(now: Path) -> list[str]:
    """Back to a copy from before a close: that day is taken in again, the note is what goes."""
    from dyeday.store.records.copies import records_of

    data = now / "data"
    ShelfRecords(data).add(lambda _: [])
    records_of(data).back_up(MORNING)
    close(finished(data))
    number = LotBook(data).find(())[0].number
    LotBook(data).add_facts(number, [LotFact(MORNING, LotFactKind.NOTE, "typed since")])
    return ["restore", "--data", "NOW/data", "studio", "--newest"]


def _carrying(now: Path) -> list[str]:
    close(started(now / "data", 20))
    return ["carry", "--data", "NOW/data", "NOW/tomorrow.toml"]


def _beginning(now: Path) -> list[str]:
    from dyeday.cli import main

    close(started(now / "data", 20))
    assert main(["carry", "--data", str(now / "data"), str(now / "tomorrow.toml")]) == 0
    return ["begin", "--data", "NOW/data", "NOW/tomorrow.toml"]


def _ordering(now: Path) -> list[str]:
    shutil.copy(SHORT_DAY, now / "plan.toml")
    (now / "orders.csv").write_text(ORDERS, encoding="utf-8")
    (now / "data").mkdir()
    return ["orders", "--data", "NOW/data", "NOW/orders.csv", "--into", "NOW/plan.toml"]


def _keeping(now: Path) -> list[str]:
    shutil.copy(SHORT_DAY, now / "plan.toml")
    (now / "data").mkdir()
    return ["library", "--data", "NOW/data", "--take", "NOW/plan.toml"]


COMMANDS = {
    "close": _closing,
    "shelf": _shelf,
    "a note on a lot": _noting,
    "restore": _restoring,
    "carry": _carrying,
    "begin": _beginning,
    "orders": _ordering,
    "library": _keeping,
}


def _add(word: str, prepare: Callable[[Path], list[str]]) -> None:
    @fault(f"{word}, killed by the kernel at its own calls", "strace: SIGKILL at each of its opens, writes, syncs …")
    def killed(folder: Path, long: bool) -> Outcome:
        if not long:
            return Outcome(0, 0, "", "in the long form only")
        return _tried(folder, prepare, [(call, "signal=SIGKILL") for call in CALLS])

    @fault(f"{word}, its kernel calls failing once", "strace: ENOSPC or EIO from each write, sync, rename, unlink …")
    def failed(folder: Path, long: bool) -> Outcome:
        if not long:
            return Outcome(0, 0, "", "in the long form only")
        return _tried(folder, prepare, [(call, f"error={error}") for call, error in ERRORS])


for _word, _prepare in COMMANDS.items():
    _add(_word, _prepare)


@fault("shells that close, receive, begin and order at once", "each command three times, none waiting")
def races(folder: Path, long: bool) -> Outcome:
    """Each delivery is there once, each day closed and begun once, each file one shell's."""
    data = folder / "data"
    finished(data)
    (first,) = Sessions(data).ids()
    shutil.copy(SHORT_DAY, folder / "plan.toml")
    shutil.copy(SHORT_DAY, folder / "next.toml")
    (folder / "orders.csv").write_text(ORDERS, encoding="utf-8")
    commands = [
        ["close", "--yes", "--session", first],  # named: a slow shell would close the day just begun
        ["shelf", "--received", "Slate Blue", "--amount", "10 g"],
        ["begin", str(folder / "next.toml")],
        ["orders", str(folder / "orders.csv"), "--into", str(folder / "plan.toml")],
    ]
    ended = _at_once(data, commands)
    sync_records(data, lambda said: None)
    came = [move for move in ShelfRecords(data).moves() if move.kind is MoveKind.RECEIVED]
    lost = abs(len(came) - sum(status == 0 for status in ended[1::4]))
    sessions = Sessions(data)
    lost += len(sessions.ids()) != 2  # the finished one and one begun
    closed = [name for name in sessions.ids() for event in sessions.open(name).events if event.body.NAME == "closed"]
    lost += closed != [first]
    with Records(data).reading() as db:
        lost += dict(db.execute("SELECT session, events FROM taken")) != {first: len(sessions.open(first).events)}
    orders = [file.read_text(encoding="utf-8").count("[[order]]") for file in (folder / "plan.toml", SHORT_DAY)]
    lost += orders[0] != orders[1] + 1
    return Outcome(len(ended), lost, "each delivery once, each day closed and begun once, each order once")


@fault("shells that carry one day over, then begin it, at once", "each command three times, none waiting")
def races_overnight(folder: Path, long: bool) -> Outcome:
    """One plan, one session of it, every batch brought over once."""
    data, plan = folder / "data", folder / "tomorrow.toml"
    close(started(data, 20))
    carried = _at_once(data, [["carry", str(plan)]])
    begun = _at_once(data, [["begin", str(plan)]])
    sessions = Sessions(data)
    lost = (0 not in carried) + (begun != [0, 0, 0]) + (len(sessions.ids()) != 2)
    batches = [event.batch for event in sessions.open(sessions.ids()[0]).events if event.body.NAME == "carried"]
    lost += len(set(batches)) != 5 or len(batches) != 5
    return Outcome(len(carried) + len(begun), lost, "one plan, one session of it, every batch brought over once")


@fault("shells that close a day beside one that begins a heat", "both at once, twelve times each way of the record")
def races_with_heat(folder: Path, long: bool) -> Outcome:
    """A heat that is on by the record stops the close; a day that is closed takes no heat unasked."""
    tried = lost = 0
    for number in range(12 if long else 3):
        data = folder / f"data{number}"
        started(data, 15)
        heat = ["mark", NUMBERS[0], "fix", "--unit", "microwave", "--heat", "1", "start"]
        closing, mark = _at_once(data, [["close"], heat], times=1)
        events = again(data).events
        kinds = [event.body.NAME for event in events]
        tried += 1
        lost += (closing, mark) not in ((0, 1), (1, 0))
        lost += ("closed" in kinds) != (closing == 0) or ("pass" in kinds) != (mark == 0)
    return Outcome(tried, lost, "one of the two; the other gets a message")


def _at_once(data: Path, commands: list[list[str]], times: int = 3) -> list[int]:
    """Run each command so many times, all at once; return how they ended."""
    running = [
        subprocess.Popen([sys.executable, "-m", "dyeday", *command, "--data", str(data)], cwd=ROOT,
                         stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        for _ in range(times) for command in commands
    ]  # fmt: skip
    return [process.wait(timeout=120) for process in running]
