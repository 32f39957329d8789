"""The line of keys at the foot of every whole screen, all of one kind: each key in brackets before its word."""

from __future__ import annotations

from collections.abc import Sequence

from rich.text import Text
from textual.widgets import Static

from dyeday.bench.view.bench_lines import keys_line


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
