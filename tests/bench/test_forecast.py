"""The forecast on the bench: one for an event, none on a key's path, and what is seen of it."""

from __future__ import annotations

import threading
from pathlib import Path

from dyeday.ahead.forecast import Forecast, forecast
from dyeday.track.day import Day
from dyeday.track.instant import Now
from tests.bench.driving import Bench, drive
from tests.fakes import HEAVY_DAY


def quick(day: Day, now: Now, before: Forecast | None) -> Forecast:
    return forecast(day, now, evaluations=30, before=before, replays=3)


async def settle(bench: Bench, count: int) -> None:
    """Let the app's own loop run until ``count`` forecasts are there."""
    for _turn in range(200):
        bench.app.tick()
        await bench.app.workers.wait_for_complete()
        await bench.pilot.pause()
        if bench.app.forecasts >= count and bench.app.found is not None:
            return
    raise AssertionError(f"{bench.app.forecasts} forecasts, {count} wanted")


def test_the_top_line_says_when_hands_are_off_and_whether_the_day_fits(tmp_path: Path) -> None:
    """As soon as the first forecast is there."""

    async def script(bench: Bench) -> None:
        assert "hands off" not in bench.screen
        await settle(bench, 1)
        top = bench.screen.split("\n")[0]
        assert "hands off" in top
        assert "fits" in top

    drive(tmp_path, script, foresee=quick)


def test_a_day_that_does_not_fit_says_how_much_does(tmp_path: Path) -> None:
    """Batches by stop stand in the top line, within 80 columns."""

    async def script(bench: Bench) -> None:
        await settle(bench, 1)
        top = bench.screen.split("\n")[0]
        assert " of 14 by " in top
        assert len(top) <= 80

    drive(tmp_path, script, plan=HEAVY_DAY, foresee=quick)


def test_one_event_costs_one_forecast_and_a_quiet_minute_none_but_its_own(tmp_path: Path) -> None:
    """Ticks alone ask for nothing new within the same minute."""

    async def script(bench: Bench) -> None:
        await settle(bench, 1)
        for _tick in range(10):
            bench.app.tick()
        await settle(bench, 1)
        assert bench.app.forecasts == 1
        await bench.press("m", "1")
        await settle(bench, 2)
        assert bench.app.forecasts == 2
        await bench.on(1)
        await settle(bench, 3)
        assert bench.app.forecasts == 3

    drive(tmp_path, script, foresee=quick)


def test_no_key_waits_for_a_forecast(tmp_path: Path) -> None:
    """While one is being worked out, an entry is recorded and shown."""
    gate = threading.Event()

    def stuck(day: Day, now: Now, before: Forecast | None) -> Forecast:
        assert gate.wait(30)
        return quick(day, now, before)

    async def script(bench: Bench) -> None:
        try:
            bench.app.tick()
            await bench.pilot.pause()
            assert bench.app.forecasts == 1
            await bench.press("m", "1")
            assert "recorded: 01 to soak" in bench.screen
            assert bench.app.found is None
        finally:
            gate.set()
        await settle(bench, 1)

    drive(tmp_path, script, foresee=stuck)


def test_the_rest_of_the_day_has_a_screen_of_its_own(tmp_path: Path) -> None:
    """y: both answers, the chart, the timetable."""

    async def script(bench: Bench) -> None:
        await bench.press("y")
        assert "not worked out yet" in bench.screen
        await settle(bench, 1)
        await bench.press("y")
        assert "all rinsed tonight" in bench.screen
        assert "hands " in bench.screen
        assert "07== heat on" in bench.screen or "min  " in bench.screen

    drive(tmp_path, script, size=(100, 40), foresee=quick)


def test_advice_names_a_reason_and_what_is_due_goes_first(tmp_path: Path) -> None:
    """The forecast's next steps stand below what is urgent."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "3", "space", "enter")
        await bench.on(51)
        await settle(bench, 1)
        lines = [line for line in bench.screen.split("\n") if line.startswith((" Next", " then"))]
        assert "04" in lines[0]
        assert "heat time over" in lines[0]
        assert len(lines) >= 2

    drive(tmp_path, script, foresee=quick)
