"""`RefusedError`, the checks of ranges, and comparisons that floating-point rounding does not upset."""

from __future__ import annotations

from math import ceil, isfinite

ROUNDING = 1e-9
"""What binary fractions may lose, relative above 1: 0.7 + 0.7 + 0.6 is not above 2. Numerical choice."""


class RefusedError(ValueError):
    """An amount or a reading that cannot be right; the message says what would be."""


def positive(value: float, what: str) -> float:
    """Return a finite `value` above zero. Raises RefusedError for any other; `what` names it, with its unit."""
    if not (isfinite(value) and value > 0):
        raise RefusedError(f"{what} is {value:g}; it must be more than 0")
    return value


def not_negative(value: float, what: str) -> float:
    """Return a finite `value` of zero or more. Raises RefusedError for any other, as `positive` does."""
    if not (isfinite(value) and value >= 0):
        raise RefusedError(f"{what} is {value:g}; it must be 0 or more")
    return value


def between(value: float, low: float, high: float, what: str) -> float:
    """Return a `value` from `low` to `high`, both included. Raises RefusedError for any other, as `positive` does."""
    if not low <= value <= high:
        raise RefusedError(f"{what} is {value:g}; it must be {low:g} to {high:g}")
    return value


def above(value: float, limit: float) -> bool:
    """Return whether a value is above its limit by more than rounding."""
    return value > limit + ROUNDING * max(1.0, abs(limit))


def below(value: float, limit: float) -> bool:
    """Return whether a value is below its limit by more than rounding."""
    return value < limit - ROUNDING * max(1.0, abs(limit))


def round_up(value: float) -> int:
    """Return the next whole number up; a value above a whole number by rounding only is that number."""
    return ceil(value - ROUNDING)
