"""Usage of the commands that make what is printed."""

from __future__ import annotations

from dyeday.commands.usage.adding import Adding


def add(made: Adding) -> None:
    """Add ``summary``."""
    summary = made.add(
        "summary",
        "answers:summary",
        "the end-of-day page",
        "dyeday summary --print",
        made.chosen,
        made.as_json,
        made.as_of,
    )
    summary.add_argument("--print", action="store_true", help="send it to the printer")
    summary.add_argument("--printer", metavar="QUEUE", help="which queue, else LPDEST, PRINTER, the default")
    summary.add_argument("--text", metavar="FILE", help="put it into a file")
