"""An interrupted afternoon in a real terminal of 80 x 24, by hand: ``python -m tests.bench.afternoon [FOLDER]``.

Needs tmux. Every stop leaves a picture of the pane as text in FOLDER, to be looked at, and is held against what
must stand there. It takes about four minutes, of which two are the absence.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from datetime import datetime
from pathlib import Path

from dyeday.store.sessions import Sessions
from tests.fakes import ROOT, SHORT_DAY

SOCKET = f"dyeday-afternoon-{os.getpid()}"
AWAY_S = 125
LONGEST_S = 30.0


def tmux(*words: str) -> str:
    """Run tmux on a socket of this script's own."""
    done = subprocess.run(["tmux", "-L", SOCKET, *words], check=False, capture_output=True, text=True)
    return done.stdout


class Afternoon:
    """The pane, and the pictures taken of it."""

    def __init__(self, folder: Path, data: Path) -> None:
        self.folder = folder
        self.data = data
        self.taken = 0
        folder.mkdir(parents=True, exist_ok=True)
        tmux("-f", os.devnull, "new-session", "-d", "-x", "80", "-y", "24", "env PS1='$ ' bash --norc -i")

    def dyeday(self, words: str) -> None:
        self.type(f"cd {ROOT} && {sys.executable} -m dyeday {words} --data {self.data}\n")

    def mark(self, *words: str) -> None:
        """Record something from another shell."""
        command = [sys.executable, "-m", "dyeday", "mark", *words, "--data", str(self.data)]
        subprocess.run(command, check=True, cwd=ROOT, capture_output=True)

    def keys(self, *keys: str, pause_s: float = 0.7) -> None:
        """Press keys as a hand does, one after the other."""
        for key in keys:
            tmux("send-keys", key)
            time.sleep(pause_s)

    def type(self, text: str) -> None:
        tmux("send-keys", "-l", text)

    def sees(self, name: str, *wanted: str, longest_s: float = LONGEST_S) -> str:
        """Wait until all of ``wanted`` stand in the pane, then keep a picture called ``name``."""
        deadline = time.monotonic() + longest_s
        shown = tmux("capture-pane", "-p")
        while not all(word in shown for word in wanted) and time.monotonic() < deadline:
            time.sleep(0.2)
            shown = tmux("capture-pane", "-p")
        self.taken += 1
        (self.folder / f"{self.taken:02d}-{name}.txt").write_text(shown, encoding="utf-8")
        missing = [word for word in wanted if word not in shown]
        if missing:
            raise SystemExit(f"{name}: {missing} not seen\n{shown}")
        print(f"{self.taken:02d} {name}")
        return shown


def play(day: Afternoon) -> None:
    """Play it."""
    plan = day.data / "afternoon.toml"
    today = f"{datetime.now().astimezone():%Y-%m-%d}"
    plan.write_text(SHORT_DAY.read_text(encoding="utf-8").replace("2026-03-14", today), encoding="utf-8")
    day.dyeday(f"open {plan}")
    day.sees("opened", "Kelp Light", "[?] keys")
    day.keys("0", "1", "Space", "Enter")
    day.sees("first-soak", "recorded: 01 to soak")
    day.keys("0", "4", "m", "3", "b")
    day.type("58")
    day.keys("Enter", "Space", "Enter")
    day.sees("heat-forgotten", "steamer 1 has run", "1 alarm")
    day.keys("0", "1", "r", "p")
    day.type("4.")
    day.sees("called-away", "understood: pH 4")
    day.keys("Escape")
    day.keys(*"qwertyuiopas", pause_s=0.0)
    day.sees("mashed", "KEYS LOCKED since", "(too many keys at once)")
    day.mark("02", "soak", "--unit", "tray 2")
    time.sleep(AWAY_S)
    day.sees("guard-still-there", "KEYS LOCKED since", "steamer 1")
    day.keys(*"skein", "Enter", pause_s=0.3)
    day.sees("guard-off", "While the keys were locked", "02 to soak in tray 2")
    day.keys("Escape")
    day.keys("v")
    day.sees("far-view", "[v] back")
    day.keys("v", "a")
    day.sees("silenced", "silenced")
    tmux("resize-window", "-x", "10", "-y", "3")
    time.sleep(2)
    day.sees("ten-by-three", "04")
    tmux("resize-window", "-x", "80", "-y", "24")
    day.sees("back-at-80", "Kelp Light", "[?] keys")
    day.keys("0", "1", "r", "p")
    day.sees("half-typed-before", "half typed before", "4.")
    day.type("6")
    day.keys("Enter")
    day.sees("ph-read", "pH 4.6")
    day.keys("C-z")
    day.sees("in-the-shell", "$ ")
    time.sleep(5)
    day.type("fg\n")
    day.sees("back-from-the-shell", "Kelp Light", "[?] keys")
    day.keys("0", "4", "Space", "Enter")
    day.sees("heat-off", "recorded: 04")
    pid = tmux("display-message", "-p", "#{pane_pid}").strip()
    children = subprocess.run(["pgrep", "-P", pid], check=True, capture_output=True, text=True).stdout.split()
    os.kill(int(children[0]), 9)
    day.type("\nreset\n")
    time.sleep(2)
    day.dyeday("")
    day.sees("opened-again-after-a-kill", "Kelp Light", "cool", "[?] keys")
    os.kill(int(_bench_of(pid)), 15)
    day.sees("ended-in-order", "$ ")
    session = Sessions(day.data).newest(unfinished=True)
    kinds = [event.body.NAME for event in session.events] if session is not None else []
    print(", ".join(kinds))


def _bench_of(shell: str) -> str:
    found = subprocess.run(["pgrep", "-P", shell], check=True, capture_output=True, text=True)
    return found.stdout.split()[-1]


def main() -> None:
    """Play the afternoon and say where its pictures are."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(tempfile.mkdtemp(prefix="afternoon-"))
    with tempfile.TemporaryDirectory() as data:
        try:
            play(Afternoon(folder, Path(data)))
        finally:
            tmux("kill-server")
    print(f"pictures in {folder}")


if __name__ == "__main__":
    main()
