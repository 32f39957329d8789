"""`dyeday help`: what the program knows of a topic, made from the tables that it works by."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Callable, Iterable

from dyeday.commands.common import say
from dyeday.plan.key_help import plan_help

HELP: dict[str, tuple[str, Callable[[], Iterable[str]]]] = {
    "plan": ("every key of a plan: unit, bounds, default, meaning", plan_help),
}


def help_on(args: Namespace) -> int:
    """Print a topic, or which topics there are."""
    if args.topic is None:
        say(*(f"dyeday help {topic}   {about}" for topic, (about, _) in HELP.items()))
    else:
        say(*HELP[args.topic][1]())
    return 0
