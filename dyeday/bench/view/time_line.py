"""The kit along a line of time: the past as recorded, the future as foreseen, each bar in its batch's colours."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from rich.cells import cell_len
from rich.text import Text

from dyeday.ahead.problem_parts.hours import wall
from dyeday.ahead.problem_parts.session_days import stop_min_at
from dyeday.bench.looks.swatches import contrast, in_palette, ink_on, mixed
from dyeday.bench.looks.themes import ColourDepth, LookStyles
from dyeday.bench.view.batch_row import swatch_cells
from dyeday.bench.widgets.board import Canvas, rule
from dyeday.paper.sheets.day_chart import HANDS, Bar, BarKind, Stretch, rows_of, stretches
from dyeday.quick_dataclass import dataclass
from dyeday.text import clip, pad
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import length_text, local, time_text

if TYPE_CHECKING:
    from dyeday.ahead.foreseen_steps import Forecast

SLOTS_MIN = (2, 3, 4, 5, 6, 7, 8, 10, 12, 15, 20, 30, 60)
LEAST_PAST_MIN = 120
"""minutes of the past that are shown at least, as far as there are any; more where there is room"""
TITLE = "Kit"
LONGEST_NAME = 12
HOUR_CELLS = len("14:20")
DAY = timedelta(days=1)
LEAST_CONTRAST = 1.8
"""of a bar against the ground: a swatch too like it is mixed with ink"""
WORK_SIGN = "▒"
TOMORROW_SIGN = "┊"
LEGEND = {
    WORK_SIGN: "hands busy", "·": "no hands", "=": "heat", "▓": "over", "▲": "fill", "━": "yarn in it",
    TOMORROW_SIGN: "next day",
}  # fmt: skip
"""signs in cells, in the order of the legend"""


class BarWords(NamedTuple):
    """A kind of bar: its sign in a cell, its name, and a word in the bar itself."""

    sign: str
    name: str
    inside: str = ""


BARS = {
    BarKind.OUT: BarWords("·", "out of the house", "out"),
    BarKind.BREAK: BarWords("·", "break", "break"),
    BarKind.LIES: BarWords("━", "yarn in it"),
    BarKind.HEAT: BarWords("=", "heat"),
    BarKind.OVER: BarWords("▓", "heat over its time"),
    BarKind.SOAK: BarWords(WORK_SIGN, "soak"),
    BarKind.PAINT: BarWords(WORK_SIGN, "paint"),
    BarKind.HEATER: BarWords(WORK_SIGN, "load or unload"),
    BarKind.RINSE: BarWords(WORK_SIGN, "rinse"),
    BarKind.CHORE: BarWords(WORK_SIGN, "chore"),
    BarKind.FILL: BarWords("▲", "fill the tank"),
}


@dataclass(frozen=True, slots=True)
class _Cell:
    """What one cell of a row shows: the highest kind of the bars that meet there, and their batches."""

    kind: BarKind
    batches: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AxisPart:
    """A stretch of time on the axis: so many cells of ``slot_min`` from ``start`` on."""

    stretch: Stretch
    start: datetime
    cells: int
    slot_min: int

    def place(self, moment: datetime) -> int | None:
        """Return the cell of a moment, None where it is outside."""
        cell = int((moment - self.start).total_seconds() // 60 // self.slot_min)
        return cell if 0 <= cell < self.cells else None

    def at(self, cell: int) -> datetime:
        """Return the moment at which ``cell`` begins, from 0."""
        return self.start + timedelta(minutes=cell * self.slot_min)


def axis_parts(day: Day, shown: Sequence[Stretch], now_utc: datetime, room: int) -> list[AxisPart]:
    """Return today and tomorrow on one scale: the finest that fits ``room`` cells."""
    today, *later = shown
    # Show an hour from now at least, and the day to its planned stop if that is within 24 h: a later stop would
    # press all else into few cells.
    stop = wall(day.plan, stop_min_at(day.plan, now_utc))
    ends = [today.end, now_utc + timedelta(hours=1), *([stop] if stop - now_utc < DAY else [])]
    today = replace(today, end=max(ends))
    past = (now_utc - today.start).total_seconds() / 60
    coming = (today.end - now_utc).total_seconds() / 60
    rest = sum(stretch.minutes for stretch in later)
    room -= len(later)
    needed = min(past, LEAST_PAST_MIN) + coming + rest
    slot = next((n for n in SLOTS_MIN if needed / n + 2 + len(later) <= room), SLOTS_MIN[-1])
    tail = [AxisPart(each, each.start, int(-(-each.minutes // slot)), slot) for each in later]
    cells = room - sum(part.cells for part in tail)
    after = int(-(-coming // slot)) + 1
    before = max(0, min(cells - after, int(-(-past // slot))))
    # Cells begin on the slot's own minutes, so that a bar keeps its cells as time goes on.
    first = now_utc - timedelta(minutes=before * slot)
    stamp = int(first.timestamp() // 60)
    first = datetime.fromtimestamp((stamp - stamp % slot) * 60, tz=now_utc.tzinfo)
    return [AxisPart(today, first, max(1, min(cells, before + after)), slot), *tail]


def time_line(
    day: Day, forecast: Forecast | None, now_utc: datetime, canvas: Canvas, pointed: datetime | None = None
) -> list[Text]:
    """Return a rule, the scale, a row for hands and each unit in use, and a legend; ``pointed`` marks a moment."""
    shown = stretches(day, forecast, now_utc)
    bars = shown[0].bars
    # Hands, then units that heat, then those that yarn only lies in, as far as there is room.
    hot = {bar.row for bar in bars if bar.kind in (BarKind.HEAT, BarKind.OVER, BarKind.FILL)}
    rows = rows_of(day, bars)
    wanted = sorted(rows, key=lambda name: (name != HANDS, name not in hot))[: max(1, canvas.height - 3)]
    names = [name for name in rows if name in wanted]
    left = min(LONGEST_NAME, max(cell_len(name) for name in names)) + 2
    parts = axis_parts(day, shown, now_utc, canvas.width - left - 1)
    look = canvas.look
    lines = [_rule(parts, day, now_utc, left, canvas), _scale(parts, day, now_utc, left, look)]
    seen: set[BarKind] = set()
    for name in names:
        line = Text(" " + pad(clip(name, left - 2), left - 1), style="")
        for n, part in enumerate(parts):
            if n:
                line.append(TOMORROW_SIGN, style=look.quiet)
            row = _row([bar for bar in bars if bar.row == name], part)
            seen |= {cell.kind for cell in row if cell is not None}
            line.append_text(_row_text(row, part, day, now_utc, pointed, canvas))
        lines.append(line)
    signs = {BARS[kind].sign for kind in seen} | ({TOMORROW_SIGN} if len(parts) > 1 else set())
    legend = "".join(f" {sign} {words} " for sign, words in LEGEND.items() if sign in signs)
    lines.append(Text(clip(legend, canvas.width), style=look.quiet))
    return lines[: canvas.height]


def _row(bars: Sequence[Bar], part: AxisPart) -> list[_Cell | None]:
    row: list[_Cell | None] = [None] * part.cells
    for bar in sorted(bars, key=lambda bar: (bar.kind, bar.start)):
        first = round((bar.start - part.start).total_seconds() / 60 / part.slot_min)
        last = round((bar.end - part.start).total_seconds() / 60 / part.slot_min)
        if last < 0 or first >= part.cells or (last == 0 and first < 0):
            continue
        for n in range(max(0, first), min(part.cells, max(last, first + 1))):
            before = row[n]
            same = before is not None and before.kind is bar.kind
            batches = before.batches if same and before is not None else ()
            row[n] = _Cell(bar.kind, tuple(sorted({*batches, *([bar.batch] if bar.batch else [])})))
    return row


def _row_text(
    row: Sequence[_Cell | None], part: AxisPart, day: Day, now_utc: datetime, pointed: datetime | None, canvas: Canvas
) -> Text:
    text = Text()
    at, marked = part.place(now_utc), part.place(pointed) if pointed is not None else None
    place = 0
    blocks = [(cell, len(list(run))) for cell, run in groupby(row)]
    for n, (cell, cells) in enumerate(blocks):
        # Yarn that lies before or after its heat is named in the heat.
        named = cell is not None and (
            cell.kind is not BarKind.LIES
            or not any(_heats(other, cell) for other, _ in [*blocks[max(0, n - 1) : n], *blocks[n + 1 : n + 2]])
        )
        block = Text(" " * cells) if cell is None else _block(cell, cells, day, canvas, named=named)
        text.append_text(block)
        if at is not None and place <= at < place + cells and (cell is None or cell.kind is BarKind.LIES):
            if canvas.look.present:
                text.stylize(f"on {canvas.look.present}", at, at + 1)
            elif cell is None:
                # No ground but the heats' own: a white column would be read as one of them.
                text.plain = text.plain[:at] + "│" + text.plain[at + 1 :]
        place += cells
    if marked is not None:
        text.stylize("reverse", marked, marked + 1)
    return text


def _heats(other: _Cell | None, cell: _Cell) -> bool:
    return other is not None and other.kind is BarKind.HEAT and other.batches == cell.batches


def _block(cell: _Cell, cells: int, day: Day, canvas: Canvas, *, named: bool) -> Text:
    """Return one bar: its sign in its batches' colours, their numbers where there is room and it is ``named``."""
    labels = ("+".join(cell.batches), cell.batches[0] + "+") if named and cell.batches else ()
    label = next((text for text in labels if len(text) < cells), "")
    shades = [shade for no in cell.batches for shade in _shades(day, no, canvas.colours)]
    look, kind, sign, word = canvas.look, cell.kind, BARS[cell.kind].sign, BARS[cell.kind].inside
    if word:
        return Text(word.center(cells, sign) if len(word) <= cells else sign * cells, style=look.quiet)
    if kind is BarKind.OVER:
        # Reversed, "▓" would read as "░".
        return Text(sign * cells, style=look.urgent.replace(" reverse", ""))
    if kind is BarKind.FILL:
        return Text(sign + " " * (cells - 1), style=f"bold {look.due}")
    if kind is BarKind.HEAT:
        chars = label.ljust(cells, sign)
        if not shades:
            return Text(chars, style="bold reverse")
        inks = zip(chars, _spread(shades, cells), strict=True)
        return Text.assemble(*((char, f"bold {ink_on(shade)} on {shade}") for char, shade in inks))
    chars = label + sign * (cells - len(label)) if kind is BarKind.LIES else sign * cells
    if not shades:
        return Text(chars, style=look.quiet)
    text = Text()
    for n, shade in enumerate(_spread([_visible(shade, look) for shade in shades], cells)):
        text.append(chars[n], style="" if chars[n] != sign else shade)
    return text


def _shades(day: Day, batch_no: str, colours: ColourDepth) -> tuple[str, ...]:
    batch = day.batches.get(batch_no)
    if batch is None or colours in (ColourDepth.SIXTEEN, ColourDepth.NONE):
        return ()
    cells = swatch_cells(batch)
    return tuple(in_palette(shade)[0] for shade in cells) if colours is ColourDepth.PALETTE else cells


def _spread(shades: Sequence[str], cells: int) -> list[str]:
    return [shades[n * len(shades) // cells] for n in range(cells)]


def _visible(shade: str, look: LookStyles) -> str:
    """Return a colour with as much ink mixed in as it needs to stand out from the look's ground."""
    for share in (0.0, 0.25, 0.5, 0.75):
        lighter = mixed(shade, look.ink, share)
        if contrast(lighter, look.ground) >= LEAST_CONTRAST:
            return lighter
    return look.ink


def _rule(parts: Sequence[AxisPart], day: Day, now_utc: datetime, left: int, canvas: Canvas) -> Text:
    width, look, zone = canvas.width, canvas.look, day.plan.session.zone
    line = rule(TITLE, width, look)
    at = parts[0].place(now_utc)
    labels = [(left + at, f" now {time_text(now_utc, zone)} ")] if at is not None else []
    place = left + parts[0].cells
    for part in parts[1:]:
        labels.append((place, f" {local(part.start, zone):%a %d %b} "))
        place += part.cells + 1
    for column, words in labels:
        if column + 1 + len(words) <= width and column > len(TITLE) + 4:
            plain = line.plain
            line = Text(plain[:column] + "┬" + words + plain[column + 1 + len(words) :], style=look.quiet)
            line.stylize("bold", 3, 3 + len(TITLE))
    return line


def _scale(parts: Sequence[AxisPart], day: Day, now_utc: datetime, left: int, look: LookStyles) -> Text:
    """Return the hours over the cells, and where the day is planned to stop."""
    zone = day.plan.session.zone
    signs = [" "] * (left + sum(part.cells for part in parts) + len(parts))
    place = left
    stop = wall(day.plan, stop_min_at(day.plan, now_utc))
    for part in parts:
        hour_cells = 60 / part.slot_min
        every = next((n for n in (1, 2) if n * hour_cells >= HOUR_CELLS + 2), 4)
        first = local(part.start, zone).replace(minute=0, second=0, microsecond=0)
        hours = (first + timedelta(hours=n) for n in range(int(part.cells * part.slot_min / 60) + 2))
        for hour in hours:
            cell = part.place(hour)
            if cell is None or (hour.hour % every and hour != local(stop, zone)):
                continue
            label = f"{hour:%H:%M}" + (" stop" if hour == local(stop, zone) else "")
            if (
                place + cell + len(label) <= len(signs)
                and not "".join(signs[place + cell - 1 : place + cell + HOUR_CELLS]).strip()
            ):
                signs[place + cell : place + cell + len(label)] = label
        place += part.cells + 1
    return Text("".join(signs).rstrip(), style=look.quiet)


def bars_at(day: Day, bars: Sequence[Bar], moment: datetime, slot_min: int, zone: str | None) -> list[str]:
    """Return a line for each bar that is on at ``moment``: its row and `bar_text`."""
    until = moment + timedelta(minutes=slot_min)
    lines = []
    for name in rows_of(day, bars):
        for bar in sorted((bar for bar in bars if bar.row == name), key=lambda bar: bar.start):
            if bar.start < until and (bar.end > moment or bar.start == bar.end >= moment):
                lines.append(f"{name}: {bar_text(day, bar, zone)}")
    return lines


def bar_text(day: Day, bar: Bar, zone: str | None) -> str:
    """Return "heat, 06 Bonfire Ash, 13:31 to 14:11, 40 min"."""
    batch = day.batches.get(bar.batch)
    whose = f", {bar.batch} {batch.colourway.name}" if batch is not None else ""
    if not (minutes := (bar.end - bar.start).total_seconds() / 60):
        return f"{BARS[bar.kind].name}{whose}, {time_text(bar.start, zone)}"
    span = f"{time_text(bar.start, zone)} to {time_text(bar.end, zone)}"
    return f"{BARS[bar.kind].name}{whose}, {span}, {length_text(minutes)}"
