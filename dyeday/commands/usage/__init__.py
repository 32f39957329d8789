"""The words of the shell: every command with its options, and which function runs it, one family a file."""

from __future__ import annotations

import argparse

from dyeday import __version__
from dyeday.commands.usage import amounts_usage as amounts
from dyeday.commands.usage import book, days, orders, papers, records, safety
from dyeday.commands.usage import stock_usage as stock
from dyeday.commands.usage.adding import Adding, Parser

FAMILIES = (days, orders, records, amounts, papers, stock, book, safety)


def made_parser() -> tuple[argparse.ArgumentParser, dict[str, str]]:
    """Return the parser and, by a command's name, the function that runs it as ``module:function`` of `commands`."""
    made = Adding()
    parser = Parser(
        prog="dyeday",
        parents=[made.chosen],
        description="A hand dyer's day, tracked live. Without a command: the bench on the newest unfinished session. "
        "Read `dyeday sheet cautions` before you weigh anything or switch anything on.",
        epilog="example: dyeday demo",
    )
    parser.add_argument("--version", action="version", version=f"dyeday {__version__}", help="which dyeday this is")
    parser.set_defaults(command=None, usage=parser)
    made.commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=False, title="commands")
    for family in FAMILIES:
        family.add(made)
    return parser, made.runs
