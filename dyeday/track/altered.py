"""A frozen value with some fields another, quickly: a fold makes thousands."""

from __future__ import annotations

from functools import cached_property
from typing import Any, TypeVar

T = TypeVar("T")


def altered(value: T, **new: Any) -> T:
    """Return a frozen value without slots with some fields another, as `dataclasses.replace` does.

    In a tenth of its time: every event makes a new batch of thirty fields and a new day of fifteen.
    """
    kind = type(value)
    if kind not in _CACHED:
        _CACHED[kind] = tuple(name for name, what in vars(kind).items() if isinstance(what, cached_property))
    values = value.__dict__ | new
    for name in _CACHED[kind]:
        values.pop(name, None)
    made = object.__new__(kind)
    object.__setattr__(made, "__dict__", values)  # not filled in: that takes three times as long
    return made


_CACHED: dict[type, tuple[str, ...]] = {}
"""what each kind of value works out once and keeps, which another value must not take over"""
