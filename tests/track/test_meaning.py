"""What a reading means as soon as it is read.

The doses are held against PHREEQC by way of `tests/craft`, the cooling against Newton's law; other limits are common
practice.
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil, exp, log

import pytest

from dyeday.craft.water.acid_dose import with_acid
from dyeday.craft.water.acids import acid
from dyeday.craft.water.alkalinity import raw_water
from dyeday.craft.water.bath_chemistry import of_raw_water
from dyeday.plan.doses import dose
from dyeday.plan.model import Plan
from dyeday.terms import FlagId, ReadingKind
from dyeday.track.reading_meaning import acid_by_ph, meaning
from tests.track.days import Line, at, day_of, flags, heated, now, plan_with, soaked

WATER = "[water]\nalkalinity = 200\nhardness = 0\ntemperature = 20\n"
HARD = plan_with(more=WATER)


def need_ml(litres: float) -> float:
    found = dose(HARD, litres)
    assert found is not None
    return found.amount


def of_ph(lines: list[Line], read_ph: float, batch: str = "01", plan: Plan = HARD, time: str = "09:50") -> str:
    day = day_of(lines, plan)
    return meaning(day, day.batches[batch], ReadingKind.PH, read_ph, now(time))


def in_tray(acid_ml: float) -> list[Line]:
    return [
        at("09:00", "01", to="soak", unit="tray 1"),
        at("09:00", unit="tray 1", event="acid put in", acid_ml=acid_ml),
    ]


@pytest.mark.parametrize(("read_ph", "good"), [(4.5, True), (5.2, True), (5.21, False)])
def test_a_ph_within_the_limit_is_good(read_ph: float, good: bool) -> None:
    """The same edge as the flag's: target and 0.7."""
    assert of_ph(in_tray(38), read_ph).startswith(", good: the target is 4.5") is good


def test_a_good_ph_is_to_be_read_again_where_it_is_too_early_to_count() -> None:
    assert of_ph(in_tray(38), 4.5, time="09:04").endswith("; read it again once the yarn has been in for 5 min")
    assert of_ph(in_tray(38), 4.5, time="09:05") == ", good: the target is 4.5"


def test_every_target_with_its_limit_is_held_to_the_very_edge_of_the_flag() -> None:
    """No reading is good for one and bad for the other: 3.8 to 5.6 in tenths."""
    for tenth in range(38, 57):
        plan = replace(HARD, acid=replace(HARD.acid, target_ph=tenth / 10))
        edge = (tenth + 7) / 10
        lines = [*in_tray(500), at("09:50", "01", reading="ph", value=edge), at("10:00", "01", to="paint")]
        assert not flags(lines, FlagId.WEAK_ACID, "20:00", plan=plan)
        assert of_ph(in_tray(500), edge, plan=plan).startswith(", good")


def in_halves(whole_ml: float) -> str:
    """Return the answer that adds half of ``whole_ml``, both as a jug of 5 mL does it."""
    half, whole = (ceil(amount / 5) * 5 for amount in (whole_ml / 2, whole_ml))
    return f", above 5.2: add {half} mL of vinegar, wait 5 min, read again; {whole} mL at most"


def test_a_high_ph_says_to_add_half_and_the_whole_at_most_as_the_jug_does_it() -> None:
    """Nothing in yet and water's own pH read: the whole dose is 40 mL."""
    assert of_ph(in_tray(0)[:1], 7.8) == ", above 5.2: add 20 mL of vinegar, wait 5 min, read again; 40 mL at most"


def test_what_is_in_the_bath_already_is_not_added_again() -> None:
    """10 of 38 mL in and their own pH read: 30 more to the step of the jug."""
    own_ph = with_acid(of_raw_water(3, raw_water(200, 0, temperature_c=20)), acid(), 10).ph
    assert of_ph(in_tray(10), own_ph) == ", above 5.2: add 15 mL of vinegar, wait 5 min, read again; 30 mL at most"


def test_a_later_soak_counts_with_its_own_acid_only() -> None:
    """100 mL in the first layer's tray are not in the second's fresh water."""
    first = [
        at("07:00", "06", to="soak", unit="tray 1"),
        at("07:00", unit="tray 1", event="acid put in", acid_ml=100),
        at("07:30", "06", to="paint"),
        *heated("06", "07:40", "08:30"),
        at("09:30", "06", to="soak", unit="tray 2"),
    ]
    assert of_ph(first, 7.8, "06") == in_halves(need_ml(2))


def test_painted_yarn_is_misted_and_never_poured_on() -> None:
    """How much of the soak's acid is in the paint is not known, so no amount is given."""
    said = of_ph([*in_tray(38), at("09:40", "01", to="paint")], 6.0)
    assert said == ", above 5.2: mist acid water over it, never pour, and read again"
    cool = of_ph([*in_tray(38), at("09:40", "01", to="paint"), *heated()], 6.0)
    assert cool.startswith(", above 5.2: press a wet white cloth on it: if it colours, mist acid water")
    assert cool.endswith("heat again")
    own = of_ph([at("09:00", "07", to="soak"), at("09:40", "07", to="paint")], 7.0, "07")
    assert own.startswith(", above 5.2: mist ")
    assert "of vinegar, thinned with water, wait 5 min, read again" in own


def test_yarn_set_aside_before_its_heat_is_not_to_be_heated_again() -> None:
    lines = [*in_tray(38), at("09:40", "01", to="paint"), at("09:45", "01", to="set-aside")]
    assert of_ph(lines, 6.0) == ", above 5.2: mist acid water over it, never pour, and read again"


def test_an_immersed_bath_is_stirred_not_misted() -> None:
    """8 L in the pot, read at the water's own pH: what is still to come at the simmer is in the most."""
    lines = [at("09:00", "03", to="soak"), at("09:40", "03", to="paint", unit="pot 1")]
    assert of_ph(lines, 7.8, "03") == f"{in_halves(need_ml(8))}, including what goes in at the simmer"


@pytest.mark.parametrize(
    ("more", "litres"),
    [([at("09:40", "11", to="paint", unit="pot 1")], 12), ([at("09:39", unit="pot 1", is_="filled", litres=30)], 30)],
)
def test_a_ph_asks_for_acid_for_all_the_water_of_the_pot(more: list[Line], litres: float) -> None:
    """Two batches that share it, 8 L and 4 L, and a pot filled with more than the recipe asks."""
    dyed = at("09:40", "03", to="paint", unit="pot 1")
    assert of_ph([dyed, *more], 7.8, "03") == f"{in_halves(need_ml(litres))}, including what goes in at the simmer"


def test_a_ph_read_after_the_yarn_is_lifted_is_not_of_the_next_load() -> None:
    """11 goes into the pot that 03 is lifted from: the pH read of 03 is of its own 8 L."""
    lifted = [at("09:40", "03", to="paint", unit="pot 1"), *heated("03", "09:45", "10:30", unit="pot 1")]
    next_load = at("10:40", "11", to="paint", unit="pot 1")
    alone, then = (of_ph(lines, 7.8, "03", time="10:50") for lines in (lifted, [*lifted, next_load]))
    assert alone == then
    assert alone.startswith(in_halves(need_ml(8)))


def test_of_unknown_water_more_acid_is_said_without_an_amount() -> None:
    """Stirred in or misted, never poured on paint."""
    said = of_ph(in_tray(38), 6.5, plan=plan_with())
    assert said == ", above 5.2: more acid, stirred in or misted as acid water, never poured on paint"


def cooling(batch: str, read_c: float, time: str, *earlier: Line, more: str = WATER) -> str:
    """Return what a temperature means to a batch whose heat ended at 11:20."""
    day = day_of([*soaked(batch), *heated(batch), *earlier], plan_with(more=more))
    return meaning(day, day.batches[batch], ReadingKind.YARN_C, read_c, now(time))


def test_two_readings_tell_when_yarn_is_cool_by_newtons_law() -> None:
    """90 °C, then 60 °C ten minutes later in a room of 20 °C: ln(70/40)/10 a minute, at 25 °C after 37 min more.

    Rinse water of 15 °C and a shock of 10 °C: wool waits for 25 °C.
    """
    water = f"{WATER}rinse_temperature = 15\n"
    first = at("11:25", "02", reading="yarn_c", value=90)
    rate = log(70 / 40) / 10
    left = log(40 / 5) / rate
    assert 20 + 40 * exp(-rate * left) == pytest.approx(25)
    assert cooling("02", 60, "11:35", first, more=water) == f", below 25 °C in about {left:.0f} min"


def test_one_reading_alone_says_only_the_limit() -> None:
    """How fast it cools is not known yet."""
    assert cooling("02", 60, "11:35") == ", rinse once the yarn is below 30 °C"


def test_the_room_is_the_plans_air() -> None:
    """In a room of 10 °C it is cool sooner than in one of 20 °C."""
    first = at("11:25", "02", reading="yarn_c", value=90)
    warm, cold = (
        int(cooling("02", 60, "11:35", first, more=f"{WATER}[air]\ntemperature = {room}\n").split()[-2])
        for room in (20, 10)
    )
    assert cold < warm


def test_a_reading_from_before_the_heat_ended_is_of_another_curve() -> None:
    """Hot in the steamer at 11:00 says nothing of the cooling since 11:20."""
    day = day_of([*soaked("02"), at("11:00", "02", reading="yarn_c", value=95), *heated("02")], HARD)
    assert (
        meaning(day, day.batches["02"], ReadingKind.YARN_C, 60, now("11:35"))
        == ", rinse once the yarn is below 30 °C"
    )


@pytest.mark.parametrize(("read_c", "enough"), [(30, True), (30.1, False)])
def test_wool_is_cool_enough_within_the_shock_of_its_rinse_water(read_c: float, enough: bool) -> None:
    """Rinse water of 20 °C and 10 °C more."""
    said = cooling("02", read_c, "12:30")
    assert said.startswith(", cool enough for rinse water of 20 °C") is enough


@pytest.mark.parametrize(("read_c", "enough"), [(50, True), (50.1, False)])
def test_superwash_is_cool_enough_at_fifty_degrees_whatever_its_rinse_water(read_c: float, enough: bool) -> None:
    """Cold water of 8 °C: wool waits for 18 °C, superwash only for 50 °C."""
    cold = f"{WATER}rinse_temperature = 8\n"
    assert cooling("01", read_c, "12:30", more=cold).startswith(", cool enough") is enough
    assert not cooling("02", read_c, "12:30", more=cold).startswith(", cool enough")


def test_a_temperature_outside_the_cooling_means_nothing_here() -> None:
    """In the soak or in the rinse no cooling is mentioned."""
    day = day_of(soaked("02"), HARD)
    assert meaning(day, day.batches["02"], ReadingKind.YARN_C, 40, now("10:05")) == ""
    rinsed = day_of([*soaked("02"), *heated("02"), at("12:30", "02", to="rinse")], HARD)
    assert meaning(rinsed, rinsed.batches["02"], ReadingKind.YARN_C, 40, now("12:35")) == ""


@pytest.mark.parametrize("recorded", [{"unit": "tray 1"}, {"batch": "01"}, {"batch": "05"}])
def test_a_ph_asks_for_no_more_once_acid_went_in_with_whichever_batch_it_is_recorded(
    recorded: dict[str, str],
) -> None:
    lines = [at("09:00", no, to="soak", unit="tray 1") for no in ("01", "05")]
    read = [*lines, at("09:10", "01", reading="ph", value=7.5)]
    for end, asks in ((read, True), ([*read, at("09:12", event="acid put in", acid_ml=200, **recorded)], False)):
        day = day_of(end, HARD)
        assert (acid_by_ph(day, day.batches["01"], now("09:13")) is not None) is asks
