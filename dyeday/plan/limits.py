"""The longest texts a person may give, in characters: the same in plans, events, prompts and tables of orders."""

from collections.abc import Callable

LONGEST_NAME = 80
LONGEST_TAG = 60
LONGEST_NOTE = 1000


def no_longer_than(longest: int) -> Callable[[str], str]:
    """Return what gives a typed text back, or raises ValueError where it has more than ``longest`` characters."""

    def check(text: str) -> str:
        if len(text) > longest:
            raise ValueError(f"shorten it to {longest} characters; it has {len(text)}")
        return text

    return check
