"""One line of the table: what was measured, its floor in the same run, the ratio, its spread, and what is wanted."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import median


@dataclass(frozen=True, slots=True)
class Line:
    """``ours`` and ``floor`` are single measurements in ``unit``, taken in turn; the ratio is that of the medians.

    ``at_most`` is the ratio to reach.
    """

    what: str
    unit: str
    ours: tuple[float, ...]
    floor: tuple[float, ...]
    at_most: float
    against: str

    @property
    def ratio(self) -> float:
        return median(self.ours) / median(self.floor)

    @property
    def spread(self) -> tuple[float, float]:
        """The lowest and the highest ratio of neighbours in time."""
        each = [own / other for own, other in zip(self.ours, self.floor, strict=False) if other > 0]
        return min(each), max(each)

    @property
    def reached(self) -> bool:
        return self.ratio <= self.at_most

    def text(self) -> str:
        low, high = self.spread
        cells = (
            self.what,
            f"{number(median(self.ours))} {self.unit}",
            f"{self.against} {number(median(self.floor))} {self.unit}",
            f"{self.ratio:.2f} ({low:.2f} to {high:.2f})",
            f"{self.at_most:g}",
            "yes" if self.reached else "NO",
        )
        return f"| {' | '.join(cells)} |"


HEAD = "| what | ours | floor | ratio (spread) | wanted at most | reached |\n| --- | --- | --- | --- | --- | --- |"


def number(value: float) -> str:
    """Return a figure as a person reads it: three digits that count."""
    return f"{value:.0f}" if value >= 100 else f"{value:.3g}"


def in_turn(
    rounds: int, ours: Callable[[], Sequence[float]], floor: Callable[[], Sequence[float]]
) -> tuple[list[Sequence[float]], list[Sequence[float]]]:
    """Return what ``ours`` and ``floor`` measured, turn about, so that a busy machine falls on both alike."""
    mine, theirs = [], []
    for _ in range(rounds):
        theirs.append(floor())
        mine.append(ours())
    return mine, theirs


def column(rows: Sequence[Sequence[float]], place: int) -> tuple[float, ...]:
    return tuple(row[place] for row in rows)
