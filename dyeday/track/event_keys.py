"""Reading one line of a day's JSON: checks of single keys, and frozen values whose fields are its keys."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Mapping
from datetime import datetime
from enum import Enum
from typing import Any, ClassVar, NamedTuple, Self, TypeVar, dataclass_transform

from dyeday.plan.model import MOST_PIECES
from dyeday.plan.reading.problems import similar
from dyeday.terms import Term
from dyeday.text import LONGEST_NAME, LONGEST_NOTE, LONGEST_TAG, HintedError, brief, harmless
from dyeday.track.timestamp import iso, parse_utc

Check = Callable[[str, Any], Any]
"""(key, JSON value) to the value of a field; raises EventError"""
BATCH_NO = re.compile(r"^\d{2,3}[a-z]{0,3}$")
T = TypeVar("T", bound=Term)
_NEEDED: Any = object()


class EventError(HintedError):
    """An event that cannot be recorded."""


def short_text(longest: int) -> Callable[[str, Any], str]:
    """Return a check for a text of at most ``longest`` characters, which makes it harmless and strips it."""

    def check(key: str, value: Any) -> str:
        if not isinstance(value, str) or len(value) > longest:
            raise EventError(f"{key} is not a text of at most {longest} characters", f'write "{key}": "…"')
        return harmless(value).strip()

    return check


def word(*words: str) -> Callable[[str, Any], str]:
    """Return a check for one of ``words`` in any case, which must be lower case themselves."""

    def check(key: str, value: Any) -> str:
        given = str(value).strip().casefold()
        if given not in words:
            raise EventError(f"{key} cannot be {brief(value)}", similar(given, words))
        return given

    return check


def term(terms: Iterable[T]) -> Callable[[str, Any], T]:
    """Return a check that turns a word in any case into the member of ``terms`` it is the value of."""
    by_word = {each.value: each for each in terms}
    check_word = word(*by_word)
    return lambda key, value: by_word[check_word(key, value)]


def number(low: float, high: float, *, whole: bool = False) -> Callable[[str, Any], Any]:
    """Return a check for a number, an int if ``whole``, from ``low`` to ``high``; a bool is refused."""
    kinds, words = (int, "whole number") if whole else ((int, float), "number")

    def check(key: str, value: Any) -> Any:
        if isinstance(value, bool) or not isinstance(value, kinds) or not low <= value <= high:
            what = "pH" if key == "ph" else key
            raise EventError(f"{what} cannot be {brief(value)}", f"write a {words} from {low:.10g} to {high:.10g}")
        return value

    return check


def known(what: str, name: str, names: Collection[str]) -> None:
    """Raise EventError, ``what`` and the name, where a name is not among ``names``."""
    if name not in names:
        raise EventError(f"{what} {brief(name)}", similar(name, names))


def table(key: str, value: Any) -> dict[str, Any]:
    """Return a copy of a JSON object. Raises EventError for anything else."""
    if not isinstance(value, Mapping):
        raise EventError(f"{key} is not a table", f'write "{key}": {{…}}')
    return dict(value)


def clean(key: str, value: Any) -> Any:
    """Return JSON data with every text in it harmless."""
    if isinstance(value, str):
        return harmless(value)
    if isinstance(value, Mapping):
        return {harmless(each): clean(key, item) for each, item in value.items()}
    return [clean(key, item) for item in value] if isinstance(value, (list, tuple)) else value


def instant(key: str, value: Any) -> datetime:
    """Return an ISO 8601 instant as an aware datetime. Raises EventError."""
    try:
        return parse_utc(str(value))
    except (ValueError, OverflowError):
        raise EventError(f"{key} {brief(value)} is not a time", 'write "2026-03-14T21:05:00Z"') from None


text, name, tag = map(short_text, (LONGEST_NOTE, LONGEST_NAME, LONGEST_TAG))
amount = number(0, 1e6)
layer = number(1, 20, whole=True)
heat_no: Callable[[str, Any], int] = number(1, 50, whole=True)
skeins = number(1, MOST_PIECES, whole=True)


class EventKey(NamedTuple):
    """A key of an event in JSON: its check, and its name where that is not the field's."""

    check: Check | None
    name: str
    required: bool


def key(check: Check, *, name: str = "", default: Any = _NEEDED) -> Any:
    """Declare a field: its check and its name in JSON; with any ``default`` it may be absent, and is None then."""
    return EventKey(check, name, default is _NEEDED)


def others(*, default: Any = None) -> Any:
    """Declare the field for all other keys, unchecked; ``default`` is for type checkers."""
    return EventKey(None, "", False)


@dataclass_transform(frozen_default=True, kw_only_default=True, field_specifiers=(key, others))
class Keyed:
    """A frozen value read from the keys of a JSON object: its fields made by `key`; an absent one is None.

    Not a dataclass: compiling thirty of them would be a tenth of the program's start.
    """

    NAME: ClassVar[str]
    KNOWN_BY: ClassVar[tuple[str, ...]] = ()
    """keys that tell this kind where a line of JSON names none"""
    MATCH_ORDER: ClassVar[int] = 0
    """lower is tried earlier: keys of one kind may stand in another too"""
    ONE_OF: ClassVar[tuple[str, ...]] = ()
    """at least one of these keys must be there"""
    MISSING: ClassVar[str] = "amount"
    """what the error then says is missing"""
    IS_TIMED: ClassVar[bool] = True
    """whether the dyer can give it an earlier time and undo it; an `AlarmHandled` can be undone too"""
    IS_OF_DAY: ClassVar[bool] = True
    """whether it counts towards when the session began and how long it lasted; a batch carried over does not"""
    IS_SHOWN: ClassVar[bool] = True
    """whether the log shows it; a recorded forecast is only stored"""
    JSON_KEYS: ClassVar[dict[str, tuple[str, EventKey]]]
    """(field, key) by name in JSON"""
    _required: ClassVar[tuple[str, ...]]
    _others: ClassVar[str | None]

    # A key of some kinds; of the others these hold.
    unit: str | None = None
    layer: int | None = None
    batches: tuple[str, ...] = ()

    def __init_subclass__(cls) -> None:
        own = {attr: value for attr, value in vars(cls).items() if isinstance(value, EventKey)}
        cls.JSON_KEYS = {**getattr(cls, "JSON_KEYS", {}), **{k.name or a: (a, k) for a, k in own.items() if k.check}}
        cls._required = tuple(name for name, (_, k) in cls.JSON_KEYS.items() if k.required)
        cls._others = next((attr for attr, k in own.items() if k.check is None), getattr(cls, "_others", None))
        for attr in own:
            setattr(cls, attr, None)

    def __init__(self, **fields: Any) -> None:
        self.__dict__.update((attr, value) for attr, value in fields.items() if value is not None)

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"{type(self).__name__} is frozen")

    def __eq__(self, other: object) -> bool:
        return type(self) is type(other) and self.__dict__ == other.__dict__

    def __repr__(self) -> str:
        fields = ", ".join(f"{attr}={value!r}" for attr, value in self.__dict__.items())
        return f"{type(self).__name__}({fields})"

    @classmethod
    def read(cls, data: Mapping[str, Any]) -> Self:
        """Return the value in the keys of a JSON object, checked. Raises EventError."""
        for name in cls._required:
            if name not in data:
                raise EventError(f"{cls.NAME!r} has no {name}", f'add "{name}"')
        if cls.ONE_OF and not any(name in data for name in cls.ONE_OF):
            raise EventError(f"{cls.NAME!r} has no {cls.MISSING}", f"add {' or '.join(cls.ONE_OF)}")
        made = object.__new__(cls)
        fields = made.__dict__
        for name, value in data.items():
            if name in cls.JSON_KEYS:
                attr, each = cls.JSON_KEYS[name]
                if each.check is not None:
                    fields[attr] = each.check(name, value)
            elif cls._others is not None:
                fields.setdefault(cls._others, {})[name] = value
            else:
                raise EventError(f"{cls.NAME!r} has no key {brief(name)}", similar(name, cls.JSON_KEYS))
        made._check()
        return made

    @property
    def needs_batch(self) -> bool:
        """Whether an event of it without a batch is refused."""
        return False

    def _check(self) -> None:
        """Raise EventError where keys that are right by themselves do not go together."""

    def to_json(self) -> dict[str, Any]:
        """Return its keys as they are stored; `read` is the inverse."""
        attrs = {attr: name for name, (attr, _) in self.JSON_KEYS.items()}
        out: dict[str, Any] = {}
        for attr, value in self.__dict__.items():
            if attr == self._others:
                out.update(value)
            else:
                out[attrs[attr]] = _plain(value)
        return out

    def checked(self) -> Self:
        """Return it as it will be read again. Raises EventError."""
        return self.read(self.to_json())

    def corrected(self, keys: Mapping[str, Any]) -> Self:
        """Return it with the keys of a correction. Raises EventError."""
        return self.read({**self.to_json(), **keys})


def _plain(value: Any) -> Any:
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, datetime):
        return iso(value)
    return list(value) if isinstance(value, tuple) else value
