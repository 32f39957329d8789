"""HTML sheets in a real browser: printed at A4 and at Letter, pages counted and numbered, no block cut in two."""

from __future__ import annotations

import pytest

from dyeday.paper.layout.sheet import Words
from dyeday.paper.layout.sheet_html import sheet_html
from tests.paper.browser import CHROMIUM, PDFTOTEXT, page_sizes, printed_to_pdf, shown_by
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
            words = [part for part in block.parts if isinstance(part, Words)]
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
    shown = printed_to_pdf({name: sheet_html(sheets[name]) for name in ("labels", "day", lot)})
    for name, pdf in shown.items():
        text = "".join(shown_by(pdf))
        assert _has(text, evil), name
    assert sum(page.count("lot 260314-") for page in shown_by(shown["labels"])) == 6
