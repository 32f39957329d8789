"""Usage of the commands that work out amounts."""

from __future__ import annotations

import argparse

from dyeday.commands.usage.adding import CommandAdder

ACIDS = ("vinegar", "citric", "citric monohydrate", "citric solution")


def add(made: CommandAdder) -> None:
    """Add ``weigh`` and ``acid``."""
    weighing = made.add(
        "weigh",
        "papers.weigh:weigh",
        "what to weigh out: dye, solution, acid, water",
        "dyeday weigh saturday.toml",
        of_session=True,
    )
    weighing.add_argument("plan", metavar="PLAN", nargs="?", help="a plan, else what still needs dye in the session")
    _add_acid(
        made.add(
            "acid",
            "papers.acid_answer:acid",
            "acid for one bath of this water",
            "dyeday acid --water '4 L' --alkalinity '11 dH'",
        )
    )


def _add_acid(made: argparse.ArgumentParser) -> None:
    made.add_argument("--water", metavar="V", help="how much water, such as '4 L'; 1 L if left out")
    made.add_argument("--alkalinity", metavar="A", help="such as '180 mg/L', '11 dH', '3,6 meq/L'")
    made.add_argument(
        "--hardness", metavar="H", help="if you know only this: it counts as alkalinity; the dose may be too big"
    )
    made.add_argument("--target-ph", metavar="PH", help="4.5 if left out")
    made.add_argument("--kind", choices=ACIDS, default="vinegar", metavar="KIND", help=", ".join(ACIDS))
    made.add_argument("--strength", metavar="S", help="%% w/v; 5 for vinegar")
    made.add_argument("--temperature", metavar="T", help="15 °C if left out")
    made.add_argument("--fibre", metavar="W", help="dry weight of yarn in it, to allow for the acid it takes up")
    made.add_argument("--fibre-takes", metavar="M", help="mmol of acid per g of fibre, else the usual allowance")
    made.add_argument("--dose", metavar="Q", help="the pH that this much acid reaches")
    made.add_argument("--reached", metavar="PH", help="a reading after the dose (or --dose): what to add")
