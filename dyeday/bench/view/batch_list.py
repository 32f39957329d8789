"""The list of batches: which have room, how wide each column is, and their lines as styled text."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import field
from functools import partial
from typing import Any, TypeVar

from rich.cells import cell_len
from rich.text import Text

from dyeday.bench.looks.swatches import cell_of
from dyeday.bench.looks.themes import LookStyles
from dyeday.bench.view.batch_row import SWATCH_CELLS, TIME_CELLS, BatchRow, Urgency
from dyeday.bench.widgets.board import CHOSEN, Canvas, chosen_style, line_of
from dyeday.quick_dataclass import dataclass
from dyeday.text import counted, harmless, pad

T = TypeVar("T")
WIDER = (("base", 8, 20), ("pieces", 4, 4), ("flag_words", 12, 26), ("last", 14, 30), ("last", 0, 48))
"""(column, room it needs to appear or 0 to grow only, how wide it may become), as room is given away

The base goes first: it tells two batches of one colourway apart.
"""
DROPPED = ("swatch", "where", "then", "tag", "colourway")
"""what a terminal narrower than 80 goes without, first to last"""


@dataclass(frozen=True, slots=True)
class ListColumn:
    """One column of the batch list; ``key`` is the field of `BatchRow` that it shows, ``cells`` its width."""

    key: str
    title: str
    cells: int


def columns(width: int, rows: Sequence[BatchRow]) -> tuple[ListColumn, ...]:
    """Return the columns for ``width`` cells: all that is needed at 80, more when wider, fewer when narrower."""
    tagged = any(row.tag for row in rows)
    numbers = max((len(row.no) for row in rows), default=2)
    wide = {
        key: max((cell_len(getattr(row, key)) for row in rows), default=0)
        for key in ("tag", "state", "where", "then")
    }
    fixed = [
        ListColumn("no", "No", max(2, numbers)),
        ListColumn("tag", "Tag", min(6, max(3, wide["tag"])) if tagged else 0),
        ListColumn("swatch", "", SWATCH_CELLS),
        ListColumn("colourway", "Colourway", 13),
        ListColumn("base", "Base", 0),
        ListColumn("pieces", "Qty", 0),
        ListColumn("state", "State", min(12, max(11, wide["state"]))),
        ListColumn("where", "Where", min(11, max(5, wide["where"]))),
        ListColumn("time", "Time", TIME_CELLS),
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


def tally(rows: Sequence[BatchRow], open_flags: int = 0) -> str:
    """Return how many batches are over, ready, running, drying, waiting or set aside, and done; then open flags."""
    unfinished = [row for row in rows if not row.ended]
    counts = {
        "over": sum(row.urgency >= Urgency.OVER for row in unfinished),
        "ready": sum(row.urgency is Urgency.READY for row in unfinished),
        "running": sum(row.urgency is Urgency.CALM and not row.may_be_left_out for row in unfinished),
        "drying": sum(row.may_be_left_out and row.dries for row in unfinished),
        "waiting": sum(row.may_be_left_out and not row.dries for row in unfinished),
        "done": len(rows) - len(unfinished),
    }
    parts = [f"{count} {word}" for word, count in counts.items() if count]
    return " · ".join([*parts, *([counted(open_flags, "flag")] if open_flags else [])])


def scroll_bar(first: int, room: int, rows: int) -> list[str]:
    """Return the sign at the end of each of ``room`` lines that show ``rows`` from ``first``; none where all are."""
    if rows <= room:
        return []
    thumb = max(1, room * room // rows)
    top = round((room - thumb) * first / (rows - room))
    return ["┃" if top <= y < top + thumb else "│" for y in range(room)]


def row_line(row: BatchRow, columns: Sequence[ListColumn], chosen: bool, canvas: Canvas, bar: str = "") -> Text:
    """Return one batch's line with the scroll bar's sign ``bar`` behind it; a sign in front says it is ``chosen``."""
    look = canvas.look
    urgent = row.urgency.style(look)
    parts = [(CHOSEN if chosen else " ", ""), (row.urgency.sign, urgent)]
    for n, column in enumerate(columns):
        if n:
            parts.append((" ", ""))
        if column.key == "swatch":
            parts += [cell_of(colour, canvas.colours) for colour in row.swatch]
            parts.append((" " * (column.cells - len(row.swatch)), ""))
        else:
            words = pad(str(getattr(row, column.key)), column.cells)
            parts.append((words, _style(row, column.key, look, urgent)))
    line = line_of(*parts)
    if chosen:
        line.pad_right(max(0, canvas.width - line.cell_len))
        line.stylize_before(chosen_style(look, chosen))
    if bar:
        line.pad_right(max(0, canvas.width - line.cell_len))
        line.append(bar, style=look.quiet)
    return line


def _style(row: BatchRow, key: str, look: LookStyles, urgent: str) -> str:
    if row.ended:
        return look.quiet
    if key == "time":
        return urgent
    if key in ("flags", "flag_words"):
        return look.flag_style
    if key == "last":
        return look.quiet
    return "bold" if key == "no" else ""


def _with_room(rows: Sequence[BatchRow], around: str | None, room: int) -> tuple[list[BatchRow], str]:
    """Return the rows that have room, those near ``around``, and in words those left out, which only wait or dry."""
    if len(rows) <= room:
        return list(rows), ""
    at = next((n for n, row in enumerate(rows) if row.no == around), 0)
    may_go = [n for n, row in enumerate(rows) if row.may_be_left_out and row.no != around]
    may_go.sort(key=lambda n: abs(n - at))
    gone = set(may_go[max(0, room - 1 - (len(rows) - len(may_go))) :])
    counts = Counter(harmless(rows[n].state) for n in sorted(gone))
    shown = [row for n, row in enumerate(rows) if n not in gone]
    return shown, ", ".join(f"{count} {state}" for state, count in counts.items())


class KeptLines:
    """Values by name, computed again only when something that they are made from has changed."""

    def __init__(self) -> None:
        self._made: dict[object, tuple[tuple[object, ...], Any]] = {}

    def of(self, name: object, key: tuple[object, ...], make: Callable[[], T]) -> T:
        """Return what ``make`` gives: that of the last time where ``key`` is still the same."""
        before = self._made.get(name)
        if before is None or before[0] != key:
            before = self._made[name] = (key, make())
        made: T = before[1]
        return made


@dataclass(slots=True)
class BatchList:
    """The list from tick to tick: a line is made again only where something in it has changed."""

    first: int = 0
    """the first batch that is seen, where there are more than have room"""
    around: str | None = None
    """where rows are left out, those nearest to this batch stay; another only once the chosen one is not seen"""
    _kept: KeptLines = field(default_factory=KeptLines)

    def lines(
        self, rows: Sequence[BatchRow], chosen: str | None, marked: Sequence[str], canvas: Canvas
    ) -> list[Text]:
        """Return the list's head and as many batches as fit, the ``chosen`` one too; a load's are ``marked``."""
        key = (rows, chosen, marked, canvas)
        return self._kept.of("list", key, lambda: self._made(rows, chosen, marked, canvas))

    def _made(
        self, rows: Sequence[BatchRow], chosen: str | None, marked: Sequence[str], canvas: Canvas
    ) -> list[Text]:
        width, room = canvas.width, canvas.height
        shown, left_out = _with_room(rows, self.around, room)
        if all(row.no != chosen for row in shown):
            self.around = chosen
            shown, left_out = _with_room(rows, chosen, room)
        numbers = [row.no for row in shown]
        seen = room - bool(left_out)
        if chosen in numbers:
            place = numbers.index(chosen)
            self.first = min(max(self.first, place - seen + 1), place)
        self.first = max(0, min(self.first, len(numbers) - seen))
        bar = scroll_bar(self.first, seen, len(numbers))
        on = canvas.of(width - bool(bar), 1)
        fitting = self._kept.of("columns", (rows, on), lambda: columns(on.width, rows))
        titles = "  " + " ".join(pad(column.title, column.cells) for column in fitting)
        lines = [self._kept.of("head", (titles,), lambda: Text(titles))]
        for row, sign in zip(shown[self.first : self.first + seen], bar or [""] * seen, strict=False):
            is_chosen = row.no in (marked or (chosen,))
            make = partial(row_line, row, fitting, is_chosen, on, sign)
            lines.append(self._kept.of((row.no, is_chosen), (row, sign, on, fitting), make))
        return [*lines, Text(f"   … {left_out}", style=canvas.look.quiet)] if left_out else lines
