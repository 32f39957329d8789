"""How long a unit has run on one fill of its tank, and how long a fill lasts."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import NamedTuple

from dyeday.craft.yarn.heat_into_yarn import tank_lasts_min
from dyeday.plan.model import Kit, Plan
from dyeday.quick_dataclass import dataclass
from dyeday.track.day.batch_record import BatchRecord, Heat
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import SECOND_MIN, Moment, merged, on_wall


@dataclass(frozen=True, slots=True)
class TankFill:
    """One fill of a unit's tank: when the unit ran on it, by the wall clock as it stands now."""

    unit: str
    fill_no: int
    """how often it had been filled"""
    spans: tuple[tuple[datetime, datetime], ...]
    running: bool
    low_after_min: float
    """minutes of running after which it is low, see `_late_low_min`"""
    before_min: float = 0.0
    """minutes the unit ran on it in earlier sessions"""

    @property
    def run_min(self) -> float:
        """Minutes the unit has run on it."""
        return self.before_min + sum((end - start).total_seconds() for start, end in self.spans) / 60

    def run_min_by(self, moment: datetime) -> float:
        """Return the minutes it had run by ``moment``."""
        ran = sum((min(end, moment) - start).total_seconds() for start, end in self.spans if start < moment) / 60
        return self.before_min + ran

    def when_low(self, spare_min: float = 0.0) -> datetime | None:
        """Return when it was low, ``spare_min`` later at most; None if it has not run for so long."""
        left = max(0.0, self.low_after_min + spare_min - self.before_min)
        for start, end in self.spans:
            length = (end - start).total_seconds() / 60
            if length > left:
                return start + timedelta(minutes=left)
            left -= length
        return None


def tank_fills(day: Day, unit: str, now: Moment) -> list[TankFill]:
    """Return the fills of a unit's tank so far, the first being that at the start of the day; none without a tank."""
    lasts_min = fill_lasts_min(day.plan.kit_of(unit))
    if lasts_min is None:
        return []
    filled = sorted(on_wall(f, now) for f in day.units[unit].filled) if unit in day.units else []
    in_unit = ((batch, heat) for batch in day.unsplit for heat in batch.heats if heat.unit == unit)
    # Heat of an earlier session boiled water that was not in the tank this morning.
    heats = [(batch, heat) for batch, heat in in_unit if heat.end is None or batch.is_of_session(heat.end.utc)]
    spans = merged((on_wall(heat.start, now), on_wall(heat.ended(now) or now, now)) for _, heat in heats)
    running = any(heat.is_on(now) for _, heat in heats)
    fills = []
    for n, (begin, end) in enumerate(zip([None, *filled], [*filled, None], strict=True)):
        inside = [(max(s, begin) if begin else s, min(e, end) if end else e) for s, e in spans]
        own_spans = tuple((s, e) for s, e in inside if e > s)
        before_min = day.units[unit].ran_before_min if begin is None and unit in day.units else 0.0
        low_min = to_reserve_min(day.plan, lasts_min)
        if own_spans and not before_min:
            low_min = max([low_min, *(_late_low_min(day, lasts_min, own_spans[0][0], b, h, now) for b, h in heats)])
        fills.append(TankFill(unit, n, own_spans, running and end is None, low_min, before_min))
    return fills


OFF_WITHIN_MIN = 5
"""Heat without a timer is switched off within this of its end; common practice, no source"""


def _late_low_min(day: Day, lasts_min: float, began: datetime, batch: BatchRecord, heat: Heat, now: Moment) -> float:
    """Return the minutes of running after which a fill is low, for a heat that came to heat late; 0 for others.

    Such a heat may use up to half the reserve, for its own minutes and for switching it off.
    """
    planned = batch.planned_heat(heat)
    on_min = (on_wall(heat.start, now) - began).total_seconds() / 60
    reserve_min = to_reserve_min(day.plan, lasts_min)
    was_off = (off := heat.ended(now)) is not None and (on_wall(off, now) - began).total_seconds() / 60 <= reserve_min
    if on_min < 0 or was_off or on_min + heat.warm_up_min + planned.minutes > reserve_min + SECOND_MIN:
        return 0.0
    end_min = (on_wall(heat.heat_start, now) - began).total_seconds() / 60 + planned.minutes
    return min(end_min + OFF_WITHIN_MIN, (reserve_min + lasts_min) / 2)


def tanks(day: Day, now: Moment) -> Iterator[tuple[str, list[TankFill]]]:
    """Yield each unit with a tank, and its fills so far."""
    for unit in day.plan.unit_names:
        if fills := tank_fills(day, unit, now):
            yield unit, fills


def to_reserve_min(plan: Plan, lasts_min: float) -> float:
    """Return the minutes of heat after which a tank that lasts ``lasts_min`` is down to its reserve."""
    return lasts_min * (1 - plan.rules.reserve / 100)


def fill_lasts_min(kit: Kit | None) -> float | None:
    """Return the minutes one fill of a unit's tank lasts: as the plan says, else by its power; None if unknown."""
    if kit is None or kit.lasts_min is not None or kit.tank_l is None or kit.power_w is None:
        return None if kit is None else kit.lasts_min
    return tank_lasts_min(kit.tank_l, kit.power_w)


class TankMin(NamedTuple):
    """Minutes of heat to the reserve of a tank."""

    left: float
    of_a_fill: float

    def is_short_for(self, wanted_min: float) -> bool:
        """Return whether a fill would bring a heat of ``wanted_min``, as `unit_on_min` has it, further."""
        return self.left < min(wanted_min, self.of_a_fill)


def tank_min(day: Day, unit: str, now: Moment) -> TankMin | None:
    """Return the minutes of heat to the reserve of a unit's tank; None without a tank."""
    lasts = fill_lasts_min(day.plan.kit_of(unit))
    if lasts is None:
        return None
    full = to_reserve_min(day.plan, lasts)
    return TankMin(max(0.0, full - tank_fills(day, unit, now)[-1].run_min), full)
