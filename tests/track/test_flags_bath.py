"""Flags about what was left in the bath. Their thresholds are common practice, not a published standard.

So are the ranges a look stands for: clear 95-100, tinted 80-95, coloured 0-80 % exhausted.
"""

from __future__ import annotations

from typing import Any

import pytest

from dyeday.plan.reading.plan_reader import read_plan
from dyeday.studio.carry_over import carried_event
from dyeday.terms import FlagId
from tests.track.days import PLAN, Line, at, day_of, flags, heated, instant, plan_with, soaked

UNDER, NO_LOOK = FlagId.UNDER_EXHAUSTED, FlagId.NO_BATH_READING


def pot(batch: str = "03") -> list[Line]:
    """Return a batch simmered for 30 min with acid on record; off the heat at 10:50, cool by 15:50."""
    return [
        at("10:00", batch, to="paint", unit="pot 1"),
        at("10:01", batch, acid_ml=80),
        at("10:05", batch, heat_no=1, run="start", unit="pot 1"),
        at("10:50", batch, heat_no=1, run="end"),
        at("10:50", batch, to="cool"),
    ]


def look(reading: str, value: Any, time: str = "16:00", batch: str = "03", **keys: Any) -> Line:
    return at(time, batch, reading=reading, value=value, **keys)


@pytest.mark.parametrize(("word", "raised"), [("clear", False), ("tinted", False), ("coloured", True)])
def test_a_look_is_held_to_the_better_end_of_its_range(word: str, raised: bool) -> None:
    """Clear is 95-100, tinted 80-95, coloured 0-80 against the expected 90 %: tinted may be enough."""
    assert bool(flags([*pot(), look("eye", word)], UNDER, "20:00", batch="03")) is raised


def test_a_look_that_cannot_be_enough_says_where_and_its_range() -> None:
    """Coloured is 80 % at best."""
    (coloured,) = flags([*pot(), look("eye", "coloured", where="pot")], UNDER, "20:00", batch="03")
    assert coloured.why == "bath coloured: under 80 % of the dye taken up, 90 % expected"


@pytest.mark.parametrize(
    ("rules", "raised"),
    [("exhaustion = 95", False), ("exhaustion = 94.9", False), ("exhaustion = 95.1", True)],
)
def test_what_is_expected_is_the_plans_to_set(rules: str, raised: bool) -> None:
    """[rules] exhaustion against the 95 that tinted reaches: exactly met is met."""
    found = flags([*pot(), look("eye", "tinted")], UNDER, "20:00", batch="03", plan=plan_with(rules))
    assert bool(found) is raised


@pytest.mark.parametrize(("match", "raised"), [(10.01, False), (10, False), (9.99, True)])
def test_a_jar_that_matches_one_in_ten_is_exactly_ninety_per_cent(match: float, raised: bool) -> None:
    """All 8 L of the recipe still there, a tenth as strong: 90 % went into the wool."""
    reading = look("jar", {"match": match, "left_l": 8.0})
    assert bool(flags([*pot(), reading], UNDER, "20:00", batch="03")) is raised


def test_an_exhaustion_a_hair_short_is_told_apart_from_what_was_expected() -> None:
    """Not "90 %, expected 90 %"."""
    (flag,) = flags([*pot(), look("jar", {"match": 9.99, "left_l": 8.0})], UNDER, "20:00", batch="03")
    assert flag.why == "89.99 % taken up by jar match, 90.00 % expected"


def test_a_bath_that_boiled_down_holds_less_than_its_strength_says() -> None:
    """One in eight of 4 L left out of 8 is 93.75 %; of all 8 L it is 87.5 %, said as a jar match."""
    assert not flags([*pot(), look("jar", {"match": 8, "left_l": 4.0})], UNDER, "20:00", batch="03")
    (flag,) = flags([*pot(), look("jar", {"match": 8, "left_l": 8.0})], UNDER, "20:00", batch="03")
    assert flag.why == "88 % taken up by jar match, 90 % expected"


def test_a_jars_own_first_volume_stands_over_the_recipes() -> None:
    """8 L left out of 16 at first, an eighth as strong: 93.75 %."""
    reading = look("jar", {"match": 8, "left_l": 8.0, "first_l": 16.0})
    assert not flags([*pot(), reading], UNDER, "20:00", batch="03")


@pytest.mark.parametrize(("left", "raised"), [(0.1, False), (0.1001, True)])
def test_an_absorbance_is_held_to_the_same_ninety_per_cent(left: float, raised: bool) -> None:
    """(A0·V0 − At·Vt) / (A0·V0), the published ratio with the volumes kept."""
    reading = look("absorbance", {"first": 1.0, "first_l": 8.0, "left": left, "left_l": 8.0})
    found = flags([*pot(), reading], UNDER, "20:00", batch="03")
    assert bool(found) is raised
    assert all("by absorbance" in flag.why for flag in found)


def test_a_dye_known_to_leave_colour_is_held_to_its_own_value() -> None:
    """Turquoise is expected at 80 %, which coloured reaches at best; a jar at 79.9 % does not."""
    assert not flags([*pot("11"), look("eye", "coloured", batch="11")], UNDER, "20:00", batch="11")
    jar = look("jar", {"match": 4.9, "left_l": 4.0}, batch="11")
    (flag,) = flags([*pot("11"), jar], UNDER, "20:00", batch="11")
    assert flag.why == "79.6 % taken up by jar match, 80.0 % expected"


@pytest.mark.parametrize(("celsius", "raised"), [(40.0, True), (41.0, False)])
def test_a_bath_read_hot_is_not_judged(celsius: float, raised: bool) -> None:
    """Above 40 °C it still gives dye to the fibre: it is to be read again when cool."""
    lines = [*pot(), at("15:59", "03", reading="bath_c", value=celsius), look("eye", "coloured")]
    assert bool(flags(lines, UNDER, "20:00", batch="03")) is raised


@pytest.mark.parametrize(("read_at", "raised"), [("11:00", True), ("10:59:59", True), ("11:00:01", False)])
def test_a_bath_read_hot_has_cooled_once_its_cooling_time_is_over(read_at: str, raised: bool) -> None:
    """70 °C right after the heat does not make a look of five hours later hot."""
    lines = [*pot(), at(read_at, "03", reading="bath_c", value=70), look("eye", "coloured")]
    assert bool(flags(lines, UNDER, "20:00", batch="03")) is raised


def test_a_bath_without_a_temperature_is_hot_until_its_cooling_time_is_over() -> None:
    """Off the heat at 10:50, five hours to cool: judged from the minute in which the row offers its rinse."""
    assert not flags([*pot(), look("eye", "coloured", "15:49")], UNDER, "20:00", batch="03")
    assert flags([*pot(), look("eye", "coloured", "15:49:01")], UNDER, "20:00", batch="03")


def test_a_look_while_the_heat_is_on_is_not_judged() -> None:
    """In fix the bath is hot."""
    lines = [*pot()[:3], look("eye", "coloured", "10:30")]
    assert not flags(lines, UNDER, "20:00", batch="03")


def test_a_look_at_the_first_rinse_is_judged() -> None:
    """By then it is cool."""
    lines = [*pot(), at("12:00", "03", to="rinse"), look("eye", "coloured", "12:01", where="first rinse")]
    assert flags(lines, UNDER, "20:00", batch="03")


@pytest.mark.parametrize("where", [{"where": "first rinse"}, {}])
def test_the_first_rinse_of_a_deep_shade_shows_loose_dye_and_is_not_judged(where: dict[str, str]) -> None:
    """Heather carries 2.5 %: the second rinse is judged, said or not where the first was looked at."""
    lines = [*soaked("02"), *heated("02"), at("12:30", "02", to="rinse")]
    first = look("eye", "coloured", "12:31", "02", **where)
    assert not flags([*lines, first], UNDER, "20:00", batch="02")
    assert not flags([*lines, first, look("eye", "clear", "12:40", "02")], UNDER, "20:00", batch="02")
    assert flags([*lines, first, look("eye", "coloured", "12:40", "02")], UNDER, "20:00", batch="02")
    assert flags([*lines, look("eye", "coloured", "12:25", "02", where="puddle")], UNDER, "20:00", batch="02")


@pytest.mark.parametrize(
    ("more", "raised"),
    [
        ([look("eye", "clear", "17:00", where="pot")], False),
        ([look("eye", "tinted", "17:00", where="pot")], False),
        ([look("eye", "coloured", "17:00", where="pot")], True),
        ([at("17:00", "03", to="rinse"), look("eye", "clear", "17:02")], False),
        ([at("17:00", "03", to="rinse"), look("cloth", "clean", "17:05")], False),
        ([at("17:00", "03", to="rinse"), look("cloth", "faint", "17:05")], True),
        ([look("cloth", "clean", "16:30")], True),
        ([at("16:30", "03", heat_no=1, run="start", unit="pot 1"), look("eye", "clear", "17:00")], True),
    ],
)
def test_colour_left_is_answered_by_a_later_clear_look_or_a_clean_cloth_after_the_rinse(
    more: list[Line], raised: bool
) -> None:
    """A bath that is hot again tells nothing, nor does a cloth before any rinse."""
    assert bool(flags([*pot(), look("eye", "coloured"), *more], UNDER, "20:00", batch="03")) is raised


def test_colour_that_comes_again_is_flagged_again() -> None:
    looks = [look("eye", "coloured"), look("eye", "clear", "16:10"), look("eye", "coloured", "16:20")]
    (flag,) = flags([*pot(), *looks], UNDER, "20:00", batch="03")
    assert flag.since == instant("16:20")


def test_of_yarn_that_hangs_to_dry_the_remedy_is_a_cloth() -> None:
    """Its bath was poured away."""
    hung = [at("17:00", "03", to="rinse"), at("17:10", "03", to="dry", unit="pegs 1")]
    assert remedy_of(*hung).startswith("press a wet white cloth on it; clean: it is fixed")


def remedy_of(*more: Line) -> str:
    (flag,) = flags([*pot(), look("eye", "coloured"), *more], UNDER, "20:00", batch="03")
    return flag.remedy


def test_the_remedy_goes_by_what_was_read() -> None:
    """pH too high: acid. pH and heat right: too deep for the fibre. Nothing read: read the pH."""
    acid = remedy_of(at("15:55", "03", reading="ph", value=6.0))
    assert "stir more acid into the bath, then heat again for 30 min" in acid
    assert "rinse it out" in remedy_of(at("15:55", "03", reading="ph", value=4.6))
    assert remedy_of().startswith("read the pH: above ")


def test_with_the_ph_right_and_little_heat_the_remedy_is_more_heat() -> None:
    """Ten minutes at heat of thirty."""
    short = [{**line, "at": instant("10:25").isoformat()} if line.get("run") == "end" else line for line in pot()]
    (flag,) = flags(
        [*short, at("15:55", "03", reading="ph", value=4.6), look("eye", "coloured")], UNDER, "20:00", batch="03"
    )
    assert flag.remedy.startswith("the pH is right: give the bath more heat")


def test_painted_yarn_is_never_to_have_acid_poured_on_it() -> None:
    """On painted yarn the acid is misted."""
    lines = [*soaked(), *heated(), at("12:30", "01", reading="ph", value=6.5)]
    (flag,) = flags([*lines, look("eye", "coloured", "12:30", "01", where="puddle")], UNDER, "20:00")
    assert "mist acid water over the yarn (never pour it)" in flag.remedy


def test_dye_of_the_next_layer_changes_no_remedy_of_the_layer_before() -> None:
    """The pH read in the first layer stays that of its bath."""
    lines = [
        *soaked("05"),
        at("10:05", "05", reading="ph", value=7.0),
        *heated("05"),
        look("eye", "coloured", "12:30", "05", where="puddle"),
    ]
    before, after = (
        flags([*lines, *more], UNDER, "13:40", batch="05") for more in ([], [at("13:00", "05", to="paint")])
    )
    assert [flag.remedy for flag in before] == [flag.remedy for flag in after]
    assert before[0].remedy.startswith("the pH is too high")


def rinsed(*between: Line, then: str = "dry") -> list[Line]:
    return [*soaked(), *heated(), *between, at("12:30", "01", to="rinse"), at("12:40", "01", to=then)]


def test_rinsed_without_a_look_at_the_bath_is_flagged_when_the_rinse_ends() -> None:
    """Its remedy is what can still be done: a wet white cloth."""
    (flag,) = flags(rinsed(), NO_LOOK, "20:00")
    assert flag.since == instant("12:40")
    assert "no look at what was left" in flag.why
    assert "white cloth" in flag.remedy


@pytest.mark.parametrize("time", ["12:00", "12:30", "12:39", "12:40"])
def test_a_look_up_to_the_end_of_the_rinse_is_a_look(time: str) -> None:
    """The first rinse shows it too."""
    assert not flags(rinsed(look("eye", "clear", time, "01")), NO_LOOK, "20:00")


def test_a_look_a_second_after_the_rinse_is_too_late() -> None:
    """What ran down the drain cannot be looked at."""
    assert flags(rinsed(look("eye", "clear", "12:40:01", "01")), NO_LOOK, "20:00")


@pytest.mark.parametrize(
    ("reading", "value"),
    [
        ("jar", {"match": 12, "left_l": 0.1}),
        ("absorbance", {"first": 1.0, "first_l": 0.27, "left": 0.05, "left_l": 0.2}),
    ],
)
def test_a_jar_or_an_absorbance_is_a_look_too(reading: str, value: Any) -> None:
    """Any way of saying what was left will do."""
    assert not flags(rinsed(look(reading, value, "12:00", "01")), NO_LOOK, "20:00")


def test_a_cloth_or_a_ph_is_not_a_look_at_the_bath() -> None:
    """They say something else."""
    lines = rinsed(look("cloth", "clean", "12:35", "01"), look("ph", 4.6, "12:20", "01"))
    assert flags(lines, NO_LOOK, "20:00")


def test_a_look_before_dye_went_on_is_not_a_look_at_this_bath() -> None:
    """The puddle of an hour before is another puddle."""
    assert flags(rinsed(look("eye", "clear", "09:30", "01")), NO_LOOK, "20:00")


@pytest.mark.parametrize("before", [[], [at("09:00", "01", to="soak", unit="tray 1")]])
def test_a_look_at_yarn_without_dye_is_judged_before_its_soak_as_in_it(before: list[Line]) -> None:
    """Colour left that was entered for the wrong batch is questioned at once."""
    assert flags([*before, look("eye", "coloured", "09:10", "01")], UNDER, "09:10")


def test_nothing_is_missing_while_the_rinse_goes_on() -> None:
    """There is still time to look."""
    assert not flags(rinsed()[:-1], NO_LOOK, "20:00")


def test_a_rinse_interrupted_by_setting_aside_is_judged_when_it_goes_on() -> None:
    """Set aside it has not finished its rinse; dried afterwards it has."""
    aside = rinsed(then="set-aside")
    assert not flags(aside, NO_LOOK, "20:00")
    assert not flags([*aside, at("13:00", "01", to="rinse")], NO_LOOK, "20:00")
    assert flags([*aside, at("13:00", "01", to="dry")], NO_LOOK, "20:00")


def test_without_a_rule_a_look_is_wanted_only_of_a_lot_that_is_known_to_bleed() -> None:
    """Where another batch of the lot left colour before; that its dyes may leave some does not count."""
    usual = read_plan(PLAN)
    assert not flags(rinsed(), NO_LOOK, "20:00", plan=usual)
    lagoon = [*pot("11"), at("16:00", "11", to="rinse"), at("16:20", "11", to="dry")]
    assert not flags(lagoon, NO_LOOK, "20:00", batch="11", plan=usual)
    eight = [*heated("08"), at("12:30", "08", to="rinse"), at("12:40", "08", to="dry")]
    jumper = [*soaked("08", "08:00", "09:00"), *soaked("09", "08:00", "09:00", "tray 2"), *eight]
    assert not flags(jumper, NO_LOOK, "20:00", batch="08", plan=usual)
    nine = [*heated("09", "09:05", "09:55", "steamer 2"), look("eye", "coloured", "11:30", "09")]
    assert flags([*jumper, *nine], NO_LOOK, "20:00", batch="08", plan=usual)
    assert not flags([*jumper, *nine], NO_LOOK, "20:00", batch="08", plan=plan_with('look = "never"'))
    late = [*nine[:-1], look("eye", "coloured", "16:00", "09")]
    assert not flags([*jumper, *late], NO_LOOK, "20:00", batch="08", plan=usual)


def test_a_look_that_was_missed_stays_missed_on_the_day_the_batch_is_carried_to() -> None:
    """Its colourway is known to bleed from a batch that is not carried."""
    usual = plan_with('look = "when known to bleed"')
    nine = [*soaked("09", "08:00", "09:00"), *heated("09", "09:05", "09:55"), look("eye", "coloured", "11:30", "09")]
    eight = [*soaked("08", "08:00", "09:00", "tray 2"), *heated("08", unit="steamer 2")]
    lines = [*nine, *eight, at("12:30", "08", to="rinse"), at("12:40", "08", to="dry")]
    (missed,) = flags(lines, NO_LOOK, "20:00", batch="08", plan=usual)
    day = day_of(lines, usual)
    over = at("24:30", "08", **carried_event(day, "2026-04-18-1", day.batches["08"]).to_json())
    (carried,) = flags([over], NO_LOOK, "26:00", batch="08", plan=usual)
    assert (carried.since, carried.why, carried.is_carried) == (missed.since, missed.why, True)


def test_a_scrapped_batch_needs_no_look() -> None:
    """They are not sold."""
    assert not flags(rinsed(then="scrapped"), NO_LOOK, "20:00")


def test_yarn_that_was_only_washed_needs_no_look() -> None:
    """Without dye there is no bath to look at."""
    assert not flags([at("09:00", "01", to="rinse"), at("09:10", "01", to="dry")], NO_LOOK, "20:00")


def test_a_flag_cleared_before_a_clear_look_stays_on_record_with_its_reason() -> None:
    lines = [*soaked(), *heated(), look("eye", "coloured", "12:30", "01")]
    clearing = at("12:35", "01", rule="under-exhausted", why="known: rinse it out")
    (flag,) = flags([*lines, clearing, look("eye", "clear", "13:00", "01")], UNDER, "14:00", batch="01")
    assert flag.cleared is not None
