"""One widget that is a whole screen of lines, and draws again only those that say something else.

A screen of a Static for each line costs a style, a layout and a task for each, at the start and at every tick.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.cells import cell_len
from rich.segment import Segment
from rich.style import Style
from rich.text import Text
from textual.geometry import Region
from textual.strip import Strip
from textual.widget import Widget


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the screen: its text, and what it stands on, a colour such as "#303030"."""

    text: Text
    ground: str


class Board(Widget, can_focus=False):
    """Lines from the top down, one cell high each. ``ink`` is what they are written in. ``drawn`` counts lines."""

    DEFAULT_CSS = "Board { width: 100%; height: 100%; }"

    def __init__(self, **how: str) -> None:
        super().__init__(**how)  # type: ignore[arg-type]
        self.shown: tuple[Line, ...] = ()
        self.ink = ""
        self.drawn = 0
        self._strips: dict[int, Strip] = {}

    def show(self, lines: Sequence[Line], ink: str) -> None:
        """Show ``lines``; only those that say something else are drawn again."""
        before, self.shown = self.shown, tuple(lines)
        if ink != self.ink:
            self.ink, before = ink, ()
        changed = [y for y, line in enumerate(self.shown) if y >= len(before) or not _same(line, before[y])]
        if len(self.shown) < len(before):
            changed += range(len(self.shown), len(before))
        for y in changed:
            self._strips.pop(y, None)
        if len(changed) > len(self.shown) // 2:
            self.refresh()
        elif changed:
            self.refresh(*(self._region(y, before[y] if y < len(before) else None) for y in changed))
        self.drawn += len(changed)

    def _region(self, y: int, before: Line | None) -> Region:
        """Return the cells of a line that differ from what it was; the whole line where that is hard to tell."""
        line = self.shown[y] if y < len(self.shown) else None
        if line is None or before is None or line.ground != before.ground or not _same_styles(line.text, before.text):
            return Region(0, y, self.size.width, 1)
        new, old = line.text.plain, before.text.plain
        if len(new) != len(old) or not cell_len(new) == cell_len(old) == len(new):
            return Region(0, y, self.size.width, 1)
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
        base = Style.parse(f"{self.ink} on {line.ground}")
        text = line.text.copy()
        text.end = ""
        if text.style:
            # Rich leaves a text's own style out where it has no spans.
            text.stylize_before(text.style)
        cells = Segment.apply_style(text.render(self.app.console), base)
        return Strip(cells).adjust_cell_length(width, base)


def _same(line: Line, other: Line) -> bool:
    # Rich's texts are equal where their letters are, whatever their colours.
    return line.ground == other.ground and line.text == other.text and _same_styles(line.text, other.text)


def _same_styles(text: Text, other: Text) -> bool:
    return text.spans == other.spans and text.style == other.style
