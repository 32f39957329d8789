"""Leaving the house and changing the day's hours on the bench, in few keys."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Input

from dyeday.ahead.foreseen_steps import Forecast
from dyeday.terms import State
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import Moment
from tests.bench.driving import Bench, drive, quick
from tests.fakes import SHORT_DAY
from tests.typed_events import draft


def test_leaving_answers_with_every_unit_that_is_on_or_that_nothing_is(tmp_path: Path) -> None:
    """One key; the time typed is an absence on record."""

    async def script(bench: Bench) -> None:
        await bench.press("L")
        assert "When will you be back, such as 10:00" in " ".join(bench.screen.split())
        await bench.press("escape", "0", "4", "m", "2", "space", "enter", "L")
        assert "STILL ON: steamer 1 (04, 50 min left)" in bench.screen
        await bench.type("1015")
        await bench.press("enter")
        assert bench.session.events[-1].body.to_json() == {"out": "09:00-10:15"}
        assert bench.app.live.day.plan.session.out == ((540, 615),)
        await bench.press("z", "enter")
        assert not bench.app.live.day.plan.session.out
        await bench.press("L")
        await bench.type("40")
        assert "09:40" in bench.screen
        await bench.press("enter")
        assert bench.session.events[-1].body.to_json() == {"out": "09:00-09:40"}

    drive(tmp_path, script)


def test_leaving_names_painted_yarn_that_lies_open(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "2", "L")
        assert "is painted and open" not in bench.screen
        await bench.press("escape")
        await bench.on(20)
        await bench.press("0", "4", "w", "o", "L")
        said = " ".join(bench.screen.split())
        assert "Nothing is on. 04 is painted and open: wrap it first. When will you be back" in said

    drive(tmp_path, script)


@pytest.mark.parametrize(("begins", "offered"), [("09:20", True), ("09:40", False)])
def test_leaving_offers_the_time_of_an_absence_that_the_plan_has_soon(
    tmp_path: Path, begins: str, offered: bool
) -> None:
    """Enter accepts it; an absence later in the day is not this one."""
    plan = SHORT_DAY.read_text(encoding="utf-8").replace("[session]\n", f'[session]\nout = ["{begins}-10:10"]\n')

    async def script(bench: Bench) -> None:
        await bench.press("L", "enter")
        left = {"out": "09:00-10:10"}
        assert [event.body.to_json() for event in bench.session.events] == ([left] if offered else [])

    drive(tmp_path, script, text=plan)


@pytest.mark.parametrize(
    ("typed", "until"),
    [("40", "09:40"), ("930", None), ("9:30", "09:30"), ("120 min", "11:00"), ("930 min", "00:30+1")],
)
def test_minutes_until_you_are_back_have_two_digits_or_say_min(tmp_path: Path, typed: str, until: str | None) -> None:
    """930 was meant as half past nine."""

    async def script(bench: Bench) -> None:
        await bench.press("L")
        await bench.type(typed)
        await bench.press("enter")
        out = [event.body.to_json()["out"] for event in bench.session.events]
        assert out == ([f"09:00-{until}"] if until else [])
        assert ("'930' is not a time" in bench.screen) is (until is None)

    drive(tmp_path, script)


def test_a_time_that_is_none_stays_in_the_question(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("L")
        await bench.type("soon")
        await bench.press("enter")
        assert "When will you be back" in bench.screen
        assert bench.kinds == []

    drive(tmp_path, script)


async def worked_out(bench: Bench) -> None:
    """Wait for what is worked out beside the keys."""
    bench.app.tick()
    await bench.app.workers.wait_for_complete()
    await bench.settle()


def breaks_of(bench: Bench) -> list[tuple[int, int]]:
    return list(bench.app.live.day.plan.session.breaks)


def test_what_another_stop_brings_is_shown_as_it_is_typed_and_enter_accepts(tmp_path: Path) -> None:
    """D, s, four digits, Enter: nothing is on record before the gain was seen."""

    async def script(bench: Bench) -> None:
        await worked_out(bench)
        await bench.press("D", "s")
        assert bench.app.screen.query_one(Input).value == "14:30"
        await bench.type("2030")
        await worked_out(bench)
        assert "stop 20:30: batch 05 rinsed" in bench.screen
        assert "hours" not in bench.kinds
        await bench.press("enter")
        assert bench.kinds[-1] == "hours"
        assert bench.app.live.day.plan.session.stop_min == 20 * 60 + 30

    drive(
        tmp_path,
        script,
        foresee=quick,
        text=SHORT_DAY.read_text(encoding="utf-8").replace('stop = "17:30"', 'stop = "14:30"'),
    )


def test_enter_before_the_gain_is_worked_out_asks_again_with_it(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await worked_out(bench)
        await bench.press("D", "s")
        await bench.type("1830")
        await bench.press("enter")
        await worked_out(bench)
        assert "stop 18:30: nothing changes" in bench.screen
        assert "hours" not in bench.kinds
        await bench.press("enter")
        assert bench.app.live.day.plan.session.stop_min == 18 * 60 + 30

    drive(tmp_path, script, foresee=quick)


def test_the_question_how_many_people_work_says_that_the_forecast_plans_for_one(
    tmp_path: Path,
) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("D", "h")
        said = " ".join(bench.screen.split())
        assert "How many people work (the forecast plans for one)" in said
        await bench.press("escape")

    drive(tmp_path, script)


def test_a_planned_break_is_moved_and_another_one_added(tmp_path: Path) -> None:
    """D, b, Enter and when it begins: its end stays; n is one more. The short day has 13:00-13:30."""

    async def script(bench: Bench) -> None:
        await worked_out(bench)
        await bench.press("D", "b", "enter")
        assert "A break 13:00-13:30: new start" in bench.screen
        await bench.type("1315")
        await worked_out(bench)
        assert "break 13:15-13:30 instead of 13:00-13:30: " in bench.screen
        await bench.press("enter")
        assert bench.session.events[-1].body.to_json() == {"break": "13:15-13:30", "instead": "13:00-13:30"}
        assert breaks_of(bench) == [(795, 810)]
        await bench.press("D", "b", "n")
        await bench.type("1500-1530")
        await worked_out(bench)
        await bench.press("enter")
        assert breaks_of(bench) == [(795, 810), (900, 930)]
        await bench.press("D", "b", "enter")
        await bench.type("1400")
        await worked_out(bench)
        assert "break 14:00-14:15 instead of 13:15-13:30" in bench.screen

    drive(tmp_path, script, foresee=quick)


def test_a_planned_break_that_is_not_taken_is_dropped_by_a_dash(tmp_path: Path) -> None:
    """You work through after all."""

    async def script(bench: Bench) -> None:
        await worked_out(bench)
        await bench.press("D", "b", "enter")
        assert "- to drop it" in bench.screen
        await bench.type("-")
        await worked_out(bench)
        assert "no break 13:00-13:30: " in bench.screen
        await bench.press("enter")
        assert bench.session.events[-1].body.to_json() == {"break": "-", "instead": "13:00-13:30"}
        assert breaks_of(bench) == []

    drive(tmp_path, script, foresee=quick)


def test_a_break_that_is_over_is_not_moved(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.on(5 * 60)
        await bench.press("D", "b")
        assert "13:00" not in bench.screen.split("\n")[-3]
        assert "A break, such as" in bench.screen

    drive(tmp_path, script)


def test_a_unit_goes_out_of_use_and_back_in_once_what_that_brings_was_shown(tmp_path: Path) -> None:
    """D, k, the unit: the loss first, then the gain; nothing is on record before Enter."""

    async def script(bench: Bench) -> None:
        await worked_out(bench)
        key = str(bench.session.plan.unit_names.index("steamer 1") + 1)
        await bench.press("D", "k", key)
        await worked_out(bench)
        assert "steamer 1 down: " in bench.screen
        assert "(was " in bench.screen
        assert bench.kinds == []
        await bench.press("escape")
        assert bench.kinds == []
        await bench.press("D", "k", key)
        await worked_out(bench)
        await bench.press("enter")
        assert bench.app.live.day.units["steamer 1"].is_down
        await worked_out(bench)
        await bench.press("D", "k", key)
        await worked_out(bench)
        assert "steamer 1 up: " in bench.screen
        await bench.press("enter")
        assert not bench.app.live.day.units["steamer 1"].is_down

    drive(tmp_path, script, foresee=quick, size=(100, 30))


def test_a_change_whose_effect_cannot_be_worked_out_is_asked_all_the_same(tmp_path: Path) -> None:
    """The worker's error is in the question; Enter makes the change."""

    def fragile(day: Day, now: Moment, before: Forecast | None) -> Forecast:
        if day.plan.session.stop_min == 20 * 60 + 30:
            raise OverflowError("too far")
        return quick(day, now, before)

    async def script(bench: Bench) -> None:
        await worked_out(bench)
        await bench.press("D", "s")
        await bench.type("2030")
        await worked_out(bench)
        assert "the effect could not be worked out; you can still change it" in bench.screen
        await bench.press("enter")
        assert bench.app.live.day.plan.session.stop_min == 20 * 60 + 30

    drive(tmp_path, script, size=(100, 30), foresee=fragile)


def test_leaving_until_a_time_before_now_is_until_tomorrow(tmp_path: Path) -> None:
    """The night's absence is one key and one time; a second night is one more."""

    async def script(bench: Bench) -> None:
        await bench.on(14 * 60 + 15)
        await bench.press("escape", "L")
        await bench.type("0900")
        assert "out 23:15-Sun 09:00" in bench.screen
        await bench.press("enter")
        assert bench.session.events[-1].body.to_json() == {"out": "23:15-09:00+1"}
        assert bench.app.live.day.plan.session.out == ((1395, 1980),)
        await bench.on(24 * 60)
        await bench.press("escape", "L")
        await bench.type("0900")
        await bench.press("enter")
        assert bench.session.events[-1].body.to_json() == {"out": "23:15+1-09:00+2"}
        assert bench.app.live.day.plan.session.out[-1] == (1395 + 1440, 1980 + 1440)

    drive(tmp_path, script)


HEAT_BY_NOON = SHORT_DAY.read_text(encoding="utf-8").replace('stop = "17:30"', 'stop = "12:00"\naim = "heat by stop"')


def test_heat_that_would_end_after_the_stop_is_begun_by_a_second_enter(tmp_path: Path) -> None:
    """Batch 04 steams for 45 min: begun at 11:00 that ends before a stop at noon, begun at 11:45 after it."""

    async def script(bench: Bench) -> None:
        await bench.on(2 * 60)
        await bench.press("escape", "0", "4", "m", "2", "space")
        assert "you stop at" not in bench.screen
        await bench.press("escape")
        await bench.on(45)
        await bench.press("0", "4", "space")
        offer = " ".join(bench.screen.split())
        assert "you stop at 12:00: load from Sun 10:00 (painted, wrapped, safe until Sun " in offer
        await bench.press("enter")
        assert "Enter again starts it anyway" in " ".join(bench.screen.split())
        assert bench.app.live.day.batches["04"].open_heat is None
        await bench.press("enter")
        assert bench.app.live.day.batches["04"].open_heat is not None

    drive(tmp_path, script, text=HEAT_BY_NOON)


def test_heat_put_off_to_the_morning_wants_open_yarn_wrapped_unless_it_would_dry_out_all_the_same(
    tmp_path: Path,
) -> None:
    """Open from 11:45, till 10:00 it may lie wrapped; five minutes later too little of its wait is left for that."""

    async def script(bench: Bench) -> None:
        await bench.on(2 * 60)
        await bench.press("escape", "0", "4", "m", "2")
        await bench.on(45)
        await bench.press("0", "4", "w", "o", "0", "4", "space")
        offer = " ".join(bench.screen.split())
        assert "wrap it now (painted, open, safe until 12:43) and load from Sun 10:00, or stay until" in offer
        await bench.press("escape")
        await bench.on(5)
        await bench.press("0", "4", "space")
        offer = " ".join(bench.screen.split())
        assert "you stop at 12:00: stay until it is off" in offer

    drive(tmp_path, script, text=HEAT_BY_NOON)


def test_once_tomorrows_hours_have_begun_the_day_is_judged_by_their_end(tmp_path: Path) -> None:
    """Five batches untouched at noon; after ten the next morning the question is what is rinsed by 13:00."""

    async def script(bench: Bench) -> None:
        await bench.on(25 * 60 + 5)
        await bench.press("escape")
        await worked_out(bench)
        seen = bench.app.outlook.forecast
        assert seen is not None
        assert not seen.counts_heat
        assert f"{seen.stop:%d %H:%M}" == "15 13:00"
        assert "by Sat 12:00" not in bench.screen
        await bench.press("y")
        assert "0 of 5 batches were through their heat by Sat 12:00" in bench.screen

    drive(tmp_path, script, text=HEAT_BY_NOON, foresee=quick, size=(100, 30))


def test_after_the_days_last_step_the_first_row_says_that_the_day_can_end(tmp_path: Path) -> None:
    """Not tomorrow's heat, which Enter would start at night: it says what waits, and until when nothing is to do."""

    async def script(bench: Bench) -> None:
        for no in ("01", "02", "03", "05"):
            layer = len(bench.app.live.day.batches[no].colourway.layers)
            bench.app.live.record(draft("moved", no, {"to": "dry", "layer": layer, "unit": "pegs 1"}))
        await bench.on(2 * 60 + 50)
        await bench.press("escape", "0", "4", "m", "2")
        await bench.on(2)
        await worked_out(bench)
        assert "04 painted? Space, then 0: no heat yet" in bench.app.bench.view_cache.items[0].why
        await bench.press("0", "4", "space", "0", "enter", "w", "w")
        await bench.on(6)
        await worked_out(bench)
        first = bench.app.bench.view_cache.items[0]
        assert (first.do, first.about) == ("the day can end: x closes it", "")
        assert "nothing until Sun 10:00; 04 painted, wrapped, safe until Sun 11:52" in first.why
        assert "the day can end" in bench.advised[0]
        assert "04" in bench.advised[1]
        await bench.press("enter")
        assert bench.app.live.day.batches["04"].open_heat is None
        assert "nothing until Sun 10:00" in bench.screen.split("\n")[-2]
        await bench.press("v")
        assert "the day can end" in bench.screen.lower()
        await bench.press("v", "x")
        await bench.type("close")
        await bench.press("enter", "escape")
        await worked_out(bench)
        assert bench.app.live.day.closed is not None
        assert "the day can end" not in bench.screen
        assert "the day is closed: q leaves; dyeday carry NEW.toml plans what is left" in bench.screen

    drive(tmp_path, script, text=HEAT_BY_NOON, foresee=quick, size=(130, 30))


def test_a_plain_stop_is_the_next_such_time_on_the_second_day_and_after_midnight(tmp_path: Path) -> None:
    """09:00 on Saturday, stop at noon; at 10:05 on Sunday 14:00 is Sunday's, at 00:30 "01:30" that night's."""

    async def script(bench: Bench) -> None:
        await worked_out(bench)
        await bench.press("D", "s")
        await bench.type("1400")
        await worked_out(bench)
        assert "stop 14:00: " in bench.screen
        await bench.press("escape")
        await bench.on(15 * 60 + 30)
        await bench.press("escape", "D", "s")
        await bench.type("0130")
        await worked_out(bench)
        assert "stop Sun 01:30: " in bench.screen
        await bench.press("escape")
        await bench.on(9 * 60 + 35)
        await worked_out(bench)
        await bench.press("escape", "D", "s")
        await bench.type("1400")
        await worked_out(bench)
        assert "stop Sun 14:00: " in bench.screen
        await bench.press("enter")
        assert bench.session.events[-1].body.to_json() == {"stop": "14:00+1"}
        await worked_out(bench)
        seen = bench.app.outlook.forecast
        assert seen is not None
        assert f"{seen.stop:%d %H:%M}" == "15 14:00"
        # Sunday's hands stop then: what does not fit waits for Monday's hours.
        attended = [step for step in seen.steps if step.attended]
        assert not [step for step in attended if f"{step.start:%d %H:%M}" >= "15 14:00" and step.start.day == 15]

    drive(tmp_path, script, text=HEAT_BY_NOON, foresee=quick, size=(100, 30))


def test_a_plain_break_of_the_second_day_is_that_days(tmp_path: Path) -> None:
    """One that has begun is the one that goes on."""

    async def script(bench: Bench) -> None:
        await bench.on(25 * 60 + 5)
        await worked_out(bench)
        await bench.press("escape", "D", "b")
        await bench.type("1000-1030")
        await worked_out(bench)
        assert "break Sun 10:00-Sun 10:30: " in bench.screen
        await bench.press("enter")
        assert bench.session.events[-1].body.to_json() == {"break": "10:00+1-10:30+1"}
        await bench.press("D", "b", "enter")
        await bench.type("1015")
        await worked_out(bench)
        assert "break Sun 10:15-Sun 10:30 instead of" in bench.screen

    drive(tmp_path, script, text=HEAT_BY_NOON, foresee=quick, size=(100, 30))


def test_heat_that_would_end_in_a_break_is_begun_by_a_second_enter(tmp_path: Path) -> None:
    """Batch 04 steams for 45 min from 11:45, and it cannot be switched off from 12:20 to 13:00."""
    breaks = SHORT_DAY.read_text(encoding="utf-8").replace("13:00-13:30", "12:20-13:00")

    async def script(bench: Bench) -> None:
        await bench.on(2 * 60 + 45)
        await bench.press("escape", "0", "4", "m", "2", "space")
        assert "your break is from 12:20 to 13:00" in " ".join(bench.screen.split())
        await bench.press("enter")
        assert "Enter again starts it anyway" in " ".join(bench.screen.split())
        assert bench.app.live.day.batches["04"].open_heat is None
        await bench.press("enter")
        assert bench.app.live.day.batches["04"].open_heat is not None
        await worked_out(bench)
        await bench.on(33)
        await worked_out(bench)
        first = bench.app.bench.view_cache.items[0]
        assert (first.about, first.do) == ("04", "heat off steamer 1")
        assert first.why == "your break is at 12:20; 23 of 40 min by then, 17 more after it"
        await bench.press("escape", "enter", "enter")
        batch = bench.app.live.day.batches["04"]
        assert batch.open_heat is None
        assert (batch.state, batch.unit) == (State.FIX, "steamer 1")

    drive(tmp_path, script, text=breaks, foresee=quick, size=(130, 30))
