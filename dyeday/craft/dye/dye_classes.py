"""The pH that each class of acid dye needs in its bath, and the pH of a bath with several dyes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple


class PhRange(NamedTuple):
    """The pH of a dyebath that suits a dye, both ends included."""

    low: float
    high: float


PH_OF_CLASS = {
    "levelling": PhRange(2.0, 4.0),
    "fast acid": PhRange(4.0, 6.0),
    "milling": PhRange(5.0, 7.0),
    "super-milling": PhRange(6.0, 7.0),
    "premetallised": PhRange(5.0, 7.0),
}
"""Broadbent, Basic Principles of Textile Coloration (SDC, 2001), Table 13.1, p. 242; premetallised (1:2 metal
complex) from memory. Fast acid dyes are also sold as half-milling."""


class BathPh(NamedTuple):
    """The pH of a bath for all its dyes."""

    target: float
    low: float
    high: float
    """Where the dyes agree: the highest low and the lowest high; `low` is above `high` where they do not."""

    @property
    def agreed(self) -> bool:
        """Whether one pH suits every dye."""
        return self.low <= self.high


def bath_ph(needed: Iterable[PhRange], usual_ph: float) -> BathPh | None:
    """Return the pH for one bath: ``usual_ph``, moved into the range that suits all its dyes (``needed``).

    Where they do not agree the lowest `high` is taken: a dye that needs more acid stays in the bath without it, one
    that needs less goes on fast and unevenly (common practice, no source). None where no range is given.
    """
    if not (ranges := list(needed)):
        return None
    low, high = max(one.low for one in ranges), min(one.high for one in ranges)
    return BathPh(min(max(usual_ph, low), high), low, high)
