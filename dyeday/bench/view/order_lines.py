"""A plan's orders as lines, one each, as many around the chosen one as have room, and the chosen one in full."""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len
from rich.text import Text

from dyeday.ahead.foreseen_steps import Forecast
from dyeday.bench.looks.swatches import colour_words
from dyeday.bench.looks.themes import LookStyles
from dyeday.bench.widgets.board import list_line, seen_of
from dyeday.plan.model import Order, Plan
from dyeday.terms import State
from dyeday.text import counted, harmless, pad, wrap
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import state_word
from dyeday.track.timestamp import time_text_near
from dyeday.units import show_mass

HEADS = ("Qty", "Colourway on base", "Due", "Order, parcel")


def order_list(orders: Sequence[Order], chosen: int, width: int, room: int, look: LookStyles) -> list[Text]:
    """Return a heading and ``room`` lines of ``width`` cells, the order at place ``chosen`` marked."""
    rows = [_cells(order) for order in orders]
    wide = _widths([HEADS, *rows], width)
    head = Text("  " + _line(("No", *HEADS), wide), style="underline")
    if not orders:
        return [head, Text(""), Text("  No order yet. a adds one: colourway, base, how many, due.")]
    lines = ((n, " " + _line((str(n + 1), *rows[n]), wide)) for n in seen_of(len(rows), chosen, room))
    return [head, *(list_line(words, look, chosen=n == chosen) for n, words in lines)]


def order_detail(plan: Plan, order: Order, foreseen: tuple[Day, Forecast] | None, width: int) -> list[Text]:
    """Return an order in full, ``width`` cells wide, with its batches where the day and forecast are ``foreseen``."""
    base, colourway = plan.base(order.base), plan.colourway(order.colourway)
    spare = f" and {order.spare} spare" if order.spare else ""
    grams = show_mass((order.skeins + order.spare) * base.skein_g, plan.session.units, plan.scale_g)
    facts = [
        f"{counted(order.skeins, base.form.value)}{spare}: {grams} of yarn",
        f"due {order.due:%a %d %b}" if order.due else "no due date",
        f"parcel: {order.parcel}" if order.parcel else "",
        "sample, not sold" if order.sample else "",
        "all from one mix" if order.match else "",
    ]
    swatches = [swatch for layer in colourway.layers for swatch, _ in layer.swatches]
    facts.append(f"colours: {colour_words(swatches)}" if swatches else "")
    for n, layer in enumerate(colourway.layers, 1):
        facts.append(f"{f'layer {n}: ' if len(colourway.layers) > 1 else ''}{layer.how.value}, {layer.fix_text}")
    lines = [Text(line, style="bold") for line in wrap(f"{order.item}: {order.colourway} on {order.base}", width)]
    lines += [Text(line) for words in facts if words for line in wrap(words, width, "  ", "")]
    if foreseen is None:
        return lines
    of_way = (b for b in foreseen[0].unsplit if (b.colourway.name, b.base.name) == (order.colourway, order.base))
    own = (batch for batch in of_way if any(item == order.item for item, _ in batch.shares))
    batches = [_batch_words(batch, order, *foreseen) for batch in own]
    below = [Text(line) for words in batches for line in wrap(words, width, "    ", "")]
    return [*lines, Text(""), Text("Its batches", style="underline"), *below] if below else lines


def _batch_words(batch: BatchRecord, order: Order, day: Day, forecast: Forecast) -> str:
    """Return a batch's number, its pieces with those of other orders, its state and when it is foreseen rinsed."""
    for_it = sum(count for item, count in batch.shares if item == order.item)
    pieces = counted(batch.skeins, batch.base.form.value)
    pieces = pieces if for_it == batch.skeins else f"{for_it} of {pieces}"
    ends = [step.end for step in forecast.steps if step.batch == batch.no and step.state is State.RINSE]
    rinsed = f", rinsed by {time_text_near(max(ends), day.plan.session.zone, forecast.at.utc)}" if ends else ""
    return f"{batch.no}: {pieces}, {state_word(batch)}{rinsed}"


def _cells(order: Order) -> tuple[str, str, str, str]:
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
    numbers = f"{no:>{wide[0]}} {pieces:>{wide[1]}}"
    return f"{numbers} {pad(yarn, wide[2])} {pad(due, wide[3])} {pad(about, wide[4])}"
