"""Flags about heat and about waiting for it. Their thresholds are common practice, not a published standard."""

from __future__ import annotations

import pytest

from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.studio.carry_over import carried_event
from dyeday.terms import FlagId, TimerKind
from dyeday.track.day.progress import at_heat_min
from dyeday.track.timers.alarm_states import alarms
from dyeday.track.timers.timers import all_timers, tank_fills, timers_of
from tests.track.days import PLAN, Line, at, day_of, flags, heated, instant, now, plan_with, soaked

DRIED, SHORT = FlagId.DRIED_OUT, FlagId.SHORT_FIX


def painted(cover: str = "open", until: str = "10:20") -> list[Line]:
    """Return a batch painted from 10:00 to ``until`` that then waits in fix, under a cover."""
    return [*soaked(), at(until, "01", cover=cover), at(until, "01", to="fix")]


def lit(time: str) -> Line:
    return at(time, "01", heat_no=1, run="start", unit="steamer 1")


@pytest.mark.parametrize(
    ("cover", "inside", "outside"),
    [
        ("open", "11:20", "11:20:01"),
        ("lidded", "14:20", "14:20:01"),
        ("wrapped", "34:20", "34:20:01"),
    ],
)
def test_painted_yarn_waits_as_long_as_its_cover_allows_and_no_second_longer(
    cover: str, inside: str, outside: str
) -> None:
    """Open 60, lidded 240, wrapped 1440 min from the end of painting to the first heat."""
    assert not flags([*painted(cover), lit(inside)], DRIED, "40:00")
    (flag,) = flags([*painted(cover), lit(outside)], DRIED, "40:00")
    assert flag.since == instant(inside)


def test_drying_out_is_raised_while_it_still_waits() -> None:
    """The flag is raised before the heat is on."""
    assert not flags(painted(), DRIED, "11:20")
    assert flags(painted(), DRIED, "11:20:01")


def test_drying_out_says_the_cover_the_minutes_and_what_to_do() -> None:
    """Its numbers are in its reason, the dyer's remedy beside it."""
    (flag,) = flags([*painted(), lit("11:45")], DRIED, "12:00")
    assert flag.why == "painted and not in heat: open 85 of 60 min"
    assert "mist it with acid water" in flag.remedy


@pytest.mark.parametrize(
    ("rules", "cover"), [("open = 30", "open"), ("lidded = 30", "lidded"), ("wrapped = 30", "wrapped")]
)
def test_how_long_a_cover_keeps_yarn_damp_is_the_plans_to_set(rules: str, cover: str) -> None:
    """[rules] open, lidded and wrapped move the edge."""
    plan = plan_with(rules)
    assert not flags([*painted(cover), lit("10:50")], DRIED, "12:00", plan=plan)
    assert flags([*painted(cover), lit("10:50:01")], DRIED, "12:00", plan=plan)


def test_without_a_word_about_its_cover_painted_yarn_has_its_recipes() -> None:
    """A painted layer is wrapped unless the recipe or an entry says otherwise."""
    lines = [*soaked(), at("10:20", "01", to="fix"), lit("20:00")]
    assert not flags(lines, DRIED, "21:00")


def test_each_cover_uses_up_its_own_share_of_the_wait() -> None:
    """Half the time open, then half the time lidded, is all of it: 30 of 60 and 120 of 240 min."""
    lines = [*painted(), at("10:50", "01", cover="lidded")]
    assert not flags([*lines, lit("12:50")], DRIED, "20:00")
    (flag,) = flags([*lines, lit("12:52")], DRIED, "20:00")
    assert flag.why == "painted and not in heat: open 30 of 60 min, then lidded 122 of 240 min"
    assert flag.since == instant("12:50")


def test_shares_of_three_covers_that_add_up_to_the_whole_wait_are_not_above_it() -> None:
    """12 of 60, 184 of 240 and 48 of 1440 min: in binary fractions a hair above one."""
    lines = [*painted(), at("10:32", "01", cover="lidded"), at("13:36", "01", cover="wrapped")]
    assert not flags([*lines, lit("14:24")], DRIED, "20:00")
    assert flags([*lines, lit("14:26")], DRIED, "20:00")


def test_yarn_being_painted_waits_once_painting_takes_more_than_twice_its_time() -> None:
    """The recipe takes 18 min for its yarn, so that from 10:36 it lies there as its recipe covers it."""
    plan = read_plan(PLAN.replace('name = "Harbour"\nfix', 'name = "Harbour"\ncover = "open"\nfix'))
    assert not flags([*soaked(), lit("11:36")], DRIED, "11:36", plan=plan)
    (flag,) = flags(soaked(), DRIED, "15:30", plan=plan)
    assert flag.why == "painted and not in heat: open 294 of 60 min"
    assert flag.since == instant("11:36")
    assert not flags([*soaked(), at("10:20", "01", cover="wrapped")], DRIED, "15:30", plan=plan)


def test_a_cover_recorded_while_yarn_is_in_paint_says_that_it_lies_under_it_from_then_on() -> None:
    """Open at 10:12, before the recipe's 18 min are over: its hour ends at 11:12, not at 11:36."""
    lines = [*soaked(), at("10:12", "01", cover="open")]
    assert not flags([*lines, lit("11:12")], DRIED, "11:13")
    (flag,) = flags(lines, DRIED, "11:30")
    assert flag.since == instant("11:12")
    assert not flags([*lines, at("10:42", "01", cover="lidded"), lit("12:42")], DRIED, "13:00")
    assert flags([*lines, at("10:42", "01", cover="lidded"), lit("12:43")], DRIED, "13:00")


def test_wrapped_yarn_that_waits_in_the_paint_state_for_a_free_steamer_raises_nothing() -> None:
    """As advised: the next step on the bench is its heat."""
    assert not flags(soaked(), DRIED, "13:30")


def test_the_wait_of_painted_yarn_counts_on_from_its_dye_when_it_is_moved_to_fix() -> None:
    """Open since 10:12 and into the steamer at 11:00 without heat: its hour ends at 11:12, not at 12:00."""
    lines = [*soaked(), at("10:12", "01", cover="open"), at("11:00", "01", to="fix", unit="steamer 1")]
    assert not flags(lines, DRIED, "11:12")
    (flag,) = flags(lines, DRIED, "11:30")
    assert (flag.since, flag.why) == (instant("11:12"), "painted and not in heat: open 78 of 60 min")
    (alarm,) = alarms(day_of(lines), now("11:30"))
    assert alarm.since == instant("11:17")


@pytest.mark.parametrize(("off", "waits"), [("10:21", True), ("10:49", True), ("11:06", False)])
def test_yarn_whose_last_heat_was_cut_short_still_dries_out(off: str, waits: bool) -> None:
    """Off in the warm-up, after 19 and after 36 of 40 min: only the last, as `fix_share` asks, fixes it."""
    lines = [*painted(), lit("10:20"), at(off, "01", heat_no=1, run="end")]
    assert bool(flags(lines, DRIED, "17:00")) is waits
    assert bool(alarms(day_of(lines), now("17:00"))) is waits
    assert bool([timer for timer in all_timers(day_of(lines), now("17:00")) if timer.kind is TimerKind.WAIT]) is waits


def test_yarn_whose_steamer_broke_says_how_long_it_lies_unfixed_and_how_else_to_steam_it() -> None:
    """Wrapped by its recipe, at heat for 20 of 40 min: unfixed is not painted, and 27 h are not 1620 min."""
    lines = [*soaked(), at("10:20", "01", to="fix"), lit("10:30"), at("10:50", unit="steamer 1", is_="down")]
    assert not flags(lines, DRIED, "34:40")
    (flag,) = flags(lines, DRIED, "37:50")
    assert flag.why == "unfixed and not in heat: wrapped 27 h of 24 h"
    assert "in another unit, or over boiling water in a covered pot, for the 20 min it lacks" in flag.remedy


@pytest.mark.parametrize("runs", [(("10:20", "11:05"),), (("10:20", "11:05"), ("11:10", "11:30"))])
def test_yarn_that_has_the_minutes_its_dyes_need_lacks_none_of_them(
    runs: tuple[tuple[str, str], ...],
) -> None:
    """Of three heats the first was whole, and 30 min are enough: the second not begun, or begun and cut short."""
    plan = read_plan(PLAN.replace('["steam 40 min"]', '["steam 30 min", "steam 30 min", "steam 30 min"]', 1))
    lines = painted()
    for heat_no, (on, off) in enumerate(runs, 1):
        lines.append(at(on, "01", heat_no=heat_no, run="start", unit="steamer 1"))
        lines.append(at(off, "01", heat_no=heat_no, run="end"))
    (flag,) = flags(lines, DRIED, "13:30", plan=plan)
    assert flag.why.startswith("unfixed and not in heat: open")
    assert "lacks" not in flag.remedy
    assert "fix it now" in flag.remedy


def test_a_batch_set_aside_goes_on_drying() -> None:
    """Setting it aside stops nothing physical."""
    lines = [*soaked(), at("10:20", "01", cover="open"), at("10:20", "01", to="set-aside")]
    assert not flags(lines, DRIED, "11:20")
    assert flags(lines, DRIED, "11:20:01")


def test_yarn_cooling_after_its_last_heat_is_fixed_and_does_not_dry_out() -> None:
    """After the last heat of its layer nothing waits for heat."""
    assert not flags([*painted(), *heated(since="10:30")[1:]], DRIED, "40:00")


def test_yarn_that_lies_in_its_pot_without_heat_does_not_dry_out() -> None:
    lines = [at("09:00", "03", to="soak"), at("10:00", "03", to="paint", unit="pot 1"), at("10:20", "03", to="fix")]
    assert not flags(lines, DRIED, "20:00", batch="03")


def test_between_two_heats_painted_yarn_dries_out_too() -> None:
    """Open after the first burst, it may wait an hour for the second."""
    lines = [
        *soaked("04"),
        at("10:20", "04", cover="open"),
        at("10:20", "04", to="fix"),
        at("10:20", "04", heat_no=1, run="start", unit="oven 1"),
        at("10:22", "04", heat_no=1, run="end"),
    ]
    assert not flags(lines, DRIED, "11:22", batch="04")
    assert flags(lines, DRIED, "11:22:01", batch="04")


def test_a_second_layer_waits_again() -> None:
    """The wait of a speckle begins when the speckle is on, whatever the wash waited."""
    lines = [
        *soaked("05"),
        *heated("05", "10:30", "11:20"),
        at("12:30", "05", to="paint", layer=2),
        at("12:40", "05", cover="open"),
        at("12:40", "05", to="fix"),
    ]
    assert not flags(lines, DRIED, "13:40", batch="05")
    assert flags(lines, DRIED, "13:40:01", batch="05")


def speckled(cover: str, heat: str) -> Plan:
    """Return the plan with 01 speckled, in two heats where ``heat`` says so."""
    text = 'name = "Harbour"\nfix = ["steam 40 min"]\nsections'
    new = f'name = "Harbour"\nhow = "speckled"\ncover = "{cover}"\nfix = [{heat}]\nsections'
    return read_plan(PLAN.replace(text, new))


@pytest.mark.parametrize("cover", ["wrapped", "lidded", "open"])
def test_specks_want_heat_within_the_hour_whatever_covers_them(cover: str) -> None:
    """Flag and clock: strewn by 10:20, wrapped too they have until 11:20."""
    plan, lines = speckled(cover, '"steam 40 min"'), [*soaked(), at("10:20", "01", to="fix")]
    day = day_of(lines, plan)
    (timer,) = (c for c in timers_of(day, day.batches["01"], now("10:50")) if c.kind is TimerKind.WAIT)
    assert timer.left_s == 30 * 60
    assert not flags([*lines, lit("11:20")], DRIED, "40:00", plan=plan)
    (flag,) = flags([*lines, lit("11:45")], DRIED, "12:00", plan=plan)
    assert flag.why == f"speckled and not in heat: {cover} 85 of 60 min"
    assert flag.remedy == "fix it now; look for specks that ran"


def test_specks_that_had_a_heat_wait_for_the_next_as_their_cover_lets_them() -> None:
    plan = speckled("wrapped", '"microwave 2 min", "steam 40 min"')
    lines = [*soaked(), at("10:20", "01", to="fix")]
    lines += [at("10:20", "01", heat_no=1, run="start", unit="oven 1"), at("10:22", "01", heat_no=1, run="end")]
    assert not flags([*lines, at("13:00", "01", heat_no=2, run="start", unit="steamer 1")], DRIED, "40:00", plan=plan)


@pytest.mark.parametrize(("until", "raised"), [("11:07:01", False), ("11:07", False), ("11:06:58", True)])
def test_a_layer_must_have_nine_tenths_of_the_minutes_its_dyes_need(until: str, raised: bool) -> None:
    """1 % needs 30 min; from 10:30 with ten minutes of warming up 27 are enough, two seconds less are not."""
    assert bool(flags([*soaked(), *heated(until=until)], SHORT, "20:00")) is raised


def test_a_short_heat_says_what_it_had_and_how_much_is_missing() -> None:
    """25 of 30 min at heat; five more."""
    (flag,) = flags([*soaked(), *heated(until="11:05")], SHORT, "20:00")
    assert flag.why == "25 of 30 min at heat that its deepest section needs"
    assert flag.remedy == "fix again: steam for 5 min at heat"
    assert flag.since == instant("11:05")


def test_the_minutes_to_fix_again_are_rounded_up() -> None:
    """25 min 36 s of 30: four more would not do."""
    (flag,) = flags([*soaked(), *heated(until="11:05:36")], SHORT, "20:00")
    assert flag.remedy == "fix again: steam for 5 min at heat"


@pytest.mark.parametrize(("until", "raised"), [("11:10", False), ("11:09:58", True)])
def test_the_share_of_the_heat_is_the_plans_to_set(until: str, raised: bool) -> None:
    """[rules] fix_share = 100 wants all of it."""
    lines = [*soaked(), *heated(until=until)]
    assert bool(flags(lines, SHORT, "20:00", plan=plan_with("fix_share = 100"))) is raised


def test_minutes_count_from_the_real_heat_where_it_was_recorded() -> None:
    """Steam that came half an hour late leaves twenty."""
    lines = [*soaked(), *heated(), at("11:00", "01", heat_no=1, run="heat")]
    (flag,) = flags(lines, SHORT, "20:00")
    assert "20 of 30 min" in flag.why
    early = [*soaked(), *heated(until="11:02"), at("10:35", "01", heat_no=1, run="heat")]
    assert not flags(early, SHORT, "20:00")


def test_heat_switched_off_before_it_was_real_counts_for_nothing() -> None:
    """Five minutes on with ten of warming up is none at heat."""
    (flag,) = flags([*soaked(), *heated(until="10:35")], SHORT, "20:00")
    assert "0 of 30 min at heat" in flag.why


def test_no_heat_at_all_is_said_with_what_the_dyes_need() -> None:
    """Out of fix without any heat."""
    lines = [*soaked(), at("10:30", "01", to="fix"), at("10:50", "01", to="cool")]
    (flag,) = flags(lines, SHORT, "20:00")
    assert "0 of 30 min at heat" in flag.why
    assert flag.remedy == "fix again: steam for 30 min at heat"


def test_nothing_is_short_while_the_heat_is_on() -> None:
    """The rule asks when the batch leaves fix."""
    assert not flags([*soaked(), *heated(until="10:45")[:-1]], SHORT, "20:00")


def test_a_batch_set_aside_from_its_heat_is_not_short_until_it_goes_on() -> None:
    """Back in fix, the minutes before and after add up."""
    lines = [
        *soaked(),
        *heated(until="10:51")[:-1],
        at("10:51", "01", to="set-aside"),
        at("11:30", "01", to="fix"),
        at("11:30", "01", heat_no=1, run="start", unit="steamer 1"),
    ]
    assert not flags(lines, SHORT, "11:31")
    enough = [*lines, at("11:56", "01", to="cool")]
    assert not flags(enough, SHORT, "20:00")
    too_few = [*lines, at("11:55", "01", to="cool")]
    assert flags(too_few, SHORT, "20:00")


def test_painting_the_same_layer_again_is_not_leaving_its_heat_short() -> None:
    """Taken out to be painted over, its heat is still to come."""
    lines = [*soaked(), *heated(until="10:45")[:-1], at("10:45", "01", to="paint")]
    assert not flags(lines, SHORT, "20:00")


@pytest.mark.parametrize(("until", "raised"), [("11:25", False), ("11:24:58", True)])
def test_a_dye_that_needs_more_than_its_recipe_gives_is_held_to_its_own_minimum(until: str, raised: bool) -> None:
    """Its heat of 40 min is full, its dye needs 50: 45 at heat are enough, two seconds less are not."""
    found = flags([*soaked("10"), *heated("10", "10:30", until)], SHORT, "20:00", batch="10")
    assert [flag.rule for flag in found] == ([SHORT] if raised else [])


def test_the_dyes_minimum_is_said_with_its_numbers() -> None:
    """In all 40 of the 50 min its dye needs."""
    (flag,) = flags([*soaked("10"), *heated("10")], SHORT, "20:00", batch="10")
    assert flag.why == "40 of 50 min at heat that its deepest section needs"
    assert flag.remedy == "fix again: steam for 10 min at heat"


@pytest.mark.parametrize(("until", "raised"), [("11:20:30", False), ("11:20:28", True)])
def test_more_than_two_per_cent_of_a_dye_needs_forty_five_minutes(until: str, raised: bool) -> None:
    """A deep shade: steam 50 min planned, nine tenths of 45 are enough."""
    found = flags([*soaked("02"), *heated("02", "10:30", until)], SHORT, "20:00", batch="02")
    assert bool(found) is raised


def burst(start: str, heat_no: int, end: str) -> list[Line]:
    return [
        at(start, "04", heat_no=heat_no, run="start", unit="oven 1"),
        at(end, "04", heat_no=heat_no, run="end"),
    ]


def test_three_skeins_go_through_an_oven_for_two_as_two_pots_and_both_must_go() -> None:
    """Two bursts of two minutes for each pot-ful."""
    start = [*soaked("04"), at("10:20", "04", to="fix")]
    second = [*burst("10:30", 2, "10:32"), *burst("10:32", 2, "10:34"), at("10:40", "04", to="cool")]
    one_pot = [*start, *burst("10:20", 1, "10:22"), *second]
    (flag,) = flags(one_pot, SHORT, "20:00", batch="04")
    assert flag.why == "3 of 4 min at heat that the recipe asks for"
    both = [*start, *burst("10:20", 1, "10:22"), *burst("10:22", 1, "10:24"), *second]
    assert not flags(both, SHORT, "20:00", batch="04")


def test_bursts_beside_a_steaming_do_not_excuse_a_deep_section() -> None:
    """A dye that wants 50 min gets 2 in the microwave and 40 in steam: as planned, and too little."""
    recipe = """
[[colourway]]
name = "Burst"
fix = ["microwave 2 min", "steam 40 min"]
sections = [{ share = 100, dyes = { Slow = 1.0 } }]
[[order]]
item = "burst"
colourway = "Burst"
base = "Sock"
skeins = 2
"""
    lines = [
        *soaked("12"),
        at("10:20", "12", to="fix"),
        at("10:20", "12", heat_no=1, run="start", unit="oven 1"),
        at("10:22", "12", heat_no=1, run="end"),
        *heated("12", heat_no=2)[1:],
    ]
    (flag,) = flags(lines, SHORT, "20:00", batch="12", plan=plan_with(more=recipe))
    assert flag.why == "42 of 50 min at heat that its deepest section needs"


def test_bursts_alone_must_give_the_minutes_of_the_recipe() -> None:
    """Without a steaming no dye has its least minutes; two of the recipe's four are short."""
    lines = [
        *soaked("04"),
        at("10:20", "04", to="fix"),
        *burst("10:20", 1, "10:22"),
        *burst("10:22", 1, "10:24"),
        at("10:40", "04", to="cool"),
    ]
    (flag,) = flags(lines, SHORT, "20:00", batch="04")
    assert flag.why == "2 of 4 min at heat that the recipe asks for"
    assert flag.remedy == "fix again: microwave for 2 min at heat"


def test_fixed_again_the_flag_stays_with_the_new_heat_as_evidence() -> None:
    """Only a reason closes a flag; the work done since is shown beside it."""
    lines = [*soaked(), *heated(until="11:05"), *heated(since="12:00", until="12:50")]
    (flag,) = flags(lines, SHORT, "20:00")
    assert flag.cleared is None
    assert flag.evidence == "1st heat"


def test_a_heat_is_evidence_once_it_has_ended_and_says_its_layer() -> None:
    """Switched on, it may break off at once."""
    first = [*soaked("05"), *heated("05", until="11:05")]
    *on, off, _ = [at("12:00", "05", to="paint", layer=2), *heated("05", since="12:40", until="13:20")]
    evidence = [flags([*first, *on, *more], SHORT, "20:00", batch="05")[0].evidence for more in ([], [off])]
    assert evidence == ["", "1st heat of layer 2"]


def test_heat_of_an_earlier_layer_is_not_counted_for_the_next() -> None:
    """The wash's forty minutes do not fix the speckle."""
    lines = [
        *soaked("05"),
        *heated("05"),
        at("12:30", "05", to="paint", layer=2),
        at("12:40", "05", to="fix"),
        at("12:50", "05", to="cool"),
    ]
    (flag,) = flags(lines, SHORT, "20:00", batch="05")
    assert "0 of 30 min at heat" in flag.why


def timed(value: str) -> Plan:
    """Return the plan with a steamer that does, or does not, switch itself off."""
    return read_plan(PLAN.replace('kind = "steamer"', f'kind = "steamer"\ntimer = {value}', 1))


def test_a_steamer_with_a_timer_ends_its_heat_itself_and_is_not_an_alarm() -> None:
    """40 min were set: two hours later it has given 40, nothing is overdue, and no tank ran on."""
    on = [*soaked(), at("10:30", "01", to="fix"), at("10:30", "01", heat_no=1, run="start", unit="steamer 1")]
    late = now("13:00")
    by_itself, by_hand = day_of(on, timed("true")), day_of(on, timed("false"))
    assert at_heat_min(by_itself.batches["01"].heats[0], late) == 40
    assert at_heat_min(by_hand.batches["01"].heats[0], late) == 140
    assert [alarm for alarm in alarms(by_itself, late) if alarm.unit == "steamer 1"] == []
    assert [alarm for alarm in alarms(by_hand, late) if alarm.unit == "steamer 1"] != []
    assert tank_fills(by_itself, "steamer 1", late)[-1].run_min == 50
    assert not tank_fills(by_itself, "steamer 1", late)[-1].running


def test_a_microwave_without_a_timer_runs_until_hands_end_it() -> None:
    """`timer = false` of a microwave; without the key its kind decides."""
    burst = [
        *soaked("04"),
        at("10:30", "04", to="fix"),
        at("10:30", "04", heat_no=1, run="start", unit="microwave 1"),
    ]
    hand = read_plan(PLAN.replace('kind = "microwave"', 'kind = "microwave"\ntimer = false', 1))
    assert day_of(burst).batches["04"].heats[0].own_end_min is not None
    assert day_of(burst, hand).batches["04"].heats[0].own_end_min is None


def test_a_carried_part_of_a_batch_has_waited_since_the_whole_was_painted() -> None:
    """Three skeins were painted until 10:30; that the new day's own 01 has one says nothing of them."""
    fixed = [*soaked(), at("10:30", "01", to="fix"), at("10:31", "01", into={"01a": 1, "01b": 2})]
    before = day_of([*fixed, at("10:40", "01a", note="tomorrow")])
    over = at("10:50", "05", **carried_event(before, "2026-04-17-1", before.batches["01a"]).to_json())
    plan = read_plan(PLAN.replace("skeins = 3", "skeins = 1", 1))
    assert not flags([over], DRIED, "34:30", batch="05", plan=plan)
    assert flags([over], DRIED, "34:30:01", batch="05", plan=plan)
