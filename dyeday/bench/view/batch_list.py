"""The list of batches: which have room, how wide each column is, and their lines as styled text."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import field

from rich.cells import cell_len
from rich.text import Text

from dyeday.bench.looks.swatches import cell_of
from dyeday.bench.looks.themes import LookStyles
from dyeday.bench.view.batch_row import SWATCH_CELLS, TIME_CELLS, BatchRow, Urgency
from dyeday.bench.view.bench_lines import CHOSEN, Canvas, chosen_style, line_of
from dyeday.paper.layout.text_page import pad
from dyeday.quick_dataclass import dataclass
from dyeday.text import counted, harmless

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
        ListColumn("pieces", "Qty", 0),
        ListColumn("state", "State", 11),
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


def tally(rows: Sequence[BatchRow], day_flags: int = 0) -> str:
    """Return the number of batches in each condition: "1 over · 5 ready · 2 running · 5 waiting · 2 flags".

    Those that are set aside count as waiting.
    """
    live = [row for row in rows if not row.ended]
    counts = {
        "over": sum(row.urgency >= Urgency.OVER for row in live),
        "ready": sum(row.urgency is Urgency.READY for row in live),
        "running": sum(row.urgency is Urgency.CALM and not row.may_be_left_out for row in live),
        "drying": sum(row.may_be_left_out and row.dries for row in live),
        "waiting": sum(row.may_be_left_out and not row.dries for row in live),
        "done": len(rows) - len(live),
    }
    flags = day_flags + sum(int(row.flags[1:] or 0) for row in rows if row.flags)
    parts = [f"{count} {word}" for word, count in counts.items() if count]
    return " · ".join([*parts, *([counted(flags, "flag")] if flags else [])])


def header_line(columns: Sequence[ListColumn]) -> Text:
    """Return the titles of ``columns``, above the list."""
    return Text("  " + " ".join(pad(column.title, column.cells) for column in columns))


def scroll_bar(first: int, room: int, rows: int) -> list[str]:
    """Return the sign at the end of each of ``room`` lines that show ``rows`` from ``first``; none where all are."""
    if rows <= room:
        return []
    thumb = max(1, room * room // rows)
    top = round((room - thumb) * first / (rows - room))
    return ["┃" if top <= y < top + thumb else "│" for y in range(room)]


def row_line(row: BatchRow, columns: Sequence[ListColumn], chosen: bool, canvas: Canvas) -> Text:
    """Return one batch's line; the chosen one has a sign in front and stands on a ground of its own.

    Where the terminal shows too few colours the swatch is a letter for each: another colour would be untrue.
    """
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
    """Return the rows to show, and in words those left out: where not all have room, some that only wait or dry.

    The batch ``around`` stays, and those nearest to it.
    """
    if len(rows) <= room:
        return list(rows), ""
    at = next((n for n, row in enumerate(rows) if row.no == around), 0)
    may_go = sorted(
        (n for n, row in enumerate(rows) if row.may_be_left_out and row.no != around), key=lambda n: abs(n - at)
    )
    gone = set(may_go[max(0, room - 1 - (len(rows) - len(may_go))) :])
    counts = Counter(harmless(rows[n].state) for n in sorted(gone))
    shown = [row for n, row in enumerate(rows) if n not in gone]
    return shown, ", ".join(f"{count} {state}" for state, count in counts.items())


Cached = tuple[tuple[object, ...], list[Text]]
"""(what lines were made from, the lines)"""


def has_changed(key: tuple[object, ...], before: tuple[object, ...]) -> bool:
    """Tell whether any input differs from ``before``; large values are compared by identity first."""
    return len(key) != len(before) or any(a is not b and a != b for a, b in zip(key, before, strict=True))


@dataclass(slots=True)
class BatchList:
    """The list from tick to tick: a line is made again only where something in it has changed."""

    first: int = 0
    """the first batch that is seen, where there are more than have room"""
    around: str | None = None
    """where rows are left out, those nearest to this batch stay; another only once the chosen one is not seen"""
    _rows: Cached = ((), [])
    _laid: tuple[tuple[object, ...], tuple[ListColumn, ...], Text] = ((), (), Text())
    """what the columns were laid out for, the columns, their titles"""
    _lines: dict[tuple[str, bool], tuple[tuple[BatchRow, str], Text]] = field(default_factory=dict)
    """by batch and whether it is chosen: row and sign of the scroll bar, their line in the columns laid out"""

    def lines(
        self, rows: Sequence[BatchRow], chosen: str | None, marked: Sequence[str], canvas: Canvas
    ) -> list[Text]:
        """Return the list's head and below it as many batches as ``canvas`` has lines, the ``chosen`` one too.

        ``marked`` are the batches of a load; none where the chosen one is meant alone. Where not all have room,
        those that wait or dry are left out first and counted.
        """
        key = (rows, chosen, marked, canvas)
        if not has_changed(key, self._rows[0]):
            return self._rows[1]
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
        wide = width - bool(bar)
        on = canvas.of(wide, 1)
        if has_changed((rows, on), self._laid[0]):
            fitting = columns(wide, rows)
            if (*self._laid[0][1:], self._laid[1]) != (on, fitting):
                self._lines.clear()
            self._laid = (rows, on), fitting, header_line(fitting)
        lines = [
            self._line(row, row.no in (marked or (chosen,)), sign, on)
            for row, sign in zip(shown[self.first : self.first + seen], bar or [""] * seen, strict=False)
        ]
        if left_out:
            lines.append(Text(f"   … {left_out}", style=canvas.look.quiet))
        self._rows = (key, [self._laid[2], *lines])
        return self._rows[1]

    def _line(self, row: BatchRow, chosen: bool, sign: str, canvas: Canvas) -> Text:
        """Return the line of a batch, ``sign`` of the scroll bar behind it; made again only where it changed."""
        key, before = (row, sign), self._lines.get((row.no, chosen))
        if before is not None and before[0] == key:
            line = before[1]
        else:
            line = row_line(row, self._laid[1], chosen, canvas)
            if sign:
                line.pad_right(max(0, canvas.width - line.cell_len))
                line.append(sign, style=canvas.look.quiet)
        self._lines[(row.no, chosen)] = key, line
        return line
