"""How late a step may begin: every step at its latest is still a day that the checker finds nothing against."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.ahead.kernel.latest_starts import latest_starts
from dyeday.ahead.kernel.problem import Problem, Row
from dyeday.ahead.kernel.search import solve
from tests.ahead.checker import end_of_hands, too_late, violations
from tests.ahead.days import random_problem
from tests.ahead.test_schedules import CASES, read
from tests.speed.case_format import problem_of


def as_late_as_may_be(problem: Problem, rows: tuple[Row, ...]) -> list[Row]:
    """Put every attended step at its latest start; what follows of itself follows, what lasts till the next does."""
    latest = latest_starts(problem, rows)
    out: list[Row] = []
    for batch in problem.batches:
        mine = [row for row in rows if row.batch == batch.id]
        steps = [batch.steps[n] for n in range(len(batch.steps) - len(mine), len(batch.steps))]
        moved: list[Row] = []
        for row, step in zip(sorted(mine, key=lambda r: [s.id for s in steps].index(r.step)), steps, strict=True):
            start = latest[row.batch, row.step] if row.attended else (moved[-1].end if moved else row.start)
            if moved and not moved[-1].attended and not steps[len(moved) - 1].exact:
                moved[-1] = replace(moved[-1], end=start)
            end = start + step.minutes
            if not moved and not row.attended:
                end = row.end
            moved.append(replace(row, start=start, end=end))
        out += moved
    return sorted(out, key=lambda row: (row.start, row.end))


@pytest.mark.parametrize("objective", [1, 2])
@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_a_public_day_with_everything_at_its_latest_can_still_be_done(path: Path, objective: int) -> None:
    """No unit, circuit, hand or wait is asked for more, and hands are off no later than the stop or the schedule."""
    problem = problem_of(read(path), objective)
    solution = solve(problem, objective, evaluations=40)
    late = as_late_as_may_be(problem, solution.rows)
    assert violations(problem, late) == []
    assert end_of_hands(problem, late) <= max(problem.stop, end_of_hands(problem, solution.rows)) or objective == 2
    before = {(row.batch, row.step): row.start for row in solution.rows}
    assert all(row.start >= before[row.batch, row.step] for row in late)
    assert any(row.start > before[row.batch, row.step] for row in late if row.attended)


@given(st.integers(0, 10_000), st.sampled_from((1, 2)))
def test_any_day_with_everything_at_its_latest_can_still_be_done(seed: int, objective: int) -> None:
    """Every freedom a problem has."""
    problem = random_problem(seed)
    solution = solve(problem, objective, evaluations=6)
    if solution.left_out or too_late(problem, solution.rows, []):
        return
    late = as_late_as_may_be(problem, solution.rows)
    assert violations(problem, late) == []
