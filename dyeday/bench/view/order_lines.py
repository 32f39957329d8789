"""A plan's orders as lines, one each, as many around the chosen one as have room."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len
from rich.text import Text

from dyeday.bench.looks.themes import LookStyles
from dyeday.bench.view.bench_lines import CHOSEN, chosen_style
from dyeday.paper.layout.text_page import pad
from dyeday.plan.model import Order
from dyeday.text import harmless

HEADS = ("Pcs", "Colourway on base", "Due", "Order, parcel")


def orders_text(orders: Sequence[Order], chosen: int, width: int, room: int, look: LookStyles) -> Text:
    """Return a heading and ``room`` lines of ``width`` cells, the order at place ``chosen`` marked."""
    first = max(0, min(chosen - room // 2, len(orders) - room))
    text = Text()
    rows = [_cells(order) for order in orders]
    wide = _widths([HEADS, *rows], width)
    text.append("  " + _line(("No", *HEADS), wide) + "\n", style="underline")
    if not orders:
        text.append("\n  No order yet. a adds one: colourway, base, how many, due.\n")
    for n, row in list(enumerate(rows))[first : first + room]:
        style = chosen_style(look, n == chosen)
        text.append(f"{CHOSEN if n == chosen else ' '} {_line((str(n + 1), *row), wide)}", style=style)
        text.append("\n")
    return text


def _cells(order: Order) -> tuple[str, str, str, str]:
    """Return what an order's row says: pieces, yarn, due date, whose it is."""
    pieces = f"{order.skeins}+{order.spare}" if order.spare else str(order.skeins)
    yarn = f"{'sample: ' if order.sample else ''}{order.colourway} on {order.base}"
    due = f"{order.due:%d %b}" if order.due else ""
    return pieces, yarn, due, order.item if not order.parcel else f"{order.item}, {order.parcel}"


def _widths(rows: Sequence[tuple[str, str, str, str]], width: int) -> tuple[int, int, int, int, int]:
    """Return the cells of each column; yarn and order share what is left, neither cut without need."""
    pieces, due = max(5, *(len(row[0]) for row in rows)), 6
    rest = max(8, width - 3 - (3 + pieces + due) - 4)
    yarn, about = (max(cell_len(harmless(row[n])) for row in rows) for n in (1, 3))
    if yarn + about > rest:
        yarn = min(yarn, max(rest - about, rest * 3 // 5))
    return 3, pieces, min(yarn, rest), due, max(1, rest - yarn)


def _line(cells: tuple[str, str, str, str, str], wide: tuple[int, int, int, int, int]) -> str:
    no, pieces, yarn, due, about = cells
    counted = f"{no:>{wide[0]}} {pieces:>{wide[1]}}"
    return f"{counted} {pad(yarn, wide[2])} {pad(due, wide[3])} {pad(about, wide[4])}"
