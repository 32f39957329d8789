"""The floor of every screen figure: a Textual app that does nothing but show a line.

``python -m tests.speed.bare still`` shows one Static; ``clock`` changes it once a second; ``key`` changes it at every
key; ``once`` ends after its first frame.
"""

from __future__ import annotations

import sys

from textual.app import App, ComposeResult
from textual.events import Key
from textual.widgets import Static

READY = "bare and ready"


class Bare(App[None]):
    """One Static. ``how`` is still, clock, key or once."""

    def __init__(self, how: str) -> None:
        super().__init__()
        self.how = how
        self.count = 0
        self.line = Static(READY)

    def compose(self) -> ComposeResult:
        yield self.line

    def on_mount(self) -> None:
        if self.how == "clock":
            self.set_interval(1.0, self.more)
        if self.how == "once":
            self.call_after_refresh(self.exit)

    def more(self) -> None:
        self.count += 1
        self.line.update(f"{READY} {self.count:06d}")

    def on_key(self, _event: Key) -> None:
        if self.how == "key":
            self.more()


if __name__ == "__main__":
    Bare(sys.argv[1]).run(mouse=False)
