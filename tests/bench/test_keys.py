"""How few keys a batch costs, through the real bench, bounded."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bench.keys import batch_counts, late_five

MOST = {"painted": (16, 30), "bursts": (30, 45), "speckled": (30, 50), "immersed": (16, 34)}
"""presses from soak to done: by advice, and with the batch's number typed each time"""


@pytest.mark.parametrize("kind", MOST)
def test_a_batch_costs_few_keys_by_advice_and_by_its_number(tmp_path: Path, kind: str) -> None:
    """One movement of the hands is one entry: two presses by advice, four with its number typed."""
    costs = batch_counts(tmp_path, kind)
    by_advice, typed = MOST[kind]
    assert costs["advice"].presses <= by_advice
    assert costs["typed"].presses <= typed


def test_five_late_entries_cost_at_most_fifteen_presses(tmp_path: Path) -> None:
    assert late_five(tmp_path).presses <= 15
