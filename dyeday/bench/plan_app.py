"""Screens without a session: the app they stand in, and the orders of a plan by themselves."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Generic, TypeVar

from textual.app import App
from textual.filter import LineFilter

from dyeday.bench.look import DARK
from dyeday.bench.plain_signs import PlainSigns
from dyeday.bench.plan_desk import PlanDesk
from dyeday.bench.plan_orders import Foresee, PlanScreen

T = TypeVar("T")


class PlainApp(App[T], Generic[T], inherit_bindings=False):
    """An app in the bench's colours, without its clock, its alarms and its guard."""

    CSS_PATH = "bench.tcss"
    TITLE = "dyeday"
    ENABLE_COMMAND_PALETTE = False

    def __init__(self, *, ascii_only: bool = False) -> None:
        self.look = DARK
        self.ascii_only = ascii_only
        super().__init__()

    def get_line_filters(self) -> Sequence[LineFilter]:
        filters = super().get_line_filters()
        return [*filters, PlainSigns()] if self.ascii_only else filters

    def get_css_variables(self) -> dict[str, str]:
        own = {name: getattr(self.look, name) for name in ("ground", "ink", "band", "strip", "box")}
        return {**super().get_css_variables(), **own}


class PlanApp(PlainApp[None]):
    """Shows one plan's orders and ends when that is left."""

    def __init__(self, desk: PlanDesk, foresee: Foresee | None, *, ascii_only: bool = False) -> None:
        super().__init__(ascii_only=ascii_only)
        self.plan_screen = PlanScreen(desk, foresee, self.exit)

    def on_mount(self) -> None:
        self.push_screen(self.plan_screen)
