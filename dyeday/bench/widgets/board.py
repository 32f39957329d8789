"""A screen of lines: their styled text, and the widget that shows them and redraws only those that changed.

A screen of a Static for each line costs a style, a layout and a task for each, at the start and at every tick.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise, zip_longest
from typing import NamedTuple

from rich.cells import cell_len
from rich.segment import Segment
from rich.style import Style
from rich.text import Span, Text
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from dyeday.bench.looks.themes import ColourDepth, LookStyles
from dyeday.quick_dataclass import dataclass
from dyeday.text import clip

_SHOWN = {"escape": "esc"}
"""how a key is shown, where not by the name Textual has for it"""
CHOSEN = "▶"
"""in front of the chosen line of any list"""


class Canvas(NamedTuple):
    """Room for ``height`` lines of ``width`` cells, the look they are drawn in and the colours the terminal shows."""

    width: int
    height: int
    look: LookStyles
    colours: ColourDepth = ColourDepth.ALL

    def of(self, width: int, height: int) -> Canvas:
        """Return a canvas of another size that looks the same."""
        return self._replace(width=width, height=height)


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the screen: its text, the colour it stands on, such as "#303030", and what stands behind it."""

    text: Text
    ground: str
    aside: Text | None = None

    @property
    def parts(self) -> tuple[Text | None, Text | None]:
        return self.text, self.aside

    @property
    def plain(self) -> str:
        return "".join(part.plain for part in self.parts if part is not None)


def line_of(*parts: tuple[str, str]) -> Text:
    """Return harmless words, each with its style, as one text; Rich's `assemble` takes three times as long."""
    spans, at = [], 0
    for words, style in parts:
        if style:
            spans.append(Span(at, at + len(words), style))
        at += len(words)
    return Text("".join(words for words, _ in parts), spans=spans)


def is_same(text: Text | None, other: Text | None) -> bool:
    """Return whether two texts look the same: Rich compares only their letters, not their colours."""
    if text is other or text is None or other is None:
        return text is other
    return text.plain == other.plain and text.spans == other.spans and text.style == other.style


def changed_parts(lines: Sequence[Line], before: Sequence[Line]) -> dict[int, list[int]]:
    """Return which parts of each changed line differ from ``before``, by line; 0 is its text, 1 what is aside."""
    changed = {}
    for y, (now, was) in enumerate(zip_longest(lines, before)):
        if now is was:
            continue
        parts = [0, 1]
        if now is not None and was is not None and now.ground == was.ground:
            parts = [n for n in parts if not is_same(now.parts[n], was.parts[n])]
        if parts:
            changed[y] = parts
    return changed


class Board(Widget, can_focus=False):
    """Lines from the top down, one cell high each. ``ink`` is what they are written in. ``drawn`` counts lines."""

    DEFAULT_CSS = "Board { width: 100%; height: 100%; }"

    def __init__(self, **how: str) -> None:
        super().__init__(**how)  # type: ignore[arg-type]
        self.shown: tuple[Line, ...] = ()
        self.ink = ""
        self.drawn = 0
        self._strips: dict[int, Strip] = {}
        self._cells: dict[tuple[int, int], list[Segment]] = {}
        """by line and part of it, as it was drawn"""

    def show(self, lines: Sequence[Line], ink: str) -> None:
        """Show ``lines``; only changed ones are drawn again."""
        before, self.shown = self.shown, tuple(lines)
        if ink != self.ink:
            self.ink, before = ink, ()
        changed = changed_parts(self.shown, before)
        for y, parts in changed.items():
            for part in parts:
                self._cells.pop((y, part), None)
        drawn = {y: self._strips.pop(y, None) for y in changed}
        if len(changed) == len(self.shown):
            self.refresh()
        elif changed:
            self.refresh(*(self._region(y, changed[y], drawn[y], self.size.width) for y in changed))
        self.drawn += len(changed)

    def _region(self, y: int, parts: list[int], before: Strip | None, width: int) -> Region:
        """Return the cells of a line that differ from how it was drawn; the whole line where it was not."""
        if before is None or before.cell_length != width:
            return Region(0, y, width, 1)
        if parts == [1]:
            start, end = self.shown[y].text.cell_len, width
        else:
            start, end = differing(before, self._strip(y, width))
        return Region(start, y, max(1, end - start), 1)

    def notify_style_update(self) -> None:
        """Draw every line again, in the new style."""
        self._strips.clear()
        super().notify_style_update()

    def render_lines(self, crop: Region) -> list[Strip]:
        """Return lines as they stand; Textual would add borders, padding and opacity, and there are none."""
        width, background = self.size.width, self.background_colors[1]
        strips = [self._strip(y, width) for y in crop.line_range]
        for line_filter in self.get_line_filters():
            strips = [strip.apply_filter(line_filter, background) for strip in strips]
        return strips if crop.column_span == (0, width) else [strip.crop(crop.x, crop.right) for strip in strips]

    def _strip(self, y: int, width: int) -> Strip:
        strip = self._strips.get(y)
        if strip is None or strip.cell_length != width:
            strip = self._strips[y] = self._made(y, width)
        return strip

    def _made(self, y: int, width: int) -> Strip:
        if y >= len(self.shown):
            return Strip.blank(width, self.rich_style)
        line = self.shown[y]
        base = Style.parse(f"{self.ink} on {line.ground}")
        cells: list[Segment] = []
        for n, part in enumerate(line.parts):
            if part is not None and (y, n) not in self._cells:
                self._cells[y, n] = self._drawn(part, base)
            cells += self._cells.get((y, n), [])
        return Strip(cells).adjust_cell_length(width, base)

    def _drawn(self, part: Text, base: Style) -> list[Segment]:
        """Return a text as it is drawn; Rich's own way, which sorts the ends of all spans, costs twice as much."""
        plain, style_of = part.plain, self.app.console.get_style
        base += style_of(part.style)
        edges = sorted({0, len(plain), *(edge for span in part.spans for edge in (span.start, span.end))})
        styles = dict.fromkeys(edges, base)
        for span in part.spans:
            style = style_of(span.style)
            for edge in edges[edges.index(span.start) : edges.index(span.end)]:
                styles[edge] += style
        return [Segment(plain[start:end], styles[start]) for start, end in pairwise(edges)]


def differing(before: Strip, after: Strip) -> tuple[int, int]:
    """Return the first cell that differs between two strips of one width, and the one behind the last."""
    old, new = list(before), list(after)
    start, old, new = _behind_same(old, new)
    return start, after.cell_length - _behind_same(old[::-1], new[::-1], -1)[0]


def _behind_same(old: list[Segment], new: list[Segment], way: int = 1) -> tuple[int, list[Segment], list[Segment]]:
    """Return how many cells two lines begin with alike, and the rest of either; they end with them if ``way`` is -1.

    Then the parts are given from the last to the first.
    """
    same = _alike(old, new)
    cells, old, new = sum(part.cell_length for part in new[:same]), old[same:], new[same:]
    # ASCII is one character a cell: no half of a wide one and no accent is parted from its letter.
    if old and new and old[0].style == new[0].style and (old[0].text + new[0].text).isascii():
        more = _alike(old[0].text[::way], new[0].text[::way])
        cells += more
        old[0], new[0] = (Segment(part.text[::way][more:], part.style) for part in (old[0], new[0]))
    return cells, old, new


def _alike(one: Sequence[object], other: Sequence[object]) -> int:
    """Return how many items two sequences begin with alike."""
    pairs = enumerate(zip(one, other, strict=False))
    return next((n for n, (a, b) in pairs if a != b), min(len(one), len(other)))


def rule(title: str, width: int, look: LookStyles, right: str = "") -> Text:
    """Return a rule between two zones, with the title of the lower one and, where there is room, words at its end."""
    if right and cell_len(title) + cell_len(right) + 10 > width:
        right = ""
    title, end = f"{clip(title, max(1, width - 5))} ", f" {right} " if right else ""
    dashes = "─" * max(0, width - 3 - cell_len(title) - cell_len(end))
    return line_of(("── ", look.quiet), (title, "bold"), (dashes, look.quiet), (end, ""))


def keys_line(keys: Sequence[tuple[str, str]], width: int) -> Text:
    """Return keys, each in brackets before its word: as many as fit, and the last, which leads on or back, always."""
    if not keys:
        return Text(" ")
    shown, cells = [keys[-1]], 1 + _key_cells(keys[-1])
    for n, key in enumerate(keys[:-1]):
        cells += _key_cells(key) + 2
        if cells > width:
            break
        shown.insert(n, key)
    parts = [((f"[{_SHOWN.get(name, name)}]", "bold"), (f" {word}  ", "")) for name, word in shown]
    line = line_of((" ", ""), *(part for both in parts for part in both))
    line.rstrip()
    return line


def _key_cells(key: tuple[str, str]) -> int:
    return cell_len(f"[{_SHOWN.get(key[0], key[0])}] {key[1]}")


def chosen_style(look: LookStyles, chosen: bool) -> str:
    """Return the style of a line of a list, which is the chosen one or not."""
    return f"bold {look.chosen}" if chosen else ""


def seen_of(count: int, chosen: int, room: int) -> range:
    """Return the places of a list of ``count`` that have room around the ``chosen`` one."""
    first = max(0, min(chosen - room // 2, count - room))
    return range(first, min(count, first + room))


def list_line(words: str, look: LookStyles, *, chosen: bool, style: str = "") -> Text:
    """Return a line of a list, the sign of the chosen one in front where it is that."""
    return Text(f"{CHOSEN if chosen else ' '}{words}", style=f"{chosen_style(look, chosen)}{style}".strip())


def side_by_side(lines: Sequence[Text], side: Sequence[str | Text], left: int, room: int, look: LookStyles) -> Text:
    """Return a list ``left`` cells wide with words beside it, ``room`` lines."""
    text = Text()
    for n in range(room):
        line = lines[n].copy() if n < len(lines) else Text("")
        line.pad_right(max(0, left - line.cell_len))
        text.append_text(line)
        text.append("│ ", style=look.quiet)
        text.append(side[n] if n < len(side) else "").append("\n")
    return text
