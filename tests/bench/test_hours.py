"""Leaving the house and changing the day's hours on the bench, in few keys."""

from __future__ import annotations

import asyncio
from pathlib import Path

from dyeday.ahead.foreseen_steps import Forecast
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import Now
from tests.bench.driving import Bench, drive, quick


def test_leaving_answers_with_every_unit_that_is_on_or_that_nothing_is(tmp_path: Path) -> None:
    """One key; the time typed is an absence on record."""

    async def script(bench: Bench) -> None:
        await bench.press("L")
        assert "Nothing is on. You are leaving; back at" in bench.screen
        await bench.press("escape", "0", "4", "m", "2", "space", "enter", "L")
        assert "STILL ON: steamer 1 (04, 50 min left)" in bench.screen
        await bench.type("1015")
        await bench.press("enter")
        assert bench.session.events[-1].body.to_json() == {"out": "09:00-10:15"}
        assert bench.app.keeper.day.plan.session.out == ((540, 615),)
        await bench.press("z", "enter")
        assert not bench.app.keeper.day.plan.session.out

    drive(tmp_path, script)


def test_a_time_that_is_none_stays_in_the_question(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("L")
        await bench.type("soon")
        await bench.press("enter")
        assert "You are leaving; back at" in bench.screen
        assert bench.kinds == []

    drive(tmp_path, script)


def test_the_stop_is_changed_once_what_it_brings_was_shown(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        for _ in range(200):
            if bench.app.outlook.found is not None:
                break
            await asyncio.sleep(0.05)
            await bench.on(0)
        await bench.press("D", "s")
        await bench.type("2030")
        await bench.press("enter")
        for _ in range(200):
            if "stop 20:30: finish" in bench.screen:
                break
            await asyncio.sleep(0.05)
            await bench.settle()
        assert "stop 20:30: finish" in bench.screen
        assert "hours" not in bench.kinds
        await bench.press("enter")
        assert bench.kinds[-1] == "hours"
        assert bench.app.keeper.day.plan.session.stop_min == 20 * 60 + 30

    drive(tmp_path, script, foresee=quick)


def test_a_change_whose_effect_cannot_be_worked_out_is_asked_all_the_same(tmp_path: Path) -> None:
    """The worker's error is in the question; y makes the change."""

    def fragile(day: Day, now: Now, before: Forecast | None) -> Forecast:
        if day.plan.session.stop_min == 20 * 60 + 30:
            raise OverflowError("too far")
        return quick(day, now, before)

    async def script(bench: Bench) -> None:
        bench.app.tick()
        await bench.app.workers.wait_for_complete()
        await bench.settle()
        await bench.press("D", "s")
        await bench.type("2030")
        await bench.press("enter")
        await bench.app.workers.wait_for_complete()
        await bench.settle()
        assert "working out what it brings failed; you can change it all the same" in bench.screen
        await bench.press("y")
        assert bench.app.keeper.day.plan.session.stop_min == 20 * 60 + 30

    drive(tmp_path, script, size=(100, 30), foresee=fragile)
