"""Usage of the commands that work out amounts and make what is printed."""

from __future__ import annotations

import argparse

from dyeday.commands.usage.adding import CommandAdder, may_overwrite, number

ACIDS = ("vinegar", "citric", "citric monohydrate", "citric solution")
SHEETS = ("summary", "weigh", "day", "labels", "packing", "lot", "cautions")


def add(made: CommandAdder) -> None:
    """Add ``weigh``, ``acid``, ``summary`` and ``sheet``."""
    _add_amounts(made)
    summary = made.add("summary")
    sheet = made.add("sheet")
    sheet.add_argument("kind", metavar="SHEET", choices=SHEETS, help=", ".join(SHEETS))
    sheet.add_argument(
        "about", metavar="PLAN|LOT", nargs="?", help="weigh, day: a plan not started; lot: its number, or a batch"
    )
    sheet.add_argument(
        "--size", type=label_size, metavar="COLUMNSxROWS",
        help="labels on a page, for --html: 3x7, 2x4 …; else 3x7 on A4, 3x10 on Letter",
    )  # fmt: skip
    for each in (summary, sheet):
        _add_ways(each)


def _add_amounts(made: CommandAdder) -> None:
    weighing = made.add("weigh")
    weighing.add_argument("plan", metavar="PLAN", nargs="?", help="a plan, else what still needs dye in the session")
    _add_acid(made.add("acid"))


def _add_acid(made: argparse.ArgumentParser) -> None:
    made.add_argument("--water", metavar="V", help="how much water, such as '4 L'; 1 L if left out")
    made.add_argument("--alkalinity", metavar="A", help="such as '180 mg/L', '11 dH', '3,6 meq/L'; mg/L by itself")
    made.add_argument(
        "--hardness", metavar="H", help="if you know only this: it counts as alkalinity; the dose may be too big"
    )
    made.add_argument("--target-ph", metavar="PH", help="4.5 if left out")
    made.add_argument("--kind", choices=ACIDS, default="vinegar", metavar="KIND", help=", ".join(ACIDS))
    made.add_argument("--strength", metavar="S", help="%% w/v; 5 for vinegar")
    made.add_argument("--temperature", metavar="T", help="15 °C if left out")
    made.add_argument("--fibre", metavar="W", help="dry weight of yarn in it, to allow for the acid it takes up")
    made.add_argument("--fibre-takes", metavar="M", help="mmol of acid per g of fibre, else the usual allowance")
    made.add_argument("--dose", metavar="Q", help="show the pH that this much acid reaches")
    made.add_argument("--reached", metavar="PH", help="the pH read after the dose (or --dose): show what to add")


def label_size(typed: str) -> str:
    """Return a size of labels, "3x7", as typed. Raises ArgumentTypeError."""
    from dyeday.paper.layout.label_page import grid_of

    try:
        grid_of("A4", typed)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from None
    return typed


def _add_ways(made: argparse.ArgumentParser) -> None:
    made.add_argument("--print", action="store_true", help="send it to the printer")
    made.add_argument("--printer", metavar="QUEUE", help="which queue (default: LPDEST, PRINTER, the system's)")
    made.add_argument("--copies", type=number(1, 99), metavar="N", help="how many copies, 1 to 99")
    made.add_argument("--paper", choices=("A4", "Letter"), help="paper size (default: A4; Letter for US units)")
    made.add_argument("--text", metavar="FILE", help="write it to a file as plain text")
    made.add_argument("--html", metavar="FILE", help="write it to a file for a browser")
    may_overwrite(made)
