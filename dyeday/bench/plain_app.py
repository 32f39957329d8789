"""What every app of ours is: its style sheet, its look, and signs of letters where a terminal knows no more."""

from __future__ import annotations

import asyncio
import contextlib
import signal
from collections.abc import Sequence
from typing import Generic, TypeVar

from textual.app import App
from textual.filter import LineFilter

from dyeday.bench.look import DARK, Look
from dyeday.bench.plain_signs import PlainSigns

T = TypeVar("T")


class PlainApp(App[T], Generic[T], inherit_bindings=False):
    """An app in the bench's colours; what the bench adds is its clock, its alarms and its guard."""

    CSS_PATH = "bench.tcss"
    TITLE = "dyeday"
    ENABLE_COMMAND_PALETTE = False
    """the bench has its own, as one of its keys"""

    def __init__(self, *, ascii_only: bool = False) -> None:
        self.look: Look = DARK
        self.ascii_only = ascii_only
        super().__init__()

    def on_mount(self) -> None:
        """Let SIGTERM and SIGHUP leave as a key does: by themselves they would leave the terminal askew."""
        loop = asyncio.get_running_loop()
        for name in ("SIGTERM", "SIGHUP"):
            number = getattr(signal, name, None)
            if number is not None:
                # Not on Windows, and not where the app runs outside the main thread.
                with contextlib.suppress(NotImplementedError, RuntimeError, ValueError):
                    loop.add_signal_handler(number, self.exit)

    def get_line_filters(self) -> Sequence[LineFilter]:
        filters = super().get_line_filters()
        return [*filters, PlainSigns()] if self.ascii_only else filters

    def get_css_variables(self) -> dict[str, str]:
        """Add the look's grounds, its ink and the colour of scroll bars to the style sheet's variables."""
        own = {name: getattr(self.look, name) for name in ("ground", "ink", "band", "strip", "box")}
        return {**super().get_css_variables(), **own, "bar": self.look.quiet}
