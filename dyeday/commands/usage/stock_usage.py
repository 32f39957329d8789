"""Usage of the commands around the day: what leaves the studio, what is on the shelf, what work really takes."""

from __future__ import annotations

import argparse

from dyeday.commands.usage.adding import Adding, number

SPOKEN = ("dye", "acid", "extra", "yarn")
"""what a thing on the shelf may be said to be; a bottle is made, never said"""


def add(made: Adding) -> None:
    """Add ``parcels``, ``shelf`` and ``times``."""
    parcels = made.add(
        "parcels",
        "papers.parcels_answer:parcels",
        "which orders and parcels are complete, and what the others wait for",
        "dyeday parcels --cost",
        made.chosen,
        made.as_json,
        made.as_of,
    )
    parcels.add_argument("--labels", action="store_true", help="what the labels of all that is ready say")
    parcels.add_argument("--cost", action="store_true", help="what each lot cost, and each order brings")
    parcels.add_argument("--strict", action="store_true", help="exit 1 where a parcel waits")
    _add_shelf(
        made.add(
            "shelf",
            "books.shelf_answer:shelf",
            "dye, solutions, acid, extras, yarn: what is there, what to reorder",
            "dyeday shelf --received 'Slate Blue 100 g' --lot PW-113",
            made.common,
            made.as_json,
        )
    )
    times = made.add(
        "times",
        "books.times_answer:times",
        "planned against actual minutes of past sessions, and how forecasts were kept",
        "dyeday times --take",
        made.chosen,
        made.as_json,
    )
    what = times.add_mutually_exclusive_group()
    what.add_argument("--take", action="store_true", help="take them over: forecasts go by them from now on")
    what.add_argument("--forget", action="store_true", help="go by the plan's own minutes again")
    what.add_argument("--again", action="store_true", help="read the latest sessions anew, for what was not kept")
    what.add_argument("--day", action="store_true", help="one session, stretch by stretch, instead")


def _add_shelf(made: argparse.ArgumentParser) -> None:
    made.add_argument("--received", action="append", metavar="'NAME Q'", help="what came, such as 'Slate Blue 100 g'")
    made.add_argument("--counted", action="append", metavar="'NAME Q'", help="what is really there, with --why")
    made.add_argument("--made", action="append", metavar="'NAME V S'", help="a solution, such as 'Peat 500 mL 2 %%'")
    made.add_argument(
        "--used", action="append", metavar="'NAME Q'", help="used or lost beside the sessions, with --why"
    )
    made.add_argument("--why", metavar="TEXT", help="the reason, kept with the movement")
    made.add_argument("--lot", metavar="TEXT", help="the powder's or the mill's lot number")
    made.add_argument("--as", dest="thing", choices=SPOKEN, help="what it is, where its name is new")
    made.add_argument("--at", metavar="TIME", help="when it happened, 14:05 or 2026-03-14T14:05; else now")
    made.add_argument(
        "--weeks", type=number(1.0, 520.0), default=8.0, metavar="N", help="how many past weeks tell the use; 8"
    )
    made.add_argument(
        "--lead", type=number(0.0, 730.0), default=14.0, metavar="DAYS", help="how long an order takes to come; 14"
    )
    made.add_argument("--moves", action="store_true", help="every movement instead of what is there")
    made.add_argument("--csv", metavar="FILE", help="put it into a file for a spreadsheet; - is stdout")
    made.add_argument("--from", dest="from_file", metavar="FILE", help="take movements back, as --moves gave them")
    made.add_argument("--strict", action="store_true", help="exit 1 where something is to be reordered")
