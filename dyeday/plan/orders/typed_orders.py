"""What a person types of an order, one answer at a time: a count, a name, a due date, a parcel."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from dyeday.plan.limits import LONGEST_NAME
from dyeday.plan.model import MOST_PIECES
from dyeday.plan.reading.problems import closest
from dyeday.text import harmless


def count_of(text: str) -> int:
    """Return how many pieces, 1 to `MOST_PIECES`. Raises ValueError."""
    said = text.strip()
    if not said.isdecimal() or len(said) > 9 or not 1 <= int(said) <= MOST_PIECES:
        raise ValueError(f"write how many, 1 to {MOST_PIECES}")
    return int(said)


def due_of(text: str, day: date) -> date | None:
    """Return a due date typed as 2026-03-20, +7 (days from the plan's ``day``), or - for none. Raises ValueError."""
    said = text.strip()
    if said == "-":
        return None
    said = said.lstrip("-").strip()  # the - that is offered may be left standing
    try:
        if said.startswith("+"):
            return day + timedelta(days=int(said[1:]))
        return date.fromisoformat(said)
    except (ValueError, OverflowError):
        raise ValueError("write 2026-03-20, +7 for in a week, - for none") from None


def due_forms(day: date) -> str:
    """Return how a due date is typed, by an example that could be one."""
    return f"{day + timedelta(days=7)}, or +7 for in a week, - for none"


def due_words(due: date | None) -> str:
    """Return "due Mon 08 Jun 2026", or that there is none."""
    return "no due date" if due is None else f"due {due:%a %d %b %Y}"


def name_of(text: str, names: Sequence[str]) -> str:
    """Return the one name that ``text`` is, begins, or is close to. Raises ValueError."""
    said = text.strip().casefold()
    begun = [name for name in names if name.casefold().startswith(said)]
    exact = [name for name in names if name.casefold() == said]
    found = exact or (begun if len(begun) == 1 else [])
    if not found and not begun:
        found = [near] if (near := closest(said, names)) is not None else []
    if not found:
        shown = ", ".join(begun[:4] or list(names)[:4])
        raise ValueError(f"{'several begin like this' if begun else 'none has this name'}: {shown}, …")
    return found[0]


def parcel_of(text: str) -> str:
    """Return the parcel an order goes out with, `LONGEST_NAME` characters at most. Raises ValueError."""
    said = harmless(text).strip()
    if len(said) > LONGEST_NAME:
        raise ValueError(f"shorten it to {LONGEST_NAME} characters")
    return said
