"""The orders of a plan by themselves, without a session."""

from __future__ import annotations

from dyeday.ahead.foreseen_steps import Foresee
from dyeday.bench.plain_app import PlainApp
from dyeday.bench.screens.plan_desk import PlanDesk
from dyeday.bench.screens.plan_orders import PlanScreen


class PlanApp(PlainApp[None]):
    """Shows one plan's orders and ends when that is left."""

    def __init__(self, desk: PlanDesk, foresee: Foresee | None, *, ascii_only: bool = False) -> None:
        super().__init__(ascii_only=ascii_only)
        self.plan_screen = PlanScreen(desk, foresee, self.exit)

    def on_mount(self) -> None:
        self.push_screen(self.plan_screen)
