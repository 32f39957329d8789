"""What a rule raises, and how the numbers in its reason are written."""

from __future__ import annotations

from datetime import datetime
from math import ceil

from dyeday.quick_dataclass import dataclass
from dyeday.terms import FlagId
from dyeday.track.day.batch_record import BatchRecord, ClearedFlag
from dyeday.track.day.day_state import Day
from dyeday.track.events.remarks import FlagCleared
from dyeday.track.events.rewriting import Corrected
from dyeday.track.folding.fold import current
from dyeday.track.timestamp import iso, length_text, whole_min

TYPED_MIN = 1.0
"""times are often typed to the minute: shorter by less than this is not short"""
LONG_OVERRUN_FACTOR = 20.0
"""from so many times the minutes needed, as on a day left open, hours and days are shown"""
LONG_MIN = 600.0
"""from so many minutes needed, as wrapped yarn may wait, hours are shown"""
MOST_DECIMALS = 4
"""a tenth of a milligram or a tenth of a microlitre: no scale or pipette of a studio shows less"""


@dataclass(frozen=True, slots=True)
class RaisedFlag:
    """What one rule raises: since when, why, and what a dyer would do about it."""

    since: datetime
    why: str
    remedy: str
    unit: str | None = None
    """the unit whose tank ran low; None in other flags"""
    cause: str = ""
    """the same for all batches that share the flag; where "", those with the same ``since`` and ``why`` share it"""


@dataclass(frozen=True, slots=True)
class Flag:
    """A flag on ``batches``, ``batch`` being the first, or (None) on the whole day; open until it is cleared."""

    batch: str | None
    rule: FlagId
    why: str
    remedy: str
    since: datetime
    cleared: ClearedFlag | None = None
    evidence: str = ""
    """what was done since that may solve it"""
    batches: tuple[str, ...] = ()
    causes: frozenset[str] = frozenset()
    is_carried: bool = False
    """whether it was raised in an earlier session"""

    @property
    def about(self) -> str:
        """Return "03" or "03+04"; empty for the whole day."""
        return "+".join(self.batches)

    @property
    def remarks(self) -> list[tuple[str, str]]:
        """Return (word, text) of the remedy while it is open, and of what was done since."""
        remedy = "" if self.cleared else self.remedy
        return [(word, text) for word, text in (("do:", remedy), ("done since then:", self.evidence)) if text]

    def to_json(self) -> dict[str, object]:
        """Return it as ``dyeday flags --json`` prints it; ``batch`` is None unless it is about one."""
        cleared = None if self.cleared is None else {"at": iso(self.cleared.at), "why": self.cleared.why}
        return {
            "batch": self.batch if len(self.batches) == 1 else None,
            "batches": list(self.batches),
            "rule": self.rule.value,
            "why": self.why,
            "remedy": self.remedy,
            "since": iso(self.since),
            "resolved": cleared,
            "evidence": self.evidence,
        }


def clears(day: Day, batch: BatchRecord | None, clearing: ClearedFlag, since: datetime) -> bool:
    """Return whether a clearing holds for what was raised ``since`` then.

    It does not if what happened then was recorded, or corrected, after the clearing.
    """
    own = {*day.lineage(batch)} if batch is not None else set()
    alive = [event for event in day.events if event.id not in day.void_ids]
    places = (n for n, e in enumerate(alive, 1) if isinstance(e.body, FlagCleared) and e.at == clearing.at)
    after = alive[next(places, len(alive)) :]
    meant = (current(day, day.event(e.body.target_id) or e) if isinstance(e.body, Corrected) else e for e in after)
    later = (event for event in meant if event.at == since and not isinstance(event.body, FlagCleared))
    return since <= clearing.at and not any(not event.batches or own & {*event.batches} for event in later)


def is_cleared(day: Day, batch: BatchRecord, rule: FlagId, since: datetime) -> bool:
    """Return whether what a rule raised on a batch ``since`` then was cleared."""
    return any(one.rule is rule and clears(day, batch, one, since) for one in batch.cleared)


def part_text(part: float, whole: float, unit: str) -> str:
    """Return "11 of 20 min": whole numbers, or with the decimals that tell them apart; or "43 h 46 of 24 h"."""
    if unit == "min" and whole >= LONG_MIN and whole_min(part * 60) != whole_min(whole * 60):
        return f"{length_text(part)} of {length_text(whole)}"
    if unit == "min" and whole == round(whole) and whole_min(part * 60) != whole:
        much = length_text(part) if part >= LONG_OVERRUN_FACTOR * whole else f"{whole_min(part * 60)}"
        return f"{much} of {whole:.0f} min"
    one, other = distinct_numbers(part, whole)
    return f"{one} of {other} {unit}"


def distinct_numbers(one: float, *others: float, least: int = 0) -> list[str]:
    """Return numbers with as few decimals, ``least`` to `MOST_DECIMALS`, as tell the first from the others' sum."""
    other, n = sum(others), least
    while one != other and n < MOST_DECIMALS and f"{one:.{n}f}" == f"{other:.{n}f}":
        n += 1
    return [f"{number:.{n}f}" for number in (one, *others)]


def amounts(one: float, other: float) -> list[str]:
    """Return two amounts in about three figures, as a scale or a jug shows them, with digits enough to differ."""
    least = 0 if one >= 100 else 1 if one >= 10 else 2
    return [f"{float(text):.12g}" for text in distinct_numbers(one, other, least=least)]


def more_min(missing_min: float) -> int:
    """Return the minutes still missing, rounded up."""
    return ceil(missing_min - 1e-6)
