"""The orders of a plan on a screen of their own, where no session goes on."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import App
from textual.filter import LineFilter

from dyeday.bench.look import DARK
from dyeday.bench.plain_signs import PlainSigns
from dyeday.bench.plan_desk import PlanDesk
from dyeday.bench.plan_orders import Foresee, PlanScreen


class PlanApp(App[None], inherit_bindings=False):
    """Shows one plan's orders and ends when that is left."""

    CSS_PATH = "bench.tcss"
    TITLE = "dyeday"
    ENABLE_COMMAND_PALETTE = False

    def __init__(self, desk: PlanDesk, foresee: Foresee | None, *, ascii_only: bool = False) -> None:
        self.look = DARK
        self.ascii_only = ascii_only
        super().__init__()
        self.plan_screen = PlanScreen(desk, foresee, self.exit)

    def get_line_filters(self) -> Sequence[LineFilter]:
        filters = super().get_line_filters()
        return [*filters, PlainSigns()] if self.ascii_only else filters

    def get_css_variables(self) -> dict[str, str]:
        own = {name: getattr(self.look, name) for name in ("ground", "ink", "band", "strip", "box")}
        return {**super().get_css_variables(), **own}

    def on_mount(self) -> None:
        self.push_screen(self.plan_screen)
