"""Flags about kit, orders and alarms that stood. Thresholds are common practice, not a published standard.

The states of an alarm are those of ISA-18.2 / IEC 62682.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from dyeday.plan.reading.plan_reader import read_plan
from dyeday.terms import FlagId
from tests.fakes import SHORT_DAY
from tests.track.days import PLAN, Line, at, flags, heated, instant, plan_with, soaked

FULL, RACK, MIXED, OVERDUE = FlagId.OVER_FULL, FlagId.CROWDED_RACK, FlagId.MIXED_LOT, FlagId.OVERDUE


def together(*batches: str, unit: str = "tray 1") -> list[Line]:
    """Return batches that went into one unit, a minute apart from 09:00 on."""
    return [at(f"09:{n:02d}", batch, to="soak", unit=unit) for n, batch in enumerate(batches)]


def test_as_many_skeins_as_a_unit_holds_are_not_too_many() -> None:
    """Two and two in a tray for four."""
    assert not flags(together("05", "06"), FULL, "20:00", batch="05")


def test_one_skein_too_many_flags_every_batch_in_the_unit() -> None:
    """Three and two in a tray for four, since the second came."""
    for batch in ("01", "05"):
        (flag,) = flags(together("01", "05"), FULL, "20:00", batch=batch)
        assert flag.why == "tray 1: 5 skeins, room for 4 (01 + 05)"
        assert flag.since == instant("09:01")
        assert "move one out" in flag.remedy


def test_a_unit_that_is_no_longer_crowded_asks_for_a_look_and_no_move() -> None:
    """The yarn in a tray, in a steamer and on a rack, once one of the two has left."""
    hung = [at("09:00", "01", to="dry", unit="pegs 1"), at("09:01", "05", to="dry", unit="pegs 1")]
    few_pegs = read_plan(PLAN.replace("holds = 40", "holds = 4"))
    for lines, rule, plan, do in (
        (together("01", "05"), FULL, read_plan(PLAN), "check that all of it was wet through"),
        (
            together("01", "05", unit="steamer 1"),
            FULL,
            read_plan(PLAN),
            "what was on top may lack heat: look at it, and heat it",
        ),
        (hung, RACK, few_pegs, "check that it is dry all through"),
    ):
        (flag,) = flags(lines, rule, "09:30", batch="05", plan=plan)
        assert flag.remedy.startswith("move one out")
        (flag,) = flags([*lines, at("09:20", "01", to="cool")], rule, "09:30", batch="05", plan=plan)
        assert flag.remedy.startswith(do)


def test_yarn_that_waits_in_a_unit_takes_room_there() -> None:
    """Laid into the tray dry, to be soaked later."""
    laid = [at("09:00", no, event="placed", unit="tray 1") for no in ("01", "05")]
    (flag,) = flags(laid, FULL, "20:00", batch="05")
    assert flag.why == "tray 1: 5 skeins, room for 4 (01 + 05)"
    assert not flags(laid[:1], FULL, "20:00")


def test_batches_in_different_units_of_a_kind_do_not_crowd_each_other() -> None:
    """Tray 1 is not tray 2."""
    lines = [*together("01"), *together("05", unit="tray 2")]
    assert not flags(lines, FULL, "20:00")


def test_a_batch_that_takes_over_a_unit_as_the_other_leaves_is_alone_in_it() -> None:
    """Out and in at the same moment is not an overlap; a second earlier it is."""
    out = at("10:00", "01", to="paint")
    assert not flags([*together("01"), out, at("10:00", "05", to="soak", unit="tray 1")], FULL, "20:00")
    assert flags([*together("01"), out, at("09:59:59", "05", to="soak", unit="tray 1")], FULL, "20:00")


def test_the_flag_stays_when_the_unit_is_relieved() -> None:
    """What was crowded was crowded; it closes by a reason only."""
    lines = [*together("01", "05"), at("09:30", "05", unit="tray 2", event="placed")]
    assert flags(lines, FULL, "20:00")


def test_one_more_in_a_crowded_unit_raises_a_flag_again() -> None:
    """Accepted with two in it, not with three; one taken out and put back is none."""
    crowded = [
        *together("01", "05"),
        *(at("09:10", no, event="resolved", rule=FULL.value, why="they swim") for no in ("01", "05")),
    ]
    back = [at("09:20", "05", unit="tray 2", event="placed"), at("09:21", "05", unit="tray 1", event="placed")]
    assert [flag.cleared is None for flag in flags([*crowded, *back], FULL, "20:00")] == [False]
    other = [at(f"09:0{n}", "06", to="soak", unit=f"tray {unit}") for n, unit in ((3, 1), (4, 3))]
    between = [*crowded[:2], at("09:02", "05", to="soak", unit="tray 2"), *other, *crowded[2:], back[1]]
    assert [flag.cleared is None for flag in flags(between, FULL, "20:00")] == [False]
    accepted, again = flags([*crowded, at("09:30", "06", to="soak", unit="tray 1")], FULL, "20:00")
    assert (accepted.cleared is None, again.cleared is None) == (False, True)
    assert again.why == "tray 1: 7 skeins, room for 4 (01 + 05 + 06)"
    assert again.since == instant("09:30")


@pytest.mark.parametrize(("other", "raised"), [("11", False), ("02", True)])
def test_a_pot_that_holds_grams_is_weighed(other: str, raised: bool) -> None:
    """600 g: 400 and 200 fill it, 400 and 300 are too much."""
    found = flags(together("03", other, unit="pot 1"), FULL, "20:00", batch="03")
    assert [flag.why for flag in found] == (["pot 1: 700 g, room for 600 g (02 + 03)"] if raised else [])


def test_what_a_unit_holds_is_the_plans_to_set() -> None:
    """A tray for five takes three and two."""
    plan = read_plan(PLAN.replace("units = 4\nholds = 4", "units = 4\nholds = 5"))
    assert not flags(together("01", "05"), FULL, "20:00", plan=plan)


def test_minis_hang_where_few_skeins_would() -> None:
    """Four minis of 20 g are one skein on a rack for three: with three skeins one too many, by themselves not."""
    plan = read_plan(SHORT_DAY.read_text(encoding="utf-8").replace("holds = 30", "holds = 3"))
    hung = [at("09:00", "04", to="dry", unit="pegs 1")]
    assert not flags(hung, RACK, "20:00", batch="04", plan=plan)
    both = [*hung, at("09:01", "05", to="dry", unit="pegs 1")]
    (flag,) = flags(both, RACK, "20:00", batch="05", plan=plan)
    assert flag.why == "pegs 1: 4 skeins, room for 3 (04 + 05)"


def test_a_crowded_rack_is_one_flag_on_the_batch_that_came_last_and_asks_for_no_heat() -> None:
    """Rinsed yarn that is crowded only dries more slowly; those that hung there already raise nothing."""
    plan = read_plan(PLAN.replace("holds = 40", "holds = 5"))
    hung = [at("09:00", "01", to="dry", unit="pegs 1"), at("09:01", "05", to="dry", unit="pegs 1")]
    assert not flags(hung, RACK, "20:00", plan=plan)
    crowded = [*hung, at("09:02", "06", to="dry", unit="pegs 1")]
    for batch in ("01", "05"):
        assert not flags(crowded, RACK, "20:00", batch=batch, plan=plan)
    (flag,) = flags(crowded, RACK, "20:00", batch="06", plan=plan)
    assert (flag.why, flag.since) == ("pegs 1: 7 skeins, room for 5 (01 + 05 + 06)", instant("09:02"))
    assert flag.remedy == "move one out; it dries more slowly"


@pytest.mark.parametrize(("unit", "reheats"), [("tray 1", False), ("steamer 1", True)])
def test_only_a_unit_that_heats_has_its_top_heated_again(unit: str, reheats: bool) -> None:
    """A tray warms nothing."""
    (flag,) = flags(together("01", "05", unit=unit), FULL, "20:00", batch="05")
    assert ("heat" in flag.remedy) is reheats


def test_more_skeins_counted_than_a_unit_holds_are_too_many_by_themselves() -> None:
    """One batch of five in a tray for four."""
    lines = [*together("01"), at("09:10", "01", skeins=5)]
    (flag,) = flags(lines, FULL, "20:00")
    assert flag.why == "tray 1: 5 skeins, room for 4 (01)"


def test_a_batch_larger_than_a_microwave_goes_through_it_pot_by_pot() -> None:
    """Three skeins in an oven for two are not over-full; a second batch in it at the same time is."""
    assert not flags(together("04", unit="oven 1"), FULL, "20:00", batch="04")
    (flag,) = flags(together("04", "01", unit="oven 1"), FULL, "20:00", batch="04")
    assert flag.why == "oven 1: 4 skeins, room for 2 (01 + 04)"


def test_a_sink_holds_any_number() -> None:
    """A sink without `holds` is never over-full."""
    assert not flags(together("01", "02", "03", "04", unit="sink 1"), FULL, "20:00")


JUMPER = [at("10:00", "08", to="paint"), at("11:00", "09", to="paint")]


def test_two_batches_from_one_mix_match() -> None:
    """An order that must match, dyed from its one mix."""
    assert not flags(JUMPER, MIXED, "20:00", batch="08")


def test_an_order_that_must_match_is_flagged_once_it_has_skeins_from_a_second_mix() -> None:
    """Both its batches, since the second mix went on, with the names of both."""
    lines = [JUMPER[0], {**JUMPER[1], "mix": "second jug"}]
    for batch in ("08", "09"):
        (flag,) = flags(lines, MIXED, "20:00", batch=batch)
        assert flag.since == instant("11:00")
        assert "'jumper' must match" in flag.why
        assert "08 from 'Harbour / Wool', 09 from 'second jug'" in flag.why
        assert "alternating rows" in flag.remedy


def test_two_colourways_ordered_under_one_name_need_not_match_each_other() -> None:
    """One customer, one item, a jumper and a hat: skeins are matched within the colourway and base."""
    hat = '[[order]]\nitem = "jumper"\ncolourway = "Rain"\nbase = "Wool"\nskeins = 1\nmatch = true\n'
    lines = [*JUMPER, at("11:30", "12", to="paint")]
    plan = plan_with(more=hat)
    assert plan.batches[-1].shares == (("jumper", 1),)
    for batch in ("08", "09", "12"):
        assert not flags(lines, MIXED, "20:00", batch=batch, plan=plan)


def test_a_batch_not_dyed_yet_is_of_no_mix() -> None:
    """Before dye went on the second batch there is one mix only."""
    assert not flags([{**JUMPER[0], "mix": "second jug"}], MIXED, "20:00", batch="08")


def test_a_batch_not_dyed_yet_raises_no_flag_where_others_are_from_two_mixes() -> None:
    """Two of three batches are; the third may still follow either."""
    plan = read_plan(PLAN.replace('base = "Wool"\nskeins = 8', 'base = "Wool"\nskeins = 12'))
    lines = [JUMPER[0], {**JUMPER[1], "mix": "second jug"}]
    assert flags(lines, MIXED, "20:00", batch="08", plan=plan)
    assert not flags(lines, MIXED, "20:00", batch="10", plan=plan)


def test_skeins_that_need_not_match_may_come_from_two_mixes() -> None:
    """`match` not asked."""
    plan = read_plan(PLAN.replace("match = true\n", ""))
    lines = [JUMPER[0], {**JUMPER[1], "mix": "second jug"}]
    assert not flags(lines, MIXED, "20:00", batch="08", plan=plan)


def test_a_scrapped_batch_does_not_spoil_the_match() -> None:
    """What is not sold need not match."""
    lines = [JUMPER[0], {**JUMPER[1], "mix": "second jug"}, at("12:00", "09", to="scrapped")]
    assert not flags(lines, MIXED, "20:00", batch="08")


def test_a_scrapped_batch_is_not_flagged_where_others_are_from_two_mixes() -> None:
    """Three batches from three mixes, the last of them scrapped."""
    plan = read_plan(PLAN.replace('base = "Wool"\nskeins = 8', 'base = "Wool"\nskeins = 12'))
    third = [at("11:30", "10", to="paint", mix="third jug"), at("12:00", "10", to="scrapped")]
    lines = [JUMPER[0], {**JUMPER[1], "mix": "second jug"}, *third]
    assert flags(lines, MIXED, "20:00", batch="08", plan=plan)
    assert not flags(lines, MIXED, "20:00", batch="10", plan=plan)


def test_two_layers_from_two_mixes_match_as_long_as_each_layer_does() -> None:
    """A speckle is another mix than its wash by nature."""
    plan = read_plan(PLAN.replace('item = "rain"', 'item = "rain"\nmatch = true'))
    lines = [at("10:00", "05", to="paint"), at("12:00", "05", to="paint", layer=2, mix="speckle jar")]
    assert not flags(lines, MIXED, "20:00", batch="05", plan=plan)


def test_what_must_match_may_be_dyed_over_in_its_own_colour_if_all_of_it_is() -> None:
    """08 is deepened at 14:00 and is then unlike 09, until that is dyed over as well at 16:00."""

    def deeper(batch: str, time: str) -> list[Line]:
        return [at("13:00", batch, event="overdyed", colourway="Harbour"), at(time, batch, to="paint")]

    (flag,) = flags([*JUMPER, *deeper("08", "14:00")], MIXED, "15:00", batch="09")
    assert flag.since == instant("14:00")
    both = [*JUMPER, *deeper("08", "14:00"), *deeper("09", "16:00")]
    assert not flags(both, MIXED, "20:00", batch="08")
    alone = read_plan(PLAN.replace('item = "rain"', 'item = "rain"\nmatch = true'))
    lines = [at("10:00", "05", to="paint"), at("13:00", "05", event="overdyed", colourway="Rain")]
    assert not flags([*lines, at("14:00", "05", to="paint")], MIXED, "20:00", batch="05", plan=alone)


def test_a_cleared_mix_is_not_raised_again_by_more_skeins_from_a_known_mix() -> None:
    """A third batch from one of the two mixes brings no third one."""
    plan = read_plan(PLAN.replace('base = "Wool"\nskeins = 8', 'base = "Wool"\nskeins = 12'))
    lines = [
        JUMPER[0],
        {**JUMPER[1], "mix": "second jug"},
        at("12:00", "08", event="resolved", rule=MIXED.value, why="side by side by daylight"),
        at("13:00", "10", to="paint", mix="second jug"),
    ]
    (flag,) = flags(lines, MIXED, "20:00", batch="08", plan=plan)
    assert flag.cleared is not None
    third_mix = [*lines[:-1], at("13:00", "10", to="paint", mix="third jug")]
    assert [f.cleared is None for f in flags(third_mix, MIXED, "20:00", batch="08", plan=plan)] == [False, True]


# The steam of batch 01, forty minutes at heat from 10:40, is over at 11:20 and an alarm at 11:25.
LEFT_ON = [*soaked(), *heated()[:2]]
HEAT_ALARM = "heat-01-1.1-103000"


def acted(time: str, what: str, alarm: str = HEAT_ALARM, **keys: float) -> Line:
    return at(time, alarm=alarm, is_=what, **keys)


@pytest.mark.parametrize(("time", "raised"), [("11:39:59", False), ("11:40", True), ("11:40:01", True)])
def test_an_alarm_not_silenced_for_fifteen_minutes_is_overdue(time: str, raised: bool) -> None:
    """Heat five minutes over its time is an alarm; fifteen more and it is a flag."""
    assert bool(flags(LEFT_ON, OVERDUE, time)) is raised


def test_an_overdue_alarm_says_how_long_it_stood_and_what_it_was() -> None:
    """Its minutes, the alarm's words, and what heat left on wants done."""
    (flag,) = flags(LEFT_ON, OVERDUE, "11:45")
    assert flag.why == "alarm of 11:25 not answered for 20 min: 01 steam 40 min is up: turn off steamer 1"
    assert flag.since == instant("11:40")
    assert "turn the heat off" in flag.remedy


@pytest.mark.parametrize(("time", "raised"), [("11:54:59", False), ("11:55", True)])
def test_how_long_an_alarm_may_stand_is_the_plans_to_set(time: str, raised: bool) -> None:
    """[rules] overdue = 30."""
    assert bool(flags(LEFT_ON, OVERDUE, time, plan=plan_with("overdue = 30\nreserve = 0"))) is raised


@pytest.mark.parametrize(("time", "raised"), [("11:44:59", False), ("11:45", True)])
def test_a_later_alarm_is_overdue_later(time: str, raised: bool) -> None:
    """[rules] steam_over = 10 puts the alarm itself at 11:30."""
    assert bool(flags(LEFT_ON, OVERDUE, time, plan=plan_with("steam_over = 10"))) is raised


@pytest.mark.parametrize(("time", "raised"), [("11:39:59", False), ("11:40", True)])
def test_an_alarm_silenced_in_time_is_never_overdue(time: str, raised: bool) -> None:
    """Silenced a second before the fifteen minutes are over, though the heat stays on."""
    assert bool(flags([*LEFT_ON, acted(time, "acknowledged")], OVERDUE, "11:49")) is raised


def test_an_alarm_whose_cause_went_away_in_time_is_never_overdue() -> None:
    """The heat off at 11:39: it stood fourteen minutes."""
    lines = [*LEFT_ON, at("11:39", "01", heat_no=1, run="end")]
    assert not flags(lines, OVERDUE, "20:00")
    assert flags([*LEFT_ON, at("11:41", "01", heat_no=1, run="end")], OVERDUE, "20:00")


def test_the_minutes_an_alarm_was_snoozed_do_not_count() -> None:
    """Five minutes before the shelf and ten after it are fifteen."""
    lines = [*LEFT_ON, acted("11:30", "shelved", minutes=10)]
    assert not flags(lines, OVERDUE, "11:49:59")
    (flag,) = flags(lines, OVERDUE, "11:50")
    assert flag.since == instant("11:50")


def test_snoozing_an_alarm_that_is_overdue_already_takes_no_flag_away() -> None:
    """It stood its fifteen minutes before."""
    lines = [*LEFT_ON, acted("11:45", "shelved", minutes=15)]
    (flag,) = flags(lines, OVERDUE, "11:50")
    assert flag.since == instant("11:40")


def test_yarn_that_dried_out_and_a_tank_that_ran_low_are_not_overdue_as_well() -> None:
    """One cause, one flag: dried-out and boil-dry say it already, heat that was left on included."""
    open_yarn = [*soaked(), at("10:20", "01", cover="open"), at("10:20", "01", to="fix")]
    assert not flags(open_yarn, OVERDUE, "20:00")
    assert flags(open_yarn, FlagId.DRIED_OUT, "20:00")
    assert flags(LEFT_ON, OVERDUE, "11:49")
    assert not flags(LEFT_ON, OVERDUE, "12:30")
    assert flags(LEFT_ON, FlagId.BOIL_DRY, "12:30")


def test_every_flag_closes_only_by_being_cleared_with_a_reason() -> None:
    """The reason and its time stand with the flag from then on."""
    lines = [*LEFT_ON, at("11:45", "01", event="resolved", rule=OVERDUE.value, why="looked at and good")]
    (flag,) = flags(lines, OVERDUE, "11:48")
    assert flag.cleared is not None
    assert (flag.cleared.why, flag.cleared.at) == ("looked at and good", instant("11:45"))
    assert flag.to_json()["resolved"] == {"at": "2026-04-18T11:45:00Z", "why": "looked at and good"}
    assert replace(flag, cleared=None).to_json()["resolved"] is None
