"""What every app of ours is: its style sheet, its look, and signs of letters where a terminal knows no more."""

from __future__ import annotations

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

    def get_line_filters(self) -> Sequence[LineFilter]:
        filters = super().get_line_filters()
        return [*filters, PlainSigns()] if self.ascii_only else filters

    def get_css_variables(self) -> dict[str, str]:
        """Add the look's grounds, its ink and the colour of scroll bars to the style sheet's variables."""
        own = {name: getattr(self.look, name) for name in ("ground", "ink", "band", "strip", "box")}
        return {**super().get_css_variables(), **own, "bar": self.look.quiet}
