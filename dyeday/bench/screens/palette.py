"""Every action by its plain name: a few letters of it, then Enter."""

from __future__ import annotations

from collections.abc import Sequence

from rich.text import Text
from textual.app import ComposeResult
from textual.widgets import Input, Static

from dyeday.bench.input.bench_keys import BenchKey, Do
from dyeday.bench.prompts.prompts import Strip, TypedQuestion
from dyeday.bench.widgets.board import list_line, seen_of
from dyeday.bench.widgets.one_line import Field
from dyeday.text import pad

MOST_SHOWN = 8


def matching(entries: Sequence[BenchKey], text: str) -> list[BenchKey]:
    """Return the entries that ``text`` may mean: names beginning with it, then names and sentences containing it."""
    wanted = text.strip().casefold()
    begun = [e for e in entries if e.word.casefold().startswith(wanted)]
    held = [e for e in entries if wanted in f"{e.word} {e.sentence}".casefold()]
    return list(dict.fromkeys([*begun, *held]))


class Palette(TypedQuestion[Do]):
    """Dismissed with the action chosen."""

    BINDINGS = [("up", "move(-1)", "up"), ("down", "move(1)", "down")]  # noqa: RUF012

    def __init__(self, entries: Sequence[BenchKey]) -> None:
        super().__init__()
        self.entries = tuple(entries)
        self.matches = list(entries)
        self.place = 0

    def compose(self) -> ComposeResult:
        with Strip():
            yield Static(Text("Type a few letters of an action", style="bold"))
            yield Field(id="palette-input", select_on_focus=False)
            yield Static(id="palette-found")
            yield Static(id="palette-keys")

    def show(self) -> None:
        """Show the entries around the chosen one."""
        seen = [(n, self.matches[n]) for n in seen_of(len(self.matches), self.place, MOST_SHOWN)]
        words = ((n, f"{one.shown_as or one.key:>5}  {one.word:11}  {one.sentence}") for n, one in seen)
        cells = self.app.size.width - 4
        lines = [list_line(pad(line, cells), self.look, chosen=n == self.place) for n, line in words]
        text = Text("\n", no_wrap=True).join(lines or [Text(" no matching action", style=self.look.flag_style)])
        self.query_one("#palette-found", Static).update(text)
        place = f"{self.place + 1} of {len(self.matches)}: up and down choose, Enter: accept, " * bool(lines)
        self.query_one("#palette-keys", Static).update(Text(f"{place}Esc: cancel", style=self.look.quiet))

    def on_input_changed(self, event: Input.Changed) -> None:
        self.matches, self.place = matching(self.entries, event.value), 0
        self.show()

    def submit(self, typed: str) -> None:
        if self.matches:
            self.dismiss(self.matches[self.place].action)

    def action_move(self, step: int) -> None:
        self.place = max(0, min(len(self.matches) - 1, self.place + step))
        self.show()
