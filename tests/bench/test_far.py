"""The far view: large enough, in the right order, the same words without colour."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from rich.cells import cell_len

from dyeday.ahead.advising.next_up import NextUp, Rank, next_up
from dyeday.ahead.forecast import forecast
from dyeday.bench.looks.themes import DARK
from dyeday.bench.view import glyphs
from dyeday.bench.view.attention import Attention, TimeSense, needing_attention
from dyeday.bench.view.batch_row import Urgency, urgency_of_item
from dyeday.bench.view.far_text import FarStatus, far_text, reading_m
from dyeday.bench.widgets.board import Canvas
from dyeday.track.folding.fold import fold
from tests.bench.driving import Bench, drive
from tests.fakes import SHORT_DAY, FakeClock, Ids
from tests.track.days import at, day_of, heated, now

THINGS = [
    Attention("03", "heat off", -420.0, Urgency.ALARM, True),
    Attention("01", "paint", -60.0, Urgency.READY),
    Attention("12", "rinse", 754.0, Urgency.CALM),
]


@pytest.mark.parametrize("size", [(80, 24), (100, 30), (140, 40), (160, 50), (200, 60)])
@pytest.mark.parametrize(
    "things", [THINGS, THINGS[1:], THINGS[2:], [], [Attention("steamer 1", "tank", -9000.0, Urgency.ALARM)]]
)
def test_it_fits_every_terminal_and_its_digits_have_five_dots_by_seven(
    size: tuple[int, int], things: list[Attention]
) -> None:
    """ISO 9241-3 asks 5 x 7 dots of a numeral at least; the digits are at least seven rows high."""
    text = far_text(things, Canvas(*size, DARK), FarStatus(True, 174, silences=True)).plain
    lines = text.split("\n")
    assert len(lines) <= size[1]
    assert max(cell_len(line) for line in lines) <= size[0]
    if things:
        assert max(scale for scale in range(2, 13) if shows(lines, things[0].digits, scale)) >= 2


def shows(lines: list[str], words: str, scale: int) -> bool:
    """Tell whether ``words`` stand somewhere at this scale, row below row."""
    rows = [row.rstrip() for row in glyphs.drawn(words, scale)]
    return any(
        all(row in line for row, line in zip(rows, lines[n : n + len(rows)], strict=False))
        for n in range(len(lines) - len(rows) + 1)
    )


STEAMED = [
    Attention("06", "heat off", -540.0, Urgency.ALARM, True, unit="steamer 2"),
    Attention("07", "heat off", 60.0, Urgency.READY, unit="microwave 1"),
    Attention("14", "tie and count", None, Urgency.CALM),
]


@pytest.mark.parametrize("left_s", [-540.0, -1260.0])
def test_it_reads_from_further_away_on_a_larger_terminal(left_s: float) -> None:
    """On a screen 174 mm high: digits from 8 m, words from 4 m, at 20 minutes of arc (ISO 9241-303)."""
    things = [replace(STEAMED[0], left_s=left_s), *STEAMED[1:]]
    reached = []
    for width, rows in ((80, 24), (140, 40), (200, 60)):
        lines = far_text(things, Canvas(width, rows, DARK), FarStatus(True, 174)).plain.split("\n")
        far = {
            words: reading_m(174, rows, max(n for n in range(1, 13) if shows(lines, words, n)))
            for words in (things[0].digits, "06", "heat off", "steamer 2")
        }
        assert far[things[0].digits] >= 8.0
        assert far["06"] >= 8.0
        assert far["heat off"] >= 4.0
        assert far["steamer 2"] >= 4.0
        assert f"digits readable from about {far['06']:.0f} m" in lines[-1]
        assert "  • 07  heat off  microwave 1  1 min left" in lines or shows(lines, "07 off 1 min left", 1)
        reached.append(far["06"])
    assert reached == sorted(set(reached))


def test_its_first_line_tells_the_time_and_when_the_day_finishes(tmp_path: Path) -> None:
    text = far_text(STEAMED, Canvas(80, 24, DARK), FarStatus(True, 174, clock="14:20", finish="finish 03:08")).plain
    lines = text.split("\n")
    assert lines[0].split() == ["14:20", "finish", "03:08"]
    assert len(lines) <= 24

    async def script(bench: Bench) -> None:
        await bench.press("v")
        assert bench.screen.split("\n")[0].strip() == "09:00"
        bench.app.outlook.forecast = forecast(bench.app.live.day, bench.clock(), evaluations=2)
        await bench.on(1)
        assert bench.screen.split("\n")[0].split()[:2] == ["09:01", "finish"]

    drive(tmp_path, script)


def test_what_follows_says_when_and_where_as_the_list_does_and_never_in_letters_that_read_as_an_order() -> None:
    """ "06 HEAT OFF" below the line, without a time, was switched off early; 02's flag comes before its heat."""
    day, clock = day_of([*heated(), at("12:30", "01", reading="eye", value="coloured", where="puddle")]), now("15:05")
    when = now("15:23").utc
    again = NextUp("01", "heat on in steamer 1", "15:23: see its flag", Rank.FORESEEN, unit="steamer 1", begin=when)
    items = [NextUp("02", "into the soak", "", Rank.FORESEEN), again]
    things = needing_attention(day, clock, items)
    lines = far_text(things, Canvas(80, 24, DARK), FarStatus(True, 174)).plain.split("\n")
    assert "    01  heat on in steamer 1  15:23: see its flag" in lines
    assert not shows(lines, "01", 1)
    assert (things[1].word, things[1].begins) == ("see flag", "15:23")
    tall = far_text(things, Canvas(120, 40, DARK), FarStatus(True, 174)).plain.split("\n")
    assert shows(tall, "01 see flag 15:23", 1)


def test_a_zero_is_plain() -> None:
    """A stroke through it closes it to an 8 from afar."""
    assert glyphs.drawn("0", 2) == glyphs.drawn("O", 2)


def test_a_silences_from_the_far_view(tmp_path: Path) -> None:
    """At once, however long no key came: it records that the alarm was silenced and nothing else."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "3", "space", "enter")
        await bench.press("v")
        await bench.on(300, away=True)
        assert "[a] silence" in bench.screen
        before = len(bench.kinds)
        await bench.press("a")
        assert bench.app.screen.is_modal or bench.kinds[before:] == ["alarm"]
        if bench.app.screen.is_modal:
            await bench.press("enter")
        assert bench.kinds[before:] == ["alarm"]

    drive(tmp_path, script)


def test_muted_a_mark_stands_on_the_bench_and_the_far_view_until_sound_is_back(tmp_path: Path) -> None:
    """j and a digit; nothing is put on record."""

    async def script(bench: Bench) -> None:
        await bench.press("j", "2")
        assert "(muted until 09:15)" in bench.screen.split("\n")[0]
        await bench.press("v")
        assert "muted until 09:15" in bench.screen
        await bench.on(14)
        assert "muted until 09:15" in bench.screen
        await bench.on(1.1)
        assert "muted" not in bench.screen
        await bench.press("v", "j", "1", "j", "0")
        assert "(muted" not in bench.screen
        assert "sound is on" in bench.screen
        assert bench.kinds == []

    drive(tmp_path, script)


def test_after_sleep_the_far_view_stays_and_says_so_in_one_line(tmp_path: Path) -> None:
    """No page of small type covers what is due."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "1", "m", "1", "v")
        far = bench.app.screen
        bench.clock.on(22)
        bench.app.tick()
        await bench.settle()
        assert bench.app.screen is far
        assert "asleep 22 min" in bench.screen
        assert shows(bench.screen.split("\n"), "01", 2)
        await bench.press("down")
        assert "asleep" not in bench.screen

    drive(tmp_path, script)


def test_the_mark_blinks_and_the_text_never_does() -> None:
    """CRIOP, after NUREG-0700: a sign may flash, text never."""
    on = far_text(THINGS, Canvas(80, 24, DARK), FarStatus(True, None)).plain.split("\n")
    off = far_text(THINGS, Canvas(80, 24, DARK), FarStatus(False, None)).plain.split("\n")
    assert [a for a, b in zip(on, off, strict=True) if a != b]
    assert [line[6:] for line in on[:8]] == [line[6:] for line in off[:8]]
    assert on[8:] == off[8:]
    calm = [Attention("03", "heat off", -420.0, Urgency.ALARM, False)]
    assert far_text(calm, Canvas(80, 24, DARK), FarStatus(False, None)) == far_text(
        calm, Canvas(80, 24, DARK), FarStatus(True, None)
    )


@pytest.mark.parametrize(
    ("rows", "metres"),
    [(24, 8.7), (50, 4.2)],
)
def test_from_how_far_it_reads_follows_from_twenty_minutes_of_arc(rows: int, metres: float) -> None:
    """ISO 9241-303: 20 to 22 minutes of arc are preferred; h = 2 d tan(angle / 2), here of a 174 mm screen."""
    assert reading_m(174, rows) == pytest.approx(metres, abs=0.05)


@pytest.mark.parametrize(
    ("left_s", "digits", "sense"),
    [
        (754.0, "12", "left"),
        (42.0, "42", "left"),
        (60.0, "1", "left"),
        (0.0, "", "ready"),
        (-7200.0, "120", "ready"),
    ],
)
def test_minutes_are_shown_and_seconds_only_in_the_last_minute(left_s: float, digits: str, sense: str) -> None:
    """One number, and whether it is left, or past: over where harm comes of it, ready where none does."""
    thing = Attention("01", "paint", left_s, Urgency.CALM)
    assert (thing.digits, thing.sense) == (digits, TimeSense(sense))
    assert Attention("01", "heat off", left_s, Urgency.OVER).sense is (
        TimeSense.OVER if left_s <= 0 else TimeSense.LEFT
    )


def test_painted_yarn_is_said_to_be_safe_so_long_and_not_to_have_so_long_left() -> None:
    """ "23 h left" beside "heat on" would be read as the time until its heat."""
    painted = [at("10:00", "01", to="paint"), at("10:20", "01", to="fix")]
    (thing,) = needing_attention(day_of(painted), now("10:30"), [])
    assert thing.in_words == "safe 23 h"
    shown = far_text([thing], Canvas(80, 24, DARK), FarStatus(True, 174)).plain
    assert "left" not in shown


def test_alarms_come_first_then_what_is_due_and_possible_then_what_still_runs() -> None:
    """The order is that of the bench's next lines, batches without a clock among them; running clocks follow."""
    from dyeday.plan.reading.plan_reader import read_plan
    from dyeday.track.day.day_state import Event
    from tests.typed_events import make

    clock, ids = FakeClock(), Ids()
    events: list[Event] = []

    def happen(kind: str, batch: str, **data: Any) -> None:
        events.append(make(kind, clock(), ids, batch=batch, **data))

    happen("pass", "04", run="start", **{"pass": 1})
    clock.on(30)
    happen("moved", "01", to="soak")
    clock.on(15)
    happen("moved", "02", to="soak")
    clock.on(12)
    plan = read_plan(SHORT_DAY.read_text(encoding="utf-8"))
    day = fold(plan, events)
    found = needing_attention(day, clock(), next_up(day, clock()))
    assert [(w.about, w.word, w.urgency) for w in found] == [
        ("04", "heat off", Urgency.OVER),
        ("01", "paint", Urgency.READY),
        ("03", "soak", Urgency.CALM),
        ("05", "soak", Urgency.CALM),
        ("02", "paint", Urgency.CALM),
    ]


@pytest.mark.parametrize(("minutes", "word"), [(20, "tank"), (95, "heat off")])
def test_a_tank_that_is_low_says_heat_off_before_anything_else(minutes: int, word: str) -> None:
    """Filled while it is hot it spits and cracks; until it is low, its time counts down as the tank's."""
    clock = now(f"{10 + (30 + minutes) // 60}:{(30 + minutes) % 60:02d}")
    day = day_of([at("10:00", "01", to="fix"), at("10:30", "01", heat_no=1, run="start", unit="steamer 1")])
    words = {thing.about: thing.word for thing in needing_attention(day, clock, next_up(day, clock))}
    assert words["steamer 1"] == word


def test_heat_to_come_names_the_unit_the_yarn_goes_into_and_not_the_one_it_lies_in() -> None:
    """After its bursts it still lies in the microwave."""
    day = day_of([at("10:00", "04", to="fix", unit="microwave 1")])
    item = NextUp("04", "heat on in steamer 1", "", Rank.FORESEEN, unit="steamer 1")
    assert needing_attention(day, now("10:30"), [item])[0].unit == "steamer 1"


def test_one_key_shows_it_and_one_goes_back(tmp_path: Path) -> None:
    """v there and back; what is big is the next thing's number and minutes."""

    async def script(bench: Bench) -> None:
        for batch in ("02", "03", "04", "05", "01"):
            await bench.press(*batch, "m", "1")
        await bench.on(8)
        await bench.press("v")
        for row in glyphs.drawn("12", 2):
            assert row.rstrip() in bench.screen
        for row in glyphs.drawn("paint", 1):
            assert row.rstrip() in bench.screen
        await bench.on(1)
        assert glyphs.drawn("11", 2)[3].rstrip() in bench.screen
        await bench.press("v")
        assert "Colourway" in bench.screen

    drive(tmp_path, script)


def test_the_far_view_and_the_next_lines_of_the_bench_are_the_same_things_in_the_same_order(tmp_path: Path) -> None:
    """With batches that have no clock among them, and with a forecast's steps."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "4", "m", "3", "space", "enter", "0", "1", "m", "1")
        await bench.on(51)
        for _source in ("plain", "forecast"):
            shown = bench.app.bench.shown
            assert shown is not None
            items = shown.next_up
            things = needing_attention(bench.app.live.day, bench.clock(), bench.app.bench.view_cache.items)
            assert [w.about for w in things][: len(items)] == [item.about for item in items]
            assert [w.urgency for w in things][: len(items)] == [urgency_of_item(item) for item in items]
            bench.app.outlook.forecast = forecast(bench.app.live.day, bench.clock(), evaluations=20)
            bench.app.bench.paint()
        assert any(w.left_s is None for w in things)

    drive(tmp_path, script)


def test_where_the_next_thing_has_no_time_the_digits_are_of_the_soonest_clock_and_say_whose() -> None:
    """02 may go into the soak at any time; 01 has twelve minutes left."""
    things = [Attention("02", "soak", None, Urgency.CALM), Attention("01", "paint", 725.0, Urgency.CALM)]
    lines = far_text(things, Canvas(80, 24, DARK), FarStatus(True, None)).plain.split("\n")
    assert shows(lines, "02", 2)
    assert shows(lines, "12", 2)
    assert shows(lines, "01", 1)


def test_how_long_another_batch_has_been_ready_is_not_shown_as_a_figure() -> None:
    """ "102" beside "02 ready min" read as a batch, or as minutes to go; the minutes are of the heat that ends."""
    first, ready = Attention("09", "tie", None, Urgency.CALM), Attention("02", "rinse", -6120.0, Urgency.READY)
    heat = Attention("06", "heat off", 180.0, Urgency.CALM)
    lines = far_text([first, ready, heat], Canvas(80, 24, DARK), FarStatus(True, 174)).plain.split("\n")
    scales = range(1, 5)
    large = [any(shows(lines, figure, scale) for scale in scales) for figure in ("09", "3", "102")]
    assert large == [True, True, False]


@pytest.mark.parametrize(("size", "rows"), [((80, 24), range(1, 8)), ((44, 9), range(4)), ((160, 50), range(2, 9))])
def test_a_number_and_the_minutes_of_another_batch_never_read_as_one_figure(
    size: tuple[int, int], rows: range
) -> None:
    """A line stands between them in every row."""
    things = [Attention("09", "paint", -660.0, Urgency.READY), Attention("07", "heat off", 6060.0, Urgency.CALM)]
    untimed = [Attention("09", "paint", None, Urgency.CALM), *things[1:]]
    for shown in (things, untimed) if size[1] > 9 else (things,):
        lines = far_text(shown, Canvas(*size, DARK), FarStatus(True, None)).plain.split("\n")
        assert max(cell_len(line) for line in lines) <= size[0]
        assert all("│" in lines[n] for n in rows)


@pytest.mark.parametrize("size", [(40, 12), (60, 15), (20, 6), (10, 3), (10, 1)])
@pytest.mark.parametrize(
    "things",
    [
        THINGS,
        THINGS[1:],
        [Attention("02", "soak", None, Urgency.CALM), *THINGS[2:]],
        [Attention("01a+01b", "heat off", -700.0, Urgency.ALARM)],
        [],
    ],
)
def test_a_small_terminal_shows_number_word_and_time_in_what_room_it_has(
    size: tuple[int, int], things: list[Attention]
) -> None:
    """Half blocks from 34 x 9 on, plain text below; nothing is cut off by the edge but what follows."""
    text = far_text(things, Canvas(*size, DARK), FarStatus(True, 174)).plain
    lines = text.split("\n")
    assert len(lines) <= size[1]
    assert max(cell_len(line) for line in lines) <= size[0]
    if not things or size[1] < 3:
        return
    first = things[0]
    if size[1] >= 9:
        assert (
            first.about in text
            or glyphs.drawn(first.about, 1)[0] in lines[0]
            or glyphs.drawn("01a+", 1)[0] in lines[0]
        )
        blocks = [glyphs.drawn(first.digits, 1)] if first.digits else []
        assert all(row in line for block in blocks for row, line in zip(block, lines[:4], strict=True))
    else:
        assert first.about in lines[0]
        assert first.word in lines[1]
        assert first.digits in text


def test_a_time_so_far_is_shown_as_for() -> None:
    """No time is set: how long it has been so."""
    thing = Attention("01", "heat on", None, Urgency.CALM, so_far_s=125.0)
    assert (thing.digits, thing.sense) == ("2", TimeSense.SO_FAR)
    lines = far_text([thing], Canvas(80, 24, DARK), FarStatus(True, 174)).plain.split("\n")
    assert any(re.search(r"for .* min$", line) for line in lines)
    large = far_text([thing], Canvas(120, 40, DARK), FarStatus(True, 174)).plain.split("\n")
    for_, minutes = (glyphs.drawn(word, 1)[0] for word in ("for", "min"))
    assert any(0 <= line.find(for_) < line.find(minutes) for line in large)
    assert "for 2 min; v goes back" in far_text([thing], Canvas(40, 12, DARK), FarStatus(True, 174)).plain


@pytest.mark.parametrize(("size", "large"), [((80, 24), True), ((40, 12), False), ((10, 3), False)])
def test_what_is_ready_just_now_has_no_figure_that_reads_as_time_left(size: tuple[int, int], large: bool) -> None:
    """ "0 min ready" would not tell from across the room whether it has come or will; the time left is another's."""
    things = [Attention("07", "heat on", -10.0, Urgency.READY), THINGS[0]]
    shown = far_text(things, Canvas(*size, DARK), FarStatus(True, 174)).plain.split("\n")
    assert things[0].in_words == "ready now"
    ready = [line for line in shown if (glyphs.drawn("ready", 1)[0] if large else "ready") in line]
    assert len(ready) == 1
    minutes = glyphs.drawn("min", 1)[0] if large else "0 min"
    assert not any(minutes in line for line in shown[:9])


def test_every_figure_has_its_unit_and_none_looks_like_a_time_of_day() -> None:
    """Seconds, minutes, hours and days: a countdown "0:26" beside a clock "23:53" would be read as a time."""
    ready = Attention("02", "rinse", -6840.0, Urgency.READY)
    things = [THINGS[0], Attention("09", "tie and count", None, Urgency.CALM), ready]
    for size in ((40, 12), (32, 6)):
        assert "ready 114 min ago" in far_text(things, Canvas(*size, DARK), FarStatus(True, 174)).plain
    for left_s, time in ((42.0, "42 s"), (59 * 60.0, "59 min"), (43_500.0, "12 h"), (5 * 86_400.0 + 9, "5 d")):
        thing = Attention("01", "steam", left_s, Urgency.CALM)
        assert thing.time == time
        for size in ((30, 2), (32, 6), (40, 12), (80, 24)):
            shown = far_text([thing], Canvas(*size, DARK), FarStatus(True, 174)).plain
            assert time in shown or shows(shown.split("\n"), thing.time_unit, 1) or f"{thing.time_unit} left" in shown
    untimed = Attention("14", "tie and count", None, Urgency.CALM)
    lines = far_text([untimed, THINGS[2]], Canvas(80, 24, DARK), FarStatus(True, 174)).plain.split("\n")
    assert shows(lines, "12", 1)  # whose minutes the large digits are
    assert shows(lines, "min", 1)
