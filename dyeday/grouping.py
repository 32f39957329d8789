"""Items grouped by what they share."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

K = TypeVar("K")
T = TypeVar("T")


def grouped(pairs: Iterable[tuple[K, T]]) -> dict[K, list[T]]:
    """Return the items of (key, item) pairs by key, both in the order in which they come."""
    groups: dict[K, list[T]] = {}
    for key, item in pairs:
        groups.setdefault(key, []).append(item)
    return groups


def joined(items: Iterable[T], is_same: Callable[[T, T], bool], join: Callable[[T, T], T]) -> list[T]:
    """Return items, each joined into the first earlier one of which ``is_same`` holds."""
    out: list[T] = []
    for item in items:
        if (n := next((n for n, other in enumerate(out) if is_same(other, item)), None)) is None:
            out.append(item)
        else:
            out[n] = join(out[n], item)
    return out
