"""The rest of a day as plain values: every step with its times, and both answers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from dyeday.track.day import Day
from dyeday.track.instant import Now

if TYPE_CHECKING:
    from dyeday.ahead.problem import Problem, Solution

TONIGHT, BY_STOP = 1, 2


@dataclass(frozen=True, slots=True)
class Planned:
    """One step as foreseen. ``what`` is its name in the schedule: soak load 1, paint 1, run 1.2, rinse, dry."""

    batch: str
    what: str
    unit: str | None
    start: datetime
    end: datetime
    attended: bool

    @property
    def word(self) -> str:
        return self.what.split(" ")[0]

    @property
    def step(self) -> str:
        """The state or chore: soak, paint, fix, rinse, dry, or the chore's name."""
        if self.word in ("load", "run", "unload"):
            return "fix"
        if self.word in ("speckle", "dye"):
            return "paint"
        return self.word if self.word in ("soak", "paint", "rinse", "dry") else self.what

    @property
    def is_chore(self) -> bool:
        return self.step not in ("soak", "paint", "fix", "rinse", "dry")

    @property
    def pass_no(self) -> int | None:
        return int(self.what.rsplit(".", 1)[1]) if self.step == "fix" else None

    @property
    def layer(self) -> int | None:
        """The layer a soak, a heat or dye is of, from 1; None for anything else."""
        tail = self.what.rsplit(" ", 1)[-1].split(".")[0]
        return int(tail) if self.step in ("soak", "paint", "fix") and tail.isdecimal() else None

    @property
    def minutes(self) -> int:
        return round((self.end - self.start).total_seconds() / 60)


@dataclass(frozen=True, slots=True)
class Warned:
    """A warning: of what kind, about which batch or unit, from when it matters, what it is and what to do."""

    kind: str
    about: str
    at: datetime
    text: str
    do: str = ""

    def __str__(self) -> str:
        return f"{self.text}: {self.do}" if self.do else self.text


@dataclass(frozen=True, slots=True)
class Forecast:
    """The rest of the day. ``serving`` is the question the steps answer: 1 tonight, 2 by stop."""

    at: Now
    hands_off: datetime
    hands_off_late: datetime
    rinsed: int
    of: int
    carried: tuple[str, ...]
    tomorrow_hands_off: datetime | None
    stop: datetime
    steps: tuple[Planned, ...]
    busy: tuple[tuple[str, float], ...]
    """(unit or "hands", share of the time from now to hands-off it is busy)"""
    left_out: tuple[tuple[str, str], ...]
    serving: int
    evaluations: int
    tonight: Solution
    by_stop: Solution
    advised: Solution
    """the sequence that ``steps`` shows; it stays while another is not worth the change"""
    problem: Problem
    """what ``advised`` solves"""
    changed: str = ""
    """why the next step is another than before, as a sentence; empty where it is not"""
    warned: tuple[Warned, ...] = ()
    """what will go wrong while it can still be helped, what comes soonest first"""

    @property
    def fits(self) -> bool:
        return not self.left_out and self.hands_off <= self.stop

    @property
    def next_steps(self) -> tuple[Planned, ...]:
        """The attended steps, in the order they begin."""
        return tuple(step for step in self.steps if step.attended)


Foresee = Callable[[Day, Now, Forecast | None], Forecast]
"""works out the rest of a day from a moment; given the forecast before, where there was one"""
