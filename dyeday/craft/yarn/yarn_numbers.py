"""Yarn's length, as labels print it."""

from __future__ import annotations

from dyeday.craft.errors import not_negative

M_PER_YARD = 0.9144
"""International yard, exact by definition."""


def yards(length_m: float) -> float:
    """Return yards from metres.

    Raises:
        RefusedError: the length is negative.
    """
    return not_negative(length_m, "the length in m") / M_PER_YARD
