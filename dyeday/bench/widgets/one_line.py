"""Small widgets: keys at the foot of a screen, words above them, a box to type into, a list to choose from."""

from __future__ import annotations

from collections.abc import Sequence

from rich.segment import Segment
from rich.text import Text
from textual.strip import Strip
from textual.widgets import Input, OptionList, Static

from dyeday.bench.widgets.board import CHOSEN, keys_line
from dyeday.text import harmless, wrap


class Foot(Static):
    """Keys with their words, as many as have room, the last one always: it is the way back or the list of keys."""

    def __init__(self, keys: Sequence[tuple[str, str]] = ()) -> None:
        super().__init__(classes="heading foot")
        self.keys = tuple(keys)
        self._shown: Text | None = None

    def on_mount(self) -> None:
        self.show(self.keys)

    def on_resize(self) -> None:
        self.show(self.keys)

    def show(self, keys: Sequence[tuple[str, str]]) -> None:
        """Show ``keys``; nothing is laid out again where they read the same."""
        self.keys = tuple(keys)
        line = keys_line(self.keys, self.app.size.width)
        if line != self._shown:
            self._shown = line
            self.update(line)


class Message(Static):
    """Words below a list or a form, on ``most`` lines."""

    def __init__(self, most: int = 3) -> None:
        super().__init__(id="form-message")
        self.most = self.styles.height = most

    def say(self, *sentences: str, style: str = "") -> None:
        """Show sentences one below the other; what is too long for its lines leaves one for each that follows."""
        lines: list[str] = []
        for more, one in zip(range(len(sentences) - 1, -1, -1), sentences, strict=True):
            lines += wrap(one, max(20, self.app.size.width - 2))[: max(0, self.most - more - len(lines))]
        self.update(Text("\n".join(f" {line}" for line in lines), style=style))


class Field(Input):
    """A line of text in which no character turns the reading order or hides: it stands there as ``\\u202e``.

    Otherwise a right-to-left mark could make the line look different from its value.
    """

    def replace(self, text: str, start: int, end: int) -> None:
        """Put ``text``, made harmless, in place of the characters from ``start`` to ``end``."""
        super().replace(harmless(text), start, end)


class ChoiceList(OptionList):
    """Options of one line each; the blank before the highlighted one becomes the sign of the chosen line."""

    def render_line(self, y: int) -> Strip:
        strip = super().render_line(y)
        if self.scroll_offset.y + y != self.highlighted or not strip.cell_length:
            return strip
        return Strip.join([Strip([Segment(CHOSEN, next(iter(strip)).style)]), strip.crop(1)])
