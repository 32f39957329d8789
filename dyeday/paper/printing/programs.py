"""Programs of the print system, run with limits on their time and output."""

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
"""bytes of output; a program that writes more is ended"""


@dataclass(frozen=True, slots=True)
class Answer:
    """A program's exit status and output, the latter in one harmless line of at most 200 characters."""

    status: int | None
    """None if it did not end in time, or wrote too much"""
    output: str
    endless: bool = False


def run(command: Sequence[str], file: Path | None, until: float) -> Answer:
    """Run a program, with messages in English, until a moment of the monotonic clock at the latest.

    It reads ``file`` from its standard input. Raises OSError if the program or the file cannot be opened.
    """
    environment = {**os.environ, "LC_ALL": "C"}
    with contextlib.ExitStack() as stack:
        page = stack.enter_context(file.open("rb")) if file is not None else subprocess.DEVNULL
        process = subprocess.Popen(  # noqa: S603
            command,
            stdin=page,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            env=environment,
            start_new_session=True,
        )
    output = bytearray()
    endless = threading.Event()

    def listen() -> None:
        assert process.stdout is not None  # noqa: S101 - it was asked for
        with contextlib.suppress(OSError, ValueError), process.stdout:
            while part := os.read(process.stdout.fileno(), 4096):
                output.extend(part)
                if len(output) > MOST_SAID:
                    endless.set()
                    _end(process)
                    return

    # A child may keep the pipe open for ever: a thread reads it, and is waited for half a second at most.
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
    text = harmless(bytes(output[:2000]).decode("utf-8", "replace"))
    return Answer(status, " ".join(text.split())[:200], endless.is_set())


def _end(process: subprocess.Popen[bytes]) -> None:
    with contextlib.suppress(OSError):
        os.killpg(process.pid, signal.SIGKILL)
    with contextlib.suppress(OSError):
        process.kill()
    with contextlib.suppress(subprocess.TimeoutExpired):
        process.wait(1)
