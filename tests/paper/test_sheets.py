"""Every sheet, of any day and with any names: within its limits, the same both ways, true to the log."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.cells import cell_len

from dyeday.ahead.forecast import forecast
from dyeday.ahead.problem_parts.mid_heat import hands_steps
from dyeday.commands.days.check_and_begin import first_moment
from dyeday.paper.layout.label_page import grid_of
from dyeday.paper.layout.sheet import BOX, Sheet, Table
from dyeday.paper.layout.sheet_html import sheet_html
from dyeday.paper.layout.sheet_text import LINES, WIDTH, sheet_text, text_pages
from dyeday.paper.sheets.cautions import CAUTIONS, DEFERS, cautions_sheet
from dyeday.paper.sheets.day_sheet import day_sheet
from dyeday.paper.sheets.forecast_lines import table_lines
from dyeday.paper.sheets.weigh_out_sheet import StillToWeigh, to_weigh, weigh_sheet
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.recipe import planned_dyes
from dyeday.plan.weigh_out import weigh_out
from dyeday.terms import StepKind, UnitSystem
from dyeday.track.day.day_state import Event
from dyeday.track.folding.fold import begin, fold
from dyeday.track.timestamp import time_text_on
from tests.fakes import HEAVY_DAY, SHORT_DAY, FakeClock, Ids
from tests.paper.sheets import Reader, day_of, every_sheet, plan_of, said_by_html, said_by_text, summary_pages
from tests.plan.plans import plan as small_plan
from tests.track import days
from tests.track.days import plan_with, soaked
from tests.typed_events import make

AWKWARD = (
    "漢字かな交じり文" * 9,
    "e\u0301\u0301\u0301\u0301a\u0308" * 12,
    "שלום עולם",
    "خيط صوف مصبوغ",
    "\u202eevil\u2066",
    "</style><script>alert(1)</script>",
    "<img src=http://nowhere.invalid/x onerror=x>",
    "&amp; \" ' `",
    "W" * 80,
    "🧶🐑👩‍👩‍👧",
    "a\x00\x1b[31m\x0c\x85",
    "=1+1",
    " ",
)
NAMES = st.one_of(st.sampled_from(AWKWARD), st.text(min_size=1, max_size=80))
OURS = {"html", "head", "meta", "title", "style", "body", "h1", "h2", "p", "div", "span", "i", "table", "thead",
        "tbody", "tr", "th", "td", "pre"}  # fmt: skip


def keeps_its_limits(sheet: Sheet) -> None:
    """At most 60 lines of 76 columns a page, each numbered, and no control, escape or bidi character."""
    pages = text_pages(sheet)
    for number, page in enumerate(pages, 1):
        lines = page.rstrip("\n").split("\n")
        assert len(lines) <= LINES
        assert max(cell_len(line) for line in lines) <= WIDTH
        assert f"page {number} of {len(pages)}" in page
        assert not [c for c in page if (ord(c) < 32 and c != "\n") or 127 <= ord(c) < 160 or c in "\u202e\u2066"]


def needs_nothing_else(page: str) -> None:
    """Only our own tags, closed in order; nothing that a browser would fetch or run, and a rule against it."""
    read = Reader.of(page)
    assert read.wrong == []
    assert read.open == []
    assert set(read.tags) <= OURS
    assert set(read.attributes) <= {
        "lang",
        "charset",
        "http-equiv",
        "content",
        "name",
        "class",
        "style",
        "aria-hidden",
    }
    style = page[page.index("<style>") : page.index("</style>")]
    assert "url(" not in style
    assert "@import" not in style
    assert "default-src 'none'" in page


@pytest.mark.parametrize("batches", [0, 1, 14, 200])
@pytest.mark.parametrize("name", ["Saturday", AWKWARD[0], AWKWARD[1], AWKWARD[5]])
def test_sheets_of_any_size_keep_their_limits_and_say_the_same_both_ways(batches: int, name: str) -> None:
    """No word is on the plain page that is not in the browser's, and none the other way round."""
    for sheet in every_sheet(plan_of(batches, name, name, name[:20]), name):
        keeps_its_limits(sheet)
        page = sheet_html(sheet)
        needs_nothing_else(page)
        if name == "Saturday":
            assert said_by_html(page) == said_by_text(sheet), sheet.name


@settings(max_examples=25)
@given(NAMES, NAMES, NAMES, NAMES)
def test_whatever_things_are_called_every_sheet_keeps_its_limits(name: str, item: str, tag: str, note: str) -> None:
    """Wide, combining, right-to-left, unseen and hostile text."""
    for sheet in every_sheet(plan_of(2, name, item, tag), note):
        keeps_its_limits(sheet)
        needs_nothing_else(sheet_html(sheet, "Letter"))


@settings(max_examples=40)
@given(
    st.lists(
        st.one_of(
            st.tuples(st.sampled_from(("01", "02", "03")), st.just("acid put in"), st.floats(0.1, 500)),
            st.tuples(st.just("tray 1"), st.just("acid put in"), st.floats(0.1, 500)),
            st.tuples(st.sampled_from(("01", "02", "03")), st.just("used"), st.floats(0.1, 500)),
            st.tuples(st.sampled_from(("01", "02", "03")), st.just("left over"), st.floats(0.1, 50)),
        ),
        max_size=12,
    )
)
def test_totals_on_paper_are_those_of_the_log(lines: list[tuple[str, str, float]]) -> None:
    """Added up here from the events as they were written, and read off the page as a person would."""
    clock, ids, events = FakeClock(), Ids(), list[Event]()
    acid = dye = 0.0
    for about, what, amount in lines:
        clock.on(1)
        data: dict[str, Any] = {"unit": about} if about == "tray 1" else {"batch": about}
        if what == "acid put in":
            events.append(make("acid put in", clock(), ids, acid_ml=amount, **data))
            acid += amount
        else:
            data["used" if what == "used" else "left_over"] = {"Rosehip": amount}
            events.append(make("used", clock(), ids, **data))
            dye += amount if what == "used" else -amount
    page = "".join(summary_pages(fold(read_plan(SHORT_DAY.read_text(encoding="utf-8")), events), "x", clock()))
    said = re.search(r"^vinegar 5 %: (\S+) mL$", page, re.MULTILINE)
    assert (float(said[1]) if said else 0.0) == pytest.approx(acid, rel=1e-5)
    used = re.search(r"^recorded: Rosehip (\S+) mL", page, re.MULTILINE)
    assert (float(used[1]) if used else 0.0) == pytest.approx(dye, rel=1e-5, abs=1e-9)


@pytest.mark.parametrize("batches", [1, 14, 200])
def test_the_first_page_has_flags_then_tomorrow_then_what_was_done(batches: int) -> None:
    """However long the day: all of it in a few lines before the details where they need more pages."""
    day = day_of(plan_of(batches))
    first = summary_pages(day, "x", FakeClock()())[0].lower()
    done = "done:" if batches == 200 else "so far:"
    places = [first.index(head) for head in ("to check:", "not done yet:", done)]
    assert places == sorted(places)
    if batches == 200:
        assert re.search(r"not done yet: 133 batches, 02 03 05 06", first)
        assert re.search(r"done: 201 of 600 pieces, 01 04 07", first)


def test_the_weigh_out_sheet_has_a_box_for_every_thing_that_is_measured_and_its_sums_are_the_lists() -> None:
    """Each dye of each section, water and acid; grams and millilitres as `weigh` gives them."""
    plan = read_plan(SHORT_DAY.read_text(encoding="utf-8"))
    text = sheet_text(weigh_sheet(plan))
    weighed = weigh_out(plan)
    for one in weighed.batches:
        (named,) = re.finditer(rf"\n(\d\d[^:\n]*, )*{one.batch.no}\b", text)
        part = text[named.start() :]
        for dye in one.dyes:
            assert dye.dye in part
    boxes = text.count(BOX)
    dyes = sum(len(one.dyes) for one in weighed.batches)
    assert boxes >= dyes + 2 * len(weighed.batches) + len(weighed.dyes)
    # Two batches that are alike are printed once, with a box for each.
    assert text.count("Kelp Light on Plain Sock") == 1
    assert re.search(r"\n01, 02 Kelp Light on Plain Sock, 3 skeins each", text)
    # Kelp Light: 300 g, half of it 0.8 % Lamp Yellow from a 2 % solution: 1.2 g = 60 mL, for two 120 mL; by hand.
    assert re.search(r"\n\[ \] section 1, 50 % +Lamp Yellow 2 % +120 mL ______ mL", text)
    # One recipe for two: the mix for both, and half of each section for each; a batch by itself has one amount.
    assert re.search(r"270 mL liquor for EACH batch; both must match, one mix: 540 mL\n.* both +put in\n", text)
    assert "[ ][ ] each gets 135 mL on section 1, 80 mL on section 2, 55 mL on" in text
    assert re.search(r"03 Old Gate Green(.*\n)+?.* measure +put in\n", text)
    assert re.search(r"for jug and pipette\.\n(.*\n)+?.* Peat, dry for speckling +0\.3 g", text)
    assert re.search(r"EACH batch: 3 L water, then 65 mL vinegar 5 %; used ___ ___;\s+pH \(4\.5\) ___ ___\n", text)
    # Powder that goes on dry is weighed, solutions are measured: no line has both.
    assert re.search(r"Peat powder +0\.3 g +______ g\n", text)
    # Specks on painted yarn: a second layer without a soak of its own.
    assert re.search(r"layer 2, speckled: dry powder; no new acid after an acid soak", text)
    # 540 mL of liquor by shares: half is 270 mL, less 120 and 45 mL of solutions: 105 mL of water.
    assert re.search(r"section 1, 50 % +water +105 mL", text)


@pytest.mark.parametrize("name", ["heavy-day", "late-night"])
def test_the_acid_in_all_is_the_sum_of_the_pours_on_the_sheet(name: str) -> None:
    """Each bath's acid is rounded up to jug or pipette, so more must stand ready than the exact doses add up to."""
    text = sheet_text(weigh_sheet(read_plan(SHORT_DAY.with_name(f"{name}.toml").read_text(encoding="utf-8"))))
    said = re.search(r"\] (citric solution 20 %|vinegar 5 %): (\d+) mL in all", text)
    assert said is not None
    poured = 0.0
    for block in text[text.index("BATCH BY BATCH") :].split("\n\n"):
        batches = block[: block.find("dry weight")].split("\n")[-1].count("[ ]")
        pours = re.findall(rf"then ([\d.]+) mL {said[1]}|{said[1]} +([\d.]+) mL", re.sub(r"\s+", " ", block))
        poured += batches * sum(float(soak or bath) for soak, bath in pours)
    assert poured <= int(said[2]) < poured + 5
    (made,) = re.findall(r" in all, from your bottle or (\d+\.\d+) g citric acid made", " ".join(text.split())) or (
        "0",
    )
    assert float(made) == pytest.approx(int(said[2]) * 0.2 if "citric" in said[1] else 0)


def test_what_was_mixed_for_a_batch_that_has_its_dye_is_not_weighed_again_for_the_next() -> None:
    """09 gets the rest of the mix of 08; 01, of the same colourway on another base, a mix of its own."""
    plan = plan_with()
    stills = [to_weigh(days.day_of(lines, plan).unsplit) for lines in ([], soaked("08"))]
    fresh, rest = (" ".join(sheet_text(weigh_sheet(plan, still)).split()) for still in stills)
    assert "rest of the mix" not in fresh
    assert rest.count("the rest of the mix of") == 1
    of_09 = rest[rest.index(" 09 Harbour on Wool") :]
    assert "painted: 360 mL liquor, the rest of the mix of 08" in of_09
    both, none = ({total.dye: total.powder_g for total in still.weighed(plan).dyes} for still in stills)
    of_each = {dye.dye: dye.powder_g for dye in planned_dyes(plan.solution_pct, plan.colourway("Harbour"), 400)}
    assert of_each
    assert all(both[dye] - none.get(dye, 0.0) == pytest.approx(2 * grams) for dye, grams in of_each.items())


def test_solution_out_of_a_bottle_is_the_same_amount_in_both_places() -> None:
    """2.9 mL of the short day's Peat, all of it from the bottle, which has its strength."""
    text = " ".join(sheet_text(weigh_sheet(read_plan(SHORT_DAY.read_text(encoding="utf-8")))).split())
    assert "Peat (2.9 mL from the bottle of none 2.9 mL 2 % 01 Mar, 2 %)" in text


def test_what_is_for_a_pipette_and_how_a_mix_is_rounded_is_said_once() -> None:
    """Half a step of 5 mL is 5 % of 50 mL."""
    pipette = "Use a pipette for less than 50 mL of dye solution and between"
    said = "A mix is rounded up,"
    plan = read_plan(SHORT_DAY.read_text(encoding="utf-8"))
    assert sheet_text(weigh_sheet(plan)).count(said) == sheet_text(weigh_sheet(plan)).count(pipette) == 1
    alone = sheet_text(weigh_sheet(plan, StillToWeigh(plan.batches[:1])))
    assert said not in alone and pipette in alone
    spoons = replace(plan, session=replace(plan.session, units=UnitSystem.US))  # to the nearest spoon
    assert said not in sheet_text(weigh_sheet(spoons))


def test_what_each_batch_gets_is_the_printed_mix_divided_by_the_batches() -> None:
    """By hand, four batches of 905, 380 and 170 mL: 226.25, 95 and 42.5 mL, to the mark below of jug or pipette."""
    text = " ".join(sheet_text(weigh_sheet(read_plan(HEAVY_DAY.read_text(encoding="utf-8")))).split())
    mixed = text[text.index("all 4 must match, one mix: 1440 mL") : text.index("1. Green over")]
    assert re.findall(r"section (\d), \d+ % .*? (\d+) mL", mixed) == [
        *[("1", "650"), ("1", "255")],
        *[("2", "340"), ("2", "40")],
        *[("3", "130"), ("3", "40")],
    ]
    assert "each gets 225 mL on section 1, 95 mL on section 2, 42.5 mL on section 3" in mixed


def test_in_us_units_what_the_batches_get_of_a_mix_is_no_more_than_the_printed_mix() -> None:
    """By hand for 01 to 04, in tablespoons: 44 + 18, 23 + 2¾ and 9 + 2½, a quarter of each down to a mark."""
    plan = read_plan(HEAVY_DAY.read_text(encoding="utf-8"))
    plan = replace(plan, session=replace(plan.session, units=UnitSystem.US))
    text = " ".join(sheet_text(weigh_sheet(plan)).split())
    assert "each gets ¾ cup + 3 tbsp on section 1, 6¼ tbsp on section 2, 2¾ tbsp on section 3" in text


def test_a_batch_gets_its_part_of_a_mix_for_all_the_yarn_where_the_solutions_exceed_the_liquor() -> None:
    """By hand: 1 % of 400 g is 400 mL of a 1 % solution, more than 360 mL of liquor; the day's 08 and 09 are alike.

    Of 400 and 300 g of yarn the first gets 400 mL and the other 300 mL of 700.
    """
    alike = sheet_text(weigh_sheet(days.THE_PLAN))
    assert re.search(r"\n08, 09 (?:.*\n)+?.* Navy 1 % +800 mL ______ mL\n +\[ \]\[ \] each gets 400 mL\n", alike)
    rest = sheet_text(weigh_sheet(days.THE_PLAN, to_weigh(days.day_of(soaked("08"), days.THE_PLAN).unsplit)))
    assert re.search(r"the rest of the mix of 08\n +\[ \] 09 gets 400 mL\n", rest)
    order = '[[order]]\nitem = "socks"\ncolourway = "Harbour"\nbase = "Sock"\nskeins = 7\nmatch = true\n'
    unlike = sheet_text(weigh_sheet(read_plan(days.PLAN[: days.PLAN.index("[[order]]")] + order)))
    assert re.findall(r"Navy 1 % +(\d+) mL|\[ \] (\d\d) gets (\d+) mL", unlike) == [
        ("700", "", ""),
        ("", "01", "400"),
        ("", "02", "300"),
    ]


def test_batches_of_one_lot_that_differ_in_size_are_mixed_at_once_with_the_first_of_them() -> None:
    """By hand: 200 g, 90 mL for 100 g; 0.9 % yellow on 45 % of it is 81 mL of a 1 % solution, up to the jug's 85.

    Of each section the mix is at least what is poured from it: for 11, then twice for 12 and 13.
    """
    text = sheet_text(weigh_sheet(read_plan(HEAVY_DAY.read_text(encoding="utf-8"))))
    first, later = re.findall(r"\n(1[12][^\n]* Marsh Lantern on Sock Mini.*?) then:", text, re.DOTALL)
    assert "   painted: 70 mL liquor; one mix for 11, 12, 13: 180 mL\n" in first
    assert re.search(r" all 3 +put in\n", first)
    assert re.search(r"Lamp Yellow 1 % +85 mL ______ mL\n", first)
    assert "   painted: 55 mL liquor for EACH batch, of the mix of 11\n" in later
    poured = zip(*(re.findall(r"([\d.]+) mL\s+on\s+section \d", part) for part in (first, later)), strict=True)
    for n, (of_first, of_later) in enumerate((map(float, pours) for pours in poured), 1):
        mixed = sum(map(float, re.findall(rf"section {n}, .* ([\d.]+) mL(?: ______ mL)? *\n", first)))
        assert of_first + 2 * of_later <= mixed < 1.06 * (of_first + 2 * of_later)
    assert not re.search(r" \d %|____ mL", later)


def test_water_is_to_the_jugs_marks_and_by_pipette_where_it_is_less_than_one() -> None:
    """By hand for 01 to 04: 37.0 mL of water in the mix of section 3, up to the jug's 40; 4.6 for 11, 12 and 13."""
    text = sheet_text(weigh_sheet(read_plan(HEAVY_DAY.read_text(encoding="utf-8"))))
    assert re.findall(r"section 3, 20 % +water +([\d.]+) mL", text) == ["40", "4.7"]


@pytest.mark.parametrize(("hardness", "both"), [({}, True), ({"water.hardness": "200"}, False)])
def test_citric_acid_is_a_range_on_the_weigh_out_where_the_hardness_is_not_known(
    hardness: dict[str, str], both: bool
) -> None:
    """To pH 4.5 at an alkalinity of 200 mg/L (PHREEQC, minteq.v4): 0.4274 g/L in hard water, 0.5487 in softened."""
    plan = small_plan({"water.alkalinity": "200", "acid.kind": '"citric"', **hardness})
    text = sheet_text(weigh_sheet(plan))
    assert ("(hard water) to" in text) is both
    assert ("drop test" in text) is both


def test_a_weigh_out_tells_what_is_ordered_from_what_is_spare() -> None:
    """Two ordered and a spare one are a batch; of five and two spares in batches of four, the last two are spare."""
    assert "for: Shop, ember (2 and 1 spare)\n" in sheet_text(weigh_sheet(read_plan(SHORT_DAY.read_text("utf-8"))))
    split = small_plan({"order.skeins": "5\nspare = 2"})
    shares = re.findall(r"for: .*\((.*)\)", sheet_text(weigh_sheet(split)))
    assert [batch.skeins for batch in split.batches] == [4, 3]
    assert shares == ["4", "1 and 2 spare"]


def test_during_the_day_only_what_still_wants_dye_is_on_the_weigh_out() -> None:
    """Of the days here every third batch is done, every third painted, and the rest waits."""
    (left,) = [sheet for sheet in every_sheet(plan_of(6)) if sheet.name == "weigh"]
    text = sheet_text(left)
    # 03 and 06 wait; 03 is of two layers, and of 02 and 05 all is put on.
    assert [no for no in ("01", "02", "03", "04", "05", "06") if f"\n{no} [red]" in text] == ["03", "06"]


def test_acid_comes_after_water_and_dye_in_a_bath() -> None:
    """Acid into water, never the other way round."""
    plan = read_plan(SHORT_DAY.read_text(encoding="utf-8"))
    text = sheet_text(weigh_sheet(plan))
    part = text[text.index("immersed: 8 L liquor") :]
    assert part.index("Slate Blue") < part.index(" water ") < part.index("vinegar 5 %")


def test_nothing_that_belongs_together_is_parted_by_a_page() -> None:
    """A batch's lines on the weigh-out are on one page, its last line where its first one is."""
    plan = plan_of(14)
    pages = text_pages(weigh_sheet(plan))
    for batch in plan.batches:
        found = [
            head for page in pages if (head := re.search(rf"^(.*, )?{batch.no} \[red\](?=[, ])", page, re.MULTILINE))
        ]
        (head,) = found
        block = head.string[head.start() :].split("\n\n")[0]
        assert "then: " in block


def test_a_parcel_has_its_own_slip_and_those_with_nothing_ready_share_the_last_page() -> None:
    plan = plan_of(5)
    (packing,) = [sheet for sheet in every_sheet(plan) if sheet.name == "packing"]
    slips, waiting = text_pages(packing)
    assert [block.slip for block in packing.blocks[:3]] == [True, True, True]
    for parcel in ("Shop 0", "Shop 3"):
        assert f"{parcel}: complete" in slips
    assert slips.count(f"{BOX}        3 ") == 2
    for parcel in ("Shop 1", "Shop 2", "Shop 4"):
        assert f"{parcel}: NOT COMPLETE" in waiting
    assert waiting.count("waits for") == 3


def test_there_is_one_label_for_each_finished_piece() -> None:
    (labels,) = [sheet for sheet in every_sheet(plan_of(4)) if sheet.name == "labels"]
    text = sheet_text(labels)
    assert text.count("lot 260314-01") == 3
    assert text.count("lot 260314-04") == 3
    assert "420 m / 459 yd, 100 g" in text  # 420 / 0.9144 = 459.3


@pytest.mark.parametrize(("paper", "width", "height"), [("A4", 210.0, 297.0), ("Letter", 8.5 * 25.4, 11 * 25.4)])
@pytest.mark.parametrize("size", ["", "1x1", "2x4", "5x15"])
def test_labels_fill_a_page_evenly_on_both_sides(paper: str, width: float, height: float, size: str) -> None:
    """ISO 216 (210 mm x 297 mm) and ASME Y14.1 size A (8.5 in x 11 in): what the labels leave is margin, halved."""
    grid = grid_of(paper, size)
    across = grid.columns * grid.width_mm + (grid.columns - 1) * grid.gap_mm
    assert grid.left_mm == pytest.approx((width - across) / 2, abs=0.01)
    assert grid.top_mm == pytest.approx((height - grid.rows * grid.height_mm) / 2, abs=0.01)


@pytest.mark.parametrize("size", ["0x4", "6x4", "3x16", "3 x 7", "x", "3x", "100x100"])
def test_a_size_of_labels_that_no_page_has_is_refused(size: str) -> None:
    with pytest.raises(ValueError, match="is not columns x rows, such as 3x7"):
        grid_of("A4", size)


def test_a_swatch_is_painted_only_with_what_is_a_colour() -> None:
    """A plan edited by hand cannot put anything else into the page's style."""
    plan = read_plan(SHORT_DAY.read_text(encoding="utf-8"))
    bad = 'red;background:url("//nowhere.invalid/x")'
    layer = plan.colourways[0].layers[0]
    sections = tuple(replace(section, swatch=bad) for section in layer.sections)
    colourway = replace(plan.colourways[0], layers=(replace(layer, sections=sections),))
    page = sheet_html(weigh_sheet(replace(plan, colourways=(colourway, *plan.colourways[1:]))))
    assert "nowhere.invalid" not in page
    assert "background:#6f7c86" in page


def test_a_browser_is_given_the_size_of_the_paper() -> None:
    sheet = weigh_sheet(plan_of(1))
    assert "size: A4;" in sheet_html(sheet)
    assert "size: letter;" in sheet_html(sheet, "Letter")


def test_a_day_sheet_of_two_hundred_batches_keeps_its_limits() -> None:
    """Names as awkward as they come, every step of every batch on it."""
    plan = plan_of(200, *AWKWARD[:3])
    day = begin(plan)
    made = day_sheet(day, forecast(day, first_moment(plan), evaluations=1, warn=False))
    keeps_its_limits(made)
    needs_nothing_else(sheet_html(made))
    text = sheet_text(made)
    assert [batch.no for batch in plan.batches if not re.search(rf"\b{batch.no}\b", text)] == []


def test_the_day_sheet_tells_what_is_foreseen_and_when_each_step_starts() -> None:
    """The heavy day: what will go wrong, a row for each step of the hands, tomorrow's marked as such."""
    plan = read_plan(HEAVY_DAY.read_text(encoding="utf-8"))
    day = fold(plan, [])
    found = forecast(day, first_moment(plan), evaluations=20)
    text = sheet_text(day_sheet(day, found))
    for warned in found.warned:
        assert " ".join(warned.text.split()[:3]) in " ".join(text.split())
    assert re.search(r"^ +start +batch +what +unit$", text, re.MULTILINE)
    rows = re.findall(r"^\[ \] ((?:Sun |Mon )?\d\d:\d\d) +(\S.*)", text, re.MULTILINE)
    steps = [step for step in hands_steps(day, found) if step.attended]
    assert sorted(start for start, _ in rows) == sorted(
        time_text_on(step.start, plan.session.zone, found.at.utc) for step in steps
    )
    assert any(start.startswith("Sun ") for start, _ in rows)
    assert [what for _, what in rows if re.match(r"(Sun |Mon )?\d\d:\d\d|!", what)] == []


def test_yarn_that_is_painted_overnight_lies_until_its_heat_is_on_not_until_its_tank_is_filled() -> None:
    """The warning has the time that stands in the load's row: 3 min of filling and 2 of loading come before it."""
    plan = read_plan(HEAVY_DAY.read_text(encoding="utf-8"))
    day = fold(plan, [])
    found = forecast(day, first_moment(plan), evaluations=20)
    lies = re.compile(r"(\d\d) lies painted overnight, until its heat at Sun (\d\d:\d\d)")
    painted = [match.groups() for warned in found.warned if (match := lies.fullmatch(warned.text))]
    assert painted
    for no, on in painted:
        heats = [s for s in found.steps if s.batch == no and s.kind is StepKind.HEAT and f"{s.start:%a}" == "Sun"]
        assert time_text_on(heats[0].start, plan.session.zone, found.at.utc) == f"Sun {on}"
        assert re.search(rf"^\[ \] Sun \d\d:\d\d +{no} .* heat on Sun {on} ", sheet_text(day_sheet(day, found)), re.M)


TOPICS = (
    # The usual headings of a maker's safety sheet, and those of the kit; common practice, no source.
    "mask, FFP2", "No fan", "no one else", "wet paper", "goggles", "running water", "doctor", "Gloves", "window",
    "children", "animals", "food or drink", "food again", "labelled", "Acid into water", "bleach", "sweep it dry",
    "scalds", "full hot pot", "scorches", "suddenly boil over", "film made for heat", "vent it", "residual-current",
    "Dry your hands", "Unplug a unit that trips", "carbon monoxide", "one circuit", "lead",
    "Never leave heat unattended", "water company", "wet yarn covered", "fresh air",
    "poison centre", "cool running water", "citric acid", "allergy", "lenses", "nitrile", "apron", "wash your hands",
    "food jars", "catches fire", "dilute spilt acid", "wet floor", "smoke alarm", "fire blanket", "fire brigade",
    "no metal", "never empty", "has stopped", "do not reset", "chromium", "hazardous waste",
)  # fmt: skip


def test_every_caution_is_on_the_wall_and_each_ends_by_deferring() -> None:
    text = " ".join(sheet_text(cautions_sheet()).split())

    assert [topic for topic in TOPICS if topic.casefold() not in text.casefold()] == []
    assert all(re.search(r"\. (Read|Follow|Ask) [^.]+\.$", one.whole) for one in CAUTIONS)
    assert text.endswith(DEFERS)
    assert len(text_pages(cautions_sheet())) == 1


def test_the_cautions_stand_near_the_top_of_the_readme() -> None:
    text = (SHORT_DAY.parent.parent / "README.md").read_text(encoding="utf-8")

    assert text.index("## Cautions") < text.index("## A first day")


def test_a_day_sheet_names_carbon_monoxide_only_where_a_pot_has_no_power() -> None:
    text = SHORT_DAY.read_text(encoding="utf-8")
    without = text.replace('power = "1800 W"\n', "")
    assert without != text

    electric, gas = (" ".join(sheet_text(_day_sheet(of)).split()) for of in (text, without))

    assert "carbon monoxide" not in electric
    assert "carbon monoxide" in gas
    for said in (electric, gas):
        assert "Never leave heat unattended" in said
        assert "Dry your hands" in said


def test_a_break_and_an_hour_out_of_the_house_stand_on_the_timetable() -> None:
    """Neither has a box to tick."""
    text = SHORT_DAY.read_text(encoding="utf-8").replace("breaks = [", 'out = ["11:00-11:30"]\nbreaks = [')
    rows = [
        row
        for block in _day_sheet(text).blocks
        for part in block.parts
        if isinstance(part, Table)
        for row in part.rows
    ]
    pauses = [row for row in rows if not row[0]]
    assert [(row[1], row[3]) for row in pauses] == [
        ("11:00", "out of the house until 11:30"),
        ("13:00", "break until 13:30"),
    ]


def _day_sheet(text: str) -> Sheet:
    plan = read_plan(text)
    return day_sheet(begin(plan), forecast(begin(plan), first_moment(plan), evaluations=50))


def test_the_acid_of_a_pot_is_said_in_two_halves_that_add_up() -> None:
    """Citric on a scale of 0.01 g; the halves are what the pot gets, before the yarn goes in and at the simmer."""
    plan = small_plan(
        {
            "water.alkalinity": "250",
            "water.hardness": "250",
            "acid.kind": '"citric"',
            "scale.resolution": '"0.01 g"',
            "colourway.how": '"immersed"',
        }
    )
    text = " ".join(sheet_text(weigh_sheet(plan)).split())
    halves = re.search(r"in two parts: ([\d.]+) g before the yarn goes in, ([\d.]+) g once it simmers", text)
    assert halves is not None
    first, later = map(float, halves.groups())
    assert 0 <= first - later <= 0.011
    assert f"{first + later:.2f} g" in text


def test_the_parts_of_a_small_dose_of_a_pot_add_up_to_the_whole() -> None:
    """15 mL in a jug read to 5 mL, of which a pipette measures the halves."""
    text = " ".join(sheet_text(weigh_sheet(read_plan(HEAVY_DAY.read_text(encoding="utf-8")))).split())
    parts = r"citric solution 20 % ([\d.]+) mL.{0,30}acid in two parts: ([\d.]+) mL before .{0,20}, ([\d.]+) mL once"
    found = [tuple(map(float, each)) for each in re.findall(parts, text)]
    assert found == [(15.0, 7.5, 7.5)]


def test_a_second_dish_in_the_microwave_is_a_row_of_the_hands() -> None:
    """Four skeins in dishes of two, 2 min each: changed 2 min after the microwave is on, and painting put down."""
    plan = read_plan(HEAVY_DAY.read_text(encoding="utf-8"))
    day = fold(plan, [])
    found = forecast(day, first_moment(plan), evaluations=20)
    hands = hands_steps(day, found)
    for on in (step for step in hands if step.kind is StepKind.LOAD and step.unit == "microwave 1"):
        (dish,) = (s for s in hands if s.kind is StepKind.DISH and (s.batch, s.id.heat) == (on.batch, on.id.heat))
        (off,) = (s for s in hands if s.kind is StepKind.UNLOAD and (s.batch, s.id.heat) == (on.batch, on.id.heat))
        assert on.end + timedelta(minutes=2) <= dish.start == dish.end <= off.start - timedelta(minutes=2)
    assert all(one.end <= other.start for one, other in pairwise(step for step in hands if step.attended))
    assert "next dish, 1st" in sheet_text(day_sheet(day, found))


def test_no_unit_of_the_timetable_is_cut_for_a_long_step() -> None:
    """In 68 columns: the step goes on in the next line."""
    plan = read_plan(HEAVY_DAY.read_text(encoding="utf-8"))
    day = begin(plan)
    found = forecast(day, first_moment(plan), evaluations=20)
    wide, narrow = (re.findall(r"(?:steamer|microwave) \d", "\n".join(table_lines(found, day, w))) for w in (120, 68))
    assert len(wide) > 20
    assert narrow == wide


@pytest.mark.parametrize(("amps", "at_once"), [(13, 2), (7, 1)])
def test_a_load_says_when_its_heat_is_on_and_which_heat_must_be_off_first(amps: int, at_once: int) -> None:
    """Of two steamers of 1400 W and a microwave of 1250 W, 230 V at 13 A feed two, at 7 A one: the other waits."""
    plan = read_plan(HEAVY_DAY.read_text(encoding="utf-8").replace("lead_amps = 13", f"lead_amps = {amps}"))
    day = fold(plan, [])
    lines = table_lines(forecast(day, first_moment(plan), evaluations=20), day, 120)
    row = r"^(\d\d:\d\d) +(\d\d:\d\d) +(\d\d) +(.*?)  +((?:steamer|microwave) \d)$"
    rows = [match.groups() for line in lines if (match := re.match(row, line))]
    offs = {start: no for start, _, no, what, _ in rows if "heat off" in what}
    loads = [(end, what, unit) for _, end, _, what, unit in rows if "heat on" in what]
    switched = sorted(
        [(start, False, unit) for start, _, _, what, unit in rows if "heat off" in what]
        + [(end, True, unit) for end, _, unit in loads]
    )
    said = 0
    for end, what, unit in loads:
        last = {where: is_on for at, is_on, where in switched if at < end}
        is_full = end in offs and len({unit, *(where for where, is_on in last.items() if is_on)}) > at_once
        first = f", once {offs[end]} is off: one circuit" if is_full else ""
        assert re.fullmatch(rf"load, \d\w\w heat on {end}(, layer 2)?{first}", what)
        said += is_full
    assert any(end in offs for end, _, _ in loads)
    assert (said > 0) is (at_once == 1)
