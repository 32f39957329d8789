"""The differences between two plans, key by key, in the words of their files."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

from dyeday.plan.model import Plan
from dyeday.plan.writing.plan_text import plan_text

_CALLED = {"order": ("item", "colourway", "base")}
"""the keys that identify a table of a kind, if not its name"""
_FROM_SHELF = frozenset(("on_hand", "bottle"))
Tables = Mapping[tuple[str, ...], Mapping[str, Any]]


def differences(before: Plan, after: Plan) -> list[str]:
    """Return the changes, "session: stop 23:45 (was 23:00)", "order Fair is new", but not of the shelf's amounts."""
    was, now = _tables(before), _tables(after)
    gone = [f"{_called(name)} was removed" for name in was if name not in now]
    return [line for name, keys in now.items() for line in _of_table(name, was.get(name), keys)] + gone


def _of_table(name: tuple[str, ...], was: Mapping[str, Any] | None, now: Mapping[str, Any]) -> Iterator[str]:
    called = _called(name)
    if was is None:
        count = f", {now['skeins']} pieces" if name[0] == "order" else ""
        yield f"{called} is new{count}"
        return
    for key in dict.fromkeys((*now, *was)):
        old, new = was.get(key), now.get(key)
        if old == new or (new is None and key in _FROM_SHELF):
            continue
        yield f"{called}: {key.replace('_', ' ')} {_change(new, old)}"


def _change(new: Any, old: Any) -> str:
    if any(isinstance(one, dict) for each in (new, old) for one in (each if isinstance(each, list) else [each])):
        return "changed" if new is not None else "gone"
    return f"{_word(new)} (was {_word(old)})"


def _word(value: Any) -> str:
    if value is None:
        return "the default"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return ", ".join(map(str, value)) or "none" if isinstance(value, list) else str(value)


def _called(name: tuple[str, ...]) -> str:
    return " ".join((name[0], ", ".join(name[1:]))).strip()


def _tables(plan: Plan) -> Tables:
    """Return every table of a plan's text by its kind and what it is called; the session's name is a key of it."""
    out: dict[tuple[str, ...], Mapping[str, Any]] = {}
    for kind, held in tomllib.loads(plan_text(plan)).items():
        for n, table in enumerate(held if isinstance(held, list) else [held]):
            called = tuple(str(table[key]) for key in _CALLED.get(kind, ("name",))) if isinstance(held, list) else ()
            # Tables with the same name get a number.
            name = (kind, *called)
            out[name if name not in out else (*name, f"{n + 1}.")] = table
    return out
