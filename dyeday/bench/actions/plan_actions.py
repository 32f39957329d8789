"""The plan file at the bench: change its orders, or apply what an editor changed in it."""

from __future__ import annotations

from pathlib import Path

from dyeday.bench.actions.effect_actions import EffectActions
from dyeday.bench.screens.plan_desk import PlanDesk, desk_of
from dyeday.bench.screens.plan_orders import PlanScreen
from dyeday.plan.orders.order_editor import DraftError
from dyeday.plan.writing.plan_diff import differences
from dyeday.text import counted

MOST_LISTED = 8


class PlanActions(EffectActions):
    """The keys about the plan file."""

    def orders(self) -> None:
        """Show the orders of the plan file that this day was begun from."""
        if (desk := self._desk("; o adds an order")) is not None:
            foresee = self.screen.bench_app.outlook.foresee
            self.screen.app.push_screen(PlanScreen(desk, foresee, self.screen.paint))

    def _desk(self, remedy: str = "") -> PlanDesk | None:
        file = self.live.file
        try:
            return desk_of(Path(file.about.source), file.data_folder, self.live.now, self.live)
        except DraftError as error:
            self.screen.say(f"{error}{remedy}", wrong=True)
            return None

    def take_file(self) -> None:
        """List what changed in the plan file and its effect, and apply it once that is accepted."""
        if (desk := self._desk()) is None:
            return
        path = desk.path
        if not desk.is_newer or desk.draft.plan is None:
            self.screen.say(f"{path.name} has not changed since this day read it")
            return
        changes = differences(desk.taken_before, desk.draft.plan)
        more = len(changes) - MOST_LISTED
        listed = [*changes[:MOST_LISTED], *([f"and {counted(more, 'more change')}"] if more > 0 else [])]
        asked = f"{path.name} has changed. Use the changes today"
        body, lines = desk.change_of(desk.draft.plan), listed or ["only its comments"]
        self.confirm_with_effect(body, asked, lambda: self._taken(desk), above=lines)

    def _taken(self, desk: PlanDesk) -> None:
        try:
            message = f"{desk.path.name}: {desk.take()}"
        except DraftError as error:
            self.screen.say(f"{desk.path.name}: {error}", wrong=True)
        else:
            self.screen.paint()
            self.screen.say(message)
