"""What was found is kept: from any minute, with more kit, with more time; what cannot go on is shown, not hidden."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from dyeday.ahead.kernel.problem import Batch, Hold, Lag, Problem, Step, Unit
from dyeday.ahead.kernel.search import NEVER, solve
from tests.ahead.checker import end_of_hands, too_late, violations
from tests.ahead.days import MAKES, cut, day_of_the_make, random_case, random_problem
from tests.speed.case_format import problem_of

SEEDS = st.integers(0, 10_000)
OBJECTIVES = st.sampled_from((1, 2))


def day(seed: int, objective: int, every_freedom: bool) -> Problem:
    return random_problem(seed, 4) if every_freedom else problem_of(random_case(seed, 5), objective)


def from_the_middle(problem: Problem, seed: int, objective: int) -> Problem:
    """The same day at some minute of it, as far as it went as found."""
    rows = solve(problem, objective, evaluations=20).rows
    now = Random(seed).randint(problem.now, max(problem.now, *(row.end for row in rows if row.attended)))  # noqa: S311
    return cut(problem, rows, now)


@given(SEEDS, OBJECTIVES, st.booleans(), st.booleans(), st.sampled_from(("tray", "steamer", "microwave")))
@settings(max_examples=40, deadline=None)
def test_more_kit_in_the_middle_of_a_day_never_costs_what_was_found(
    seed: int, objective: int, every_freedom: bool, begun: bool, kind: str
) -> None:
    """Even when nothing new is tried: the rows found before are where the search begins."""
    problem = day(seed, objective, every_freedom)
    if begun:
        problem = from_the_middle(problem, seed, objective)
    before = solve(problem, objective, evaluations=60)
    more = replace(problem, units=(Unit("another", kind, holds=9), *problem.units))
    after = solve(more, objective, evaluations=1, warm=before.rows)
    out = [name for name, _ in after.left_out]
    assert [text for text in violations(more, after.rows, out) if "too long" not in text] == []
    assert too_late(more, after.rows, out) == after.value.late
    if len(out) == len(before.left_out):
        assert after.value.key <= before.value.key


@given(SEEDS, st.integers(1, 240), st.booleans())
@settings(max_examples=30, deadline=None)
def test_a_later_stop_in_the_middle_of_a_day_never_rinses_fewer(seed: int, minutes: int, every_freedom: bool) -> None:
    """The evening is longer; what was found fits it as it did."""
    problem = from_the_middle(day(seed, 2, every_freedom), seed, 2)
    before = solve(problem, 2, evaluations=60)
    windows = tuple((a, problem.stop + minutes if z == problem.stop else z) for a, z in problem.windows)
    after = solve(replace(problem, stop=problem.stop + minutes, windows=windows), 2, evaluations=1, warm=before.rows)
    if not before.left_out:
        assert after.value.key[:2] <= before.value.key[:2]


@given(SEEDS, OBJECTIVES, st.booleans())
@settings(max_examples=20, deadline=None)
def test_the_same_search_from_the_middle_of_a_day_gives_the_same_answer(
    seed: int, objective: int, every_freedom: bool
) -> None:
    """Problem, question, seed, evaluations and the rows to begin with are all that matters."""
    problem = from_the_middle(day(seed, objective, every_freedom), seed, objective)
    warm = solve(problem, objective, evaluations=10).rows
    one, other = (solve(problem, objective, seed=seed, evaluations=80, warm=warm) for _ in range(2))
    assert one == other


@given(SEEDS, st.sampled_from(MAKES), OBJECTIVES)
@settings(max_examples=6, deadline=None)
def test_a_large_day_with_one_bottleneck_is_feasible(seed: int, make: str, objective: int) -> None:
    """Long enough a search that rules, moves and the turning of units all had their part."""
    problem = problem_of(day_of_the_make(seed, "large", make), objective)
    solution = solve(problem, objective, evaluations=700)
    assert violations(problem, solution.rows) == []
    assert solution.left_out == ()
    if objective == 1:
        assert solution.value.end == end_of_hands(problem, solution.rows)


def test_batches_that_wait_for_each_others_kit_are_left_out_and_the_others_go_on() -> None:
    """One is in the only tray and wants the only steamer, another the other way round."""
    steps = (Step("in", 5), Step("over", 5), Step("out", 5))
    units = (Unit("tray", "tray"), Unit("steamer", "steamer"), Unit("pot", "pot"))

    def begun(name: str, has: str, wants: str) -> Batch:
        return Batch(name, steps, (Hold(has, 0, 2, unit=has), Hold(wants, 1, 2)), 2, past=((540, 545),))

    free = Batch("free", steps, (Hold("pot", 0, 2),), 2)
    barred = Batch("barred", steps, (Hold("tray", 0, 2),), 2)
    batches = (begun("a", "tray", "steamer"), begun("b", "steamer", "tray"), free, barred)
    solution = solve(Problem(545, ((540, None),), 900, units, batches), 1)
    assert {row.batch for row in solution.rows} == {"free"}
    assert solution.value.end == 560
    assert dict(solution.left_out)["a"] == dict(solution.left_out)["b"] == NEVER
    assert {name for name, _ in solution.left_out} == {"a", "b", "barred"}


def test_heat_is_taken_off_in_time_where_that_costs_nothing() -> None:
    """Of two days that end alike: first the heavy batch, unless heat would be on for long."""

    def painted_first(soft_most: int | None) -> str:
        heated = Batch(
            "heated",
            (
                Step("load", 2),
                Step("run", 30, attended=False),
                Step("unload", 2, lags=(Lag(1, soft_most=soft_most),)),
                Step("rinse", 6, lags=(Lag(1, 60),)),
            ),
        )
        others = (Batch("long", (Step("paint", 50),), weight=10), Batch("short", (Step("paint", 30),)))
        solution = solve(Problem(540, ((540, None),), 900, (), (heated, *others)), 1, evaluations=300)
        assert solution.value.end == 540 + 98
        return next(str(row.batch) for row in solution.rows if row.step == "paint")

    assert painted_first(None) == "long"
    assert painted_first(5) == "short"
