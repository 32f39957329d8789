"""Usage of the commands that record what happens in a day and show it."""

from __future__ import annotations

import argparse

from dyeday.commands.usage.adding import CommandAdder, number
from dyeday.terms import STATES, UnitEvent, Water


def add(made: CommandAdder) -> None:
    """Add ``mark``, ``flags``, ``log`` and ``close``."""
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


def _add_mark(made: argparse.ArgumentParser) -> None:
    states, waters = [state.value for state in STATES], [water.value for water in Water]
    made.add_argument("batch", metavar="BATCH", nargs="?", help="its number; several as 01-04 or 01,03")
    made.add_argument("state", metavar="STATE", nargs="?", choices=states, help="where it goes: " + ", ".join(states))
    made.add_argument("--unit", metavar="U", help="which unit it is in, such as 'steamer 2'")
    made.add_argument("--acid", metavar="Q", help="acid put in, such as '60 mL'; with --unit into that unit's bath")
    made.add_argument("--water", metavar="W", choices=waters, help="what water the unit has: new or kept")
    made.add_argument("--tank", metavar="T", choices=[UnitEvent.FILLED.value], help="filled, before the heat starts")
    made.add_argument(
        "--heat", dest="run", nargs=2, metavar=("N", "EDGE"), help="heat N: start, heat (hot now) or end"
    )
    made.add_argument("--pass", dest="run", nargs=2, help=argparse.SUPPRESS)  # as --heat was called
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
    made.add_argument("--again", action="store_true", help="record it again, typed less than a minute ago")
    made.add_argument(
        "--from", dest="from_file", metavar="FILE", help="many events, one JSON object a line; - is stdin"
    )
