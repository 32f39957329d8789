"""Plain values to JSON-able dictionaries and back, exactly; a begun session and a finished lot are kept this way.

Generic over frozen dataclasses, so that a field added to one is kept at once.
"""

from __future__ import annotations

import types
import typing
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime
from functools import lru_cache
from typing import Any, TypeVar

T = TypeVar("T")


def to_plain(value: Any) -> Any:
    """Return ``value`` (a dataclass, tuple, date, aware instant, or JSON data) as JSON-able data."""
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: to_plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, tuple):
        return [to_plain(item) for item in value]
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
    if isinstance(value, date):
        return value.isoformat()
    return value


@lru_cache(maxsize=64)
def _hints(cls: type) -> dict[str, Any]:
    return typing.get_type_hints(cls)


def from_plain(cls: type[T], data: Mapping[str, Any]) -> T:
    """Return the ``cls`` that `to_plain` made ``data`` from; absent keys take the class's default.

    Raises TypeError, ValueError or KeyError where ``data`` has not that shape.
    """
    if not isinstance(data, Mapping):
        raise TypeError(f"{data!r} is no {cls.__name__}")
    hints = _hints(cls)  # type: ignore[arg-type]
    known = {name: _value(hints[name], data[name]) for name in hints if name in data}
    return cls(**known)


def _value(hint: Any, raw: Any) -> Any:
    origin = typing.get_origin(hint)
    if origin in (typing.Union, types.UnionType):
        if raw is None:
            return None
        return _value(next(arg for arg in typing.get_args(hint) if arg is not type(None)), raw)
    if origin is tuple:
        if not isinstance(raw, (list, tuple)):
            raise TypeError(f"{raw!r} is no list")
        args = typing.get_args(hint)
        if len(args) == 2 and args[1] is Ellipsis:
            return tuple(_value(args[0], item) for item in raw)
        return tuple(_value(arg, item) for arg, item in zip(args, raw, strict=True))
    if hint is Any:
        return raw
    if hint is datetime:
        return datetime.fromisoformat(raw)
    if hint is date:
        return date.fromisoformat(raw)
    if is_dataclass(hint) and isinstance(hint, type):
        return from_plain(hint, raw)
    if hint is float and isinstance(raw, int) and not isinstance(raw, bool):
        return float(raw)
    if not isinstance(raw, hint) or (isinstance(raw, bool) and hint is not bool):
        raise TypeError(f"{raw!r} is not {hint.__name__}")
    return raw
