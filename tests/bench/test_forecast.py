"""The forecast on the bench: one for an event, none on a key's path, and what is seen of it."""

from __future__ import annotations

import re
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from dyeday.ahead.advising.advice import advice
from dyeday.ahead.forecast import Forecast
from dyeday.ahead.foreseen_steps import Warned
from dyeday.ahead.what_if import Gain
from dyeday.bench.forecast_worker import FORECAST_FAILED
from dyeday.terms import DayAim, State, StepKind, WarningKind
from dyeday.track.day.day_state import Day
from dyeday.track.events.movements import ChoreBegun, ChoreFinished
from dyeday.track.folding.fold import fold
from dyeday.track.timestamp import Moment
from tests.bench.driving import Bench, drive, quick
from tests.fakes import HEAVY_DAY, HOME_DAY, FakeClock
from tests.track.days import PLAN
from tests.typed_events import draft


async def settle(bench: Bench, count: int) -> None:
    """Let the app's own loop run until ``count`` forecasts are there."""
    for _turn in range(200):
        bench.app.tick()
        await bench.app.workers.wait_for_complete()
        await bench.pilot.pause()
        if bench.app.outlook.forecasts >= count and bench.app.outlook.forecast is not None:
            await bench.settle()
            return
    raise AssertionError(f"{bench.app.outlook.forecasts} forecasts, {count} wanted")


def test_the_top_line_says_when_hands_are_off_and_whether_the_day_fits(tmp_path: Path) -> None:
    """As soon as the first forecast is there."""

    async def script(bench: Bench) -> None:
        assert "finish" not in bench.screen
        await settle(bench, 1)
        top = bench.screen.split("\n")[0]
        assert "finish" in top
        assert "fits" in top

    drive(tmp_path, script, foresee=quick)


@pytest.mark.parametrize("hour", [7, 14])
def test_a_day_that_does_not_fit_says_how_much_does(hour: int, tmp_path: Path) -> None:
    """Batches by stop stand in the top line, within 80 columns; the finish only where "if you work on" does too."""

    async def script(bench: Bench) -> None:
        await settle(bench, 1)
        top = bench.screen.split("\n")[0]
        assert re.search(r"\d+ of 14 rinsed by stop \d\d:\d\d", top)
        assert ("finish" in top) is ("if you work on" in top)
        assert len(top) <= 80

    drive(tmp_path, script, plan=HEAVY_DAY, foresee=quick, clock=FakeClock(datetime(2026, 5, 9, hour, tzinfo=UTC)))


def test_where_the_top_line_has_no_room_for_all_it_still_says_what_is_rinsed_by_the_stop(tmp_path: Path) -> None:
    """A plan opened eight weeks before its day has its stop with a date, which is longer than the line."""

    async def script(bench: Bench) -> None:
        await settle(bench, 1)
        top = bench.screen.split("\n")[0]
        assert re.search(r"\d+ of 14 (rinsed )?by", top)
        assert "finish" not in top

    drive(tmp_path, script, plan=HEAVY_DAY, foresee=quick)


def test_one_event_costs_one_forecast_and_a_quiet_minute_none_but_its_own(tmp_path: Path) -> None:
    """Ticks alone ask for nothing new within the same minute."""

    async def script(bench: Bench) -> None:
        await settle(bench, 1)
        for _tick in range(10):
            bench.app.tick()
        await settle(bench, 1)
        assert bench.app.outlook.forecasts == 1
        await bench.press("m", "1")
        await settle(bench, 2)
        assert bench.app.outlook.forecasts == 2
        await bench.on(1)
        await settle(bench, 3)
        assert bench.app.outlook.forecasts == 3

    drive(tmp_path, script, foresee=quick)


def test_no_key_waits_for_a_forecast(tmp_path: Path) -> None:
    """While one is being worked out, an entry is recorded and shown."""
    gate = threading.Event()

    def stuck(day: Day, now: Moment, before: Forecast | None) -> Forecast:
        assert gate.wait(30)
        return quick(day, now, before)

    async def script(bench: Bench) -> None:
        try:
            bench.app.tick()
            await bench.pilot.pause()
            assert bench.app.outlook.forecasts == 1
            await bench.press("m", "1")
            assert "recorded: 01 to soak" in bench.screen
            assert bench.app.outlook.forecast is None
        finally:
            gate.set()
        await settle(bench, 1)

    drive(tmp_path, script, foresee=stuck)


def test_the_rest_of_the_day_has_a_screen_of_its_own(tmp_path: Path) -> None:
    """y: both answers, the chart, the timetable."""

    async def script(bench: Bench) -> None:
        await bench.press("y")
        assert "not ready yet" in bench.screen
        await settle(bench, 1)
        await bench.press("y")
        assert "all rinsed by" in bench.screen
        assert "hands " in bench.screen
        assert [line for line in bench.screen.split("\n") if line.startswith(" steamer 1 ")]

    drive(tmp_path, script, size=(100, 40), foresee=quick)


def test_advice_names_a_reason_and_what_is_due_goes_first(tmp_path: Path) -> None:
    """The forecast's next steps stand below what is urgent."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "3", "space", "enter")
        await bench.on(51)
        await settle(bench, 1)
        lines = bench.advised
        assert "04" in lines[0]
        assert "1 min over, still on" in lines[0]
        assert len(lines) >= 2

    drive(tmp_path, script, foresee=quick)


def test_a_soak_that_is_due_keeps_its_mark_where_the_forecast_says_what_is_next(tmp_path: Path) -> None:
    """The row and the next line have the same sign, also on the far view."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "space", "enter")
        await bench.on(21)
        await settle(bench, 1)
        assert "• 01" in next(line for line in bench.advised if " 01 " in line)
        assert bench.row("01")[:4] in ("▶•01", " •01")
        lines = advice(bench.app.live.day, bench.app.live.now(), 50, bench.app.outlook.forecast)
        assert [item.mark for item in lines if item.about == "01"] == ["*"]

    drive(tmp_path, script, foresee=quick)


def test_until_the_first_forecast_is_there_return_does_nothing_that_it_might_not_advise(tmp_path: Path) -> None:
    """Five batches stood there, all into tray 1, though ties come first."""
    worked_out = threading.Event()

    def late(day: Day, now: Moment, before: Forecast | None) -> Forecast:
        worked_out.wait()
        return quick(day, now, before)

    async def script(bench: Bench) -> None:
        assert [line.strip() for line in bench.advised] == ["working out what to do first"]
        assert "[enter]" not in bench.screen
        await bench.press("enter")
        assert "working out what to do first" in bench.screen.split("\n")[-2]
        worked_out.set()
        await settle(bench, 1)
        assert "[enter] does the first" in bench.screen
        assert "into the soak" in bench.advised[0] or "tie and count" in bench.advised[0]

    try:
        drive(tmp_path, script, foresee=late)
    finally:
        worked_out.set()


def test_without_a_forecast_only_the_first_soak_is_advised(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        assert [line.split("  ")[1].strip() for line in bench.advised] == ["01"]
        await bench.press("enter", "enter")
        assert [line.split()[0] for line in bench.advised] == ["02"]

    drive(tmp_path, script)


def test_what_was_just_done_is_not_advised_again_while_the_forecast_is_worked_out(tmp_path: Path) -> None:
    """Each Return takes the first line; the same line must not stand there for a second one, and offer its paint."""

    async def script(bench: Bench) -> None:
        await settle(bench, 1)
        first = bench.advised[0]
        assert "into the soak" in first
        await bench.press("enter", "enter")
        assert first.split()[0] not in [line.split()[0] for line in bench.advised if "into the soak" in line]

    drive(tmp_path, script, plan=HOME_DAY, foresee=late, clock=FakeClock(datetime(2026, 9, 12, 9, tzinfo=UTC)))


def test_painting_that_was_just_begun_is_not_the_first_line_whose_return_would_heat_it(tmp_path: Path) -> None:
    """The control: what another batch may do next is."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "space", "enter")
        await settle(bench, 1)
        await bench.press("C", "enter")
        await bench.on(21)
        await settle(bench, 2)
        await bench.press("0", "1", "I", "enter")
        await settle(bench, 3)
        assert " 01  paint" in bench.advised[0]
        await bench.press("enter", "enter")
        assert bench.app.live.day.batches["01"].state is State.PAINT
        assert " 01 " not in bench.advised[0]
        assert len(bench.advised) > 1

    drive(tmp_path, script, plan=HOME_DAY, foresee=quick, clock=FakeClock(datetime(2026, 9, 12, 9, tzinfo=UTC)))


def late(day: Day, now: Moment, before: Forecast | None) -> Forecast:
    """A forecast that is never worked out again: that of before the entries stands."""
    return before or quick(day, now, before)


def test_the_first_line_s_unit_is_the_one_that_is_offered(tmp_path: Path) -> None:
    """The forecast chose it: a tray that is free later is another batch's."""

    async def script(bench: Bench) -> None:
        await settle(bench, 1)
        assert "into the soak in tray 3" in bench.advised[0]
        await bench.press("enter")
        assert "into the soak in tray 3" in bench.screen.split("━" * 80)[1]

    morning = FakeClock(datetime(2026, 9, 12, 9, tzinfo=UTC))
    drive(tmp_path, script, plan=HOME_DAY, foresee=advised_backwards, clock=morning)


def test_a_second_batch_is_offered_the_forecast_s_tray_after_the_entry_of_the_first(tmp_path: Path) -> None:
    """Its line is gone until the next forecast, since the first changed the tray; another tray is empty."""

    async def script(bench: Bench) -> None:
        await settle(bench, 1)
        await bench.press("0", "1", "space", "enter")
        await bench.press("0", "2", "space")
        assert "into the soak in tray 3" in bench.screen.split("━" * 80)[1]
        await bench.press("enter")
        assert [bench.app.live.day.batches[no].unit for no in ("01", "02")] == ["tray 3", "tray 3"]
        await bench.press("u", "1", "space")
        assert "tray 3" not in bench.screen.split("━" * 80)[1]

    drive(tmp_path, script, text=PLAN.replace("holds = 4", "holds = 8", 1), foresee=all_in_tray_3)


def all_in_tray_3(day: Day, now: Moment, before: Forecast | None) -> Forecast:
    """A forecast, never worked out again, in which every soak is in tray 3."""
    found = late(day, now, before)
    steps = (replace(s, unit="tray 3") if s.kind is StepKind.SOAK_LOAD else s for s in found.steps)
    return replace(found, steps=tuple(steps))


def advised_backwards(day: Day, now: Moment, before: Forecast | None) -> Forecast:
    """A forecast whose trays are numbered from the last."""
    found = quick(day, now, before)
    other = {"tray 1": "tray 3", "tray 3": "tray 1"}
    return replace(
        found, steps=tuple(replace(step, unit=other.get(step.unit or "", step.unit)) for step in found.steps)
    )


def test_without_a_forecast_nothing_can_be_put_off_or_first(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("N")
        assert "the forecast is not ready yet" in bench.screen
        await bench.press("0", "1", "I", "y")
        assert "the forecast is not ready yet" in bench.screen
        assert bench.kinds == []

    drive(tmp_path, script)


def test_not_now_waves_the_advised_step_off_and_a_restart_keeps_that(tmp_path: Path) -> None:
    """N: another step stands first after the next forecast; z undoes it."""

    async def script(bench: Bench) -> None:
        await settle(bench, 1)
        first = bench.advised[0]
        await bench.press("N", "enter")
        assert "not now for 30 min" in bench.screen
        event = bench.session.events[-1]
        said = event.body.to_json()
        assert (event.body.NAME, said["is"], said["minutes"]) == ("advice", "not now", 30)
        await settle(bench, 2)
        assert bench.advised[0] != first
        reopened = bench.second_shell()
        assert fold(reopened.plan, reopened.events).wishes == bench.app.live.day.wishes != ()
        await bench.press("z", "enter")
        assert bench.app.live.day.wishes == ()

    drive(tmp_path, script, foresee=quick)


def test_this_one_instead_puts_the_chosen_batch_first(tmp_path: Path) -> None:
    """I: its next step leads the advice; what is not ready is refused with its time."""

    async def script(bench: Bench) -> None:
        await settle(bench, 1)
        await bench.press("0", "5", "I", "enter")
        assert bench.session.events[-1].body.to_json()["is"] == "instead"
        await settle(bench, 2)
        assert " 05 " in bench.advised[0]
        await bench.press("0", "4", "m", "1")
        await settle(bench, 3)
        count = len(bench.session.events)
        await bench.press("I")
        assert "04 should wait until" in bench.screen
        assert len(bench.session.events) == count

    drive(tmp_path, script, foresee=quick)


def test_a_chore_that_is_done_is_advised_no_more(tmp_path: Path) -> None:
    """C: tying and mixing have no other entry."""

    async def script(bench: Bench) -> None:
        await settle(bench, 1)
        await bench.press("C", "enter")
        event = bench.session.events[-1]
        assert event.body.NAME == "chore"
        await settle(bench, 2)
        assert bench.app.outlook.forecast is not None
        chores = [step for step in bench.app.outlook.forecast.next_steps if step.is_chore]
        assert (event.batch, event.body) not in [(s.batch or None, ChoreFinished(**s.chore_data)) for s in chores]

    drive(tmp_path, script, foresee=quick)


def test_a_chore_recorded_late_is_asked_with_its_time(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.on(20)
        await settle(bench, 1)
        await bench.press("C")
        assert "done?" in bench.screen
        await bench.press("escape", "b")
        await bench.type("16")
        await bench.press("enter", "C")
        assert "done at 09:04?" in bench.screen

    drive(tmp_path, script, foresee=quick)


def test_a_chore_can_be_begun_and_is_then_the_first_to_be_done(tmp_path: Path) -> None:
    """C b records that hands are in it; the same two keys as ever say that it is done."""

    async def script(bench: Bench) -> None:
        await settle(bench, 1)
        await bench.press("C")
        assert "b  started, not done" in " ".join(bench.screen.split("\n"))
        await bench.press("b")
        begun = bench.session.events[-1]
        assert isinstance(begun.body, ChoreBegun)
        await settle(bench, 2)
        assert "C when it is done" in bench.screen
        await bench.press("C")
        assert "started, not done" not in bench.screen
        await bench.press("enter")
        done = bench.session.events[-1]
        assert isinstance(done.body, ChoreFinished)
        assert (done.batch, done.body.to_json()) == (begun.batch, begun.body.to_json())
        await settle(bench, 3)
        assert "C when it is done" not in bench.screen

    drive(tmp_path, script, foresee=quick)


def test_a_chore_that_is_done_is_not_asked_again_while_the_forecast_is_worked_out(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await settle(bench, 1)
        first = bench.advised[0]
        await bench.press("C", "enter", "C", "enter")
        chores = [event for event in bench.session.events if isinstance(event.body, ChoreFinished)]
        once, *then = ((event.batch, event.body) for event in chores)
        assert once not in then
        assert first not in bench.advised

    drive(tmp_path, script, foresee=late)


def test_a_chore_stays_on_the_list_when_an_entry_changes_its_batch_otherwise(tmp_path: Path) -> None:
    """Open or wrapped, the label is still to be tied on; C records it before the next forecast."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "2")
        await settle(bench, 1)
        assert " 01  label" in "".join(bench.advised)
        await bench.press("w", "o")
        assert bench.kinds[-1] == "covered"
        assert " 01  label" in "".join(bench.advised)
        await bench.press("C", "enter")
        assert bench.session.events[-1].body.to_json() == {"chore": "label", "when": "after paint", "layer": 1}

    label = '[[chore]]\nname = "label"\nwhen = "after paint"\nper = "batch"\nminutes = 3\n'
    drive(tmp_path, script, text=f"{PLAN}\n{label}", foresee=late)


def test_what_if_is_worked_out_beside_the_keys(tmp_path: Path) -> None:
    """w on the forecast's screen: each change on a line as soon as it is known, and keys go on meanwhile."""
    gate = threading.Event()

    def slow(day: Day, now: Moment, found: Forecast, wanted: Callable[[], bool]) -> Iterator[Gain]:
        yield Gain("steamer +1", 24, 1)
        assert gate.wait(30)
        yield Gain("without 03", 0, -1)

    async def script(bench: Bench) -> None:
        bench.app.outlook.what_if = slow
        await settle(bench, 1)
        await bench.press("y", "w")
        for _turn in range(200):
            await bench.settle()
            if "24 min earlier" in bench.screen:
                break
        assert "steamer +1       24 min earlier, 1 batch more by stop" in bench.screen
        assert "still working it out" in bench.screen
        await bench.press("down", "up")
        gate.set()
        await bench.app.workers.wait_for_complete()
        await bench.settle()
        assert "without 03       1 batch fewer by stop" in bench.screen
        assert "still working" not in bench.screen

    try:
        drive(tmp_path, script, size=(100, 40), foresee=quick)
    finally:
        gate.set()


def test_one_key_asks_for_the_other_aim_of_the_day_with_what_it_brings(tmp_path: Path) -> None:
    """s on the forecast's screen, remembered as an entry; the screen follows the next forecast."""

    async def script(bench: Bench) -> None:
        await settle(bench, 1)
        await bench.press("y")
        assert "aim: most rinsed by stop" in bench.screen
        await bench.press("s")
        await bench.app.workers.wait_for_complete()
        await bench.settle()
        assert re.search(r"aim: all rinsed as early as possible: (?!\d\d rinsed)\w+", bench.screen.replace("\n", " "))
        assert bench.kinds == []
        await bench.press("y")
        assert bench.app.live.day.aim == DayAim.TONIGHT
        await settle(bench, 2)
        bench.app.tick()
        await bench.settle()
        assert "aim: all rinsed as early as possible" in bench.screen
        assert "of 14 batches rinsed" in bench.screen

    drive(tmp_path, script, size=(100, 40), plan=HEAVY_DAY, foresee=quick)


def test_the_forecast_is_on_record_once_an_hour_and_costs_no_forecast(tmp_path: Path) -> None:
    """Not before anything happened; then with the likely end and the late one; z and the log skip it."""

    async def script(bench: Bench) -> None:
        await settle(bench, 1)
        assert bench.kinds == []
        await bench.press("0", "1", "m", "1")
        await settle(bench, 2)
        assert bench.kinds == ["moved", "foreseen"]
        assert not bench.app.bench.is_behind
        for _tick in range(5):
            bench.app.tick()
        await settle(bench, 2)
        assert bench.app.outlook.forecasts == 2
        await bench.on(61)
        await settle(bench, 3)
        assert bench.kinds[1:] == ["foreseen", "foreseen"]
        await bench.press("z")
        assert "to soak" in bench.screen
        await bench.press("escape", "l")
        assert "to soak" in bench.screen
        assert "forecast:" not in bench.screen

    drive(tmp_path, script, foresee=quick)


def test_the_most_urgent_warning_is_the_last_of_the_next_lines(tmp_path: Path) -> None:
    """With what to do in front and why behind."""

    def warned(day: Day, now: Moment, before: Forecast | None) -> Forecast:
        soon = Warned(WarningKind.BOIL_DRY, "steamer 2", now.utc, "steamer 2 runs low at 10:50", "fill it at 10:10")
        return replace(quick(day, now, before), warned=(soon,))

    async def script(bench: Bench) -> None:
        await settle(bench, 1)
        last = bench.advised[-1]
        assert "steamer 2" in last
        assert "fill it at 10:10" in last
        assert "steamer 2 runs low at 10:50" in last

    drive(tmp_path, script, foresee=warned)


def test_a_forecast_that_fails_is_said_and_tried_again_at_the_next_entry(tmp_path: Path) -> None:
    """No older forecast stands meanwhile, no minute asks in vain, and keys record as ever."""
    failing = [True]

    def fragile(day: Day, now: Moment, before: Forecast | None) -> Forecast:
        if failing[0]:
            raise OverflowError("too far")
        return quick(day, now, before)

    async def script(bench: Bench) -> None:
        async def tried() -> None:
            bench.app.tick()
            await bench.app.workers.wait_for_complete()
            await bench.settle()

        await tried()
        assert FORECAST_FAILED in bench.screen
        for keys in ("y", "N", "I", "p3"):
            await bench.press("n", "escape", *keys)
            assert FORECAST_FAILED in bench.screen
        await bench.on(1)
        await tried()
        assert bench.app.outlook.forecasts == 1
        failing[0] = False
        await bench.press("m", "1")
        assert "moved" in bench.kinds
        await settle(bench, 2)
        assert FORECAST_FAILED not in bench.screen
        assert "finish" in bench.screen.split("\n")[0]

    drive(tmp_path, script, foresee=fragile)


def test_a_what_if_that_fails_is_said_and_tried_again(tmp_path: Path) -> None:
    """A worker's error is a line of the page with what to do; keys go on."""
    failing = [True]

    def fragile(day: Day, now: Moment, found: Forecast, wanted: Callable[[], bool]) -> Iterator[Gain]:
        yield Gain("steamer +1", 24, 1)
        if failing[0]:
            raise OverflowError("too far")

    async def script(bench: Bench) -> None:
        bench.app.outlook.what_if = fragile
        await settle(bench, 1)
        await bench.press("y", "w")
        await bench.app.workers.wait_for_complete()
        await bench.settle()
        assert "What-if failed; w tries again." in bench.screen
        assert "still working" not in bench.screen

    drive(tmp_path, script, size=(100, 40), foresee=quick)


def test_enter_on_the_row_of_a_tank_asks_and_f_says_it_is_filled(tmp_path: Path) -> None:
    """45 of 80 min are left for a heat of 50; Enter alone fills none; after f only the load is left."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "5", "m", "3", "space", "enter")
        await bench.on(50)
        await bench.press("space", "enter", "0", "1", "m", "3")
        await settle(bench, 2)
        fill = bench.advised[0]
        assert re.search("steamer 1 +fill tank to 2 L .*boiling water; has 45 min, needs 50", fill)
        assert [line for line in bench.advised if re.match(" +01 +heat on in steamer 1", line)]
        recorded = len(bench.kinds)
        await bench.press("enter", "enter")
        assert len(bench.kinds) == recorded
        await bench.press("f")
        assert bench.session.events[-1].body.to_json() == {"unit": "steamer 1", "is": "filled"}
        assert not [line for line in bench.advised if "fill tank" in line]
        assert [line for line in bench.advised if re.match(" +01 +heat on in steamer 1", line)]

    one_steamer = PLAN.replace('kind = "steamer"\nunits = 2', 'kind = "steamer"\nunits = 1')
    drive(tmp_path, script, text=one_steamer, foresee=quick)


def test_until_the_forecast_after_an_entry_its_batch_has_no_line_and_enter_does_nothing_of_it(tmp_path: Path) -> None:
    """The forecast before it would have 01 heated on; of one batch nothing else is left to say."""
    held: list[Forecast] = []

    def slow(day: Day, now: Moment, last: Forecast | None) -> Forecast:
        return held[0] if held else quick(day, now, last)

    async def script(bench: Bench) -> None:
        for no in [*bench.app.live.day.batches][1:]:
            bench.app.live.record(draft("moved", no, {"to": "scrapped", "why": "spare"}))
        await settle(bench, 1)
        assert bench.app.outlook.forecast is not None
        held.append(bench.app.outlook.forecast)
        await bench.press("0", "1", "space", "enter")
        await settle(bench, 2)
        assert "load" in bench.kinds
        assert "01" not in [about for item in bench.app.bench.view_cache.items for about in item.abouts]
        assert "working out what to do first" in bench.screen
        await bench.press("enter")
        assert bench.app.screen is bench.app.bench
        await bench.press("N")
        assert "the forecast is not ready yet" in bench.screen

    drive(tmp_path, script, text=PLAN, foresee=slow)
