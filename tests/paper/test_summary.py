"""The page of the day: within its limits, in its order, true to the log, and free of control codes."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from dyeday.paper.layout.sheet_text import TextBlock, paginate, sheet_text, text_pages
from dyeday.paper.sheets.day_summary import summary_sheet
from dyeday.paper.sheets.day_tally import tally
from dyeday.paper.sheets.weigh_out_sheet import weigh_sheet
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.text import clip, pad, wrap
from dyeday.track.day.day_state import Day, Event
from dyeday.track.events.event_json import read_event
from dyeday.track.folding.fold import fold
from dyeday.track.timestamp import Moment
from tests.fakes import HEAVY_DAY, SHORT_DAY, FakeClock, Ids
from tests.paper.sheets import day_of as third_done
from tests.paper.sheets import plan_of, summary_pages
from tests.track.days import at, day_of, heated, now, plan_with, soaked
from tests.typed_events import make


def a_day(clock: FakeClock, *steps: tuple[float, str, str, dict[str, Any]], text: str = "") -> Day:
    """Fold a day from (minutes later, kind, batch, keys)."""
    plan = read_plan(text or SHORT_DAY.read_text(encoding="utf-8"))
    ids, events = Ids(), list[Event]()
    for later, kind, batch, data in steps:
        clock.on(later)
        events.append(make(kind, clock(), ids, batch=batch or None, **data))
    return fold(plan, events)


def test_flags_come_first_then_tomorrow_then_the_batches_then_the_amounts() -> None:
    """What a dyer looks for at night stands in the order they look for it."""
    clock = FakeClock()
    day = a_day(clock, (0, "moved", "01", {"to": "soak"}), (5, "moved", "01", {"to": "paint"}))
    page = summary_pages(day, "2026-03-14-1", clock())[0]
    places = [page.index(head) for head in ("TO CHECK: 2 flags", "NOT DONE YET", "SO FAR:", "DYE AND ACID")]
    assert places == sorted(places)
    assert "soaked 5 of 20 min" in page
    assert "no acid soak" in page
    assert "page 1 of 1" in page


def test_a_part_of_a_part_has_the_marks_of_entries_about_the_whole_batch() -> None:
    parted = [at("10:00", "08", into={"08a": 2, "08b": 2}), at("10:30", "08a", into={"08aa": 1, "08ab": 1})]
    page = "".join(summary_pages(day_of([at("09:00", "08", to="soak"), *parted]), "x", now("12:00")))
    assert page.count("soak 09:00~") == page.count("soak 09:00") > 0


def test_a_late_a_corrected_and_a_void_entry_are_marked_with_a_legend() -> None:
    """A printed page shows what was changed after it was first written."""
    clock, ids = FakeClock(), Ids()
    plan = read_plan(SHORT_DAY.read_text(encoding="utf-8"))
    soak = make("moved", clock(), ids, batch="01", to="soak", minutes_ago=10)
    read = make("reading", clock(), ids, batch="01", reading="ph", value=5.4)
    wrong = make("note", clock(), ids, batch="01", note="nonsense")
    right = make("corrected", clock(), ids, corrects=read.id, value=4.4, why="misread")
    gone = make("struck", clock(), ids, strikes=wrong.id)
    page = "".join(summary_pages(fold(plan, [soak, read, wrong, right, gone]), "2026-03-14-1", clock()))
    assert "pH 4.4" in page
    assert "nonsense" not in page
    assert "~ recorded later than it happened; * corrected afterwards; 1 entry void, kept in the log" in " ".join(
        page.split()
    )


def test_amounts_on_the_page_are_those_of_the_events() -> None:
    """Totals equal the log: acid by batch and by bath, dye as recorded, less what was left over."""
    clock = FakeClock()
    day = a_day(
        clock,
        (0, "moved", "01", {"to": "soak", "unit": "tray 1"}),
        (0, "acid put in", "01", {"acid_ml": 55, "unit": "tray 1"}),
        (0, "acid put in", "02", {"acid_ml": 20}),
        (30, "moved", "01", {"to": "paint"}),
        (5, "used", "01", {"used": {"Rosehip": 40.0}, "left_over": {"Rosehip": 4.0}}),
    )
    sums = tally(day, clock())
    assert (sums.acid_ml, sums.acid_g) == (75, 0)
    assert [(use.dye, use.used_ml) for use in sums.dyes] == [("Rosehip", 36.0)]
    page = "".join(summary_pages(day, "x", clock()))
    assert "vinegar 5 %: 75 mL" in page
    assert "recorded: Rosehip 36 mL" in page


def test_a_flag_has_what_was_done_since_below_its_remedy() -> None:
    left = at("12:30", "01", reading="eye", value="coloured", where="puddle")
    again = [at("12:35", "01", to="rinse"), at("12:50", "01", to="dry", unit="pegs 1")]
    page = " ".join(summary_pages(day_of([*soaked(), *heated(), left, *again]), "x", now("13:00"))[0].split())
    assert "colour left: puddle coloured" in page
    assert "do: press a wet white cloth on it" in page
    assert "done since then: rinsed" in page


def test_a_dyed_skein_that_was_lost_is_named_with_its_batch() -> None:
    day = day_of([*soaked("01"), at("10:30", "01", event="counted", skeins=1)])
    assert day.events[-1].text(day) == "counted 1 skein"
    assert "1 skein, 2 more lost, for harbour for Ida (1)" in " ".join(
        summary_pages(day, "x", now("12:00"))[0].split()
    )


def test_a_split_batch_counts_its_past_once() -> None:
    """What went in before the split is not counted for each part."""
    clock = FakeClock()
    day = a_day(
        clock,
        (0, "acid put in", "01", {"acid_ml": 30}),
        (1, "used", "01", {"used": {"Rosehip": 10.0}}),
        (1, "split", "01", {"into": {"01a": 2, "01b": 1}}),
        (1, "acid put in", "01a", {"acid_ml": 5}),
        (1, "used", "01b", {"used": {"Rosehip": 2.0}}),
    )
    sums = tally(day, clock())
    assert sums.acid_ml == 35
    assert [(use.dye, use.used_ml) for use in sums.dyes] == [("Rosehip", 12.0)]


@pytest.mark.parametrize("skeins", [1, 14, 200])
def test_many_batches_go_on_numbered_pages_and_none_is_split_or_lost(skeins: int) -> None:
    """Nothing was begun: each batch is named once, all on the pages."""
    text = HEAVY_DAY.read_text(encoding="utf-8").replace("skeins = 15", f"skeins = {skeins * 4}")
    day = fold(read_plan(text), [])
    pages = summary_pages(day, "2026-05-09-1", FakeClock(datetime.fromisoformat("2026-05-09T20:00:00+00:00"))())
    whole = "".join(pages)
    for batch in day.unsplit:
        assert len(re.findall(rf"[ \n]{batch.no}\s", whole)) >= 1
    assert all(f"page {n} of {len(pages)}" in page for n, page in enumerate(pages, 1))


@given(st.text(max_size=200), st.integers(-5, 76), st.sampled_from(["", "  ", " " * 9]))
def test_wrapped_lines_fit_and_lose_no_letter(text: str, cells: int, indent: str) -> None:
    """Wrapping changes where lines break and nothing else, however little room there is."""
    lines = wrap(text, cells, indent)
    assert max(cell_len(line) for line in lines) <= max(2, cells)
    from dyeday.text import harmless

    kept = "".join("".join(line.split()) for line in lines)
    assert kept == "".join(harmless(text).split())


def test_a_long_word_behind_a_wider_first_indent_fits_too() -> None:
    assert wrap("abcdefgh", 10, "", "why ") == ["why abcdef", "gh"]


@pytest.mark.parametrize("kept", ["250 mL", "12 Dec", "1 h 04", "Sun 03:08", "Sat 16 May"])
def test_a_wrapped_line_never_parts_a_number_from_its_unit_month_or_weekday(kept: str) -> None:
    """At any width that holds both: the number alone at a line's end is read as another."""
    for cells in range(12, 40):
        assert any(kept in line for line in wrap(f"four skeins of sock yarn, due {kept} or a little later", cells))


@given(st.text(max_size=80), st.integers(0, 40))
def test_a_padded_text_is_exactly_as_wide_as_asked(text: str, cells: int) -> None:
    """Wide and combining characters are counted in cells."""
    assert cell_len(pad(text, cells)) == cells
    assert cell_len(clip(text, cells)) <= cells


BLOCKS = st.lists(
    st.builds(
        TextBlock,
        lines=st.lists(st.sampled_from("abc"), min_size=1, max_size=40).map(tuple),
        heading=st.sampled_from(("", "ONE", "TWO")),
        breaks=st.sets(st.integers(1, 39), max_size=6).map(lambda places: tuple(sorted(places))),
        new_page=st.booleans(),
        breakable=st.booleans(),
        apart=st.booleans(),
    ),
    max_size=12,
)


@given(BLOCKS, st.integers(12, 60))
def test_a_laid_out_page_loses_no_line_and_parts_only_what_no_page_holds(blocks: list[TextBlock], room: int) -> None:
    """Every line in its order, no page too long, and a block that a page holds is on one, unless it is breakable."""
    numbered = [
        replace(b, lines=tuple(f"{n}.{m} {line}" for m, line in enumerate(b.lines))) for n, b in enumerate(blocks)
    ]
    pages = paginate(["title"], numbered, lines=room)
    assert all(len(page.rstrip("\n").split("\n")) <= room for page in pages)
    whole = "".join(pages).split("\n")
    numbers = [line for line in whole if line[:1].isdigit()]
    assert numbers == [line for block in numbered for line in block.lines]
    for block in numbered:
        if not block.breakable and len(block.lines) <= room - 4:
            assert (
                sum(block.lines[0] in page.split("\n") and block.lines[-1] in page.split("\n") for page in pages) == 1
            )


def test_a_block_moves_whole_to_the_next_page() -> None:
    """Nothing is split across pages that belongs together."""
    blocks = [TextBlock(tuple(f"{n} line {m}" for m in range(10)), "HEAD") for n in range(9)]
    pages = paginate(["title"], blocks, lines=30)
    for n in range(9):
        assert sum(f"{n} line 0" in page and f"{n} line 9" in page for page in pages) == 1


def test_what_is_to_be_ordered_again_stands_after_the_amounts_with_a_box() -> None:
    """The shelf's own words; of a day that goes on it says that today is not taken off yet."""
    day = a_day(FakeClock(), (0, "moved", "01", {"to": "soak"}))
    sheet = summary_sheet(day, "x", FakeClock()(), ["Peat: 4 g left"])
    page = "".join(text_pages(sheet))
    assert "TO REORDER\nstock before this day's use\n[ ] Peat: 4 g" in page
    assert page.index("DYE AND ACID USED") < page.index("TO REORDER")


def test_a_flag_about_the_whole_day_is_shown_though_no_batch_has_it() -> None:
    """Stock that does not suffice."""
    text = SHORT_DAY.read_text(encoding="utf-8").replace('on_hand = "42 g"', 'on_hand = "1 g"')
    clock = FakeClock()
    day = a_day(clock, (0, "moved", "01", {"to": "soak"}), text=text)
    page = "".join(summary_pages(day, "x", clock()))
    assert "The whole day" in page
    assert "short stock: Lamp Yellow" in page


def plain(day: Day, time: str) -> str:
    """Return the page in one line, without the marks of late entries."""
    return " ".join("".join(summary_pages(day, "x", now(time))).replace("~", "").split())


def test_heat_that_is_on_is_shown_so_far_and_heat_that_is_over_is_not() -> None:
    on = day_of([*soaked(), *heated()[:2]])
    over = day_of([*soaked(), *heated()])
    assert "steamer 1 from 10:30, 20 min at heat (40 planned) so far" in plain(on, "11:00")
    assert "steamer 1 from 10:30, 40 min at heat (40 planned);" in plain(over, "12:00")


def test_the_bursts_of_each_heat_are_listed_by_potfuls_from_when_it_was_on() -> None:
    """Three skeins are two pots of two, which take turns."""
    ran = [("10:30", "10:32", 1), ("10:33", "10:35", 1), ("10:40", "10:42", 2)]
    bursts = [
        at(when, "04", heat_no=heat_no, run=edge, **({"unit": "oven 1"} if edge == "start" else {}))
        for start, end, heat_no in ran
        for when, edge in ((start, "start"), (end, "end"))
    ]
    page = plain(day_of([*soaked("04"), at("10:29", "04", to="fix"), *bursts]), "10:50")
    assert "microwave in oven 1 from 10:30, 2 + 2 min (4 planned, 2 dishes), " in page
    assert "microwave in oven 1 from 10:40, 2 min (4 planned, 2 dishes)" in page


def test_a_layer_is_numbered_only_where_there_are_two_and_only_its_paint_and_fix() -> None:
    one = plain(day_of([*soaked(), *heated()]), "12:00")
    assert "paint 10:00, fix 10:30" in one
    two = plain(day_of([*soaked("05"), *heated("05")]), "12:00")
    assert "soak 09:00, paint layer 1 10:00, fix layer 1 10:30, cool 11:20;" in two


def test_a_cleared_flag_is_shown_with_its_own_batch_alone() -> None:
    lines = [
        *soaked("01", until="09:10"), *heated("01"), *soaked("05"), *heated("05", unit="steamer 2"),
        at("12:00", "01", event="resolved", rule="short-soak", why="wet through by hand"),
    ]  # fmt: skip
    page = "".join(summary_pages(day_of(lines), "x", now("12:30")))
    assert page.count("short soak: wet through by hand") == 1
    done = page.partition("SO FAR")[2]
    assert done.index("01 Harbour") < done.index("wet through by hand") < done.index("05 Rain")


def test_a_batch_without_acid_on_record_says_what_the_shelf_counts_for_it() -> None:
    """The usual dose, 20 mL of vinegar to 100 g: 60 mL for 300 g (common practice, no source)."""
    lines = [line for line in soaked("01") if "acid_ml" not in line]
    page = plain(day_of([*lines, *soaked("02", unit="tray 2")]), "12:00")
    assert "vinegar 5 %: 50 mL 01: none recorded; the recipe's 60 mL comes off the shelf in case you forgot" in page
    assert "if none went in, count the bottle" in page
    assert "02: none recorded" not in page


def test_the_acid_that_the_shelf_counts_is_what_the_weigh_out_says_to_pour() -> None:
    """61.2 mL for 300 g are 65 mL in a jug read to 5 mL."""
    lines = [line for line in soaked("01") if "acid_ml" not in line]
    plan = plan_with(more='[acid]\ndose = "20.4 mL per 100 g"\n')
    assert "then 65 mL vinegar" in sheet_text(weigh_sheet(plan))
    assert "01: none recorded; the recipe's 65 mL comes off the shelf" in plain(day_of(lines, plan), "12:00")


def test_what_stays_is_said_with_where_it_lies_or_hangs() -> None:
    lines = [*soaked("01"), *heated("01"), at("12:30", "01", to="rinse"), at("12:45", "01", to="dry", unit="pegs 1")]
    page = "".join(summary_pages(day_of([*lines, *soaked("02")[:2]]), "2026-04-18-1", now("13:00")))

    assert re.search(r"01 .*\bon pegs 1", page)
    assert re.search(r"02 .*\bin tray 1", page)


def test_what_has_waited_its_time_is_ready_and_over_only_where_more_does_harm() -> None:
    day = day_of([*soaked("01"), *heated("01"), *soaked("02")])
    for time, said in (("12:19", "1 min left"), ("12:20", "ready"), ("12:21", "ready")):
        assert f"01 cooling, {said}; 02 painted, wrapped, safe until Sun 10:36 not started:" in plain(day, time)
    assert "01 steaming in steamer 1, 10 min over" in plain(day_of([*soaked(), *heated()[:2]]), "11:30")


def test_yarn_that_waits_for_heat_is_shown_with_its_cover_and_how_long_it_is_safe() -> None:
    day = day_of([*soaked("01"), at("10:30", "01", to="fix")])
    assert "01 painted, wrapped, safe until Sun 10:30" in plain(day, "11:00")
    bare = day_of([*soaked("01"), at("10:30", "01", to="fix"), at("10:31", "01", cover="open")])
    assert "01 painted, open, safe until 11:" in plain(bare, "11:00")
    assert "01 painted, open, drying out since 11:" in plain(bare, "12:00")


def test_a_day_whose_soak_began_the_evening_before_names_the_weekday_of_that_alone() -> None:
    lines = [{**line, "at": line["at"].replace("2026-04-18", "2026-04-17")} for line in soaked("01")[:2]]
    page = plain(day_of([*lines, at("10:00", "01", to="paint"), at("10:30", "01", to="fix")]), "11:00")
    assert "soak Fri 09:00, paint 10:00, fix 10:30" in page


def test_the_head_tells_whether_the_day_is_closed_and_when() -> None:
    lines = soaked("01")
    assert "as at 14:00, session x" in plain(day_of(lines), "14:00")
    assert "closed 13:00, session x" in plain(day_of([*lines, at("13:00", event="closed")]), "14:00")


def test_what_is_said_of_a_batch_or_a_flag_is_set_in_under_its_name() -> None:
    lines = [
        *soaked("01", until="09:10"), *heated("01"),
        *soaked("05"), *heated("05", unit="steamer 2"), *soaked("02")[:2],
        at("12:00", "01", event="resolved", rule="short-soak", why="wet through by hand"),
    ]  # fmt: skip
    page = "".join(summary_pages(day_of(lines), "x", now("12:30")))
    assert (
        "TO CHECK: 1 flag\n"
        "01 Harbour on Sock, 3 skeins; 02 Heather on Wool, 3 skeins; 05 Rain on Sock,\n   2 skeins\n"
        "   09:00 over full: tray 1: 8 skeins, room for 4 (01 + 02 + 05)\n"
        "      do: check that all of it was wet through; done since then: 01+05: 1st\n          heat\n\nNOT"
    ) in page
    assert (
        "\n02 Heather on Wool, 3 skeins, for heather vest (3): soaking in tray 1\n   soak 09:00~; acid: 50 mL~\n"
        in page
    )
    assert "\n   cleared short soak: wet through by hand\n" in page


@pytest.mark.parametrize(("batches", "stay", "more"), [(90, 60, ""), (92, 61, " and 1 more")])
def test_a_line_of_the_day_at_a_glance_names_sixty_batches(batches: int, stay: int, more: str) -> None:
    """Every third one is done."""
    page = plain(third_done(plan_of(batches)), "14:00")
    named = " ".join(f"{n:02}" for n in range(1, 91) if n % 3 != 1)
    assert f"Not done yet: {stay} batches, {named}{more} Done: " in page


@given(
    st.lists(st.sampled_from(["20 min", "1 h 04", "90 %", "5 mL,", "acid", "in", "10:06"]), max_size=30),
    st.integers(12, 76),
)
def test_a_number_and_its_unit_stay_on_one_line(parts: list[str], cells: int) -> None:
    """Each amount is whole on some line, as often as it was said."""
    lines = wrap(" ".join(parts), cells)
    for part in parts:
        assert sum(f" {line} ".count(f" {part}") for line in lines) >= parts.count(part)


def page_of(day: Day, time: str) -> str:
    return " ".join(" ".join(summary_pages(day, "2026-04-18-1", now(time))).split())


def test_kit_that_broke_down_is_on_the_page_with_what_it_held_and_whether_it_works_again() -> None:
    """Still down at the end, it is left for tomorrow; else it is a note. Never broken, it is not named."""
    lines = [
        *soaked(),
        *heated()[:2],
        at("10:50", unit="steamer 1", is_="down"),
        at("10:52", "01", unit="steamer 2", event="placed"),
        at("11:00", unit="pot 1", is_="down"),
        at("11:10", None, note="called the electrician"),
    ]
    left = "still down: steamer 1 since 10:50~, with 01 in it then; pot 1 since 11:00~ SO FAR"
    assert left in page_of(day_of(lines), "12:00")
    mended = page_of(day_of([*lines, at("11:30", unit="steamer 1", is_="up")]), "12:00")
    assert "still down: pot 1 since 11:00~ SO FAR" in mended
    notes = mended[mended.index("NOTES") :]
    first = "10:50~ steamer 1 broke down, with 01 in it then; works again since 11:30"
    assert 0 < notes.index(first) < notes.index("11:10~ called the electrician")
    assert "broke down" not in page_of(day_of(soaked()), "12:00")


def test_batches_that_hang_to_dry_are_counted_apart_from_those_with_work_left() -> None:
    hung = page_of(day_of([at("10:00", "01", to="dry"), at("10:01", "02", to="soak")]), "12:00")
    assert "NOT DONE YET: 10 batches; 1 more hangs to dry" in hung
    assert "hang" not in page_of(day_of([at("10:01", "02", to="soak")]), "12:00")


def test_yarn_whose_burst_switched_itself_off_is_ready_and_not_over() -> None:
    burst = [at("10:30", "04", heat_no=1, run="start", unit="microwave 1")]
    assert "in microwave 1, ready" in page_of(day_of(burst), "10:45")
    assert "in steamer 1, 10 min over" in page_of(day_of([*soaked(), *heated()[:2]]), "11:30")


def event(line: dict[str, Any], recorded: str) -> Event:
    """Return the event of a line, recorded at a moment."""
    return read_event(line, Moment(datetime.fromisoformat(recorded)))


def test_the_page_of_the_day_tells_spare_skeins_from_those_ordered() -> None:
    page = plain(
        fold(read_plan(SHORT_DAY.read_text("utf-8")), [event(line := at("09:00", "05", to="soak"), line["at"])]),
        "09:30",
    )
    assert "for Shop, ember (2 and 1 spare): soaking" in page
