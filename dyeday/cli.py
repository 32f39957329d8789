"""The door: the `dyeday` command, its options and its exit codes.

0 done or answered, 1 a problem in the input or the world (each on its own line on stderr), 2 wrong usage,
130 interrupted. What a command needs is imported when that command runs, so that `--help` is quick.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence

from dyeday import __version__

STATES = ("waiting", "soak", "paint", "fix", "cool", "rinse", "dry", "done", "set-aside", "scrapped")

ACIDS = ("vinegar", "citric", "citric monohydrate", "citric solution")


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command and return its exit status."""
    parser = _parser()
    args = parser.parse_args(argv)
    for name in ("data", "session"):
        if not hasattr(args, name):
            setattr(args, name, None)
    from dyeday.commands.common import Refusal, UsageError, complain
    from dyeday.store.durable import StoreError

    try:
        status = _run(args)
        sys.stdout.flush()
        return status
    except UsageError as error:
        parser.error(str(error))
    except Refusal as refusal:
        complain(refusal.lines)
        return 1
    except StoreError as error:
        complain([str(error)])
        return 1
    except BrokenPipeError:
        # Whoever read us has seen enough; nothing more may be written, not even at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as error:
        complain([f"this could not be written: {(error.strerror or str(error)).lower()}"])
        # What is left unwritten cannot be written at exit either.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    except KeyboardInterrupt:
        return 130


def _run(args: argparse.Namespace) -> int:
    command = args.command
    if command in (None, "open", "demo"):
        from dyeday.commands import benches

        return {None: benches.bench, "open": benches.open_plan, "demo": benches.demo}[command](args)
    if command in ("check", "begin"):
        from dyeday.commands import plans

        return {"check": plans.check, "begin": plans.begin}[command](args)
    if command in ("mark", "close"):
        from dyeday.commands import marking

        return {"mark": marking.mark, "close": marking.close}[command](args)
    if command == "ahead":
        from dyeday.commands import looking

        return looking.ahead(args)
    if command in ("acid", "weigh"):
        from dyeday.commands import amounts

        return {"acid": amounts.acid, "weigh": amounts.weigh}[command](args)
    from dyeday.commands import answers

    return {
        "sessions": answers.list_sessions,
        "flags": answers.list_flags,
        "log": answers.log,
        "summary": answers.summary,
    }[command](args)


def _parser() -> argparse.ArgumentParser:
    common = argparse.ArgumentParser(add_help=False)
    # Suppressed and set after parsing, or an option before the command would be lost to the command's default.
    common.add_argument(
        "--data",
        metavar="DIR",
        default=argparse.SUPPRESS,
        help="the data folder (else DYEDAY_DATA, else the user's own)",
    )
    chosen = argparse.ArgumentParser(add_help=False, parents=[common])
    chosen.add_argument(
        "--session", metavar="ID", default=argparse.SUPPRESS, help="which session, else the newest unfinished"
    )
    as_json = argparse.ArgumentParser(add_help=False)
    as_json.add_argument("--json", action="store_true", help="answer as JSON")
    as_of = argparse.ArgumentParser(add_help=False)
    as_of.add_argument("--as-of", metavar="TIME", help="as it was at a time, 14:05 or 2026-03-14T14:05")

    parser = argparse.ArgumentParser(
        prog="dyeday",
        parents=[chosen],
        description="A hand dyer's day, tracked live. Without a command: the bench on the newest unfinished session.",
        epilog="example: dyeday demo",
    )
    parser.add_argument("--version", action="version", version=f"dyeday {__version__}")
    parser.set_defaults(command=None)
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=False)

    def add(name: str, text: str, example: str, *parents: argparse.ArgumentParser) -> argparse.ArgumentParser:
        return commands.add_parser(
            name, help=text, description=text, epilog=f"example: {example}", parents=list(parents)
        )

    opening = add("open", "that plan's session on the bench, begun if it is not", "dyeday open saturday.toml", common)
    opening.add_argument("plan", metavar="PLAN")
    demo = add(
        "demo", "an invented day on the bench, part-way through, thrown away after", "dyeday demo", common, as_json
    )
    demo.add_argument("--into", metavar="DIR", help="make the demo's data here, print its session, open nothing")
    beginning = add(
        "begin", "begin a session without a screen; prints its id", "dyeday begin saturday.toml", common, as_json
    )
    beginning.add_argument("plan", metavar="PLAN")
    for made in (opening, beginning):
        made.add_argument("--new", action="store_true", help="begin another, though one of this file goes on")
        made.add_argument(
            "--take-changes", action="store_true", help="take a changed plan into the session that goes on"
        )
    add("sessions", "all sessions, newest first", "dyeday sessions --json", common, as_json)
    checking = add(
        "check", "is a plan sound, and is it what the trade would do", "dyeday check saturday.toml", common, as_json
    )
    checking.add_argument("plan", metavar="PLAN")
    checking.add_argument("--strict", action="store_true", help="exit 1 where there is advice too")
    _add_mark(
        add(
            "mark",
            "put on record what happened",
            "dyeday mark 03 soak --unit 'tray 1' --acid '60 mL'",
            chosen,
            as_json,
        )
    )
    flags = add(
        "flags",
        "doubts that are open",
        "dyeday flags --resolve 03 short-soak --why 'soaked on'",
        chosen,
        as_json,
        as_of,
    )
    flags.add_argument("--all", action="store_true", help="resolved ones too")
    flags.add_argument("--resolve", nargs=2, metavar=("BATCH", "RULE"), help="close a flag, with --why")
    flags.add_argument("--why", metavar="TEXT")
    flags.add_argument("--strict", action="store_true", help="exit 1 where a flag is open")
    add("log", "every event", "dyeday log --json > day.jsonl", chosen, as_json)
    summary = add("summary", "the end-of-day page", "dyeday summary --print", chosen, as_json, as_of)
    summary.add_argument("--print", action="store_true", help="send it to the printer")
    summary.add_argument("--printer", metavar="QUEUE", help="which queue, else LPDEST, PRINTER, the default")
    summary.add_argument("--text", metavar="FILE", help="put it into a file")
    weighing = add(
        "weigh", "what to weigh out: dye, solution, acid, water", "dyeday weigh saturday.toml", chosen, as_json
    )
    weighing.add_argument(
        "plan", metavar="PLAN", nargs="?", help="a plan, else the session's batches that are not done"
    )
    _add_acid(
        add(
            "acid",
            "acid for one bath of this water",
            "dyeday acid --water '4 L' --alkalinity '11 dH'",
            common,
            as_json,
        )
    )
    looking = add(
        "ahead",
        "when everything happens, and what will not fit",
        "dyeday ahead saturday.toml",
        chosen,
        as_json,
        as_of,
    )
    looking.add_argument("plan", metavar="PLAN", nargs="?", help="a plan from its start, else the session from now")
    looking.add_argument("--with", dest="with_", action="append", metavar="CHANGE", help="'steamer +1', 'stop 21:00'")
    looking.add_argument("--without", action="append", metavar="BATCH", help="leave a batch out")
    looking.add_argument("--budget-ms", type=int, default=500, metavar="MS", help="time for each of the two answers")
    looking.add_argument("--evaluations", type=int, metavar="N", help="instead of a time: the same answer every time")
    looking.add_argument("--width", type=int, default=80, metavar="N", help="columns of the chart")
    looking.add_argument("--strict", action="store_true", help="exit 1 where the day does not fit")
    closing = add("close", "end the session; says what stays where", "dyeday close", chosen, as_json)
    closing.add_argument("--why", metavar="TEXT")
    closing.add_argument("--yes", action="store_true", help="though heat is still on by the record")
    return parser


def _add_mark(made: argparse.ArgumentParser) -> None:
    made.add_argument("batch", metavar="BATCH", nargs="?", help="its number")
    made.add_argument("state", metavar="STATE", nargs="?", choices=STATES, help=", ".join(STATES))
    made.add_argument("--unit", metavar="U", help="which unit it is in, such as 'steamer 2'")
    made.add_argument("--acid", metavar="Q", help="acid put in, such as '60 mL'; with --unit into that unit's bath")
    made.add_argument("--pass", dest="run", nargs=2, metavar=("N", "RUN"), help="pass N start, heat or end")
    made.add_argument("--reading", action="append", metavar="K=V", help="ph=4.6, eye=tinted, yarn_c=22, jar='12 0.4'")
    made.add_argument("--where", metavar="PLACE", help="of a look: puddle, pot, first rinse")
    made.add_argument("--layer", type=int, metavar="N", help="which layer it moves into")
    made.add_argument("--mix", metavar="TEXT", help="dye from another mix than the lot's")
    made.add_argument("--outcome", metavar="WORD", help="with done: first, second, one-off")
    made.add_argument("--tag", metavar="TEXT")
    made.add_argument("--skeins", type=int, metavar="N", help="counted again")
    made.add_argument("--cover", metavar="WORD", help="open, lidded, wrapped")
    made.add_argument("--into", nargs="+", metavar="NO=N", help="split it, such as 03a=3 03b=2")
    made.add_argument("--overdye", metavar="COLOURWAY", help="it goes on under another colourway")
    made.add_argument("--why", metavar="TEXT")
    made.add_argument("--note", metavar="TEXT")
    made.add_argument("--at", metavar="TIME", help="when it happened, 14:05 or 2026-03-14T14:05; else now")
    made.add_argument(
        "--from", dest="from_file", metavar="FILE", help="many events, one JSON object a line; - is stdin"
    )


def _add_acid(made: argparse.ArgumentParser) -> None:
    made.add_argument("--water", metavar="V", help="how much water, such as '4 L'; 1 L if left out")
    made.add_argument("--alkalinity", metavar="A", help="such as '180 mg/L', '11 dH', '3,6 meq/L'")
    made.add_argument("--hardness", metavar="H", help="where only this is known it is an upper guess")
    made.add_argument("--target-ph", metavar="PH", help="4.5 if left out")
    made.add_argument("--kind", choices=ACIDS, default="vinegar", help=", ".join(ACIDS))
    made.add_argument("--strength", metavar="S", help="%% w/v; 5 for vinegar")
    made.add_argument("--temperature", metavar="T", help="15 °C if left out")
    made.add_argument("--fibre", metavar="W", help="dry weight of yarn in it, for what the fibre may take")
    made.add_argument("--fibre-takes", metavar="M", help="mmol of acid per g of fibre, else the usual allowance")
    made.add_argument("--dose", metavar="Q", help="the pH that this much acid reaches")
    made.add_argument("--reached", metavar="PH", help="a reading after the dose (or --dose): what to add")
