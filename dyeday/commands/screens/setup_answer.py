"""`setup`: the studio on the screen, kept in the library."""

from __future__ import annotations

from argparse import Namespace

from dyeday.commands.common import Refusal, copy_records, say
from dyeday.commands.crashes import crash_lines
from dyeday.commands.screens.open_bench import ascii_only, must_have_screen
from dyeday.files.places import data_folder


def setup(args: Namespace) -> int:
    """Show the steps of setup until they are left. Raises Refusal where there is no terminal."""
    must_have_screen("`dyeday library --take PLAN` takes a plan's kit, bases, dyes and colourways without one")
    from dyeday.bench.setup.desk import SetupDesk
    from dyeday.bench.setup.setup_screen import SetupApp

    app = SetupApp(SetupDesk(data_folder(args.data)), ascii_only=ascii_only())
    if crash := app.show():
        raise Refusal(*crash_lines(crash, "what you saved is kept, and what you typed is still there"))
    copy_records(args)
    say("The studio is saved. `dyeday` alone makes a plan with it.")
    return 0
