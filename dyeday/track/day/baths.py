"""The baths of one unit, one after another: what acid went into each and which batches.

A bath begins when the last batch leaves the unit, when the unit is emptied, or with ``water: new``; what is put in
from then on belongs to the next load.  ``water: kept`` continues the bath that the last batch left.
"""

from __future__ import annotations

from collections.abc import Sequence

from dyeday.plan.model import Acid
from dyeday.quick_dataclass import altered, dataclass
from dyeday.track.timestamp import Moment


@dataclass(frozen=True)
class AcidIn:
    """Acid put into a bath or for a batch."""

    at: Moment
    amount_ml: float
    amount_g: float
    layer: int = 1
    kept: bool = False
    """whether it is left from earlier loads in kept water, computed when the batch came into it"""

    @property
    def is_some(self) -> bool:
        """Whether there was any."""
        return self.amount_ml > 0 or self.amount_g > 0

    def amount_of(self, acid: Acid) -> float:
        """Return how much of ``acid`` it was, in mL or g as that is measured; 0 if it was another acid."""
        return self.amount_ml if acid.is_liquid else self.amount_g


@dataclass(frozen=True)
class Bath:
    """One bath of a unit; ``number`` counts the unit's baths of the day from 1."""

    number: int = 1
    began: Moment | None = None
    """None for the day's first"""
    acids: tuple[AcidIn, ...] = ()
    entered: tuple[tuple[str, Moment], ...] = ()
    """(batch, when it went in), in order; a part of a split batch is here under the number of the whole"""
    ended: Moment | None = None
    """when its last batch left or it was poured away"""
    poured_away: bool = False

    def acids_by(self, moment: Moment) -> list[AcidIn]:
        """Return what was put in by ``moment``."""
        return [put for put in self.acids if put.is_some and put.at.utc <= moment.utc]


Baths = tuple[Bath, ...]
"""of one unit, in order; the last is the present or next bath"""


def with_acid(baths: Baths, put: AcidIn) -> Baths:
    """Return ``baths`` with a dose put into the last one."""
    return (*baths[:-1], altered(baths[-1], acids=(*baths[-1].acids, put)))


def with_batch(baths: Baths, batch_no: str, moment: Moment) -> Baths:
    """Return ``baths`` with a batch put into the last one at ``moment``."""
    return (*baths[:-1], altered(baths[-1], entered=(*baths[-1].entered, (batch_no, moment))))


def left_empty(baths: Baths, moment: Moment) -> Baths:
    """Return the baths of a unit that its last batch left at ``moment``."""
    last = baths[-1]
    return (*baths[:-1], altered(last, ended=moment), Bath(last.number + 1, moment))


def poured_away(baths: Baths, moment: Moment, inside: Sequence[str]) -> Baths:
    """Return the baths of a unit emptied at ``moment``; the batches ``inside`` go on in the next."""
    last = baths[-1]
    entered = tuple((no, moment) for no in inside)
    ended = altered(last, ended=moment, poured_away=True)
    return (*baths[:-1], ended, Bath(last.number + 1, moment, entered=entered))


def water_kept(baths: Baths) -> Baths:
    """Return the baths with the last one that was left continued, with what was put in since."""
    if len(baths) < 2 or baths[-1].entered or baths[-2].poured_away:
        return baths
    old, since = baths[-2], baths[-1]
    return (*baths[:-2], altered(old, acids=(*old.acids, *since.acids), ended=None))
