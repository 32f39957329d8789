"""Items grouped by what they share."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar

K = TypeVar("K")
T = TypeVar("T")


def grouped(pairs: Iterable[tuple[K, T]]) -> dict[K, list[T]]:
    """Return the items of (key, item) pairs by their keys, both in the order in which they come."""
    groups: dict[K, list[T]] = {}
    for key, item in pairs:
        groups.setdefault(key, []).append(item)
    return groups
