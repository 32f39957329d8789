"""Faults injected below Python, by strace: the kernel's own calls killed or failed, one after the other.

Only in the long form, and only where strace is there and may trace; without it the fault is reported as not tried.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

from tests.fakes import ROOT
from tests.faults.calls import calls_between
from tests.faults.catalogue import Outcome, fault
from tests.faults.script import ENTRIES, again, is_as_the_model, started

BEFORE = 10
CALLS = ("openat", "write", "fsync", "rename", "link", "linkat", "unlink", "fchmod", "flock")
ERRORS = (("write", "ENOSPC"), ("rename", "ENOSPC"), ("openat", "ENOSPC"), ("fsync", "EIO"), ("write", "EIO"),
          ("openat", "EMFILE"), ("rename", "EROFS"))  # fmt: skip
ENTRY = f"""
import os, sys
from pathlib import Path
from dyeday.files.durable import StoreError
from tests.faults.script import ENTRIES, again
session = again(Path(sys.argv[1]))
os.write(1, b"go\\n")
for _ in range(3):
    try:
        session.add(ENTRIES[{BEFORE}:{BEFORE + 1}])
    except StoreError:
        os.write(1, b"refused\\n")
    else:
        os.write(1, b"done\\n")
        break
"""


class Traced:
    """One shell that puts the eleventh entry on record, under strace."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.strace = shutil.which("strace") or ""
        self.ready = folder / "ready"
        started(self.ready, BEFORE)
        self.log = folder / "strace.log"

    def run(self, *how: str) -> list[str]:
        """Put the entry on record in a fresh copy of the folder; return what the shell confirmed."""
        shutil.rmtree(self.folder / "now", ignore_errors=True)
        shutil.copytree(self.ready, self.folder / "now")
        env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONHASHSEED": "0", "PYTHONDONTWRITEBYTECODE": "1"}
        tracing = f"trace={','.join(CALLS)}"
        command = [self.strace, "-f", "--seccomp-bpf", "-o", str(self.log), "-e", tracing, *how]
        command += [sys.executable, "-c", ENTRY, str(self.folder / "now")]
        done = subprocess.run(command, capture_output=True, cwd=ROOT, env=env, timeout=60, check=False)
        return done.stdout.decode().split()

    def counted(self) -> dict[str, range]:
        """Return, by call, which of its calls are the entry's: those between the words go and done."""
        return calls_between(self.log, CALLS) if self.run() == ["go", "done"] else {}


def _tried(folder: Path, ways: list[tuple[str, str]]) -> Outcome:
    traced = Traced(folder)
    found = traced.counted() if traced.strace else {}
    if not found:
        return Outcome(0, 0, "", "not tried: no strace here that may trace")
    tried = lost = shown = 0
    for call, what in ways:
        for number in found[call]:
            words = traced.run("-e", f"inject={call}:{what}:when={number}")
            tried += 1
            session = again(folder / "now")
            count = len(session.events)
            lost += not is_as_the_model(session) or count not in (BEFORE, BEFORE + 1)
            lost += "done" in words and count == BEFORE
            shown += "refused" in words
            if what.startswith("error"):
                lost += "done" not in words  # it is saved by the next try, from memory
            session.add(ENTRIES[count : count + 1])
            assert is_as_the_model(again(folder / "now"))
    after = f"; shown {shown} times, then saved" if shown else ""
    return Outcome(tried, lost, f"the day before or after the entry{after}")


@fault("killed by the kernel at its own calls", "strace: SIGKILL at each open, write, fsync, rename, link … in turn")
def kernel_kills(folder: Path, long: bool) -> Outcome:
    """The same as above, without anything of Python between."""
    if not long:
        return Outcome(0, 0, "", "in the long form only")
    return _tried(folder, [(call, "signal=SIGKILL") for call in CALLS])


@fault("the kernel's own calls fail once", "strace: ENOSPC, EIO, EROFS or EMFILE from each of them in turn")
def kernel_errors(folder: Path, long: bool) -> Outcome:
    """Shown as not saved, and saved from memory at the next try."""
    if not long:
        return Outcome(0, 0, "", "in the long form only")
    return _tried(folder, [(call, f"error={error}") for call, error in ERRORS])
