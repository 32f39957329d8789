"""Exhaustion: every reading is 0 to 100 % or refused, and the remedy goes by what was read."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.craft.dye import exhaustion
from dyeday.craft.errors import RefusedError

anything = st.floats(allow_nan=True, allow_infinity=True)


@given(n=anything, left_l=anything, first_l=anything)
def test_a_jar_match_lies_in_0_to_100_or_is_refused(n: float, left_l: float, first_l: float) -> None:
    try:
        percent = exhaustion.jar_match(n, left_l, first_l)
    except RefusedError:
        return
    assert 0 <= percent <= 100


@given(first=anything, first_l=anything, left=anything, left_l=anything)
def test_two_absorbances_lie_in_0_to_100_or_are_refused(
    first: float, first_l: float, left: float, left_l: float
) -> None:
    try:
        percent = exhaustion.absorbance(first, first_l, left, left_l)
    except RefusedError:
        return
    assert 0 <= percent <= 100


@given(n=st.floats(1, 200), share=st.floats(0.1, 1))
def test_a_jar_match_says_what_the_absorbances_say(n: float, share: float) -> None:
    assert exhaustion.jar_match(n, share, 1.0) == pytest.approx(
        exhaustion.absorbance(1.0, 1.0, 1 / n, share), abs=1e-6
    )


def test_a_match_of_one_in_ten_in_all_of_an_unchanged_bath_is_90_percent() -> None:
    assert exhaustion.jar_match(10, 2, 2) == pytest.approx(90)


def test_a_bath_that_boiled_down_counts_with_its_volumes() -> None:
    assert exhaustion.absorbance(0.95, 2.0, 0.062, 1.85) == pytest.approx(93.96, abs=0.01)
    assert exhaustion.absorbance(0.95, 2.0, 0.062, 2.0) == pytest.approx(93.47, abs=0.01)


def test_more_dye_left_than_was_put_in_is_refused_with_the_share() -> None:
    with pytest.raises(RefusedError, match="120 % of the dye"):
        exhaustion.absorbance(1.0, 1.0, 1.2, 1.0)


@pytest.mark.parametrize(("word", "span"), [("clear", (95, 100)), ("Tinted", (80, 95)), (" coloured ", (0, 80))])
def test_a_look_is_a_range(word: str, span: tuple[float, float]) -> None:
    assert exhaustion.by_eye(word) == span


def test_a_word_that_is_not_a_look_is_refused_with_those_that_are() -> None:
    with pytest.raises(RefusedError, match="clear, tinted, coloured"):
        exhaustion.by_eye("murky")


def test_a_mix_is_expected_to_exhaust_by_the_weight_of_its_dyes() -> None:
    assert exhaustion.expected_of_mix([(3, 95), (1, 75)]) == pytest.approx(90)


def test_a_mix_of_dyes_that_go_on_wholly_goes_on_wholly_whatever_their_weights_add_to() -> None:
    """These five weights' shares add to a little more than 1 as binary numbers."""
    assert exhaustion.expected_of_mix([(4.1, 100), (6.0, 100), (7.2, 100), (0.9, 100), (0.4, 100)]) <= 100


@given(
    st.lists(st.tuples(st.floats(0, 1000), st.floats(0, 100)), min_size=1).filter(lambda d: sum(w for w, _ in d) > 0)
)
def test_a_mix_is_never_expected_outside_its_dyes(dyes: list[tuple[float, float]]) -> None:
    weighing = [pct for weight, pct in dyes if weight > 0]

    assert min(weighing) - 1e-6 <= exhaustion.expected_of_mix(dyes) <= max(weighing) + 1e-6


@pytest.mark.parametrize("dyes", [[], [(0.0, 90.0)], [(1.0, 101.0)], [(-1.0, 90.0)]])
def test_a_mix_that_cannot_be_is_refused(dyes: list[tuple[float, float]]) -> None:
    with pytest.raises(RefusedError):
        exhaustion.expected_of_mix(dyes)


def test_a_ph_too_high_wants_acid_misted_on_painted_yarn_and_stirred_into_a_bath() -> None:
    painted, bath = (exhaustion.remedy(True, None, on_yarn, too_deep=False, most_ph=5.2) for on_yarn in (True, False))

    assert "mist acid" in painted
    assert "never pour" in painted
    assert "stir more acid" in bath
    assert "mist" not in bath


def test_a_ph_that_is_right_wants_more_heat() -> None:
    assert "more heat" in exhaustion.remedy(False, None, False, too_deep=False, most_ph=5.2)
    assert "acid" not in exhaustion.remedy(False, True, True, too_deep=False, most_ph=5.2)


def test_more_heat_is_for_the_minutes_of_the_heat_that_is_given_again() -> None:
    said = exhaustion.remedy(None, False, True, too_deep=False, most_ph=5.2, heat_min=40)
    assert said.endswith("then heat again for 40 min; else give it 40 min more heat, wrapped and wet")


def test_where_ph_and_heat_were_right_it_is_too_deep_and_rinsed_out() -> None:
    text = exhaustion.remedy(False, False, True, too_deep=True, most_ph=5.2)

    assert "rinse it out" in text
    assert "heat it" not in text


@pytest.mark.parametrize("heat_short", [True, False, None])
@pytest.mark.parametrize("ph_high", [True, False, None])
def test_a_depth_that_the_fibre_can_hold_is_never_said_to_be_too_much(
    ph_high: bool | None, heat_short: bool | None
) -> None:
    text = exhaustion.remedy(ph_high, heat_short, True, too_deep=False, most_ph=5.2)

    assert "hold: rinse" not in text
    assert "heat" in text
    if ph_high is False and heat_short is False:
        assert "the fibre can hold this depth: give it more heat" in text


TOO_DEEP = "there is more dye than the fibre can hold: rinse it out"


@pytest.mark.parametrize("painted", [True, False])
@pytest.mark.parametrize(
    ("ph_high", "heat_short", "wanted", "not_wanted"),
    # What a dyer does about colour left in the bath; common practice, no source.
    [
        (True, True, ("acid", "then heat"), (TOO_DEEP, "read the pH")),
        (True, False, ("acid", "then heat"), (TOO_DEEP, "read the pH")),
        (
            False,
            True,
            ("the pH is right", "more heat", f"if colour is still left, {TOO_DEEP}"),
            ("acid", "read the pH"),
        ),
        (
            False,
            None,
            ("the pH is right", "more heat", f"if colour is still left, {TOO_DEEP}"),
            ("acid", "read the pH"),
        ),
        (False, False, ("pH and heat were right", TOO_DEEP), ("acid", "more heat", "read the pH")),
        (
            None,
            True,
            ("read the pH", ": above 5.2, ", "acid", "else give", "more heat"),
            (TOO_DEEP,),
        ),
        (
            None,
            None,
            ("read the pH", ": above 5.2, ", "acid", "else give", "more heat"),
            (TOO_DEEP,),
        ),
        (
            None,
            False,
            ("read the pH", ": above 5.2, ", "acid", f"else {TOO_DEEP}"),
            ("more heat",),
        ),
    ],
)
def test_what_to_do_goes_by_what_was_read_of_ph_and_heat(
    ph_high: bool | None, heat_short: bool | None, wanted: tuple[str, ...], not_wanted: tuple[str, ...], painted: bool
) -> None:
    said = exhaustion.remedy(ph_high, heat_short, painted, too_deep=True, most_ph=5.2)

    assert [part for part in wanted if part not in said] == []
    assert [part for part in not_wanted if part in said] == []
    if "more heat" in said:
        assert ("wrapped and wet" in said) is painted
    if "read the pH" in said:
        assert ("of a drop squeezed out: above 5.2" in said) is painted


@given(first=st.floats(0.1, 5), first_l=st.floats(0.1, 20), thinner=st.floats(0.2, 5))
def test_a_bath_that_was_only_thinned_has_lost_no_dye(first: float, first_l: float, thinner: float) -> None:
    assert 0 <= exhaustion.absorbance(first, first_l, first / thinner, first_l * thinner) < 1e-6
