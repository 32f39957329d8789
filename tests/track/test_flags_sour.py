"""The flag about a bath that is too sour, and the remark at a reading of a soak.

The range of levelling dyes is Broadbent, 2001, Table 13.1; how far below is too far is common practice, no source.
"""

from __future__ import annotations

import pytest

from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.terms import FlagId, ReadingKind
from dyeday.track.reading_meaning import meaning
from tests.track.days import PLAN, at, day_of, flags, now

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


@pytest.mark.parametrize(
    ("ph", "remark"), [(2.0, "far more acidic than the 4.5 you need; is it the right bottle?"), (2.5, "good")]
)
def test_a_soak_far_below_its_target_asks_for_the_bottle(ph: float, remark: str) -> None:
    day = day_of([at("09:00", "01", to="soak", unit="tray 1")])

    assert remark in meaning(day, day.batches["01"], ReadingKind.PH, ph, now("09:10"))
