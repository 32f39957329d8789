"""`python -m tests.mutants`: change the code a little, many times, and see whether a test notices.

A seeded sample of `--count` changes over the modules of `WATCHED`; tests against outside libraries take part where
those are installed.
Each runs in a fork of one pytest session (`forked.py`), with the tests that call the changed function or a reader of
the changed constant, nearest and quickest first. What a fork cannot put in place (`placing.py`) is not drawn.
Survivors are listed, with the reason in `reasons.py` where no test can notice the change. Exits 1 where less than
`--least` percent of those that can be noticed are killed, or a reason's change is no longer in the code.
The latest figures are in `README.md` beside this.
Not part of the ordinary run; needs `fork`.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import random
import sys
from collections.abc import Iterable
from itertools import islice
from pathlib import Path

import pytest

from tests.mutants.forked import Forked, Found, Wanted
from tests.mutants.mutate import changes, count, mutant
from tests.mutants.reasons import REASONS

ROOT = Path(__file__).resolve().parents[2]

WATCHED: dict[str, tuple[str, ...]] = {
    "dyeday/craft/**/*.py": (
        "tests/craft",
        "tests/plan/test_doses.py",
        "tests/plan/test_weigh.py",
        "tests/plan/test_problems.py",
        "tests/track/test_rates.py",
    ),
    "dyeday/track/flags/*.py": ("tests/track/test_flags_*.py", "tests/track"),
    "dyeday/track/folding/fold.py": ("tests/track",),
    "dyeday/track/day/transitions.py": ("tests/track",),
    "dyeday/track/timers/timers.py": ("tests/track",),
    "dyeday/track/timers/alarm_states.py": ("tests/track",),
    "dyeday/plan/weigh_out*.py": ("tests/plan", "tests/cli/test_amounts.py", "tests/paper/test_sheets.py"),
    "dyeday/plan/doses.py": ("tests/plan", "tests/cli/test_amounts.py", "tests/track"),
    "dyeday/ahead/**/decode.py": (
        "tests/ahead/test_decode.py",
        "tests/ahead/test_schedules.py",
        "tests/ahead/test_together.py",
        "tests/ahead/test_hindrances.py",
        "tests/ahead/test_answers.py",
        "tests/ahead/test_never_worse.py",
    ),
    "dyeday/files/durable.py": ("tests/files", "tests/store", "tests/cli/test_safety.py"),
    "dyeday/paper/sheets/day_summary.py": ("tests/paper/test_summary.py", "tests/paper/test_sheets.py"),
}
"""Modules to the tests that should notice, nearest first."""

NOT_RUN = ("tests/craft/test_constants_have_sources.py", "tests/craft/test_no_dead_arithmetic.py")
"""Tests of how the code is written, which notice any change at all."""


def sample(seed: int, number: int, only: str = "") -> list[Wanted]:
    """So many changes, every place in the code as likely as any other; an edited module leaves the others' draws."""
    pool = []
    for pattern, tests in WATCHED.items():
        for file in sorted(ROOT.glob(pattern)):
            path = file.relative_to(ROOT).as_posix()
            near = tuple(found.relative_to(ROOT).as_posix() for name in tests for found in sorted(ROOT.glob(name)))
            pool += [(path, n, near) for n in range(count(file.read_text(encoding="utf-8")))]
    pool.sort(key=lambda one: random.Random(f"{seed} {one[0]} {one[1]}").random())  # noqa: S311 - no secret
    drawn = (Wanted(path, mutant((ROOT / path).read_text(encoding="utf-8"), n), tests) for path, n, tests in pool)
    return [one for one in islice((one for one in drawn if one.placed is not None), number) if only in one.path]


def arguments(tests: Iterable[str]) -> list[str]:
    """What pytest is called with."""
    ignored = [f"--ignore={ROOT / name}" for name in NOT_RUN]
    files = [str(ROOT / name) for name in dict.fromkeys(tests)]
    return ["-x", "-q", "-p", "no:cacheprovider", "--tb=no", *ignored, *files]


def reason(found: Found) -> str:
    """Why no test can notice a change; nothing where one can."""
    change = found.wanted.mutant
    return REASONS.get((Path(found.wanted.path).name, change.function or "module", change.change), "")


def idle() -> list[tuple[str, str, str]]:
    """Reasons for a change that the code has no place for any more."""
    files = [file for pattern in WATCHED for file in ROOT.glob(pattern)]
    possible = {
        (file.name, function or "module", change)
        for file in files
        for function, change in changes(file.read_text(encoding="utf-8"))
    }
    return sorted(set(REASONS) - possible)


def result_line(found: Found) -> str:
    """One change and its end, on a line."""
    change = found.wanted.mutant
    end = f"killed by {found.killed_by}" if found.killed_by else f"SURVIVED {reason(found)}".rstrip()
    return f"{found.wanted.path}:{change.line} {change.function or 'module'}: {change.change}: {end}"


def main() -> int:
    asked = argparse.ArgumentParser(prog="python -m tests.mutants", description=__doc__)
    asked.add_argument("--count", type=int, default=300)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--only", default="", help="of the sample, those whose module has this in its path")
    asked.add_argument(
        "--least", type=float, default=92.0, help="percent that must be killed, of those that can be noticed"
    )
    asked.add_argument("--kept", type=Path, help="a file that keeps which test calls what, for the next run")
    args = asked.parse_args()
    wanted = sample(args.seed, args.count, args.only)
    found: list[Found] = []
    with contextlib.ExitStack() as stack:
        terminal = stack.enter_context(os.fdopen(os.dup(1), "w", buffering=1))

        def tell(one: Found) -> None:
            found.append(one)
            print(result_line(one), file=terminal, flush=True)

        tests = [name for one in wanted for name in one.tests]
        pytest.main(["-s", *arguments(tests)], plugins=[Forked(wanted, tell, args.kept)])  # leaves no stdout
        survivors = [one for one in found if not one.killed_by]
        killed = len(found) - len(survivors)
        noticeable = killed + sum(not reason(one) for one in survivors)
        of_all, share = (100 * killed / most if most else 0.0 for most in (len(found), noticeable))
        print(
            f"\n{killed} of {len(found)} killed, {of_all:.1f} %; "
            f"of the {noticeable} that can be noticed {share:.1f} %; survivors:",
            *sorted(map(result_line, survivors)),
            *(f"a reason without its change: {one}" for one in idle()),
            sep="\n",
            file=terminal,
        )
    return int(share < args.least or len(found) < len(wanted) or bool(idle()))


if __name__ == "__main__":
    sys.exit(main())
