"""The same question gets the same answer, and more room never a worse one."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

from hypothesis import example, given, settings
from hypothesis import strategies as st

from dyeday.ahead.forecast import forecast
from dyeday.ahead.kernel.problem import Batch, Problem, Step, Unit
from dyeday.ahead.kernel.search import solve
from dyeday.ahead.problem_parts.hours import midnight
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.step_ids import StepId
from dyeday.terms import ChoreWhen, StepKind
from dyeday.track.folding.fold import begin
from dyeday.track.timestamp import Moment
from tests.ahead.checker import rinsed_by, violations
from tests.ahead.days import random_case, random_problem
from tests.fakes import HEAVY_DAY, SHORT_DAY
from tests.speed.case_format import problem_of

SEEDS = st.integers(0, 10_000)
OBJECTIVES = st.sampled_from((1, 2))


@given(SEEDS, OBJECTIVES)
@settings(max_examples=15, deadline=None)
def test_the_same_evaluations_give_the_same_answer(seed: int, objective: int) -> None:
    """Nothing but problem, objective, seed and evaluations matters."""
    problem = problem_of(random_case(seed, 5), objective)
    one, other = (solve(problem, objective, seed=seed, evaluations=150) for _ in range(2))
    assert one == other


@given(SEEDS, OBJECTIVES)
@example(88, 1)
@example(4071, 1)
@settings(max_examples=15, deadline=None)
def test_more_evaluations_from_an_answer_are_never_worse(seed: int, objective: int) -> None:
    """Each search begins with the answer before it, as the bench does.

    It is not a law: what is found is settled at the end, and a better order may settle less well.
    """
    problem = problem_of(random_case(seed, 5), objective)
    answers = [solve(problem, objective, seed=seed, evaluations=5)]
    for evaluations in (50, 200):
        answers.append(solve(problem, objective, seed=seed, evaluations=evaluations, warm=answers[-1].rows))
    keys = [answer.value.key for answer in answers]
    assert keys == sorted(keys, reverse=True)


@given(SEEDS, OBJECTIVES, st.sampled_from(("tray", "steamer", "microwave")))
@settings(max_examples=30, deadline=None)
def test_one_unit_more_is_never_worse_than_the_answer_already_found(seed: int, objective: int, kind: str) -> None:
    """The earlier answer is where the next begins."""
    problem = problem_of(random_case(seed, 4), objective)
    before = solve(problem, objective, evaluations=60)
    more = replace(problem, units=(Unit("another", kind, holds=9), *problem.units))
    after = solve(more, objective, evaluations=20, warm=before.rows)
    assert violations(more, after.rows) == []
    assert after.value.key <= before.value.key


@given(SEEDS, st.integers(1, 180), st.booleans())
@settings(max_examples=30, deadline=None)
def test_a_later_stop_never_rinses_fewer(seed: int, minutes: int, every_freedom: bool) -> None:
    """The hands stay longer on the first day; the rest of the week is as it was."""
    problem = random_problem(seed, 3) if every_freedom else problem_of(random_case(seed, 4), 2)
    before = solve(problem, 2, evaluations=60)
    first, (opens, closes), *others = problem.windows
    assert closes is not None
    later = replace(problem, stop=problem.stop + minutes, windows=(first, (opens, closes + minutes), *others))
    after = solve(later, 2, evaluations=20, warm=before.rows)
    assert after.value.key <= before.value.key
    assert rinsed_by(later, after.rows, later.stop) >= rinsed_by(problem, before.rows, problem.stop)


def test_a_budget_that_is_spent_at_once_still_gives_an_answer() -> None:
    """The first rule's day is better than none."""
    problem = problem_of(random_case(1, 6), 1)
    solution = solve(problem, 1, spent=lambda: True)
    assert violations(problem, solution.rows) == []
    assert solution.evaluations >= 1


def test_the_first_rules_mix_first_what_the_longest_way_waits_for() -> None:
    """A lot that simmers in the one pot, twice, and cools in it: nothing else is worth tying or mixing before it.

    Two simmers of 80 min, two coolings of 240 in the pot, and what comes before and after take until 21:08 at least.
    """
    plan = read_plan(HEAVY_DAY.read_text(encoding="utf-8"))
    now = Moment(midnight(plan) + timedelta(minutes=plan.session.start_min))
    found = forecast(begin(plan), now, evaluations=20)
    dyed = [row for row in found.earliest.rows if isinstance(row.step, StepId) and row.step.kind is StepKind.DYE]
    assert [row.unit for row in dyed] == ["stockpot 1"] * 2
    assert dyed[0].start < plan.session.start_min + 2 * 60
    least = midnight(plan) + timedelta(hours=21, minutes=8)
    assert least <= found.finish <= least + timedelta(minutes=75)


def test_yarn_is_painted_before_the_dyes_of_later_lots_are_mixed() -> None:
    """Six lots: mixing them all takes an hour, in which the first could be in heat."""
    plan = read_plan(HEAVY_DAY.read_text(encoding="utf-8"))
    found = forecast(begin(plan), Moment(midnight(plan) + timedelta(minutes=plan.session.start_min)), evaluations=20)
    mixed = [step.start for step in found.steps if step.is_chore and step.id.when is ChoreWhen.BEFORE_PAINT]
    dyed = min(step.start for step in found.steps if step.kind.puts_dye_on)
    assert len(mixed) == 6
    assert sum(start < dyed for start in mixed) <= 3


def test_dyes_are_mixed_just_before_their_lot_is_painted() -> None:
    """Of three lots, while yarn of the first soaks, and each later one when the one before it is painted."""
    plan = read_plan(SHORT_DAY.read_text(encoding="utf-8"))
    found = forecast(begin(plan), Moment(midnight(plan) + timedelta(minutes=plan.session.start_min)), evaluations=20)
    mixed = [step.start for step in found.steps if step.is_chore and step.id.when is ChoreWhen.BEFORE_PAINT]
    dyed = sorted(step.start for step in found.steps if step.kind.puts_dye_on)
    assert min(step.start for step in found.steps if step.kind is StepKind.SOAK_LOAD) < mixed[0] < dyed[0]
    assert dyed[0] < mixed[1] < dyed[1] < mixed[2] < dyed[2]


def test_among_equal_days_the_heavier_batch_and_the_lighter_shade_go_first() -> None:
    """Two batches that differ in nothing but their weight, or their shade."""

    def painted(name: str, weight: int = 1, shade: int = 0) -> Batch:
        return Batch(name, (Step("paint", 30),), weight=weight, shade=shade, shade_step=0)

    def order(*batches: Batch) -> list[str]:
        problem = Problem(540, ((540, None),), 1080, (), batches)
        rows = solve(problem, 1, evaluations=200).rows
        assert all(a.end == b.start for a, b in pairwise(rows))
        return [str(row.batch) for row in rows]

    assert order(painted("one"), painted("two", weight=5)) == ["two", "one"]
    assert order(painted("dark", shade=9), painted("light", shade=1)) == ["light", "dark"]
    mixed = order(painted("a", shade=1), painted("b", shade=2), painted("c", shade=1), painted("d", shade=2))
    assert mixed in (["a", "c", "b", "d"], ["c", "a", "b", "d"], ["a", "c", "d", "b"], ["c", "a", "d", "b"])
