"""Every schedule can be done as it stands, from the morning on and from any minute of the day."""

from __future__ import annotations

import json
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dyeday.ahead.kernel.compile_problem import tabulate
from dyeday.ahead.kernel.problem import Problem, Solution
from dyeday.ahead.kernel.search import solve
from tests.ahead.checker import end_of_hands, rinsed_by, too_late, violations
from tests.ahead.days import cut, random_case, random_problem
from tests.ahead.naive import WAYS, outcome
from tests.speed.case_format import problem_of

CASES = sorted((Path(__file__).parent / "cases").glob("*.json"))
SEEDS = st.integers(0, 10_000)
OBJECTIVES = st.sampled_from((1, 2))
EVALUATIONS = 40


def read(path: Path) -> dict[str, Any]:
    case: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return case


def wrong(problem: Problem, solution: Solution) -> list[str]:
    """What the checker has against a solution, exceeded waits aside; those must be counted truly."""
    out = [name for name, _ in solution.left_out]
    assert too_late(problem, solution.rows, out) == solution.value.late
    return [text for text in violations(problem, solution.rows, out) if "too long" not in text]


@pytest.mark.parametrize("objective", [1, 2])
@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_a_public_day_is_solved_no_worse_than_the_naive_ways(path: Path, objective: int) -> None:
    """A few evaluations are enough for a feasible day that beats every naive way and no proven bound."""
    case = read(path)
    problem = problem_of(case, objective)
    solution = solve(problem, objective, evaluations=60)
    assert violations(problem, solution.rows) == []
    naive = [outcome(tabulate(problem), way) for way in WAYS]
    if objective == 1:
        assert solution.value.end == end_of_hands(problem, solution.rows)
        assert solution.value.end <= min(state.now for state in naive if not state.late)
        assert solution.value.end >= case["start"] + case["reference"]["obj1"]["bound_minutes"]
    else:
        rinsed = len(case["batches"]) - solution.value.missed
        assert rinsed == rinsed_by(problem, solution.rows, case["day1_end"])
        assert max(state.done for state in naive if not state.late) <= rinsed
        assert rinsed <= case["reference"]["obj2"]["rinsed_day1_bound"]


@given(SEEDS, OBJECTIVES, st.integers(1, 12))
@settings(max_examples=40, deadline=None)
def test_a_random_day_of_that_make_is_feasible(seed: int, objective: int, batches: int) -> None:
    """No rule of the day is broken, and painted yarn never waits too long."""
    problem = problem_of(random_case(seed, batches), objective)
    solution = solve(problem, objective, evaluations=EVALUATIONS)
    assert wrong(problem, solution) == []
    assert solution.value.late == 0
    assert solution.left_out == ()


@given(SEEDS, OBJECTIVES, st.integers(1, 5))
@settings(max_examples=60, deadline=None)
def test_a_random_day_with_every_freedom_is_feasible(seed: int, objective: int, batches: int) -> None:
    """Shared units, grams, layers, pots in turn, chores, links, late releases and a unit down."""
    problem = random_problem(seed, batches)
    solution = solve(problem, objective, evaluations=EVALUATIONS)
    assert wrong(problem, solution) == []


@given(SEEDS, OBJECTIVES, st.integers(1, 5), st.booleans())
@settings(max_examples=60, deadline=None)
def test_the_rest_of_a_day_is_feasible_from_any_minute_of_it(
    seed: int, objective: int, batches: int, every_freedom: bool
) -> None:
    """Steps done, running and waiting, and units that are taken, are where the next schedule begins."""
    problem = random_problem(seed, batches) if every_freedom else problem_of(random_case(seed, batches), objective)
    whole = solve(problem, objective, evaluations=EVALUATIONS)
    if not whole.rows:
        return
    now = Random(seed).randint(problem.now, whole.rows[-1].end)  # noqa: S311 - no secret
    rest = cut(problem, whole.rows, now)
    solution = solve(rest, objective, evaluations=EVALUATIONS, warm=whole.rows)
    assert wrong(rest, solution) == []
    assert solution.value.late <= whole.value.late
    if objective == 1 and solution.value.late == whole.value.late:
        assert end_of_hands(rest, solution.rows) <= max(now, whole.value.end)


def test_a_unit_that_is_down_is_not_used() -> None:
    """What fits nowhere else is left out with the reason, and the others go on."""
    from dataclasses import replace

    problem = problem_of(read(CASES[0]), 1)
    units = tuple(replace(u, free_at=None) if u.kind == "microwave" else u for u in problem.units)
    down = replace(problem, units=units)
    solution = solve(down, 1, evaluations=20)
    assert wrong(down, solution) == []
    assert {why for _, why in solution.left_out} == {"no microwave for it"}
    assert {row.batch for row in solution.rows}.isdisjoint(name for name, _ in solution.left_out)


def test_an_empty_day_has_nothing_to_do() -> None:
    """No batches, no rows; the hands are free now."""
    problem = Problem(now=600, windows=((540, 720),), stop=720, units=(), batches=())
    for objective, end in ((1, 600), (2, 0)):
        solution = solve(problem, objective)
        assert (solution.rows, solution.value.end) == ((), end)
