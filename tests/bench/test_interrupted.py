"""An interrupted, wet, watched-by-a-toddler day: key lock, absence, sleep, drafts, corrections; all by keys."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from textual import events as textual_events

from dyeday.bench.input.bench_keys import KEYS, WORD, Do
from dyeday.bench.looks.sounds import Sounds
from dyeday.bench.widgets.board import Board
from dyeday.files.places import SoundPrograms
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.store.sessions import Sessions
from dyeday.terms import State
from dyeday.track.folding.fold import begin, effective, fold
from tests.bench.driving import Bench, drive
from tests.fakes import HEAVY_DAY, FakeClock, Ring, begun, zoned
from tests.typed_events import make


def test_the_key_lock_makes_every_key_deaf_until_its_word_is_typed(tmp_path: Path) -> None:
    """Commands, ctrl+q, the palette, paste and escape do nothing; what was swallowed is on record."""

    async def script(bench: Bench) -> None:
        await bench.press("g")
        assert f"type  {WORD}  and press Enter" in bench.screen
        await bench.press("m", "1", "ctrl+q", "ctrl+p", "escape", "z", "enter")
        bench.app.post_message(textual_events.Paste("m1\nq\ny\n"))
        await bench.settle()
        assert bench.kinds == ["guard on"]
        assert bench.app.is_running
        assert len(bench.app.screen_stack) == 2
        await bench.press(*WORD, "enter")
        assert bench.kinds == ["guard on", "guard off"]
        assert bench.session.events[-1].body.to_json()["swallowed"] == 7
        await bench.press("m", "1")
        assert bench.kinds[-1] == "moved"

    drive(tmp_path, script)


def test_after_a_long_key_lock_what_happened_behind_it_is_shown(tmp_path: Path) -> None:
    """Two minutes or more: the alarm and another shell's entry stand there once the word is typed."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "3", "space", "enter", "g")
        bench.clock.on(1)
        bench.second_shell().add([make("moved", bench.clock(), lambda: "another", batch="03", to="soak")])
        await bench.on(56, away=True)
        await bench.press(*WORD, "enter")
        assert "While the keys were locked" in bench.screen
        assert "! 04 steam 40 min is up" in bench.screen
        assert "another terminal: 03 to soak" in bench.screen
        await bench.press("escape", "g", *WORD, "enter")
        assert "While the keys were locked" not in bench.screen

    drive(tmp_path, script)


def test_a_computer_that_slept_behind_the_key_lock_is_opened_by_its_word_like_any_other(tmp_path: Path) -> None:
    """What happened meanwhile stands there after the word, and the keys after that act on the bench."""

    async def script(bench: Bench) -> None:
        await bench.press("m", "1", "g")
        bench.clock.on(180)
        bench.app.tick()
        await bench.settle()
        assert WORD in bench.screen
        await bench.press(*WORD, "enter")
        assert "While the keys were locked" in bench.screen
        assert "01 soaked: paint" in bench.screen
        await bench.press("escape")
        assert bench.app.screen is bench.app.bench
        await bench.press("m", "2")
        assert bench.kinds == ["moved", "guard on", "guard off", "moved"]

    drive(tmp_path, script)


def test_alarms_show_and_sound_behind_the_key_lock(tmp_path: Path) -> None:
    """The banner above stays, the bell goes on."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "3", "space", "enter", "g")
        rung = bench.ring.times
        await bench.on(56)
        assert bench.ring.times > rung
        assert "! 04 steam 40 min is up" in bench.screen
        assert WORD in bench.screen

    drive(tmp_path, script)


def test_the_first_key_after_two_minutes_away_only_shows_what_happened_and_the_next_one_acts(tmp_path: Path) -> None:
    """What came due and what another shell recorded stands there; the alarm is not swallowed."""

    async def script(bench: Bench) -> None:
        await bench.press("m", "1", "0", "4", "m", "3", "space", "enter")
        before = len(bench.session.events)
        bench.second_shell().add([make("moved", bench.clock(), lambda: "another", batch="03", to="soak")])
        await bench.on(57, away=True)
        await bench.press("z")
        assert "Since you left" in bench.screen
        assert "! 04 steam 40 min is up" in bench.screen
        assert "01 soaked: paint" in bench.screen
        assert "another terminal: 03 to soak" in bench.screen
        await bench.press("a")
        assert "Since you left" not in bench.screen
        assert "that key only closed the page: press it again" in bench.screen
        assert len(bench.session.events) == before + 1
        await bench.press("a")
        assert bench.session.events[-1].body.to_json()["is"] == "acknowledged"
        assert len(bench.session.events) == before + 2
        bench.clock.on(1)
        bench.second_shell().add([make("moved", bench.clock(), lambda: "third", batch="05", to="soak")])
        await bench.on(3, away=True)
        await bench.press("z")
        assert "Since you left" in bench.screen
        await bench.press("escape")
        assert len(bench.session.events) == before + 3
        await bench.press("z")
        assert "Undo:" in bench.screen

    drive(tmp_path, script)


@pytest.mark.parametrize("away", [57, 30])
def test_a_number_typed_after_two_minutes_away_is_typed_whole(tmp_path: Path, away: int) -> None:
    """Whether its first digit opens the page of what happened and its second closes that, or nothing happened."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "3", *(("m", "1") if away > 30 else ()))
        before = len(bench.session.events)
        await bench.on(away, away=True)
        await bench.press("0")
        assert ("any key closes this" in bench.screen) is (away > 30)
        await bench.press("4")
        assert "batch 04 chosen" in bench.screen
        assert bench.app.bench.chosen == "04"
        assert len(bench.session.events) == before

    drive(tmp_path, script)


def test_where_nothing_happened_the_first_key_wakes_all_the_same(tmp_path: Path) -> None:
    """After two minutes a sleeve or a child may have pressed it; one key more is cheap."""

    async def script(bench: Bench) -> None:
        await bench.on(30, away=True)
        await bench.press("m")
        assert "only woke the bench" in bench.screen
        await bench.press("1")
        assert bench.kinds == []
        await bench.press("m", "1")
        assert bench.kinds == ["moved"]

    drive(tmp_path, script)


def test_three_hours_asleep_with_five_timers_due_is_one_list_and_one_sound(tmp_path: Path) -> None:
    """The boot clock counts sleep: what came due is shown at once, longest due first."""

    async def script(bench: Bench) -> None:
        for number in ("01", "02", "03", "04", "05"):
            await bench.press(*number, "m", "1")
            await bench.on(1)
        rung = bench.ring.times
        bench.clock.on(180)
        bench.app.tick()
        await bench.settle()
        assert bench.ring.times == rung + 1
        assert "Asleep for 3 h" in bench.screen
        assert bench.screen.count("soaked:") == 5
        assert bench.screen.index("01 soaked") < bench.screen.index("05 soaked")

    drive(tmp_path, script)


def test_the_page_of_what_happened_goes_on_with_the_clock_and_begins_with_heat_that_is_over(tmp_path: Path) -> None:
    """Also heat whose time had come before the dyer left; once a second shell records its end, it is gone."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "3", "space", "enter")
        await bench.on(32)
        await bench.press("0", "1", "m", "1")
        await bench.on(19)
        await bench.press("2")
        await bench.on(2.5, away=True)
        await bench.press("z")
        assert "* 04 steam steamer 1 off, 3 min ago" in bench.screen
        assert "* 01 soaked: paint, 1 min ago" in bench.screen
        await bench.on(1)
        assert "4 min ago" in bench.screen
        assert "2 min ago" in bench.screen
        ended: dict[str, Any] = {"pass": 1, "run": "end"}
        bench.second_shell().add([make("pass", bench.clock(), lambda: "other", batch="04", **ended)])
        await bench.on(1)
        assert "steamer 1 off" not in bench.screen
        assert "another terminal: 04" in bench.screen

    drive(tmp_path, script)


def test_two_sleeps_with_no_key_between_are_one_list_that_one_key_closes(tmp_path: Path) -> None:
    """Opened and shut again: no page lies under another to swallow the key that closes it."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "1")
        await bench.on(15)
        await bench.press("0", "2", "m", "1")
        for minutes in (10, 20):
            bench.clock.on(minutes)
            bench.app.tick()
            await bench.settle()
        assert "Asleep for 10 min, then asleep for 20 min (any key closes this)" in bench.screen
        assert bench.screen.count("01 soaked") == bench.screen.count("02 soaked") == 1
        assert bench.screen.index("01 soaked") < bench.screen.index("02 soaked")
        await bench.press("z")
        assert bench.app.screen is bench.app.bench
        await bench.press("z")
        assert "Undo: 02" in bench.screen

    drive(tmp_path, script)


@pytest.mark.parametrize("hours", [2.0, -2.0])
def test_a_clock_that_is_set_moves_no_timer_and_is_on_record(tmp_path: Path, hours: float) -> None:
    """Remaining time is by true time; the step stands in the log; what follows stays in order."""

    async def script(bench: Bench) -> None:
        await bench.press("m", "1")
        await bench.on(5)
        bench.clock.step(hours)
        bench.app.tick()
        await bench.settle()
        assert "15 min left" in bench.row("01")
        assert bench.session.events[-1].body.NAME == "clock stepped"
        assert bench.session.events[-1].body.to_json()["seconds"] == hours * 3600
        await bench.press("m", "2")
        await bench.press("f")
        assert "soaked 5 of 20 min" in bench.screen
        assert [e.body.NAME for e in effective(bench.session.events)[0]] == ["moved", "clock stepped", "moved"]

    drive(tmp_path, script)


def test_a_half_typed_reading_survives_being_called_away_and_a_restart(tmp_path: Path) -> None:
    """Escape, or the plug: the same question comes back with what was typed, and says so."""
    clock = FakeClock()
    session = begun(tmp_path, clock)

    async def typed(bench: Bench) -> None:
        await bench.press("r", "p")
        await bench.type("4.")
        await bench.press("escape")

    async def again(bench: Bench) -> None:
        await bench.press("r", "p")
        assert "half typed before" in bench.screen
        await bench.type("7")
        await bench.press("enter")
        assert bench.session.events[-1].body.to_json()["value"] == 4.7
        await bench.press("r", "p")
        assert "half typed" not in bench.screen

    drive(tmp_path, typed, session=session, clock=clock)
    drive(tmp_path, again, session=Sessions(tmp_path).open(session.about.id), clock=clock)


def test_an_entry_is_corrected_with_a_reason_and_both_stay_readable(tmp_path: Path) -> None:
    """l, the entry, c, the value, the reason; the page marks it."""

    async def script(bench: Bench) -> None:
        await bench.press("r", "p")
        await bench.type("5.9")
        await bench.press("enter", "l", "c", "v")
        await bench.type("4.9")
        await bench.press("enter", "1")
        assert "01 pH 5.9  (corrected)" in bench.screen
        assert "corrected 01 pH 5.9: pH 4.9 (misread)" in bench.screen
        await bench.press("escape", "p", "enter")
        assert "pH 4.9 09:00*" in bench.screen
        assert bench.kinds == ["reading", "corrected"]

    drive(tmp_path, script, size=(100, 60))


def test_a_correction_that_is_refused_says_so_in_the_log_and_does_not_backdate_the_next_entry(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "1")
        await bench.on(20)
        await bench.press("l", "c", "t")
        await bench.type("09:00")
        await bench.press("enter", "enter")
        assert "Every entry of the day" in bench.screen
        assert "the correction changes nothing; give another time" in bench.screen
        await bench.press("escape", "n")
        await bench.type("hello")
        await bench.press("enter")
        assert bench.session.events[-1].moment == bench.clock()

    drive(tmp_path, script)


def test_any_entry_is_undone_and_redone_from_the_log(tmp_path: Path) -> None:
    """Not only the last."""

    async def script(bench: Bench) -> None:
        await bench.press("m", "1", "0", "2", "m", "1", "l", "up", "z", "enter")
        assert "(void)" in bench.screen
        day = fold(bench.session.plan, bench.session.events)
        assert (day.batches["01"].state, day.batches["02"].state) == (State.WAITING, State.SOAK)
        await bench.press("z", "enter")
        day = fold(bench.session.plan, bench.session.events)
        assert day.batches["01"].state == State.SOAK

    drive(tmp_path, script)


@pytest.mark.parametrize(
    ("keys", "text", "kind", "data"),
    [
        ("t", "blue knot", "tagged", {"tag": "blue knot"}),
        ("t", "-A-", "tagged", {"tag": "-A-"}),
        ("s", "2 1", "split", {"into": {"01a": 2, "01b": 1}}),
        ("u1", "35,5", "used", {"used": {"Lamp Yellow": 35.5}}),
        ("l2", "4", "used", {"left_over": {"Slate Blue": 4}}),
        ("p1", "0.2", "used", {"used": {"powder": {"Lamp Yellow": 0.2}}}),
    ],
)
def test_what_is_wrong_lost_or_used_is_an_event_by_keys(
    tmp_path: Path, keys: str, text: str, kind: str, data: dict[str, Any]
) -> None:
    """e, a letter, the value."""

    async def script(bench: Bench) -> None:
        await bench.press("e", *keys)
        await bench.type(text)
        await bench.press("enter")
        assert kind == bench.session.events[-1].body.NAME
        assert dict(bench.session.events[-1].body.to_json()) == data

    drive(tmp_path, script)


def test_an_order_without_a_due_date_gets_a_batch_at_the_end_and_comes_in_its_turn(tmp_path: Path) -> None:
    """o, colourway, base, count, then Enter for what is offered."""

    async def script(bench: Bench) -> None:
        await bench.press("o", "2", "3")
        await bench.type("3")
        await bench.press("enter")
        assert "3 Tin Roof Rain for new 1, no due date, in its turn: " in bench.screen
        await bench.press("enter")
        order = bench.app.live.day.plan.orders[-1]
        assert (order.item, order.priority) == ("new 1", 5)
        assert "Tin Roof Rain" in bench.row("06")
        assert "waiting" in bench.row("06")
        assert "batch 06 Tin Roof Rain, at the foot of the list" in bench.screen
        assert bench.app.bench.chosen == "06"
        other = bench.second_shell()
        sold: dict[str, Any] = {"item": "shop", "colourway": "Kelp Light", "base": "Sock", "skeins": 2}
        base = bench.session.plan.bases[0].name
        other.add([make("added", bench.clock(), lambda: "another", order={**sold, "base": base})])
        await bench.on(0)
        assert "an order came in: batch 07 Kelp Light, at the foot of the list" in bench.screen

    drive(tmp_path, script)


def test_a_dyed_skein_that_is_lost_can_be_dyed_again_for_its_order(tmp_path: Path) -> None:
    """Counted with one less: the short order is named, y makes a new batch of one for it, n none."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "1", "m", "2", "e", "c")
        before = bench.app.live.day.batches["01"].skeins
        await bench.press(*["backspace"] * 2)
        await bench.type(str(before - 1))
        await bench.press("enter")
        assert "Dye 1 Kelp Light again for" in bench.screen
        await bench.press("y")
        day = bench.app.live.day
        assert day.batches["06"].colourway.name == "Kelp Light"
        assert day.batches["06"].skeins == 1
        item = day.batches["06"].shares[0][0]
        assert item == day.batches["01"].shares[-1][0]
        at_first, now = (
            [order.skeins for order in plan.orders if order.item == item] for plan in (bench.session.plan, day.plan)
        )
        assert sum(now) == sum(at_first)

    drive(tmp_path, script)


def test_the_question_whether_a_lost_skein_is_dyed_again_can_be_left_and_comes_again(tmp_path: Path) -> None:
    """The count is saved and said; counting once more asks again, as long as the order lacks the skein."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "1", "m", "2", "e", "c")
        left = bench.app.live.day.batches["01"].skeins - 1
        for key in ("escape", "y"):
            await bench.press(*["backspace"] * 2)
            await bench.type(str(left))
            await bench.press("enter")
            assert "Dye 1 Kelp Light again for" in bench.screen
            await bench.press(key)
            assert "nothing saved" not in bench.screen
            await bench.press("0", "1", "e", "c")
        await bench.press("enter")
        assert "again for" not in bench.screen
        assert len(bench.app.live.day.batches) == len(bench.session.plan.batches) + 1

    drive(tmp_path, script)


def test_a_skein_lost_from_an_overdyed_batch_can_be_dyed_again_for_the_order_it_was_begun_for(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "1", "m", "2", "e", "o", "1", "e", "c", *["backspace"] * 2)
        await bench.type(str(bench.app.live.day.batches["01"].skeins - 1))
        await bench.press("enter")
        assert "Dye 1 Kelp Light again for" in bench.screen

    drive(tmp_path, script)


def test_an_order_with_a_due_date_says_for_whom_by_when_and_goes_first(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("o", "2", "3", "2", "enter", "w")
        await bench.type("Mon")
        await bench.press("enter", "d")
        assert "Due (" in bench.screen
        await bench.type("+2")
        assert "understood: due" in bench.screen
        await bench.press("enter", "y")
        plan = bench.app.live.day.plan
        order = plan.orders[-1]
        assert (order.item, order.skeins, order.priority) == ("Mon", 2, 1)
        assert order.due is not None
        assert (order.due - plan.session.date).days == 2

    drive(tmp_path, script)


def test_a_rush_order_like_the_chosen_batch_takes_six_keys(tmp_path: Path) -> None:
    """Enter for its colourway, and for the base on which that was last ordered."""

    async def script(bench: Bench) -> None:
        plan = bench.app.live.day.plan
        like = bench.app.live.day.batches["03"]
        await bench.press("0", "3", "o")
        assert f"Enter: {like.colourway.name}" in bench.screen
        await bench.press("enter")
        assert f"Enter: {like.base.name}" in bench.screen
        await bench.press("enter", "2", "enter", "enter")
        order = bench.app.live.day.plan.orders[-1]
        assert (order.colourway, order.base, order.skeins) == (like.colourway.name, like.base.name, 2)
        assert order.item not in {before.item for before in plan.orders}

    drive(tmp_path, script)


def test_overdyed_the_batch_goes_on_under_another_name(tmp_path: Path) -> None:
    """Its history stays."""

    async def script(bench: Bench) -> None:
        await bench.press("m", "1", "e", "o", "2")
        assert "Tin Roof Rain" in bench.row("01")
        assert "soak" in bench.row("01")

    drive(tmp_path, script)


def test_the_next_entry_can_be_at_a_time_of_day(tmp_path: Path) -> None:
    """b takes 08:40 as well as minutes."""

    async def script(bench: Bench) -> None:
        await bench.press("b")
        await bench.type("08:40")
        await bench.press("enter", "m", "1")
        event = bench.session.events[0]
        assert (event.recorded_at - event.at).total_seconds() == 20 * 60

    drive(tmp_path, script, text=zoned("UTC"))


def test_the_offer_behind_an_earlier_time_counts_from_it(tmp_path: Path) -> None:
    """35 min ago 01 was not in tray 1 yet and the steam had just begun; the question says when that was."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "3", "space", "enter")
        await bench.on(15)
        await bench.press("h")
        await bench.on(15)
        await bench.press("0", "1", "space", "1", "enter")
        await bench.on(20)
        await bench.press("0", "2", "space")
        assert "1 tray 1 (01" in bench.screen
        await bench.press("escape", "b")
        await bench.type("35")
        await bench.press("enter", "space")
        assert "35 min ago" in bench.screen
        assert "1 tray 1 (01 later, full)" in bench.screen
        await bench.press("escape", "0", "4", "space")
        assert "0 of 40 min of steam so far" in bench.screen
        await bench.press("enter")
        assert bench.session.events[-1].at == bench.clock().utc - timedelta(minutes=35)

    drive(tmp_path, script, size=(100, 40))


def test_a_snoozed_alarm_is_counted_and_comes_back_by_itself(tmp_path: Path) -> None:
    """Ten minutes are ten minutes; the number snoozed stands on top meanwhile."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "3", "space", "enter")
        await bench.on(56)
        await bench.press("s", "2")
        assert "1 snoozed" in bench.screen
        assert "04 steam" not in bench.screen.split("\n")[2]
        await bench.on(9)
        assert "1 snoozed" in bench.screen
        rung = bench.ring.times
        await bench.on(1.1)
        assert "04 steam" in bench.screen.split("\n")[2]
        assert bench.ring.times > rung

    drive(tmp_path, script)


def test_the_bright_look_says_the_same_words(tmp_path: Path) -> None:
    """t changes colours and nothing else."""

    async def script(bench: Bench) -> None:
        await bench.press("m", "1")
        dark = bench.screen
        await bench.press("t")
        assert bench.screen == dark
        assert bench.app.look.name == "bright"
        await bench.settle()
        await bench.press("t")
        await bench.settle()
        assert bench.app.look.name == "dark"

    drive(tmp_path, script)


def test_all_states_stay_apart_by_their_words(tmp_path: Path) -> None:
    """With every colour stripped, as on a monochrome screen or with NO_COLOR, no two states read the same."""

    async def script(bench: Bench) -> None:
        words = set()
        for key in "123456789":
            await bench.press(*"04", "m", key)
            if key == "7":
                await bench.press("f")
            if key == "9":
                await bench.type("lost")
                await bench.press("enter")
            words.add(bench.row("04")[28:46].strip())
        assert len(words) == 9

    drive(tmp_path, script)


def test_the_palette_has_every_action_by_its_plain_name(tmp_path: Path) -> None:
    """ctrl+p, some letters of it, Enter; Esc cancels."""

    async def script(bench: Bench) -> None:
        await bench.press("ctrl+p")
        for key in KEYS:
            assert not key.in_palette or key.sentence[:40] in bench.screen
            await bench.press("down")
        await bench.press(*"far")
        assert "▶    v  far view" in bench.screen
        await bench.press("enter")
        assert "[v] back" in bench.screen
        await bench.press("v", "ctrl+p")
        await bench.type("supper")
        assert "no matching action" in bench.screen
        await bench.press("enter", "escape")
        assert "cancelled, nothing saved" in bench.screen
        actions = {key.action for key in KEYS if key.in_palette}
        assert {Do.GO_ON, Do.UNDO, Do.HELP, Do.ORDER, Do.CLOSE_DAY, Do.LEAVE} <= actions

    drive(tmp_path, script)


def test_the_help_names_every_key_of_the_screen_and_its_words(tmp_path: Path) -> None:
    """One key, the live keys with a sentence each, the trade's words."""

    async def script(bench: Bench) -> None:
        await bench.press("question_mark")
        for key in KEYS:
            assert key.sentence in bench.screen
        for word in ("ready 14:20", "9 min over", "painted"):
            assert f"{word}  " in bench.screen

    drive(tmp_path, script, size=(80, 90))


def test_a_sound_command_is_run_without_a_shell_and_can_neither_block_nor_crash(tmp_path: Path) -> None:
    """A missing program is said once; a hanging one is left alone, and only one runs at a time."""
    day = begin(read_plan(HEAVY_DAY.read_text(encoding="utf-8")))
    clock, ring = FakeClock(), Ring()
    missing = Sounds(ring, SoundPrograms(("/nowhere/chime", "; touch x")), day, clock(), lambda _seconds, _ring: None)
    missing.sound(clock())
    assert "cannot be run" in missing.failed
    missing.sound(clock())
    assert ring.times == 2
    hanging = Sounds(ring, SoundPrograms(("sleep", "60")), day, clock(), lambda _seconds, _ring: None)
    hanging.sound(clock())
    first = hanging.running
    hanging.sound(clock())
    assert hanging.running is first
    clock.on(1)
    hanging.sound(clock())
    assert hanging.running is not first
    for process in (first, hanging.running):
        assert process is not None
        process.kill()
        process.wait()


def test_an_entrys_time_is_corrected_and_its_clock_follows(tmp_path: Path) -> None:
    """l, c, t, the time: the soak began earlier than was recorded."""

    async def script(bench: Bench) -> None:
        await bench.press("m", "1")
        await bench.on(2)
        await bench.press("l", "c", "t")
        await bench.type("12")
        await bench.press("enter", "enter", "escape")
        assert bench.kinds == ["moved", "corrected"]
        assert "8 min left" in bench.row("01")
        await bench.press("m", "2")
        assert bench.session.events[-1].at == bench.clock().utc

    drive(tmp_path, script)


def test_an_entry_of_another_batch_is_corrected_with_what_depends_on_it_and_undo_takes_all_of_it_back(
    tmp_path: Path,
) -> None:
    """l, the soak, c, b, the batch, return for all of it, the reason: seven keys for three entries."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "space", "enter", "r", "p")
        await bench.type("4.4")
        await bench.press("enter", "n")
        await bench.type("stirred")
        await bench.press("enter", "l", "up", "up", "up", "c", "b", "0", "2")
        assert "understood: 02 " in bench.screen
        await bench.press("enter")
        assert "with the entries that depend on it: done: tie and count; pH 4.4; note: stirred" in " ".join(
            bench.screen.split()
        )
        await bench.press("enter", "2", "escape")
        day = bench.app.live.day
        assert {no: day.batches[no].state for no in ("01", "02")} == {"01": State.WAITING, "02": State.SOAK}
        assert [reading.value for reading in day.batches["02"].readings] == [4.4]
        await bench.press("z", "enter")
        day = bench.app.live.day
        assert {no: day.batches[no].state for no in ("01", "02")} == {"01": State.SOAK, "02": State.WAITING}
        await bench.press("l", "pageup", "c", "b", "1", "enter")
        assert "it is on record for 01 already" in bench.screen

    drive(tmp_path, script, size=(100, 40))


def test_after_a_split_each_part_gets_its_tag_and_the_first_is_chosen(tmp_path: Path) -> None:
    """A key that follows acts on the yarn that was in hand."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "2", "e", "s")
        await bench.type("2 1")
        await bench.press("enter")
        assert "Tag of 02a (Enter: none)" in bench.screen
        await bench.type("red")
        await bench.press("enter")
        assert "Tag of 02b" in bench.screen
        await bench.type("blue")
        await bench.press("enter", "m", "1")
        assert bench.kinds == ["split", "tagged", "tagged", "moved"]
        assert bench.session.events[-1].batch == "02a"
        assert [bench.app.live.day.batches[no].tag for no in ("02a", "02b")] == ["red", "blue"]

    drive(tmp_path, script)


def test_a_tick_that_comes_while_the_bench_is_taken_down_does_no_harm(tmp_path: Path) -> None:
    """Leaving takes the screen apart piece by piece, and the clock does not know of it."""

    async def script(bench: Bench) -> None:
        await bench.app.bench.query(Board).remove()
        await bench.on(1)
        assert bench.app.is_running

    drive(tmp_path, script)


async def asleep(bench: Bench, minutes: float, *, ticks: bool = True) -> None:
    """Let the computer sleep; awake again it has ticked, or the next key comes before that."""
    bench.clock.on(minutes)
    if ticks:
        bench.app.tick()
        await bench.settle()


async def with_a_warning_accepted_once(bench: Bench) -> None:
    """Leave the offer of a heat open that a tank is too low for, Enter pressed once."""
    await bench.press("0", "4", "m", "2", "space", "1", "enter")
    await bench.on(50)
    await bench.press("space", "enter", "0", "5", "m", "2", "space", "1", "enter")
    assert "Enter again starts it anyway" in bench.screen


@pytest.mark.parametrize("ticks", [True, False])
def test_a_question_is_left_by_a_sleep_and_the_first_key_after_it_says_so(tmp_path: Path, *, ticks: bool) -> None:
    """The Enter that would have accepted a warning before the sleep records nothing; asked again it warns again."""

    async def script(bench: Bench) -> None:
        await with_a_warning_accepted_once(bench)
        before = bench.kinds
        await asleep(bench, 10, ticks=ticks)
        if not ticks:
            await bench.press("enter")
        assert bench.app.screen is bench.app.bench
        assert "the question was closed during the sleep, nothing recorded: ask again" in bench.screen
        assert bench.kinds == before
        await bench.press("0", "5", "space", "1", "enter")
        assert "Enter again starts it anyway" in bench.screen

    drive(tmp_path, script)


def test_digits_after_a_sleep_choose_among_what_the_screen_shows(tmp_path: Path) -> None:
    """They neither change the unit of a question asked before the sleep nor end a number begun before it."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "1", "0", "4", "space")
        await asleep(bench, 30)
        assert "Asleep for 30 min" in bench.screen
        await bench.press("escape", "0", "1")
        assert bench.app.bench.chosen == "01"
        await bench.press("0")
        await asleep(bench, 30)
        await bench.press("3")
        assert "batch 03 chosen" in bench.screen

    drive(tmp_path, script)


def test_what_is_typed_outlasts_a_sleep(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("n")
        await bench.type("loose")
        await asleep(bench, 30)
        await bench.type(" tie")
        await bench.press("enter")
        assert bench.session.events[-1].body.to_json()["note"] == "loose tie"

    drive(tmp_path, script)


def test_a_question_that_stood_long_says_that_the_first_key_only_woke_it_and_offers_what_holds_now(
    tmp_path: Path,
) -> None:
    """The warning that was accepted once is to be accepted twice again; what was chosen stays chosen."""

    async def script(bench: Bench) -> None:
        await with_a_warning_accepted_once(bench)
        before = bench.kinds
        await bench.on(3, away=True)
        await bench.press("enter")
        assert "that key only woke the bench: press it again" in bench.screen
        await bench.press("enter")
        assert "Enter again starts it anyway" in bench.screen
        assert bench.kinds == before
        await bench.press("enter")
        assert bench.kinds != before

    drive(tmp_path, script)


def test_an_offer_that_stood_long_is_of_what_another_shell_recorded_since(tmp_path: Path) -> None:
    """The tray it offered is taken by now; an amount that was typed stands."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "2", "space", "2", "a")
        await bench.type("80")
        await bench.press("enter")
        soak = make("moved", bench.clock(), lambda: "other", batch="01", to="soak", unit="tray 1")
        bench.second_shell().add([soak])
        await bench.on(3, away=True)
        await bench.press("enter")
        assert "1 tray 1 (01" in bench.screen
        assert "acid, mL of vinegar: 80" in bench.screen
        await bench.press("enter")
        load = bench.session.events[1].body.to_json()
        assert (load["unit"], load["acid_ml"]) == ("tray 2", 80)
        await bench.press("0", "3", "space")
        lost = make("moved", bench.clock(), lambda: "another", batch="03", to="scrapped", why="felted")
        bench.second_shell().add([lost])
        await bench.on(3, away=True)
        await bench.press("enter")
        assert bench.app.screen is bench.app.bench

    drive(tmp_path, script)


def test_a_page_that_stood_long_takes_the_first_key(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("question_mark")
        assert bench.app.screen is not bench.app.bench
        await bench.on(30, away=True)
        await bench.press("escape")
        assert bench.app.screen is bench.app.bench

    drive(tmp_path, script)
