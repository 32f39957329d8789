"""Usage of the commands that look back: the lot book and the season."""

from __future__ import annotations

import argparse

from dyeday.commands.usage.adding import CommandAdder, may_overwrite, number

LOOKS = ("match", "lighter", "darker", "redder", "yellower", "greener", "bluer")


def add(made: CommandAdder) -> None:
    """Add ``lots`` and ``look-back``."""
    back = made.add(
        "look-back",
        "books.look_back:look_back",
        "a season in figures: exhaustion, minutes, flags, alarms, lots that went back to fix",
        "dyeday look-back --from 2026-01 --to 2026-06",
    )
    back.add_argument("--from", dest="from_", metavar="DATE", help="2026-03-14, 2026-03 or 2026; else a year before")
    back.add_argument("--to", metavar="DATE", help="else today")
    back.add_argument("--csv", metavar="FILE", help="put the figures into a file; - is stdout")
    may_overwrite(back)
    _add_lots(
        made.add(
            "lots",
            "books.lots_answer:lots",
            "finished lots: find, show, add notes, dye again",
            "dyeday lots harbour wool 2026",
            of_session=True,
        )
    )


def _add_lots(made: argparse.ArgumentParser) -> None:
    made.add_argument(
        "words",
        metavar="WORDS",
        nargs="*",
        help="words that are all in it: colourway, base, order, date, note, flag, lot of the mill …; or its NUMBER",
    )
    made.add_argument("--all", action="store_true", help="list all, not only the newest 40")
    made.add_argument("--csv", metavar="FILE", help="write what is found to a file, one lot a line; - is stdout")
    may_overwrite(made)
    kept = made.add_argument_group("add to one lot; nothing is changed")
    kept.add_argument("--note", metavar="TEXT", action="append", help="whatever is worth knowing next time")
    kept.add_argument("--mill-lot", metavar="TEXT", help="what the mill's band says")
    kept.add_argument("--powder-lot", metavar="[DYE=]TEXT", action="append", help="what the jar says")
    kept.add_argument("--photo", metavar="FILE", action="append", help="where its picture lies")
    kept.add_argument("--look", choices=LOOKS, metavar="WORD", help="against the kept swatch: " + ", ".join(LOOKS))
    again = made.add_argument_group("dyed again")
    again.add_argument("--again", action="store_true", help="its order and recipe for a plan, and what differs today")
    again.add_argument("--plan", metavar="PLAN", help="today's plan, else that of the newest session")
    again.add_argument("--into", metavar="PLAN", help="put it into this plan, whose comments and layout stay")
    again.add_argument("--skeins", type=number(1, 5000), metavar="N", help="how many; default as many as it had")
    other = made.add_argument_group("the book itself")
    other.add_argument(
        "--from", dest="from_file", metavar="FILE", help="import lots from --json; existing ones are skipped"
    )
