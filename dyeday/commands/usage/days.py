"""Usage of the commands that fill a plan, open its day and forecast it, and record what happens in it."""

from __future__ import annotations

import argparse

from dyeday.commands.usage.adding import CommandAdder, number
from dyeday.terms import STATES, UnitEvent, Water


def add(made: CommandAdder) -> None:
    """Add ``setup``, ``open``, ``demo``, ``begin``, ``carry``, ``sessions``, ``check``, ``watch``, ``ahead``,
    ``orders``, ``library``, ``mark``, ``flags``, ``log`` and ``close``."""
    made.add("setup")
    opening = made.add("open")
    opening.add_argument("plan", metavar="PLAN", help="the plan's file")
    demo = made.add("demo")
    demo.add_argument("--into", metavar="DIR", help="write the demo's data here and print its session; open nothing")
    beginning = made.add("begin")
    beginning.add_argument("plan", metavar="PLAN", help="the plan's file")
    for each in (opening, beginning):
        each.add_argument("--new", action="store_true", help="start a second session from this plan")
        each.add_argument("--take-changes", action="store_true", help="apply the changed plan to the running session")
    carrying = made.add("carry")
    carrying.add_argument("new", metavar="NEW", help="the plan file to write; never an existing one")
    carrying.add_argument("--date", metavar="DATE", help="of that plan, such as 2026-03-15; else the next day")
    made.add("sessions")
    checking = made.add("check")
    checking.add_argument("plan", metavar="PLAN", help="the plan's file")
    checking.add_argument("--strict", action="store_true", help="exit 1 if there is advice")
    showing = made.add("watch")
    showing.add_argument(
        "--network",
        nargs="?",
        const="",
        metavar="ADDRESS",
        help="show it to the home network, at this computer's ADDRESS there; without, to this computer only",
    )
    showing.add_argument(
        "--port", type=number(0, 65535), default=0, metavar="N", help="listen at this port, else at a free one"
    )
    _add_ahead(made)
    _add_orders(made)
    _add_mark(made.add("mark"))
    flags = made.add("flags")
    flags.add_argument("--all", action="store_true", help="cleared ones too")
    flags.add_argument("--resolve", nargs=2, metavar=("BATCH", "RULE"), help="clear a flag, with --why")
    flags.add_argument("--why", metavar="TEXT", help="the reason for clearing it")
    flags.add_argument("--strict", action="store_true", help="exit 1 if a flag is open")
    made.add("log")
    closing = made.add("close")
    closing.add_argument("--why", metavar="TEXT", help="a note on the day")
    closing.add_argument("--yes", action="store_true", help="close even if heat is still on")


def _add_ahead(made: CommandAdder) -> None:
    looking = made.add("ahead")
    looking.add_argument("plan", metavar="PLAN", nargs="?", help="a plan from its start, else the session from now")
    looking.add_argument(
        "--with",
        dest="with_",
        action="append",
        metavar="CHANGE",
        help="change the day: 'steamer +1', 'stop 21:00'",
    )
    looking.add_argument("--without", action="append", metavar="BATCH", help="forecast without a batch")
    looking.add_argument(
        "--what-if", action="store_true", help="minutes gained by one more of each unit, an hour, each batch left out"
    )
    looking.add_argument(
        "--budget-ms",
        type=number(1, 600_000),
        metavar="MS",
        help="search by time instead: milliseconds for each question: all rinsed, and rinsed by stop",
    )
    looking.add_argument(
        "--evaluations",
        type=number(1, 1_000_000),
        metavar="N",
        help="try N schedules for each question; 200 if left out, as for the timetable",
    )
    looking.add_argument(
        "--width", type=number(40, 1000), metavar="N", help="columns to fit, else the window's; 80 in a file"
    )
    looking.add_argument("--html", metavar="FILE", help="the day as a chart for a browser and the wall")
    looking.add_argument("--overwrite", action="store_true", help="replace an existing FILE")
    looking.add_argument("--strict", action="store_true", help="exit 1 if the day does not fit")


def _add_orders(made: CommandAdder) -> None:
    orders = made.add("orders")
    orders.add_argument("csv", metavar="CSV", nargs="?", help="a table from a spreadsheet or a shop; - is stdin")
    orders.add_argument("--into", metavar="PLAN", required=True, help="the plan to import into, all or nothing")
    orders.add_argument(
        "--columns",
        metavar="FILE",
        help="which column means what, else orders.columns.toml beside the plan, guessed the first time",
    )
    orders.add_argument("--again", action="store_true", help="also import orders that another plan in the folder has")
    orders.add_argument("--dry-run", action="store_true", help="show what would be imported, write nothing")
    library = made.add("library")
    library.add_argument("--take", metavar="PLAN", help="add a plan's definitions, and show what is new or changed")
    library.add_argument("--only-new", action="store_true", help="with --take: add new definitions, change none")


def _add_mark(made: argparse.ArgumentParser) -> None:
    states, waters = [state.value for state in STATES], [water.value for water in Water]
    made.add_argument("batch", metavar="BATCH", nargs="?", help="its number; several as 01-04 or 01,03")
    made.add_argument("state", metavar="STATE", nargs="?", choices=states, help="where it goes: " + ", ".join(states))
    made.add_argument("--unit", metavar="U", help="which unit it is in, such as 'steamer 2'")
    made.add_argument("--acid", metavar="Q", help="acid put in, such as '60 mL'; with --unit into that unit's bath")
    made.add_argument("--water", metavar="W", choices=waters, help="what water the unit has: new or kept")
    made.add_argument("--tank", metavar="T", choices=[UnitEvent.FILLED.value], help="filled, before the heat starts")
    made.add_argument("--heat", nargs=2, metavar=("N", "EDGE"), help="heat N: start, heat (hot now) or end")
    made.add_argument("--pass", dest="heat", nargs=2, help=argparse.SUPPRESS)  # as --heat was called
    made.add_argument("--reading", action="append", metavar="K=V", help="ph=4.6, eye=tinted, yarn_c=22, jar='12 0.4'")
    made.add_argument("--where", metavar="PLACE", help="where you looked: puddle, pot, first rinse")
    made.add_argument("--layer", type=number(1, 99), metavar="N", help="which layer it moves into")
    made.add_argument("--mix", metavar="TEXT", help="dye from another mix than the lot's")
    made.add_argument("--outcome", metavar="WORD", help="with done: first, second, one-off")
    made.add_argument("--tag", metavar="TEXT", help="what is tied to it, such as 'red' or '2 knots'")
    made.add_argument("--skeins", type=number(1, 5000), metavar="N", help="how many there are, counted again")
    made.add_argument("--cover", metavar="WORD", help="open, lidded, wrapped")
    made.add_argument("--into", nargs="+", metavar="NO=N", help="split it, such as 03a=3 03b=2")
    made.add_argument(
        "--used", action="append", metavar="NAME=Q", help="'Peat=120 mL' of solution, 'Peat=0.4 g' powder"
    )
    made.add_argument(
        "--left-over", action="append", metavar="NAME=Q", help="of the solution poured, such as 'Peat=20 mL'"
    )
    made.add_argument("--overdye", metavar="COLOURWAY", help="it is dyed over in another colourway")
    made.add_argument("--why", metavar="TEXT", help="the reason")
    made.add_argument("--note", metavar="TEXT", help="a note on it")
    made.add_argument("--at", metavar="TIME", help="when it happened, 14:05 or 2026-03-14T14:05; else now")
    made.add_argument(
        "--again", action="store_true", help="record it even if you typed the same less than a minute ago"
    )
    made.add_argument(
        "--from", dest="from_file", metavar="FILE", help="many events, one JSON object a line; - is stdin"
    )
