"""`dyeday help`: a topic's page, or the list of topics."""

from __future__ import annotations

from argparse import Namespace

from dyeday.commands.common import say
from dyeday.paper.help_pages import PAGES, help_lines


def help_on(args: Namespace) -> None:
    """Print a topic, or the topics there are."""
    if args.topic is None:
        say(*(f"dyeday help {topic:<9}  {about}" for topic, (about, _) in PAGES.items()))
    else:
        say(*help_lines(args.topic))
