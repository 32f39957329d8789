"""The commands of the shell with their options and the functions that run them; `dyeday help`."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence

from dyeday import __version__
from dyeday.commands.usage.adding import CommandAdder, Parser
from dyeday.commands.usage.command_table import COMMANDS

EXAMPLE = "example: dyeday demo"


def parsed(words: Sequence[str] | None) -> tuple[argparse.Namespace, dict[str, str]]:
    """Return what was typed after `dyeday`, and what runs each command. Exits with status 2 on wrong usage.

    The thirty commands are defined only if one is typed: defining them is a twentieth of the bench's start.
    """
    words = sys.argv[1:] if words is None else words
    if not words or words[0].startswith("-"):
        bench = Parser(prog="dyeday", parents=[CommandAdder().chosen], epilog=EXAMPLE, add_help=False)
        bench.set_defaults(command=None, usage=bench)
        args, others = bench.parse_known_args(words)
        if not others:
            return args, {}
    parser, runs = made_parser()
    return parser.parse_args(words), runs


def help_on(args: argparse.Namespace) -> None:
    """Print a topic, or the topics there are."""
    from dyeday.commands.common import say
    from dyeday.paper.help_pages import PAGES, help_lines

    topics = (f"dyeday help {topic:<9}  {about}" for topic, (about, _) in PAGES.items())
    say(*(topics if args.topic is None else help_lines(args.topic)))


def made_parser() -> tuple[argparse.ArgumentParser, dict[str, str]]:
    """Return the parser and, by a command's name, the function that runs it as ``module:function`` of `commands`."""
    from dyeday.commands.usage.options import add_all

    made = CommandAdder()
    parser = Parser(
        prog="dyeday",
        parents=[made.chosen],
        description="A hand dyer's day, tracked live. Without a command, dyeday opens the newest day that is not "
        "closed; if there is none, the start screen. Read `dyeday sheet cautions` before you weigh anything or "
        "switch anything on.",
        epilog=EXAMPLE,
    )
    parser.add_argument("--version", action="version", version=f"dyeday {__version__}", help="show the version")
    parser.set_defaults(command=None, usage=parser)
    made.commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=False, title="commands")
    add_all(made)
    return parser, {command.name: command.runs for command in COMMANDS}
