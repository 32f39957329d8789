"""Every fault of the catalogue in its short form: each was really injected, and nothing was lost."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.fakes import ROOT
from tests.faults.commands import COMMANDS

TABLE = Path(__file__).parent / "TABLE.md"
pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="these faults are injected the Unix way")
KERNEL = ("killed by the kernel at its own calls", "its kernel calls failing once")
LONG_ONLY = {
    KERNEL[0],
    "the kernel's own calls fail once",
    *(f"{word}, {how}" for word in COMMANDS for how in KERNEL),
}
NEEDS_ROOT = ("a disk that is really full", "a disk that becomes read-only")


@pytest.fixture(scope="module")
def outcomes() -> list[dict[str, Any]]:
    """What the campaign tells, run once: a process of its own, for it forks and limits itself."""
    command = [sys.executable, "-m", "tests.faults", "--short", "--json"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.stdout, done.stderr
    found = json.loads(done.stdout)
    assert isinstance(found, list)
    return found


def test_nothing_is_lost_to_any_fault(outcomes: list[dict[str, Any]]) -> None:
    """None of what was confirmed, nothing damaged taken for good."""
    assert {one["name"]: one["lost"] for one in outcomes if one["lost"]} == {}


def test_every_fault_was_really_injected(outcomes: list[dict[str, Any]]) -> None:
    """A campaign that tries nothing loses nothing."""
    assert len(outcomes) >= 25
    untried = {one["name"] for one in outcomes if not one["tried"]}
    assert untried <= {*LONG_ONLY, *NEEDS_ROOT}


def test_the_table_has_every_fault_and_no_other(outcomes: list[dict[str, Any]]) -> None:
    """The table in the docs is of this catalogue; each row says how often, and that nothing was lost."""
    rows = [line.split(" | ") for line in TABLE.read_text(encoding="utf-8").splitlines() if line.startswith("| ")]
    by_fault = {row[0].removeprefix("| "): row for row in rows[2:]}
    assert list(by_fault) == [one["name"] for one in outcomes]
    assert {row[3] for row in by_fault.values()} == {"nothing"}
    assert all(int(row[2]) > 0 for row in by_fault.values())
