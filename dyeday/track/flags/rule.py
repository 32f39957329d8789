"""What a rule gives, apart so that every rule's module and the table of them can share it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime

from dyeday.track.day import Day
from dyeday.track.instant import Now, whole_min
from dyeday.track.record import BatchRecord, Resolved


@dataclass(frozen=True, slots=True)
class Raised:
    """A doubt: since when, its numbers, and what a dyer would do about it."""

    since: datetime
    why: str
    remedy: str


@dataclass(frozen=True, slots=True)
class Flag:
    """A doubt about a batch, open until somebody resolves it with a reason."""

    batch: str | None
    rule: str
    why: str
    remedy: str
    since: datetime
    resolved: Resolved | None = None
    evidence: str = ""
    """work done since that bears on it"""

    def to_json(self) -> dict[str, object]:
        from dyeday.track.instant import iso

        resolved = None if self.resolved is None else {"at": iso(self.resolved.at), "why": self.resolved.why}
        return {
            "batch": self.batch,
            "rule": self.rule,
            "why": self.why,
            "remedy": self.remedy,
            "since": iso(self.since),
            "resolved": resolved,
            "evidence": self.evidence,
        }


Finder = Callable[[Day, BatchRecord, Now], Iterable[Raised]]

SECOND_MIN = 1 / 60
"""a limit met to the second is met"""
TYPED_MIN = 1.0
"""times are often typed to the minute: soaked or cooled short by less than this is not short"""


def of(part: float, whole: float, unit: str) -> str:
    """Return "11 of 20 min", with a decimal where whole numbers would hide the difference.

    Minutes are told as everywhere, rounded down (see `dyeday.track.instant.whole_min`).
    """
    if unit == "min" and whole == round(whole) and whole_min(part * 60) != whole:
        return f"{whole_min(part * 60)} of {whole:.0f} min"
    if round(part) == round(whole) and part != whole:
        return f"{part:.1f} of {whole:.1f} {unit}"
    return f"{part:.0f} of {whole:.0f} {unit}"
