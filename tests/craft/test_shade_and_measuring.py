"""Depth of shade, solutions, and what jug and scale make of them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.craft.dye import depth_of_shade as shade
from dyeday.craft.dye import measuring
from dyeday.craft.errors import RefusedError

steps = st.sampled_from([0.01, 0.1, 0.5, 1.0, 5.0])


@given(value=st.floats(0, 5000), step=steps)
def test_a_rounded_amount_is_within_half_a_step(value: float, step: float) -> None:
    assert abs(measuring.to_step(value, step) - value) <= step / 2 + 1e-6


def test_fibre_weighed_in_damp_air_is_counted_as_in_standard_air() -> None:
    assert shade.wof_weighed_g(118, 18, 13.6) == pytest.approx(113.6)
    with pytest.raises(RefusedError, match="label's regain"):
        shade.wof_weighed_g(118, 18, -200)


def test_speckles_are_pinches_of_powder() -> None:
    assert shade.pinches(shade.speckle_powder_g(300, 0.2)) == 12
    assert [shade.pinches(grams) for grams in (0, 0.001, 0.05, 0.07)] == [0, 0.5, 1, 1.5]


def test_half_a_step_is_what_an_amount_is_uncertain_by() -> None:
    assert measuring.uncertain_pct(0.03, 0.1) == pytest.approx(166.7, abs=0.1)
    assert measuring.uncertain_pct(50, 5) == measuring.FAIR_PCT


def test_a_weaker_solution_is_offered_that_the_jug_measures_fairly() -> None:
    weaker = measuring.weaker_pct(0.03, 1.0, 5)

    assert weaker == 0.05
    assert measuring.weaker_pct(0.03, weaker, 5) is None
    assert measuring.uncertain_pct(shade.solution_ml(0.03, weaker), 5) <= measuring.FAIR_PCT
    assert measuring.weaker_pct(6.75, 2.0, 5) is None


@given(dye_g=st.floats(0.0001, 50), strength=st.floats(0.01, 10), jug_ml=st.sampled_from([0.1, 1.0, 5.0, 50.0]))
def test_any_weaker_solution_is_weaker_and_fair(dye_g: float, strength: float, jug_ml: float) -> None:
    weaker = measuring.weaker_pct(dye_g, strength, jug_ml)

    if weaker is not None:
        assert weaker < strength
        assert measuring.uncertain_pct(shade.solution_ml(dye_g, weaker), jug_ml) <= measuring.FAIR_PCT * (1 + 1e-6)


@pytest.mark.parametrize(
    ("value", "shown"), [(12_345.6, "12350"), (0.012345, "0.01235"), (20_000, "20000"), (0, "0"), (1.5, "1.5")]
)
def test_a_figure_has_four_digits_and_no_exponent(value: float, shown: str) -> None:
    assert measuring.figure(value) == shown


@given(
    total_ml=st.floats(0, 3000),
    strength=st.floats(0.05, 4),
    left_ml=st.floats(0, 3000),
    left_pct=st.floats(0.05, 4),
)
def test_mixing_on_top_of_the_bottle_gives_the_strength_and_never_wants_powder_back(
    total_ml: float, strength: float, left_ml: float, left_pct: float
) -> None:
    mix = measuring.to_mix(total_ml, strength, left_ml=left_ml, left_pct=left_pct)

    assert mix.total_ml == total_ml
    assert mix.powder_g >= -1e-9
    assert mix.water_ml >= -1e-9
    assert mix.from_bottle_ml <= left_ml
    dye_g = mix.powder_g + mix.from_bottle_ml * left_pct / 100
    assert dye_g == pytest.approx(mix.total_ml * strength / 100, abs=1e-9)


def test_a_bottle_of_the_same_strength_is_simply_used_first() -> None:
    mix = measuring.to_mix(330, 1.0, left_ml=80)

    assert mix.from_bottle_ml == 80
    assert mix.water_ml == pytest.approx(250)
    assert mix.powder_g == pytest.approx(2.5)


@pytest.mark.parametrize("strength_pct", [0.0, -1.0, 101.0, float("nan")])
def test_a_strength_that_cannot_be_is_refused(strength_pct: float) -> None:
    with pytest.raises(RefusedError, match="strength"):
        shade.solution_ml(1.0, strength_pct)


def test_a_depth_and_a_strength_are_percent_and_end_at_100() -> None:
    assert shade.powder_g(50, 100) == shade.solution_ml(50, 100) == 50
    with pytest.raises(RefusedError, match="it must be 0 to 100"):
        shade.powder_g(50, 100.5)
    with pytest.raises(RefusedError, match="it must be 0 to 100"):
        shade.solution_ml(50, 100.5)


@pytest.mark.parametrize(
    ("dye_g", "weaker_pct"),
    # A jug of 5 mL steps measures 50 mL and more within 5 %: the strongest usual solution that comes to so much.
    [
        (2, None),
        (1.0, 2),
        (0.6, 1),
        (0.3, 0.5),
        (0.15, 0.25),
        (0.06, 0.1),
        (0.03, 0.05),
        (0.011, 0.02),
        (0.006, 0.01),
    ],
)
def test_the_weaker_solution_is_the_strongest_usual_one_that_will_do(dye_g: float, weaker_pct: float | None) -> None:
    assert measuring.weaker_pct(dye_g, 4, 5) == weaker_pct
