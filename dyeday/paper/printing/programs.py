"""A program of the print system run for a while: however long it hangs, and whatever it writes, nobody waits."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import threading
import time
from collections.abc import Sequence
from pathlib import Path

from dyeday.quick_dataclass import dataclass
from dyeday.text import harmless

MOST_SAID = 64 * 1024
"""bytes of an answer that are read; a program that writes more is stopped"""


@dataclass(frozen=True, slots=True)
class Answer:
    """What a program said, in one harmless line of at most 200 characters, and how it ended."""

    status: int | None
    """None: it did not end in time, or wrote without end"""
    said: str
    endless: bool = False


def run(command: Sequence[str], file: Path | None, until: float) -> Answer:
    """Run a program, its words in English, until a moment of the monotonic clock at the latest.

    ``file`` is what it reads from its standard input. Raises OSError where the program or the file cannot be opened.
    """
    words = {**os.environ, "LC_ALL": "C"}
    with contextlib.ExitStack() as stack:
        page = stack.enter_context(file.open("rb")) if file is not None else subprocess.DEVNULL
        process = subprocess.Popen(  # noqa: S603
            command, stdin=page, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, env=words, start_new_session=True
        )
    said = bytearray()
    endless = threading.Event()

    def listen() -> None:
        assert process.stdout is not None  # noqa: S101 - it was asked for
        with contextlib.suppress(OSError, ValueError), process.stdout:
            while part := os.read(process.stdout.fileno(), 4096):
                said.extend(part)
                if len(said) > MOST_SAID:
                    endless.set()
                    _end(process)
                    return

    # A child of the program may hold the pipe open for ever: so a thread listens, and none waits for it.
    listener = threading.Thread(target=listen, daemon=True)
    listener.start()
    status: int | None = None
    try:
        status = process.wait(max(0.05, until - time.monotonic()))
        listener.join(min(0.5, max(0.05, until - time.monotonic())))
    except subprocess.TimeoutExpired:
        _end(process)
    if endless.is_set():
        status = None
    text = harmless(bytes(said[:2000]).decode("utf-8", "replace"))
    return Answer(status, " ".join(text.split())[:200], endless.is_set())


def _end(process: subprocess.Popen[bytes]) -> None:
    """End a program and what it started."""
    with contextlib.suppress(OSError):
        os.killpg(process.pid, signal.SIGKILL)
    with contextlib.suppress(OSError):
        process.kill()
    with contextlib.suppress(subprocess.TimeoutExpired):
        process.wait(1)
