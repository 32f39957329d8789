"""`python -m tests.faults`: inject every fault, tell what was lost, write the table that stands in the docs.

``--short`` runs the form that the ordinary tests run, ``--table FILE`` puts the table elsewhere, ``--json`` prints
it for the tests. Exits 1 where anything was lost.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import tempfile
import time
import traceback
from dataclasses import asdict
from pathlib import Path

from dyeday.files.durable import StoreError
from tests.faults import commands, disks, keys, kills, spoilt, traced  # noqa: F401 - each adds its faults
from tests.faults.catalogue import FAULTS, Outcome

TABLE = Path(__file__).parent / "TABLE.md"
HEAD = """# Faults injected, and what was lost

Written by `python -m tests.faults`, which injects every one of them for real; the ordinary tests run a short form
of each and fail where anything is lost.
A fault that needs root or a tool is reported as not tried where that is missing.

| fault | injected by | tried | lost | what became of it |
| --- | --- | ---: | ---: | --- |
"""


def _rows_of(table: Path) -> dict[str, str]:
    """Return the rows of the table as it is, by their fault."""
    lines = table.read_text(encoding="utf-8").removeprefix(HEAD).splitlines(keepends=True)
    return {line.split(" | ")[0].removeprefix("| "): line for line in lines}


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.faults", description=__doc__)
    parser.add_argument("--short", action="store_true", help="as the ordinary tests do")
    parser.add_argument("--json", action="store_true", help="print the outcomes, write no table")
    parser.add_argument("--table", type=Path, default=TABLE, help="where the table goes")
    parser.add_argument("--only", metavar="WORDS", help="faults with these words in their name")
    parser.add_argument("--update", action="store_true", help="with --only: put their rows into the table")
    parser.add_argument("--whole-commands-short", action="store_true", help="those of whole commands as the tests do")
    parser.add_argument("--keys-seconds", type=float, help="how long random keys are typed in the long form; 60")
    args = parser.parse_args()
    keys.SECONDS["long"] = args.keys_seconds or keys.SECONDS["long"]
    os.environ.pop("DYEDAY_DATA", None)
    outcomes: list[tuple[str, str, Outcome]] = []
    for one in FAULTS:
        if args.only and args.only not in one.name:
            continue
        began = time.monotonic()
        with tempfile.TemporaryDirectory(prefix="dyeday-faults-") as folder:
            try:
                short = args.short or (args.whole_commands_short and one.run.__module__ == commands.__name__)
                outcome = one.run(Path(folder), not short)
            except (AssertionError, OSError, StoreError) as error:
                traceback.print_exc()
                outcome = Outcome(1, 1, f"{type(error).__name__}: {error}")
        outcomes.append((one.name, outcome.how or one.how, outcome))
        took = time.monotonic() - began
        print(f"{took:5.1f} s  {outcome.tried:6} tried  {outcome.lost} lost  {one.name}", file=sys.stderr)
    if args.json:
        print(json.dumps([{"name": name, **asdict(outcome)} for name, _, outcome in outcomes]))
    elif not args.only or args.update:
        rows = _rows_of(args.table) if args.update else {}
        rows |= {
            name: f"| {name} | {how} | {outcome.tried} | {outcome.lost or 'nothing'} | {outcome.seen} |\n"
            for name, how, outcome in outcomes
        }
        args.table.write_text(HEAD + "".join(rows[one.name] for one in FAULTS if one.name in rows), encoding="utf-8")
    return 1 if any(outcome.lost for _, _, outcome in outcomes) else 0


if __name__ == "__main__":
    raise SystemExit(main())
