"""`dyeday`, `open` and `demo`: the bench on a session."""

from __future__ import annotations

import os
import sys
import tempfile
from argparse import Namespace
from pathlib import Path

from dyeday.commands.common import Refusal, answer, complain, say, sessions
from dyeday.commands.plans import begun
from dyeday.store import clock
from dyeday.store.sessions import SessionFile


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
        BenchApp(Keeper(session, clock.now, clock.new_id, watching=not mine)).run(mouse=False)
    finally:
        session.release_bench()
    say(after or f"{session.about.id}: all is on record. `dyeday` opens it again.")
    return 0
