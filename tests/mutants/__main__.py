"""`python -m tests.mutants`: change the code a little, many times, and see whether a test notices.

A seeded sample of `--count` mutants over the modules of `WATCHED`; each runs in a copy of the project in a temporary
folder, with the tests that belong to its module and nothing else, none of which needs an outside library.
Survivors are listed with the reason in
`reasons.py` where one stands there. Exits 1 below `--least` percent killed. Not part of the ordinary run.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from queue import Empty, Queue

from tests.mutants.mutate import Mutant, count, mutant
from tests.mutants.reasons import REASONS

ROOT = Path(__file__).resolve().parents[2]
COPIED = ("dyeday", "tests", "examples", "pyproject.toml", "README.md", "DEVELOPERS.md")

WATCHED: dict[str, tuple[tuple[str, ...], ...]] = {
    "dyeday/craft/**/*.py": (
        ("tests/craft/test_check_values.py",),
        ("tests/craft",),
        ("tests/plan", "tests/cli/test_amounts.py"),
    ),
    "dyeday/track/flags/*.py": (("tests/track/test_flags_*.py",), ("tests/track",)),
    "dyeday/track/day/fold.py": (("tests/track/test_fold.py",), ("tests/track",)),
    "dyeday/track/day/apply.py": (("tests/track/test_fold.py",), ("tests/track",)),
    "dyeday/track/timers/clocks.py": (("tests/track/test_clocks.py",), ("tests/track",)),
    "dyeday/track/timers/alarm_states.py": (("tests/track/test_alarms.py",), ("tests/track",)),
    "dyeday/plan/weigh_out.py": (("tests/cli/test_amounts.py",), ("tests/plan", "tests/paper/test_sheets.py")),
    "dyeday/plan/doses.py": (("tests/cli/test_amounts.py",), ("tests/track/test_flags_*.py", "tests/plan")),
    "dyeday/ahead/**/decode.py": (("tests/ahead",),),
    "dyeday/files/durable.py": (("tests/store",), ("tests/faults", "tests/cli/test_safety.py")),
    "dyeday/paper/sheets/day_summary.py": (("tests/paper/test_summary.py",), ("tests/paper/test_sheets.py",)),
}
"""Modules to the tests that should notice, nearest first."""

NOT_RUN = ("tests/craft/test_constants_have_sources.py",)
"""Tests of how the code is written, which notice any change at all."""

LIMIT_S = 180.0
"""A mutant that runs longer than this hangs, which is noticed too."""


@dataclass(frozen=True, slots=True)
class Tried:
    """A mutant, and what became of it."""

    path: str
    made: Mutant
    killed_by: str
    """The test that failed, "it hangs", or nothing: it survived."""

    @property
    def reason(self) -> str:
        """Why a survivor is no hole in the tests, where that is known."""
        return REASONS.get((Path(self.path).name, self.made.function, self.made.change), "")

    def __str__(self) -> str:
        where = f"{self.path}:{self.made.line} {self.made.function or 'module'}"
        end = f"killed by {self.killed_by}" if self.killed_by else f"SURVIVED {self.reason}".rstrip()
        return f"{where}: {self.made.change}: {end}"


def sample(seed: int, number: int, only: str = "") -> list[tuple[str, int, tuple[tuple[str, ...], ...]]]:
    """(path, number of the mutant, tests) of so many mutants, every place in the code as likely as any other."""
    pool = []
    for pattern, tests in WATCHED.items():
        for file in sorted(ROOT.glob(pattern)):
            path = file.relative_to(ROOT).as_posix()
            if only in path:
                pool += [(path, n, tests) for n in range(count(file.read_text(encoding="utf-8")))]
    return random.Random(seed).sample(pool, min(number, len(pool)))  # noqa: S311 - a sample, not a secret


def try_one(folder: Path, path: str, number: int, tests: tuple[tuple[str, ...], ...]) -> Tried:
    """Run a mutant's tests in a copy of the project, and put the copy right again."""
    file = folder / path
    code = file.read_text(encoding="utf-8")
    made = mutant(code, number)
    file.write_text(made.code, encoding="utf-8")
    try:
        for nearest in tests:
            killed_by = _run(folder, nearest)
            if killed_by:
                return Tried(path, made, killed_by)
        return Tried(path, made, "")
    finally:
        file.write_text(code, encoding="utf-8")


def _run(folder: Path, tests: Iterable[str]) -> str:
    files = [str(found) for pattern in tests for found in sorted(folder.glob(pattern))]
    # A mutant may be killed by a draw of chance; the same draws every time make a run that can be run again.
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "--tb=no", "-m", "not reference"]
    command += [*(f"--ignore={name}" for name in NOT_RUN), *files]
    environment = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1", "PYTHONPATH": str(folder), "PYTHONHASHSEED": "0"}
    try:
        done = subprocess.run(
            command, cwd=folder, env=environment, capture_output=True, text=True, timeout=LIMIT_S, check=False
        )
    except subprocess.TimeoutExpired:
        return "it hangs"
    if done.returncode == 0:
        return ""
    failed = [line.split()[1] for line in done.stdout.splitlines() if line.startswith(("FAILED", "ERROR"))]
    return failed[0] if failed else f"exit {done.returncode}"


def main() -> int:
    asked = argparse.ArgumentParser(prog="python -m tests.mutants", description=__doc__)
    asked.add_argument("--count", type=int, default=300)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--jobs", type=int, default=2)
    asked.add_argument("--only", default="", help="part of a module's path")
    asked.add_argument("--least", type=float, default=92.0, help="percent that must be killed")
    args = asked.parse_args()
    todo: Queue[tuple[str, int, tuple[tuple[str, ...], ...]]] = Queue()
    for one in sample(args.seed, args.count, args.only):
        todo.put(one)
    tried: list[Tried] = []
    with tempfile.TemporaryDirectory(prefix="mutants-") as temporary:

        def work(number: int) -> None:
            folder = Path(temporary) / str(number)
            for name in COPIED:
                source = ROOT / name
                if source.is_dir():
                    shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
                else:
                    folder.mkdir(exist_ok=True)
                    shutil.copy(source, folder / name)
            while True:
                try:
                    path, which, tests = todo.get_nowait()
                except Empty:
                    return
                found = try_one(folder, path, which, tests)
                tried.append(found)
                print(found, flush=True)

        workers = [threading.Thread(target=work, args=(number,)) for number in range(args.jobs)]
        for worker in workers:
            worker.start()
        for worker in workers:
            worker.join()
    survivors = sorted((one for one in tried if not one.killed_by), key=lambda one: (one.path, one.made.line))
    killed = len(tried) - len(survivors)
    share = 100 * killed / len(tried) if tried else 0.0
    print(f"\n{killed} of {len(tried)} killed, {share:.1f} %; survivors:")
    print(*survivors, sep="\n")
    return int(share < args.least)


if __name__ == "__main__":
    sys.exit(main())
