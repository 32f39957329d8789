"""How wide each column of the batch list is on a terminal of a given width; wider means more, not bigger gaps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dyeday.bench.view.bench_view import Row

SWATCH_CELLS = 4


WIDER = (("flag_words", 12, 22), ("base", 8, 20), ("last", 14, 30), ("last", 0, 48), ("flag_words", 0, 40))
"""(column, room it needs to appear or 0 to grow only, how wide it may become), as room is given away

The base goes before what was last: one colourway on two bases would look alike, and that is at the foot as well.
"""


@dataclass(frozen=True, slots=True)
class Column:
    """One column of the batch list; ``cells`` is its width."""

    key: str
    title: str
    cells: int


DROPPED = ("swatch", "pieces", "where", "then", "tag")
"""what a terminal narrower than 80 goes without, first to last"""


def columns(width: int, rows: Sequence[Row]) -> tuple[Column, ...]:
    """Return the columns for ``width`` cells: all that is needed at 80, more when wider, fewer when narrower."""
    tagged = any(row.tag for row in rows)
    numbers = max((len(row.no) for row in rows), default=2)
    fixed = [
        Column("no", "No", max(2, numbers)),
        Column("tag", "Tag", 6 if tagged else 0),
        Column("swatch", "", SWATCH_CELLS),
        Column("colourway", "Colourway", 12),
        Column("base", "Base", 0),
        Column("pieces", "Pcs", 3),
        Column("state", "State", 9),
        Column("where", "Where", 11),
        Column("time", "Minutes", 9),
        Column("then", "Then", 8),
        Column("flags", "?", 3),
        Column("flag_words", "Which", 0),
        Column("last", "Last", 0),
    ]
    sizes = {column.key: column.cells for column in fixed}

    def spare() -> int:
        shown = [cells for cells in sizes.values() if cells]
        return width - 2 - sum(shown) - (len(shown) - 1)

    def grow(key: str, most: int) -> None:
        room = spare() - (0 if sizes[key] else 1)
        sizes[key] += max(0, min(most - sizes[key], room))

    for key in DROPPED:
        if spare() < 0:
            sizes[key] = 0
    if tagged and sizes["tag"]:
        grow("tag", max(len(row.tag) for row in rows))
    grow("colourway", max((len(row.colourway) for row in rows), default=12))
    for key, least, most in WIDER:
        if spare() > least and (least or sizes[key]):
            grow(key, min(most, max([len(row.base) for row in rows], default=0)) if key == "base" else most)
    return tuple(Column(c.key, c.title, sizes[c.key]) for c in fixed if sizes[c.key])
