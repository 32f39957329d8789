"""TOML text into plain data, or its syntax error with the line."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from dyeday.plan.reading.problems import PlanError, Problem
from dyeday.plan.reading.toml_positions import Path, TomlPositions
from dyeday.text import harmless

LONGEST_TEXT = 1_000_000
_DOTTED = re.compile(r"""(?<![\w.-])(?:(?:[\w-]++|"(?:[^"\\\n]|\\.)*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){50}""")
"""A key of fifty parts: the standard reader's time grows with the square of their number."""


_NAMED = re.compile(r"^\s*([A-Za-z_]+)\s*=\s*([^\[{#]+?)\s*(?:#.*)?$")
"""a key and a value that is neither a list nor a table"""
_DAY = re.compile(r"(\d{1,2})\.\s?(0?[1-9]|1[0-2])\.\s?(20\d\d)")
"""a date with its day first"""
_SLASHES = re.compile(r"\d{1,2}/\d{1,2}/\d{2,4}")
"""a date with its day or its month first"""


def toml_of(text: str) -> tuple[dict[str, Any], dict[Path, int]]:
    """Return the tables of the text, and the line of every key."""
    if len(text) > LONGEST_TEXT:
        raise PlanError([Problem(1, "the plan is longer than a million characters", "split it into several days")])
    if (dotted := _DOTTED.search(text)) is not None:
        what = "a key has more than fifty parts"
        raise PlanError([Problem(_line_at(text, dotted.start()), what, "write a key of this plan")])
    try:
        return tomllib.loads(text), TomlPositions(text).lines
    except tomllib.TOMLDecodeError as error:
        line_match = re.search(r"\(at line (\d+), column \d+\)$", str(error))
        line = int(line_match[1]) if line_match else _line_at(text.rstrip(), len(text))
        what, right = _in_words(re.sub(r" \(at [^()]*\)$", "", str(error)))
        if not what.startswith("there is no such day"):
            right = _mended(text, line) or right
        raise PlanError([Problem(line, f"cannot read this line: {what}", right)]) from None
    except RecursionError:
        what = "tables or lists are nested too deeply"
        raise PlanError([Problem(_deep_line(text), what, "a plan needs five levels at most")]) from None
    except ValueError:  # Python reads no decimal number of more than 4300 digits
        long = re.search(r"(?<![\d_])[\d_]{4300}", text)
        line = _line_at(text, long.start() if long else 0)
        raise PlanError([Problem(line, "a number has too many digits", "write a shorter number")]) from None


def _mended(text: str, line: int) -> str:
    """Return the line with its value in quotes, or in straight ones; empty if that is not TOML."""
    written = text.splitlines()[line - 1 : line]
    named = _NAMED.match(written[0]) if written else None
    if named is None or len(named[2]) > 80:
        return ""
    if day := _DAY.fullmatch(named[2].strip().strip("\"'")):
        return f"write the year first: {named[1]} = {day[3]}-{int(day[2]):02d}-{int(day[1]):02d}"
    if _SLASHES.fullmatch(named[2].strip()):
        return f"write year-month-day: {named[1]} = 2026-03-14"
    value = named[2].strip().strip("“”„‟«»‘’'\"").strip()
    mended = f'{named[1]} = "{harmless(value)}"'
    try:
        tomllib.loads(mended)
    except tomllib.TOMLDecodeError:
        return ""
    return f"write {mended}"


_WORDS = (
    (("Invalid date",), "there is no such day or time", "write year-month-day of a day that exists"),
    (("Invalid value",), "the value after = cannot be read", 'put text in quotes, such as name = "Peat"'),
    (("Invalid statement",), "this is not a key and not a table", 'write key = "…", or [table]'),
    (("Expected newline",), "there is extra text on this line",
     "write one key a line, text in quotes, # before a comment"),
    (("Expected '='",), "a key has no = after it", 'write key = "…", the key without blanks or in quotes'),
    (("Invalid initial character for a key",), "a key is missing here", 'write key = "…"'),
    (("Expected ']",), "the bracket of a table is not closed", "write [water], or [[dye]] for one of several"),
    (("Cannot overwrite",), "this is already defined",
     "give a key once; for one of several write [[dye]], not [dye]"),
    (("Cannot declare",), "this table is already defined",
     "keep one of them; for one of several write [[dye]], not [dye]"),
    (("Cannot mutate", "Cannot redefine"), "this table is written in two ways",
     "keep its keys together in one place"),
    (("Duplicate",), "a key is in these braces twice", "give it once"),
    (("Unclosed array",), "a [ is not closed", "close it with ], commas between what is in it"),
    (("Unclosed inline",), "a { is not closed", "close it with } on the same line, commas between what is in it"),
    (("Unterminated", "Illegal character '\\n'"), "a quote is not closed", 'close it with " on the same line'),
    (("Unescaped", "Escaped", "Invalid hex"), "there is a backslash in a text",
     "double it, or put the text in single quotes"),
    (("Illegal character", "Found invalid character"), "there is an invisible character here",
     "delete it, or type the line again"),
)  # fmt: skip
"""(beginnings of the standard reader's messages, message in plain words, hint)"""


def _in_words(message: str) -> tuple[str, str]:
    """Return the standard reader's message in plain words, and a hint."""
    row = next((row for row in _WORDS if message.startswith(row[0])), None)
    return row[1:] if row is not None else (harmless(message), "compare the line with the example's")


def _line_at(text: str, position: int) -> int:
    return text.count("\n", 0, position) + 1


def _deep_line(text: str) -> int:
    """Return the line of the first place where more than sixty brackets are open."""
    depth = 0
    for position, char in enumerate(text):
        if char in "[{":
            depth += 1
            if depth > 60:
                return _line_at(text, position)
        elif char in "]}":
            depth -= 1
    return 1
