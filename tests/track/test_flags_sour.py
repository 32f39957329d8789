"""The flag about a bath that is too sour, and the remark at a reading of a soak.

The range of levelling dyes is Broadbent, 2001, Table 13.1; how far below is too far is common practice, no source.
"""

from __future__ import annotations

import pytest

from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.terms import FlagId, ReadingKind
from dyeday.track.reading_meaning import meaning
from tests.track.days import PLAN, at, day_of, flags, heated, now, plan_with, soaked

SOUR = FlagId.SOUR_BATH


def plan(says: str = 'class = "milling"') -> Plan:
    return read_plan(PLAN.replace('name = "Navy"\n', f'name = "Navy"\n{says}\n'))


def lines(ph: float, state: str = "paint") -> list[dict[str, object]]:
    return [at("10:00", "03", to=state), at("10:10", "03", reading="ph", value=ph)]


@pytest.mark.parametrize(("ph", "raised"), [(3.0, False), (2.9, True)])
def test_a_bath_more_than_two_below_its_dyes_is_sour(ph: float, raised: bool) -> None:
    """Milling dyes want pH 5 and more."""
    assert bool(flags(lines(ph), SOUR, "11:00", batch="03", plan=plan())) is raised


def test_a_sour_bath_says_its_numbers_and_never_bicarbonate() -> None:
    (flag,) = flags(lines(2.4), SOUR, "11:00", batch="03", plan=plan())

    assert flag.why == "pH 2.4 in the bath, its dyes need 5 and more"
    assert "never put bicarbonate" in flag.remedy


@pytest.mark.parametrize("says", ["", 'class = "levelling"'])
def test_without_a_range_or_within_it_no_bath_is_sour(says: str) -> None:
    assert not flags(lines(2.4), SOUR, "11:00", batch="03", plan=plan(says))


def test_yarn_that_is_painted_lies_in_no_bath_that_could_be_sour() -> None:
    painted = [at("10:00", "01", to="paint"), at("10:10", "01", reading="ph", value=1.5)]

    assert not flags(painted, SOUR, "11:00", plan=plan())


def test_a_sour_soak_is_not_a_flag() -> None:
    assert not flags(lines(1.5, "soak"), SOUR, "11:00", batch="03", plan=plan())


FAR = "far more acidic than the 4.5 you need; is it the right bottle?"
NEAR = "more acidic than the 4.5 you need"


@pytest.mark.parametrize(
    ("ph", "remark"),
    [
        (2.4, FAR),
        (2.5, f"{NEAR}; it does not harm wool, but dye goes on fast"),
        (3.7, f"{NEAR}; it does not harm wool, but dye goes on fast"),
        (3.8, "good: the target is 4.5"),
    ],
)
def test_a_soak_below_its_target_by_more_than_a_strip_can_tell_says_so(ph: float, remark: str) -> None:
    day = day_of([at("09:00", "01", to="soak", unit="tray 1")])

    assert meaning(day, day.batches["01"], ReadingKind.PH, ph, now("09:10")) == f", {remark}"


@pytest.mark.parametrize(("ph", "said"), [(2.5, NEAR), (3.6, NEAR), (2.4, FAR)])
def test_a_pot_below_its_target_is_diluted_before_its_dye_goes_on_unevenly(ph: float, said: str) -> None:
    dyed = [at("09:00", "03", to="paint", unit="pot 1")]
    day, cool = day_of(dyed), day_of([*dyed, *heated("03", "09:05", "10:30", unit="pot 1")])
    uneven = f", {said}; the dye goes on too fast to be even"
    lift = "lift the yarn, replace a third of the bath with tap water, and read again"

    assert meaning(day, day.batches["03"], ReadingKind.PH, ph, now("09:10")) == f"{uneven}; {lift}"
    assert meaning(cool, cool.batches["03"], ReadingKind.PH, ph, now("10:40")) == f"{uneven}; look for patches"


def test_a_low_ph_after_the_heat_of_painted_yarn_does_not_warn_of_dye_that_is_already_on() -> None:
    day = day_of([*soaked(), *heated()])

    assert meaning(day, day.batches["01"], ReadingKind.PH, 3.4, now("12:00")) == f", {NEAR}; it does not harm wool"


@pytest.mark.parametrize(("ph", "said"), [(3.6, "good: the target is 4.5"), (3.4, FAR)])
def test_a_ph_that_is_far_too_low_is_never_good_however_much_the_plan_lets_a_strip_be_off(
    ph: float, said: str
) -> None:
    day = day_of([at("09:00", "03", to="paint", unit="pot 1")], plan_with("ph_limit = 2\nph_low = 1"))

    assert meaning(day, day.batches["03"], ReadingKind.PH, ph, now("09:10")).startswith(f", {said}")


def test_a_pot_within_the_range_of_its_dyes_is_good_far_below_the_usual_target() -> None:
    """Levelling dyes want pH 2 to 4."""
    day = day_of([at("09:00", "03", to="paint", unit="pot 1")], plan('class = "levelling"'))

    assert meaning(day, day.batches["03"], ReadingKind.PH, 2.0, now("09:10")).startswith(", good")
