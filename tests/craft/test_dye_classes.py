"""The pH a bath of several dyes is brought to."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.craft.dye.dye_classes import PH_OF_CLASS, PhRange, bath_ph

ranges = st.tuples(st.floats(2, 8), st.floats(0, 3)).map(lambda r: PhRange(r[0], r[0] + r[1]))


@pytest.mark.parametrize(
    ("classes", "target", "agreed"),
    [
        (["levelling"], 4.0, True),
        (["fast acid"], 4.5, True),
        (["milling"], 5.0, True),
        (["super-milling"], 6.0, True),
        (["milling", "super-milling"], 6.0, True),
        (["levelling", "fast acid"], 4.0, True),
        (["levelling", "milling"], 4.0, False),
    ],
)
def test_the_usual_ph_moves_into_the_range_of_the_dyes(classes: list[str], target: float, agreed: bool) -> None:
    found = bath_ph([PH_OF_CLASS[name] for name in classes], 4.5)

    assert found is not None
    assert (found.target, found.agreed) == (target, agreed)


@given(st.lists(ranges, min_size=1, max_size=5), st.floats(2, 8))
def test_where_dyes_agree_the_target_suits_each(wishes: list[PhRange], usual: float) -> None:
    found = bath_ph(wishes, usual)

    assert found is not None
    suits = [one.low <= found.target <= one.high for one in wishes]
    assert all(suits) or not found.agreed
    assert found.target <= min(one.high for one in wishes)


def test_dyes_without_a_wish_leave_the_ph_to_the_plan() -> None:
    assert bath_ph([], 4.5) is None


def test_premetallised_dyes_want_a_bath_near_neutral_as_milling_dyes_do() -> None:
    # 1:2 metal complex, from memory; milling by Broadbent, Table 13.1.
    assert PH_OF_CLASS["premetallised"] == PH_OF_CLASS["milling"] == (5.0, 7.0)
