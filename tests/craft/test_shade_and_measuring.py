"""Depth of shade, solutions, and what jug and scale make of them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.craft import measuring, shade
from dyeday.craft.refusal import RefusedError

steps = st.sampled_from([0.01, 0.1, 0.5, 1.0, 5.0])


@given(total=st.floats(0, 5000), shares=st.lists(st.floats(0, 100), min_size=1, max_size=12), step=steps)
def test_splitting_a_lot_conserves_mass_to_the_rounding(total: float, shares: list[float], step: float) -> None:
    if not sum(shares) > 0:
        shares = [1.0, *shares]

    parts = measuring.split(total, shares, step)

    assert sum(parts) == pytest.approx(measuring.to_step(total, step), abs=1e-6)
    assert abs(sum(parts) - total) <= step / 2 + 1e-6
    for part, share in zip(parts, shares, strict=True):
        assert abs(part - share / sum(shares) * total) <= 1.5 * step + 1e-6


@given(value=st.floats(0, 5000), step=steps)
def test_a_rounded_amount_is_within_half_a_step(value: float, step: float) -> None:
    assert abs(measuring.to_step(value, step) - value) <= step / 2 + 1e-6


@given(wof_g=st.floats(1, 5000), dos_pct=st.floats(0.01, 8), cut=st.floats(1, 99))
def test_sections_of_one_depth_need_the_dye_of_the_whole(wof_g: float, dos_pct: float, cut: float) -> None:
    sections = [shade.Section(cut, {"red": dos_pct}), shade.Section(100 - cut, {"red": dos_pct})]

    found = shade.needs(wof_g, sections, {"red": 1.0})

    assert sum(need.powder_g for need in found) == pytest.approx(shade.powder_g(wof_g, dos_pct))
    assert [need.section for need in found] == [1, 2]


def test_each_section_counts_depth_on_its_own_fibre() -> None:
    found = shade.needs(
        200, [shade.Section(75, {"red": 1.0}), shade.Section(25, {"red": 2.0, "blue": 0.4})], {"red": 2.0}
    )

    assert [(need.dye, need.powder_g, need.solution_ml) for need in found] == [
        ("red", 1.5, 75.0),
        ("red", 1.0, 50.0),
        ("blue", 0.2, None),
    ]


def test_shares_that_do_not_add_up_are_refused() -> None:
    with pytest.raises(RefusedError, match="add to 90 %"):
        shade.needs(100, [shade.Section(90, {"red": 1.0})], {})


def test_fibre_is_counted_or_weighed_and_weighing_knows_the_air() -> None:
    assert shade.wof_counted_g(6, 100) == 600
    assert shade.wof_weighed_g(118, 18, 13.6) == pytest.approx(113.6)


def test_water_makes_up_the_liquor() -> None:
    assert shade.make_up_ml(270, 120, 10) == 140


def test_solutions_that_do_not_fit_are_refused_saying_how_strong_they_must_be() -> None:
    with pytest.raises(shade.NoRoomError, match=r"1\.5 times as strong"):
        shade.make_up_ml(200, 300)


def test_speckles_are_pinches_of_powder() -> None:
    assert shade.pinches(shade.speckle_powder_g(300, 0.2), 0.05) == 12


def test_powder_below_the_scale_is_said_with_the_weaker_solution_that_helps() -> None:
    little = measuring.measure(0.03, 1.0, scale_step_g=0.1, jug_step_ml=5)

    assert little.below_scale
    assert little.powder_uncertainty_pct == pytest.approx(166.7, abs=0.1)
    assert little.weaker_pct == 0.05
    eased = measuring.measure(0.03, little.weaker_pct, 0.1, 5)
    assert eased.weaker_pct is None
    assert eased.solution_uncertainty_pct <= measuring.FAIR_PCT
    assert eased.solution_ml == pytest.approx(60)


def test_plenty_of_powder_needs_no_weaker_solution() -> None:
    plenty = measuring.measure(6.75, 2.0, 0.1, 5)

    assert (plenty.below_scale, plenty.weaker_pct, plenty.solution_ml) == (False, None, 340)


@given(
    needed_ml=st.floats(0, 3000),
    strength=st.floats(0.05, 4),
    waste=st.floats(0, 30),
    left_ml=st.floats(0, 3000),
    left_pct=st.floats(0.05, 4),
)
def test_mixing_on_top_of_the_bottle_gives_the_strength_and_never_wants_powder_back(
    needed_ml: float, strength: float, waste: float, left_ml: float, left_pct: float
) -> None:
    mix = measuring.to_mix(needed_ml, strength, waste_pct=waste, left_ml=left_ml, left_pct=left_pct)

    assert mix.total_ml == pytest.approx(needed_ml * (1 + waste / 100))
    assert mix.powder_g >= -1e-9
    assert mix.water_ml >= -1e-9
    assert mix.from_bottle_ml <= left_ml
    dye_g = mix.powder_g + mix.from_bottle_ml * left_pct / 100
    assert dye_g == pytest.approx(mix.total_ml * strength / 100, abs=1e-9)


def test_a_bottle_of_the_same_strength_is_simply_used_first() -> None:
    mix = measuring.to_mix(300, 1.0, waste_pct=10, left_ml=80)

    assert mix.from_bottle_ml == 80
    assert mix.water_ml == pytest.approx(250)
    assert mix.powder_g == pytest.approx(2.5)


@pytest.mark.parametrize("strength_pct", [0.0, -1.0, 101.0, float("nan")])
def test_a_strength_that_cannot_be_is_refused(strength_pct: float) -> None:
    with pytest.raises(RefusedError, match="strength"):
        shade.solution_ml(1.0, strength_pct)


def test_a_depth_and_its_powder_undo_each_other() -> None:
    assert shade.depth_pct(shade.powder_g(350, 1.2), 350) == pytest.approx(1.2)
