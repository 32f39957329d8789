"""What a batch brings with it from an earlier session, its marked entries among it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import ClassVar

from dyeday.quick_dataclass import dataclass
from dyeday.terms import FlagId, Term
from dyeday.track.timestamp import Moment


@dataclass(frozen=True, slots=True)
class CarriedFlag:
    """A flag an earlier session raised that this one cannot work out again."""

    rule: FlagId
    why: str
    remedy: str
    since: datetime
    causes: tuple[str, ...] = ()
    """as the flag had them there"""


class EntryChange(Term):
    """Why an entry is marked in the lot book."""

    CORRECTED = "corrected"
    VOIDED = "struck"
    LATE = "late"
    APPROXIMATE = "about"
    """recorded late, with a suggested time"""


@dataclass(frozen=True, slots=True)
class CarriedChange:
    """An entry of an earlier session that was recorded late or corrected, or is approximate: when it happened."""

    at: datetime
    what: EntryChange


@dataclass(frozen=True, slots=True)
class Carried:
    """Where a batch came from, and the amounts that the earlier session counts already."""

    STORED_AS: ClassVar[Mapping[str, str]] = {"acid_count": "acids", "flags": "doubts", "no_there": "was"}

    at: Moment
    session: str
    no_there: str
    """its number there"""
    used_ml: tuple[tuple[str, float], ...] = ()
    powder_g: tuple[tuple[str, float], ...] = ()
    left_over_ml: tuple[tuple[str, float], ...] = ()
    extras: tuple[tuple[str, float], ...] = ()
    acid_count: int = 0
    """how many doses of acid"""
    shares: tuple[tuple[str, int], ...] = ()
    """(order's item, skeins) of its shares as it came, without those for orders that this session's plan lacks"""
    flags: tuple[CarriedFlag, ...] = ()
    changes: tuple[CarriedChange, ...] = ()
