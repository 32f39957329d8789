"""A schedule that is possible may still be poor: bounds on how good they are, in counted evaluations."""

from __future__ import annotations

import json
from pathlib import Path
from statistics import mean

import pytest

from dyeday.ahead.kernel.search import solve
from tests.speed.ahead import gap_of
from tests.speed.case_format import problem_of

CASES = Path(__file__).parent / "cases"


def gaps(size: str, evaluations: int) -> list[float]:
    """Return percent of minutes behind the best known day, of each public case of a size."""
    cases = [json.loads(path.read_text(encoding="utf-8")) for path in sorted(CASES.glob(f"{size}-*.json"))]
    return [gap_of(case, 1, solve(problem_of(case, 1), 1, evaluations=evaluations)) for case in cases]


@pytest.mark.parametrize(
    ("size", "evaluations", "bound"), [("small", 60, 1.8), ("medium", 60, 3.4), ("large", 100, 1.8)]
)
def test_a_short_look_is_near_the_best_known_day(size: str, evaluations: int, bound: float) -> None:
    """Mean of the public cases: taking the wrong one of two free units fails this, on large days drawing no rules."""
    assert mean(gaps(size, evaluations)) <= bound
