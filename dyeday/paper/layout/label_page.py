"""Sizes of paper, and labels in columns and rows on a sheet of stickers or plain paper to be cut."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

from dyeday.paper.layout.sheet import Card
from dyeday.text import brief, wrap

MOST_COLUMNS, MOST_ROWS = 5, 15
PADDING_MM = 2.0
LARGEST_PT, LEAST_PT, STEP_PT = 10.0, 5.0, 0.5
LETTER_EM, LINE_EM = 0.58, 1.2
"""width of a letter, a little above a sans serif's average, and height of a line, in sizes of the type"""
SWATCH_MM = 16.0
"""the swatch before a label's colourway, with the gap behind it"""
PT_PER_MM = 72 / 25.4


class PaperSize(NamedTuple):
    """A size of paper: its names in CSS and for print queues (PWG 5101.1), and its usual labels, columns by rows."""

    css: str
    media: str
    width_mm: float
    height_mm: float
    labels: str


PAPERS = {
    "A4": PaperSize("A4", "iso_a4_210x297mm", 210.0, 297.0, "3x7"),
    "Letter": PaperSize("letter", "na_letter_8.5x11in", 215.9, 279.4, "3x10"),
}
"""ISO 216, and ASME Y14.1 size A"""


class LabelGrid(NamedTuple):
    """Where labels are on a page, in mm; ``gap_mm`` is between columns, rows have no gap."""

    columns: int
    rows: int
    width_mm: float
    height_mm: float
    left_mm: float = 0.0
    top_mm: float = 0.0
    gap_mm: float = 0.0


STICKERS = {
    ("A4", "3x7"): LabelGrid(3, 7, 63.5, 38.1, 7.21, 15.15, 2.54),
    ("Letter", "3x10"): LabelGrid(3, 10, 66.675, 25.4, 4.7625, 12.7, 3.175),
}
"""the most common sheets of stickers, from memory; the rest of the page is margin"""


def grid_of(paper: str, size: str = "") -> LabelGrid:
    """Return the grid of labels on ``paper``, one of `PAPERS`; ``size`` is columns by rows, "3x7", or "" for usual.

    A size that is not in `STICKERS` divides the page evenly. Raises ValueError for any other text.
    """
    size = size or PAPERS[paper].labels
    if grid := STICKERS.get((paper, size)):
        return grid
    match = re.fullmatch(r"(\d{1,2})x(\d{1,2})", size)
    columns, rows = (int(match[1]), int(match[2])) if match else (0, 0)
    if not (1 <= columns <= MOST_COLUMNS and 1 <= rows <= MOST_ROWS):
        raise ValueError(f"{brief(size)} is not columns x rows, such as 3x7; at most {MOST_COLUMNS}x{MOST_ROWS}")
    return LabelGrid(columns, rows, PAPERS[paper].width_mm / columns, PAPERS[paper].height_mm / rows)


@lru_cache(maxsize=256)
def type_pt(card: Card, grid: LabelGrid) -> float:
    """Return the largest type, in points, that fits a card on its label, at least `LEAST_PT`; the rest is cut off."""
    width, height = ((side - 2 * PADDING_MM) * PT_PER_MM for side in (grid.width_mm, grid.height_mm))
    size = LARGEST_PT
    while size > LEAST_PT:
        cells = int(width / (LETTER_EM * size))
        beside = "x" * round(SWATCH_MM * PT_PER_MM / (LETTER_EM * size)) if card.swatches else ""
        heads = [f"{beside if n == card.strong[0] else ''} {line}" for n, line in enumerate(card.lines)]
        lines = sum(len(wrap(head, cells)) for head in heads)
        if lines * LINE_EM * size <= height:
            break
        size -= STEP_PT
    return size


def label_style(grid: LabelGrid) -> str:
    """Return the CSS of a page of labels: only the stickers' margins, and nothing else in print."""
    return f"""
@page {{ margin: 0; @bottom-left {{ content: none; }} @bottom-right {{ content: none; }} }}
@media print {{ h1, p.about, p.copy {{ display: none; }} }}
body {{ max-width: none; margin: 0; }}
.cards {{ display: grid; grid-template-columns: repeat({grid.columns}, {grid.width_mm:g}mm);
  grid-auto-rows: {grid.height_mm:g}mm; column-gap: {grid.gap_mm:g}mm;
  padding: {grid.top_mm:g}mm 0 0 {grid.left_mm:g}mm; }}
.cards + .cards {{ break-before: page; }}
.card {{ padding: {PADDING_MM:g}mm; overflow: hidden; line-height: {LINE_EM:g};
  border: {"none" if grid.top_mm else "0.2mm dashed #555"}; }}
.card p {{ margin: 0; }}
"""
