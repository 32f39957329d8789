"""Dataclasses that are quick to define: the standard decorator compiles six functions a class, this one one."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from functools import cached_property
from operator import attrgetter
from typing import TYPE_CHECKING, Any, NoReturn, TypeVar

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:

    def dataclass(*, frozen: bool = False, slots: bool = False) -> Callable[[type], type]:
        """Decorate a class as `dataclasses.dataclass` does: fields with or without defaults, no ``__post_init__``."""

        def decorated(cls: type) -> type:
            # Where an annotation is text, the library looks through the module for what it may stand for.
            kinds = cls.__annotations__
            cls.__annotations__ = {name: kind if "ClassVar" in kind else object for name, kind in kinds.items()}
            made = dataclasses.dataclass(init=False, repr=False, eq=False, slots=slots)(cls)
            made.__annotations__ = kinds
            for field in dataclasses.fields(made):
                field.type = kinds.get(field.name, field.type)
            return _with_methods(made, frozen)

        return decorated


T = TypeVar("T")
FEW = 32
"""so many values of a class are made without compiling, which would take about as long"""


def _with_methods(cls: type, frozen: bool) -> type:
    fields = dataclasses.fields(cls)
    names = [field.name for field in fields]
    values = attrgetter(*names) if names else lambda _value: ()

    def equals(one: object, other: object) -> bool:
        return values(one) == values(other) if other.__class__ is one.__class__ else NotImplemented

    defaults = {field.name: field.default for field in fields if field.default is not dataclasses.MISSING}
    makers = [(f.name, f.default_factory) for f in fields if f.default_factory is not dataclasses.MISSING]
    few = iter(range(FEW, 0, -1))

    def init(self: Any, *args: Any, **kwargs: Any) -> None:
        """Set the fields one by one for the first `FEW` values, then compile: most classes have few."""
        given = dict(zip(names, args, strict=False)) | kwargs
        every = defaults | {name: make() for name, make in makers if name not in given} | given
        if next(few, None) and len(given) == len(args) + len(kwargs) and every.keys() == set(names):
            for name, value in every.items():
                object.__setattr__(self, name, value)
            return
        compiled = _init(fields)
        setattr(cls, "__init__", compiled)  # noqa: B010 - mypy knows better than to set it
        compiled(self, *args, **kwargs)

    made = {
        "__init__": init,
        "__eq__": equals,
        "__hash__": (lambda one: hash(values(one))) if frozen else None,
        "__repr__": _text,
        **({"__setattr__": _refuse, "__delattr__": _refuse} if frozen else {}),
    }
    for name, function in made.items():
        # A class without a hash of its own has None for it where it compares by its own rule.
        if cls.__dict__.get(name) is None:
            setattr(cls, name, function)
    return cls


def _init(fields: tuple[dataclasses.Field[Any], ...]) -> Callable[..., None]:
    names: dict[str, Any] = {"_set": object.__setattr__, "_MADE": _MADE}
    wanted, lines = [], []
    for field in fields:
        name, value = field.name, field.name
        if field.default is not dataclasses.MISSING:
            names[f"_default_{name}"] = field.default
            wanted.append(f"{name}=_default_{name}")
        elif field.default_factory is not dataclasses.MISSING:
            names[f"_make_{name}"] = field.default_factory
            wanted.append(f"{name}=_MADE")
            value = f"_make_{name}() if {name} is _MADE else {name}"
        else:
            wanted.append(name)
        lines.append(f"    _set(self, {name!r}, {value})")
    exec(f"def __init__(self, {', '.join(wanted)}):\n" + "\n".join(lines or ["    pass"]), names)  # noqa: S102
    init: Callable[..., None] = names["__init__"]
    return init


_MADE = object()
"""stands for a value that is made for each instance"""


def _text(value: Any) -> str:
    parts = (f"{field.name}={getattr(value, field.name)!r}" for field in dataclasses.fields(value))
    return f"{type(value).__qualname__}({', '.join(parts)})"


def _refuse(_value: object, name: str, *_new: object) -> NoReturn:
    raise dataclasses.FrozenInstanceError(f"{name!r} of a frozen value cannot change")


def altered(value: T, **new: Any) -> T:
    """Return a frozen value without slots with some fields another, as `dataclasses.replace` does.

    In a tenth of its time: every event makes a new batch and a new day, of many fields.
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


def with_last(values: tuple[T, ...], **new: Any) -> tuple[T, ...]:
    """Return values with some fields of the last one another, as `altered`."""
    return (*values[:-1], altered(values[-1], **new))


_CACHED: dict[type, tuple[str, ...]] = {}
"""the cached properties of each class, which another value must not take over"""
