"""`dyeday`, `open` and `demo`: the bench on a session."""

from __future__ import annotations

import os
import sys
import tempfile
import time
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from dyeday.commands.common import Refusal, answer, complain, say, sessions
from dyeday.commands.plans import begun
from dyeday.store import clock
from dyeday.store.sessions import SessionFile
from dyeday.track.day import Day
from dyeday.track.instant import Now

if TYPE_CHECKING:
    from dyeday.ahead.forecast import Forecast


def bench(args: Namespace) -> int:
    kept = sessions(args)
    found = kept.open(args.session) if args.session else kept.newest(unfinished=True)
    if found is None:
        say(
            f"No day is under way in {kept.folder.parent}.",
            "",
            "  dyeday demo          look round an invented day, part-way through",
            "  dyeday check PLAN    is a plan sound",
            "  dyeday open PLAN     begin its day, on the bench",
            "  dyeday sessions      the days on record",
        )
        return 0
    return run_bench(found)


def open_plan(args: Namespace) -> int:
    session, told = begun(args, Path(args.plan))
    complain(told)
    return run_bench(session)


def demo(args: Namespace) -> int:
    from dyeday.commands.demo import make_demo

    if args.into:
        made = make_demo(Path(args.into), clock.now())
        answer({"id": made.about.id, "data": args.into}) if args.json else say(made.about.id)
        return 0
    with tempfile.TemporaryDirectory(prefix="dyeday-demo-") as folder:
        return run_bench(
            make_demo(Path(folder), clock.now()), after="The demo is thrown away. `dyeday open PLAN` begins a day."
        )


AHEAD_S = 0.1
"""for each of the forecast's two answers"""


def look_ahead(day: Day, now: Now, before: Forecast | None) -> Forecast:
    """Return the forecast, each of its answers within a tenth of a second."""
    from dyeday.ahead.forecast import forecast

    began = time.monotonic()
    until = [began + AHEAD_S]

    def spent() -> bool:
        if time.monotonic() > until[0] + AHEAD_S:
            until[0] = time.monotonic() + AHEAD_S
        return time.monotonic() > until[0]

    return forecast(day, now, spent=spent, before=before)


def run_bench(session: SessionFile, after: str = "") -> int:
    """Show the bench until it is left. Raises Refusal where there is no terminal to show it on."""
    answer_without = "`dyeday flags`, `log` and `summary` answer without one"
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise Refusal(f"the bench needs a terminal; {answer_without}")
    if os.environ.get("TERM") in ("dumb", ""):
        raise Refusal(f"this terminal (TERM={os.environ['TERM']}) cannot place text; {answer_without}")
    from dyeday.bench.app import BenchApp
    from dyeday.bench.keeper import Keeper

    mine = session.hold_bench()
    try:
        keeper = Keeper(session, clock.now, clock.new_id, watching=not mine)
        app = BenchApp(keeper, foresee=look_ahead)
        app.run(mouse=False)
    finally:
        session.release_bench()
    if app.return_code:
        raise Refusal("the bench ended by a fault of its own; all it confirmed is on record, `dyeday` opens it again")
    say(after or f"{session.about.id}: all is on record. `dyeday` opens it again.")
    return 0
