"""HTML sheets in a real browser: printed at A4 and at Letter, pages counted and numbered, no block cut in two."""

from __future__ import annotations

from dataclasses import replace

import pytest

from dyeday.paper.layout.label_page import PT_PER_MM, grid_of
from dyeday.paper.layout.sheet import Paragraph
from dyeday.paper.layout.sheet_html import sheet_html
from tests.paper.browser import CHROMIUM, PDFTOTEXT, page_sizes, printed_to_pdf, shown_by, words_of
from tests.paper.sheets import every_sheet, plan_of

pytestmark = [
    pytest.mark.skipif(CHROMIUM is None, reason="no browser here: chromium is not installed"),
    pytest.mark.skipif(PDFTOTEXT is None, reason="no browser here whose pages could be read: pdftotext is missing"),
]

POINTS = {"A4": (210 / 25.4 * 72, 297 / 25.4 * 72), "Letter": (8.5 * 72, 11 * 72)}
"""ISO 216 (210 mm × 297 mm) and ASME Y14.1 size A (8.5 in × 11 in), 72 points an inch"""


@pytest.mark.parametrize(("paper", "names"), [("A4", ("summary", "weigh", "packing")), ("Letter", ("weigh",))])
def test_a_browser_prints_numbered_pages_of_that_paper_and_cuts_no_block_in_two(
    paper: str, names: tuple[str, ...]
) -> None:
    """Every page says which of how many it is; what belongs together is on one of them."""
    sheets = {sheet.name: sheet for sheet in every_sheet(plan_of(14), "a note")}
    chosen = {name: sheet_html(sheets[name], paper) for name in names}
    for name, pdf in printed_to_pdf(chosen).items():
        sizes, pages = page_sizes(pdf), shown_by(pdf)
        assert len(sizes) == len(pages) > 1
        for size in sizes:
            assert size == pytest.approx(POINTS[paper], abs=1)
        for number, page in enumerate(pages, 1):
            assert f"page {number} of {len(pages)}" in page
        for block in sheets[name].blocks:
            words = [part for part in block.parts if isinstance(part, Paragraph)]
            if words and words[0].strong:
                ends = [page for page in pages if _has(page, words[0].text) and _has(page, words[-1].text)]
                assert ends, (name, words[0].text)


def _has(page: str, said: str) -> bool:
    return "".join(said.split()) in "".join(page.split())


def test_the_other_sheets_come_out_whole_and_names_in_them_are_only_text() -> None:
    """A name that is markup is printed as it was typed; as many cards as labels, none over a page's end."""
    evil = "</style><script>document.body.remove()</script><b>"
    sheets = {sheet.name: sheet for sheet in every_sheet(plan_of(6, evil, evil, "red"), evil)}
    lot = next(name for name in sheets if name.startswith("lot-"))
    sheets["labels"] = replace(sheets["labels"], label_size="1x8")
    shown = printed_to_pdf({name: sheet_html(sheets[name]) for name in ("labels", "day", lot)})
    for name, pdf in shown.items():
        text = "".join(shown_by(pdf))
        assert _has(text, evil), name
    assert sum(page.count("lot 260314-") for page in shown_by(shown["labels"])) == 6


@pytest.mark.parametrize(("paper", "size"), [("A4", ""), ("Letter", ""), ("A4", "2x4"), ("Letter", "5x13")])
def test_every_word_of_a_label_stands_on_its_own_sticker(paper: str, size: str) -> None:
    """Fifteen labels, filled row by row, on as many pages as they need; the lot's number is whole on each."""
    plan = plan_of(14)
    plan = replace(plan, session=replace(plan.session, studio="Brook End Yarns"))
    (sheet,) = [replace(each, label_size=size) for each in every_sheet(plan) if each.name == "labels"]
    pages = words_of(printed_to_pdf({"labels": sheet_html(sheet, paper)})["labels"])
    grid, lots = grid_of(paper, size), list[str]()
    room = grid.columns * grid.rows
    assert len(pages) == -(-15 // room)
    for number, words in enumerate(pages):
        for place in range(min(room, 15 - number * room)):
            row, column = divmod(place, grid.columns)
            left = (grid.left_mm + column * (grid.width_mm + grid.gap_mm)) * PT_PER_MM
            top = (grid.top_mm + row * grid.height_mm) * PT_PER_MM
            right, bottom = left + grid.width_mm * PT_PER_MM, top + grid.height_mm * PT_PER_MM
            own = [w for w in words if left <= w.left and w.right <= right and top <= w.top and w.bottom <= bottom]
            words = [w for w in words if w not in own]
            texts = [w.text for w in own]
            assert {"Brook", "End", "Yarns", "lot", "459", "tumble", "flat"} <= set(texts)
            lots += [text for text in texts if text.startswith("260314-")]
        assert not words
    assert lots == [f"260314-{no}" for no in ("01", "04", "07", "10", "13") for _ in range(3)]
