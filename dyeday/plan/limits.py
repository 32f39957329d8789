"""The longest texts a person may give, in characters, and the years of a date: the same at every door."""

from collections.abc import Callable
from datetime import date

LONGEST_NAME = 80
LONGEST_TAG = 60
LONGEST_NOTE = 1000
FIRST_YEAR, LAST_YEAR = 2000, 2100
"""beyond these, arithmetic with days and zones would end"""


def is_of_these_days(day: date) -> bool:
    """Tell whether a date, or a moment, is of a year that any plan, entry or option may name."""
    return FIRST_YEAR <= day.year <= LAST_YEAR


def no_longer_than(longest: int) -> Callable[[str], str]:
    """Return what gives a typed text back, or raises ValueError where it has more than ``longest`` characters."""

    def check(text: str) -> str:
        if len(text) > longest:
            raise ValueError(f"shorten it to {longest} characters; it has {len(text)}")
        return text

    return check
