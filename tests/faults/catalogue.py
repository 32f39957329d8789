"""Every fault the record is held against: each injects it for real, counts how often, and what was lost.

A fault is a function of a fresh folder and of whether there is time for the long form; it gives an `Outcome`.
`python -m tests.faults` runs all and writes the table; the ordinary tests run the short form of each.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Outcome:
    """How often a fault was injected, what was lost of what had been confirmed, and what became of it."""

    tried: int
    lost: int
    seen: str
    how: str = ""
    """how it was injected, where that depends on the computer"""


@dataclass(frozen=True, slots=True)
class Fault:
    name: str
    how: str
    run: Callable[[Path, bool], Outcome]


FAULTS: list[Fault] = []


def fault(name: str, how: str) -> Callable[[Callable[[Path, bool], Outcome]], Callable[[Path, bool], Outcome]]:
    """Add a fault to the catalogue."""

    def added(run: Callable[[Path, bool], Outcome]) -> Callable[[Path, bool], Outcome]:
        FAULTS.append(Fault(name, how, run))
        return run

    return added
