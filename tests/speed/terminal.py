"""A program in a pseudo terminal, watched from outside: when words came, what processor time and bytes it took."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import signal
import struct
import sys
import termios
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
ESCAPES = re.compile(rb"\x1b\[[0-?]*[ -/]*[@-~]|\x1b\][^\x07\x1b]*(?:\x07|\x1b\\)|\x1b[@-Z\\^_=>()][0-9A-B]?")
PATIENCE_S = 60.0


def plain_env() -> dict[str, str]:
    """Return the environment of a plain install, where modules are compiled once and nothing of a test is set."""
    unwanted = ("NO_COLOR", "DYEDAY_DATA", "PYTHONDONTWRITEBYTECODE")
    return {name: value for name, value in os.environ.items() if name not in unwanted}


PYTHON = [sys.executable]
"""the Python that runs what is measured, ours and the floor alike"""


def python(*args: str) -> list[str]:
    """Return the command line that runs `PYTHON` on a module with arguments."""
    return [PYTHON[0], "-m", *args]


@dataclass(frozen=True, slots=True)
class Taken:
    """What a program took up to a moment: seconds of wall clock and of processor, bytes sent, resident kB."""

    wall_s: float
    cpu_s: float
    sent_bytes: int
    resident_kb: int
    screen_cpu_s: float = 0.0
    """of it by the thread that answers keys and draws"""


class Terminal:
    """Runs ``command`` at once in a terminal of ``columns`` × ``rows``. Linux only: it reads /proc."""

    def __init__(
        self, command: Sequence[str], columns: int = 80, rows: int = 24, env: Mapping[str, str] | None = None
    ) -> None:
        kept = plain_env() | {"TERM": "xterm-256color", "COLORTERM": "truecolor", **(env or {})}
        self.text = b""
        self.sent = 0
        self.began = time.perf_counter()
        self.pid, self.handle = pty.fork()
        if self.pid == 0:
            # Before anything of the program looks at its size.
            fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
            os.chdir(ROOT)
            os.execvpe(command[0], list(command), kept)  # noqa: S606 - no shell is wanted

    def _read(self, wait_s: float) -> bytes:
        ready, _, _ = select.select([self.handle], [], [], wait_s)
        if not ready:
            return b""
        try:
            got = os.read(self.handle, 65536)
        except OSError:
            got = b""
        if not got:
            raise EOFError(f"the program ended; it had shown:\n{self.plain()[-2000:]}")
        self.sent += len(got)
        self.text = (self.text + got)[-400_000:]
        return got

    def plain(self) -> str:
        """Return what was sent, without escape sequences."""
        return ESCAPES.sub(b" ", self.text).decode(errors="replace")

    def forget(self) -> None:
        """Forget what was shown so far: what is waited for next must be shown again."""
        self.text = b""

    def until(self, *words: str) -> Taken:
        """Wait until every one of ``words`` was sent; return what had been taken by then."""
        end = time.perf_counter() + PATIENCE_S
        while True:
            if self._read(0.5):
                at = time.perf_counter()
                shown = self.plain()
                if all(word in shown for word in words):
                    return self._taken(at)
            if time.perf_counter() > end:
                raise TimeoutError(f"{words} did not come; shown:\n{self.plain()[-3000:]}")

    def idle(self, seconds: float) -> Taken:
        """Let it run for some seconds; return what it took in them."""
        before = self._taken(time.perf_counter())
        end = before.wall_s + self.began + seconds
        while (left := end - time.perf_counter()) > 0:
            self._read(left)
        after = self._taken(time.perf_counter())
        return Taken(
            after.wall_s - before.wall_s,
            after.cpu_s - before.cpu_s,
            after.sent_bytes - before.sent_bytes,
            after.resident_kb,
        )

    def _taken(self, at: float) -> Taken:
        spent = 0
        for task in Path(f"/proc/{self.pid}/task").iterdir():
            spent += int((task / "schedstat").read_text().split()[0])
        about = Path(f"/proc/{self.pid}/status").read_text()
        found = re.search(r"VmRSS:\s+(\d+)", about)
        own = int(Path(f"/proc/{self.pid}/schedstat").read_text().split()[0])
        return Taken(at - self.began, spent / 1e9, self.sent, int(found[1]) if found else 0, own / 1e9)

    def taken(self) -> Taken:
        """Return what it has taken so far."""
        return self._taken(time.perf_counter())

    def keys(self, text: str) -> float:
        """Press keys; return the moment just before."""
        at = time.perf_counter()
        os.write(self.handle, text.encode())
        return at

    def end(self) -> None:
        """Kill the program."""
        os.kill(self.pid, signal.SIGKILL)
        os.close(self.handle)
        os.waitpid(self.pid, 0)
