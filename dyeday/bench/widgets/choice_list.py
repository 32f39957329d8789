"""A list to choose one line from, the chosen line marked as in every other list."""

from __future__ import annotations

from rich.segment import Segment
from textual.strip import Strip
from textual.widgets import OptionList

from dyeday.bench.view.bench_lines import CHOSEN


class ChoiceList(OptionList):
    """Options of one line each; the blank before the highlighted one becomes the sign of the chosen line."""

    def render_line(self, y: int) -> Strip:
        strip = super().render_line(y)
        if self.scroll_offset.y + y != self.highlighted or not strip.cell_length:
            return strip
        first = next(iter(strip))
        return Strip.join([Strip([Segment(CHOSEN, first.style)]), strip.crop(1)])
