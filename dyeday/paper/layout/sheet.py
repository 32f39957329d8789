"""A sheet before its layout: parts in blocks that stay together, under headings.

`sheet_text` and `sheet_html` lay out the same model, so both say the same; where a sheet has labels HTML has only
these. Swatches are only in HTML, beside their meaning in words.
"""

from __future__ import annotations

from dyeday.quick_dataclass import dataclass

BOX = "[ ]"
"""a box to tick"""
BLANK = "________"
"""room to write a number by hand"""


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A paragraph, indented by ``level`` steps, and behind its ``lead`` if it has one."""

    text: str
    level: int = 0
    lead: str = ""
    strong: bool = False
    swatches: tuple[tuple[str, float], ...] = ()
    """(#rrggbb, %) painted beside it in HTML, in the order of the sections"""


@dataclass(frozen=True, slots=True)
class Column:
    """A column ``cells`` wide as text; 0 is the rest of the line. Words wrap, numbers are aligned ``right``."""

    head: str
    cells: int = 0
    right: bool = False
    large: bool = False
    """read from a step away: times and amounts"""
    whole: bool = False
    """never broken across lines in HTML: a time, a unit, a lot"""


@dataclass(frozen=True, slots=True)
class Table:
    """A table of texts; each row has a cell for each column."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    swatches: tuple[str | None, ...] = ()
    """by row, the colour beside its text in column ``swatch_column`` in HTML"""
    swatch_column: int = 0
    framed: frozenset[int] = frozenset()
    """rows framed in HTML"""
    ruled: bool = False
    """a line every five rows, to find the place again"""


@dataclass(frozen=True, slots=True)
class DrawnLines:
    """Lines drawn in characters, kept as they are, clipped to the page."""

    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Card:
    """A label. The lines ``strong`` are in bold; the first of these is the colourway's and has its ``swatches``."""

    lines: tuple[str, ...]
    strong: tuple[int, ...] = (0, 1)
    swatches: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Cards:
    """Labels side by side: stickers in HTML, to be cut apart in text."""

    cards: tuple[Card, ...]


Part = Paragraph | Table | DrawnLines | Cards


@dataclass(frozen=True, slots=True)
class Block:
    """Parts that stay on one page if they fit, unless ``breakable``. Blocks in a row of one heading are a section."""

    parts: tuple[Part, ...]
    heading: str = ""
    new_page: bool = False
    breakable: bool = False
    """whether it may go on to the next page, as a long table"""
    apart: bool = False
    """a gap is before it"""
    slip: bool = False
    """cut off and put into a parcel: four to a page"""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet. ``title`` and ``about`` head every page, and ``copy``, the mark of a reprint."""

    name: str
    """the name of its files and print jobs: summary, weigh, …"""
    title: str
    about: str
    blocks: tuple[Block, ...]
    copy: str = ""
    dense: bool = False
    """smaller type, and in text no lines below headings, so that a day fits one page"""
    label_size: str = ""
    """columns by rows of its labels in HTML, "3x7"; "" for the paper's usual stickers"""


def tick(text: str, level: int = 0) -> Paragraph:
    """Return a line with a box to tick before it."""
    return Paragraph(text, level, BOX)
