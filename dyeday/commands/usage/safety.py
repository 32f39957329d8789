"""Usage of the commands that look after what is kept."""

from __future__ import annotations

from dyeday.commands.usage.adding import Adding


def add(made: Adding) -> None:
    """Add ``restore`` and ``doctor``."""
    restoring = made.add(
        "restore",
        "restoring:restore",
        "the copies of what is kept, and one brought back",
        "dyeday restore 2026-03-14-1 --newest",
        made.common,
        made.as_json,
    )
    restoring.add_argument("name", metavar="NAME", nargs="?", help="a session's id, or another file that is listed")
    restoring.add_argument("when", metavar="COPY", nargs="?", help="which copy, or the beginning of its name")
    restoring.add_argument("--newest", action="store_true", help="the newest copy that is whole")
    looking = made.add(
        "doctor",
        "doctor:doctor",
        "is all well with the data folder, clock, terminal and printer",
        "dyeday doctor --strict",
        made.common,
        made.as_json,
    )
    looking.add_argument("--strict", action="store_true", help="exit 1 where something is wrong")
