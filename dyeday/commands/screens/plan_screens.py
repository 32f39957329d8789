"""Screens where no day goes on: a plan's orders, and what `dyeday` alone shows."""

from __future__ import annotations

import sys
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from dyeday.commands.common import Refusal
from dyeday.commands.crashes import crash_lines
from dyeday.commands.screens.open_bench import SWITCH_S, LookingAhead, ascii_only, demo, must_have_screen, open_plan
from dyeday.store import clock

if TYPE_CHECKING:
    from dyeday.ahead.foreseen_steps import Foresee

NO_PLANS = ("orders.columns.toml", "pyproject.toml")


def _foresee(data: Path) -> Foresee:
    from dyeday.bench.input.idle_gate import Quiet

    sys.setswitchinterval(SWITCH_S)
    return LookingAhead(data, Quiet()).look


def plan_on_screen(path: Path, data: Path) -> int:
    """Show a plan's orders to be made and changed. Raises Refusal where there is no terminal or no plan."""
    must_have_screen("`dyeday orders CSV --into PLAN` takes a table without one")
    from dyeday.bench.screens.plan_app import PlanApp
    from dyeday.bench.screens.plan_desk import desk_of
    from dyeday.plan.orders.order_editor import DraftError

    try:
        desk = desk_of(path, data, clock.now)
    except DraftError as error:
        raise Refusal(str(error)) from None
    app = PlanApp(desk, _foresee(data), ascii_only=ascii_only())
    if crash := app.show():
        raise Refusal(*crash_lines(crash, f"{path} is as you last saved it"))
    return 0


def start(args: Namespace, data: Path) -> int:
    """Show what can be done where no day goes on, and do what was chosen."""
    from dyeday.bench.screens.plan_desk import desk_of
    from dyeday.bench.screens.start_screen import StartApp

    app = StartApp(
        str(data),
        latest_plan(Path()),
        lambda path: desk_of(path, data, clock.now),
        _foresee(data),
        ascii_only=ascii_only(),
    )
    if crash := app.show():
        raise Refusal(*crash_lines(crash, "plans are as you last saved them"))
    chosen = app.return_value
    if chosen is None:
        return 0
    what, args.plan = chosen
    args.new = args.take_changes = args.json = False
    args.into = None
    return open_plan(args) if what == "open" else demo(args)


def latest_plan(folder: Path) -> str:
    """Return the file of a folder that is most likely the plan meant: the one changed last."""
    found: list[tuple[float, str]] = []
    try:
        for path in folder.glob("*.toml"):
            if path.name not in NO_PLANS:
                found.append((path.stat().st_mtime, path.name))
    except OSError:
        pass
    return max(found)[1] if found else "plan.toml"
