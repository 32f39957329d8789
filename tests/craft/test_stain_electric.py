"""Grades of stain, and circuits."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.craft import electric
from dyeday.craft.dye import colour_difference
from dyeday.craft.errors import RefusedError


def test_a_circuit_says_each_limit_it_exceeds_with_numbers_and_defers() -> None:
    load = electric.circuit_load({"steamer": 1500, "microwave": 1250}, 120, 20, lead_amps=15, continuous_share=0.8)

    assert load.amps == pytest.approx(22.92, abs=0.01)
    assert load.share == pytest.approx(1.146, abs=0.001)
    assert load.exceeds == (
        "22.9 A (2750 W) is more than 20 A, the circuit",
        "22.9 A (2750 W) is more than 15 A, the lead",
        "22.9 A (2750 W), counted as 28.6 A (125 %) for 3 h or more, is more than 20 A, the circuit "
        "(NFPA 70, 2011 edition, 210.20(A))",
    )
    assert "licensed electrician" in electric.WIRING_CAUTION
    assert "local codes" in electric.WIRING_CAUTION


def test_one_appliance_and_all_of_them_together_are_two_rules() -> None:
    # NFPA 70, 2011 edition: 210.23(A)(1) for one appliance on a plug, 210.20(A) for continuous loads at 125 %.
    alone = electric.circuit_load({"pot": 1700}, 120, 15, continuous_share=0.8).exceeds
    together = electric.circuit_load({"pot": 800, "steamer": 800}, 120, 15, continuous_share=0.8).exceeds
    unasked = electric.circuit_load({"pot": 1700}, 120, 15).exceeds

    assert "14.2 A of pot alone is more than 12 A" in alone[0]
    assert "210.23(A)(1)" in alone[0]
    assert "210.20(A)" in alone[1]
    assert len(together) == 1
    assert "counted as 16.7 A (125 %) for 3 h or more, is more than 15 A" in together[0]
    assert unasked == ()


def test_a_circuit_within_its_limits_exceeds_none() -> None:
    assert electric.circuit_load({"steamer": 1500}, 230, 32, lead_amps=13, continuous_share=0.8).exceeds == ()
    assert electric.circuit_load({}, 230, 32).amps == 0


@pytest.mark.parametrize(("volts", "amps"), [(0, 13), (230, 0), (-230, 13)])
def test_a_circuit_without_volts_or_amps_is_refused(volts: float, amps: float) -> None:
    with pytest.raises(RefusedError):
        electric.circuit_load({"steamer": 1500}, volts, amps)


@pytest.mark.parametrize(
    ("delta_e", "grade"),
    # Ratings 4.75, 4.74, 4.25 and 4.24: ISO 105-A04's table puts the first two at 5 and 4-5, the last at 4-5 and 4.
    # It knows two decimals: 4.7453 is 4.75.
    [
        (0.25 / 0.23, "5"),
        (0.2547 / 0.23, "5"),
        (0.26 / 0.23, "4-5"),
        (0.75 / 0.23, "4-5"),
        (0.76 / 0.23, "4"),
        (60.0, "1"),
    ],
)
def test_a_rating_in_the_middle_of_two_grades_gives_the_better(delta_e: float, grade: str) -> None:
    white = (94.0, 0.0, 3.0)

    assert colour_difference.stain_grade(white, (94.0 - delta_e, 0.0, 3.0)) == grade


@given(st.floats(0, 60))
def test_a_stain_counts_the_same_in_red_green_yellow_and_blue(by: float) -> None:
    white = (94.0, 0.0, 0.0)
    stains = [(94.0, by, 0.0), (94.0, -by, 0.0), (94.0, 0.0, by), (94.0, 0.0, -by)]

    assert len({colour_difference.stain_grade(white, stain) for stain in stains}) == 1


def test_a_stain_of_colour_counts_less_than_as_much_grey() -> None:
    white = (94.0, 0.0, 3.0)

    assert colour_difference.stain_grade(white, (87.0, 0.0, 3.0)) == "3-4"
    assert colour_difference.stain_grade(white, (94.0, 7.0, 3.0)) == "4"


@pytest.mark.parametrize("cloth", [(101.0, 0.0, 0.0), (90.0, 300.0, 0.0), (float("nan"), 0.0, 0.0)])
def test_a_colour_that_cannot_be_is_refused(cloth: colour_difference.Lab) -> None:
    with pytest.raises(RefusedError):
        colour_difference.stain_grade((94.0, 0.0, 3.0), cloth)


@pytest.mark.parametrize("watts", [{}, {"steamer": 2000.0}])
def test_a_circuit_without_volts_is_refused_with_a_unit_on_it_or_none(watts: dict[str, float]) -> None:
    with pytest.raises(RefusedError, match="the circuit's volts"):
        electric.circuit_load(watts, 0, 16)
