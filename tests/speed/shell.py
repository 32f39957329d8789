"""What shell commands and the store cost, beside a bare Textual app's whole run and raw writes of the same bytes."""

from __future__ import annotations

import json
import subprocess
import time
from collections.abc import Sequence
from pathlib import Path

from dyeday.store import clock
from dyeday.store.session_file import SessionFile
from tests.speed.bare import READY
from tests.speed.days import session_of
from tests.speed.measured import Line, column, in_turn
from tests.speed.screens import replace_raw
from tests.speed.terminal import ROOT, Terminal, plain_env, python
from tests.typed_events import make

QUICK = (("--help",), ("sessions",), ("flags",), ("log",), ("summary",))
MIDDLE = (("acid", "--water", "4 L", "--alkalinity", "11 dKH"), ("weigh",))
SLOW = (("check", "examples/short-day.toml"),)


def whole_run(command: Sequence[str]) -> tuple[float]:
    began = time.perf_counter()
    done = subprocess.run(command, cwd=ROOT, env=plain_env(), capture_output=True, check=False)
    assert done.returncode == 0, done.stderr.decode()
    return (1000 * (time.perf_counter() - began),)


def bare_run() -> tuple[float]:
    """A bare app in a terminal, from start to its end after the first frame."""
    began = time.perf_counter()
    terminal = Terminal(python("tests.speed.bare", "once"))
    try:
        terminal.until(READY, "never shown")
    except EOFError:
        return (1000 * (time.perf_counter() - began),)
    finally:
        terminal.end()
    raise AssertionError("it did not end")


def commands(folder: Path) -> list[Line]:
    """Each command's whole run, on a session of 30 batches and 600 events."""
    session_of(folder, 30, 600, 20)
    lines = []
    for at_most, group in ((0.35, QUICK), (0.9, MIDDLE), (1.3, SLOW)):
        for args in group:
            command = python("dyeday", *args, *(() if args == ("--help",) else ("--data", str(folder))))
            whole_run(command)
            mine, bare = in_turn(5, lambda command=command: whole_run(command), bare_run)  # type: ignore[misc]
            lines.append(
                Line(f"`{args[0]}`", "ms", column(mine, 0), column(bare, 0), at_most, "bare app's whole run")
            )
    return lines


def storing(folder: Path) -> list[Line]:
    """The 2,000th event of a day, until it is on the disk, as the bench stores it."""
    session = SessionFile(session_of(folder, 60, 1980, 40).path)
    assert session.claim_bench()
    ours, raw = [], []
    for n in range(40):
        event = make("note", clock.now(), clock.new_id, batch="01", note=f"number {n}")
        began = time.perf_counter()
        session.add([event])
        ours.append(1000 * (time.perf_counter() - began))
        raw.append(1000 * replace_raw(folder / "copy.json", session.path.read_bytes()))
    return [Line("the 2,000th event, stored", "ms", tuple(ours), tuple(raw), 3.0, "raw write, sync, replace")]


def reading(folder: Path) -> list[Line]:
    """A session of 2,000 events read from its file, beside reading its JSON."""
    path = session_of(folder, 60, 2000, 40).path
    ours, floor = [], []
    for _ in range(9):
        began = time.perf_counter()
        SessionFile(path)
        ours.append(1000 * (time.perf_counter() - began))
        data = path.read_bytes()
        began = time.perf_counter()
        json.loads(data)
        floor.append(1000 * (time.perf_counter() - began))
    return [Line("a session of 2,000 events, read", "ms", tuple(ours), tuple(floor), 10.0, "json.loads")]
