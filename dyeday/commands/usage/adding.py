"""What every command's usage is made with: the options that many share, and the adding itself."""

from __future__ import annotations

import argparse
from typing import Any


class Adding:
    """Collects commands. ``common``, ``chosen``, ``as_json`` and ``as_of`` are options that many share.

    ``runs`` has, by a command's name, what runs it as ``module:function`` within `dyeday.commands`; the module is
    imported when the command runs, never before.
    """

    def __init__(self) -> None:
        self.commands: Any = None
        self.runs: dict[str, str] = {}
        self.common = argparse.ArgumentParser(add_help=False)
        # Suppressed and set after parsing, or an option before the command would be lost to the command's default.
        self.common.add_argument(
            "--data",
            metavar="DIR",
            default=argparse.SUPPRESS,
            help="the data folder (else DYEDAY_DATA, else the user's own)",
        )
        self.chosen = argparse.ArgumentParser(add_help=False, parents=[self.common])
        self.chosen.add_argument(
            "--session", metavar="ID", default=argparse.SUPPRESS, help="which session, else the newest unfinished"
        )
        self.as_json = argparse.ArgumentParser(add_help=False)
        self.as_json.add_argument("--json", action="store_true", help="answer as JSON")
        self.as_of = argparse.ArgumentParser(add_help=False)
        self.as_of.add_argument("--as-of", metavar="TIME", help="as it was at a time, 14:05 or 2026-03-14T14:05")

    def add(
        self, name: str, runs: str, text: str, example: str, *parents: argparse.ArgumentParser
    ) -> argparse.ArgumentParser:
        """Add a command ``name`` that the function ``runs`` answers; its ``example`` stands under its help."""
        self.runs[name] = runs
        made = self.commands.add_parser(
            name, help=text, description=text, epilog=f"example: {example}", parents=list(parents)
        )
        assert isinstance(made, argparse.ArgumentParser)  # noqa: S101 - argparse gives back its own kind
        return made
