"""A table read by the keys that its class declares."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date as Date  # noqa: N812 - as in the model
from enum import Enum
from typing import Any, TypeVar

from dyeday import units
from dyeday.plan.reading.table_reader import Table
from dyeday.plan.schema import Entry, entries

T = TypeVar("T")
Own = Mapping[str, Callable[[Table, dict[str, Any]], Any]]
"""by field, the function that reads it; it gets the fields before, to which it adds companions without a key"""

UNITS = {
    "g": units.MASS_G, "mL": units.VOLUME_ML, "L": units.VOLUME_L, "mm": units.LENGTH_MM, "m": units.LENGTH_M,
    "min": units.TIME_MIN, "h": units.TIME_H, "°C": units.TEMPERATURE_C, "°C apart": units.DIFFERENCE_C,
    "mg/L": units.WATER_MG_L, "W": units.POWER_W, "V": units.VOLTS, "A": units.AMPS, "%": units.PERCENT,
    "% w/v": units.STRENGTH_PCT,
}  # fmt: skip
"""units that a key may have"""


def read_keys(t: Table, cls: type[T], own: Own | None = None, *, like: T | None = None, demand: bool = True) -> T:
    """Return the ``cls`` in table ``t``, with every problem noted, unknown keys too."""
    value = cls(**values_of(t, cls, own, like=like, demand=demand))
    t.finish()
    return value


def values_of(
    t: Table, cls: type, own: Own | None = None, *, table: str = "", like: object = None, demand: bool = True
) -> dict[str, Any]:
    """Return the fields of ``cls`` that keys of ``t`` give, or ``like`` has; without ``demand`` none is needed."""
    out: dict[str, Any] = {}
    for entry in entries(cls):
        if entry.field in out or entry.key.table != table:
            continue
        if own and entry.field in own:
            out[entry.field] = own[entry.field](t, out)
        else:
            default = entry.usual(out) if like is None else getattr(like, entry.field)
            out[entry.field] = read_entry(t, entry, default, demand=demand)
    return out


def read_entry(t: Table, entry: Entry, default: Any, *, demand: bool = True) -> Any:
    """Return the value of one key, ``default`` where it is absent or wrong."""
    name, key, kind, needed = entry.name, entry.key, entry.kind, entry.needed and demand
    if key.clock:
        return t.clock(name, required=needed) or 0
    if kind == tuple[str, ...]:
        return t.texts(name)
    if kind == tuple[tuple[int, int], ...]:
        return t.windows(name)
    if issubclass(kind, Enum):
        return t.choice(name, default if default is not None else next(iter(kind)), required=needed)
    if kind is Date:
        day = t.day(name, required=needed)
        return day if day is not None or not entry.needed else Date(2000, 1, 1)
    if kind is bool:
        return t.flag(name, default)
    if kind is str:
        if key.words:
            return t.word(name, key.words, default or "", required=needed)
        text = t.text(name, required=needed, longest=key.longest)
        return text or default or ("" if entry.needed else default)
    return _number(t, entry, default, needed)


def _number(t: Table, entry: Entry, default: Any, needed: bool) -> Any:
    name, key = entry.name, entry.key
    if entry.kind is int:
        high = 1000 if key.high is None else int(key.high)
        fallback = int(key.low) if default is None and needed else default or 0
        count = t.count(name, fallback, required=needed, low=int(key.low), high=high)
        return count or default if default is None else count
    if default is None and entry.needed:
        default = max(key.low, 1.0)  # of a plan that is refused
    if not key.unit:
        most = 1e6 if key.high is None else key.high
        return t.number(name, default, low=key.low, high=most, strip=key.strip or "^")
    amount = t.quantity(name, UNITS[key.unit], default, required=needed, low=key.low, high=key.high, strip=key.strip)
    return default if amount is None else amount
