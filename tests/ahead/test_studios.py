"""Random studios' days are ones a dyer would follow: none of what `tests.ahead.studios` counts that can hurt."""

from __future__ import annotations

from datetime import timedelta
from functools import cache

import pytest

from dyeday.ahead.forecast import LEAST, forecast
from dyeday.ahead.kernel.problem import Problem, Solution
from dyeday.ahead.problem_parts.hours import wall
from dyeday.ahead.problem_parts.siblings import heated_together
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.track.folding.fold import begin
from dyeday.track.timestamp import Moment
from tests.ahead.studios import Judged, judged, studio
from tests.ahead.studios_faults import FAULTS

STUDIOS = range(1, 11)
NEVER = {*FAULTS[:4], "specks late in heat", "half painted"}
SELDOM = {
    "hands wait for dry yarn": 0,
    "siblings apart": 0,
    "rest cut or stretched": 9,
    "heat put off": 0,
    "mix taken up again": 17,
}
"""times on all ten mornings together that are no more than the search leaves today"""


@cache
def morning_of(seed: int) -> Judged:
    return judged(read_plan(studio(seed)), LEAST, (), long=0)


@pytest.mark.parametrize("seed", STUDIOS)
def test_a_random_studios_day_leaves_no_heat_on_and_no_batch_half_painted(seed: int) -> None:
    """Looked at in the morning; `python -m tests.ahead.studios` follows each day."""
    seen = morning_of(seed)
    assert seen.looks == 1
    assert not {fault: times for fault, times in seen.faults.items() if fault in NEVER}


@pytest.mark.parametrize("fault", SELDOM)
def test_ten_random_studios_seldom_plan_what_no_dyer_would_do(fault: str) -> None:
    assert sum(morning_of(seed).faults[fault] for seed in STUDIOS) <= SELDOM[fault]


def test_on_a_day_of_twenty_four_batches_hands_wait_for_no_dry_yarn() -> None:
    """Its waits are many: the evaluations that mend them must not be spent on the first ones again and again."""
    seen = morning_of(57)
    assert seen.faults["rest cut or stretched"]
    assert not seen.faults["hands wait for dry yarn"]


def test_a_day_of_specks_and_one_steamer_is_not_worked_one_batch_after_the_other() -> None:
    """So worked, it ends in the evening of the next day; searched for longer, at nine."""
    plan = read_plan(studio(42))
    start = Moment(wall(plan, plan.session.start_min))
    found = forecast(begin(plan), start, evaluations=24, warn=False)
    assert found.finish < start.utc + timedelta(hours=16)


def test_a_day_searched_again_with_siblings_linked_is_over_half_an_hour_sooner() -> None:
    """Searched once, it ends at 16:16; no single move leads from that order to this one."""
    plan = read_plan(studio(30))
    start = Moment(wall(plan, plan.session.start_min))
    found = forecast(begin(plan), start, evaluations=LEAST, warn=False)
    assert found.finish <= start.utc.replace(hour=15, minute=45)


@pytest.mark.parametrize(("seed", "evaluations"), [(94, 15), (108, 24)])
def test_a_pair_still_apart_in_the_answer_is_searched_for_with_that_pair_linked(seed: int, evaluations: int) -> None:
    """Both mornings end as early with the pair in heat together; a search of the whole day keeps it apart."""
    seen = judged(read_plan(studio(seed)), evaluations, (), long=0)
    assert not seen.faults["siblings apart"]


def test_a_pair_as_far_apart_in_the_answer_before_is_not_searched_for_again() -> None:
    """No link brings it together: a look each minute must not pay for that again."""
    plan = read_plan(studio(94))
    found = forecast(begin(plan), Moment(wall(plan, plan.session.start_min)), evaluations=8, warn=False)
    searched: list[Problem] = []

    def in_vain(problem: Problem) -> Solution:
        searched.append(problem)
        return found.advised

    for before, times in ((found.advised.rows, 0), ((), 1)):
        searched.clear()
        assert heated_together(found.problem, found.advised, before, in_vain).rows == found.advised.rows
        assert len(searched) == times
