"""The parser of the shell, and the adding of commands with the options that many share."""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterable
from typing import Any, NoReturn

from dyeday.commands.usage.command_table import COMMANDS
from dyeday.text import brief, harmless


class Parser(argparse.ArgumentParser):
    """A parser that refuses in one line: what is wrong and what to do, instead of a list of all options."""

    def __init__(self, *args: Any, **how: Any) -> None:
        super().__init__(*args, **how)
        self._positionals.title, self._optionals.title = "arguments", "options"
        for action in self._actions:
            if action.dest == "help":
                action.help = "show this help"

    def parse_args(self, args: Any = None, namespace: Any = None) -> Any:
        """Return what was typed; an unknown option is refused by the command it was typed for."""
        parsed, unknown = self.parse_known_args(args, namespace)
        if unknown:
            usage = getattr(parsed, "usage", self)
            usage.error(_unknown(unknown[0], usage._option_string_actions))
        return parsed

    def error(self, message: str) -> NoReturn:
        """Exit with status 2 after argparse's message in plain words, with an example."""
        text, example = _in_words(message), (self.epilog or "").removeprefix("example: ").partition("\n")[0]
        self.refuse(text if text.endswith("?") or "; " in text else f"{text}; write it as in `{example}`")

    def refuse(self, message: str) -> NoReturn:
        """Exit with status 2 after a ``message`` that says what to do."""
        see = " See" if message.endswith("?") else ", or see"
        self.exit(2, f"{self.prog}: {harmless(message)}{see} `{self.prog} --help`\n")


def _unknown(word: str, options: Iterable[str]) -> str:
    if not word.startswith("-"):
        return f"{brief(word)} is one word too many (put a name with spaces in quotes)"
    from difflib import get_close_matches

    option = word.split("=")[0]
    near = get_close_matches(option, list(options), 1)
    return f"unknown option {option}" + (f"; did you mean {near[0]}?" if near else "")


_WORDS = (
    ("the following arguments are required: (.+)", "{0} is missing"),
    ("argument (.+?): expected .*", "{0} needs a value"),
    ("argument (.+?): not allowed with argument (.+)", "{1} and {0} exclude each other: use one of them"),
    ("ambiguous option: (.+?) could match (.+)", "{0} could be {1}: write the whole word"),
    ("argument (.+?): ignored explicit argument .*", "{0} does not take a value"),
    ("argument (.+?): (.*)", "{0} {1}"),
)
"""how argparse's messages read, and what they mean"""


def _in_words(message: str) -> str:
    """Return argparse's message in plain words; unchanged if it is none of those known here."""
    if match := re.fullmatch(r"argument (.+?): invalid choice: '(.*)' \(choose from (.*)\)", message):
        from dyeday.plan.reading.problems import closest

        known = [word.strip("' ") for word in match[3].split(",")]
        near = closest(match[2], known)
        right = f"did you mean {near!r}?" if near else f"it is one of {', '.join(known)}"
        if match[1] in ("COMMAND", "SHEET", "STATE", "TOPIC"):
            return f"there is no {match[1].lower()} {brief(match[2])}; {right}"
        return f"{match[1]} cannot be {brief(match[2])}; {right}"
    matches = ((re.fullmatch(pattern, message), words) for pattern, words in _WORDS)
    return next((words.format(*match.groups()) for match, words in matches if match), message)


def for_scripts(made: argparse.ArgumentParser) -> argparse._ArgumentGroup:
    """Return the group of a command's options that only scripts need."""
    title = "for scripts; you need none of these"
    known = (group for group in made._action_groups if group.title == title)
    return next(known, None) or made.add_argument_group(title)


class CommandAdder:
    """Adds commands to a parser. ``common``, ``chosen``, ``as_json`` and ``as_of`` are options that many share."""

    def __init__(self) -> None:
        self.commands: Any = None
        self.described = {command.name: command for command in COMMANDS}
        # Without SUPPRESS, the command's default would replace an option given before the command.
        hidden: Any = {"add_help": False, "argument_default": argparse.SUPPRESS}
        self.common = argparse.ArgumentParser(**hidden)
        where = "the data folder (default: DYEDAY_DATA, else your system's)"
        self.common.add_argument("--data", metavar="DIR", help=where)
        self.chosen = argparse.ArgumentParser(**hidden, parents=[self.common])
        self.chosen.add_argument("--session", metavar="ID", help="a session's id (default: newest unfinished)")
        self.as_json = argparse.ArgumentParser(add_help=False)
        for_scripts(self.as_json).add_argument("--json", action="store_true", help="answer as JSON")
        self.as_of = argparse.ArgumentParser(add_help=False)
        when = "show it as it was at a time, 14:05 or 2026-03-14T14:05"
        self.as_of.add_argument("--as-of", metavar="TIME", help=when)

    def add(self, name: str) -> argparse.ArgumentParser:
        """Add a command of `COMMANDS` with its shared options; return its parser for its own."""
        command = self.described[name]
        shared = [self.chosen if command.of_session else self.common]
        shared += [self.as_json] if command.as_json else []
        shared += [self.as_of] if command.as_of else []
        more: Any = {"formatter_class": argparse.RawDescriptionHelpFormatter} if "\n" in command.example else {}
        made: argparse.ArgumentParser = self.commands.add_parser(
            name,
            help=command.text,
            description=command.text,
            epilog=f"example: {command.example}",
            parents=shared,
            **more,
        )
        made.set_defaults(usage=made)
        return made
