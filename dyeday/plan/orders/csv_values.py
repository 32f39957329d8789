"""Cells of another program's table: counts, money, dates, yes and no. Ambiguous ones are refused, never guessed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date

from dyeday.text import HintedError

_COUNT = re.compile(r"(\d{1,6})(?:[.,]0{1,2})?\s*(?:x|×|skeins?|minis?|blanks?|pieces?|pcs\.?)?", re.IGNORECASE)
_SLASHED = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4}|\d{2})")
_DOTTED = re.compile(r"(\d{1,2})\.\s*(\d{1,2})\.\s*(\d{4}|\d{2})")
_MONEY = re.compile(r"(?:[^\d-]*(?:[^\d.,-]|[^\W\d_]\.))?(\d+(?:[.,]\d+|['’\s]\d{3}(?!\d))*)(?:[.,]?\D*)")
"""One number, possibly with a thousands separator and a currency before or after it: Rs.50, but not $.50."""
_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
_TIME = re.compile(r"(?:,?\s+|T)\d{1,2}:\d{2}.*$", re.DOTALL)
YES = ("yes", "y", "x", "true", "1", "ja", "j", "oui", "si", "sí", "✓", "✔")
NO = ("", "no", "n", "false", "0", "nein", "non", "-")


class CellError(HintedError):
    """A cell that cannot be read."""


def count_of(text: str) -> int:
    """Return a whole number: "3", "3,0", "3 skeins". Raises CellError, also for "1.000", which may be one."""
    if (match := _COUNT.fullmatch(text.strip())) is None:
        raise CellError("is not a whole number of skeins", "write digits only, such as 3")
    return int(match[1])


def money_of(text: str) -> float:
    """Return money: "24.50", "24,50", "€ 1.234,50", "24,-".

    Raises CellError where point or comma may be either, and where there are several numbers ("2 for 30").
    """
    if (match := _MONEY.fullmatch(text.strip())) is None:
        raise CellError("is not a price", "write such as 24.50")
    digits = re.sub(r"[^\d.,]", "", match[1])
    if not (signs := re.findall(r"[.,]", digits)):
        return float(digits)
    whole, part = digits[: digits.rfind(signs[-1])], digits[digits.rfind(signs[-1]) + 1 :]
    others = set(signs[:-1])
    if signs[-1] in others or (len(part) == 3 and not others):
        if len(part) == 3 and len(signs) > 1 and others == {signs[-1]}:
            return float(re.sub(r"[.,]", "", digits))  # 1.234.567: thousands all the way
        raise CellError("may be thousands or a decimal", "write such as 1234.50")
    return float(re.sub(r"[.,]", "", whole) + "." + part)


def is_yes(text: str) -> bool:
    """Return what a yes or a no says. Raises CellError."""
    word = text.strip().casefold()
    if word in YES:
        return True
    if word in NO:
        return False
    raise CellError("is neither yes nor no", "write yes, or leave it empty")


def order_of_days(cells: Iterable[str]) -> str:
    """Return "day first" or "month first" where the dates of a column can be only one of them, else ""."""
    pairs = [(int(m[1]), int(m[2])) for cell in cells if (m := _SLASHED.fullmatch(_TIME.sub("", cell.strip())))]
    if any(a > 12 for a, _ in pairs) and all(b <= 12 for _, b in pairs):
        return "day first"
    if any(b > 12 for _, b in pairs) and all(a <= 12 for a, _ in pairs):
        return "month first"
    return ""


def day_of(text: str, dates: str) -> date | None:
    """Return the day in a cell, None if empty; ``dates`` says which of 03/04/2026 is the month. Raises CellError."""
    if not (written := _TIME.sub("", text.strip())):
        return None
    try:
        if match := _YEAR_FIRST.fullmatch(written):
            return date(int(match[1]), int(match[2]), int(match[3]))
        if match := _DOTTED.fullmatch(written):
            return date(_year(match[3]), int(match[2]), int(match[1]))
        if match := _SLASHED.fullmatch(written):
            a, b, year = int(match[1]), int(match[2]), _year(match[3])
            if a == b:
                return date(year, a, b)
            if not dates:
                raise CellError("may be day first or month first", 'write dates = "day first" under [reading]')
            return date(year, b, a) if dates == "day first" else date(year, a, b)
    except CellError:
        raise
    except ValueError:
        raise CellError("is not a day that exists", "write year-month-day, such as 2026-04-11") from None
    raise CellError("is not a date", "write year-month-day, such as 2026-04-11")


def _year(digits: str) -> int:
    return int(digits) if len(digits) == 4 else 2000 + int(digits)
