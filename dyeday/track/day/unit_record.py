"""The records of one unit and of its baths: frozen values that each event replaces."""

from __future__ import annotations

from dyeday.quick_dataclass import altered, dataclass
from dyeday.track.day.batch_record import AcidIn
from dyeday.track.timestamp import Moment


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
    """(since, whether it is down from then on), changes only"""
    is_down: bool = False
    """whether it is broken now"""

    def changed(self, moment: Moment, *, is_down: bool) -> UnitRecord:
        """Return it broken or working from ``moment`` on."""
        downs = self.downs if is_down is self.is_down else (*self.downs, (moment, is_down))
        return altered(self, downs=downs, is_down=is_down)
