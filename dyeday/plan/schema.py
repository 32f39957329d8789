"""What a key of a plan is: declared once, beside the field of the model that keeps its value.

Reading, writing and `dyeday help plan` use these. A field without a `Key` is not in the file. Annotations are
evaluated only when a plan is read or written, so that a session opens faster.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields
from functools import cache
from types import NoneType
from typing import Any, NamedTuple, get_args, get_origin, get_type_hints

from dyeday.text import LONGEST_NAME

PER_100G = r"\s*(/|per)\s*100\s*g$"
PIECES = r"\s*(?:skeins?|minis?|blanks?|pieces?)$"


class Key(NamedTuple):
    """One key: what it means, the unit of its number, its bounds, and its default where another key decides it."""

    means: str
    unit: str = ""
    """as `dyeday.plan.reading.key_reader` (`UNITS`) knows it; empty: a number without one"""
    low: float = 0.0
    high: float | None = None
    name: str = ""
    """in the file; empty: the name of the field"""
    table: str = ""
    """the table it stands in, where that is not its class's own"""
    needed: bool = False
    """whether its table needs it; so is every field without a default"""
    usual: Callable[[Mapping[str, Any]], Any] | None = None
    """default from the fields before it"""
    usually: str = ""
    """that default in words"""
    strip: str = ""
    """pattern cut off the end of a typed text"""
    longest: int = LONGEST_NAME
    words: tuple[str, ...] = ()
    own: bool = False
    """whether its table's reader has a function for it, and the writer too"""
    clock: bool = False
    always: bool = False
    """whether it is written even if it is the default"""


def symbol(unit: str) -> str:
    """Return what a number in ``unit`` is written with: "°C" of "°C apart"."""
    return unit.split(" ", 1)[0]


class Entry(NamedTuple):
    """A key with the field that declares it."""

    field: str
    name: str
    key: Key
    kind: Any
    """type of the value, without None"""
    default: Any
    needed: bool

    def usual(self, values: Mapping[str, Any]) -> Any:
        """Return the default beside ``values``, the fields before this one."""
        return self.key.usual(values) if self.key.usual is not None else self.default


@cache
def entries(cls: type) -> tuple[Entry, ...]:
    """Return the keys that the fields of a dataclass declare, in their order."""
    # Not among the fields' own names: a session has a field called units.
    hints = get_type_hints(cls, vars(sys.modules[cls.__module__]), {}, include_extras=True)
    keys = []
    for field in fields(cls):
        kind, *extras = get_args(hints[field.name]) if hasattr(hints[field.name], "__metadata__") else (None,)
        if (key := next((extra for extra in extras if isinstance(extra, Key)), None)) is None:
            continue
        if get_origin(kind) is not tuple and NoneType in get_args(kind):
            kind = next(part for part in get_args(kind) if part is not NoneType)
        no_default = field.default is MISSING
        default = None if no_default else field.default
        needed = key.needed or (no_default and key.usual is None)
        keys.append(Entry(field.name, key.name or field.name, key, kind, default, needed))
    return tuple(keys)
