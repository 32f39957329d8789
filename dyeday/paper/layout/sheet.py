"""What stands on a sheet, before it is laid out: parts in blocks that stay together, under headings.

One model for both ways of showing it, `sheet_text` and `sheet_html`, so that the plain page and the
one for a browser say the same. Only swatches are left to the browser: whatever they tell stands in words beside them.
"""

from __future__ import annotations

from dataclasses import replace

from dyeday.quick_dataclass import dataclass

BOX = "[ ]"
"""a box to tick"""
BLANK = "________"
"""room to write a number by hand"""


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A paragraph, ``level`` steps in; ``lead`` stands before it and its further lines go in behind that."""

    text: str
    level: int = 0
    lead: str = ""
    strong: bool = False
    swatches: tuple[tuple[str, float], ...] = ()
    """(#rrggbb, %) painted beside it in a browser, in the order of the sections"""


@dataclass(frozen=True, slots=True)
class Column:
    """``cells`` wide on the plain page; the one with 0 takes what is left. Words wrap, numbers stand ``right``."""

    head: str
    cells: int = 0
    right: bool = False
    large: bool = False
    """what is read from a step away: times and amounts"""
    whole: bool = False
    """never broken across lines in a browser: a time, a unit, a lot"""


@dataclass(frozen=True, slots=True)
class Table:
    """A table of texts; each row has a cell for each column."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    swatches: tuple[str | None, ...] = ()
    """by row, the colour painted in its cell number ``painted`` in a browser"""
    painted: int = 0
    framed: frozenset[int] = frozenset()
    """rows that stand in a frame in a browser"""
    ruled: bool = False
    """a rule every five rows, for an eye that comes back to it"""


@dataclass(frozen=True, slots=True)
class DrawnLines:
    """Lines that are drawn in characters, each as it is and at most a page wide."""

    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Card:
    """A label: its lines, of which the ``strong`` ones are bold, and the swatches of what it is on."""

    lines: tuple[str, ...]
    strong: tuple[int, ...] = (0, 1)
    swatches: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Cards:
    """Cards side by side: stickers on paper from a browser, to be cut apart on the plain page."""

    cards: tuple[Card, ...]


Part = Paragraph | Table | DrawnLines | Cards


@dataclass(frozen=True, slots=True)
class KeepTogether:
    """Parts that stay on one page as long as a page holds them. Blocks in a row with one heading are its section."""

    parts: tuple[Part, ...]
    heading: str = ""
    new_page: bool = False
    loose: bool = False
    """its parts need not stay together: a long table"""
    apart: bool = False
    """stands apart from the one before"""
    slip: bool = False
    """cut off and put into a parcel: four of them to a page"""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet. ``title`` and ``about`` head every page, and so does ``copy``, which tells a reprint."""

    name: str
    """what its files and its queue entry are called: summary, weigh, …"""
    title: str
    about: str
    blocks: tuple[KeepTogether, ...]
    copy: str = ""
    dense: bool = False
    """read at a table, not from a step away: smaller type, so that a day is one page"""
    label_size: str = ""
    """columns by rows of its labels in a browser, "3x7"; "" for the usual stickers of the paper"""

    def as_copy(self, said: str) -> Sheet:
        """Return the sheet with ``said`` as its mark of a copy."""
        return replace(self, copy=said)


def tick(text: str, level: int = 0) -> Paragraph:
    """Return a line with a box to tick before it."""
    return Paragraph(text, level, BOX)
