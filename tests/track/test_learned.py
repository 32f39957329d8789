"""Minutes read off the record, and what is learned from them.

The constant 1.4826 that makes the median absolute deviation a standard deviation is 1 / Φ⁻¹(3/4), worked out here
by the standard library's normal distribution. Newton's law is checked against the cheesecake of the open algebra text
in the trade's tables (165 °F in a refrigerator of 35 °F, 150 °F after 10 min, 70 °F after 107 min).
"""

from __future__ import annotations

from dataclasses import replace
from math import exp
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.plan.reading.plan_reader import read_plan
from dyeday.terms import WorkKind
from dyeday.track.day.room_air import weather_ratio
from dyeday.track.durations import (
    MAD_TO_SIGMA,
    PRIOR_SPREAD,
    ObservedDuration,
    durations_of,
    expected_min,
    learned,
    to_reckon_with,
)
from tests.track.days import PLAN, Line, at, day_of, heated, plan_with, proper, soaked


def durations(lines: list[Line], kind: WorkKind, more: str = "") -> list[ObservedDuration]:
    plan = plan_with(more=more)
    return [one for one in durations_of(day_of(lines, plan)) if one.kind == kind]


def test_a_painted_batch_tells_how_long_its_paint_and_rinse_took() -> None:
    # three skeins of 100 g at 6 min per 100 g, from ten to half past; rinsed 15 min where 6 were planned
    assert durations(proper(), WorkKind.PAINTED) == [ObservedDuration(WorkKind.PAINTED, 18.0, 30.0, "01")]
    assert durations(proper(), WorkKind.RINSE) == [ObservedDuration(WorkKind.RINSE, 6.0, 15.0, "01")]


def test_two_batches_painted_at_once_share_the_hands() -> None:
    lines = [*proper("01"), *soaked("05"), *heated("05", "10:30", "11:20", "steamer 2")]
    assert [(one.batch, one.actual_min) for one in durations(lines, WorkKind.PAINTED)] == [("01", 15.0), ("05", 15.0)]


def times_of(lines: list[Line], hours: str = "") -> dict[str, tuple[float, bool]]:
    """Return the minutes of painting by batch, and whether they are at most, on a day with more keys of its hours."""
    plan = read_plan(PLAN.replace('zone = "UTC"', f'zone = "UTC"\n{hours}'))
    seen = [one for one in durations_of(day_of(lines, plan)) if one.kind is WorkKind.PAINTED]
    return {one.batch: (one.actual_min, one.at_most) for one in seen}


def test_hands_are_at_what_was_begun_last() -> None:
    """05 is painted from 10:10 to 10:20: 01, begun at 10:00 and in the paint state until 10:30, has the rest."""
    later = [*soaked("05", "09:30", "10:10", "tray 2"), at("10:20", "05", to="fix")]
    assert times_of([*proper(), *later]) == {"01": (20.0, False), "05": (10.0, False)}


def test_a_chore_begun_while_yarn_is_in_the_paint_state_is_not_its_painting() -> None:
    """Another batch's chore, or the day's; its own, such as wrapping, is planned and counted with it."""
    for batch, minutes in (("02", 25.0), ("01", 30.0)):
        chore = [
            at("10:10", batch, event="chore begun", chore="tie"),
            at("10:15", batch, event="chore", chore="tie"),
        ]
        assert times_of([*proper(), *chore])["01"] == (minutes, False)


def test_a_break_and_an_absence_are_not_minutes_of_hands() -> None:
    """A break of 10 min and then 5 min out of the house, in 30 min of the paint state."""
    assert times_of(proper(), 'breaks = ["10:05-10:15"]\nout = ["10:20-10:25"]')["01"] == (15.0, False)
    assert times_of(proper(), 'breaks = ["10:30-11:00"]')["01"] == (30.0, False)


def test_painting_that_ended_as_its_unit_came_free_took_at_most_so_long() -> None:
    """The steamer was taken until 10:25: yarn that goes in at 10:30 was painted before; until 10:15, it was not."""
    for freed, at_most in (("10:25", True), ("10:15", False)):
        before = [*soaked("05", "08:00", "08:30", "tray 2"), *heated("05", "08:40", freed)]
        assert times_of([*before, *proper()])["01"] == (30.0, at_most)


def test_painting_through_an_hour_without_an_entry_took_at_most_so_long() -> None:
    for until, at_most in (("10:59", False), ("11:00", True)):
        lines = [*soaked(), at(until, "01", to="fix")]
        assert times_of(lines)["01"][1] is at_most
        foreseen = at("10:40", event="foreseen", hands_off="2026-04-18T17:00:00Z", late="2026-04-18T18:00:00Z")
        assert times_of([*lines, foreseen])["01"][1] is at_most  # no key of the dyer


def test_with_four_hands_two_batches_at_once_share_nothing() -> None:
    lines = [*proper("01"), *soaked("05"), *heated("05", "10:30", "11:20", "steamer 2")]
    plan = plan_with()
    two = replace(plan, session=replace(plan.session, hands=2))
    assert [one.actual_min for one in durations_of(day_of(lines, two)) if one.kind == WorkKind.PAINTED] == [30] * 2


def test_chores_that_lie_in_a_stretch_are_planned_with_it() -> None:
    chore = '[[chore]]\nname = "wrap"\nminutes = 2\nper = "skein"\nwhen = "after paint"'
    assert durations(proper(), WorkKind.PAINTED, chore)[0].planned_min == 24.0


def test_the_first_batch_of_a_lot_is_allowed_its_setup() -> None:
    plan = plan_with()
    layer = replace(plan.colourway("Harbour").layers[0], setup_min=10.0)
    harbour = replace(plan.colourway("Harbour"), layers=(layer,))
    changed = replace(plan, colourways=tuple(harbour if c.name == "Harbour" else c for c in plan.colourways))
    # 08 and 09 are four skeins each of one lot
    lines = [*soaked("09", "09:00", "09:30"), at("10:00", "09", to="fix"), *soaked("08"), at("10:30", "08", to="fix")]
    assert [
        (one.batch, one.planned_min) for one in durations_of(day_of(lines, changed)) if one.kind == WorkKind.PAINTED
    ] == [
        ("09", 34.0),
        ("08", 24.0),
    ]


def test_what_a_stretch_was_planned_to_take_stays_when_its_batch_is_overdyed() -> None:
    """The mix of 08 was set up for it alone, and 09 was painted from it."""
    text = PLAN.replace('name = "Harbour"\nfix', 'name = "Harbour"\nsetup = 10\nfix')
    lines = [*soaked("08"), at("10:40", "08", to="fix"), *soaked("09", until="10:40"), at("11:10", "09", to="fix")]
    overdyed = [at("11:11", "09", to="cool"), at("12:30", "09", event="overdyed", colourway="Heather")]
    for more in ([], overdyed):
        observed = durations_of(day_of([*lines, *more], read_plan(text)))
        assert [one.planned_min for one in observed if one.kind is WorkKind.PAINTED] == [34, 24]


def test_loading_and_unloading_are_reported_where_hands_did_nothing_else_meanwhile() -> None:
    lines = [
        *soaked("01"),
        at("10:30", "01", to="fix"),
        at("10:33", "01", heat_no=1, run="start", unit="steamer 1"),
        at("11:23", "01", heat_no=1, run="end"),
        at("11:27", "01", to="cool"),
    ]
    assert durations(lines, WorkKind.LOAD) == [ObservedDuration(WorkKind.LOAD, 2.0, 3.0, "01")]
    assert durations(lines, WorkKind.UNLOAD) == [ObservedDuration(WorkKind.UNLOAD, 2.0, 4.0, "01")]
    between = [at("10:31", "05", to="soak"), at("11:25", "05", to="paint")]
    assert durations([*lines, *between], WorkKind.LOAD) == []
    assert durations([*lines, *between], WorkKind.UNLOAD) == []


def test_a_unit_that_was_busy_is_loaded_from_when_it_came_free() -> None:
    lines = [
        *soaked("01"),
        *soaked("05"),
        at("10:20", "05", to="fix"),
        at("10:22", "05", heat_no=1, run="start", unit="steamer 1"),
        at("10:30", "01", to="fix"),
        at("11:10", "05", heat_no=1, run="end"),
        at("11:13", "01", heat_no=1, run="start", unit="steamer 1"),
        at("12:00", "01", heat_no=1, run="end"),
        at("12:02", "01", to="cool"),
    ]
    assert [(one.batch, one.actual_min) for one in durations(lines, WorkKind.LOAD)] == [("01", 3.0), ("05", 2.0)]


def test_two_keys_in_one_go_tell_nothing() -> None:
    assert durations(proper(), WorkKind.LOAD) == []


def test_a_batch_split_in_its_paint_has_the_hands_until_its_parts_are_done() -> None:
    """01 is painted from 10:00 to 10:15 beside 08, which has the other 165 min of its three hours, split or not."""
    for parts in ((), ("01a", "01b")):
        lines = [
            at("09:00", "08", to="paint"),
            at("10:00", "01", to="paint"),
            *([at("10:10", "01", into={"01a": 2, "01b": 1})] if parts else []),
            *(at("10:15", no, to="fix") for no in parts or ("01",)),
            at("12:00", "08", to="fix"),
        ]
        assert times_of(lines)["08"][0] == 165.0


def test_what_was_split_meanwhile_tells_nothing_and_nothing_is_reported_twice() -> None:
    early = [*soaked("01"), at("10:10", "01", into={"01a": 2, "01b": 1}), at("10:30", "01a", to="fix")]
    assert durations(early, WorkKind.PAINTED) == []
    late = [*proper("01"), at("13:00", "01", into={"01a": 2, "01b": 1})]
    assert len(durations(late, WorkKind.PAINTED)) == 1


def test_void_entries_tell_nothing() -> None:
    lines = [*soaked("01"), {**at("10:30", "01", to="fix"), "id": "slip"}]
    assert len(durations(lines, WorkKind.PAINTED)) == 1
    assert durations([*lines, at("10:31", strikes="slip")], WorkKind.PAINTED) == []


def test_readings_while_it_cools_give_the_minutes_until_it_may_be_rinsed() -> None:
    # the cheesecake, °F as given: 165 → 150 in 10 min in 35 °F, and 70 °F comes at 107 min
    def c(fahrenheit: float) -> float:
        return (fahrenheit - 32) / 1.8

    air = f'[air]\ntemperature = "{c(35):.6f} °C"'
    water = f'[water]\ntemperature = "{c(70) - 10:.6f} °C"'
    lines = [
        *soaked("02"),
        *heated("02"),
        at("11:20", "02", reading="yarn_c", value=c(165)),
        at("11:30", "02", reading="yarn_c", value=c(150)),
    ]
    (one,) = durations(lines, WorkKind.COOL_OUT, f"{air}\n{water}")
    assert one.planned_min == 60
    assert one.actual_min == pytest.approx(107, abs=0.6)


def test_one_reading_or_readings_before_the_heat_tell_nothing_of_cooling() -> None:
    lines = [*soaked("02"), *heated("02"), at("11:30", "02", reading="yarn_c", value=60)]
    assert durations(lines, WorkKind.COOL_OUT) == []


def test_two_weights_on_the_pegs_tell_when_the_water_will_be_gone() -> None:
    # 300 g hung up at 390 g lost half its water in six hours
    lines = [
        *proper("01"),
        at("12:44", "01", reading="spun_g", value=390),
        at("18:45", "01", reading="weight_g", value=345),
    ]
    (one,) = durations(lines, WorkKind.DRY)
    assert one.planned_min == 24 * 60
    assert one.actual_min == pytest.approx(12 * 60)
    assert not one.at_most


def test_taken_down_in_the_morning_is_dry_by_then_and_no_more_is_said() -> None:
    lines = [*proper("01"), at("32:45", "01", to="done")]
    (one,) = durations(lines, WorkKind.DRY)
    assert (one.actual_min, one.at_most) == (20 * 60, True)
    assert learned([one])[WorkKind.DRY].factor < 1
    assert WorkKind.DRY not in learned([ObservedDuration(WorkKind.DRY, 600, 1200, at_most=True)])


def test_damp_air_is_allowed_for_before_drying_is_judged() -> None:
    # 15 °C and 80 % takes 3.3 times as long as 22 °C and 50 % (wet bulbs by CoolProp, in the trade's tables)
    damp, fair = (
        plan_with(more='[air]\ntemperature = "15 °C"\nhumidity = "80 %"'),
        plan_with(more='[air]\ntemperature = "22 °C"\nhumidity = "50 %"'),
    )
    assert weather_ratio(damp) / weather_ratio(fair) == pytest.approx(3.3, abs=0.1)
    assert weather_ratio(plan_with()) == 1.0


def test_a_few_observations_move_the_plan_a_little_and_many_move_it_most_of_the_way() -> None:
    one = learned([ObservedDuration(WorkKind.RINSE, 10, 20)])[WorkKind.RINSE]
    many = learned([ObservedDuration(WorkKind.RINSE, 10, 20)] * 36)[WorkKind.RINSE]
    assert (one.n, many.n) == (1, 36)
    assert one.factor == pytest.approx(2 ** (1 / 5))
    assert one.spread == pytest.approx(PRIOR_SPREAD * (4 / 5) ** 0.5)
    assert many.factor == pytest.approx(2**0.9)
    assert many.spread == pytest.approx(PRIOR_SPREAD * 0.1**0.5)


def test_one_wild_afternoon_changes_nothing() -> None:
    usual = [ObservedDuration(WorkKind.PAINTED, 20, minutes) for minutes in (22, 23, 24, 24, 25, 26, 27)]
    with_wild = learned([*usual, ObservedDuration(WorkKind.PAINTED, 20, 400)])[WorkKind.PAINTED]
    assert with_wild.factor == pytest.approx(learned(usual)[WorkKind.PAINTED].factor, rel=0.05)


def test_the_spread_of_normal_logarithms_is_found_again() -> None:
    assert pytest.approx(1 / NormalDist().inv_cdf(0.75), abs=5e-5) == MAD_TO_SIGMA
    draws = [NormalDist(0.0, 0.4).inv_cdf((n + 0.5) / 400) for n in range(400)]
    assert learned(ObservedDuration(WorkKind.RINSE, 10, 10 * exp(x)) for x in draws)[
        WorkKind.RINSE
    ].spread == pytest.approx(0.4, abs=0.01)


def test_how_long_yarn_lay_is_reported_and_never_used() -> None:
    found = learned(durations_of(day_of(proper())))
    assert found[WorkKind.SOAK].n == 1
    assert WorkKind.SOAK not in to_reckon_with(found)
    assert expected_min(WorkKind.RINSE, 10, to_reckon_with(found)) == pytest.approx(10 * found[WorkKind.RINSE].factor)
    assert expected_min(WorkKind.DRY, 10, {}) == 10


@given(st.lists(st.floats(0.05, 20), min_size=1, max_size=40))
def test_a_factor_lies_between_the_plan_and_the_extremes_seen(ratios: list[float]) -> None:
    found = learned(ObservedDuration(WorkKind.PAINTED, 10, 10 * ratio) for ratio in ratios)[WorkKind.PAINTED]
    low, high = min(1.0, *ratios), max(1.0, *ratios)
    assert low - 1e-9 <= found.factor <= high + 1e-9
    assert found.n == len(ratios)
    assert found.spread > 0
