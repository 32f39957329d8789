"""Random studios' days are ones a dyer would follow: none of what `tests.ahead.studios` counts that can hurt."""

from __future__ import annotations

import pytest

from dyeday.plan.model import Plan
from tests.ahead.studios import FAULTS, judged, plans

NEVER = {*FAULTS[:3], "half painted"}


@pytest.mark.parametrize(("name", "plan"), list(plans(10, examples=False)))
def test_a_random_studios_day_leaves_no_heat_on_and_no_batch_half_painted(name: str, plan: Plan) -> None:
    """Looked at in the morning; `python -m tests.ahead.studios` follows each day."""
    seen = judged(plan, 20, (), long=False)
    assert seen.looks >= 1
    assert not {fault: times for fault, times in seen.faults.items() if fault in NEVER}, name
