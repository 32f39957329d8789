"""A bench in a pseudo-terminal under random keys, bytes, pastes, window sizes and signals, by seeds.

`python -m tests.faults --only "random keys" --keys-seconds 3600` tries for an hour.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import pty
import random
import select
import shutil
import signal
import struct
import sys
import termios
import time
from pathlib import Path

from dyeday.bench.input.bench_keys import WORD
from dyeday.store import clock
from dyeday.store.sessions import Sessions
from dyeday.track.folding.fold import fold
from tests.fakes import HEAVY_DAY, ROOT, SHORT_DAY
from tests.faults.catalogue import Outcome, fault
from tests.typed_events import make

SECONDS = {"long": 60.0, "short": 6.0}
LETTERS = "0123456789abcdefghijklmnopqrstuvwxyzACHIORQ ?./+-"
SEQUENCES = ("A", "B", "C", "D", "5~", "6~", "Z", "1;5A", "200~", "201~", "99999999999999999999u", "<0;1;1M", "?1;2c",
             "I", "O")  # fmt: skip
KEYS = [*(key.encode() for key in LETTERS), b"\r", b"\r", b" ", b"\x1b", b"\t", b"\x7f", b"\x03", b"\x11", b"\x1a",
        b"\x1c", *(f"\x1b[{end}".encode() for end in SEQUENCES)]  # fmt: skip
PASTED = ("02:30B", "4.6", "9" * 400, "red \u202egnitniap\u202c", "\u200b\u200f", "e\u0301" * 90, "染 ✓ 🧶", "\ud7ff",
          "a\nb\nq\ny\n", "", "\x00\x07\x9b31m", "03a=3 03b=2")  # fmt: skip
ENDING = (signal.SIGTERM, signal.SIGHUP, signal.SIGQUIT, signal.SIGKILL)
PASSING = (signal.SIGWINCH, signal.SIGCONT)
LONGEST_END_S, BUSY = 20.0, 10
LEFT = b"\x1b[?1049l"
ON_SCREEN = b"\x1b[1;1H"
"""the first frame goes to the corner"""


class Typist:
    """One run of `dyeday` in a terminal of its own, typed at by chance until it ends or is ended."""

    def __init__(self, data: Path, chance: random.Random, words: list[str]) -> None:
        self.chance = chance
        self.said = b""
        self.sent = 0
        self.killed = False
        env = {**os.environ, "DYEDAY_DATA": str(data), "TERM": "xterm-256color", "PYTHONPATH": str(ROOT)}
        env |= {f"XDG_{name}_HOME": str(data / "home" / name.lower()) for name in ("CONFIG", "STATE")}
        env["PYTHONFAULTHANDLER"] = "1"  # SIGABRT shows where one is that does not end
        self.pid, self.terminal = pty.fork()
        if self.pid == 0:
            os.chdir(ROOT)
            os.execve(sys.executable, [sys.executable, "-m", "dyeday", *words], env)  # noqa: S606 - no shell
        self.size(80, 24)

    def size(self, columns: int, rows: int) -> None:
        with contextlib.suppress(OSError):
            fcntl.ioctl(self.terminal, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def read(self, seconds: float) -> bool:
        """Take what is shown for so long; tell whether the terminal is still open."""
        until = time.monotonic() + seconds
        while (left := until - time.monotonic()) > 0:
            if select.select([self.terminal], [], [], left)[0]:
                try:
                    data = os.read(self.terminal, 1 << 16)
                except OSError:
                    return False
                if not data:
                    return False
                self.said = (self.said + data)[-200_000:]
        return True

    def wait_for_screen(self) -> None:
        """Wait until the keys are the bench's: before, the terminal itself ends a program at ctrl+c."""
        until = time.monotonic() + LONGEST_END_S
        while ON_SCREEN not in self.said and time.monotonic() < until and self.read(0.05):
            pass

    def send(self, data: bytes) -> None:
        self.sent += 1
        with contextlib.suppress(OSError):
            os.write(self.terminal, data[:900])

    def act(self) -> None:
        """Do one thing by chance."""
        chance = self.chance
        match chance.choices(("key", "word", "mash", "bytes", "paste", "size", "signal", "end"),
                             (60, 4, 4, 8, 7, 9, 3, 0.7))[0]:  # fmt: skip
            case "key":
                self.send(chance.choice(KEYS))
            case "word":
                self.send(WORD.encode() + b"\r")
            case "mash":
                for _ in range(chance.randint(5, 40)):
                    self.send(chance.choice(KEYS))
            case "bytes":
                self.send(chance.randbytes(chance.randint(1, 24)))
            case "paste":
                text = chance.choice(PASTED).encode("utf-8", "replace")
                self.send(b"\x1b[200~" + text + b"\x1b[201~")
            case "size":
                narrow = chance.random() < 0.4
                self.size(chance.randint(1, 3 if narrow else 200), chance.randint(1, 60))
            case "signal":
                os.kill(self.pid, chance.choice(PASSING))
            case _:
                self.end(chance.choice(ENDING))

    def end(self, number: signal.Signals) -> None:
        """Send a signal that ends it, also where ctrl+z had stopped it before or after the bench had the keys."""
        self.killed |= number == signal.SIGKILL
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.pid, number)
            os.kill(self.pid, signal.SIGCONT)

    def stat(self) -> list[str]:
        """Return its fields of /proc from the state on, none where that is not known."""
        try:
            return Path(f"/proc/{self.pid}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()
        except OSError:
            return []

    def cpu_s(self) -> float:
        """Return the processor time it has had, 0 where that is not known."""
        return sum(map(int, self.stat()[11:13])) / os.sysconf("SC_CLK_TCK")

    def ended(self) -> int | None:
        """Return the exit status, negative for a signal, None where it did not end in time.

        A busy machine may give it hardly any processor time: then it may take `BUSY` times as long.
        """
        until, had = time.monotonic() + LONGEST_END_S, self.cpu_s()
        status = None
        while status is None and time.monotonic() < until + (
            (BUSY - 1) * LONGEST_END_S if 0 < self.cpu_s() - had < LONGEST_END_S / 4 else 0
        ):
            self.read(0.05)
            if self.stat()[:1] == ["T"]:  # at a ctrl+z typed before, taken since
                os.kill(self.pid, signal.SIGCONT)
            done, code = os.waitpid(self.pid, os.WNOHANG)
            status = os.waitstatus_to_exitcode(code) if done else None
        if status is None:
            os.kill(self.pid, signal.SIGABRT)
            self.read(1.0)
            os.kill(self.pid, signal.SIGKILL)
            os.waitpid(self.pid, 0)
        self.read(0.05)
        os.close(self.terminal)
        return status


def _record(data: Path) -> dict[str, list[str]]:
    """Return the ids of all entries by session, each file read and lived through."""
    sessions = Sessions(data)
    found = {}
    for name in sessions.ids():
        session = sessions.open(name)
        fold(session.plan, session.events)
        found[name] = [event.id for event in session.events]
    return found


def _entry_of_another_shell(data: Path) -> None:
    """Put an entry on record beside the bench: what mashed keys would record is mostly kept out by the key lock."""
    session = Sessions(data).newest(unfinished=True)
    if session is not None:
        session.add([make("note", clock.now(), clock.new_id, note="of another shell")])


@fault("random keys, bytes, pastes, window sizes and signals", "a pseudo-terminal, by seeds; the bench begun again")
def typed_at(folder: Path, long: bool) -> Outcome:
    """No traceback, no bench that hangs, no entry gone that was on record once."""
    over = time.monotonic() + SECONDS["long" if long else "short"]
    plans = [Path(shutil.copy(plan, folder)) for plan in (SHORT_DAY, HEAVY_DAY)]
    before: dict[str, list[str]] = {}
    sent = lost = runs = seed = 0
    while time.monotonic() < over:
        seed += 1
        chance = random.Random(seed)  # noqa: S311 - chance that repeats
        words = chance.choice((["open", str(chance.choice(plans))], [], ["orders", "--into", str(plans[0])]))
        typist = Typist(folder / "data", chance, words)
        runs += 1
        typist.wait_for_screen()
        _entry_of_another_shell(folder / "data")
        lasts = min(over, time.monotonic() + 25)
        while time.monotonic() < lasts and typist.read(chance.choice((0.01, 0.05, 0.35))):
            typist.act()
        typist.size(80, 24)
        typist.end(signal.SIGTERM)
        status = typist.ended()
        sent += typist.sent
        now = _record(folder / "data")
        gone = [name for name, ids in before.items() if now.get(name, [])[: len(ids)] != ids]
        fine = status == 0 or (typist.killed and status == -signal.SIGKILL)
        # Once the screen is left, ctrl+c, ctrl+\\ and signals are the terminal's again, and end what is left of it.
        fine |= LEFT in typist.said and status in (130, -signal.SIGINT, *(-number for number in ENDING))
        if gone or not fine or b"Traceback" in typist.said:
            lost += 1
            print(f"seed {seed} {words}: ended {status}, gone {gone}: {typist.said[-2000:]!r}", file=sys.stderr)
            for crash in (folder / "data" / "home").rglob("crash.txt"):
                print(crash.read_text(encoding="utf-8"), file=sys.stderr)
                crash.unlink()
        before = now
    entries = sum(map(len, before.values()))
    assert entries or not long
    return Outcome(sent, lost, "no traceback, nothing lost, no bench that would not end")
