"""What the bench costs on a real terminal, beside a bare Textual app in the same run."""

from __future__ import annotations

import os
import time
from collections.abc import Sequence
from itertools import count as count_from
from pathlib import Path

from tests.speed.bare import READY
from tests.speed.days import plan_text, session_of
from tests.speed.measured import Line, column, in_turn
from tests.speed.terminal import Taken, Terminal, python

ROUNDS = 15
BENCH_WORDS = ("A heavy day", "Moor 12", "keys")


def first_frame(command: Sequence[str], *words: str) -> Taken:
    """Start a program in a terminal and return what it took until its first full frame."""
    terminal = Terminal(command)
    try:
        return terminal.until(*words)
    finally:
        terminal.end()


def bare_frame() -> tuple[float, float, float]:
    taken = first_frame(python("tests.speed.bare", "still"), READY)
    return taken.wall_s * 1000, taken.cpu_s * 1000, taken.resident_kb / 1024


def starting(folder: Path) -> list[Line]:
    """Start to first painted bench: an unfinished session of 30 batches and 600 events."""
    session_of(folder, 30, 600, 20)
    command = python("dyeday", "--data", str(folder))

    def ours() -> tuple[float, float, float]:
        taken = first_frame(command, *BENCH_WORDS)
        return taken.wall_s * 1000, taken.cpu_s * 1000, taken.resident_kb / 1024

    ours(), bare_frame()
    mine, bare = in_turn(ROUNDS, ours, bare_frame)
    return [
        Line("start to first painted bench, wall", "ms", column(mine, 0), column(bare, 0), 1.3, "bare app"),
        Line("start to first painted bench, CPU", "ms", column(mine, 1), column(bare, 1), 1.4, "bare app"),
    ]


def opening(folder: Path) -> list[Line]:
    """First open of a plan of 14 batches, the unit registry cached by an earlier run."""
    folder.mkdir(parents=True, exist_ok=True)
    plan = folder / "new.toml"
    plan.write_text(plan_text(14), encoding="utf-8")
    made = 0

    def ours() -> tuple[float]:
        nonlocal made
        made += 1
        command = python("dyeday", "open", str(plan), "--data", str(folder / f"data-{made}"))
        return (first_frame(command, *BENCH_WORDS).wall_s * 1000,)

    ours(), bare_frame()
    mine, bare = in_turn(ROUNDS, ours, bare_frame)
    return [Line("first open of a plan of 14 batches", "ms", column(mine, 0), column(bare, 0), 1.9, "bare app")]


def memory(folder: Path) -> list[Line]:
    """Resident memory with 60 batches and 2,000 events, after some seconds."""
    session_of(folder, 60, 2000, 40)

    def of(command: Sequence[str], *words: str) -> tuple[float]:
        terminal = Terminal(command)
        try:
            terminal.until(*words)
            return (terminal.idle(4.0).resident_kb / 1024,)
        finally:
            terminal.end()

    mine, bare = in_turn(
        3,
        lambda: of(python("dyeday", "--data", str(folder)), *BENCH_WORDS),
        lambda: of(python("tests.speed.bare", "still"), READY),
    )
    return [Line("memory, 60 batches and 2,000 events", "MB", column(mine, 0), column(bare, 0), 1.6, "bare app")]


def idling(folder: Path, seconds: float = 60.0) -> list[Line]:
    """A minute of nothing: 60 batches, 40 clocks running, at 200 × 60."""
    session_of(folder, 60, 200, 40)

    def of(command: Sequence[str], keys: str, *words: str) -> tuple[float, float]:
        terminal = Terminal(command, 200, 60)
        try:
            terminal.until(*words)
            terminal.idle(1.0)
            if keys:
                terminal.keys(keys)
            terminal.idle(6.0)
            taken = terminal.idle(seconds)
            return 1000 * taken.cpu_s * 60 / seconds, taken.sent_bytes * 60 / seconds
        finally:
            terminal.end()

    lines = []
    for name, keys, cpu_most, bytes_most in (("bench", "", 1.5, 1.5), ("far view", "v", 4.0, 10.0)):
        mine, bare = in_turn(
            2,
            lambda keys=keys: of(python("dyeday", "--data", str(folder)), keys, *BENCH_WORDS),  # type: ignore[misc]
            lambda: of(python("tests.speed.bare", "clock"), "", READY),
        )
        cpu, sent = column(mine, 0), column(mine, 1)
        lines.append(Line(f"idle minute, {name}, CPU", "ms", cpu, column(bare, 0), cpu_most, "bare clock"))
        lines.append(Line(f"idle minute, {name}, sent", "bytes", sent, column(bare, 1), bytes_most, "bare clock"))
        lines.append(Line(f"idle minute, {name}, share of a core", "ms", cpu, (60_000.0,), 0.01, "a minute of"))
    return lines


def choosing(folder: Path) -> list[Line]:
    """The next batch chosen at 200 x 60, until its pane is painted beside the list and the line of time.

    Both programs run side by side and take a key in turn, so that a busy machine falls on both alike.
    """
    session_of(folder, 60, 60, 0)
    bare = Terminal(python("tests.speed.bare", "key"), 200, 60)
    ours = Terminal(python("dyeday", "--data", str(folder)), 200, 60)

    def pressed(terminal: Terminal, key: str, shown: str) -> tuple[float, float]:
        terminal.forget()
        cpu_s = terminal.taken().screen_cpu_s
        at = terminal.keys(key)
        taken = terminal.until(shown)
        took = 1000 * (time.perf_counter() - at), 1000 * (taken.screen_cpu_s - cpu_s)
        terminal.idle(0.1)
        return took

    try:
        bare.until(READY)
        ours.until(*BENCH_WORDS)
        ours.idle(2.5)
        keys, rows = count_from(1), count_from(2)
        mine, floor = in_turn(
            30,
            lambda: pressed(ours, "\x1b[B", f"▶ {next(rows):02d} "),
            lambda: pressed(bare, "x", f"{next(keys):06d}"),
        )
    finally:
        bare.end()
        ours.end()
    return [
        Line(f"key to repaint at 200 x 60, {what}", "ms", column(mine, n), column(floor, n), 2.0, "empty repaint")
        for n, what in enumerate(("wall", "CPU of its thread"))
    ]


def replace_raw(path: Path, data: bytes) -> float:
    """Return the seconds that writing, syncing and renaming these bytes, and syncing the folder, took."""
    began = time.perf_counter()
    new = path.with_name(path.name + ".raw")
    handle = os.open(new, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    os.write(handle, data)
    os.fsync(handle)
    os.close(handle)
    new.replace(path)
    folder = os.open(path.parent, os.O_RDONLY)
    os.fsync(folder)
    os.close(folder)
    return time.perf_counter() - began


def p95(times: Sequence[float]) -> float:
    return sorted(times)[min(len(times) - 1, int(0.95 * len(times)))]


def recorded_s(terminal: Terminal, file: Path, n: int) -> float:
    """Take the offered step of batch ``n``; return the seconds from return until it is on the disk and painted."""
    # At a person's pace: two keys that record come at most 36 times a minute, or the key lock takes them for mashing.
    terminal.idle(2.0)
    for key in f"{n:02d} ":
        terminal.keys(key)
        terminal.idle(0.4)
    before = file.stat().st_mtime_ns
    terminal.forget()
    at = terminal.keys("\r")
    terminal.until(f"recorded: {n:02d}")
    took = time.perf_counter() - at
    assert file.stat().st_mtime_ns != before, "it was painted before it was on the disk"
    return took


def keying(folder: Path) -> list[Line]:
    """Return on an offered step, until it is on the disk and painted: 60 batches, 95th percentile."""
    session = session_of(folder, 60, 60, 0)
    bare = Terminal(python("tests.speed.bare", "key"))
    bare.until(READY)
    terminal = Terminal(python("dyeday", "--data", str(folder)))
    terminal.until(*BENCH_WORDS)
    terminal.idle(2.5)
    times, raw, empty = [], [], []
    copy = folder / "copy.json"
    for n in range(1, 61):
        bare.forget()
        at = bare.keys("x")
        bare.until(f"{n:06d}")
        empty.append(time.perf_counter() - at)
        bare.idle(0.02)
        times.append(recorded_s(terminal, session.path, n))
        terminal.idle(0.4)
        raw.append(replace_raw(copy, session.path.read_bytes()))
    bare.end()
    terminal.end()
    floor = p95(raw) + p95(empty)
    ours = p95(times)
    return [
        Line(
            "key to disk and screen, p95", "ms", (1000 * ours,), (1000 * floor,), 2.0, "raw replace + empty repaint"
        ),
        Line("key to disk and screen, p95, in all", "ms", (1000 * ours,), (50.0,), 1.0, "of"),
    ]
