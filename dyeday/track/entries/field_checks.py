"""Checks of single keys of events: what JSON holds becomes a field's value, or an EventError."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Mapping
from datetime import datetime
from typing import Any, TypeVar

from dyeday.plan.model import MOST_PIECES
from dyeday.plan.reading.problems import near
from dyeday.terms import Term
from dyeday.text import LONGEST_NAME, LONGEST_NOTE, LONGEST_TAG, HintedError, brief, harmless
from dyeday.track.timestamp import parse_utc


class EventError(HintedError):
    """An event that cannot be recorded."""


Check = Callable[[str, Any], Any]
"""(key, JSON value) to the value of a field; raises EventError"""
BATCH_NO = re.compile(r"^\d{2,3}[a-z]{0,3}$")
T = TypeVar("T", bound=Term)


def short_text(longest: int) -> Callable[[str, Any], str]:
    """Return a check for a text of at most ``longest`` characters, which makes it harmless and strips it."""

    def check(key: str, value: Any) -> str:
        if not isinstance(value, str) or len(value) > longest:
            raise EventError(f"{key} is not a text of at most {longest} characters", f'write "{key}": "…"')
        return harmless(value).strip()

    return check


def word(*words: str) -> Callable[[str, Any], str]:
    """Return a check for one of ``words`` in any case, which must be lower case themselves."""

    def check(key: str, value: Any) -> str:
        given = str(value).strip().casefold()
        if given not in words:
            raise EventError(f"{key} cannot be {harmless(value)!r}", near(given, words))
        return given

    return check


def term(terms: Iterable[T]) -> Callable[[str, Any], T]:
    """Return a check that turns a word in any case into the member of ``terms`` it is the value of."""
    by_word = {each.value: each for each in terms}
    check_word = word(*by_word)
    return lambda key, value: by_word[check_word(key, value)]


def number(low: float, high: float, *, whole: bool = False) -> Callable[[str, Any], Any]:
    """Return a check for an int or float from ``low`` to ``high``, both included; a bool is refused."""
    kinds, words = (int, "whole number") if whole else ((int, float), "number")

    def check(key: str, value: Any) -> Any:
        if isinstance(value, bool) or not isinstance(value, kinds) or not low <= value <= high:
            what = "pH" if key == "ph" else key
            raise EventError(f"{what} cannot be {brief(value)}", f"write a {words} from {low:.10g} to {high:.10g}")
        return value

    return check


def count(low: int, high: int) -> Callable[[str, Any], int]:
    """Return a check for an int from ``low`` to ``high``, both included; a bool is refused."""
    return number(low, high, whole=True)


def known(what: str, name: str, names: Collection[str]) -> None:
    """Raise EventError, ``what`` and the name, where a name is not among ``names``."""
    if name not in names:
        raise EventError(f"{what} {name!r}", near(name, names))


def table(key: str, value: Any) -> dict[str, Any]:
    """Return a copy of a JSON object. Raises EventError for anything else."""
    if not isinstance(value, Mapping):
        raise EventError(f"{key} is not a table", f'write "{key}": {{…}}')
    return dict(value)


def clean(key: str, value: Any) -> Any:
    """Return JSON data with every text in it harmless."""
    if isinstance(value, str):
        return harmless(value)
    if isinstance(value, Mapping):
        return {harmless(each): clean(key, item) for each, item in value.items()}
    return [clean(key, item) for item in value] if isinstance(value, (list, tuple)) else value


def instant(key: str, value: Any) -> datetime:
    """Return an ISO 8601 instant as an aware datetime. Raises EventError."""
    try:
        return parse_utc(str(value))
    except (ValueError, OverflowError):
        raise EventError(f"{key} {harmless(value)!r} is not a time", 'write "2026-03-14T21:05:00Z"') from None


text, name, tag = map(short_text, (LONGEST_NOTE, LONGEST_NAME, LONGEST_TAG))
amount = number(0, 1e6)
layer = count(1, 20)
heat_no = count(1, 50)
skeins = count(1, MOST_PIECES)
