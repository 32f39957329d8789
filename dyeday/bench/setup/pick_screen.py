"""A list to choose one line of, by arrows and return or by the key before it."""

from __future__ import annotations

from collections.abc import Sequence

from rich.text import Text
from textual.app import ComposeResult
from textual.events import Key
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from dyeday.bench.prompts.prompts import CHOICE_KEYS, Question, Strip
from dyeday.bench.widgets.one_line import ChoiceList
from dyeday.text import harmless


class PickScreen(Question[int]):
    """Dismissed with the place of the line chosen, from 0; a line begins with a block of its ``swatches`` colour."""

    AUTO_FOCUS = "OptionList"

    def __init__(self, label: str, lines: Sequence[str], swatches: Sequence[str] = ()) -> None:
        super().__init__()
        self.label, self.lines, self.swatches = label, lines, swatches

    def compose(self) -> ComposeResult:
        with Strip():
            yield Static(Text(self.label, style="bold"))
            yield ChoiceList(*(Option(self._line(n)) for n in range(len(self.lines))), id="pick")
            yield Static(Text("Enter or the key chooses, Esc cancels", style=self.look.quiet))

    def _line(self, n: int) -> Text:
        key = f"{CHOICE_KEYS[n]} " if n < len(CHOICE_KEYS) else "  "
        line = Text(key, style="bold", no_wrap=True, overflow="ellipsis")
        if self.swatches:
            line.append("██ ", style=self.swatches[n])
        line.append(harmless(self.lines[n]), style="not bold")
        return line

    def on_key(self, event: Key) -> None:
        place = CHOICE_KEYS.find(event.character or " ")
        if 0 <= place < len(self.lines):
            event.stop()
            self.dismiss(place)

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        self.dismiss(event.option_index)
