"""Flags about the soak and the acid. Their thresholds are common practice, not a published standard."""

from __future__ import annotations

import pytest

from dyeday.plan.reading.plan_reader import read_plan
from dyeday.terms import FlagId
from dyeday.track.flags import FLAGS_OF_BATCH, RULES, flags_of
from tests.track.days import PLAN, Line, at, day_of, flags, heated, now, plan_with, proper, soaked

MISSED, NONE, SHORT = FlagId.MISSED_ACID_SOAK, FlagId.NO_ACID, FlagId.SHORT_SOAK


def soaked_in_water(ph: float | None = None) -> list[Line]:
    """Return a soak of an hour without acid on record, and a pH read in it."""
    read = [] if ph is None else [at("09:50", "01", reading="ph", value=ph)]
    return [at("09:00", "01", to="soak", unit="tray 1"), *read, at("10:00", "01", to="paint")]


def test_a_batch_done_as_it_should_be_has_no_flag_at_all() -> None:
    """No flag is raised after an acid soak, full heat, a clear bath and a clean cloth."""
    assert flags_of(day_of(proper()), now("20:00")) == []


def test_before_dye_goes_on_only_the_place_of_a_batch_can_be_wrong() -> None:
    """Rules that are not about places find nothing on yarn that was soaked, set aside and soaked again."""
    first = [at("09:00", no, to="soak", unit="tray 1") for no in ("01", "02")]
    again = [at("09:20", "01", to="set-aside"), at("10:00", "01", to="soak", unit="tray 1")]
    day, later = day_of([*first, at("09:05", unit="tray 1", acid_ml=5), *again]), now("20:00")
    raised = {rule for rule in FLAGS_OF_BATCH for batch in day.unsplit if [*RULES[rule].find(day, batch, later)]}
    assert raised == {FlagId.OVER_FULL} == {flag.rule for flag in flags_of(day, later)}


def test_dye_on_yarn_that_never_soaked_is_a_missed_acid_soak() -> None:
    """No soak since waiting raises it the moment dye goes on."""
    (flag,) = flags([at("10:00", "01", to="paint")], MISSED, "10:00")
    assert flag.why == "no soak before dye went on"
    assert flag.since == now("10:00").utc
    assert flag.remedy.startswith("mist")
    assert "never pour" in flag.remedy


def test_a_soak_without_acid_is_a_missed_acid_soak_that_says_how_long() -> None:
    """None of the acid recorded for its bath raises it, with the minutes soaked."""
    (flag,) = flags(soaked_in_water(), MISSED, "10:00")
    assert "soaked 1 h with no acid recorded" in flag.why
    assert flag.remedy.startswith("if you poured acid, record it (b, then i); else mist")
    assert "soak 20 min in acid" in flag.remedy


def test_nothing_is_missed_while_the_batch_still_soaks() -> None:
    """The rule asks only when dye goes on."""
    assert not flags(soaked_in_water()[:1], MISSED, "20:00")


def test_acid_recorded_for_the_batch_is_enough() -> None:
    """Acid put in for the batch during its soak raises nothing."""
    assert not flags(soaked(), MISSED, "20:00")


def test_no_acid_at_all_is_not_acid_put_in() -> None:
    """An entry of 0 mL does not count as acid."""
    lines = [*soaked_in_water(), at("09:00", "01", event="acid put in", acid_ml=0)]
    assert flags(lines, MISSED, "20:00")


def test_acid_in_grams_counts_as_well_as_acid_in_millilitres() -> None:
    """A crystal acid weighed in is acid."""
    assert not flags([*soaked_in_water(), at("09:05", "01", acid_g=4)], MISSED, "20:00")


def test_acid_put_in_after_dye_went_on_came_too_late() -> None:
    """Acid recorded a second after the paint began does not count for the soak."""
    assert flags([*soaked_in_water(), at("10:00:01", "01", acid_ml=50)], MISSED, "20:00")
    assert not flags([*soaked_in_water(), at("09:59:59", "01", acid_ml=50)], MISSED, "20:00")


def test_acid_in_a_trays_bath_is_there_for_a_batch_that_comes_later() -> None:
    """A unit's acid stays for later batches."""
    lines = [at("08:30", unit="tray 1", event="acid put in", acid_ml=60), *soaked_in_water()]
    assert not flags(lines, MISSED, "20:00")


def test_acid_poured_away_with_the_bath_counts_for_no_batch() -> None:
    """Once the unit is emptied its acid is gone."""
    lines = [
        at("08:30", unit="tray 1", event="acid put in", acid_ml=60),
        at("08:45", unit="tray 1", is_="emptied"),
        *soaked_in_water(),
    ]
    assert flags(lines, MISSED, "20:00")


def test_acid_in_another_tray_does_not_help() -> None:
    """Only the bath the batch soaked in counts."""
    lines = [at("08:30", unit="tray 2", event="acid put in", acid_ml=60), *soaked_in_water()]
    assert flags(lines, MISSED, "20:00")


def test_acid_put_into_a_tray_after_the_batch_left_it_does_not_help() -> None:
    """A batch that had moved to another tray has none of it."""
    lines = [
        *soaked_in_water(),
        at("09:30", "01", unit="tray 2", event="placed"),
        at("09:31", unit="tray 1", event="acid put in", acid_ml=60),
    ]
    assert flags(lines, MISSED, "20:00")


@pytest.mark.parametrize(("ph", "raised"), [(5.2, False), (5.1, False), (5.21, True), (6.8, True)])
def test_a_ph_read_in_that_soak_at_most_the_limit_above_target_settles_it(ph: float, raised: bool) -> None:
    """Target 4.5 and a strip's limit 0.7: 5.2 is low enough, a hundredth more is not."""
    assert bool(flags(soaked_in_water(ph), MISSED, "20:00")) is raised


@pytest.mark.parametrize(("ph", "raised"), [(5.0, False), (5.01, True)])
def test_a_meter_is_held_to_a_narrower_limit_than_a_strip(ph: float, raised: bool) -> None:
    """Read with a meter the limit is 0.5."""
    plan = read_plan(PLAN + '\n[acid]\nph_with = "meter"\n')
    assert bool(flags(soaked_in_water(ph), MISSED, "20:00", plan=plan)) is raised


@pytest.mark.parametrize(("ph", "raised"), [(5.5, False), (5.51, True)])
def test_the_ph_limit_is_the_plans_to_set(ph: float, raised: bool) -> None:
    """[rules] ph_limit moves the edge."""
    assert bool(flags(soaked_in_water(ph), MISSED, "20:00", plan=plan_with("ph_limit = 1.0"))) is raised


def test_the_last_ph_of_the_soak_is_the_one_that_counts() -> None:
    """A high reading followed by a low one raises nothing; the other way round it does."""
    first, then = at("09:10", "01", reading="ph", value=6.5), at("09:40", "01", reading="ph", value=4.6)
    assert not flags([*soaked_in_water(), first, then], MISSED, "20:00")
    later = at("09:45", "01", reading="ph", value=6.5)
    assert flags([*soaked_in_water(), first, then, later], MISSED, "20:00")


def test_a_low_ph_without_any_soak_settles_nothing() -> None:
    """The reading has to be of that soak."""
    lines = [at("09:50", "01", reading="ph", value=4.0), at("10:00", "01", to="paint")]
    assert flags(lines, MISSED, "20:00")


def test_a_low_ph_read_only_after_dye_went_on_settles_nothing() -> None:
    """What the paint reads is not what the soak read."""
    assert flags([*soaked_in_water(), at("10:01", "01", reading="ph", value=4.0)], MISSED, "20:00")


def test_a_soak_before_going_back_to_waiting_does_not_count() -> None:
    """Only soaks since the last waiting wet the yarn."""
    lines = [*soaked()[:2], at("09:40", "01", to="waiting"), at("10:00", "01", to="paint")]
    (flag,) = flags(lines, MISSED, "20:00")
    assert flag.why == "no soak before dye went on"


def test_a_later_layer_that_asks_for_no_new_soak_misses_none() -> None:
    """A speckle over a fixed wash goes on without a soak."""
    lines = [*soaked("05"), *heated("05"), at("12:30", "05", to="paint", layer=2)]
    assert not flags(lines, MISSED, "20:00", batch="05")


def test_a_later_layer_that_asks_for_its_own_soak_is_missed_without_it() -> None:
    """The first layer's soak and acid do not serve the second, which wants its own."""
    lines = [*soaked("06"), *heated("06"), at("12:30", "06", to="paint", layer=2)]
    (flag,) = flags(lines, MISSED, "20:00", batch="06")
    assert flag.since == now("12:30").utc


def test_a_later_layers_own_soak_needs_acid_of_its_own() -> None:
    """A second soak in plain water is missed; with acid it is not."""
    water = [*soaked("06"), *heated("06"), at("12:30", "06", to="soak"), at("13:00", "06", to="paint")]
    assert flags(water, MISSED, "20:00", batch="06")
    assert not flags([*water, at("12:31", "06", acid_ml=40)], MISSED, "20:00", batch="06")


@pytest.mark.parametrize("batch", ["03", "07"])
def test_a_layer_with_its_acid_elsewhere_misses_no_acid_soak(batch: str) -> None:
    """Acid in the bath or in the paint is not this rule's."""
    assert not flags([at("10:00", batch, to="paint")], MISSED, "20:00", batch=batch)


def simmered(*more: Line) -> list[Line]:
    """Return a batch dyed in a pot with full heat, and what else was recorded."""
    return [
        at("09:00", "03", to="soak", unit="tray 1"),
        at("10:00", "03", to="paint", unit="pot 1"),
        at("10:05", "03", heat_no=1, run="start", unit="pot 1"),
        at("10:45", "03", heat_no=1, run="end"),
        at("10:50", "03", to="cool"),
        *more,
    ]


def test_a_bath_without_acid_is_flagged_when_the_batch_leaves_its_heat() -> None:
    """Acid in the bath, none recorded: raised at the move out of fix, naming bath and layer."""
    (flag,) = flags(simmered(), NONE, "20:00", batch="03")
    assert flag.why == "no acid recorded in the bath of layer 1"
    assert flag.since == now("10:50").utc
    assert "5.2" in flag.remedy


def test_a_bath_still_in_its_heat_is_not_yet_without_acid() -> None:
    """Acid may still come before the batch leaves fix."""
    assert not flags(simmered()[:-1], NONE, "20:00", batch="03")


@pytest.mark.parametrize("time", ["10:01", "10:30", "10:50"])
def test_acid_recorded_by_the_end_of_the_heat_is_acid_in_the_bath(time: str) -> None:
    """From dye going on to the very moment of leaving fix it counts."""
    assert not flags(simmered(at(time, "03", acid_ml=80)), NONE, "20:00", batch="03")


def test_acid_a_second_after_the_heat_is_too_late() -> None:
    """After leaving fix it no longer counts."""
    assert flags(simmered(at("10:50:01", "03", acid_ml=80)), NONE, "20:00", batch="03")


def test_acid_recorded_with_the_pot_is_acid_in_the_bath() -> None:
    """The unit's bath is the batch's bath."""
    assert not flags(simmered(at("10:10", unit="pot 1", event="acid put in", acid_ml=80)), NONE, "20:00", batch="03")


def test_acid_of_a_bath_that_was_emptied_does_not_count() -> None:
    """Yesterday's acid went down the drain with its bath."""
    lines = [
        at("09:30", unit="pot 1", event="acid put in", acid_ml=80),
        at("09:40", unit="pot 1", is_="emptied"),
        *simmered(),
    ]
    assert flags(lines, NONE, "20:00", batch="03")


def test_acid_mixed_into_the_bath_before_anything_else_was_recorded_counts() -> None:
    """A batch that went straight into its pot has the acid put in beforehand."""
    lines = [at("09:55", "03", acid_ml=80), *simmered()[1:]]
    assert not flags(lines, NONE, "20:00", batch="03")


def test_acid_recorded_as_the_soak_before_the_bath_began_counts() -> None:
    """From the very moment of the stay before dye went on; a second earlier it belongs to something else."""
    assert not flags(simmered(at("09:00", "03", acid_ml=80)), NONE, "20:00", batch="03")
    assert flags(simmered(at("08:59:59", "03", acid_ml=80)), NONE, "20:00", batch="03")


def test_acid_in_a_tray_the_batch_had_left_long_before_is_not_in_its_bath() -> None:
    """Soaked with acid, set aside, and then dyed in a pot without any."""
    lines = [
        at("08:00", "03", to="soak", unit="tray 1"),
        at("08:01", unit="tray 1", event="acid put in", acid_ml=60),
        at("09:00", "03", to="set-aside"),
        *simmered()[1:],
    ]
    assert flags(lines, NONE, "20:00", batch="03")


def test_acid_in_a_pot_the_batch_goes_on_cooling_in_is_acid_in_its_bath() -> None:
    """It never left the pot, and the acid stands with the pot."""
    plan = read_plan(PLAN.replace('cool_where = "out"', 'cool_where = "in place"'))
    lines = simmered(at("10:10", unit="pot 1", event="acid put in", acid_ml=80))
    assert not flags(lines, NONE, "20:00", batch="03", plan=plan)
    assert flags(simmered(), NONE, "20:00", batch="03", plan=plan)


@pytest.mark.parametrize(("ph", "raised"), [(5.2, False), (5.21, True)])
def test_a_bath_that_reads_low_enough_needs_no_acid_on_record(ph: float, raised: bool) -> None:
    """A pH at most target plus the limit settles it."""
    lines = simmered(at("10:40", "03", reading="ph", value=ph))
    assert bool(flags(lines, NONE, "20:00", batch="03")) is raised


@pytest.mark.parametrize(("ph", "raised"), [(4.8, False), (4.81, True)])
def test_the_ph_that_stands_for_acid_moves_with_the_plans_limit(ph: float, raised: bool) -> None:
    """[rules] ph_limit = 0.3 asks for 4.8."""
    lines = simmered(at("10:40", "03", reading="ph", value=ph))
    assert bool(flags(lines, NONE, "20:00", batch="03", plan=plan_with("ph_limit = 0.3"))) is raised


def test_paint_that_should_hold_the_acid_is_flagged_without_it() -> None:
    """Acid in the paint, none recorded; with acid mixed in just before painting nothing is raised."""
    lines = [at("09:00", "07", to="soak"), at("10:00", "07", to="paint"), *heated("07")]
    (flag,) = flags(lines, NONE, "20:00", batch="07")
    assert flag.why == "no acid recorded in the paint of layer 1"
    assert not flags([*lines, at("09:55", "07", acid_ml=20)], NONE, "20:00", batch="07")


def test_a_layer_with_its_acid_in_the_soak_is_never_without_acid_in_its_bath() -> None:
    """That is missed-acid-soak's to say."""
    assert not flags([*soaked_in_water(), *heated()], NONE, "20:00")


def test_setting_a_batch_aside_out_of_its_heat_is_not_leaving_fix() -> None:
    """It may come back to the same bath."""
    lines = [*simmered()[:-1], at("10:50", "03", to="set-aside")]
    assert not flags(lines, NONE, "20:00", batch="03")


def soak_of(until: str, batch: str = "01") -> list[Line]:
    return soaked(batch, "09:00", until)


@pytest.mark.parametrize(("until", "raised"), [("09:20", False), ("09:19:01", False), ("09:19", True)])
def test_a_soak_a_whole_minute_short_of_the_bases_twenty_is_short(until: str, raised: bool) -> None:
    """Superwash needs 20 min. Times are typed to the minute, so seconds less do not count; common practice."""
    assert bool(flags(soak_of(until), SHORT, "20:00")) is raised


@pytest.mark.parametrize(("until", "raised"), [("09:45", False), ("09:44:06", False), ("09:44", True)])
def test_wool_that_is_not_superwash_needs_forty_five_minutes(until: str, raised: bool) -> None:
    """The base decides."""
    assert bool(flags(soak_of(until, "02"), SHORT, "20:00", batch="02")) is raised


def test_a_short_soak_says_its_minutes_and_how_many_are_missing() -> None:
    """Soaked 11 of 20 min, nine more."""
    (flag,) = flags(soak_of("09:11"), SHORT, "20:00")
    assert flag.why == "soaked 11 of 20 min"
    assert flag.remedy == "back into the acid soak for 9 min before painting"
    assert flag.since == now("09:11").utc


def test_once_yarn_was_heated_a_soak_flag_says_what_it_means_and_what_can_still_be_done() -> None:
    """No longer soak can help once heat is on, and no acid before the heat once that is over."""
    heat = heated(since="09:30", until="10:20")
    short = [*soaked(until="09:11"), *heat]
    without_acid = [line for line in short if line.get("event") != "acid put in"]
    for lines, rule, before, after, first in (
        (short, SHORT, "back into the acid soak", "pale inside, dye it over", len(heat)),
        (
            without_acid,
            MISSED,
            "mist 60 mL of vinegar, thinned with a little water, over the painted yarn",
            "press a wet white cloth on it",
            2,
        ),
    ):
        assert before in flags(lines[:-first], rule, "09:29")[0].remedy
        assert after in flags(lines if rule is MISSED else lines[:-2], rule, "10:21")[0].remedy


def test_yarn_without_acid_is_misted_before_a_layer_that_brings_none() -> None:
    """05 gets its second layer without a soak: its soak's 40 mL go on before that; after it, a cloth tells."""
    lines = [line for line in [*soaked("05"), *heated("05")] if line.get("event") != "acid put in"]
    (flag,) = flags(lines, MISSED, "12:00", batch="05")
    mist = "if you poured acid, record it (b, then i); else mist 40 mL of vinegar, "
    mist += "thinned with a little water, over it before layer 2, never pour"
    assert flag.remedy == f"{mist}: the heat of that fixes both"
    (after,) = flags([*lines, at("12:30", "05", to="paint", layer=2)], MISSED, "12:31", batch="05")
    assert after.remedy.startswith("press a wet white cloth on it")


def test_the_minutes_of_a_short_soak_are_reported_rounded_down_as_the_row_shows_them() -> None:
    """Eleven and a half are shown as eleven, as a clock that shows minutes has it."""
    (flag,) = flags(soak_of("09:11:36"), SHORT, "20:00")
    assert flag.why == "soaked 11 of 20 min"
    assert flag.remedy.startswith("back into the acid soak for 9 min")


@pytest.mark.parametrize(("until", "raised"), [("09:30", False), ("09:29", True)])
def test_the_soak_is_the_plans_to_set(until: str, raised: bool) -> None:
    """[rules] soak = 30 stands over every base's own."""
    assert bool(flags(soak_of(until), SHORT, "20:00", plan=plan_with("soak = 30"))) is raised


def test_yarn_that_never_soaked_is_missed_rather_than_short() -> None:
    """Never soaked is the other rule's."""
    assert not flags([at("10:00", "01", to="paint")], SHORT, "20:00")


def test_yarn_still_in_its_soak_is_not_short() -> None:
    """Short of its minutes only once dye goes on."""
    assert not flags(soak_of("09:20")[:2], SHORT, "09:05")


@pytest.mark.parametrize(("until", "raised"), [("09:40", False), ("09:39", True)])
def test_two_soaks_add_up(until: str, raised: bool) -> None:
    """Ten minutes before being set aside and ten after are twenty."""
    lines = [
        *soaked()[:2],
        at("09:10", "01", to="set-aside"),
        at("09:30", "01", to="soak"),
        at(until, "01", to="paint"),
    ]
    assert bool(flags(lines, SHORT, "20:00")) is raised


def test_minutes_soaked_before_going_back_to_waiting_are_lost() -> None:
    """The yarn dried in between."""
    lines = [
        *soaked()[:2],
        at("09:30", "01", to="waiting"),
        at("10:00", "01", to="soak"),
        at("10:05", "01", to="paint"),
    ]
    (flag,) = flags(lines, SHORT, "20:00")
    assert flag.why == "soaked 5 of 20 min"


def test_a_second_layer_without_a_soak_of_its_own_is_not_short() -> None:
    """Nothing is asked of the soak when a speckle goes on."""
    lines = [*soaked("05"), *heated("05"), at("12:30", "05", to="paint", layer=2)]
    assert not flags(lines, SHORT, "20:00", batch="05")


def test_a_second_layers_own_soak_is_held_to_its_minutes() -> None:
    """The first layer's hour in the tray is not counted again."""
    lines = [
        *soaked("06"),
        *heated("06"),
        at("12:30", "06", to="soak"),
        at("12:31", "06", acid_ml=40),
        at("12:42", "06", to="paint"),
    ]
    (flag,) = flags(lines, SHORT, "20:00", batch="06")
    assert flag.why == "soaked 12 of 20 min"


def load_in_water(time: str = "09:00", painted: tuple[str, str] = ("10:00", "10:00")) -> list[Line]:
    """Return 01 and 05 put into tray 1 together without acid, and when dye went on each."""
    return [
        at(time, batches=["01", "05"], to="soak", unit="tray 1"),
        *(at(when, no, to="paint") for no, when in zip(("01", "05"), painted, strict=True)),
    ]


def test_a_load_without_acid_is_one_flag_that_names_its_batches() -> None:
    """One cause: it stays one when one of them is painted later, and then says what each had."""
    (alike,) = flags(load_in_water(), MISSED, "20:00")
    assert (alike.about, alike.why) == ("01+05", "soaked 1 h with no acid recorded")
    (later,) = flags(load_in_water(painted=("10:00", "10:20")), MISSED, "20:00")
    assert later.batches == ("01", "05")
    assert later.since == now("10:00").utc
    assert later.why == "01: soaked 1 h with no acid recorded; 05: soaked 1 h 20 with no acid recorded"


@pytest.mark.parametrize(("joins", "about"), [("09:03", ["01+05"]), ("10:00", ["01", "05"])])
def test_what_joins_a_bath_without_acid_is_of_its_flag_and_what_comes_into_the_next_is_not(
    joins: str, about: list[str]
) -> None:
    """05 goes into tray 1 three minutes after 01; or as 01 is lifted out, when the next bath begins."""
    lines = [
        at("09:00", "01", to="soak", unit="tray 1"),
        at(joins, "05", to="soak", unit="tray 1"),
        at("10:00", "01", to="paint"),
        at("10:40", "05", to="paint"),
    ]
    found = [flag.about for flag in flags_of(day_of(lines), now("20:00")) if flag.rule is MISSED]
    assert found == about


def test_loads_one_after_the_other_without_acid_are_a_flag_each() -> None:
    """Each load into the tray had its own chance of acid, in new water and in kept."""
    for water in ("new", "kept"):
        lines = [
            at("09:00", "01", to="soak", unit="tray 1"),
            at("09:30", "01", to="paint"),
            at("09:30", "05", to="soak", unit="tray 1", water=water),
            at("10:00", "05", to="paint"),
        ]
        found = [flag.about for flag in flags_of(day_of(lines), now("10:00")) if flag.rule is MISSED]
        assert found == ["01", "05"]


def test_a_flag_of_several_batches_says_what_each_had_done_since() -> None:
    """Both were heated; only 01 soaked again."""
    lines = [*load_in_water(), *heated("01"), *heated("05", unit="steamer 2")]
    (both,) = flags(lines, MISSED, "11:25")
    assert both.evidence == "1st heat"
    (apart,) = flags([*lines, at("11:30", "01", to="soak", unit="tray 1")], MISSED, "11:40")
    assert apart.evidence == "01: 1st heat, soaked; 05: 1st heat"


def test_a_low_ph_read_for_one_of_a_load_leaves_the_flag_to_the_other() -> None:
    read = at("09:50", "01", reading="ph", value=4.6)
    assert [flag.about for flag in flags([*load_in_water(), read], MISSED, "20:00", batch="05")] == ["05"]


def test_too_little_acid_for_a_load_is_one_flag_with_each_batchs_own_dose() -> None:
    """Each has its share of the bath, by weight, to be misted on: two skeins of 05 want 2/3 of what 01 wants."""
    lines = [*load_in_water(), at("09:01", unit="tray 1", acid_ml=5)]
    (weak,) = flags(lines, FlagId.WEAK_ACID, "20:00")
    assert weak.about == "01+05"
    one, two = (float(part.split(" mL")[0].split()[-1]) for part in weak.remedy.split("; 05: "))
    assert two == pytest.approx(one * 2 / 3, abs=1)


def test_batches_that_left_one_pot_without_acid_together_are_one_flag() -> None:
    """What is alike in rule, time and words is one cause."""
    nos, load = ("03", "11"), {"batches": ["03", "11"]}
    lines = [
        *(at("09:00", no, to="soak", unit=tray) for no, tray in zip(nos, ("tray 1", "tray 2"), strict=True)),
        at("10:00", **load, to="paint", unit="pot 1"),
        at("10:05", **load, to="fix", heat_no=1, run="start", unit="pot 1"),
        at("11:00", **load, to="cool"),
    ]
    (flag,) = flags(lines, NONE, "20:00", batch="03")
    assert flag.about == "03+11"


def test_looks_at_two_batches_are_a_flag_each_though_alike() -> None:
    """What one cloth took up says nothing of the other yarn."""
    lines = [line for no in ("01", "05") for line in proper(no) if line.get("reading") != "cloth"]
    lines += [at("12:40", no, reading="cloth", value="marked") for no in ("01", "05")]
    found = [flag.about for flag in flags_of(day_of(lines), now("13:00")) if flag.rule is FlagId.BLEEDING]
    assert found == ["01", "05"]
