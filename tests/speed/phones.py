"""What the page for phones costs the bench: four that watch, and fifty that try without the secret.

``python -m tests.speed.phones URL SECONDS`` is those fifty-four, each from an address of its own of this computer,
in a process of their own.
"""

from __future__ import annotations

import http.client
import re
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path
from urllib.parse import urlsplit

from dyeday.store.sessions import Sessions
from tests.speed.days import session_of
from tests.speed.measured import Line
from tests.speed.screens import BENCH_WORDS, p95, recorded_s
from tests.speed.terminal import Terminal, python

PHONES, TRYING = 4, 50
POLL_S, TRY_S = 0.75, 1.0
HOUR_S = 3600
PAIRS = 27


def main(url: str, seconds: float) -> None:
    """Let four watch and fifty try for ``seconds``; with 0, four ask as often as in an hour, one after the other."""
    until = time.monotonic() + seconds
    work = [threading.Thread(target=_phone, args=(url, n + 2, seconds, until)) for n in range(PHONES)]
    if seconds:
        work += [threading.Thread(target=_trying, args=(url, n + 1, until)) for n in range(TRYING)]
    for one in work:
        one.start()
    for one in work:
        one.join()


def _phone(url: str, n: int, seconds: float, until: float) -> None:
    place = urlsplit(url)
    line = http.client.HTTPConnection(place.hostname or "", place.port, 10, source_address=(f"127.0.0.{n}", 0))
    asked = 0
    while (time.monotonic() < until) if seconds else asked < HOUR_S / POLL_S:
        line.request("GET", f"{place.path}now")
        reply = line.getresponse()
        reply.read()
        assert reply.status == 200, reply.status
        asked += 1
        if seconds:
            time.sleep(POLL_S)


def _trying(url: str, n: int, until: float) -> None:
    place = urlsplit(url)
    while time.monotonic() < until:
        line = http.client.HTTPConnection(place.hostname or "", place.port, 10, source_address=(f"127.0.1.{n}", 0))
        try:
            line.request("GET", f"/{'x' * 22}/now")
            assert line.getresponse().status == 404
        except OSError:
            pass  # refused: one too many
        finally:
            line.close()
        time.sleep(TRY_S)


def watching(folder: Path) -> list[Line]:
    """A key with and without them, in turn; memory after an hour of four; an entry of another shell on it."""
    session = session_of(folder, 60, 60, 0)
    terminal = Terminal(python("dyeday", "--data", str(folder)))
    terminal.until(*BENCH_WORDS)
    terminal.idle(2.5)
    url = _page_on(terminal)
    subprocess.run(python("tests.speed.phones", url, "5"), check=True)
    before = terminal.idle(1.0).resident_kb / 1024
    subprocess.run(python("tests.speed.phones", url, "0"), check=True)
    after = terminal.idle(1.0).resident_kb / 1024
    crowd = subprocess.Popen(python("tests.speed.phones", url, "3600"))
    terminal.idle(4.0)
    times: dict[bool, list[float]] = {True: [], False: []}
    for n in range(1, 2 * PAIRS + 1):
        # Stopped in turn, so that whatever else the machine does meets both.
        with_them = n % 2 == 0
        crowd.send_signal(signal.SIGCONT if with_them else signal.SIGSTOP)
        terminal.idle(0.5)
        times[with_them].append(1000 * recorded_s(terminal, session.path, n))
        terminal.idle(0.4)
    crowd.kill()
    crowd.wait()
    delays_s = [_told_s(folder, session.about.id, url, n, terminal) for n in range(2 * PAIRS + 1, 2 * PAIRS + 6)]
    terminal.end()
    key = f"key to disk and screen, {PHONES} phones and {TRYING} that try"
    ours, floor = times[True], times[False]
    return [
        Line(key, "ms", tuple(ours), tuple(floor), 1.1, "without them"),
        Line(f"{key}, p95", "ms", (p95(ours),), (p95(floor),), 1.2, "without them"),
        Line("memory after an hour of four phones", "MB", (after,), (before,), 1.05, "before"),
        Line(
            "an entry of another shell on the page", "ms", tuple(delays_s), (2000.0,) * len(delays_s), 1.0, "allowed"
        ),
    ]


def _page_on(terminal: Terminal) -> str:
    """Switch the page on for this computer, and return its address as it stands on the screen."""
    for key in "Wc":
        terminal.forget()
        terminal.keys(key)
        terminal.idle(1.0)
    found = re.search(rb"http://127\.0\.0\.1:\d+/[\w-]+/", terminal.text)
    assert found, terminal.text[-2000:]
    terminal.keys("\x1b")
    terminal.idle(1.0)
    return found[0].decode()


def _told_s(folder: Path, session_id: str, url: str, n: int, terminal: Terminal) -> float:
    """Record a soak as another shell does; return the milliseconds until a phone, asking at its pace, has it."""
    from dyeday.store import clock
    from tests.typed_events import make

    place = urlsplit(url)
    other = Sessions(folder).open(session_id)
    other.add([make("moved", clock.now(), clock.new_id, batch=f"{n:02d}", to="soak", unit="tray 1")])
    began = time.perf_counter()
    while True:
        line = http.client.HTTPConnection(place.hostname or "", place.port, 10)
        line.request("GET", f"{place.path}now")
        said = line.getresponse().read().decode()
        line.close()
        if re.search(rf'"about": "{n:02d}"[^}}]*"what": "soak"', said):
            return 1000 * (time.perf_counter() - began)
        assert time.perf_counter() - began < 60, said
        terminal.idle(POLL_S)


if __name__ == "__main__":
    main(sys.argv[1], float(sys.argv[2]))
