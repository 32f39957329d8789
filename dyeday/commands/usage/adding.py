"""What every command's usage is made with: the options that many share, and the adding itself."""

from __future__ import annotations

import argparse
import re
from typing import Any, NoReturn

from dyeday.plain import harmless


class Parser(argparse.ArgumentParser):
    """A parser that refuses in one line: what is wrong and what would be right, rather than every option there is."""

    def error(self, message: str) -> NoReturn:
        example = (self.epilog or "").removeprefix("example: ")
        self.refuse(f"{_in_words(message)}; write it as in `{example}`")

    def refuse(self, message: str) -> NoReturn:
        """Leave with exit status 2 after a ``message`` that says what would be right."""
        self.exit(2, f"{self.prog}: {harmless(message)}, or see `{self.prog} --help`\n")


def _in_words(message: str) -> str:
    """Return what argparse says as a person would; as it is where its words are others than those known here."""
    if said := re.fullmatch(r"the following arguments are required: (.+)", message):
        return f"{said[1]} is missing"
    if said := re.fullmatch(r"unrecognized arguments: (.+)", message):
        return f"nothing here is called {said[1]}"
    if said := re.fullmatch(r"argument (.+?): expected .*", message):
        return f"{said[1]} says nothing without what belongs to it"
    if said := re.fullmatch(r"argument (.+?): invalid choice: '(.*)' \(choose from (.*)\)", message):
        from difflib import get_close_matches

        known = [word.strip("' ") for word in said[3].split(",")]
        near = get_close_matches(said[2], known, 3) or known
        return f"{said[1]} cannot be {said[2]!r}; it may be {', '.join(near)}"
    return message


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
        made.set_defaults(usage=made)
        assert isinstance(made, argparse.ArgumentParser)  # noqa: S101 - argparse gives back its own kind
        return made
