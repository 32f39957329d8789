"""Screens without a running day: what `dyeday` alone shows, a plan's orders, the studio's setup."""

from __future__ import annotations

import sys
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from dyeday.commands.common import Refusal, copy_records, say, sessions, update_records
from dyeday.commands.screens import open_bench
from dyeday.commands.screens.bench_services import SWITCH_S, BenchForecasts, ascii_only, can_show, must_have_screen
from dyeday.commands.screens.open_bench import demo, open_plan
from dyeday.files.places import crash_lines
from dyeday.store import clock

if TYPE_CHECKING:
    from dyeday.ahead.foreseen_steps import Foresee


def _foresee(data: Path) -> Foresee:
    from dyeday.bench.input.idle_gate import IdleGate

    sys.setswitchinterval(SWITCH_S)
    return BenchForecasts(data, IdleGate()).forecast


def plan_on_screen(path: Path, data: Path) -> None:
    """Show the editor of a plan's orders. Raises Refusal without a terminal or a valid plan."""
    must_have_screen("`dyeday orders CSV --into PLAN` imports a table without one")
    from dyeday.bench.plain_app import ScreenApp
    from dyeday.bench.screens.plan_desk import desk_of
    from dyeday.bench.screens.plan_orders import PlanScreen
    from dyeday.plan.orders.order_editor import DraftError

    try:
        desk = desk_of(path, data, clock.now)
    except DraftError as error:
        raise Refusal(str(error)) from None
    if crash := ScreenApp(PlanScreen(desk, _foresee(data)), ascii_only=ascii_only()).show():
        raise Refusal(*crash_lines(crash, f"{path} is as you last saved it"))


def start(args: Namespace) -> None:
    """Show the start screen and do what was chosen; after the demo, show it again."""
    from dyeday.bench.plain_app import ScreenApp
    from dyeday.bench.screens.plan_desk import desk_of
    from dyeday.bench.screens.start_screen import StartAction, StartChoices, StartScreen, plan_files
    from dyeday.bench.setup.desk import SetupDesk
    from dyeday.commands.days.carry import left_by_last_day
    from dyeday.files.durable import StoreError
    from dyeday.plan.library import EMPTY
    from dyeday.store.records.library import LibraryRecords
    from dyeday.track.timestamp import local

    data, stored = args.data, sessions(args)
    last, left = left_by_last_day(stored, clock.now())

    def find() -> StartChoices:
        try:
            library, troubles = LibraryRecords(data).library(), list[str]()
        except StoreError as error:
            library, troubles = EMPTY, [str(error)]
        rows, plans = tuple(stored.listed()), plan_files(Path(), library)
        continued = any(last in plan.continues for plan in plans)
        return StartChoices(plans, rows, library, (*troubles, *stored.unreadable), "" if continued else left)

    screen = StartScreen(
        str(data),
        find,
        local(clock.now().utc, None).date(),
        lambda path, day: desk_of(path, data, clock.now, on=day),
        lambda: SetupDesk(data),
        _foresee(data),
    )
    app = ScreenApp(screen, ascii_only=ascii_only())
    if crash := app.show():
        raise Refusal(*crash_lines(crash, "plans are as you last saved them"))
    if app.return_value is None:
        return
    what, about = app.return_value
    vars(args).update(plan=about, into=None, new=False, take_changes=False, json=False)
    if what is StartAction.BEGIN:
        open_plan(args)
    elif what is StartAction.GO_ON:
        open_bench.run_bench(stored.open(about))
    else:
        demo(args)
        start(args)


def bench(args: Namespace) -> None:
    """Show the bench on the running session, else the start screen, or in a pipe how to start."""
    stored = sessions(args)
    session = stored.open(args.session) if args.session else stored.newest(unfinished=True)
    if session is not None:
        open_bench.run_bench(session)
    elif can_show():
        start(args)
    else:
        from dyeday.commands.days.carry import left_by_last_day

        say(
            f"No day is running in {args.data}.",
            *filter(None, [left_by_last_day(stored, clock.now())[1]]),
            "",
            "  dyeday demo          try the demo, a made-up day",
            "  dyeday check PLAN    check a plan for mistakes",
            "  dyeday open PLAN     start a plan's day, on the bench",
            "  dyeday sessions      the days on record",
            "  dyeday orders --into PLAN   make or change a plan's orders on the screen",
        )


def setup(args: Namespace) -> None:
    """Show the studio's setup. Raises Refusal without a terminal."""
    update_records(args)
    must_have_screen("`dyeday library --take PLAN` adds a plan's kit, bases, dyes and colourways without one")
    from dyeday.bench.plain_app import ScreenApp
    from dyeday.bench.setup.desk import SetupDesk
    from dyeday.bench.setup.setup_screen import SetupScreen

    if crash := ScreenApp(SetupScreen(SetupDesk(args.data)), ascii_only=ascii_only()).show():
        raise Refusal(*crash_lines(crash, "what you saved is kept, and what you typed is still there"))
    copy_records(args)
    say("The studio is saved. `dyeday` alone makes a plan with it.")
