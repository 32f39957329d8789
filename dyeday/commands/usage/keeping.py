"""Usage of the commands that look after the data, sounds and terminal, and of the help pages."""

from __future__ import annotations

from dyeday.commands.usage.adding import CommandAdder
from dyeday.commands.usage.command_table import TOPICS


def add(made: CommandAdder) -> None:
    """Add ``restore``, ``doctor``, ``sound`` and ``help``."""
    restoring = made.add("restore")
    restoring.add_argument("name", metavar="NAME", nargs="?", help="a session's id, or studio")
    restoring.add_argument("when", metavar="COPY", nargs="?", help="which copy, or the beginning of its name")
    restoring.add_argument("--newest", action="store_true", help="the newest undamaged copy")
    looking = made.add("doctor")
    looking.add_argument("--strict", action="store_true", help="exit 1 if something is wrong")
    sounding = made.add("sound")
    sounding.add_argument(
        "--prompt", metavar="PROGRAM", help="what runs at a prompt: a program and its words, quoted"
    )
    sounding.add_argument("--alarm", metavar="PROGRAM", help="what runs at an alarm, else what runs at a prompt")
    sounding.add_argument("--tank", metavar="PROGRAM", help="what runs when a tank runs dry, else as at an alarm")
    sounding.add_argument("--off", action="store_true", help="no program, the terminal's bell only")
    sounding.add_argument("--test", action="store_true", help="ring the bell and run each program that is set")
    sounding.add_argument("--yes", action="store_true", help="set it without being asked")
    helping = made.add("help")
    helping.add_argument("topic", metavar="TOPIC", nargs="?", choices=TOPICS, help=f"one of: {', '.join(TOPICS)}")
