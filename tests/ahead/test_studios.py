"""Random studios' days are ones a dyer would follow: none of what `tests.ahead.studios` counts that can hurt."""

from __future__ import annotations

from functools import cache

import pytest

from dyeday.plan.reading.plan_reader import read_plan
from tests.ahead.studios import Judged, judged, studio
from tests.ahead.studios_faults import FAULTS

STUDIOS = range(1, 11)
NEVER = {*FAULTS[:4], "specks late in heat", "half painted"}
SELDOM = {
    "hands wait for dry yarn": 6,
    "siblings apart": 1,
    "rest cut or stretched": 14,
    "heat put off": 3,
    "mix taken up again": 18,
}
"""times on all ten mornings together that are no more than the search leaves today"""


@cache
def morning_of(seed: int) -> Judged:
    return judged(read_plan(studio(seed)), 30, (), long=0)


@pytest.mark.parametrize("seed", STUDIOS)
def test_a_random_studios_day_leaves_no_heat_on_and_no_batch_half_painted(seed: int) -> None:
    """Looked at in the morning; `python -m tests.ahead.studios` follows each day."""
    seen = morning_of(seed)
    assert seen.looks == 1
    assert not {fault: times for fault, times in seen.faults.items() if fault in NEVER}


@pytest.mark.parametrize("fault", SELDOM)
def test_ten_random_studios_seldom_plan_what_no_dyer_would_do(fault: str) -> None:
    assert sum(morning_of(seed).faults[fault] for seed in STUDIOS) <= SELDOM[fault]
