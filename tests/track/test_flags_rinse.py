"""Flags about the rinse and the wool. Their thresholds are common practice, not a published standard.

Grades of a cloth are those of the grey scale for staining, ISO 105-A03: 5 no stain, 1 the worst. What a word
means as a grade (clean 5, faint 4, marked 3-4) is common practice.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.terms import FlagId
from dyeday.track.flags.rinsing import bleeding_grade
from tests.track.days import PLAN, Line, at, batch_of, by_boot, day_of, flags, heated, instant, plan_with, soaked

HOT, FELT, BLEED = FlagId.RINSED_HOT, FlagId.FELTING_RISK, FlagId.BLEEDING


def dyed(batch: str = "02") -> list[Line]:
    """Return a batch off the heat at 11:30; its cooling time of an hour is over at 12:30."""
    return [*soaked(batch), *heated(batch, "10:30", "11:30")]


def simmered() -> list[Line]:
    """Return the wool in a pot from 10:30 to 11:30, for a plan of `plan_of_fibre`."""
    return [*soaked("02"), *heated("02", "10:30", "11:30", unit="pot 1")]


def plan_of_fibre(fibre: str = "wool = 100", rules: str = "", how: str = "painted") -> Plan:
    """Return the plan with the wool's fibre as ``fibre``, and its colourway simmered."""
    text = PLAN.replace("fibre = { wool = 100 }", f"fibre = {{ {fibre} }}")
    text = text.replace('fix = ["steam 50 min"]', f'how = "{how}"\nfix = ["simmer 50 min"]')
    return read_plan(f"{text}\n[rules]\n{rules}\n")


def rinse(
    time: str = "12:30", batch: str = "02", yarn_c: float | None = None, rinse_c: float | None = None
) -> list[Line]:
    read = [
        at(time, batch, reading=name, value=value)
        for name, value in (("yarn_c", yarn_c), ("rinse_c", rinse_c))
        if value is not None
    ]
    return [*read, at(time, batch, to="rinse")]


@pytest.mark.parametrize(("time", "raised"), [("12:30", False), ("12:24", False), ("12:23:58", True)])
def test_rinsed_before_nine_tenths_of_the_cooling_time_is_rinsed_hot(time: str, raised: bool) -> None:
    """Counted from the end of the last heat, 54 of 60 min."""
    assert bool(flags([*dyed(), *rinse(time)], HOT, "20:00", batch="02")) is raised


def test_rinsed_too_early_says_how_long_it_had_cooled() -> None:
    """Cooled 42 of 60 min."""
    (flag,) = flags([*dyed(), *rinse("12:12")], HOT, "20:00", batch="02")
    assert flag.why == "cooled 42 of 60 min"
    assert flag.since == instant("12:12")
    assert "felted" in flag.remedy


def test_cooling_counts_from_the_end_of_the_last_heat_not_from_the_move_to_cool() -> None:
    """An hour after the heat went off is an hour, though the move was recorded late in it."""
    lines = [line for line in dyed() if line.get("to") != "cool"]
    lines.append(at("12:10", "02", to="cool"))
    assert not flags([*lines, *rinse("12:30")], HOT, "20:00", batch="02")


@pytest.mark.parametrize(
    ("yarn", "water", "raised"), [(25, 15, False), (25.1, 15, True), (15, 25.1, True), (24.9, 15, False)]
)
def test_yarn_and_rinse_water_more_than_ten_degrees_apart_shock_the_wool(
    yarn: float, water: float, raised: bool
) -> None:
    """Both read: exactly 10 °C apart is not further apart; warm water on cold yarn shocks as well."""
    lines = [*dyed(), *rinse(yarn_c=yarn, rinse_c=water)]
    assert bool(flags(lines, HOT, "20:00", batch="02")) is raised


def test_a_shock_says_both_temperatures() -> None:
    """52 °C into 14 °C is 38 apart of 10."""
    (flag,) = flags([*dyed(), *rinse(yarn_c=52, rinse_c=14)], HOT, "20:00", batch="02")
    assert flag.why == "yarn 52 °C into 14 °C, 38 °C apart, 10 allowed"


def test_temperatures_a_hair_apart_from_their_limit_are_told_apart_from_it() -> None:
    """Not "10 apart of 10 °C", nor "95 °C, limit 95 °C"."""
    (shock,) = flags([*dyed(), *rinse(yarn_c=25.1, rinse_c=15)], HOT, "20:00", batch="02")
    assert shock.why == "yarn 25.1 °C into 15 °C, 10.1 °C apart, 10.0 allowed"
    lines = [*simmered(), at("11:00", "02", reading="bath_c", value=95.1)]
    (hot,) = flags(lines, FELT, "20:00", batch="02", plan=plan_of_fibre())
    assert hot.why == "bath at 95.1 °C, limit 95.0 °C for Wool: wool felts above it"


def test_two_temperatures_read_settle_it_even_before_the_cooling_time_is_over() -> None:
    """Yarn that is cool is cool."""
    assert not flags([*dyed(), *rinse("11:40", yarn_c=20, rinse_c=15)], HOT, "20:00", batch="02")


def test_a_water_temperature_alone_settles_nothing() -> None:
    """Without the yarn's the cooling time decides."""
    assert flags([*dyed(), *rinse("11:40", rinse_c=20)], HOT, "20:00", batch="02")


@pytest.mark.parametrize(
    ("read_at", "yarn", "rinsed", "why"),
    [
        ("12:28", 38, "12:40", "yarn 38 °C, cool enough below 25 °C"),
        ("12:28", 25, "12:40", ""),
        ("11:40", 20, "11:41", ""),
        ("11:40", 80, "12:30", ""),
        ("12:16", 38, "12:31", "yarn 38 °C, cool enough below 25 °C"),
        ("12:15", 38, "12:31", ""),
        ("12:24", 38, "13:30", "yarn 38 °C, cool enough below 25 °C"),
    ],
)
def test_a_yarn_temperature_alone_is_compared_with_the_plans_rinse_water(
    read_at: str, yarn: float, rinsed: str, why: str
) -> None:
    """Cool by the clock at 12:24: a warm reading before counts for a quarter of an hour, a later one to the next."""
    lines = [*dyed(), at(read_at, "02", reading="yarn_c", value=yarn), *rinse(rinsed)]
    assert [flag.why for flag in flags(lines, HOT, "20:00", batch="02")] == ([why] if why else [])


def test_yarn_read_cool_after_it_was_read_warm_is_cool() -> None:
    lines = [*dyed(), at("12:26", "02", reading="yarn_c", value=38), at("12:50", "02", reading="yarn_c", value=24)]
    assert not flags([*lines, *rinse("12:52")], HOT, "20:00", batch="02")


@pytest.mark.parametrize(
    ("read_at", "raised"), [("11:40", False), ("11:45", False), ("11:50", False), ("11:51", True)]
)
def test_temperatures_first_read_in_the_rinse_count_until_it_is_over(read_at: str, raised: bool) -> None:
    """From 11:40 to 11:50 the yarn is in the rinse: cool then is cool; read on the pegs it says nothing."""
    lines = [
        *dyed(),
        at("11:40", "02", to="rinse"),
        at("11:50", "02", to="dry"),
        at(read_at, "02", reading="yarn_c", value=20),
        at(read_at, "02", reading="rinse_c", value=15),
    ]
    assert bool(flags(lines, HOT, "20:00", batch="02")) is raised


def test_the_first_temperature_read_in_the_rinse_is_the_one_that_shocked() -> None:
    """52 °C going in is what counts, not the 18 it had come to later."""
    lines = [
        *dyed(),
        *rinse(rinse_c=15),
        at("12:31", "02", reading="yarn_c", value=52),
        at("12:39", "02", reading="yarn_c", value=18),
    ]
    (flag,) = flags(lines, HOT, "20:00", batch="02")
    assert "yarn 52 °C into 15 °C" in flag.why


def test_a_yarn_temperature_from_before_the_last_heat_is_out_of_date() -> None:
    """Read at 10:00, heated since: it says nothing about the rinse."""
    lines = [at("10:00", "02", reading="yarn_c", value=18), *dyed(), *rinse("11:40", rinse_c=15)]
    assert flags(lines, HOT, "20:00", batch="02")


@pytest.mark.parametrize(("apart", "raised"), [(20, False), (20.1, True)])
def test_the_shock_is_the_plans_to_set(apart: float, raised: bool) -> None:
    """[rules] shock = 20."""
    lines = [*dyed(), *rinse(yarn_c=15 + apart, rinse_c=15)]
    assert bool(flags(lines, HOT, "20:00", batch="02", plan=plan_with("shock = 20"))) is raised


@pytest.mark.parametrize(("yarn", "raised"), [(50, False), (50.1, True)])
def test_superwash_is_only_rinsed_hot_above_fifty_degrees(yarn: float, raised: bool) -> None:
    """Yarn that does not felt takes a shock below that."""
    lines = [*dyed("01"), *rinse(batch="01", yarn_c=yarn, rinse_c=10)]
    assert bool(flags(lines, HOT, "20:00")) is raised


def test_superwash_of_unknown_warmth_is_not_rinsed_hot() -> None:
    """Rinsed at once, nothing read: no flag for yarn that does not felt."""
    assert not flags([*dyed("01"), *rinse("11:40", "01")], HOT, "20:00")


def test_superwash_read_hot_is_held_to_its_cooling_time() -> None:
    """Above 50 °C and the water not read: too early is rinsed hot."""
    assert flags([*dyed("01"), *rinse("11:40", "01", yarn_c=55)], HOT, "20:00")


def test_yarn_that_was_never_heated_cannot_be_rinsed_hot() -> None:
    """A wash before dyeing."""
    assert not flags([at("09:00", "02", to="soak"), *rinse("09:30")], HOT, "20:00", batch="02")


@pytest.mark.parametrize(("celsius", "raised"), [(95, False), (95.1, True)])
def test_wool_above_ninety_five_degrees_may_felt(celsius: float, raised: bool) -> None:
    """The bath's temperature against the limit: exactly at it is not above it."""
    lines = [*simmered(), at("11:00", "02", reading="bath_c", value=celsius)]
    assert bool(flags(lines, FELT, "11:00", batch="02", plan=plan_of_fibre())) is raised


def test_a_hot_bath_says_its_temperature_and_the_limit() -> None:
    """Bath at 98 °C, limit 95."""
    lines = [*simmered(), at("11:00", "02", reading="bath_c", value=98)]
    (flag,) = flags(lines, FELT, "20:00", batch="02", plan=plan_of_fibre())
    assert flag.why == "bath at 98 °C, limit 95 °C for Wool: wool felts above it"
    assert "do not stir" in flag.remedy


@pytest.mark.parametrize(("celsius", "raised"), [(90, False), (90.1, True)])
def test_where_wool_may_felt_is_the_plans_to_set(celsius: float, raised: bool) -> None:
    """[rules] felting = 90."""
    lines = [*simmered(), at("11:00", "02", reading="bath_c", value=celsius)]
    assert bool(flags(lines, FELT, "20:00", batch="02", plan=plan_of_fibre(rules="felting = 90"))) is raised


def test_what_is_read_of_steam_is_not_of_a_bath() -> None:
    """A steamer's 99 °C mats nothing: the yarn lies still and in no water."""
    assert not flags([*dyed(), at("11:00", "02", reading="bath_c", value=99)], FELT, "20:00", batch="02")


@pytest.mark.parametrize(
    ("fibre", "celsius", "said"),
    # Common practice, no source; published dyeing instructions stay at 82 to 93 °C for wool, at 85 °C for silk.
    [
        ("silk = 100", 88.0, ""),
        ("silk = 100", 88.1, "silk loses its lustre"),
        ("mohair = 70, silk = 30", 88.1, "silk loses its lustre"),
        ("mohair = 100", 90.0, ""),
        ("alpaca = 100", 90.1, "alpaca felts"),
        ('"superwash wool" = 50, nylon = 50', 100.0, ""),
    ],
)
def test_each_fibre_has_its_own_limit_in_a_bath(fibre: str, celsius: float, said: str) -> None:
    lines = [*simmered(), at("11:00", "02", reading="bath_c", value=celsius)]
    raised = flags(lines, FELT, "11:00", batch="02", plan=plan_of_fibre(fibre))
    assert bool(raised) is bool(said)
    assert all(said in flag.why for flag in raised)


def test_silk_rinsed_hot_does_not_felt() -> None:
    assert not flags([*dyed(), *rinse("12:12")], FELT, "20:00", batch="02", plan=plan_of_fibre("silk = 100"))


@pytest.mark.parametrize(
    ("bath", "yarn", "raised"),
    [(50, None, False), (50.5, None, True), (70, 45, False), (70, 15, True), (45.2, 15.2, False), (45.3, 15.2, True)],
)
def test_wool_put_cold_into_a_hot_bath_may_felt(bath: float, yarn: float | None, raised: bool) -> None:
    """More than 30 °C apart (common practice); where the yarn was not read it is as warm as a room of 20 °C."""
    warm = [] if yarn is None else [at("10:28", "02", reading="yarn_c", value=yarn)]
    lines = [*warm, at("10:30", "02", to="paint"), at("10:31", "02", reading="bath_c", value=bath)]
    found = flags(lines, FELT, "11:00", batch="02", plan=plan_of_fibre(how="immersed"))
    assert bool(found) is raised
    assert all("into a bath of" in flag.why for flag in found)


@pytest.mark.parametrize("by", [list, by_boot])
@pytest.mark.parametrize("read_at", ["09:05", "10:29", "10:50"])
def test_a_bath_that_is_hot_earlier_or_later_was_not_hot_when_the_yarn_went_in(
    read_at: str, by: Callable[[list[Line]], list[Line]]
) -> None:
    """Read before, it is that of the soak."""
    lines = [at("10:30", "02", to="paint"), at(read_at, "02", reading="bath_c", value=80)]
    assert not flags(by(lines), FELT, "11:00", batch="02", plan=plan_of_fibre(how="immersed"))


@pytest.mark.parametrize("by", [list, by_boot])
def test_yarn_that_is_warm_in_the_bath_was_not_warm_when_it_went_in(
    by: Callable[[list[Line]], list[Line]],
) -> None:
    lines = [
        at("10:30", "02", to="paint"),
        at("10:31", "02", reading="bath_c", value=60),
        at("12:00", "02", reading="yarn_c", value=55),
    ]
    (flag,) = flags(by(lines), FELT, "12:30", batch="02", plan=plan_of_fibre(how="immersed"))
    assert flag.why.startswith("yarn of 20 °C into a bath of 60 °C")


def test_superwash_does_not_felt_in_any_bath() -> None:
    """Its scales are gone: neither a boil nor a shock raises it."""
    lines = [*dyed("01"), at("11:00", "01", reading="bath_c", value=100), *rinse("11:40", "01", 60, 10)]
    assert not flags(lines, FELT, "20:00")


def test_wool_rinsed_hot_has_one_flag_that_tells_of_felting() -> None:
    """One cause, one flag."""
    lines = [*dyed(), *rinse("12:12")]
    assert not flags(lines, FELT, "20:00", batch="02")
    (flag,) = flags(lines, HOT, "20:00", batch="02")
    assert "squeeze, never wring, and look for felted strands" in flag.remedy


def cloth(value: str, time: str = "12:40") -> list[Line]:
    return [*dyed("01"), *rinse(batch="01"), at(time, "01", reading="cloth", value=value)]


@pytest.mark.parametrize(("value", "raised"), [("5", False), ("4-5", False), ("4", True), ("3-4", True), ("1", True)])
def test_a_grade_below_four_to_five_bleeds(value: str, raised: bool) -> None:
    """ISO 105-A03 grades: 4-5 is good enough, half a step less is not."""
    assert bool(flags(cloth(value), BLEED, "20:00")) is raised


@pytest.mark.parametrize(
    ("value", "remedy"),
    [
        ("faint", "rinse again"),
        ("4", "rinse again"),
        ("marked", "fix again, then rinse"),
        ("3-4", "fix again, then rinse"),
        ("2", "fix again, then rinse"),
    ],
)
def test_faint_is_rinsed_again_and_marked_is_fixed_again(value: str, remedy: str) -> None:
    """Words and grades lead to the same remedy."""
    (flag,) = flags(cloth(value), BLEED, "20:00")
    assert flag.remedy == remedy


def test_a_clean_cloth_does_not_bleed() -> None:
    """Clean means 5."""
    assert not flags(cloth("clean"), BLEED, "20:00")


def test_bleeding_says_what_was_seen_and_what_was_wanted() -> None:
    """The word as it was said, or the grade, against 4-5."""
    (word,) = flags(cloth("faint"), BLEED, "20:00")
    (grade,) = flags(cloth("3"), BLEED, "20:00")
    assert (word.why, grade.why) == ("cloth faint, 4-5 or better expected", "cloth grade 3, 4-5 or better expected")


@pytest.mark.parametrize(("wanted", "raised"), [("4", False), ("5", True)])
def test_the_grade_wanted_is_the_plans_to_set(wanted: str, raised: bool) -> None:
    """[rules] cloth: a faint mark, grade 4, is enough where 4 is wanted; 4-5 is not where 5 is."""
    value = "faint" if wanted == "4" else "4-5"
    assert bool(flags(cloth(value), BLEED, "20:00", plan=plan_with(f'cloth = "{wanted}"'))) is raised


@pytest.mark.parametrize(("time", "raised"), [("12:29:59", False), ("12:30", True)])
def test_only_a_cloth_after_the_rinse_tells(time: str, raised: bool) -> None:
    """Pressed on before rinsing it takes up loose dye whatever is fixed."""
    assert bool(flags(cloth("marked", time), BLEED, "20:00")) is raised


@pytest.mark.parametrize(
    ("back_to", "raised"), [([at("13:00", "01", to="fix")], False), ([at("13:00", "01", to="dry")], True)]
)
def test_heat_after_a_rinse_wants_another_rinse_before_a_cloth_tells(back_to: list[Line], raised: bool) -> None:
    """Fixed once more, what comes off is loose again until it is rinsed; hung up, it is what bleeds."""
    lines = [*dyed("01"), *rinse(batch="01"), *back_to, at("13:50", "01", reading="cloth", value="marked")]
    assert bool(flags(lines, BLEED, "20:00")) is raised
    after = [*lines, at("14:00", "01", to="rinse"), at("14:10", "01", reading="cloth", value="marked")]
    assert flags(after, BLEED, "20:00")


def test_rinsed_again_and_clean_the_flag_stays_with_the_cloth_as_evidence() -> None:
    """It closes only by being resolved with a reason."""
    lines = [
        *cloth("faint"),
        at("13:00", "01", to="dry"),
        at("13:10", "01", to="rinse"),
        at("13:20", "01", reading="cloth", value="clean"),
    ]
    (open_flag,) = flags(lines, BLEED, "20:00")
    assert open_flag.cleared is None
    assert "rinsed" in open_flag.evidence
    assert "cloth clean" in open_flag.evidence
    resolved = [*lines, at("13:30", "01", event="resolved", rule=BLEED.value, why="rinsed again, clean")]
    (closed,) = flags(resolved, BLEED, "20:00")
    assert closed.cleared is not None
    assert closed.cleared.why == "rinsed again, clean"


def test_what_bleeds_after_the_flag_was_cleared_is_a_new_flag() -> None:
    """The old one stays resolved, the new one is open."""
    lines = [
        *cloth("faint"),
        at("13:00", "01", event="resolved", rule=BLEED.value, why="accepted"),
        at("14:00", "01", reading="cloth", value="marked"),
    ]
    first, second = flags(lines, BLEED, "20:00")
    assert (first.cleared is None, second.cleared is None) == (False, True)
    assert second.why == "cloth marked, 4-5 or better expected"


def test_a_clearing_does_not_clear_a_cloth_recorded_after_it() -> None:
    """A cloth of 12:50 that is recorded after the clearing at 13:00 is open, and the yarn wants to be fixed again."""
    lines = [
        *cloth("faint"),
        at("12:50", "01", note="the cloth is on the sill"),
        at("13:00", "01", event="resolved", rule=BLEED.value, why="accepted as it is"),
    ]
    (cleared,) = flags(lines, BLEED, "20:00")
    assert cleared.cleared is not None
    late = [*lines, at("12:50", "01", reading="cloth", value="1")]
    _, second = flags(late, BLEED, "20:00")
    assert (second.cleared, second.why) == (None, "cloth grade 1, 4-5 or better expected")
    assert second.remedy == "fix again, then rinse"
    assert bleeding_grade(day_of(late), batch_of(late)) == "1"
    assert bleeding_grade(day_of(lines), batch_of(lines)) == ""


def test_a_clearing_does_not_clear_a_cloth_corrected_after_it() -> None:
    """A cloth cleared as faint that is then corrected to grade 1 is open again; cleared once more, it is not."""
    seen = at("12:50", "01", reading="cloth", value="faint") | {"id": "seen"}
    accepted = at("13:00", "01", event="resolved", rule=BLEED.value, why="accepted as it is")
    lines = [*cloth("faint"), seen, accepted, at("13:05", "01", corrects="seen", value="1")]
    _, second = flags(lines, BLEED, "20:00")
    assert (second.cleared, second.why) == (None, "cloth grade 1, 4-5 or better expected")
    again = at("13:10", "01", event="resolved", rule=BLEED.value, why="sold as second")
    assert all(flag.cleared is not None for flag in flags([*lines, again], BLEED, "20:00"))


def test_a_bath_read_the_moment_dye_goes_on_is_that_of_going_in() -> None:
    """Not a minute later first."""
    lines = [at("10:30", "02", to="paint"), at("10:30", "02", reading="bath_c", value=70)]
    assert flags(lines, FELT, "11:00", batch="02", plan=plan_of_fibre(how="immersed"))
    warm = [at("10:30", "02", reading="yarn_c", value=65), *lines]
    assert not flags(warm, FELT, "11:00", batch="02", plan=plan_of_fibre(how="immersed"))


def test_yarn_read_in_the_moment_the_heat_ends_is_read_after_it() -> None:
    """95 °C at 11:30, off the heat at 11:30, into water of 15 °C: what was read before the heat would not count."""
    reading = at("11:30", "02", reading="yarn_c", value=95)
    water = at("11:39", "02", reading="rinse_c", value=15)

    (flag,) = flags([*dyed(), reading, water, at("11:40", "02", to="rinse")], HOT, "20:00", batch="02")
    assert flag.why.startswith("yarn 95 °C into 15 °C")


@pytest.mark.parametrize(("rinsed", "raised"), [("12:20", True), ("12:30", False), ("16:40", False)])
def test_yarn_read_hot_counts_until_it_has_cooled_its_time(rinsed: str, raised: bool) -> None:
    """85 °C five minutes after the heat says nothing of yarn that has cooled for an hour."""
    read = [at("11:35", "02", reading="yarn_c", value=85), at("11:36", "02", reading="rinse_c", value=15)]
    assert bool(flags([*dyed(), *read, *rinse(rinsed)], HOT, "20:00", batch="02")) is raised


def test_yarn_read_hot_after_its_cooling_time_is_hot() -> None:
    lines = [*dyed(), at("12:29", "02", reading="yarn_c", value=40), *rinse("12:30", rinse_c=15)]
    assert flags(lines, HOT, "20:00", batch="02")
