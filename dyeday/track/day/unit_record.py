"""The records of one unit, of its baths and of the acid in them: frozen values that each event replaces."""

from __future__ import annotations

from dataclasses import replace

from dyeday.plan.model import Acid
from dyeday.quick_dataclass import dataclass
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
    shared: bool = False
    """whether it is a share by weight of what several batches had together"""

    @property
    def is_some(self) -> bool:
        """Whether there was any."""
        return self.amount_ml > 0 or self.amount_g > 0

    def part(self, fraction: float) -> AcidIn:
        """Return the share of a batch that is ``fraction``, 0 to 1, of the yarn that had it."""
        if fraction == 1:
            return self
        return replace(self, amount_ml=self.amount_ml * fraction, amount_g=self.amount_g * fraction, shared=True)

    def amount_of(self, acid: Acid) -> float:
        """Return its mL or g, as ``acid`` is measured, whichever acid it was; 0 if it was in the other unit."""
        return self.amount_ml if acid.is_liquid else self.amount_g


@dataclass(frozen=True)
class Bath:
    """One bath of a unit; ``number`` counts the unit's baths of the day from 1, the first with no ``began``.

    It begins when the last batch leaves the unit, when the unit is emptied, or with ``water: new``; what is put in
    from then on belongs to the next load. ``water: kept`` continues the bath that the last batch left.
    """

    number: int = 1
    began: Moment | None = None
    acids: tuple[AcidIn, ...] = ()
    entered: tuple[tuple[str, Moment], ...] = ()
    """(batch, when it went in), in order, under the number it had then: before a split, the whole batch's"""
    ended: Moment | None = None
    """when its last batch left or it was poured away"""
    poured_away: bool = False

    def acids_by(self, moment: Moment) -> list[AcidIn]:
        """Return what was put in by ``moment``."""
        return [put for put in self.acids if put.is_some and put.at.utc <= moment.utc]


@dataclass(frozen=True)
class UnitRecord:
    """One unit of the kit: its baths, when it was filled and emptied, whether it works."""

    name: str
    acids: tuple[AcidIn, ...] = ()
    """all put into it today, once each: what the day consumed; what a batch has is in the acids of ``baths``"""
    baths: tuple[Bath, ...] = (Bath(),)
    emptied: tuple[Moment, ...] = ()
    filled: tuple[Moment, ...] = ()
    ran_before_min: float = 0.0
    """minutes it ran in earlier sessions on the fill it started this day with"""
    litres: tuple[tuple[Moment, float], ...] = ()
    """litres of each fill, if recorded"""
    downs: tuple[tuple[Moment, bool], ...] = ()
    """(since, whether it is down from then on)"""
    began_down: bool = False
    """whether it was broken as the day began"""

    @property
    def is_down(self) -> bool:
        """Whether it is broken now."""
        return self.downs[-1][1] if self.downs else self.began_down
