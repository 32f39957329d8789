"""What happens to kit and batches in real life, by keys: the event, its timers, its flags, the forecast."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from dyeday.ahead.forecast import Forecast, forecast
from dyeday.terms import FlagId, State, TimerKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.flags import flags_of, open_flags
from dyeday.track.timers.timers import tank_timers, timer_of
from tests.bench.driving import Bench, drive
from tests.bench.test_offers import WATER
from tests.fakes import SHORT_DAY, FakeClock
from tests.speed.days import plan_text
from tests.track.days import PLAN
from tests.typed_events import make

IN_STEAM = ("0", "4", "m", "3", "space", "enter")
"""batch 04, one heat of 40 min of steam, in steamer 1"""


def day(bench: Bench) -> Day:
    return bench.app.live.day


def batch(bench: Bench, no: str) -> BatchRecord:
    return day(bench).batches[no]


def last(bench: Bench) -> tuple[str, str | None, dict[str, Any]]:
    event = bench.session.events[-1]
    return event.body.NAME, event.batch, dict(event.body.to_json())


def rules(bench: Bench, no: str) -> list[FlagId]:
    return [flag.rule for flag in open_flags(day(bench), bench.clock()) if flag.batch == no]


def foreseen(bench: Bench) -> Forecast:
    return forecast(day(bench), bench.clock(), evaluations=20)


def left_min(bench: Bench, no: str) -> float | None:
    timer = timer_of(day(bench), batch(bench, no), bench.clock())
    return None if timer is None or timer.left_s is None else timer.left_s / 60


def test_real_heat_starts_the_minutes_then(tmp_path: Path) -> None:
    """h: steam is up after four minutes, not after the ten that were planned."""

    async def script(bench: Bench) -> None:
        await bench.press(*IN_STEAM)
        await bench.on(4)
        assert left_min(bench, "04") == pytest.approx(46)
        await bench.press("h")
        assert last(bench) == ("pass", "04", {"pass": 1, "run": "heat"})
        assert left_min(bench, "04") == pytest.approx(40)
        assert "1st heat reached full heat; heat off at 09:44" in bench.screen

    drive(tmp_path, script)


def test_a_second_h_asks_before_the_minutes_at_heat_begin_again(tmp_path: Path) -> None:
    """A heat of 40 min must not begin again because the key was pressed twice."""

    async def script(bench: Bench) -> None:
        await bench.press(*IN_STEAM)
        await bench.on(4)
        await bench.press("h")
        recorded = len(bench.kinds)
        await bench.on(10)
        await bench.press("h")
        assert "04 was at full heat at 09:04: count its minutes from now" in bench.screen
        await bench.press("enter", "escape")
        assert len(bench.kinds) == recorded
        assert left_min(bench, "04") == pytest.approx(30)
        await bench.press("h", "y")
        assert left_min(bench, "04") == pytest.approx(40)

    drive(tmp_path, script)


def test_h_marks_only_the_chosen_batch_and_names_the_one_that_warms_up(tmp_path: Path) -> None:
    """05 is chosen, 04 warms up."""

    async def script(bench: Bench) -> None:
        await bench.press(*IN_STEAM, "0", "5")
        await bench.on(4)
        await bench.press("h")
        assert "05 has no heat on; 04 warming up: choose that first" in bench.screen
        assert bench.kinds[-1] != "pass" or last(bench)[2]["run"] == "start"
        await bench.press("0", "4", "h")
        assert last(bench) == ("pass", "04", {"pass": 1, "run": "heat"})

    drive(tmp_path, script)


def test_a_tank_alarm_comes_with_heat_off_once_the_heat_is_over_and_never_fills_by_return(tmp_path: Path) -> None:
    """A fill lasts 36 min to its reserve: 10 and 40 min are longer, so the tank is low before the heat is over."""

    async def script(bench: Bench) -> None:
        await bench.press(*IN_STEAM)
        await bench.on(38)
        assert "steamer 1 ran 38 min on one fill: turn it off, cool" in bench.screen
        await bench.press("enter")
        assert "Press its key" in bench.screen
        await bench.press("enter", "escape")
        await bench.on(13)
        assert "on one fill: turn it off" in bench.screen
        assert "fill it" not in bench.screen
        await bench.press("enter")
        assert "41 of 40 min of steam so far" in bench.screen
        await bench.press("enter")
        assert bench.session.events[-1].body.to_json()["run"] == "end"
        assert "filled" not in str([event.body.to_json() for event in bench.session.events])

    short = SHORT_DAY.read_text("utf-8").replace('lasts = "70 min"', 'lasts = "45 min"')
    drive(tmp_path, script, text=f'{short}\n[rules]\nreserve = "20 %"\n')


def test_acid_that_was_forgotten_is_asked_for_with_what_the_bath_is_missing(tmp_path: Path) -> None:
    """300 g in 3 L of the example's water: 65 mL, as the first offer was; once they are in nothing is missing."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "space", "a", "backspace", "backspace", "0", "enter", "enter", "i")
        assert "the recipe needs another 65" in bench.screen
        await bench.press("6", "5", "enter", "i")
        assert "How much vinegar went into" in bench.screen
        assert "missing" not in bench.screen

    drive(tmp_path, script)


def test_another_batch_shares_a_steamer_and_its_tank_runs_once(tmp_path: Path) -> None:
    """The digit takes the unit that is in use; both have their own minutes, and the flag about room is raised."""

    async def script(bench: Bench) -> None:
        await bench.press(*IN_STEAM)
        await bench.on(5)
        await bench.press("0", "5", "m", "3", "space")
        assert "steamer 1 (04" in bench.screen
        await bench.press("1", "enter")
        assert (batch(bench, "05").unit, batch(bench, "04").unit) == ("steamer 1", "steamer 1")
        (tank,) = tank_timers(day(bench), bench.clock())
        assert tank.elapsed_s == 5 * 60
        assert left_min(bench, "05") != left_min(bench, "04")
        (flag,) = (f for f in flags_of(day(bench), bench.clock()) if f.rule is FlagId.OVER_FULL)
        assert flag.batches == ("04", "05")

    drive(tmp_path, script)


def test_a_burst_that_its_timer_ended_is_not_a_heat_to_end_before_a_move_nor_one_to_be_real(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press(*"04", "m", "3", "space", "enter")
        await bench.on(50)
        await bench.press("h")
        assert "04 has no heat on" in bench.screen
        assert len(batch(bench, "04").heats) == 1
        await bench.press("u", "1")
        assert batch(bench, "04").unit == "tray 1"

    drive(tmp_path, script, text=PLAN)


def test_a_batch_moved_into_another_unit_keeps_its_clock(tmp_path: Path) -> None:
    """u: what soaks goes on soaking; with heat on it is refused until the heat is off."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "space", "enter")
        await bench.on(7)
        await bench.press("u", "3")
        assert last(bench) == ("placed", "01", {"unit": "tray 3"})
        assert left_min(bench, "01") == pytest.approx(13)
        await bench.press(*IN_STEAM, "u")
        assert "has heat on: end it first" in bench.screen

    drive(tmp_path, script)


def test_a_batch_moved_into_a_microwave_is_said_to_be_too_much_for_one_dish_and_to_want_other_heat(
    tmp_path: Path,
) -> None:
    """Four skeins that are to simmer, and a microwave that holds two."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "3", "u", "4")
        said = " ".join(bench.screen.split())
        assert "03 moved to microwave 1; too full: 2 dishes, one after another" in said
        assert "its recipe has simmer, not microwave" in said

    drive(tmp_path, script)


def test_painted_yarn_put_into_a_pot_is_steamed_there_and_not_said_to_want_other_heat(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        place = str(bench.session.plan.unit_names.index("pot 1") + 1)
        await bench.press("0", "1", "m", "2", "u", place)
        assert batch(bench, "01").unit == "pot 1"
        assert "its recipe has" not in bench.screen
        await bench.press("space")
        assert "start steam 40 min in pot 1" in " ".join(bench.screen.split())

    drive(tmp_path, script, text=PLAN)


@pytest.mark.parametrize(
    ("key", "what"), [("f", "filled"), ("e", "emptied"), ("d", "down"), ("w", "up")]
)  # fmt: skip
def test_what_happens_to_a_unit_is_two_keys_after_k(tmp_path: Path, key: str, what: str) -> None:
    """Filled, emptied, broken, back once it broke: the unit's own record; a microwave has nothing to fill."""

    async def script(bench: Bench) -> None:
        names = bench.session.plan.unit_names
        place = str(names.index("steamer 1") + 1)
        if key == "w":
            await bench.press("k", place, "d")
        await bench.press("k", place, key)
        assert last(bench) == ("unit", None, {"unit": "steamer 1", "is": what})
        assert day(bench).units["steamer 1"].is_down == (what == "down")
        await bench.press("k", str(names.index("microwave 1") + 1))
        assert "emptied" not in bench.screen

    drive(tmp_path, script)


def test_a_tank_that_is_filled_starts_its_minutes_again(tmp_path: Path) -> None:
    """Of 70 min less a twentieth, 66.5; filled after 30 of them there are 66.5 again."""

    async def script(bench: Bench) -> None:
        await bench.press(*IN_STEAM)
        await bench.on(30)
        (tank,) = tank_timers(day(bench), bench.clock())
        assert tank.left_s == pytest.approx(36.5 * 60)
        await bench.press("k", str(bench.session.plan.unit_names.index("steamer 1") + 1), "f")
        (tank,) = tank_timers(day(bench), bench.clock())
        assert tank.left_s == pytest.approx(66.5 * 60)

    drive(tmp_path, script)


def test_a_unit_that_breaks_down_asks_for_its_yarn_to_be_moved_and_is_not_offered(tmp_path: Path) -> None:
    """The next line names what is in it and where there is room; the forecast heats nothing more there."""

    async def script(bench: Bench) -> None:
        await bench.press(*IN_STEAM)
        await bench.press("k", str(bench.session.plan.unit_names.index("steamer 1") + 1), "d")
        assert "04 is in it" in bench.screen
        line = bench.advised[0]
        assert "! 04  MOVE OUT OF STEAMER 1 TO STEAMER 2" in line
        assert "steamer 1 is down" in line
        await bench.press("v")
        assert "move out" not in bench.screen  # drawn in half blocks
        assert bench.app.bench.view_cache.items[0].do.startswith("move out of steamer 1")
        await bench.press("v", "0", "2", "m", "3")
        later = [s for s in foreseen(bench).steps if s.unit == "steamer 1" and s.start > bench.clock().utc]
        assert not [step for step in later if step.id.text.startswith("load")]

    drive(tmp_path, script)


def test_yarn_in_a_steamer_that_died_waits_there_until_another_is_free(tmp_path: Path) -> None:
    """While the other one is full, Enter records nothing; as soon as it is empty the move is the first line."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "2", "space", "enter", "0", "2", "m", "2", "space", "enter")
        await bench.on(30)
        await bench.press("k", str(bench.session.plan.unit_names.index("steamer 2") + 1), "d")
        assert "out of steamer 2" not in "".join(bench.advised).lower()
        assert "02  wait for steamer 1, from 09:50" in bench.advised[1]
        recorded = len(bench.kinds)
        await bench.press("0", "2", "space")
        assert "02 Heather (unfixed): wait for a steamer" in bench.screen
        await bench.press("enter")
        assert "nothing recorded: no steamer has room for 02" in bench.screen
        assert len(bench.kinds) == recorded
        await bench.on(20)
        await bench.press("0", "1", "space", "enter")
        assert "02  MOVE OUT OF STEAMER 2 TO STEAMER 1" in bench.advised[0]
        await bench.press("enter", "enter")
        assert last(bench)[2] == {"pass": 1, "run": "start", "unit": "steamer 1"}

    drive(tmp_path, script, text=PLAN)


def test_what_a_ph_reading_says_to_add_is_what_the_acid_key_offers(tmp_path: Path) -> None:
    """Half of it, with the whole as the most, for any batch of that tray; not once acid went in, nor at a low pH."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "space", "1", "a", *"20", "enter", "enter")
        await bench.press("0", "5", "space", "1", "a", *"20", "enter", "enter")
        await bench.on(10)
        await bench.press("0", "1", "r", "p", *"6", "full_stop", "5", "enter")
        said = re.search(
            r"add (\d+) mL of vinegar, wait 5 min, read again; (\d+) mL at most", " ".join(bench.screen.split())
        )
        assert said is not None
        half, whole = said.groups()
        await bench.on(1)
        for no in ("01", "05"):
            await bench.press(*no, "i")
            assert f"by its pH add {half}, at most {whole}; read again in 5 min" in " ".join(bench.screen.split())
            await bench.press("escape")
        await bench.press("i", "enter")
        assert last(bench) == ("acid put in", "05", {"unit": "tray 1", "acid_ml": float(half)})
        await bench.on(1)
        await bench.press("i")
        assert "by its pH" not in bench.screen
        await bench.press("escape", "r", "p", "6", "enter", "i", *"35", "enter")
        assert last(bench)[2]["acid_ml"] == 35
        await bench.on(1)
        await bench.press("r", "p", "4", "full_stop", "5", "enter", "i")
        assert "by its pH" not in bench.screen
        assert "the recipe needs" not in bench.screen

    drive(tmp_path, script, text=f"{PLAN}\n{WATER}")


def test_opened_wrapped_and_lidded_change_how_long_painted_yarn_may_wait(tmp_path: Path) -> None:
    """w: an hour open, four lidded, a day wrapped."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "2", "m", "3")
        for key, minutes in (("o", 60), ("l", 240), ("w", 1440)):
            await bench.press("w", key)
            waits = [c for c in _timers(bench, "04") if c.kind == TimerKind.WAIT]
            assert waits[0].left_s == pytest.approx(minutes * 60)
        await bench.press("w", "o")
        await bench.on(66)
        assert "04 is painted and drying out" in bench.screen
        assert FlagId.DRIED_OUT in rules(bench, "04")

    drive(tmp_path, script)


def _timers(bench: Bench, no: str) -> list[Any]:
    from dyeday.track.timers.timers import timers_of

    return list(timers_of(day(bench), batch(bench, no), bench.clock()))


OUTCOMES: tuple[tuple[tuple[str, ...], str, dict[str, Any]], ...] = (
    (("m", "7", "s"), "done", {"to": "done", "outcome": "second"}),
    (("m", "7", "o"), "done", {"to": "done", "outcome": "one-off"}),
    (("m", "7", "enter"), "done", {"to": "done", "outcome": "first"}),
    (("m", "9", *"felted", "enter"), "scrapped", {"to": "scrapped", "why": "felted"}),
    (("m", "8"), "set-aside", {"to": "set-aside"}),
    (("m", "3"), "fix", {"to": "fix"}),
)


@pytest.mark.parametrize(("keys", "state", "data"), OUTCOMES)
def test_where_a_batch_ends_or_goes_back_to_is_a_few_keys(
    tmp_path: Path, keys: tuple[str, ...], state: str, data: dict[str, Any]
) -> None:
    """Sold as second or one-off, scrapped with a reason, set aside, sent back to fix; the forecast follows."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "4")
        before = {step.batch for step in foreseen(bench).steps}
        assert "04" in before
        await bench.press(*keys)
        assert last(bench) == ("moved", "04", data)
        assert batch(bench, "04").state == State(state)
        over = state in ("done", "scrapped")
        assert ("04" in {step.batch for step in foreseen(bench).steps}) == (not over and state != "set-aside")
        assert (timer_of(day(bench), batch(bench, "04"), bench.clock()) is None) == over
        words = {
            "done": str(data.get("outcome")).replace("first", "done"),
            "set-aside": "set aside",
            "fix": "painted",
        }
        assert words.get(state, state) in bench.row("04")

    drive(tmp_path, script)


def test_sent_back_to_fix_the_whole_heat_is_asked_for_again(tmp_path: Path) -> None:
    """After a bath that kept its colour: m 3, and its steam is offered again."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "3", "space", "enter")
        await bench.on(51)
        await bench.press("space", "enter")
        assert batch(bench, "04").state == State.COOL
        await bench.on(61)
        await bench.press("r", "e", "o", "m", "3")
        assert FlagId.UNDER_EXHAUSTED in rules(bench, "04")
        assert batch(bench, "04").state == State.FIX
        run_before = len(batch(bench, "04").heats)
        other = bench.second_shell()
        again: dict[str, Any] = {"pass": 1, "run": "start", "unit": "steamer 2"}
        other.add([make("pass", bench.clock(), lambda: "again", batch="04", **again)])
        await bench.on(0)
        assert len(batch(bench, "04").heats) == run_before + 1
        assert left_min(bench, "04") == pytest.approx(50)

    drive(tmp_path, script)


def test_a_tag_that_was_lost_and_skeins_counted_again_are_on_the_row(tmp_path: Path) -> None:
    """e t and e c: the tie is gone, one skein more was found; stock and weight follow the count."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "2", "e", "t")
        await bench.type("two knots")
        await bench.press("enter")
        assert batch(bench, "02").tag == "two knots"
        await bench.press("e", "t", *["backspace"] * len("two knots"), "minus", "enter")
        assert batch(bench, "02").tag == ""
        before = batch(bench, "02").wof_g
        await bench.press("e", "c", "backspace", "4", "enter")
        assert last(bench) == ("counted", "02", {"skeins": 4})
        assert batch(bench, "02").wof_g == pytest.approx(before / 3 * 4)
        assert "Plain Sock 4 " in bench.row("02")

    drive(tmp_path, script)


def test_a_part_goes_into_another_unit_and_both_parts_go_on(tmp_path: Path) -> None:
    """e s, then u for the part; the soak's minutes are the whole's, and nothing is over-full."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "2", "space", "enter")
        await bench.on(5)
        await bench.press("e", "s")
        await bench.type("2 1")
        await bench.press("enter", "enter", "enter", "0", "2", "down", "u", "3")
        assert last(bench)[0] == "placed"
        parts = [batch(bench, no) for no in ("02a", "02b")]
        assert sorted(str(part.unit) for part in parts) == ["tray 1", "tray 3"]
        assert [left_min(bench, part.no) for part in parts] == [pytest.approx(15)] * 2
        assert {"02a", "02b"} <= {step.batch for step in foreseen(bench).steps}
        assert FlagId.OVER_FULL not in rules(bench, "02a")

    drive(tmp_path, script)


def test_an_overdyed_batch_begins_the_other_colourways_recipe(tmp_path: Path) -> None:
    """e o: a new name, its first layer again, and the forecast has it to soak or paint."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "4", "e", "o", "1")
        assert last(bench)[0] == "overdyed"
        assert batch(bench, "01").layer == 1
        assert batch(bench, "01").overdyed_from

    drive(tmp_path, script)


def test_a_rush_order_is_foreseen_as_soon_as_it_is_in(tmp_path: Path) -> None:
    """o: its batch has steps of its own."""

    async def script(bench: Bench) -> None:
        await bench.press("o", "2", "1", "2", "enter")
        await bench.settle()
        await bench.press("enter")
        assert last(bench)[0] == "added"
        assert "06" in {step.batch for step in foreseen(bench).steps}

    drive(tmp_path, script)


def test_heat_that_ended_is_shown_since_its_end(tmp_path: Path) -> None:
    """Not since the batch came to fix an hour before."""

    async def script(bench: Bench) -> None:
        await bench.press(*IN_STEAM)
        await bench.on(31)
        await bench.press("space", "enter")
        await bench.on(3)
        assert "for 3 min" in bench.row("04")

    drive(tmp_path, script)


def test_a_unit_recorded_wrongly_is_corrected_from_a_list(tmp_path: Path) -> None:
    """l, c, v, the unit's key, the reason: no name is typed."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "1", "u", "1", "l", "c", "v")
        assert "Right unit" in bench.screen
        await bench.press("2", "1", "escape")
        assert batch(bench, "01").unit == "tray 2"
        assert bench.session.events[-1].body.to_json()["unit"] == "tray 2"

    drive(tmp_path, script)


def test_return_asks_for_the_ph_that_the_first_line_says_to_read_again(tmp_path: Path) -> None:
    """Five minutes after the acid for pH 6.5; read good, the line is gone."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "space", "1", "a", *"20", "enter", "enter")
        await bench.on(10)
        await bench.press("0", "1", "r", "p", *"6", "full_stop", "5", "enter")
        await bench.on(1)
        await bench.press("i", "enter")
        await bench.on(5)
        assert "01  read its pH again" in bench.advised[0]
        await bench.press("enter", *"4", "full_stop", "6", "enter")
        assert last(bench) == ("reading", "01", {"reading": "ph", "value": 4.6})
        assert not any("read its pH again" in line for line in bench.advised)

    drive(tmp_path, script)


def test_a_corrected_value_is_the_one_on_the_row_and_both_are_in_the_history(tmp_path: Path) -> None:
    """The row has the last action as it really was; the history says what it was recorded as."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "r", "p")
        await bench.type("5.9")
        await bench.press("enter", "l", "c", "v")
        await bench.type("4.9")
        await bench.press("enter", "1", "escape")
        assert "01: 09:00 pH 4.9" in bench.screen
        await bench.press("f")
        assert "pH 4.9 (corrected, was pH 5.9)" in bench.screen

    drive(tmp_path, script)


def test_an_entry_corrected_to_another_batch_is_in_the_history_of_both(tmp_path: Path) -> None:
    """The other batch has it as its own; the first says whose it is."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "1", "l", "c", "b")
        await bench.type("02")
        await bench.press("enter", "1", "escape", "0", "2", "f")
        assert "to soak (corrected, was of 01)" in " ".join(bench.screen.split())
        await bench.press("escape", "0", "1", "f")
        assert "to soak (corrected, is of 02)" in " ".join(bench.screen.split())

    drive(tmp_path, script)


def _three_times_over(bench: Bench) -> list[Any]:
    """Heat of 04 forgotten three times over a full tank: each time an alarm, each over by now."""
    events, ids = [], iter(range(100))
    clock = bench.clock
    for _time in range(3):
        for run, minutes in (("start", 56), ("end", 0.1)):
            data: dict[str, Any] = {"pass": 1, "run": run, "unit": "steamer 1"}
            if run == "end":
                del data["unit"]
            events.append(make("pass", clock(), lambda: f"chatter{next(ids)}", batch="04", **data))
            clock.on(minutes)
        filled: dict[str, Any] = {"unit": "steamer 1", "is": "filled"}
        events.append(make("unit", clock(), lambda: f"chatter{next(ids)}", **filled))
    return events


def test_an_alarm_that_comes_and_goes_is_one_line_and_silenced_as_one(tmp_path: Path) -> None:
    """Three times the same heat: one banner, one key, three entries."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "2", "m", "3")
        bench.second_shell().add(_three_times_over(bench))
        await bench.on(0)
        shown = bench.app.bench.shown
        assert shown is not None
        heat = [line for line in shown.alarms if "04 steam 40" in line.text]
        assert len(heat) == 1
        assert len(heat[0].ids) == 3
        assert "3 times" in heat[0].text
        others = len(shown.alarms) - 1
        await bench.press("a", *(["enter"] if others else []))
        acted = [event for event in bench.session.events if event.body.NAME == "alarm"]
        assert {event.body.to_json()["is"] for event in acted} == {"acknowledged"}
        assert len(bench.app.bench.shown.alarms) == others if bench.app.bench.shown else False

    drive(tmp_path, script)


def test_a_silenced_alarm_can_be_snoozed(tmp_path: Path) -> None:
    """Known, but in the way: it is counted as snoozed and comes back silenced."""

    async def script(bench: Bench) -> None:
        await bench.press(*IN_STEAM)
        await bench.on(40)
        await bench.press("k", str(bench.session.plan.unit_names.index("steamer 1") + 1), "f")
        await bench.on(21)  # its minutes at heat paused for five
        await bench.press("a", "s", "1")
        assert "1 snoozed" in bench.screen
        await bench.on(6)
        assert "1 snoozed" not in bench.screen
        assert "1 alarm" in bench.screen
        assert "[a]" not in bench.screen.split("\n")[1]

    drive(tmp_path, script)


def test_of_more_units_than_there_are_keys_one_is_named_by_its_beginning(tmp_path: Path) -> None:
    """Forty trays: u asks how the unit begins; none of them is out of reach."""

    async def script(bench: Bench) -> None:
        await bench.press("u")
        assert "its beginning" in bench.screen
        await bench.type("tray 40")
        await bench.press("enter")
        assert last(bench) == ("placed", "01", {"unit": "tray 40"})

    drive(tmp_path, script, text=plan_text(40, FakeClock().utc))


def test_of_more_than_nine_units_the_offered_one_and_the_empty_ones_have_the_digits(tmp_path: Path) -> None:
    """Nine of forty trays are down: the tenth is offered, and 1 and 2 are trays with room."""

    async def script(bench: Bench) -> None:
        for n in range(1, 10):
            down: dict[str, Any] = {"unit": f"tray {n}", "is": "down"}
            bench.second_shell().add([make("unit", bench.clock(), lambda n=n: f"down-{n}", **down)])  # type: ignore[misc]
        await bench.on(0)
        await bench.press("space")
        assert "1 tray 10   2 tray 11" in bench.screen
        await bench.press("2", "enter")
        assert batch(bench, "01").unit == "tray 11"

    drive(tmp_path, script, text=plan_text(40, FakeClock().utc))


@pytest.mark.parametrize("character", ["²", "٣", "①"])
def test_a_sign_that_is_a_digit_of_another_kind_chooses_nothing(tmp_path: Path, character: str) -> None:
    """Unicode calls them digits; a keyboard gives some of them beside its own."""

    async def script(bench: Bench) -> None:
        await bench.press("m", "2", "space", character)
        assert bench.app.is_running
        await bench.press("escape", "f", character)
        assert bench.kinds == ["moved"]

    drive(tmp_path, script)


def test_what_cannot_be_split_says_so_and_the_example_that_is_shown_adds_up(tmp_path: Path) -> None:
    """One piece is whole; of three, 1 and 2 are parts."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "2", "e", "s")
        await bench.type("4")
        assert "02 has 3 skeins; write parts that add up to it, such as 1 2" in bench.screen
        await bench.press("escape", "e", "c", "backspace", "1", "enter", "e", "s")
        await bench.type("1")
        assert "it cannot be split" in bench.screen

    drive(tmp_path, script)


def test_the_cover_of_the_recipe_is_not_said_to_be_on_before_it_is_recorded(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "w")
        assert "How does 04 wait, no cover on record" in bench.screen
        await bench.press("escape", "0", "4", "m", "2")
        await bench.on(20)
        await bench.press("0", "4", "w")
        assert "How does 04 wait, wrapped in its recipe" in bench.screen
        await bench.press("w", "0", "4", "w")
        assert "How does 04 wait, now wrapped" in bench.screen

    drive(tmp_path, script)


def test_acid_is_asked_for_the_yarn_and_never_for_the_water_of_its_steamer(tmp_path: Path) -> None:
    """Yarn hangs above a steamer's water and lies in a tray's."""

    async def script(bench: Bench) -> None:
        await bench.press(*IN_STEAM, "i")
        assert "went in for 04" in bench.screen
        await bench.press("escape", "0", "1", "space", "enter", "0", "1", "i")
        assert "went into tray 1" in bench.screen

    drive(tmp_path, script)
