"""`dyeday` alone: the bench on the day that goes on, or the start screen."""

from __future__ import annotations

from argparse import Namespace

from dyeday.commands.common import say, sessions
from dyeday.commands.screens import open_bench
from dyeday.commands.screens.open_bench import can_show


def bench(args: Namespace) -> int:
    """Show the bench on the session that goes on; without one the start screen, or in words how to begin."""
    kept = sessions(args)
    found = kept.open(args.session) if args.session else kept.newest(unfinished=True)
    if found is None:
        if can_show():
            from dyeday.commands.screens.plan_screens import start

            return start(args, kept.folder.parent)
        say(
            f"No day is running in {kept.folder.parent}.",
            "",
            "  dyeday demo          try the demo, a made-up day",
            "  dyeday check PLAN    check a plan for mistakes",
            "  dyeday open PLAN     start a plan's day, on the bench",
            "  dyeday sessions      the days on record",
            "  dyeday orders --into PLAN   make or change a plan's orders on the screen",
        )
        return 0
    return open_bench.run_bench(found)
