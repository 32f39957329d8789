"""How few keys a batch costs, bounded at what is reached."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

from tests.bench.keys import painted


def test_a_painted_and_steamed_batch_costs_no_more_keys_than_the_readme_says(tmp_path: Path) -> None:
    """From soak to done: two presses a step by advice, four with its number typed each time."""
    costs = {how: asdict(count) for how, count in painted(tmp_path).items()}
    assert costs["advice"]["presses"] <= 18
    assert costs["typed"]["presses"] <= 36
    assert all(cost["questions"] <= 9 for cost in costs.values())
