"""Moments of the acceptance day on the bench at 80 x 24: keys in, words out, what is on record."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from datetime import UTC, datetime
from pathlib import Path

from dyeday.terms import State
from dyeday.track.events.event_json import read_event
from dyeday.track.events.remarks import Foreseen
from dyeday.track.flags import flags_of
from dyeday.track.timestamp import Moment
from tests.acceptance.played import FRIDAY, instant
from tests.bench.driving import Bench, drive, quick
from tests.bench.test_hours import worked_out
from tests.fakes import FakeClock, begun

PLAN = Path(__file__).with_name("day.toml")


def at_the_bench(folder: Path, time: str, script: Callable[[Bench], Awaitable[None]], recorded_by: str = "") -> None:
    """Run ``script`` on the bench at ``time``, with what Friday's page has recorded by then, or before."""
    clock = FakeClock(utc=instant(time).astimezone(UTC))
    session = begun(folder, clock, PLAN)
    until = instant(recorded_by or time)
    lines = [line for line in FRIDAY if datetime.fromisoformat(line["at"]) <= until]
    session.add(
        [read_event(line, Moment(datetime.fromisoformat(line["at"])), twin=n) for n, line in enumerate(lines)]
    )
    drive(folder, script, session=session, clock=clock, foresee=quick)


def words(bench: Bench) -> str:
    return " ".join(bench.screen.split())


def test_the_break_is_moved_in_three_keys_and_digits_with_what_it_brings_shown(tmp_path: Path) -> None:
    """17:50: 08 would be up in bedtime, 18:30. D, b, 1 and 1845; Enter takes what was shown."""

    async def script(bench: Bench) -> None:
        await worked_out(bench)
        await bench.press("D", "b", "1")
        await bench.type("1845")
        await worked_out(bench)
        brought = words(bench).partition("break 18:45-20:00 instead of 18:30-20:00: ")[2]
        assert "batch 08 through heat" in brought
        assert "hours" not in bench.kinds
        await bench.press("enter")
        assert bench.session.events[-1].body.to_json() == {"break": "18:45-20:00", "instead": "18:30-20:00"}
        await bench.press("0", "8", "space")
        assert "your break is" not in words(bench)

    at_the_bench(tmp_path, "17:54", script)


def test_without_the_break_moved_heat_that_would_be_up_in_it_says_so(tmp_path: Path) -> None:
    """The control: 08 at 17:54 would be up 18:49 with its fill, in bedtime."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "8", "space")
        assert "your break is from 18:30 to 20:00" in words(bench)

    at_the_bench(tmp_path, "17:54", script)


def test_the_stop_is_put_off_in_two_keys_and_digits_with_what_it_brings_shown(tmp_path: Path) -> None:
    """22:29: 13 gets its heat, 11 and 12 stay; nothing plans them silently."""

    async def script(bench: Bench) -> None:
        await worked_out(bench)
        await bench.press("D", "s")
        await bench.type("2345")
        await worked_out(bench)
        assert "stop 23:45: batch 13 through heat 23:2" in words(bench)
        assert "11, 12 stay for tomorrow" in words(bench)
        assert bench.app.live.day.plan.session.stop_min == 23 * 60
        await bench.press("enter")
        assert bench.app.live.day.plan.session.stop_min == 23 * 60 + 45

    at_the_bench(tmp_path, "22:29", script)


def test_a_steamer_that_trips_is_to_be_unplugged_and_not_reset(tmp_path: Path) -> None:
    """16:34, at 16:30: what 06 had and lacks, where it may go on; the control is a unit that works again."""

    async def script(bench: Bench) -> None:
        await bench.press("b")
        await bench.type("1630")
        await bench.press("enter", "k", "6", "d")
        assert [event.at for event in bench.session.events if event.body.NAME == "unit"] == [instant("16:30")]
        assert "unplug it with dry hands, do not reset it" in words(bench)
        assert "06 wait for steamer 1, from 16:37" in words(bench)
        assert "18 min at heat so far, 12 to go" in words(bench)
        await bench.press("k", "6", "w")
        assert "unplug" not in words(bench)

    at_the_bench(tmp_path, "16:34", script, "16:29")


def test_fifty_minutes_are_caught_up_in_fifteen_presses(tmp_path: Path) -> None:
    """14:05: both heats off at 13:21 and 13:26, 05 painted and 06 begun; what did not happen is skipped."""

    async def script(bench: Bench) -> None:
        await bench.press("B")
        presses = 1
        assert "> about 13:21 03 heat off steamer 1" in words(bench)
        assert "about 13:26 04 heat off steamer 2" in words(bench)
        lines = [line for line in bench.screen.split("\n") if line.lstrip(" >").startswith("about ")]
        assert not [line for line in lines if "12:45" < line.lstrip(" >")[6:11] < "13:15"]
        assert "acid" not in "".join(lines)
        for _ in range(14):
            now = next((line for line in bench.screen.split("\n") if line.startswith(" > about ")), "")
            if not now:
                break
            happened = "heat off" in now or "05 paint" in now or "06 paint" in now
            await bench.press("enter" if happened else "space")
            presses += 1
        await bench.press("escape")
        batches = bench.app.live.day.batches
        assert presses <= 15
        assert [batches[no].state for no in ("03", "04", "06")] == [State.COOL, State.COOL, State.PAINT]
        ends = [batches[no].heats[-1].end for no in ("03", "04")]
        assert [end.utc for end in ends if end is not None] == [instant("13:21"), instant("13:26")]
        found = flags_of(bench.app.live.day, bench.clock())
        assert [(flag.about, flag.rule.value) for flag in found] == [("03", "weak-acid")]

    at_the_bench(tmp_path, "14:05", script, "12:52")


def by_keys(bench: Bench) -> int:
    """Return how many entries there are but those of the hourly forecast, which comes when its thread is done."""
    return sum(not isinstance(event.body, Foreseen) for event in bench.session.events)


def test_a_toddler_at_the_keys_ends_no_heat_and_is_locked_out_within_the_minute(tmp_path: Path) -> None:
    """17:34 to 17:36, a key a second: nothing is on record after the lock, and 07 steams on."""

    async def script(bench: Bench) -> None:
        bench.app.key_time.pause_s = 1.0  # type: ignore[attr-defined]
        await bench.press("0", "7")
        known = by_keys(bench)
        locked_after = None
        counted = 0
        for second in range(120):
            bench.clock.on(seconds=1)
            await bench.press(("space", "enter", "space", "3", "enter")[second % 5])
            if locked_after is None and bench.app.key_watch.locked:
                locked_after, counted = second, by_keys(bench)
        assert bench.app.key_watch.locked or by_keys(bench) == known
        assert locked_after is None or locked_after <= 60
        assert locked_after is None or by_keys(bench) == counted
        heat = bench.app.live.day.batches["07"].open_heat
        assert heat is not None
        assert heat.end is None

    at_the_bench(tmp_path, "17:34", script)


def test_a_rush_order_asks_for_whom_by_when_and_says_what_it_pushes_out(tmp_path: Path) -> None:
    """11:28: two Tide Wrack for Monday, first of all; dry by Sunday to go out."""

    async def script(bench: Bench) -> None:
        await worked_out(bench)
        await bench.press("o", "1", "1", "2", "enter")
        await worked_out(bench)
        assert "2 Tide Wrack for new 1, no due date, in its turn: " in words(bench)
        await bench.press("w")
        assert "For whom" in words(bench)
        await bench.type("Mon")
        await bench.press("enter")
        await worked_out(bench)
        await bench.press("d")
        assert "Due (" in words(bench)
        await bench.type("2026-06-08")
        await bench.press("enter")
        await worked_out(bench)
        await bench.press("w", "escape")
        await worked_out(bench)
        asked = words(bench)
        assert "2 Tide Wrack for Mon, dry by Sun to go out Mon, as early as the day allows: " in asked
        assert "(was " in asked or "not by the stop" in asked
        assert "added" not in bench.kinds
        await bench.press("enter")
        order = bench.app.live.day.plan.orders[-1]
        assert (order.item, order.priority, str(order.due)) == ("Mon", 1, "2026-06-08")
        assert "15" in bench.app.live.day.batches

    at_the_bench(tmp_path, "11:28", script)


def test_an_order_without_a_due_date_waits_its_turn_unless_t_puts_it_first(tmp_path: Path) -> None:
    """The same order as it is offered ranks as the others do; t changes that, and back."""

    async def script(bench: Bench) -> None:
        await worked_out(bench)
        await bench.press("o", "1", "1", "2", "enter")
        await worked_out(bench)
        await bench.press("t")
        await worked_out(bench)
        assert "2 Tide Wrack for new 1, no due date, as early as the day allows: " in words(bench)
        await bench.press("t")
        await worked_out(bench)
        assert "2 Tide Wrack for new 1, no due date, in its turn: " in words(bench)
        await bench.press("enter")
        order = bench.app.live.day.plan.orders[-1]
        assert order.item == "new 1"
        assert order.priority > 1
        assert "15" in bench.app.live.day.batches

    at_the_bench(tmp_path, "11:28", script)
