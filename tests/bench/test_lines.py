"""Lines of the bench at any width: nothing runs over the edge, and what is cut says so."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from dyeday.ahead.advising.next_up import NextUp, Rank
from dyeday.ahead.forecast import forecast
from dyeday.bench.input.bench_keys import KEYS
from dyeday.bench.live_session import LiveSession
from dyeday.bench.looks.themes import DARK
from dyeday.bench.view import glyphs
from dyeday.bench.view.attention import Attention, needing_attention
from dyeday.bench.view.batch_row import Urgency
from dyeday.bench.view.bench_layout import next_line
from dyeday.bench.view.far_text import FarStatus, far_text
from dyeday.bench.widgets.board import Canvas, keys_line
from dyeday.bench.widgets.one_line import Foot
from dyeday.store.sessions import Sessions
from dyeday.text import batches_text, ordinal
from dyeday.track.flags import flag_words
from tests.bench.driving import Bench, drive
from tests.fakes import HEAVY_DAY, SHORT_DAY, FakeClock, Ids, begun
from tests.typed_events import draft

WORDS = st.text("abc defg染", min_size=1, max_size=70).map(str.strip).filter(bool)


@given(WORDS, WORDS, WORDS, st.integers(40, 160))
def test_a_line_of_what_is_next_stays_on_the_screen_and_says_where_it_was_cut(
    about: str, do: str, why: str, width: int
) -> None:
    """What to do goes before its reason: it is whole as long as it is no longer than half a line of 80."""
    line = next_line(NextUp(about, do, why, Rank.HEAT_OVER), width, DARK, about_cells=13).plain
    assert cell_len(line) <= width
    assert "…" in line or (do in line and about in line)
    assert why in line or "…" in line or width < 80
    if width >= 80 and cell_len(do) <= 40:
        assert do in line


@given(st.lists(st.tuples(WORDS, WORDS), min_size=1, max_size=8), st.integers(20, 120))
def test_the_last_key_of_a_foot_always_stands_there_whole(keys: list[tuple[str, str]], width: int) -> None:
    """It is the way back, or the list of all keys; those before it are as many as have room."""
    line = keys_line(keys, width).plain
    key, word = keys[-1]
    assert line.endswith(f"[{key}] {word}")
    if len(keys) > 1 and line != f" [{key}] {word}":
        assert cell_len(line) <= width


def test_the_far_view_says_the_chore_that_the_bench_says(tmp_path: Path) -> None:
    """Before the first soak the skeins are tied: the next lines and the far view must not differ in it."""

    async def script(bench: Bench) -> None:
        bench.app.outlook.forecast = forecast(bench.app.live.day, bench.clock(), evaluations=20)
        bench.app.bench.paint()
        items = bench.app.bench.view_cache.items
        things = needing_attention(bench.app.live.day, bench.clock(), items)
        assert items[0].do == "tie and count"
        assert [thing.word for thing, item in zip(things, items, strict=False) if item.is_chore] == [
            item.do for item in items if item.is_chore
        ]

    drive(tmp_path, script)


def test_a_fresh_day_offers_nothing_to_undo_and_each_key_once(tmp_path: Path) -> None:
    """The foot has keys that do something now."""

    async def script(bench: Bench) -> None:
        foot = bench.screen.split("\n")[-1]
        assert "undo" not in foot
        assert foot.count("[?] keys") == 1
        await bench.press("space", "enter")
        assert "[z] undo" in bench.screen.split("\n")[-1]
        for key in ("m", "7", "f"):
            await bench.press(key)
        assert bench.screen.split("\n")[-1].count("[?] keys") == 1

    drive(tmp_path, script)


def test_the_log_of_a_bench_that_is_read_only_undoes_and_corrects_nothing(tmp_path: Path) -> None:
    """Neither does its foot offer it."""
    clock = FakeClock()
    first = begun(tmp_path, clock)
    LiveSession(first, clock, Ids()).record(draft("moved", "01", {"to": "soak", "unit": "tray 1"}))
    assert first.claim_bench()

    async def script(bench: Bench) -> None:
        await bench.press("l")
        assert [key for key, _ in bench.app.screen.query_one(Foot).keys] == ["up down", "escape"]
        await bench.press("z", "enter", "c", "t", "1", "enter")
        assert bench.kinds == ["moved"]

    drive(tmp_path, script, session=Sessions(tmp_path).open(first.about.id), clock=clock, read_only=True)


def test_steps_are_shown_in_one_set_of_words_on_the_screen_of_the_rest_of_the_day(tmp_path: Path) -> None:
    """Not by the schedule's own names; where no hands are wanted any more it says so and has no empty table."""

    async def script(bench: Bench) -> None:
        bench.app.outlook.forecast = forecast(bench.app.live.day, bench.clock(), evaluations=20)
        await bench.press("y")
        await bench.resize(100, 120)
        assert "1st heat on" in bench.screen
        assert "1st heat off" in bench.screen
        assert "load 1" not in bench.screen
        assert "for 01, 02" in bench.screen
        await bench.press("s")
        assert "aim: all rinsed as early as possible" in bench.screen
        await bench.press("n")
        assert bench.kinds == []
        assert "Aim changed" not in bench.screen
        await bench.press("s", "y")
        assert "Aim changed: all rinsed as early as possible" in bench.screen
        await bench.press("escape", "l")
        assert "aim: all rinsed as early as possible" in bench.screen
        await bench.press("escape")
        for no in bench.app.live.day.batches:
            bench.app.live.record(draft("moved", no, {"to": "done"}))
        bench.app.outlook.forecast = forecast(bench.app.live.day, bench.clock(), evaluations=20)
        await bench.press("y")
        assert "nothing left to do: 5 of 5 batches rinsed" in bench.screen
        assert "start    end" not in bench.screen

    drive(tmp_path, script)


def test_no_sentence_of_the_palette_is_cut_at_80_columns_and_it_says_how_many_there_are(tmp_path: Path) -> None:
    """Of more entries than are seen the count is shown."""

    async def script(bench: Bench) -> None:
        await bench.press("ctrl+p")
        many = sum(key.in_palette for key in KEYS)
        for n in range(many):
            assert f" {n + 1} of {many}: up and down choose" in bench.screen
            found = next(line for line in bench.screen.split("\n") if line.lstrip().startswith("▶"))
            assert "…" not in found
            await bench.press("down")

    drive(tmp_path, script)


def test_the_foot_calls_each_key_as_help_does(tmp_path: Path) -> None:
    words = {key.shown_as or key.key: key.word for key in KEYS}

    async def script(bench: Bench) -> None:
        for keys in ((), ("0", "4", "m", "3", "space", "enter"), ("m", "1")):
            await bench.press(*keys)
            foot = re.findall(r"\[([^]]+)\] (.+?)(?=  \[|$)", bench.screen.split("\n")[-1])
            assert len(foot) > 4
            assert [word for _, word in foot] == [words[key] for key, _ in foot]

    drive(tmp_path, script)


@pytest.mark.parametrize("size", [(80, 24), (60, 20), (140, 40)])
def test_no_key_of_a_choice_and_no_unit_on_offer_is_parted_from_its_words(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    """A long choice has a line of its own, the others stay in columns; what must be broken hangs under its words."""

    async def script(bench: Bench) -> None:
        await bench.press("r")
        assert "  e  bath looks" in bench.screen
        assert re.search(r"^  o  others: spun weight g, beside the kept sample", bench.screen, re.MULTILINE)
        await bench.press("escape", "space")
        for said in ("1 tray 1", "2 tray 2", "acid, mL of vinegar: 65"):
            assert said in bench.screen
        await bench.press("a")
        assert "Enter: accept this amount, Esc: back" in bench.screen
        await bench.press("escape")
        assert "Esc: cancel" in " ".join(bench.screen.split())

    drive(tmp_path, script, size=size)


def test_a_flag_about_the_day_is_cleared_by_its_digit_on_the_page_of_all_flags(tmp_path: Path) -> None:
    """Nothing is asked before a digit; the page tells where a batch's own flags are cleared."""
    text = SHORT_DAY.read_text(encoding="utf-8")
    plan = re.sub(r"(?m)^on_hand = .*$", "on_hand = 0", text)

    async def script(bench: Bench) -> None:
        await bench.press("m", "2", "d")
        day = [f for f in bench.app.live.flags(bench.clock())[""] if f.cleared is None]
        assert ", because" not in bench.screen
        assert f" 1  the day {flag_words(day[0].rule.value)}" in bench.screen
        assert "to clear a batch's flag: its number, then f" in bench.screen
        await bench.press("1")
        assert f"The day: clear {flag_words(day[0].rule.value)!r}, because" in bench.screen
        await bench.press("4")
        left = [f for f in bench.app.live.flags(bench.clock())[""] if f.cleared is None]
        assert len(left) == len(day) - 1

    drive(tmp_path, script, text=plan)


@pytest.mark.parametrize("size", [(80, 24), (150, 40)])
def test_the_page_of_all_flags_says_what_was_done_since(tmp_path: Path, size: tuple[int, int]) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("m", "2", "d")
        assert "since then" not in bench.screen
        await bench.press("escape")
        await bench.on(1)
        await bench.press("m", "1", "d")
        assert "done since then: soaked" in bench.screen

    drive(tmp_path, script, size=size)


def test_leaving_the_demo_says_that_it_is_thrown_away_and_any_other_day_that_it_stays(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        await bench.press("q")
        assert "Everything is saved" in bench.screen
        await bench.press("escape")
        bench.app.is_demo = True
        await bench.press("q")
        assert "Leave the demo? It is deleted" in bench.screen

    drive(tmp_path, script)


def test_one_colourway_on_two_bases_is_told_apart_where_there_is_room(tmp_path: Path) -> None:
    """The base appears before what was last, as wide as the longest name and no wider."""

    async def script(bench: Bench) -> None:
        assert "Base " in bench.screen
        assert "Marsh Lantern Plain Sock 4" in bench.row("01")
        assert "Marsh Lantern Sock Mini  4" in bench.row("11")

    drive(tmp_path, script, plan=HEAVY_DAY, size=(140, 40))


def test_the_key_of_a_chore_stands_at_the_foot_while_a_chore_is_advised_first(tmp_path: Path) -> None:
    """Nothing else tells that tying is recorded by C."""

    async def script(bench: Bench) -> None:
        assert "[C]" not in bench.screen
        bench.app.outlook.forecast = forecast(bench.app.live.day, bench.clock(), evaluations=20)
        bench.app.tick()
        await bench.settle()
        assert "[C] chore done" in bench.screen.split("\n")[-1]
        first = bench.app.bench.view_cache.items[0]
        await bench.press("C", "enter")
        assert f"recorded: {first.about} done: {first.do}" in bench.screen

    drive(tmp_path, script)


def test_a_day_of_which_all_only_dries_says_how_it_is_closed(tmp_path: Path) -> None:
    async def script(bench: Bench) -> None:
        assert "x closes the day" not in bench.screen
        for no, batch in bench.app.live.day.batches.items():
            bench.app.live.record(draft("moved", no, {"to": "paint", "layer": len(batch.colourway.layers)}))
            bench.app.live.record(draft("moved", no, {"to": "dry", "unit": "pegs 1"}))
        await bench.on(5)
        assert "5 batches hang to dry; x closes the day" in bench.screen
        await bench.press("x")
        await bench.type("close")
        await bench.press("enter", "escape")
        assert "x closes the day" not in bench.screen

    drive(tmp_path, script)


def test_painted_yarn_past_its_time_is_not_shown_as_about_to_dry_out(tmp_path: Path) -> None:
    """With its minutes on either side of that time."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "2", "m", "3", "w", "o")
        await bench.on(50)
        assert "painted, 10 min before it dries out" in bench.screen
        assert "safe 10 min" in bench.row("04")
        await bench.on(52)
        assert bench.app.bench.view_cache.items[0].why == "may have dried out 42 min ago; or wrap it"
        assert "04 is painted and drying out" in bench.advised[0]
        assert "before it dries out" not in bench.screen

    drive(tmp_path, script)


@pytest.mark.parametrize(
    ("numbers", "said"),
    [
        ([], ""),
        (["03"], "03"),
        (["01", "02", "04"], "01, 02, 04"),
        ([f"{n:02}" for n in range(1, 91)], "01 to 90"),
        (["02", "03a", "03b", *[f"{n:02}" for n in range(5, 11)], "12"], "02, 03a, 03b, 05 to 10, 12"),
        ([f"{n:03}" for n in range(98, 103)], "098, 099, 100, 101, 102"),
    ],
)
def test_many_batches_that_follow_one_another_are_shown_by_the_first_and_the_last(
    numbers: list[str], said: str
) -> None:
    assert batches_text(numbers) == said


def test_heats_of_any_number_have_their_ending() -> None:
    assert " ".join(map(ordinal, (1, 2, 3, 4, 11, 13, 21, 32))) == "1st 2nd 3rd 4th 11th 13th 21st 32nd"


def test_the_far_view_tells_a_chore_of_two_lots_once_and_leaves_no_room_for_a_number_it_has_not() -> None:
    things = [
        Attention("", "mix dyes", None, Urgency.CALM),
        Attention("", "mix dyes", None, Urgency.CALM),
        Attention("03", "dye", 725.0, Urgency.CALM),
    ]
    lines = far_text(things, Canvas(80, 24, DARK), FarStatus(True, None)).plain.split("\n")
    assert any(line.rstrip()[2:] == glyphs.drawn("mix dyes", 1)[0].rstrip() for line in lines)
    assert not any("mix dyes" in line for line in lines)
    assert any(glyphs.drawn("03", 1)[0] in line for line in lines)


@pytest.mark.parametrize(
    ("seconds", "said"),
    [(-3600.0, "the clock was set 1 h back"), (9000.0, "the clock was set 2 h 30 forward"), (3.4, "3 s forward")],
)
def test_the_log_tells_by_how_much_and_which_way_the_clock_was_set(tmp_path: Path, seconds: float, said: str) -> None:
    async def script(bench: Bench) -> None:
        bench.app.live.record(draft("clock stepped", None, {"seconds": seconds}))
        await bench.press("l")
        assert said in bench.screen

    drive(tmp_path, script)
