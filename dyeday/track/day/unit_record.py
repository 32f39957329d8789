"""The records of one unit and of its baths: frozen values that each event replaces."""

from __future__ import annotations

from dyeday.quick_dataclass import altered, dataclass
from dyeday.track.day.batch_record import AcidIn
from dyeday.track.timestamp import Moment


@dataclass(frozen=True)
class Bath:
    """One bath of a unit.

    It begins when the last batch leaves the unit, when its water is poured away, or with ``water: new``. With
    ``water: kept`` the next load goes on in the bath before.
    """

    number: int = 1
    """counts the unit's baths in the session"""
    began: Moment | None = None
    """None of the first"""
    acids: tuple[AcidIn, ...] = ()
    entered: tuple[tuple[str, Moment], ...] = ()
    """(batch, when it went in), in order, under the number it had then"""
    ended: Moment | None = None
    """when its last batch left or it was poured away"""
    poured_away: bool = False

    def acids_by(self, moment: Moment) -> list[AcidIn]:
        """Return the acid put in by ``moment``."""
        return [put for put in self.acids if put.is_some and put.at.utc <= moment.utc]


@dataclass(frozen=True)
class UnitRecord:
    """One unit of the kit and its past."""

    name: str
    acids: tuple[AcidIn, ...] = ()
    """all that was put into it in the session; those of ``baths`` are what a batch had"""
    baths: tuple[Bath, ...] = (Bath(),)
    poured_away_at: tuple[Moment, ...] = ()
    filled: tuple[Moment, ...] = ()
    ran_before_min: float = 0.0
    """minutes it ran in earlier sessions on the fill that it came with"""
    litres: tuple[tuple[Moment, float], ...] = ()
    """(when, litres) of the fills with litres on record"""
    downs: tuple[tuple[Moment, bool], ...] = ()
    """(since, whether it is down from then on) of each change"""
    is_down: bool = False

    def changed(self, moment: Moment, *, is_down: bool) -> UnitRecord:
        """Return it broken or working from ``moment`` on."""
        downs = self.downs if is_down is self.is_down else (*self.downs, (moment, is_down))
        return altered(self, downs=downs, is_down=is_down)
