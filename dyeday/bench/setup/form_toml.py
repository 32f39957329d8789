"""What people type as TOML for the reader of plans, which refuses what is not understood; and TOML as typed."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import field, replace
from itertools import combinations, pairwise
from typing import Any

from dyeday.bench.setup.steps import START, STOP, Field, FieldForm, SetupStep
from dyeday.craft.yarn import fibres
from dyeday.plan.library import Library, Studio
from dyeday.plan.lint import water_advice
from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.reading.problems import PlanError, synonym
from dyeday.plan.reading.toml_positions import TomlPositions
from dyeday.plan.writing.plan_text import plan_text
from dyeday.plan.writing.toml_values import key_text, plan_time, text, toml
from dyeday.quick_dataclass import dataclass

_TIME = re.compile(r"(\d{1,2})(?:[:.h ]?(\d\d))?\s*(?:h|uhr|o'clock)?\s*([ap])?\.?(?:m\.?)?\s*(\+1)?", re.IGNORECASE)
_NAMED = {"noon": 720, "midday": 720, "midnight": 1440}
_SHARE = r"(\d{1,6}(?:\.\d{1,6}|,\d(?!\d))?)\s*%?"
_DYE_WITH_DEPTH = (
    r"(?P<dye>.+?)[\s=:]+(?P<depth>\d*[.,]?\d+)\s*%?(?:\s+(?:and\s+)?|$)",
    r"(?P<depth>\d*[.,]?\d+)\s*%?\s+(?:of\s+)?(?P<dye>.+?)(?:\s+and\s+|$)",
)
LONGEST_PART = 200
_SEPARATORS = re.compile(r"[,;/+&]|\band\b")
Values = dict[str, str]
"""what is typed, by the key of its field"""
DAY = '[session]\nname = "-"\ndate = 2000-01-01\nstart = "09:00"\nstop = "17:00"\n'
_NUMBER = re.compile(r"-?\d+(\.\d+)?")
_LONG_NUMBER = re.compile(r"\d+\.\d{5,}")
"""the digits left by a conversion of units, such as 56.69904625000001 g for two ounces"""


def word_of(typed: str, words: Sequence[str]) -> str:
    """Return the one of ``words`` that is meant: by its own name, another name people use, or its last word."""
    by_name = {word.casefold(): word for word in words}
    plain = typed.strip().casefold()
    last = plain.split()[-1].removesuffix("s") if plain else ""
    return by_name.get(plain) or synonym(plain, words) or by_name.get(last) or typed


def time_of(typed: str) -> str:
    """Return "9", "9 am", "9.30" or "17h30" as "09:00" …; "24:00" and "midnight" are "00:00+1"."""
    plain = typed.strip().casefold()
    if plain in _NAMED:
        return plan_time(_NAMED[plain])
    if (match := _TIME.fullmatch(plain)) is None:
        return typed
    hour, minute = int(match[1]), int(match[2] or 0)
    if match[3]:
        if not 1 <= hour <= 12:
            return typed
        hour = hour % 12 + (12 if match[3] == "p" else 0)
    if minute > 59 or hour * 60 + minute > 1440:
        return typed
    return plan_time(hour * 60 + minute + (1440 if match[4] else 0))


def stop_of(typed: str, start: str) -> str:
    """Return when a day stops: "1 am" is "01:00+1", as is any hour before 06:00 that is not after ``start``."""
    stop = time_of(typed)
    return f"{stop}+1" if re.fullmatch(r"0[0-5]:\d\d", stop) and stop <= time_of(start) else stop


def span_of(typed: str) -> str:
    """Return "1 pm to 1.30 pm" as "13:00-13:30"."""
    ends = re.split(r"\s*(?:[-–—]|\bto\b|\btill?\b|\buntil\b)\s*", typed.strip())
    return "-".join(map(time_of, ends)) if len(ends) == 2 else typed


def mix_of(typed: str) -> list[tuple[str, str]]:
    """Return "75 superwash merino, 25 nylon", "75/25 SW merino nylon" or "merino" as names with shares in %.

    A name alone has 100, one name without a share the rest; else its share is "?". A name said twice comes twice.
    """
    plain = re.sub(r"\bsw\b", "superwash", typed, flags=re.IGNORECASE)
    pieces = [piece.strip() for piece in re.split(_SHARE, plain)]
    shares = [share.replace(",", ".") for share in pieces[1::2]]
    between = [_names(piece) for piece in pieces[::2]]
    names = [name for each in between for name in each]
    if len(shares) > 1 and sum(map(bool, between)) == 1 and not any(between[1:-1]):  # all shares on one side
        names = names if len(names) == len(shares) else _fibres_in(" ".join(names), len(shares)) or names
        pairs = list(zip(names, shares, strict=False))
        return pairs if len(names) == len(shares) else [*pairs, ("?", "?")]
    behind = bool(between[0])  # "merino 75, nylon 25"
    pairs = []
    for n, own in enumerate(between):
        share = [*shares, ""][n] if behind else ["", *shares][n]
        bearer = len(own) - 1 if behind else 0
        pairs += [(name, share if m == bearer else "") for m, name in enumerate(own)]
        if share and not own:
            pairs.append(("?", share))
    left = 100 - sum(float(share) for _, share in pairs if share)
    rest = f"{left:g}" if [share for _, share in pairs].count("") == 1 and left > 0 else "?"
    return [(name, share or rest) for name, share in pairs]


def _names(typed: str) -> list[str]:
    return [name for part in _SEPARATORS.split(typed) if (name := " ".join(part.split()))]


def _fibres_in(typed: str, count: int) -> list[str]:
    """Return ``count`` known fibres that the words of ``typed`` are one after another, none where they are not."""
    words = typed.split()
    for cuts in combinations(range(1, min(len(words), 12)), count - 1):
        ends = (0, *cuts, len(words))
        names = [" ".join(words[a:b]) for a, b in pairwise(ends)]
        if all(map(fibres.find, names)):
            return names
    return []


def dyes_of(typed: str, known: Sequence[str]) -> list[tuple[str, str]]:
    """Return "Ochre 1.5, Navy" or "1.5 % Ochre and Navy" as dyes with depths in %, 1 where none is typed."""
    out: list[tuple[str, str]] = []
    for part in (part.strip() for part in re.split(r"(?<!\d),|,(?!\d)|[;+&]", typed)):
        if part:
            out += _dyes_in(part, known)
    return out


def _dyes_in(part: str, known: Sequence[str]) -> list[tuple[str, str]]:
    if _dye(part, known) in known or len(part) > LONGEST_PART:
        return [(_dye(part, known), "1")]
    alone = [(part, "1")]
    for way in _DYE_WITH_DEPTH:
        matches = list(re.finditer(way, part))
        dyes = [(_dye(match["dye"].strip(), known), _decimal(match["depth"])) for match in matches]
        if "".join(match[0] for match in matches) != part:
            continue
        if all(name in known for name, _ in dyes):
            return dyes
        alone = dyes if len(dyes) == 1 else alone
    halves = [half.strip() for half in re.split(r"\band\b", part)]
    return [dye for half in halves for dye in _dyes_in(half, known)] if len(halves) > 1 and all(halves) else alone


def _dye(name: str, known: Sequence[str]) -> str:
    begun = [dye for dye in known if dye.casefold().startswith(name.casefold())]
    exact = [dye for dye in begun if dye.casefold() == name.casefold()]
    return exact[0] if exact else begun[0] if len(begun) == 1 else name


def _decimal(depth: str) -> str:
    plain = depth.replace(",", ".")
    return f"0{plain}" if plain.startswith(".") else plain


@dataclass(frozen=True)
class CheckedForm:
    """``thing`` is what the reader made, None if it has problems; these are by field, "" for the whole."""

    thing: Any = None
    problems: Mapping[str, str] = field(default_factory=dict)
    beside: Mapping[str, str] = field(default_factory=dict)
    """what to say to the right of a field"""
    swatches: Mapping[str, str] = field(default_factory=dict)
    """"#rrggbb" to show beside a field"""
    advice: tuple[str, ...] = ()


def plain_toml(typed: str, form: FieldForm) -> str:
    """Return what a person typed as the TOML value that says it."""
    if form in (FieldForm.LIST, FieldForm.SPANS):
        parts = [part.strip() for part in re.split(r"[,;]", typed) if part.strip()]
        return toml([span_of(part) if form is FieldForm.SPANS else part for part in parts])
    if form is FieldForm.MIX:
        return shares_toml(mix_of(typed))
    if form is FieldForm.TIME:
        return text(time_of(typed))
    if form is FieldForm.VALUE and _NUMBER.fullmatch(typed):
        return typed.lstrip("0") if re.fullmatch(r"0+[1-9]\d*", typed) else re.sub(r"^(-?)0+(?=\d)", r"\1", typed)
    return text(typed)


def shares_toml(shares: Sequence[tuple[str, str]]) -> str:
    """Return names with numbers as a TOML table; a name that comes twice gets a space, for the reader to refuse."""
    out: dict[str, str] = {}
    for name, share in shares:
        out[name if name not in out else f"{name} "] = plain_toml(share, FieldForm.VALUE)
    return "{ " + ", ".join(f"{key_text(name)} = {share}" for name, share in out.items()) + " }" if out else "{}"


def as_typed(raw: object, form: FieldForm) -> str:
    """Return a TOML value as a person would type it."""
    if form in (FieldForm.LIST, FieldForm.SPANS) and isinstance(raw, list):
        return ", ".join(str(item) for item in raw)
    if form is FieldForm.MIX and isinstance(raw, dict):
        return ", ".join(f"{share:g} {name}" for name, share in raw.items())
    return (
        f"{raw:g}" if isinstance(raw, float) else _LONG_NUMBER.sub(lambda number: f"{float(number[0]):.4g}", str(raw))
    )


def table_toml(step: SetupStep, values: Values, rest: Mapping[str, str]) -> str:
    """Return the table of a step; ``rest`` are TOML values of keys that the form does not show."""
    head = f"[[{step.table}]]" if step.library_key else f"[{step.table}]"
    lines = [head, *(f"{key} = {value}" for key, value in rest.items())]
    for each in step.fields:
        typed = values.get(each.key, "").strip() or (each.usual if each.is_needed else "")
        if typed and each is STOP:
            typed = stop_of(typed, values.get(START.key, "").strip() or START.usual)
        if typed:
            typed = word_of(typed, each.words) if each.words and not each.many else typed
            lines.append(f"{each.key} = {plain_toml(typed, each.form)}")
    return "\n".join(lines) + "\n"


def judged_table(
    step: SetupStep, values: Values, rest: Mapping[str, str], library: Library, instead_of: str
) -> CheckedForm:
    """Return what the reader says of a step: a definition, or the `Studio` with it; numbers are rounded once."""
    judged = _judged(step, values, rest, library, instead_of)
    if judged.thing is None:
        return judged
    part: dict[str, Any] = {step.library_key: (judged.thing,)} if step.library_key else {"studio": judged.thing}
    edited, name = replace(library, **part), judged.thing.name if step.library_key else ""
    return replace(judged, thing=_judged(step, *typed_of(step, edited, name), edited, name).thing or judged.thing)


def _judged(
    step: SetupStep, values: Values, rest: Mapping[str, str], library: Library, instead_of: str
) -> CheckedForm:
    own = table_toml(step, values, rest)
    if step.table == "session":
        before, own = "", own + 'name = "-"\ndate = 2000-01-01\n'
    else:
        before = DAY
    if step.library_key:
        before += twin(step, values.get("name", "").strip(), library, instead_of)
    plan, problems = judge(before, own, library, step.table)
    if plan is None:
        fields = {each.key: each for each in step.fields}
        return CheckedForm(
            problems={key: _labelled(fields[key], what) if key in fields else what for key, what in problems.items()}
        )
    typed = ((each, values.get(each.key, "").strip()) for each in step.fields if each.words and not each.many)
    meant = ((each.key, text, word_of(text, each.words)) for each, text in typed if text)
    beside = {key: word for key, text, word in meant if word != text}
    if step.library_key:
        # What the plan uses from the library stands behind its own definitions.
        used = step.library_key in ("circuits", "bases", "dyes", "colourways")
        return CheckedForm(getattr(plan, step.library_key)[0 if used else -1], beside=beside)
    studio = library.studio or Studio()
    if step.table == "session" and plan.session.stop_min >= 24 * 60:
        beside[STOP.key] = "the next day"
    name = {"scale": "scale_g", "jug": "jug_ml"}.get(step.table, step.table)
    part: dict[str, Any] = {name: getattr(plan, name)}
    odd = water_advice(plan) if step.table == "water" else ()
    return CheckedForm(replace(studio, **part), beside=beside, advice=odd)


def _labelled(asked: Field, what: str) -> str:
    """Return what the reader says of a field with the form's label, and what is usual there as the example."""
    label = f"{asked.label}{what.removeprefix(asked.key)}" if what.startswith(asked.key) else what
    return re.sub(r"write it as '.*'", f"write it as '{asked.usual}'", label) if asked.usual[:1].isdigit() else label


def twin(step: SetupStep, name: str, library: Library, instead_of: str) -> str:
    """Return a table with a name that another definition has, so that the reader reports it."""
    names = {thing.name for thing in getattr(library, step.library_key)}
    return f"[[{step.table}]]\nname = {text(name)}\n" if name in names and name != instead_of else ""


def judge(before: str, own: str, library: Library, table: str) -> tuple[Plan | None, dict[str, str]]:
    """Return the plan in ``before`` and ``own``, or what is wrong by the dotted path of its key below ``table``.

    What the reader says of a table as a whole is under the key it asks for, else under "".
    """
    whole = before + own
    try:
        return read_plan(whole, library, without_orders=True), {}
    except PlanError as error:
        messages: dict[str, str] = {}
        paths = _paths(whole)
        for problem in error.problems:
            path = paths.get(problem.line, "") if problem.line > before.count("\n") else ""
            if asked := re.match(r"add (\w+) =", problem.hint):
                path = f"{path}.{asked[1]}".strip(".") if path.endswith("layer") or path[-1:].isdigit() else asked[1]
            what = problem.what.removeprefix(f"{table}.").removeprefix("layer.").removeprefix("sections.")
            message = f"{what}; {'type it here' if asked else problem.hint}"
            messages.setdefault(path, re.sub(r"\[\[(\w+)\]\]", r"\1", message))
        return None, messages


def _paths(whole: str) -> dict[int, str]:
    """Return by line the path below its table of the last key there: "holds", "layer.1", "sections.0"."""
    try:
        lines = TomlPositions(whole).lines
    except (ValueError, KeyError, IndexError):
        return {}
    out: dict[int, str] = {}
    for path, line in sorted(lines.items(), key=lambda item: len(item[0])):
        skip = 2 if len(path) > 1 and isinstance(path[1], int) else 1
        inner = ".".join(str(part) for part in path[skip:])
        if line not in out or not out[line]:
            out[line] = inner
    return out


def typed_of(step: SetupStep, library: Library, name: str) -> tuple[Values, dict[str, str]]:
    """Return what one would type for what is kept, and the TOML values of keys the form does not show."""
    raw = kept_table(step, library, name)
    if step.table == "session":
        usual = {each.key: each.usual for each in (START, STOP)}
        raw = {key: value for key, value in raw.items() if key not in ("name", "date") and value != usual.get(key)}
    shown: dict[str, Field] = {each.key: each for each in step.fields}
    values = {key: as_typed(value, shown[key].form) for key, value in raw.items() if key in shown}
    return values, {key: toml(value) for key, value in raw.items() if key not in shown}


def kept_table(step: SetupStep, library: Library, name: str) -> dict[str, Any]:
    """Return the raw table of a kept definition, or of a part of the studio; empty where it is not kept."""
    things = [thing for thing in getattr(library, step.library_key) if thing.name == name] if step.library_key else []
    if not (things if step.library_key else library.studio):
        return {}
    studio = library.studio or Studio()
    plan = Plan(studio.session, water=studio.water, acid=studio.acid, scale_g=studio.scale_g, jug_ml=studio.jug_ml)
    if step.library_key:
        only: dict[str, Any] = {step.library_key: tuple(things)}
        plan = replace(plan, **only)
    tables = tomllib.loads(plan_text(plan)).get(step.table, {})
    return dict(tables[0] if isinstance(tables, list) else tables)
