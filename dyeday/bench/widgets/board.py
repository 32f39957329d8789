"""One widget for a whole screen of lines, which redraws only those that changed.

A screen of a Static for each line costs a style, a layout and a task for each, at the start and at every tick.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from rich.segment import Segment
from rich.style import Style
from rich.text import Text
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from dyeday.bench.view.bench_lines import Line, changed_parts


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
