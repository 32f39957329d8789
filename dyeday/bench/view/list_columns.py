"""How wide each column of the batch list is on a terminal of a given width; wider means more, not bigger gaps."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len

from dyeday.bench.view.bench_view import BatchRow
from dyeday.quick_dataclass import dataclass

SWATCH_CELLS = 4


WIDER = (("base", 8, 20), ("pieces", 4, 4), ("flag_words", 12, 26), ("last", 14, 30), ("last", 0, 48))
"""(column, room it needs to appear or 0 to grow only, how wide it may become), as room is given away

The base goes first: it tells two batches of one colourway apart.
"""


@dataclass(frozen=True, slots=True)
class ListColumn:
    """One column of the batch list; ``cells`` is its width."""

    key: str
    title: str
    cells: int


DROPPED = ("swatch", "where", "then", "tag", "colourway")
"""what a terminal narrower than 80 goes without, first to last"""


def columns(width: int, rows: Sequence[BatchRow]) -> tuple[ListColumn, ...]:
    """Return the columns for ``width`` cells: all that is needed at 80, more when wider, fewer when narrower."""
    tagged = any(row.tag for row in rows)
    numbers = max((len(row.no) for row in rows), default=2)
    wide = {key: max((cell_len(getattr(row, key)) for row in rows), default=0) for key in ("tag", "where", "then")}
    fixed = [
        ListColumn("no", "No", max(2, numbers)),
        ListColumn("tag", "Tag", min(6, max(3, wide["tag"])) if tagged else 0),
        ListColumn("swatch", "", SWATCH_CELLS),
        ListColumn("colourway", "Colourway", 13),
        ListColumn("base", "Base", 0),
        ListColumn("pieces", "Pcs", 0),
        ListColumn("state", "State", 11),
        ListColumn("where", "Where", min(11, max(5, wide["where"]))),
        ListColumn("time", "Time", 12),
        ListColumn("then", "Next", min(10, max(8, wide["then"]))),
        ListColumn("flags", "", 2 if any(row.flags for row in rows) else 0),
        ListColumn("flag_words", "Flags", 0),
        ListColumn("last", "Last", 0),
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
    grow("colourway", max((cell_len(row.colourway) for row in rows), default=13))
    for key, least, most in WIDER:
        if spare() > least and (least or sizes[key]):
            grow(key, min(most, max([4, *(cell_len(getattr(row, key)) for row in rows)])))
    return tuple(ListColumn(c.key, c.title, sizes[c.key]) for c in fixed if sizes[c.key])
