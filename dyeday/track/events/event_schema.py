"""Which keys each kind of event has, and what each may hold; apart so that a new kind is one entry here."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Any

from dyeday.craft.dye.colour_difference import GRADES as BEST_FIRST
from dyeday.craft.dye.exhaustion import BY_EYE
from dyeday.plan.limits import LONGEST_NAME, LONGEST_NOTE, LONGEST_TAG
from dyeday.plan.model import MOST_PIECES
from dyeday.plan.reading.problems import near
from dyeday.terms import (
    STATES,
    AdviceIs,
    AlarmIs,
    ChoreWhen,
    Cover,
    Outcome,
    ReadingKind,
    RunEdge,
    Serves,
    Thing,
    UnitIs,
    Water,
)
from dyeday.text import brief, harmless
from dyeday.track.timestamp import iso, parse_utc

EYES = tuple(BY_EYE)
PLACES = ("puddle", "pot", "first rinse")
DELIVERED = tuple(thing for thing in Thing if thing is not Thing.BOTTLE)
CLOTHS = {"clean": "5", "faint": "4", "marked": "3-4"}
GRADES = tuple(reversed(BEST_FIRST))
"""worst first"""
SWATCHES = ("match", "lighter", "darker", "redder", "yellower", "greener", "bluer")
_RANGES = {
    ReadingKind.PH: (0, 14), ReadingKind.BATH_C: (-5, 110), ReadingKind.YARN_C: (-5, 110),
    ReadingKind.RINSE_C: (-5, 110), ReadingKind.WEIGHT_G: (0.1, 100_000), ReadingKind.SPUN_G: (0.1, 100_000),
}  # fmt: skip
WORDS_OF = {ReadingKind.EYE: EYES, ReadingKind.CLOTH: (*CLOTHS, *GRADES), ReadingKind.SWATCH: SWATCHES}
"""readings that are one of a few words"""
BATCH_NO = re.compile(r"^\d{2,3}[a-z]{0,3}$")


class EventError(ValueError):
    """An event that cannot be taken: what is wrong, and what would be right."""

    def __init__(self, what: str, right: str) -> None:
        super().__init__(f"{what}; {right}")
        self.what = what
        self.right = right


Check = Callable[[str, Any], Any]


@dataclass(frozen=True, slots=True)
class EventKind:
    """What one kind of event may and must say."""

    needs_batch: bool
    required: tuple[str, ...] = ()
    keys: Mapping[str, Check] = field(default_factory=dict)
    unit_will_do: bool = False
    one_of: tuple[str, ...] = ()
    """at least one of these must be there"""
    free: bool = False
    """whether other keys are taken as they are"""


def _text(key: str, value: Any) -> str:
    return _short_text(key, value, LONGEST_NOTE)


def _name(key: str, value: Any) -> str:
    return _short_text(key, value, LONGEST_NAME)


def _tag(key: str, value: Any) -> str:
    return _short_text(key, value, LONGEST_TAG)


def _short_text(key: str, value: Any, longest: int) -> str:
    if not isinstance(value, str) or len(value) > longest:
        raise EventError(f"{key} is not a text of at most {longest} characters", f'write "{key}": "…"')
    return harmless(value).strip()


def _word(*words: str) -> Check:
    def check(key: str, value: Any) -> str:
        said = str(value).strip().casefold()
        if said not in words:
            raise EventError(f"{key} cannot be {harmless(value)!r}", near(said, words))
        return said

    return check


def _term(terms: Iterable[Enum]) -> Check:
    return _word(*(str(term.value) for term in terms))


def _number(low: float, high: float) -> Check:
    def check(key: str, value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not low <= value <= high:
            raise EventError(f"{key} cannot be {brief(value)}", f"write a number from {low:.10g} to {high:.10g}")
        return value

    return check


def _count(low: int, high: int) -> Check:
    def check(key: str, value: Any) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise EventError(f"{key} cannot be {brief(value)}", f"write a whole number from {low} to {high}")
        return value

    return check


def _amounts(key: str, value: Any) -> dict[str, Any]:
    if not isinstance(value, Mapping) or not value:
        raise EventError(f"{key} is no table of amounts", f'write "{key}": {{"dye": 40}} in mL')
    number = _number(0, 1e6)
    out: dict[str, Any] = {}
    for name, amount in value.items():
        if name in ("powder", "extra") and isinstance(amount, Mapping):
            out[name] = {harmless(each): number(f"{key} {each}", much) for each, much in amount.items()}
        else:
            out[harmless(name)] = number(f"{key} {harmless(name)}", amount)
    return out


def _into(key: str, value: Any) -> dict[str, int]:
    if not isinstance(value, Mapping) or len(value) < 2:
        raise EventError("a split needs two parts or more", 'write "into": {"03a": 3, "03b": 2}')
    for no in value:
        if not BATCH_NO.match(str(no)):
            raise EventError(f"{harmless(no)!r} is no batch number", 'write such as "03a"')
    return {str(no): _count(1, MOST_PIECES)(f"{key} {no}", skeins) for no, skeins in value.items()}


def _batches(key: str, value: Any) -> list[str]:
    such_as = f'write "{key}": ["01", "02"]'
    if not isinstance(value, (list, tuple)) or not 0 < len(value) <= MOST_PIECES:
        raise EventError(f"{key} is no list of batches", such_as)
    for no in value:
        if not isinstance(no, str) or not BATCH_NO.match(no):
            raise EventError(f"{brief(no)} is no batch number", such_as)
    if len(set(value)) < len(value):
        raise EventError(f"{key} names a batch twice", "name each batch once")
    return list(value)


def _heats(key: str, value: Any) -> int | dict[str, int]:
    """Return one heat for all batches, or the heat of each."""
    if isinstance(value, Mapping) and value:
        return {harmless(no): _HEAT(f"{key} {harmless(no)}", heat) for no, heat in value.items()}
    heat: int = _HEAT(key, value)
    return heat


def _check_load(data: Mapping[str, Any]) -> None:
    """Raise EventError where the keys of a load do not go together."""
    if ("pass" in data) != ("run" in data):
        raise EventError("'load' has pass or run without the other", 'write "pass": 1, "run": "start"')
    if "unit" not in data:
        for key in ("water", "tank", "acid_ml", "acid_g"):
            if key in data:
                raise EventError(f"'load' has {key} and no unit", 'add "unit": "tray 1"')
    heats = data.get("pass")
    if isinstance(heats, Mapping):
        without = [no for no in data["batches"] if no not in heats]
        beyond = [no for no in heats if no not in data["batches"]]
        if without or beyond:
            what = (
                f"has no heat for {without[0]}" if without else f"has a heat for {beyond[0]}, not one of its batches"
            )
            raise EventError(f"'load' {what}", 'write "pass" as one number, or one for each of its batches')


def _table(key: str, value: Any) -> dict[str, Any]:
    if not isinstance(value, Mapping):
        raise EventError(f"{key} is no table", f'write "{key}": {{…}}')
    return dict(value)


def _clean(key: str, value: Any) -> Any:
    """Return JSON data with every text in it harmless."""
    if isinstance(value, str):
        return harmless(value)
    if isinstance(value, Mapping):
        return {harmless(name): _clean(key, item) for name, item in value.items()}
    return [_clean(key, item) for item in value] if isinstance(value, (list, tuple)) else value


def _reading(data: Mapping[str, Any]) -> Any:
    kind, value = ReadingKind(data["reading"]), data.get("value")
    name = kind.value
    if kind in _RANGES:
        return _number(*_RANGES[kind])(name, value)
    if kind in WORDS_OF:
        return _word(*WORDS_OF[kind])(name, value)
    needed = ("match", "left_l") if kind is ReadingKind.JAR else ("first", "first_l", "left", "left_l")
    allowed = (*needed, "first_l")
    if not isinstance(value, Mapping) or any(key not in value for key in needed):
        raise EventError(f"{name} needs {', '.join(needed)}", f'write them as numbers in "value" of {name}')
    extra = [key for key in value if key not in allowed]
    if extra:
        raise EventError(f"{name} has no {harmless(extra[0])!r}", near(str(extra[0]), allowed))
    lowest = {"match": 1.0}
    return {key: _number(lowest.get(key, 0.0), 1e6)(f"{name} {key}", item) for key, item in value.items()}


def _instant(key: str, value: Any) -> str:
    try:
        return iso(parse_utc(str(value)))
    except ValueError:
        raise EventError(f"{key} {harmless(value)!r} is no time", 'write "2026-03-14T21:05:00Z"') from None


_HEAT = _count(1, 50)
_MOVE = {"layer": _count(1, 20), "outcome": _term(Outcome), "mix": _text}
_ACID = {"acid_ml": _number(0, 1e6), "acid_g": _number(0, 1e6)}
_WATER = {"water": _term(Water)}
_UNIT, _WHY = {"unit": _text}, {"why": _text}
_CHORE = {"chore": _text, "when": _term(ChoreWhen), "layer": _count(1, 20), "lot": _text}
"""a chore's name with what tells it from others of that name: when it is done, for which layer or lot"""
KINDS: dict[str, EventKind] = {
    "load": EventKind(False, ("batches",), {"batches": _batches, "to": _term(STATES), **_UNIT, **_WHY, **_MOVE,
                      **_WATER, **_ACID, "tank": _term((UnitIs.FILLED,)), "pass": _heats, "run": _term(RunEdge),
                      "cover": _term(Cover)}, one_of=("to", "unit", "run")),
    "moved": EventKind(True, ("to",), {"to": _term(STATES), **_UNIT, **_WHY, **_MOVE, **_WATER}),
    "overdyed": EventKind(True, ("colourway",), {"colourway": _name, **_WHY}),
    "acid put in": EventKind(True, (), {**_ACID, **_UNIT}, unit_will_do=True, one_of=("acid_ml", "acid_g")),
    "pass": EventKind(True, ("pass", "run"), {"pass": _HEAT, "run": _term(RunEdge), **_UNIT}),
    "reading": EventKind(True, ("reading", "value"), {"reading": _term(ReadingKind), "value": lambda _key, v: v,
                         "where": _word(*PLACES)}),
    "used": EventKind(True, (), {"used": _amounts, "left_over": _amounts}, one_of=("used", "left_over")),
    "unit": EventKind(False, ("unit", "is"), {**_UNIT, "is": _term(UnitIs), **_WHY,
                      "litres": _number(0, 1000)}),
    "placed": EventKind(True, ("unit",), {**_UNIT, **_WHY, **_WATER}),
    "split": EventKind(True, ("into",), {"into": _into, **_WHY}),
    "counted": EventKind(True, ("skeins",), {"skeins": _count(1, MOST_PIECES), **_WHY}),
    "tagged": EventKind(True, ("tag",), {"tag": _tag, **_WHY}),
    "covered": EventKind(True, ("cover",), {"cover": _term(Cover)}),
    "note": EventKind(False, ("note",), {"note": _text}),
    "alarm": EventKind(False, ("alarm", "is"), {"alarm": _text, "is": _term(AlarmIs),
                       "minutes": _number(0, 15)}),
    "resolved": EventKind(False, ("rule", "why"), {"rule": _text, **_WHY}),
    "struck": EventKind(False, ("strikes",), {"strikes": _text, **_WHY}),
    "unstruck": EventKind(False, ("strikes",), {"strikes": _text, **_WHY}),
    "corrected": EventKind(False, ("corrects",), {"corrects": _text, **_WHY}, free=True),
    "added": EventKind(False, ("order",), {"order": _table, **_WHY}),
    "advice": EventKind(False, ("is",), {"is": _term(AdviceIs), "step": _text, **_CHORE,
                        "minutes": _number(1, 1440), "serves": _term(Serves)}, one_of=("step", "serves")),
    "received": EventKind(False, ("thing", "name", "amount"), {"thing": _term(DELIVERED), "name": _name,
                          "amount": _number(0, 1e7), "measure": _text, **_WHY}),
    "chore": EventKind(False, ("chore",), _CHORE),
    "foreseen": EventKind(False, ("hands_off", "late"), {"hands_off": _instant, "late": _instant,
                          "rinsed": _count(0, 100_000), "of": _count(0, 100_000)}),
    "plan changed": EventKind(False, ("plan",), {"plan": _table, **_WHY}, free=True),
    "clock stepped": EventKind(False, (), {"seconds": _number(-1e10, 1e10)}, free=True),
    "guard on": EventKind(False, (), _WHY, free=True),
    "guard off": EventKind(False, (), _WHY, free=True),
    "closed": EventKind(False, (), _WHY, free=True),
    "carried": EventKind(False, (), {**_WHY, "from": _text, "was": _text, "record": _clean, "doubts": _clean},
                         free=True),
}  # fmt: skip

_BY_KEY = (
    ("corrects", "corrected"),  # first: the keys it corrects stand beside it
    ("batches", "load"), ("to", "moved"),
    ("colourway", "overdyed"), ("acid_ml", "acid put in"), ("acid_g", "acid put in"),
    ("pass", "pass"), ("reading", "reading"), ("used", "used"), ("left_over", "used"), ("into", "split"),
    ("alarm", "alarm"), ("rule", "resolved"), ("strikes", "struck"),
    ("order", "added"), ("plan", "plan changed"), ("skeins", "counted"), ("tag", "tagged"), ("cover", "covered"),
    ("record", "carried"), ("thing", "received"), ("note", "note"), ("is", "unit"), ("unit", "placed"),
)  # fmt: skip


def kind_by_keys(data: Mapping[str, Any]) -> str | None:
    """Return the kind an event without an ``event`` key must be, by the keys it has; None where nothing fits."""
    return next((kind for key, kind in _BY_KEY if key in data), None)


def check_keys(kind: str, data: Mapping[str, Any]) -> dict[str, Any]:
    """Return the keys of an event of ``kind``, checked and made harmless. Raises EventError."""
    spec = KINDS[kind]
    for key in spec.required:
        if key not in data:
            raise EventError(f"{kind!r} has no {key}", f'add "{key}"')
    if spec.one_of and not any(key in data for key in spec.one_of):
        what = {"advice": "step", "load": "movement"}.get(kind, "amount")
        raise EventError(f"{kind!r} has no {what}", f"add {' or '.join(spec.one_of)}")
    out: dict[str, Any] = {}
    for key, value in data.items():
        if key in spec.keys:
            out[key] = spec.keys[key](key, value)
        elif spec.free:
            out[key] = value
        else:
            raise EventError(f"{kind!r} has no key {harmless(key)!r}", near(key, spec.keys))
    if kind == "reading":
        out["value"] = _reading(out)
    if kind == "load":
        _check_load(out)
    return out
