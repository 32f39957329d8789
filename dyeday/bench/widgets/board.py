"""One widget that is a whole screen of lines, and draws again only those that say something else.

A screen of a Static for each line costs a style, a layout and a task for each, at the start and at every tick.
"""

from __future__ import annotations

from collections.abc import Sequence

from rich.cells import cell_len
from rich.segment import Segment
from rich.style import Style
from rich.text import Text
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget

from dyeday.bench.view.board_line import Line, has_same_styles, is_same, is_same_line


class Board(Widget, can_focus=False):
    """Lines from the top down, one cell high each. ``ink`` is what they are written in. ``drawn`` counts lines."""

    DEFAULT_CSS = "Board { width: 100%; height: 100%; }"

    def __init__(self, **how: str) -> None:
        super().__init__(**how)  # type: ignore[arg-type]
        self.shown: tuple[Line, ...] = ()
        self.ink = ""
        self.drawn = 0
        self._strips: dict[int, Strip] = {}
        self._cells: dict[tuple[int, int], tuple[Text, str, list[Segment]]] = {}
        """by line and part: the text, the style it stands in, how it was drawn"""

    def show(self, lines: Sequence[Line], ink: str) -> None:
        """Show ``lines``; only those that say something else are drawn again."""
        before, self.shown = self.shown, tuple(lines)
        if ink != self.ink:
            self.ink, before = ink, ()
        changed = [y for y, line in enumerate(self.shown) if y >= len(before) or not is_same_line(line, before[y])]
        if len(self.shown) < len(before):
            changed += range(len(self.shown), len(before))
        for y in changed:
            self._strips.pop(y, None)
        if len(changed) == len(self.shown):
            self.refresh()
        elif changed:
            self.refresh(*(self._region(y, before[y] if y < len(before) else None) for y in changed))
        self.drawn += len(changed)

    def _region(self, y: int, before: Line | None) -> Region:
        """Return the cells of a line that differ from what it was; the whole line where that is hard to tell."""
        whole = Region(0, y, self.size.width, 1)
        line = self.shown[y] if y < len(self.shown) else None
        if line is None or before is None or line.ground != before.ground:
            return whole
        if is_same(line.text, before.text):
            start = line.text.cell_len
            return Region(start, y, max(1, self.size.width - start), 1)
        if line.aside is not None or before.aside is not None or not has_same_styles(line.text, before.text):
            return whole
        new, old = line.text.plain, before.text.plain
        if len(new) != len(old) or not cell_len(new) == cell_len(old) == len(new):
            return whole
        differ = [x for x, (a, b) in enumerate(zip(new, old, strict=True)) if a != b]
        return Region(differ[0], y, differ[-1] - differ[0] + 1, 1)

    def notify_style_update(self) -> None:
        """Draw every line again, in the new style."""
        self._strips.clear()
        super().notify_style_update()

    def render_line(self, y: int) -> Strip:
        width = self.size.width
        strip = self._strips.get(y)
        if strip is None or strip.cell_length != width:
            strip = self._strips[y] = self._strip(y, width)
        return strip

    def _strip(self, y: int, width: int) -> Strip:
        if y >= len(self.shown):
            return Strip.blank(width, self.rich_style)
        line = self.shown[y]
        ground = f"{self.ink} on {line.ground}"
        base = Style.parse(ground)
        cells: list[Segment] = []
        for n, part in enumerate((line.text, line.aside)):
            if part is None:
                continue
            kept = self._cells.get((y, n))
            if kept is None or kept[1] != ground or not is_same(kept[0], part):
                kept = self._cells[(y, n)] = (part, ground, self._drawn(part, base))
            cells += kept[2]
        return Strip(cells).adjust_cell_length(width, base)

    def _drawn(self, part: Text, base: Style) -> list[Segment]:
        text = part.copy()
        text.end = ""
        if text.style:
            # Rich leaves a text's own style out where it has no spans.
            text.stylize_before(text.style)
        return list(Segment.apply_style(text.render(self.app.console), base))
