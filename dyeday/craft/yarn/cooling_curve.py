"""Cooling by Newton's law: the difference to the room shrinks by the same share in every minute."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log

from dyeday.craft.errors import RefusedError
from dyeday.quick_dataclass import dataclass

COOL_OUT_MIN = 60.0
"""Minutes a few skeins cool where nothing was read, lifted out or in their closed unit. Common practice,
no source."""
COOL_IN_POT_MIN = 300.0
"""The same for yarn left in its pot of liquor. Common practice, no source."""


@dataclass(frozen=True)
class Cooling:
    """A cooling curve: room + excess · exp(−rate · minutes)."""

    room_c: float
    excess_c: float
    """Above the room at minute 0; negative for a thing that warms up."""
    per_min: float
    """The rate; above 0."""

    def minute_of(self, celsius: float) -> float:
        """Return the minute at which a temperature is reached. Raises RefusedError at or beyond the room's."""
        left = (celsius - self.room_c) / self.excess_c
        if not left > 0:
            never = f"in a room of {self.room_c:g} °C it never reaches {celsius:g} °C"
            raise RefusedError(f"{never}; choose a temperature nearer the bath's")
        return -log(left) / self.per_min


def newton(readings: Sequence[tuple[float, float]], room_c: float) -> Cooling:
    """Fit Newton's law to two or more readings (minutes, °C), by least squares on ln |T − room|.

    Raises RefusedError where there are fewer than two moments, a reading is at or across the room's temperature, or
    the readings do not move toward it.
    """
    if len({minutes for minutes, _ in readings}) < 2:
        raise RefusedError("give two readings some minutes apart")
    above = [celsius - room_c for _, celsius in readings]
    if not (all(excess > 0 for excess in above) or all(excess < 0 for excess in above)):
        raise RefusedError(f"the readings must all be warmer than the room's {room_c:g} °C, or all cooler")
    moments = [minutes for minutes, _ in readings]
    logs = [log(abs(excess)) for excess in above]
    mean_minutes, mean_log = sum(moments) / len(moments), sum(logs) / len(logs)
    spread = sum((minutes - mean_minutes) ** 2 for minutes in moments)
    slope = sum((minutes - mean_minutes) * value for minutes, value in zip(moments, logs, strict=True)) / spread
    if not slope < 0:
        raise RefusedError("the readings do not approach the room's temperature; read again, or check the room")
    excess = exp(mean_log - slope * mean_minutes)
    return Cooling(room_c, excess if above[0] > 0 else -excess, -slope)


def minutes_until(curve: Cooling, now_min: float, to_c: float) -> float:
    """Return the minutes from now until a temperature is reached, 0 if it was. Raises RefusedError if it never is."""
    return max(0.0, curve.minute_of(to_c) - now_min)
