"""A small sound plan to change one key at a time, and what reading it gives."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.reading.problems import PlanError, Problem

ARRAYS = ("circuit", "kit", "base", "dye", "colourway", "chore", "order", "batch")
SMALL: dict[str, dict[str, str]] = {
    "session": {"name": '"Saturday"', "date": "2026-03-14", "start": '"09:00"', "stop": '"17:30"'},
    "water": {},
    "acid": {},
    "rules": {},
    "scale": {},
    "jug": {},
    "air": {},
    "circuit": {"name": '"worktop"', "volts": "230", "amps": "16"},
    "kit": {"name": '"tray"', "kind": '"tray"', "holds": "4"},
    "base": {"name": '"Sock"', "fibre": '{ "superwash wool" = 75, nylon = 25 }', "skein": '"100 g"'},
    "dye": {"name": '"Peat"'},
    "colourway": {
        "name": '"Bog"',
        "sections": '[{ share = 100, swatch = "#5b4632", dyes = { "Peat" = 1.0 } }]',
        "fix": '["steam 40 min"]',
    },
    "chore": {},
    "order": {"item": '"Shop"', "colourway": '"Bog"', "base": '"Sock"', "skeins": "4"},
    "batch": {},
}


def plan_text(changes: Mapping[str, str | None] | None = None, more: str = "") -> str:
    """Return the small plan with "table.key" set to TOML, or left out where it is None, and ``more`` after it."""
    tables = {name: dict(keys) for name, keys in SMALL.items()}
    for where, value in (changes or {}).items():
        table, key = where.split(".", 1)
        if value is None:
            del tables[table][key]
        else:
            tables[table][key] = value
    lines = []
    for name, keys in tables.items():
        if keys:
            lines.append(f"[[{name}]]" if name in ARRAYS else f"[{name}]")
            lines += [f"{key} = {value}" for key, value in keys.items()]
            lines.append("")
    return "\n".join(lines) + more


def plan(changes: Mapping[str, str | None] | None = None, more: str = "") -> Plan:
    """Return the small plan, changed, as it is read."""
    return read_plan(plan_text(changes, more))


def problems_of(text: str) -> tuple[Problem, ...]:
    """Return every problem of a text that is not a plan."""
    with pytest.raises(PlanError) as caught:
        read_plan(text)
    return caught.value.problems


def the_problem(changes: Mapping[str, str | None] | None = None, more: str = "") -> Problem:
    """Return the one problem of the small plan, changed; fails where there are more."""
    found = problems_of(plan_text(changes, more))
    assert len(found) == 1, [str(problem) for problem in found]
    return found[0]


def line_of(text: str, fragment: str) -> int:
    """Return the line on which ``fragment`` first stands."""
    return next(n for n, line in enumerate(text.splitlines(), 1) if fragment in line)
