"""The bench by its keys: what each does to the record, and what is seen of it."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from dyeday.bench.input.bench_keys import KEYS, WORD
from dyeday.store.sessions import Sessions
from dyeday.track.flags import flags_of
from dyeday.track.folding.fold import fold
from dyeday.track.timestamp import Moment
from dyeday.track.typed_entries import minutes_ago
from tests.bench.driving import Bench, FakeHand, drive, screen_text
from tests.fakes import HEAVY_DAY, SHORT_DAY, FakeClock, begun
from tests.typed_events import make

DELIVERED = {
    *"abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789",
    "space", "enter", "escape", "tab", "up", "down", "left", "right", "pageup", "pagedown", "home", "end",
    "question_mark", "ctrl+p", "ctrl+q", "ctrl+z", *(f"f{n}" for n in range(1, 11)),
}  # fmt: skip


def test_every_declared_key_is_one_that_terminals_deliver() -> None:
    """No binding that can never fire."""
    assert {key.key for key in KEYS} <= DELIVERED


def test_a_batch_moves_on_with_one_key_and_a_return(tmp_path: Path) -> None:
    """Space offers the next step with a unit that has room and the dose for this water; return records both."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "2", "space", "enter")
        assert [(e.body.NAME, e.batch, e.body.to_json()) for e in bench.session.events] == [
            ("load", None, {"batches": ["02"], "to": "soak", "unit": "tray 1", "acid_ml": 65}),
            ("chore", "02", {"chore": "tie and count", "when": "before soak"}),
        ]
        assert "soak        tray 1 20 min left" in bench.row("02")
        assert "recorded: 02 to soak in tray 1, 65 mL acid, done: tie and count" in bench.screen

    drive(tmp_path, script)


def test_units_are_chosen_by_number_and_the_acid_is_typed(tmp_path: Path) -> None:
    """A digit in the question chooses the unit, a opens the amount."""

    async def script(bench: Bench) -> None:
        await bench.press("space", "2", "a")
        await bench.type("62,5")
        await bench.press("enter", "enter")
        assert [(e.body.NAME, dict(e.body.to_json())) for e in bench.session.events] == [
            ("load", {"batches": ["01"], "to": "soak", "unit": "tray 2", "acid_ml": 62.5}),
            ("chore", {"chore": "tie and count", "when": "before soak"}),
        ]

    drive(tmp_path, script)


def test_a_whole_batch_goes_from_soak_to_done_by_keys(tmp_path: Path) -> None:
    """Soak with acid, paint, two pots in turn, rest, steam, cool, look, rinse, dry, done: no flag is left."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "space", "enter")
        await bench.on(21)
        assert "ready 09:20" in bench.row("01")
        await bench.press("space", "enter")
        assert "paint " in bench.row("01")
        await bench.on(25)
        await bench.press("space", "enter")
        assert "microwave " in bench.row("01")
        await bench.on(14)  # it switched itself off after 4 min, and no hand turns it off later
        await bench.press("space")
        assert "start steam" in bench.screen
        assert "heat off" not in bench.screen
        await bench.press("escape")
        await bench.press("space", "enter")
        assert "warming" in bench.row("01")
        await bench.on(10)
        assert "steaming" in bench.row("01")
        assert "40 min left" in bench.row("01")
        await bench.on(41)
        await bench.press("space", "enter")
        assert "cool" in bench.row("01")
        await bench.on(61)
        await bench.press("space", "c")
        await bench.on(10)
        await bench.press("space", "enter")
        await bench.on(1441)
        await bench.press("space", "enter")
        assert "done" in bench.row("01")
        day = fold(bench.session.plan, bench.session.events)
        assert [flag.rule for flag in flags_of(day, bench.clock()) if flag.batch == "01"] == []

    drive(tmp_path, script)


def test_a_missed_acid_soak_and_an_under_exhausted_bath_are_shown_at_once(tmp_path: Path) -> None:
    """The message line names the flag, its numbers and its remedy; the row keeps a sign."""

    async def script(bench: Bench) -> None:
        await bench.press("m", "2")
        assert "no acid soak" in bench.screen
        assert "⚑1" in bench.row("01")
        await bench.press("m", "4")
        await bench.on(61)
        await bench.press("r", "e", "o")
        assert "colour left" in bench.screen
        await bench.press("f")
        assert "taken up, 90 %" in bench.screen

    drive(tmp_path, script, size=(80, 40))


def test_a_flag_is_cleared_by_a_digit_and_a_usual_reason(tmp_path: Path) -> None:
    """f shows the flags numbered; the number and a reason clear one."""

    async def script(bench: Bench) -> None:
        await bench.press("m", "2", "f", "1", "2")
        assert bench.kinds == ["moved", "resolved"]
        assert bench.session.events[-1].body.to_json()["why"] == "checked by hand, it is good"
        assert "cleared no acid soak" in bench.screen
        await bench.press("escape")
        assert "? 1" not in bench.row("01")

    drive(tmp_path, script)


def test_a_flag_of_a_load_is_cleared_for_all_its_batches_and_the_question_names_them(tmp_path: Path) -> None:
    """From the page of the second, with one reason; undo brings the one flag back."""

    async def script(bench: Bench) -> None:
        def flags() -> list[tuple[str, bool]]:
            found = [flag for flag in bench.app.live.all_flags() if flag.batch is not None]
            return [(flag.about, flag.cleared is None) for flag in found]

        await bench.press("1", "minus", "2", "m", "2")
        assert flags() == [("01+02", True)]
        assert "01+02 no acid soak" in bench.screen
        await bench.press("0", "2", "f", "1")
        assert "01+02: clear 'no acid soak', because" in bench.screen
        await bench.press("2")
        assert flags() == [("01+02", False)]
        await bench.press("escape", "z", "enter")
        assert flags() == [("01+02", True)]

    drive(tmp_path, script)


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ("p4.6", {"reading": "ph", "value": 4.6}),
        ("y31", {"reading": "yarn_c", "value": 31}),
        ("b88", {"reading": "bath_c", "value": 88}),
        ("w14", {"reading": "rinse_c", "value": 14}),
        ("g312,5", {"reading": "weight_g", "value": 312.5}),
        ("oj12 0.1", {"reading": "jar", "value": {"match": 12, "left_l": 0.1}}),
        ("oa0.95 2 0.06 1.85", {"reading": "absorbance"}),
    ],
)
def test_readings_take_a_letter_and_a_number(tmp_path: Path, keys: str, said: dict[str, object]) -> None:
    """r, the reading's letter, the value, return."""

    async def script(bench: Bench) -> None:
        letters = 2 if keys[0] == "o" else 1
        if letters == 2:
            await bench.press("0", "3")  # what is immersed has a bath to compare with
        await bench.press("r", *keys[:letters])
        await bench.type(keys[letters:])
        assert "understood:" in bench.screen
        await bench.press("enter")
        assert said.items() <= dict(bench.session.events[-1].body.to_json()).items()

    drive(tmp_path, script)


@pytest.mark.parametrize(
    ("key", "said"),
    [("5", "5"), ("r", "4-5"), ("4", "4"), ("e", "3-4"), ("3", "3"), ("w", "2-3"), ("2", "2"), ("q", "1-2"),
     ("1", "1"), ("c", "clean"), ("f", "faint"), ("m", "marked")],
)  # fmt: skip
def test_a_digit_gives_the_grade_it_shows(tmp_path: Path, key: str, said: str) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("r", "c")
        shown = f"grade {said}" if said[0].isdigit() else said
        assert re.search(rf" {key}  {shown}(  |$)", bench.screen, re.MULTILINE)
        await bench.press(key)
        assert dict(bench.session.events[-1].body.to_json())["value"] == said

    drive(tmp_path, script)


@pytest.mark.parametrize(
    ("keys", "value", "where"),
    [("c", "clear", "puddle"), ("o", "coloured", "puddle"), ("w2t", "tinted", "first rinse")],
)
def test_a_look_takes_the_keys_of_the_rinse_offer_and_its_place_only_where_it_is_another(
    tmp_path: Path, keys: str, value: str, where: str
) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("r", "e", *keys)
        recorded = dict(bench.session.events[-1].body.to_json())
        assert (recorded["value"], recorded["where"]) == (value, where)

    drive(tmp_path, script)


def test_typing_replaces_what_a_question_offers(tmp_path: Path) -> None:
    """A count typed behind the one that is offered would be ten times as many."""

    async def script(bench: Bench) -> None:
        await bench.press("e", "c", "2")
        assert "understood: 2 skeins" in bench.screen
        await bench.press("enter", "e", "t", *"red", "enter", "e", "t", *"blue", "enter")
        counted = bench.app.live.day.batches["01"]
        assert (counted.skeins, counted.tag) == (2, "blue")

    drive(tmp_path, script)


def test_a_key_that_is_not_a_choice_takes_none(tmp_path: Path) -> None:
    """The question stays until one of its keys comes, or escape."""

    async def script(bench: Bench) -> None:
        await bench.press("r", "e", "p")
        assert "clear" in bench.screen
        await bench.press("escape")
        assert bench.kinds == []

    drive(tmp_path, script)


def test_a_value_that_cannot_be_stays_in_the_question(tmp_path: Path) -> None:
    """Nothing is stored, what is wrong is said, the text is still there to mend."""

    async def script(bench: Bench) -> None:
        await bench.press("r", "p")
        await bench.type("soup")
        await bench.press("enter")
        assert "not a number" in bench.screen
        assert bench.session.events == ()
        await bench.press("escape")
        assert "cancelled, nothing saved" in bench.screen

    drive(tmp_path, script)


def test_the_last_entry_is_undone_and_taken_back(tmp_path: Path) -> None:
    """z undoes, Z redoes, each with one question; both stay in the log."""

    async def script(bench: Bench) -> None:
        await bench.press("m", "1", "z", "enter")
        assert "waiting" in bench.row("01")
        assert "recorded: undone 01 to soak" in bench.screen
        await bench.press("Z")
        assert bench.kinds == ["moved", "struck"]
        await bench.press("enter")
        assert "soak" in bench.row("01")
        assert bench.kinds == ["moved", "struck", "unstruck"]

    drive(tmp_path, script)


def test_the_next_entry_can_be_some_minutes_ago(tmp_path: Path) -> None:
    """b and the minutes; only the next entry counts as earlier."""

    async def script(bench: Bench) -> None:
        await bench.press("b")
        await bench.type("7")
        await bench.press("enter", "space", "enter")
        event = bench.session.events[0]
        assert (event.recorded_at - event.at).total_seconds() == 7 * 60
        assert "13 min left" in bench.row("01")
        await bench.press("0", "2", "space", "enter")
        later = bench.session.events[-1]
        assert (later.recorded_at - later.at).total_seconds() < 1

    drive(tmp_path, script)


def test_what_the_bench_records_by_itself_is_of_now_and_does_not_use_up_the_earlier_time(tmp_path: Path) -> None:
    """b and 7, then the key lock on and off: the step that follows is the one that was seven minutes ago."""

    async def script(bench: Bench) -> None:
        await bench.press("b")
        await bench.type("7")
        await bench.press("enter", "g", *WORD, "enter", "m", "1")
        ago_min = {e.body.NAME: round((e.recorded_at - e.at).total_seconds() / 60) for e in bench.session.events}
        assert ago_min == {"guard on": 0, "guard off": 0, "moved": 7}

    drive(tmp_path, script)


def test_a_second_shells_mark_is_seen_at_the_next_tick(tmp_path: Path) -> None:
    """The bench takes in what others wrote without being asked."""

    async def script(bench: Bench) -> None:
        other = bench.second_shell()
        other.add([make("moved", bench.clock(), lambda: "another", batch="03", to="soak")])
        await bench.on(0)
        assert "soak" in bench.row("03")
        await bench.press("0", "1", "space", "enter")
        assert [e.batches for e in bench.session.events] == [("03",), ("01",), ("01",)]

    drive(tmp_path, script)


def test_a_bench_that_is_opened_again_goes_on_with_its_clocks_right(tmp_path: Path) -> None:
    """Nothing of a day lives in the bench: another one shows the same, the time passed counted."""
    clock = FakeClock()

    async def first(bench: Bench) -> None:
        await bench.press("space", "enter")

    session = begun(tmp_path, clock)
    drive(tmp_path, first, session=session, clock=clock)
    clock.on(12)

    async def again(bench: Bench) -> None:
        assert "8 min left" in bench.row("01")

    drive(tmp_path, again, session=Sessions(tmp_path).open(session.about.id), clock=clock)


def test_an_alarm_stands_in_a_banner_until_it_is_silenced(tmp_path: Path) -> None:
    """Heat over its time by five minutes alarms; silencing moves nothing and ends the sound."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "3", "space", "enter")
        await bench.on(40)
        other = bench.second_shell()
        filled: dict[str, Any] = {"unit": "steamer 1", "is": "filled"}
        other.add([make("unit", bench.clock(), lambda: "another", **filled)])
        await bench.on(14)  # five minutes more: off, filled, hot again
        rung = bench.ring.times
        await bench.on(7)
        assert bench.ring.times == rung + 1
        assert "! 04 steam 40 min is up" in bench.screen.split("\n")[2]
        await bench.on(5)
        assert bench.ring.times == rung + 2
        await bench.press("a")
        assert "! 04 steam 40 min is up" not in bench.screen.split("\n")[1]
        assert "1 alarm" in bench.screen
        assert "steaming" in bench.row("04")
        await bench.on(20)
        assert bench.ring.times == rung + 2

    drive(tmp_path, script)


def test_prompts_of_one_tick_are_one_sound(tmp_path: Path) -> None:
    """Two soaks that end together ring once."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "space", "enter", "0", "2", "space", "enter")
        await bench.on(20)
        assert bench.ring.times == 1
        await bench.on(30)
        assert bench.ring.times == 1

    drive(tmp_path, script)


def test_leaving_asks_once_and_loses_nothing(tmp_path: Path) -> None:
    """q and ctrl+q ask; n stays, y leaves."""

    async def script(bench: Bench) -> None:
        await bench.press("space", "enter", "q", "n")
        assert bench.app.is_running
        await bench.press("ctrl+q")
        assert "Leave the bench?" in bench.screen
        await bench.press("y")
        assert not bench.app.is_running
        assert bench.kinds == ["load", "chore"]

    drive(tmp_path, script)


def test_closing_asks_for_the_heat_and_is_on_record(tmp_path: Path) -> None:
    """x asks whether every heat is off at the wall, and then tells what stays where."""

    async def script(bench: Bench) -> None:
        await bench.press("x")
        assert "off at the wall" in bench.screen
        await bench.type("close")
        await bench.press("enter")
        assert bench.kinds == ["closed"]
        assert "The day is closed" in bench.screen
        assert "01 Kelp Light: not started" in bench.screen
        await bench.press("escape")
        assert "CLOSED" in bench.screen
        await bench.press("m", "1")
        assert "after the day was closed" in bench.screen

    drive(tmp_path, script)


def test_closing_wants_the_same_word_with_yarn_in_hand_and_without(tmp_path: Path) -> None:
    """A close cannot be undone: a child's y after its x closes nothing."""

    async def script(bench: Bench) -> None:
        await bench.press("x", "y", "enter")
        assert "closed" not in bench.kinds
        await bench.press("escape", "0", "1", "m", "1", "x", "y", "enter")
        assert "01 not on the rack yet" in bench.screen
        assert "closed" not in bench.kinds
        await bench.press("backspace")
        await bench.type("close")
        await bench.press("enter")
        assert bench.kinds[-1] == "closed"

    drive(tmp_path, script)


def test_closing_counts_what_only_dries_and_a_closed_day_is_not_closed_again(tmp_path: Path) -> None:
    """Yarn on the line is not in hand; Esc leaves the day open."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "6", "x")
        left = "4 batches are left for tomorrow; 1 more hangs to dry."
        assert f"{left} When every heat is off at the wall, type close" in " ".join(bench.screen.split())
        await bench.press("escape")
        assert bench.app.screen is bench.app.bench
        await bench.press("x")
        await bench.type("close")
        await bench.press("enter", "escape", "x")
        assert bench.kinds.count("closed") == 1
        assert bench.app.screen is bench.app.bench
        assert "this day is closed already" in bench.screen

    drive(tmp_path, script)


def test_closing_names_the_open_flags_before_and_after(tmp_path: Path) -> None:
    """A day without flags is asked about heat and what is left alone."""

    async def script(bench: Bench) -> None:
        await bench.press("x")
        assert "To check" not in bench.screen
        await bench.press("escape", "0", "1", "m", "2", "x")
        assert "To check: 01 no acid soak." in " ".join(bench.screen.split())
        await bench.type("close")
        await bench.press("enter")
        assert "to check: 01 no acid soak" in bench.screen

    drive(tmp_path, script)


def test_a_bench_that_only_watches_records_nothing(tmp_path: Path) -> None:
    """A second bench on the same day shows it and has no recording keys, until the first has gone."""

    clock = FakeClock()
    first = begun(tmp_path, clock)
    assert first.claim_bench()

    async def script(bench: Bench) -> None:
        assert "(read-only)" in bench.screen
        await bench.press("space", "z", "m")
        assert bench.session.events == ()
        first.release_bench()
        await bench.on(0)
        assert "this one records now" in bench.screen
        await bench.press("m", "1")
        assert bench.kinds == ["moved"]

    drive(tmp_path, script, session=Sessions(tmp_path).open(first.about.id), clock=clock, read_only=True)


@pytest.mark.parametrize("size", [(80, 24), (100, 30), (140, 40)])
def test_nothing_is_wider_than_the_terminal_and_the_footer_is_whole(tmp_path: Path, size: tuple[int, int]) -> None:
    """All columns, every batch and six keys fit at 80 x 24; wider shows more columns."""

    async def script(bench: Bench) -> None:
        lines = bench.screen.split("\n")
        assert len([line for line in lines if line[2:4].isdigit()]) == 14
        assert lines[-1].count("[") == 6
        assert lines[-1].endswith("[?] keys")
        header = next(line for line in lines if "Colourway" in line)
        assert [word in header for word in ("State", "Where", "Time", "Next")] == [True] * 4
        assert ("▶ " in lines[1]) == (size[0] >= 120)

    drive(tmp_path, script, size=size, plan=HEAVY_DAY)


@pytest.mark.parametrize("size", [(60, 20), (44, 14), (30, 8), (10, 3), (200, 60)])
def test_an_odd_size_clips_no_time_and_crashes_nothing(tmp_path: Path, size: tuple[int, int]) -> None:
    """Narrower drops columns, tiny shows what is next; the time that matters is never cut."""

    async def script(bench: Bench) -> None:
        await bench.press("m", "1")
        await bench.on(1)
        if size[0] >= 40 and size[1] >= 12:
            assert "19 min left" in bench.row("01")
        assert all(len(line) <= size[0] for line in bench.screen.split("\n"))

    drive(tmp_path, script, size=size)


def test_digits_left_half_typed_stand_for_the_whole_number(tmp_path: Path) -> None:
    """9 is 09 where nothing else begins with it; a command takes 1 for 01."""

    async def script(bench: Bench) -> None:
        await bench.press("9")
        assert "batch 09 chosen" in bench.screen
        await bench.press("1", "m", "1")
        assert bench.session.events[-1].batch == "01"

    drive(tmp_path, script, plan=HEAVY_DAY)


def test_a_pot_and_its_doses_are_shown_before_they_are_taken(tmp_path: Path) -> None:
    """The offer to paint shows mixes, water and the colourway's steps; to soak the dose for water and fibre."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "space")
        assert "3 L of water" in bench.screen
        assert "65 mL of vinegar for it and the yarn, to pH 4.5" in bench.screen
        await bench.press("enter", "space")
        assert "50 %: Lamp Yellow 60 mL, Slate Blue 22.5 mL" in bench.screen
        assert "1. Green on both ends, a quarter each." in bench.screen

    drive(tmp_path, script)


def test_a_ph_reading_says_what_to_add(tmp_path: Path) -> None:
    """Above the limit the dose that is missing is shown, at it the reading is good."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "space", "enter", "r", "p")
        await bench.type("5.6")
        assert "mL of vinegar" in bench.screen
        await bench.press("enter", "r", "p")
        await bench.type("5.2")
        assert "good: the target is 4.5" in bench.screen

    drive(tmp_path, script)


HOSTILE = "[red]Evil[/] [@click=app.bell()]x[/] \\u001b]0;owned\\u0007 \\u202eback [/b]"


def test_hostile_names_and_notes_are_shown_as_they_are_and_steer_nothing(tmp_path: Path) -> None:
    """Brackets stay brackets; escape and bidi characters are shown in another form, on every screen and on paper."""
    text = SHORT_DAY.read_text(encoding="utf-8").replace("Kelp Light", HOSTILE).replace("March parcels", HOSTILE)

    async def script(bench: Bench) -> None:
        screens = [bench.screen]
        await bench.press("space")
        screens.append(bench.screen)
        await bench.press("enter", "n")
        await bench.type("[/] [bold]wet[/b]")
        await bench.press("enter")
        screens.append(bench.screen)
        for keys in (("f",), ("p", "enter"), ("p", "2"), ("p", "5")):
            await bench.press(*keys)
            screens.append(bench.screen)
            await bench.press("escape")
        await bench.press("m", "2", "f", "1")
        screens.append(bench.screen)
        whole = "\n".join(screens)
        assert not [c for c in whole if (ord(c) < 32 and c != "\n") or 127 <= ord(c) < 160 or c == "\u202e"]
        assert "[red]Evil" in screens[0]
        assert "[/] [bold]wet[/b]" in whole

    drive(tmp_path, script, text=text, size=(120, 40))


def test_an_event_costs_one_fold(tmp_path: Path) -> None:
    """One more event folds that event only: the record of another batch is the same value as before."""

    async def script(bench: Bench) -> None:
        await bench.press(*"01", "m", "1")
        before = bench.app.live.day.batches["01"]
        await bench.press(*"02", "m", "1")
        assert bench.app.live.day.batches["01"] is before

    drive(tmp_path, script)


def test_a_tick_that_changes_nothing_draws_no_row_again(tmp_path: Path) -> None:
    """Only lines that say something else are drawn."""

    async def script(bench: Bench) -> None:
        await bench.press("space", "enter")
        board = bench.app.bench.board
        before, lines = board.drawn, board.shown
        for _tick in range(20):
            await bench.on(0)
        assert board.drawn == before
        await bench.on(1)
        changed = [new.text.plain for old, new in zip(lines, board.shown, strict=True) if old != new]
        assert board.drawn == before + len(changed)
        assert len(changed) == 2, changed
        assert "09:01" in changed[0]
        assert "19 min left" in changed[1]

    drive(tmp_path, script)


def test_a_heat_is_not_started_in_no_unit_because_all_are_full(tmp_path: Path) -> None:
    """Return records nothing and says why; a digit takes a full one all the same, and the flag says so."""

    async def script(bench: Bench) -> None:
        for batch in ("01", "02", "04"):
            await bench.press(*batch, "m", "3")
        for batch, unit in (("01", "1"), ("02", "2")):
            data: dict[str, Any] = {"pass": 2, "run": "start", "unit": f"steamer {unit}"}
            shell = bench.second_shell()
            shell.add([make("pass", bench.clock(), lambda b=batch: f"pass-{b}", batch=batch, **data)])  # type: ignore[misc]
        await bench.on(0)
        await bench.press("0", "4", "space", "enter")
        assert "nothing recorded: no steamer has room for 04" in bench.screen
        await bench.press("space", "1", "enter")
        assert "steamer 1" in bench.row("04")
        assert "over full" in bench.screen

    drive(tmp_path, script)


def test_the_foot_says_that_there_is_more_until_the_end_is_seen(tmp_path: Path) -> None:
    """The list of keys is longer than 24 lines, a batch's page is not; both ways it scrolls."""

    async def script(bench: Bench) -> None:
        await bench.press("question_mark")
        assert "[down] more" in bench.screen.split("\n")[-1]
        await bench.press(*["pagedown"] * 5)
        assert "[down] more" not in bench.screen
        await bench.press("pageup")
        assert "[down] more" in bench.screen
        await bench.press("escape", "0", "1", "f")
        assert "[esc] back" in bench.screen
        assert "[down] more" not in bench.screen
        await bench.resize(80, 8)
        assert "[down] more" in bench.screen

    drive(tmp_path, script)


def test_a_digit_on_the_help_screen_opens_a_page_of_the_help(tmp_path: Path) -> None:
    """The same pages as `dyeday help`; Esc goes back to the keys."""

    async def script(bench: Bench) -> None:
        await bench.press("question_mark")
        assert "[1-9] more help" in bench.screen
        await bench.press("9")
        assert "A wrong entry: z undoes the last one" in bench.screen
        await bench.press("escape")
        assert "Keys of the bench" in bench.screen

    drive(tmp_path, script)


def test_a_capital_alone_records_nothing_and_a_meaningless_one_asks_for_caps_lock(tmp_path: Path) -> None:
    """With Caps Lock on, every letter comes as a capital."""

    async def script(bench: Bench) -> None:
        for key in "RHMIUWKENBZASCOQVLD":
            await bench.press(key)
            assert bench.kinds == []
            if key in "RHMV":
                assert f"{key} does nothing; ? lists the keys. Caps Lock on?" in bench.screen
            await bench.press("escape")

    drive(tmp_path, script)


@pytest.mark.parametrize(
    ("keys", "chosen"),
    [
        (["à", "é"], "02"),  # the unshifted row of a French keyboard: 0 and 2
        (["à", '"'], "03"),
        (["0", "4"], "04"),  # a German row types digits themselves
    ],
)
def test_the_unshifted_row_of_other_keyboards_types_digits(tmp_path: Path, keys: list[str], chosen: str) -> None:
    """Layouts from memory: AZERTY as in NF Z71-300's traditional row, QWERTZ as in DIN 2137."""

    async def script(bench: Bench) -> None:
        await bench.press(*keys)
        assert f"batch {chosen} chosen" in bench.screen

    drive(tmp_path, script)


def test_a_part_is_chosen_by_its_number_and_its_letter(tmp_path: Path) -> None:
    """After 04 the letter is the part's; at any other time b is what it always is."""

    async def script(bench: Bench) -> None:
        into = {"04a": 1, "04b": 3}
        bench.second_shell().add([make("split", bench.clock(), lambda: "split", batch="04", into=into)])
        await bench.on(0.1)
        await bench.press("0", "4")
        assert bench.app.bench.chosen == "04a"
        await bench.press("b")
        assert bench.app.bench.chosen == "04b"
        await bench.press("b")
        assert "Next entry: how many minutes ago" in bench.screen
        await bench.press("escape", "4", "a")
        assert bench.app.bench.chosen == "04a"

    drive(tmp_path, script)


@pytest.mark.parametrize(("typed", "minutes"), [("1147", 13), ("11.47", 13), ("11:47", 13), ("47", 47)])
def test_a_time_is_typed_in_four_digits(typed: str, minutes: float) -> None:
    """1147 is a time of day, 47 a length in minutes."""
    noon = Moment(datetime(2026, 3, 14, 12, tzinfo=UTC))
    assert minutes_ago(typed, noon, "UTC") == minutes


def test_four_digits_that_are_not_a_time_of_day_are_not_minutes_either() -> None:
    """2570 for 1940 was an entry 42 h 50 ago."""
    with pytest.raises(ValueError, match="'2570' is not a time or minutes"):
        minutes_ago("2570", Moment(datetime(2026, 3, 14, 12, tzinfo=UTC)), "UTC")


def test_return_offers_the_first_line_of_next_and_return_accepts(tmp_path: Path) -> None:
    """Two presses for what is advised, whichever batch was chosen; the first alone records nothing."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4")
        about = bench.app.bench.view_cache.items[0].about.split("+")[0]
        await bench.press("enter")
        assert bench.app.bench.chosen == about
        assert bench.kinds == []
        await bench.press("enter")
        assert bench.session.events[0].batches == (about,)

    drive(tmp_path, script)


def test_what_is_live_stands_before_what_is_past_and_one_key_clears_all_past_alarms(tmp_path: Path) -> None:
    """Two heats ran over and were ended; another still runs over."""

    async def script(bench: Bench) -> None:
        def heat(no: str, run: str) -> None:
            data: dict[str, Any] = {"pass": 1, "run": run}
            event = make("pass", bench.clock(), lambda: f"{no}-{run}", batch=no, **data)
            bench.second_shell().add([event])

        for no in ("03", "05", "04"):
            heat(no, "start")
            await bench.on(5)
        await bench.on(90)
        for no in ("03", "05"):
            heat(no, "end")
        await bench.on(0.1)
        shown = bench.app.bench.shown
        assert shown is not None
        live, past = shown.alarms
        assert live.text.startswith("04")
        assert past.text.startswith("past, not silenced: ")
        await bench.press("a", "1")
        # The other two are past: they stand below what hands do, in no alarm's words, and nothing blinks for them.
        assert "04" in bench.advised[0]
        assert "past, not silenced: 05" in bench.advised[-1]
        assert not any(line.startswith("▌! past") for line in bench.screen.split("\n"))
        bench.app.tick()
        assert not bench.app.blinking
        await bench.press("a")
        assert bench.app.screen is bench.app.bench
        assert "[a]" not in bench.screen

    drive(tmp_path, script)


def test_a_silences_under_a_question_and_is_not_shown_where_it_means_something_else(tmp_path: Path) -> None:
    """Under "Snooze it for"; not where it changes an amount or goes into a text."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "3", "space", "enter")
        await bench.on(300)
        await bench.press("0", "1", "n")
        bench.app.bench.paint()
        await bench.settle()
        assert "[a]" not in bench.screen
        await bench.press("a")
        assert "alarm" not in bench.kinds
        await bench.press("escape", "s")
        asked = bench.app.screen
        bench.app.bench.paint()
        await bench.settle()
        assert "[a]" in bench.screen
        await bench.press("a")
        assert bench.kinds[-1] == "alarm"
        assert bench.app.screen is asked

    drive(tmp_path, script)


@pytest.mark.parametrize("key", ["enter", "space", "k", "m"])
def test_a_key_held_with_a_long_repeat_delay_asks_once_and_records_nothing(tmp_path: Path, key: str) -> None:
    """Half a second to the first repeat, then thirty a second; the question stays open, a fresh Enter accepts it."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1")
        before = bench.kinds
        await bench.press(key)
        asked, last_s = bench.app.screen, bench.app.key_watch.last_of[key]
        assert asked.is_modal
        hand = FakeHand(0.5, last_s)
        bench.app.key_time = hand
        await bench.press(key)
        hand.pause_s = 1 / 30
        await bench.press(*[key] * 20)
        assert bench.app.screen is asked
        assert bench.kinds == before
        if key == "enter":
            assert "too quick for an answer: press it again" in screen_text(bench.app)
            hand.pause_s = 0.8
            await bench.press("enter")
            assert len(bench.kinds) > len(before)

    drive(tmp_path, script)


def test_painted_yarn_that_is_still_to_be_wrapped_is_not_called_safe(tmp_path: Path) -> None:
    """Until the chore after painting is done, or w says how the yarn waits, its cover is a question."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "1")
        await bench.on(20)
        await bench.press("m", "2")
        await bench.on(24)
        await bench.press("m", "3")
        assert "wrapped?" in bench.row("01")
        await bench.press("w", "w")
        assert "safe 24 h" in bench.row("01")

    drive(tmp_path, script, plan=HEAVY_DAY)
