"""Usage of the commands on parcels, shelf, times and the lot book, on the data, sounds and terminal, and of help."""

from __future__ import annotations

import argparse

from dyeday.commands.usage.adding import CommandAdder, may_overwrite, number
from dyeday.commands.usage.command_table import TOPICS
from dyeday.terms import StockKind

LOOKS = ("match", "lighter", "darker", "redder", "yellower", "greener", "bluer")
THINGS = tuple(thing.value for thing in StockKind if thing is not StockKind.BOTTLE)
"""what ``--as`` may say a thing on the shelf is; a bottle of solution comes from ``--made``"""


class _Moved(argparse.Action):
    """Starts a movement: [kind, name, amount, strength], the last two filled in by `_Of`."""

    def __call__(self, parser: object, namespace: argparse.Namespace, values: object, option: object = None) -> None:
        namespace.moved = [*(namespace.moved or ()), [self.dest, str(values), "", ""]]


class _Of(argparse.Action):
    """Adds an amount or a strength to the latest movement."""

    def __call__(
        self, parser: argparse.ArgumentParser, namespace: argparse.Namespace, values: object, option: object = None
    ) -> None:
        at = {"amount": 2, "strength": 3}[self.dest]
        if not namespace.moved or namespace.moved[-1][at]:
            raise argparse.ArgumentError(self, "put it after its thing: --received NAME --amount Q")
        assert isinstance(values, list)  # noqa: S101 - nargs is "+"
        namespace.moved[-1][at] = " ".join(values)


def add(made: CommandAdder) -> None:
    """Add ``parcels``, ``shelf``, ``times``, ``look-back``, ``lots`` and those that look after the data."""
    parcels = made.add("parcels")
    parcels.add_argument("--labels", action="store_true", help="the text of the labels of all that is ready")
    parcels.add_argument("--cost", action="store_true", help="what each lot cost, and each order brings")
    parcels.add_argument("--strict", action="store_true", help="exit 1 if a parcel waits")
    _add_shelf(made.add("shelf"))
    times = made.add("times")
    what = times.add_mutually_exclusive_group()
    what.add_argument("--take", action="store_true", help="make forecasts use them from now on")
    what.add_argument("--forget", action="store_true", help="make forecasts use the plan's minutes again")
    what.add_argument("--again", action="store_true", help="read the latest sessions again")
    what.add_argument("--day", action="store_true", help="instead, each step of one session")
    _add_lot_book(made)
    _add_keeping(made)


def _add_shelf(made: argparse.ArgumentParser) -> None:
    things = made.add_argument_group("what moved", "repeatable, each with its amount")
    things.add_argument("--received", action=_Moved, metavar="NAME", help="what came")
    things.add_argument("--counted", action=_Moved, metavar="NAME", help="the amount counted, with --why")
    things.add_argument("--made", action=_Moved, metavar="DYE", help="a solution, with its --strength")
    things.add_argument("--used", action=_Moved, metavar="NAME", help="used or lost outside sessions, with --why")
    things.add_argument("--amount", action=_Of, nargs="+", metavar="Q", help="of it: 100 g, 2 L, 20 skeins")
    things.add_argument("--strength", action=_Of, nargs="+", metavar="S", help="of a solution: 2 %%")
    made.set_defaults(moved=None)
    made.add_argument("--why", metavar="TEXT", help="the reason, kept with the movement")
    made.add_argument(
        "--again", action="store_true", help="record it even if you typed the same less than a minute ago"
    )
    made.add_argument("--lot", metavar="TEXT", help="the powder's or the mill's lot number")
    made.add_argument("--as", dest="thing", choices=THINGS, help="what it is, if its name is new")
    made.add_argument("--at", metavar="TIME", help="when it happened, 14:05 or 2026-03-14T14:05; else now")
    made.add_argument(
        "--weeks",
        type=number(1.0, 520.0),
        default=8.0,
        metavar="N",
        help="weeks of past use to go by; default 8",
    )
    made.add_argument(
        "--lead",
        type=number(0.0, 730.0),
        default=14.0,
        metavar="DAYS",
        help="how long an order takes to arrive; default 14",
    )
    made.add_argument("--moves", action="store_true", help="list every movement instead")
    made.add_argument("--csv", metavar="FILE", help="write it to a file for a spreadsheet; - is stdout")
    may_overwrite(made)
    made.add_argument("--from", dest="from_file", metavar="FILE", help="import movements from --moves")
    made.add_argument("--strict", action="store_true", help="exit 1 if something must be reordered")


def _add_lot_book(made: CommandAdder) -> None:
    back = made.add("look-back")
    back.add_argument("--from", dest="from_", metavar="DATE", help="2026-03-14, 2026-03 or 2026; else a year before")
    back.add_argument("--to", metavar="DATE", help="else today")
    back.add_argument("--csv", metavar="FILE", help="write the figures to a file; - is stdout")
    may_overwrite(back)
    _add_lots(made.add("lots"))


def _add_lots(made: argparse.ArgumentParser) -> None:
    made.add_argument(
        "words",
        metavar="WORDS",
        nargs="*",
        help="words that a lot has, all of them: colourway, base, order, date, note, flag, mill lot …; or its NUMBER",
    )
    made.add_argument("--all", action="store_true", help="list all, not only the newest 40")
    made.add_argument("--csv", metavar="FILE", help="write what is found to a file, one lot a line; - is stdout")
    may_overwrite(made)
    kept = made.add_argument_group("add to one lot; nothing is changed")
    kept.add_argument("--note", metavar="TEXT", action="append", help="anything worth knowing next time")
    kept.add_argument("--mill-lot", metavar="TEXT", help="the yarn's lot, from the mill's band")
    kept.add_argument("--powder-lot", metavar="[DYE=]TEXT", action="append", help="the powder's lot, from the jar")
    kept.add_argument("--photo", metavar="FILE", action="append", help="the file of a picture")
    kept.add_argument("--look", choices=LOOKS, metavar="WORD", help="against the kept swatch: " + ", ".join(LOOKS))
    again = made.add_argument_group("dye it again")
    again.add_argument("--again", action="store_true", help="its order and recipe for a plan; what differs today")
    again.add_argument("--plan", metavar="PLAN", help="today's plan, else that of the newest session")
    again.add_argument("--into", metavar="PLAN", help="add it to this plan; comments and layout stay")
    again.add_argument("--skeins", type=number(1, 5000), metavar="N", help="how many; default: as many as before")
    other = made.add_argument_group("the lot book")
    other.add_argument(
        "--from", dest="from_file", metavar="FILE", help="import lots from --json; existing ones are skipped"
    )


def _add_keeping(made: CommandAdder) -> None:
    restoring = made.add("restore")
    restoring.add_argument("name", metavar="NAME", nargs="?", help="a session's id, or studio")
    restoring.add_argument("when", metavar="COPY", nargs="?", help="which copy, or the beginning of its name")
    restoring.add_argument("--newest", action="store_true", help="the newest undamaged copy")
    looking = made.add("doctor")
    looking.add_argument("--strict", action="store_true", help="exit 1 if something is wrong")
    sounding = made.add("sound")
    sounding.add_argument(
        "--prompt", metavar="PROGRAM", help="what runs at a prompt: a program and its words, quoted"
    )
    sounding.add_argument("--alarm", metavar="PROGRAM", help="what runs at an alarm, else what runs at a prompt")
    sounding.add_argument("--tank", metavar="PROGRAM", help="what runs when a tank runs dry, else as at an alarm")
    sounding.add_argument("--off", action="store_true", help="no program, the terminal's bell only")
    sounding.add_argument("--test", action="store_true", help="ring the bell and run each program that is set")
    sounding.add_argument("--yes", action="store_true", help="set it without being asked")
    helping = made.add("help")
    helping.add_argument("topic", metavar="TOPIC", nargs="?", choices=TOPICS, help=f"one of: {', '.join(TOPICS)}")
