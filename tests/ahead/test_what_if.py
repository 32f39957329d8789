"""What would change the day: more kit, an hour, a batch fewer; and how well forecasts were kept."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from dyeday.ahead.accuracy import (
    RecordedForecast,
    accuracy_of,
    accuracy_text,
    ended_at,
    on_record,
    recorded_forecasts,
    worth_recording,
)
from dyeday.ahead.brought import brought_text
from dyeday.ahead.forecast import Forecast, forecast
from dyeday.ahead.problem_parts.session_days import stop_min_at, windows_of
from dyeday.ahead.what_if import Change, changes, gain_of, gain_text, gains, with_stop, with_units, without_batches
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.terms import DayAim, KitKind, StepKind
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import iso
from tests.track.days import PLAN, THE_PLAN, Line, at, day_of, instant, now, plan_with, proper, soaked


def asked(day: Day, evaluations: int = 40) -> Forecast:
    return forecast(day, now("09:00"), evaluations=evaluations, warn=False)


def one_steamer() -> Day:
    plan = plan_with()
    kit = tuple(replace(k, units=1) if k.kind == KitKind.STEAMER else k for k in plan.kit)
    return day_of([], replace(plan, kit=kit, session=replace(plan.session, stop_min=20 * 60)))


def test_more_kit_or_time_never_loses_and_the_scarce_unit_gains_most() -> None:
    """One steamer for eight batches: a second one is what helps."""
    day = one_steamer()
    found = {gain.label: gain for gain in gains(day, now("09:00"), asked(day), evaluations=60)}
    more = {label: gain for label, gain in found.items() if not label.startswith("without")}
    assert set(more) == {"tray +1", "pot +1", "steamer +1", "oven +1", "sink +1", "pegs +1", "stop 21:00"}
    assert all(gain.minutes >= 0 and gain.batches >= 0 for gain in more.values())
    assert more["steamer +1"].minutes > 5
    assert more["sink +1"].minutes == 0
    assert {label for label in found if label.startswith("without")} == {f"without {b.no}" for b in day.unsplit}


def test_a_wish_that_nothing_can_follow_hides_no_gain() -> None:
    """11 cannot be soaked first, with other yarn in all trays: the forecast passes the wish over, as this does."""
    soaks = [at("09:00", f"0{n}", to="soak", unit=f"tray {n}") for n in range(1, 5)]
    wish = at("09:01", "11", event="advice", is_="instead", step="soak load 1")
    gained = []
    for lines in (soaks, [*soaks, wish]):
        day = day_of(lines, one_steamer().plan)
        found = forecast(day, now("09:05"), evaluations=40, warn=False)
        more = Change("steamer +1", with_units(day, "steamer", 1))
        gained += [gain.minutes for gain in gains(day, found.at, found, evaluations=60, asked=[more])]
    assert min(gained) > 5


def test_the_same_question_at_the_same_moment_has_the_same_answer_whatever_was_forecast_before() -> None:
    day = one_steamer()
    short, long = asked(day, 1), asked(day, 120)
    assert short.earliest.rows != long.earliest.rows
    more = [Change("steamer +1", with_units(day, "steamer", 1))]
    both = [list(gains(day, now("09:00"), found, evaluations=40, asked=more)) for found in (short, long)]
    assert both[0] == both[1]


def test_a_helper_halves_setting_up_too() -> None:
    long = [replace(c, layers=tuple(replace(x, setup_min=60.0) for x in c.layers)) for c in THE_PLAN.colourways]
    day = day_of([], replace(THE_PLAN, colourways=tuple(long)))
    helped = next(change.day for change in changes(day, asked(day)) if change.label == "a helper dyeing")
    for no, batch in day.batches.items():
        alone, both = (each.current_layer.dyeing_min(batch.wof_g) for each in (batch, helped.batches[no]))
        assert alone > 60
        assert both == pytest.approx(alone / 2)


def test_a_batch_left_out_counts_only_by_what_the_others_gain() -> None:
    """Where all fits, leaving one out brings no batch more, and loses none."""
    day = day_of([], replace(THE_PLAN, session=replace(THE_PLAN.session, stop_min=23 * 60)))
    change = Change("without 01", without_batches(day, ["01"]))
    (gain,) = gains(day, now("09:00"), asked(day), evaluations=40, asked=[change])
    assert gain.minutes >= 0
    assert gain.batches == 0
    before = asked(day)
    after = forecast(change.day, now("09:00"), evaluations=40, warn=False, before=before)
    assert gain_of("without 01", before, after).batches == 0
    assert gain.of_others
    assert (
        gain_text(replace(gain_of("without 01", before, after), minutes=0, batches=2))
        == "2 other batches more by stop"
    )


def test_a_stop_moved_tells_the_rinses_won_and_lost_where_batches_count_once_through_heat() -> None:
    """All five are through their heat by 15:00: by 13:30 one rinse fewer is done, by 16:00 one more."""
    plan = replace(THE_PLAN, batches=THE_PLAN.batches[:5])
    day = day_of([], replace(plan, session=replace(plan.session, aim=DayAim.HEAT_BY_STOP, stop_min=15 * 60)))
    before = asked(day)
    said = {}
    for stop in (13.5, 15, 16):
        after = forecast(
            with_stop(day, round(stop * 60), now("09:00")), now("09:00"), evaluations=40, warn=False, before=before
        )
        said[stop] = (brought_text(before, after, lambda at: f"{at:%H:%M}"), gain_text(gain_of("", before, after)))
    assert "1 batch fewer rinsed by stop; tomorrow's work until" in said[13.5][0]
    assert said[13.5][1] == "1 batch fewer rinsed by stop"
    assert said[15] == ("nothing changes", "no gain")
    assert said[16][0].endswith("1 batch more rinsed by stop; no work for tomorrow")


def test_another_aim_brings_another_finish_and_another_number_rinsed_by_stop() -> None:
    """Of all batches by the steps of each aim, not of the one that moves most; changed back, it is the same."""
    session = replace(THE_PLAN.session, stop_min=15 * 60)
    most, early = (
        asked(day_of([], replace(THE_PLAN, session=replace(session, aim=aim))), 40)
        for aim in (DayAim.BY_STOP, DayAim.TONIGHT)
    )

    def made(found: Forecast) -> tuple[str, int]:
        rinsed = {step.batch for step in found.steps if step.kind is StepKind.RINSE and step.end <= found.stop}
        return f"{found.next_steps[-1].end:%H:%M}", len(rinsed)

    for before, after in ((most, early), (early, most)):
        (was, count_was), (end, count) = made(before), made(after)
        said = f"finish {end} (was {was}); {count} of {after.of} batches rinsed by 15:00 (was {count_was})"
        assert brought_text(before, after, lambda at: f"{at:%H:%M}") == said
    assert made(most)[1] > made(early)[1]


def test_it_stops_when_it_is_not_wanted_any_more() -> None:
    """Between two changes, not at their end."""
    day, wanted = one_steamer(), iter([True, True, False])
    found = list(gains(day, now("09:00"), asked(day, 5), evaluations=5, wanted=lambda: next(wanted)))
    assert [gain.label for gain in found] == ["tray +1", "pot +1"]


def test_changes_change_only_what_they_say() -> None:
    """A new unit stands ready; fewer than none there are not; the day itself is as it was."""
    day = day_of([])
    assert with_units(day, "steamer", 1).units["steamer 3"].is_down is False
    assert "steamer 1" not in with_units(day, "steamer", -9).units
    assert with_stop(day, 1000, now("09:00")).plan.session.stop_min == 1000
    assert len(day.plan.units_of(KitKind.STEAMER)) == 2


def test_on_a_second_day_another_stop_is_that_days_and_leaves_the_first_days() -> None:
    """An hour later than 13:00: batches still count once rinsed, for the day made for heat ended the day before."""
    hours = ((600, 720), (750, 780))
    session = replace(THE_PLAN.session, aim=DayAim.HEAT_BY_STOP, stop_min=18 * 60, tomorrow=hours)
    day = day_of(soaked("01"), replace(THE_PLAN, session=session))
    at_ten = now("34:00")
    before = forecast(day, at_ten, evaluations=20, warn=False)
    (later,) = (change for change in changes(day, before) if change.label == "stop 14:00")
    after = forecast(later.day, at_ten, evaluations=20, warn=False)
    assert (before.counts_heat, after.counts_heat) == (False, False)
    assert after.stop - before.stop == timedelta(hours=1)
    assert (later.day.plan.session.stop_min, later.day.plan.session.tomorrow) == (1080, ((600, 720), (750, 840)))
    assert with_stop(day, (24 + 12) * 60, at_ten).plan.session.tomorrow == ((600, 720),)


def test_without_a_batch_that_was_split_its_parts_are_left_out() -> None:
    """08 became 08a and 08b: without 08 neither is there, without 08a only that."""
    day = day_of([at("09:00", "08", into={"08a": 3, "08b": 1})])
    there = {"08", "08a", "08b"}
    assert there & without_batches(day, ["08"]).batches.keys() == set()
    assert there & without_batches(day, ["08a"]).batches.keys() == {"08", "08b"}


def foreseen(time: str, likely: str, late: str, **keys: float) -> Line:
    return at(time, event="foreseen", hands_off=iso(instant(likely)), late=iso(instant(late)), **keys)


def test_the_factor_in_a_late_end_is_on_record_with_it() -> None:
    """Only where there is one."""
    shown = (replace(forecast(finished(), now("09:00"), evaluations=5), late_scale=scale) for scale in (1.0, 1.5))
    assert [on_record(one).to_json().get("late_scale") for one in shown] == [None, 1.5]
    days = (finished(foreseen("09:00", "12:30", "13:00", **keys)) for keys in ({}, {"late_scale": 1.5}))
    assert [one.late_scale for day in days for one in recorded_forecasts(day)] == [1.0, 1.5]


def finished(*lines: Line) -> Day:
    """Return a day of one batch, rinsed from 12:30 to 12:45."""
    return without_batches(day_of([*lines, *proper("01")]), [b.no for b in day_of([]).unsplit if b.no != "01"])


def test_a_forecast_on_record_is_judged_by_when_hands_were_off() -> None:
    """The last step that wants hands, here the end of the rinse; every hour's forecast by itself."""
    day = finished(foreseen("09:00", "12:30", "13:00"), foreseen("10:00", "12:00", "12:40"))
    assert ended_at(day) == instant("12:45")
    first, second = recorded_forecasts(day)
    assert (first.error_min, first.by_late) == (15, True)
    assert (second.error_min, second.by_late) == (45, False)


def test_a_day_that_was_not_finished_says_nothing_of_its_forecast() -> None:
    """What stayed for tomorrow was not forecast badly."""
    day = day_of([foreseen("09:00", "12:30", "13:00"), *proper("01")])
    assert ended_at(day) is None
    assert list(recorded_forecasts(day)) == []


def test_how_often_days_ended_by_the_late_answer_is_reported_from_three_days_on() -> None:
    """Two days say nothing; of ten, nine inside."""
    start = instant("09:00")
    late = start + timedelta(hours=8)
    days = [
        RecordedForecast(start, late - timedelta(minutes=20), late, late - timedelta(minutes=n)) for n in range(9)
    ]
    days.append(RecordedForecast(start, late - timedelta(minutes=20), late, late + timedelta(minutes=5)))
    assert accuracy_of(days[:2]) is None
    kept = accuracy_of(days)
    assert kept is not None
    assert (kept.days, kept.by_late) == (10, 9)
    assert accuracy_text(kept).startswith("9 of the last 10 days")


def test_a_forecast_is_put_on_record_once_an_hour_of_a_day_under_way() -> None:
    """Not before anything happened, not twice in an hour, not after the close."""
    begun = [at("09:00", "01", to="soak", unit="tray 1")]

    def worth(lines: list[Line], time: str) -> bool:
        day = day_of(lines)
        return worth_recording(day, forecast(day, now(time), evaluations=5, warn=False))

    assert not worth([], "09:01")
    assert worth(begun, "09:01")
    kept = [*begun, foreseen("09:01", "18:00", "18:30")]
    assert not worth(kept, "10:00")
    assert worth(kept, "10:01")
    assert not worth([*kept, at("10:00", event="closed")], "10:05")


def test_more_amps_are_room_for_one_unit_more_within_the_continuous_share() -> None:
    """80 % of 5 A carry one steamer of 3 A; 3 A more of load are 3.75 A more of fuse."""
    steamer = 'power = "690 W"\ncircuit = "wall"\nlasts = "400 min"'
    circuit = '[[circuit]]\nname = "wall"\nvolts = 230\namps = 5\ncontinuous_share = 0.8\nlead_amps = 6\n'
    text = PLAN.replace('lasts = "100 min"', steamer).replace("steam 40 min", "steam 90 min")
    day = day_of([], read_plan(f"{text}\n{circuit}"))
    found = forecast(day, now("09:00"), evaluations=5, warn=False)
    (wider,) = (change.day.plan.circuits[0] for change in changes(day, found) if change.label == "wall, more amps")
    assert (wider.amps, wider.lead_amps) == (8.75, 9)


def two_days() -> Day:
    plan = plan_with()
    return day_of([], replace(plan, session=replace(plan.session, stop_min=12 * 60, tomorrow=((600, 780),))))


@pytest.mark.parametrize(
    ("when", "label", "stop_min"), [("09:00", "stop 13:00", 780), ("34:05", "stop 14:00", 1440 + 840)]
)
def test_an_hour_more_is_added_to_the_stop_that_is_next(when: str, label: str, stop_min: int) -> None:
    """The first day's noon; on the second morning the end of its own hours, 13:00."""
    found = forecast(two_days(), now(when), evaluations=5, warn=False)
    later = next(change for change in changes(two_days(), found) if change.label.startswith("stop"))
    assert (later.label, stop_min_at(later.day.plan, instant(when))) == (label, stop_min)


def test_a_stop_on_the_second_day_leaves_the_days_after_it_their_hours() -> None:
    """Moved to 12:00 on the second day, hands come back on the third at ten, or at the first day's start."""
    for tomorrow, begins in ((((600, 780),), 600), ((), 540)):
        day = two_days()
        session = replace(day.plan.session, stop_min=1440 + 720, tomorrow=tomorrow)
        windows = windows_of(replace(day.plan, session=session), instant("34:05"), for_end=False)
        after = [window for window in windows if window[0] >= 1440 + 720]
        assert after[0] == (2 * 1440 + begins, 2 * 1440 + (780 if tomorrow else 720))
