"""Frozen dataclasses to JSON-able dictionaries and back, exactly: for plans in sessions, and lots.

A class gives fields that are stored under another name in ``STORED_AS``.
"""

from __future__ import annotations

import inspect
import sys
import types
import typing
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime
from enum import Enum
from functools import lru_cache
from typing import Any, TypeVar

T = TypeVar("T")
Reader = Callable[[Any], Any]
_AS_IT_IS = frozenset((str, int, float, bool, type(None)))


def to_plain(value: Any) -> Any:
    """Return ``value`` (a dataclass, tuple, enum, date, aware instant, or JSON data) as JSON-able data."""
    kind = type(value)
    if kind in _AS_IT_IS:
        return value
    if kind is tuple:
        return [to_plain(item) for item in value]
    if isinstance(value, Enum):
        return value.value
    names = _names(kind)  # type: ignore[arg-type]
    if names is not None:
        return {stored: to_plain(getattr(value, name)) for stored, name in names}
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
    return value.isoformat() if isinstance(value, date) else value


@lru_cache(maxsize=256)
def _names(cls: type) -> tuple[tuple[str, str], ...] | None:
    """Return (name in JSON, field) of a dataclass's fields, None for anything else."""
    if not is_dataclass(cls):
        return None
    stored_as: Mapping[str, str] = getattr(cls, "STORED_AS", {})
    return tuple((stored_as.get(field.name, field.name), field.name) for field in fields(cls))


def from_plain(cls: type[T], data: Mapping[str, Any]) -> T:
    """Return the ``cls`` that `to_plain` made ``data`` from; absent keys take the class's default.

    Raises TypeError, ValueError or KeyError where ``data`` has not that shape.
    """
    made: T = _reader(cls)(data)  # type: ignore[arg-type]
    return made


@lru_cache(maxsize=512)
def _reader(hint: Any) -> Reader:
    """Return the reader of a type, made once: a lot has hundreds of values."""
    origin = typing.get_origin(hint)
    if origin is typing.Annotated:
        return _reader(hint.__origin__)
    if origin in (typing.Union, types.UnionType):
        read = _reader(next(arg for arg in typing.get_args(hint) if arg is not type(None)))
        return lambda raw: None if raw is None else read(raw)
    if origin is tuple:
        args = typing.get_args(hint)
        if len(args) == 2 and args[1] is Ellipsis:
            read = _reader(args[0])
            return lambda raw: tuple([read(item) for item in _listed(raw)])
        reads = tuple(map(_reader, args))
        return lambda raw: tuple([read(item) for read, item in zip(reads, _listed(raw), strict=True)])
    if hint is Any:
        return lambda raw: raw
    if hint is datetime or hint is date:
        return lambda raw: hint.fromisoformat(raw)
    if isinstance(hint, type) and issubclass(hint, Enum):
        return {member.value: member for member in hint}.__getitem__
    return _table(hint) if is_dataclass(hint) and isinstance(hint, type) else _scalar(hint)


def _listed(raw: Any) -> Any:
    if not isinstance(raw, (list, tuple)):
        raise TypeError(f"{raw!r} is not a list")
    return raw


def _table(cls: type) -> Reader:
    reads: dict[str, tuple[str, Reader]] = {}

    def read(raw: Any) -> Any:
        if not isinstance(raw, Mapping):
            raise TypeError(f"{raw!r} is not a {cls.__name__}")
        if not reads:  # not before it is used: a class may have values of its own kind in it
            hints = _hints(cls)
            reads.update({stored: (name, _reader(hints[name])) for stored, name in _names(cls) or ()})
        given = ((*reads[stored], value) for stored, value in raw.items() if stored in reads)
        return cls(**{name: read_value(value) for name, read_value, value in given})

    return read


def _hints(cls: type) -> dict[str, Any]:
    """Return the types of a class's fields, compiled together: `typing.get_type_hints` compiles each alone."""
    hints: dict[str, Any] = {}
    for base in reversed(cls.__mro__):
        table = ", ".join(
            f"{name!r}: {text.removeprefix('Annotated[').partition(', Key(')[0]}"
            for name, text in inspect.get_annotations(base).items()
        )
        hints |= eval(f"{{{table}}}", vars(sys.modules[base.__module__]))  # noqa: S307 - our own annotations
    return hints


def _scalar(hint: type) -> Reader:
    def read(raw: Any) -> Any:
        if hint is float and type(raw) is int:
            return float(raw)
        if type(raw) is not hint:
            raise TypeError(f"{raw!r} is not {hint.__name__}")
        return raw

    return read
