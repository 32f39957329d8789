"""The air of the day: how warm the room is, and how much longer or shorter drying takes in it."""

from __future__ import annotations

from functools import cache

from dyeday.craft.errors import RefusedError
from dyeday.craft.yarn.drying_air import time_ratio
from dyeday.plan.model import Colourway, Plan

ROOM_C = 20.0
"""if the plan does not say how warm the air is; common practice, no source"""
REFERENCE_AIR = (20.0, 65.0)
"""°C and % humidity in which the plan's drying hours are taken to hold: the standard atmosphere of ISO 139"""


def room_c(plan: Plan) -> float:
    """Return the warmth of the room, °C: the plan's air, else `ROOM_C`."""
    return ROOM_C if plan.air_temperature_c is None else plan.air_temperature_c


def dry_min(plan: Plan, colourway: Colourway) -> float:
    """Return the minutes a colourway takes to dry in the day's air."""
    return colourway.dry_h * 60 * weather_ratio(plan)


def weather_ratio(plan: Plan) -> float:
    """Return how many times as long drying takes as in `REFERENCE_AIR`: 10 at most, 1 in air not known."""
    if plan.air_temperature_c is None or plan.air_humidity_pct is None:
        return 1.0
    return _ratio(plan.air_temperature_c, plan.air_humidity_pct)


@cache  # each drying batch's timer asks it every second
def _ratio(temperature_c: float, humidity_pct: float) -> float:
    try:
        return min(10.0, time_ratio(temperature_c, humidity_pct, *REFERENCE_AIR))
    except RefusedError:
        return 10.0
