"""The zones of the bench: the alarm line, calm rows, the chosen batch's pane, the kit along a line of time."""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from dyeday.ahead.forecast import Forecast, forecast
from dyeday.bench.looks.themes import DARK, ColourDepth
from dyeday.bench.view.time_line import axis_parts, bars_at, time_line
from dyeday.bench.widgets.board import Canvas
from dyeday.commands.screens.demo import make_demo
from dyeday.paper.sheets.day_chart import BarKind, day_bars, stretches
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.track.day.day_state import Day
from dyeday.track.folding.fold import begin, fold
from tests.bench.driving import Bench, drive
from tests.fakes import SHORT_DAY, FakeClock
from tests.speed.days import plan_text

MOMENT = datetime(2026, 5, 9, 14, 20, tzinfo=UTC)
"""of the heavy example: a steamer is on past its time, five batches are ready"""


def heavy(folder: Path, script: Callable[[Bench], Awaitable[None]], size: tuple[int, int]) -> None:
    """Run ``script`` on the heavy example in the middle of its day, with a forecast."""
    clock = FakeClock(MOMENT)

    async def foreseen(bench: Bench) -> None:
        bench.app.outlook.forecast = forecast(bench.app.live.day, clock(), evaluations=40)
        bench.app.bench.paint()
        await bench.settle()
        await script(bench)

    drive(folder, foreseen, session=make_demo(folder, clock()), clock=clock, size=size)


@pytest.fixture(scope="module")
def heavy_day(tmp_path_factory: pytest.TempPathFactory) -> tuple[Day, Forecast]:
    clock = FakeClock(MOMENT)
    session = make_demo(tmp_path_factory.mktemp("heavy"), clock())
    day = fold(session.plan, session.events)
    return day, forecast(day, clock(), evaluations=40)


@pytest.mark.parametrize("size", [(140, 40), (200, 60)])
def test_at_most_a_third_of_a_large_terminal_stays_empty(tmp_path: Path, size: tuple[int, int]) -> None:
    """Lines with nothing in them, but for the frame."""

    async def script(bench: Bench) -> None:
        lines = bench.screen.split("\n")
        lines += [""] * (size[1] - len(lines))
        empty = [line for line in lines if not line.replace("│", "").strip()]
        assert len(lines) == size[1]
        assert len(empty) <= size[1] // 3
        for zone in ("── Next ", "── Batches ", "── Kit ", "▶ 06 Bonfire Ash"):
            assert any(zone in line for line in lines), zone

    heavy(tmp_path, script, size)


def test_at_80_by_24_what_burns_alarms_and_what_may_wait_is_ready(tmp_path: Path) -> None:
    """Heat past its time is over; cool and soaked batches are ready, however long."""

    async def script(bench: Bench) -> None:
        lines = bench.screen.split("\n")
        assert lines[2].startswith("▌! 06  HEAT OFF STEAMER 2")
        assert "9 min over" in bench.row("06")
        assert "ready 12:26" in bench.row("02")
        assert "ready 13:35" in bench.row("08")
        assert "1 over · 5 ready · 2 running" in next(line for line in lines if line.startswith("── Batches"))

    heavy(tmp_path, script, (80, 24))


def test_what_waits_folds_where_rows_are_many_and_what_runs_is_never_off_the_screen(tmp_path: Path) -> None:
    """Thirty batches at 80 x 24: those in a soak stand there, and so does the chosen one."""

    async def script(bench: Bench) -> None:
        for no in ("03", "17", "29"):
            await bench.press(*no, "m", "1")
        await bench.press("0", "1")
        for no in ("01", "03", "17", "29"):
            assert bench.row(no)
        folded = re.search(r"… (\d+) waiting", bench.screen)
        assert folded is not None
        shown = [line for line in bench.screen.split("\n") if re.match(r"[▶ ][• !]\d\d ", line)]
        assert len(shown) + int(folded[1]) == 30
        await bench.press("2", "4")
        assert bench.row("24").startswith("▶")

    drive(tmp_path, script, text=plan_text(30))


def test_the_pane_follows_the_chosen_batch(tmp_path: Path) -> None:
    """Whose it is, its flags with their remedies, what happened, what comes next."""

    async def script(bench: Bench) -> None:
        await bench.press("0", "5")
        assert "▶ 05 Bonfire Ash on Plain Sock" in bench.screen
        pane = "\n".join(line.split("│")[-1] for line in bench.screen.split("\n") if "│" in line)
        assert "⚑ no acid soak" in pane
        assert "12:17 to cool" in pane
        assert "next: speckle" in pane

    heavy(tmp_path, script, (140, 40))


def test_past_and_coming_stand_on_one_scale_and_tomorrow_on_the_same(heavy_day: tuple[Day, Forecast]) -> None:
    """Each cell is as many minutes, now is between what was and what will be, and no row is wider than the screen."""
    day, found = heavy_day
    for width in (80, 140, 200):
        drawn = axis_parts(day, stretches(day, found, MOMENT), MOMENT, width - 15)
        assert len({piece.slot_min for piece in drawn}) == 1
        assert drawn[0].start < MOMENT < drawn[0].at(drawn[0].cells)
        assert drawn[1].start.date() == MOMENT.date() + timedelta(days=1)
        lines = time_line(day, found, MOMENT, Canvas(width, 15, DARK))
        assert max(line.cell_len for line in lines) <= width
        assert "now 14:20" in lines[0].plain
        assert "Sun 10 May" in lines[0].plain
        assert "20:00 stop" in lines[1].plain


def test_bars_are_in_the_swatch_of_their_batch(heavy_day: tuple[Day, Forecast]) -> None:
    """And in sixteen colours or none in reverse, with their number; with or without colours heat has its sign."""
    day, found = heavy_day

    def steamer(colours: ColourDepth) -> list[str]:
        lines = time_line(day, found, MOMENT, Canvas(140, 15, DARK, colours))
        row = next(line for line in lines if line.plain.startswith(" steamer 2"))
        return [str(span.style) for span in row.spans]

    own = {section.swatch for section in day.batches["06"].colourway.layers[0].sections if section.swatch}
    styles = " ".join(steamer(ColourDepth.ALL))
    assert all(f"on {swatch}" in styles for swatch in own)
    assert "bold reverse" in steamer(ColourDepth.NONE)
    for colours in (ColourDepth.ALL, ColourDepth.NONE):
        lines = [line.plain for line in time_line(day, found, MOMENT, Canvas(77, 15, DARK, colours))]
        assert "==" in next(line for line in lines if line.startswith(" steamer 1"))
        assert " = heat " in lines[-1]
    assert not any("#" in style for style in steamer(ColourDepth.NONE) if "reverse" in style)


def test_fills_breaks_and_heat_past_its_time_are_marked(heavy_day: tuple[Day, Forecast]) -> None:
    """Steamer 2 was due at 14:11 and is still on; the tank of each heat is filled as it is loaded."""
    day, found = heavy_day
    over = [bar for bar in day_bars(day, found, MOMENT) if bar.kind is BarKind.OVER and bar.batch == "06"]
    assert [(bar.row, bar.end) for bar in over if bar.start < MOMENT] == [("steamer 2", MOMENT)]
    assert over[0].start == MOMENT - timedelta(minutes=9)
    lines = [line.plain for line in time_line(day, found, MOMENT, Canvas(140, 15, DARK))]
    assert any("▲" in line for line in lines if line.startswith(" steamer"))
    assert "break" in next(line for line in lines if line.startswith(" hands"))
    legend = time_line(day, found, MOMENT, Canvas(77, 15, DARK))[-1].plain
    assert "…" not in legend
    drawn = {char for line in lines[2:-1] for char in line[13:] if char in "▒·=▓▲━┊"}
    assert len(drawn) >= 4
    assert all(char in legend for char in drawn)
    assert " · no hands " in legend


def test_where_rows_are_few_what_heats_stays_on_the_line_of_time(heavy_day: tuple[Day, Forecast]) -> None:
    """Trays and the sink go first: heat is what comes to harm."""
    day, found = heavy_day
    lines = [line.plain for line in time_line(day, found, MOMENT, Canvas(100, 8, DARK))]
    assert [line.split("  ")[0].strip() for line in lines[2:-1]] == [
        "hands",
        "microwave 1",
        "steamer 1",
        "steamer 2",
        "stockpot 1",
    ]


def test_an_absence_is_marked_on_the_row_of_the_hands() -> None:
    """The house is empty: dots, and the word where there is room."""
    text = SHORT_DAY.read_text(encoding="utf-8").replace("[session]", '[session]\nout = ["10:30-11:15"]', 1)
    day, clock = begin(read_plan(text)), FakeClock()
    found = forecast(day, clock(), evaluations=20)
    lines = [line.plain for line in time_line(day, found, clock().utc, Canvas(140, 15, DARK))]
    assert "out" in next(line for line in lines if line.startswith(" hands"))


def test_what_is_said_of_a_moment_is_every_bar_that_is_on_then(heavy_day: tuple[Day, Forecast]) -> None:
    """With its batch, from when to when, and for how long."""
    day, found = heavy_day
    bars = stretches(day, found, MOMENT)[0].bars
    bar_texts = bars_at(day, bars, MOMENT - timedelta(minutes=20), 5, None)
    assert "steamer 2: heat, 06 Bonfire Ash, 13:31 to 14:11, 40 min" in bar_texts
    assert not any("stockpot" in line for line in bar_texts)


def test_not_now_says_that_it_passes_over_what_cannot_wait(tmp_path: Path) -> None:
    """06 has been in heat for longer than its time: that is not put off, the first step after it is."""

    async def script(bench: Bench) -> None:
        await bench.press("N")
        said = " ".join(bench.screen.split())
        print(said[-400:])
        assert re.search(r"06[^.]* cannot wait: overdue, or in the way in a unit\. Not now: (?!06)", said)

    heavy(tmp_path, script, (120, 30))


def test_closing_with_heat_on_names_the_units_and_wants_a_word(tmp_path: Path) -> None:
    """One key that slips closes no day over a steamer that is on."""

    async def script(bench: Bench) -> None:
        await bench.press("x")
        assert "HEAT IS STILL ON: microwave 1 (07), steamer 2 (06)" in bench.screen
        assert "Closing does not end heat on record; Space on the batch does" in " ".join(bench.screen.split())
        await bench.press("y", "enter")
        assert "closed" not in bench.kinds
        await bench.press("backspace")
        await bench.type("off")
        await bench.press("enter")
        assert "closed" in bench.kinds
        assert [bench.app.live.day.batches[no].open_heat is None for no in ("06", "07")] == [False, False]

    heavy(tmp_path, script, (120, 30))


def test_arrows_move_along_the_time_of_the_rest_of_the_day_and_tell_what_is_on(tmp_path: Path) -> None:
    """The moment and each bar that is on then; escape goes back to now, and once more to the bench."""

    async def script(bench: Bench) -> None:
        await bench.press("y")
        kit = next(n for n, line in enumerate(bench.screen.split("\n")) if line.startswith("── Kit "))
        assert kit + 3 < 24
        await bench.press("left")
        await bench.resize(80, 60)
        assert "steamer 2: heat" in bench.screen
        assert "06 Bonfire Ash, 13:31 to 14:11, 40 min" in bench.screen or "over its time" in bench.screen
        await bench.press("t")
        assert "── Timetable" in bench.screen and "── Kit" not in bench.screen
        await bench.press("escape")
        assert "── Kit" in bench.screen
        await bench.press("escape")
        assert "── Batches" in bench.screen

    heavy(tmp_path, script, (80, 24))


def test_flags_of_the_day_use_the_width_there_is(tmp_path: Path) -> None:
    """Flag, reason and remedy side by side on a wide screen, one below the other on a narrow one."""

    async def script(bench: Bench) -> None:
        await bench.press("d")
        heads = [cell.strip() for cell in bench.screen.split("\n")[1].split("│")]
        assert heads == ["Flag", "Why", "What to do"]
        first = next(line for line in bench.screen.split("\n") if "no acid soak" in line)
        assert [cell.strip() for cell in first.split("│")][:2] == [
            "05 no acid soak",
            "soaked 1 h 04 with no acid recorded",
        ]
        assert max(len(line.rstrip()) for line in bench.screen.split("\n")) > 120
        await bench.resize(80, 24)
        await bench.press("escape", "d")
        assert "│" not in bench.screen
        assert "soaked 1 h 04 with no acid recorded" in bench.screen

    heavy(tmp_path, script, (140, 40))
