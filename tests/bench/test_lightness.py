"""What keeps the bench light: nothing worked out, loaded or drawn that neither an event nor time has changed."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.segment import Segment
from rich.style import Style
from rich.text import Text
from textual.geometry import Region
from textual.strip import Strip

import dyeday
from dyeday.ahead.forecast import forecast
from dyeday.bench.input.idle_gate import LONGEST_WAIT_S, PAUSE_S, IdleGate
from dyeday.bench.looks.themes import DARK
from dyeday.bench.view.batch_list import BatchList, tally
from dyeday.bench.view.bench_view import ViewCache
from dyeday.bench.widgets.board import Board, Canvas, differing
from dyeday.commands.screens.bench_services import AHEAD_S, FIRST_S, MINUTE_S, SETTLING_S, BenchForecasts
from dyeday.commands.studio_records import EVALUATIONS
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.track.flags import flags_by_batch
from dyeday.track.folding.fold import begin, fold, take
from tests.bench.driving import Bench, drive
from tests.fakes import HEAVY_DAY, FakeClock
from tests.speed.days import session_of, soaking_day
from tests.speed.key_press import measured
from tests.track.days import at, day_of, now, proper, soaked
from tests.typed_events import make


@dataclass
class Sleeper:
    """A clock that moves only while a coroutine sleeps on it; ``keys`` are pressed at their moments meanwhile."""

    now_s: float = 100.0
    slept: list[float] = field(default_factory=list)

    def clock(self) -> float:
        return self.now_s

    def sleep(self, seconds: float) -> None:
        self.slept.append(seconds)
        self.now_s += seconds


def test_forty_clocks_make_each_row_again_once_a_minute(tmp_path: Path) -> None:
    """At a second of its own each: not sixty rows at every second."""
    clock = FakeClock()
    plan, events = soaking_day(clock(), batches=60, soaking=40)
    day, kept = fold(plan, events), ViewCache()
    kept.view(day, clock(), {}, None)
    assert kept.rows.made == 60
    for _second in range(60):
        clock.on(seconds=1)
        kept.view(day, clock(), {}, None)
    assert kept.rows.made == 60 + 40


def test_the_lists_title_counts_what_dries_apart_from_what_waits() -> None:
    day = day_of(proper("01"))
    rows = ViewCache().view(day, now("13:00"), {}, None).rows
    assert tally(rows) == f"1 drying · {len(rows) - 1} waiting"
    assert tally(rows, open_flags=2).endswith("waiting · 2 flags")


def test_the_lists_title_counts_a_flag_of_two_batches_once() -> None:
    full = [at("09:00", no, to="soak", unit="tray 1") for no in ("01", "02", "05")]
    day, at_ten = day_of(full), now("10:00")
    by_batch = flags_by_batch(day, at_ten)
    assert sum(map(len, by_batch.values())) == 3
    assert ViewCache().view(day, at_ten, by_batch, None).open_flags == 1
    assert ViewCache().view(day_of(full[:1]), at_ten, flags_by_batch(day_of(full[:1]), at_ten), None).open_flags == 0


@pytest.mark.parametrize("since_min", [18.5, 18.505])
def test_what_is_kept_says_what_is_worked_out_again(since_min: float) -> None:
    """At every second of some minutes, the whole ones among them, the rows are those of a view made just then."""
    clock = FakeClock()
    plan, events = soaking_day(clock(), batches=8, soaking=6, since_min=since_min)
    day, kept = fold(plan, events), ViewCache()
    for _second in range(200):
        clock.on(seconds=1)
        assert kept.view(day, clock(), {}, None).rows == ViewCache().view(day, clock(), {}, None).rows


def test_after_the_clock_was_set_back_nothing_that_is_kept_says_what_was_then() -> None:
    """The wall clock alone is known: it shows 09:05 again."""
    day, kept = day_of(soaked()[:2]), ViewCache()
    kept.view(day, now("09:15"), {}, None)
    assert kept.view(day, now("09:05"), {}, None).rows == ViewCache().view(day, now("09:05"), {}, None).rows


def test_the_list_of_batches_is_laid_out_again_only_where_something_in_it_changed() -> None:
    """The same rows, however many are left out or lie above and below, give the very same lines."""
    plan, events = soaking_day(FakeClock()(), batches=60, soaking=40)
    rows = ViewCache().view(fold(plan, events), FakeClock()(), {}, None).rows
    for room in (10, 30, 45, 80):
        listed = BatchList()

        def lines(chosen: str, listed: BatchList = listed, room: int = room) -> list[Text]:
            return listed.lines(rows, chosen, (), Canvas(80, room, DARK))

        first = lines("30")
        assert lines("30") is first
        other = lines("60")
        assert other is not first
        assert lines("60") is other
        assert [line.plain for line in other if line.plain.startswith("▶")] != []


def test_under_a_screen_that_covers_it_the_bench_draws_nothing(tmp_path: Path) -> None:
    """Textual would draw the covering screen whole again each time; back on the bench all is as it should be."""

    async def script(bench: Bench) -> None:
        await bench.press("space", "enter", "v")
        drawn = bench.app.bench.board.drawn
        await bench.on(1)
        await bench.on(1)
        assert bench.app.bench.board.drawn == drawn
        await bench.press("v")
        assert "18 min left" in bench.row("01")

    drive(tmp_path, script)


def test_only_the_cells_that_changed_are_drawn(tmp_path: Path) -> None:
    """A clock's minute is a word of its row, not the row."""

    async def script(bench: Bench) -> None:
        await bench.press("space", "enter")
        asked: list[Region] = []
        refresh = Board.refresh

        def seen(board: Board, *regions: Region, **how: bool) -> Board:
            asked.extend(regions)
            return refresh(board, *regions, **how)

        with pytest.MonkeyPatch.context() as watched:
            watched.setattr(Board, "refresh", seen)
            await bench.on(1)
        assert [region.width for region in asked] == [1, 2]
        assert "09:01" in bench.screen
        assert "19 min left" in bench.row("01")

    drive(tmp_path, script)


LETTERS = st.lists(st.sampled_from(["a", "b", " ", "e\u0301", "e\u0300", "界"]), max_size=4).map("".join)
PARTS = st.lists(st.tuples(LETTERS, st.sampled_from([Style(), Style(bold=True)])), max_size=5)


@given(PARTS, PARTS)
def test_what_is_drawn_of_a_line_makes_the_old_one_the_new(
    old: list[tuple[str, Style]], new: list[tuple[str, Style]]
) -> None:
    """The cells between the first that differs and the last, whatever is wide or has an accent."""
    before, after = (Strip(Segment(*part) for part in parts).adjust_cell_length(24, Style()) for parts in (old, new))
    start, end = differing(before, after)
    drawn = Strip.join([before.crop(0, start), after.crop(start, end), before.crop(end)])
    assert _letters(drawn) == _letters(after)


def _letters(strip: Strip) -> list[tuple[str, Style | None]]:
    return [(letter, part.style) for part in strip for letter in part.text]


def test_a_step_in_a_long_list_draws_two_rows_of_it(tmp_path: Path) -> None:
    """The list stands still while the chosen batch is in it, however many are folded."""

    async def script(bench: Bench) -> None:
        await bench.press("down")
        drawn = bench.app.bench.board.drawn
        for _ in range(6):
            await bench.press("down")
        assert bench.app.bench.board.drawn - drawn <= 6 * 4

    drive(tmp_path, script, session=session_of(tmp_path, 30, 30, 0))


def test_a_step_on_a_large_screen_makes_only_the_lines_that_change(tmp_path: Path) -> None:
    """The rule above the pane, what is said of the batch, two rows of the list and the pane's own lines.

    By the least of three steps: the tick of each second may fall into one.
    """

    async def script(bench: Bench) -> None:
        bench.app.at_leisure()
        await bench.press("down")
        made, new_lines = bench.app.bench.view_cache.rows.made, []
        for _step in range(3):
            before = bench.app.bench.board.shown
            await bench.press("down")
            after = bench.app.bench.board.shown
            new_lines.append(sum(line is not old for line, old in zip(after, before, strict=True)))
        assert bench.screen.count("▶ 05 ") == 2
        assert bench.app.bench.view_cache.rows.made == made
        assert len(after) == 60
        assert 0 < min(new_lines) <= 7

    drive(tmp_path, script, size=(200, 60), session=session_of(tmp_path, 60, 60, 0))


def test_a_step_on_a_large_screen_calls_few_functions(tmp_path: Path) -> None:
    """Of the program's own, by the least of three steps: the tick of each second may fall into one."""
    own = str(Path(dyeday.__file__).parent)
    calls: list[str] = []

    def count(frame: FrameType, event: str, _arg: object) -> None:
        if event == "call" and frame.f_code.co_filename.startswith(own):
            calls.append(frame.f_code.co_qualname)

    async def script(bench: Bench) -> None:
        bench.app.at_leisure()
        await bench.press("down", "down")
        counts = []
        for _step in range(3):
            calls.clear()
            sys.setprofile(count)
            try:
                await bench.press("down")
            finally:
                sys.setprofile(None)
            counts.append(len(calls))
        assert "▶ 06 " in bench.screen
        assert 300 < min(counts) < 900

    drive(tmp_path, script, size=(200, 60), session=session_of(tmp_path, 60, 60, 0))


def test_a_key_that_records_runs_functions_of_few_files() -> None:
    """By the first press of eight that nothing fell into: ticks and what follows the first frame do."""
    counts = ((len(calls.files), calls.pairs.total()) for calls in (measured() for _press in range(8)))
    assert any(20 < files <= 31 and 200 < between <= 507 for files, between in counts)


def test_work_beside_the_keys_waits_for_a_pause() -> None:
    """For `PAUSE_S` after the last key, `LONGEST_WAIT_S` at the most."""
    sleeper = Sleeper()
    quiet = IdleGate(sleeper.clock, sleeper.sleep)
    spent = quiet.lasting(60.0)
    assert sleeper.slept == []
    quiet.last_key_s = sleeper.clock()
    assert not spent()
    assert sum(sleeper.slept) == pytest.approx(PAUSE_S)
    sleeper.slept.clear()
    quiet.last_key_s = sleeper.clock()

    def sleep_and_press(seconds: float) -> None:
        sleeper.sleep(seconds)
        busy.last_key_s = sleeper.clock()

    busy = IdleGate(sleeper.clock, sleep_and_press)
    busy.last_key_s = sleeper.clock()
    busy.wait()
    assert LONGEST_WAIT_S <= sum(sleeper.slept) < LONGEST_WAIT_S + PAUSE_S


class Counted(IdleGate):
    """Gives every piece of work as many tries, whatever time it asks for, and remembers what was asked for."""

    def __init__(self, tries: int) -> None:
        super().__init__()
        self.asked: list[float] = []
        self.tries = tries

    def lasting(self, seconds: float) -> Callable[[], bool]:
        self.asked.append(seconds)
        left = iter(range(self.tries))
        return lambda: next(left, None) is None


def test_a_bench_that_opens_says_what_a_command_prints_in_the_same_minute(tmp_path: Path) -> None:
    day, moment = begin(read_plan(HEAVY_DAY.read_text(encoding="utf-8"))), FakeClock()()
    shown = BenchForecasts(tmp_path, Counted(10**6)).forecast(day, moment, None)
    printed = forecast(day, moment, evaluations=EVALUATIONS)
    assert (shown.steps, shown.finish, shown.reached) == (printed.steps, printed.finish, printed.reached)


def test_a_quiet_minute_is_searched_little_once_searching_brings_nothing(tmp_path: Path) -> None:
    """Most at the first look, some after an event and the minute after it, and as long as hands are off sooner."""
    quiet, clock = Counted(1), FakeClock()
    ahead = BenchForecasts(tmp_path, quiet)
    day = begin(read_plan(HEAVY_DAY.read_text(encoding="utf-8")))
    asked = []
    found = None
    for happens in (False, False, False, False, True, False, False):
        if happens:
            day = take(day, make("moved", clock(), lambda: "e1", batch="01", to="soak", unit="tray 1"))
        quiet.asked.clear()
        found = ahead.forecast(day, clock(), found)
        asked.append(set(quiet.asked))
        clock.on(1)
    assert asked == [{FIRST_S}, {SETTLING_S}, {MINUTE_S}, {MINUTE_S}, {AHEAD_S}, {SETTLING_S}, {MINUTE_S}]
    quiet.tries = 500
    sooner = ahead.forecast(day, clock(), found)
    assert found is not None and sooner.finish < found.finish
    quiet.asked.clear()
    ahead.forecast(day, clock(), sooner)
    assert set(quiet.asked) == {SETTLING_S}
