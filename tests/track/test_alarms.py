"""Alarms: what is past its time and does harm. States and words are those of ISA-18.2 / IEC 62682.

How late is late, and how often an alarm sounds again, are common practice, not part of that standard.
"""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta

import pytest

from dyeday.plan.reading.plan_reader import read_plan
from dyeday.terms import AlarmKind, AlarmState
from dyeday.track.day.day_state import MOST_SNOOZE_MIN, Day
from dyeday.track.event_keys import EventError
from dyeday.track.events.event_json import read_event
from dyeday.track.folding.fold import fold
from dyeday.track.timers.alarm_rates import prompts
from dyeday.track.timers.alarm_states import Alarm, alarms, is_one_cause, standing
from dyeday.track.timers.timers import due, timer_of
from dyeday.track.timestamp import Moment
from tests.track.days import (
    PLAN,
    THE_PLAN,
    Line,
    at,
    booted,
    by_boot,
    day_of,
    events,
    heated,
    instant,
    now,
    plan_with,
    soaked,
)

# Forty minutes of steam from 10:40 on are over at 11:20; five minutes later that is an alarm.
STEAM = [*soaked(), *heated()[:2]]
HEAT = "heat-01-1.1-103000"
OPEN = [*soaked(), at("10:20", "01", cover="open"), at("10:20", "01", to="fix")]


def acted(time: str, what: str, alarm: str = HEAT, **keys: float) -> Line:
    return at(time, alarm=alarm, is_=what, **keys)


def the_alarm(lines: list[Line], time: str) -> Alarm:
    (alarm,) = alarms(day_of(lines), now(time))
    return alarm


def state(lines: list[Line], time: str) -> AlarmState:
    return the_alarm(lines, time).state(instant(time))


def test_heat_five_minutes_over_its_time_is_an_alarm() -> None:
    """Not at five minutes over, a second later."""
    assert alarms(day_of(STEAM), now("11:25")) == []
    alarm = the_alarm(STEAM, "11:25:01")
    assert (alarm.id, alarm.kind, alarm.batches, alarm.unit) == (HEAT, AlarmKind.HEAT, ("01",), "steamer 1")
    assert alarm.since == instant("11:25")
    assert alarm.text == "01 steam 40 min is up: turn off steamer 1"


def test_how_late_heat_may_be_is_the_plans_to_set() -> None:
    """[rules] steam_over = 1."""
    day = day_of(STEAM, plan_with("steam_over = 1"))
    assert alarms(day, now("11:21")) == []
    assert [alarm.since for alarm in alarms(day, now("11:22"))] == [instant("11:21")]


def test_painted_yarn_past_its_cover_is_an_alarm() -> None:
    """Open from 10:20, dry at 11:20, an alarm five minutes after."""
    assert alarms(day_of(OPEN), now("11:25")) == []
    alarm = the_alarm(OPEN, "11:25:01")
    assert (alarm.kind, alarm.batches, alarm.since) == (AlarmKind.WAIT, ("01",), instant("11:25"))
    assert "drying out" in alarm.text


def test_a_tank_past_its_reserve_is_an_alarm_of_its_unit() -> None:
    """80 of 100 min from 10:30 are over at 11:50."""
    day = day_of(STEAM)
    assert AlarmKind.TANK not in [alarm.kind for alarm in alarms(day, now("11:50"))]
    (tank,) = [alarm for alarm in alarms(day, now("11:50:01")) if alarm.kind == AlarmKind.TANK]
    assert (tank.batches, tank.unit, tank.since) == ((), "steamer 1", instant("11:50"))


@pytest.mark.parametrize(
    ("lasts", "time", "words"),
    [
        ("60", "11:25", "steamer 1 ran 55 min on one fill: turn it off"),
        ("60", "12:00", "steamer 1 ran 1 h 30 on one fill: turn it off"),
        ("40", "11:05", "steamer 1 ran 35 min on one fill: turn it off, cool, fill it"),
    ],
)
def test_the_alarm_of_a_low_tank_never_says_to_fill_it_first(lasts: str, time: str, words: str) -> None:
    """On at 10:30 with 10 min of warm-up and 40 of steam: over at 11:20, and so is the fill, by record, at 11:30."""
    plan = read_plan(PLAN.replace('lasts = "100 min"', f'lasts = "{lasts} min"'))
    (tank,) = [alarm for alarm in alarms(day_of(STEAM, plan), now(time)) if alarm.kind == AlarmKind.TANK]
    assert tank.text == words


def test_a_tank_that_runs_low_under_heat_left_on_replaces_the_alarm_of_that_heat() -> None:
    """One cause, one alarm, also when it is past."""
    assert [alarm.kind for alarm in alarms(day_of(STEAM), now("11:40"))] == [AlarmKind.HEAT]
    assert [alarm.kind for alarm in alarms(day_of(STEAM), now("11:51"))] == [AlarmKind.TANK]
    off = [*STEAM, at("12:00", "01", heat_no=1, run="end")]
    assert [alarm.kind for alarm in alarms(day_of(off), now("12:10"))] == [AlarmKind.TANK]


def test_steam_may_stand_a_quarter_of_an_hour_and_a_bath_of_wool_five_minutes() -> None:
    """Steam of 01 is over at 11:20, the simmer of 03 (wool) half an hour after its heat at 10:10."""
    usual = read_plan(PLAN)
    pot = [at("10:00", "03", to="paint", unit="pot 1"), at("10:00", "03", heat_no=1, run="start", unit="pot 1")]
    day = day_of([*STEAM, *pot, at("10:10", "03", heat_no=1, run="heat")], usual)
    assert {a.batches: a.since for a in alarms(day, now("11:36"))} == {
        ("01",): instant("11:35"),
        ("03",): instant("10:45"),
    }


# The simmer of 03, wool that felts, broke off with 25 of its 30 min and went on at heat from 10:20.
BROKE_OFF = [
    at("09:30", "03", to="paint", unit="pot 1"),
    *(at(time, "03", heat_no=1, run=run, unit="pot 1") for time, run in (("09:31", "start"), ("09:40", "heat"))),
    at("10:05", "03", heat_no=1, run="end"),
    *(at(time, "03", heat_no=1, run=run, unit="pot 1") for time, run in (("10:10", "start"), ("10:20", "heat"))),
]


def test_heat_that_broke_off_and_goes_on_is_an_alarm_five_minutes_after_its_timer() -> None:
    """Over at 10:25 with its five last minutes; turned off at 10:54 it stays the alarm that it was."""
    day = day_of(BROKE_OFF)
    timer = timer_of(day, day.batches["03"], now("10:30"))
    assert timer is not None
    assert timer.due_at(now("10:30")) == instant("10:25")
    assert alarms(day, now("10:30")) == []
    assert the_alarm(BROKE_OFF, "10:31").since == instant("10:30")
    assert instant("10:25") in prompts(day, now("10:31"))
    off = [*BROKE_OFF, at("10:54", "03", heat_no=1, run="end")]
    assert the_alarm(off, "11:00").until == instant("10:54")


def test_a_tank_may_not_use_its_reserve_for_minutes_that_the_heat_had_before_it_broke_off() -> None:
    """The steam of 01 goes on at heat at 11:25 for its last 20 min: the tank is low at 11:50, not at 12:00."""
    off_and_on = [
        at("11:00", "01", heat_no=1, run="end"),
        at("11:00", "01", heat_no=1, run="start", unit="steamer 1"),
    ]
    day = day_of([*STEAM, *off_and_on, at("11:25", "01", heat_no=1, run="heat")])
    assert [a.since for a in alarms(day, now("12:05")) if a.kind is AlarmKind.TANK] == [instant("11:50")]


def test_a_low_tank_is_not_an_alarm_while_it_is_cold_and_a_new_one_when_heat_is_put_on_again() -> None:
    """Off at 12:12, on again at 20:00 unfilled: eight hours of a cold steamer are not an alarm that stood."""
    off = [*soaked(), *heated(until="12:12")]
    lines = [*off, *soaked("05", "09:00", "19:50", "tray 2"), *heated("05", "20:00", "20:30")[:2]]
    (cold,) = [alarm for alarm in alarms(day_of(off), now("19:00")) if alarm.kind == AlarmKind.TANK]
    assert (cold.until, cold.state(instant("19:00"))) == (instant("12:12"), AlarmState.RETURNED)
    first, again = [alarm for alarm in alarms(day_of(lines), now("20:05")) if alarm.kind == AlarmKind.TANK]
    assert (first.since, first.until) == (instant("11:50"), instant("12:12"))
    assert (again.since, again.until) == (instant("20:00"), None)
    assert "ran 1 h 42" in first.text
    assert "ran 1 h 47" in again.text
    assert first.id != again.id


@pytest.mark.parametrize(
    "lines",
    [
        soaked()[:2],
        soaked("03"),
        [*soaked(), *heated()],
        [*soaked(), *heated(), at("12:30", "01", to="rinse")],
        [*soaked(), *heated(), at("12:30", "01", to="dry")],
        [at("09:00", "01", to="set-aside")],
    ],
    ids=["soak", "paint", "cool", "rinse", "dry", "set aside"],
)
def test_what_harms_nothing_by_lasting_longer_is_never_an_alarm(lines: list[Line]) -> None:
    """A day and a half later there is no alarm."""
    assert alarms(day_of(lines), now("45:00")) == []


def test_a_rest_that_lasts_longer_is_not_an_alarm() -> None:
    """Wrapped yarn between two bursts may rest for hours."""
    lines = [*soaked("04"), *heated("04", unit="oven 1")[:2], at("10:32", "04", heat_no=1, run="end")]
    assert alarms(day_of(lines), now("20:00")) == []


def test_an_alarm_is_active_until_it_is_silenced() -> None:
    """Silencing changes its state and nothing else."""
    assert state(STEAM, "11:30") == AlarmState.ACTIVE
    lines = [*STEAM, acted("11:31", "acknowledged")]
    assert state(lines, "11:32") == AlarmState.SILENCED
    before, after = the_alarm(STEAM, "11:32"), the_alarm(lines, "11:32")
    assert (before.since, before.until, before.text) == (after.since, after.until, after.text)


def test_an_alarm_whose_cause_went_away_unsilenced_has_returned_to_normal_and_still_stands() -> None:
    """It stays until it is silenced; then it is over."""
    off = [*STEAM, at("11:40", "01", heat_no=1, run="end")]
    assert state(off, "11:41") == AlarmState.RETURNED
    assert the_alarm(off, "11:41").until == instant("11:40")
    assert len(standing(day_of(off), now("11:41"))) == 1
    seen = [*off, acted("11:45", "acknowledged")]
    assert state(seen, "11:46") == AlarmState.NORMAL
    assert standing(day_of(seen), now("11:46")) == []


def test_an_alarm_silenced_first_and_gone_afterwards_is_over() -> None:
    """Nothing is left to say."""
    lines = [*STEAM, acted("11:31", "acknowledged"), at("11:40", "01", heat_no=1, run="end")]
    assert state(lines, "11:41") == AlarmState.NORMAL


def test_an_alarm_of_dry_yarn_goes_away_with_the_heat() -> None:
    """Lit at 11:40."""
    lines = [*OPEN, at("11:40", "01", heat_no=1, run="start", unit="steamer 1")]
    assert state(lines, "11:41") == AlarmState.RETURNED


def test_an_alarm_of_dry_yarn_goes_away_with_a_cover_but_not_with_the_word_that_it_lies_open() -> None:
    """Warned to heat or wrap it, the dyer wraps it at 11:40."""
    assert state([*OPEN, at("11:40", "01", cover="wrapped")], "11:41") == AlarmState.RETURNED
    assert state([*OPEN, at("11:40", "01", cover="open")], "11:41") == AlarmState.ACTIVE


def test_covering_yarn_in_time_takes_the_alarm_away_before_it_comes() -> None:
    """Wrapped at 11:10."""
    assert alarms(day_of([*OPEN, at("11:10", "01", cover="wrapped")]), now("12:00")) == []


def test_a_snoozed_alarm_comes_back_by_itself() -> None:
    """Ten minutes from 11:30: snoozed at 11:39:59, active at 11:40."""
    lines = [*STEAM, acted("11:30", "shelved", minutes=10)]
    assert state(lines, "11:39:59") == AlarmState.SNOOZED
    assert state(lines, "11:40") == AlarmState.ACTIVE
    assert len(standing(day_of(lines), now("11:35"))) == 1


def test_an_alarm_is_snoozed_for_fifteen_minutes_at_most() -> None:
    """Longer is refused; fifteen minutes are kept to the second."""
    assert MOST_SNOOZE_MIN == 15
    longest = [*STEAM, acted("11:30", "shelved", minutes=15)]
    assert (state(longest, "11:44:59"), state(longest, "11:45")) == (AlarmState.SNOOZED, AlarmState.ACTIVE)
    with pytest.raises(EventError, match=r"15\.1.*write a number from 0 to 15"):
        events([acted("11:30", "shelved", minutes=15.1)])


def test_an_alarm_snoozed_no_longer_is_active_at_once() -> None:
    """No need to wait for the minutes to be over."""
    lines = [*STEAM, acted("11:30", "shelved", minutes=15), acted("11:33", "unshelved")]
    assert (state(lines, "11:32:59"), state(lines, "11:33")) == (AlarmState.SNOOZED, AlarmState.ACTIVE)


def test_an_alarm_silenced_before_it_was_snoozed_comes_back_silenced() -> None:
    """Snoozing forgets nothing."""
    lines = [*STEAM, acted("11:30", "acknowledged"), acted("11:31", "shelved", minutes=5)]
    assert (state(lines, "11:32"), state(lines, "11:36")) == (AlarmState.SNOOZED, AlarmState.SILENCED)


def sounds(lines: list[Line], time: str, every_min: float = 5.0) -> int:
    return the_alarm(lines, time).sounds(instant(time), every_min)


def test_an_alarm_sounds_at_once_and_then_every_five_minutes() -> None:
    """Once until 11:30, twice from then on, six times by 11:50."""
    assert [sounds(STEAM, time) for time in ("11:25:01", "11:29:59", "11:30", "11:34:59", "11:50")] == [1, 1, 2, 2, 6]


def test_how_often_an_alarm_sounds_is_the_plans_to_set() -> None:
    """Every ten minutes: thrice in twenty."""
    assert sounds(STEAM, "11:45", every_min=10.0) == 3


@pytest.mark.parametrize("what", ["acknowledged", "shelved"])
def test_an_alarm_silenced_or_snoozed_is_silent(what: str) -> None:
    """No sound is owed."""
    assert sounds([*STEAM, acted("11:31", what)], "11:32") == 0


def test_an_alarm_back_from_its_snooze_sounds_at_once_and_counts_from_there() -> None:
    """Snoozed 11:30 to 11:40."""
    lines = [*STEAM, acted("11:30", "shelved", minutes=10)]
    assert [sounds(lines, time) for time in ("11:39", "11:40", "11:44:59", "11:45")] == [0, 1, 1, 2]


def test_an_alarm_that_returned_to_normal_is_silent() -> None:
    """Its cause is gone."""
    assert sounds([*STEAM, at("11:40", "01", heat_no=1, run="end")], "11:50") == 0


def test_the_most_harmful_alarm_comes_first_then_the_oldest() -> None:
    """Heat, then a tank, then yarn that dries out."""
    dry = [*soaked("05", "09:00", "09:30"), at("09:40", "05", cover="open"), at("09:40", "05", to="fix")]
    later = [*soaked("06", "09:00", "10:30"), *heated("06", "11:00", unit="steamer 2")[:2]]
    found = alarms(day_of([*later, *dry, *STEAM]), now("12:00"))
    assert [(alarm.kind, alarm.batches) for alarm in found] == [
        (AlarmKind.HEAT, ("06",)),
        (AlarmKind.TANK, ()),
        (AlarmKind.WAIT, ("05",)),
    ]


def test_a_unit_that_switches_itself_off_is_never_an_alarm() -> None:
    """A microwave's burst is over, whether its end was recorded or not."""
    lines = [*soaked("04"), *heated("04", "10:30", unit="oven 1")[:2]]
    assert alarms(day_of(lines), now("11:00")) == []


BOTH = [*STEAM, *soaked("05"), *heated("05")[:2]]
HEAT_5 = "heat-05-1.1-103000"


def test_two_batches_in_one_steam_are_one_alarm_that_names_both() -> None:
    """One heat forgotten, one line, one sound; acting on it is acting on both."""
    alarm = the_alarm(BOTH, "11:26")
    assert alarm.ids == (HEAT, HEAT_5)
    assert alarm.text == "01+05 steam 40 min is up: turn off steamer 1"
    assert [sounds(BOTH, time) for time in ("11:25:01", "11:29:59", "11:30")] == [1, 1, 2]
    silent = [*BOTH, *(acted("11:31", "acknowledged", each) for each in alarm.ids)]
    assert (state(silent, "11:32"), sounds(silent, "11:50")) == (AlarmState.SILENCED, 0)


def test_the_one_alarm_of_two_batches_stands_until_both_are_seen_to() -> None:
    """Silenced for one only, or the other still in the heat, it is not over; the last one out ends it."""
    one = [*BOTH, acted("11:31", "acknowledged")]
    assert state(one, "11:32") == AlarmState.ACTIVE
    assert state([*BOTH, acted("11:31", "shelved", minutes=10)], "11:32") == AlarmState.ACTIVE
    out = [*BOTH, at("11:33", "01", heat_no=1, run="end")]
    assert (the_alarm(out, "11:34").batches, state(out, "11:34")) == (("05",), AlarmState.ACTIVE)
    both_out = [*out, at("11:36", "05", heat_no=1, run="end")]
    alarm = the_alarm(both_out, "11:37")
    assert (alarm.batches, alarm.since, alarm.until) == (("01", "05"), instant("11:25"), instant("11:36"))
    assert state(both_out, "11:37") == AlarmState.RETURNED


@pytest.mark.parametrize(("since", "unit", "together"), [
    ("10:30:59", "steamer 1", True), ("10:31", "steamer 1", False), ("10:30", "steamer 2", False)])  # fmt: skip
def test_heat_of_another_minute_or_another_unit_is_an_alarm_of_its_own(since: str, unit: str, together: bool) -> None:
    """What is over later is news, even if the first was silenced."""
    lines = [*STEAM, *soaked("05"), *heated("05", since, unit=unit)[:2]]
    assert len(alarms(day_of(lines), now("11:27"))) == (1 if together else 2)


def test_batches_of_one_heat_with_other_minutes_are_shown_without_them() -> None:
    """02 wants 50 min at heat and went in ten minutes before 01: both are over at 11:20."""
    lines = [*STEAM, *soaked("02"), *heated("02", "10:20")[:2]]
    assert the_alarm(lines, "11:26").text == "01+02 heat time is up: turn off steamer 1"


STORY = [
    *STEAM,
    *soaked("05"),
    at("10:05", "05", cover="open"),
    at("10:10", "05", to="fix"),
    acted("11:20", "shelved", "wait-05-101000", minutes=10),
    acted("11:31", "acknowledged"),
    acted("11:58", "acknowledged", "tank-steamer 1-0"),
]


def states(day: Day, moment: Moment) -> list[tuple[str, AlarmState, int]]:
    return [(a.id, a.state(moment.utc), a.sounds(moment.utc, 5.0)) for a in alarms(day, moment)]


@pytest.mark.parametrize("time", ["11:25", "11:30", "11:45", "12:30"])
def test_a_day_folded_again_has_its_alarms_as_they_were(time: str) -> None:
    """After a restart, read back from what was stored, nothing is forgotten."""
    day = day_of(STORY)
    stored = [json.dumps(event.to_json()) for event in day.events]
    again = fold(THE_PLAN, [read_event(json.loads(line), now("33:00")) for line in stored])
    assert alarms(again, now(time)) == alarms(day, now(time))
    assert alarms(again, now(time))


@pytest.mark.parametrize("stepped_h", [-2.0, 2.0])
@pytest.mark.parametrize("time", ["11:25:30", "11:45", "12:30"])
def test_a_wall_clock_stepped_within_one_boot_changes_no_alarm(time: str, stepped_h: float) -> None:
    """Same alarms, same states, same number of sounds, stood for as long; their times move with the wall."""
    day = day_of(by_boot(STORY))
    true, stepped = booted(time), booted(time, stepped_h=stepped_h)
    assert states(day, true)
    assert states(day, stepped) == states(day, true)
    for before, after in zip(alarms(day, true), alarms(day, stepped), strict=True):
        assert after.since - before.since == timedelta(hours=stepped_h)
        assert after.active_min(stepped.utc) == pytest.approx(before.active_min(true.utc))


def test_the_parts_of_a_split_batch_carry_its_heat_as_one_alarm_and_the_whole_carries_none() -> None:
    """Split under heat, both parts are over their time; one forgotten steamer is one alarm."""
    lines = [*STEAM, at("10:50", "01", into={"01a": 2, "01b": 1})]
    (alarm,) = alarms(day_of(lines), now("11:30"))
    assert alarm.id == HEAT
    assert alarm.batches == ("01a", "01b")
    assert alarm.text == "01a+01b steam 40 min is up: turn off steamer 1"


def test_an_alarm_silenced_before_a_split_is_not_to_be_silenced_again() -> None:
    """It is the same heat, whatever its yarn is called now."""
    lines = [*STEAM, acted("11:26", "acknowledged"), at("11:27", "01", into={"01a": 2, "01b": 1})]
    assert [alarm.state(instant("11:30")) for alarm in alarms(day_of(lines), now("11:30"))] == [AlarmState.SILENCED]


def test_heat_taken_off_one_part_alarms_for_the_other_only() -> None:
    """And ends when the last part is out."""
    lines = [*STEAM, at("11:27", "01", into={"01a": 2, "01b": 1}), at("11:30", "01a", heat_no=1, run="end")]
    (alarm,) = alarms(day_of(lines), now("11:40"))
    assert (alarm.batches, alarm.until) == (("01b",), None)
    (alarm,) = alarms(day_of([*lines, at("11:45", "01b", heat_no=1, run="end")]), now("11:50"))
    assert (alarm.batches, alarm.until) == (("01a", "01b"), instant("11:45"))


@pytest.mark.parametrize(("filled", "one"), [("11:25", True), ("11:24:59", False)])
def test_heat_and_tank_are_one_cause_where_their_alarms_touch(filled: str, one: bool) -> None:
    """The heat's alarm comes at 11:25; a tank filled before that was another matter."""
    heat = Alarm("heat-1", AlarmKind.HEAT, ("01",), "steamer 1", "", instant("11:25"), None)
    tank = Alarm("tank-1", AlarmKind.TANK, (), "steamer 1", "", instant("11:20"), instant(filled))
    assert is_one_cause(heat, tank) is one
    ended = replace(heat, since=instant("11:00"), until=instant(filled))
    assert is_one_cause(ended, replace(tank, since=instant("11:25"), until=None)) is one


def test_yarn_drying_out_is_reported_with_the_unit_it_waits_in_until_it_waits_no_more() -> None:
    """The far view sends the dyer there."""
    waiting = [*OPEN, at("10:30", "01", to="fix", unit="pot 1")]
    assert the_alarm(waiting, "11:30").unit == "pot 1"
    heated_at_last = at("11:40", "01", heat_no=1, run="start", unit="steamer 1")
    assert the_alarm([*waiting, heated_at_last], "11:41").unit is None


@pytest.mark.parametrize(("heated_at", "raised"), [("11:25", 0), ("11:25:01", 1)])
def test_yarn_that_comes_into_heat_at_the_very_moment_of_its_alarm_has_none(heated_at: str, raised: int) -> None:
    """It waits open since 10:20; an hour is its cover's, 5 min more an alarm's."""
    lines = [*OPEN, at(heated_at, "01", heat_no=1, run="start", unit="steamer 1")]
    assert len(alarms(day_of(lines), now("11:40"))) == raised


def test_yarn_drying_out_since_before_a_split_is_one_alarm_too() -> None:
    """Painted together, waiting together; the prompts of both parts are the whole's as well."""
    lines = [*OPEN, at("10:30", "01", into={"01a": 2, "01b": 1})]
    (alarm,) = alarms(day_of(lines), now("11:30"))
    assert (alarm.id, alarm.batches) == (the_alarm(OPEN, "11:30").id, ("01a", "01b"))
    parts = day_of(lines)
    due_ids = {clock.id for clock in due(parts, now("11:30"))}
    assert due_ids == {clock.id for clock in due(day_of(OPEN), now("11:30"))}
