"""Values as TOML writes them: names, numbers, quantities with their unit, dates, times of day, lists and tables."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from typing import Any

Value = str | int | float | bool | date
_BARE = re.compile(r"[A-Za-z0-9_-]+")


def toml(value: Any) -> str:
    """Return any TOML data as one TOML value, on one line."""
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key_text(key)} = {toml(item)}" for key, item in value.items()) + " }"
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(toml, value))}]"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, date):
        return value.isoformat()
    return text(value) if isinstance(value, str) else number(value)


def text(value: str) -> str:
    """Return a TOML string."""
    out = value.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(f"\\u{ord(c):04x}" if ord(c) < 0x20 or ord(c) == 0x7F else c for c in out) + '"'


def number(value: float) -> str:
    """Return the shortest TOML number that reads back as the same float."""
    return str(int(value)) if float(value).is_integer() and abs(value) < 1e15 else repr(float(value))


def quantity(value: float | None, unit: str, default: float | None = None) -> str | None:
    """Return an amount with its unit, None where it is the default."""
    if value is None or value == default:
        return None
    return text(f"{number(value)} {unit}") if unit else number(value)


def key_text(name: str) -> str:
    """Return a key, in quotes where it needs them."""
    return name if _BARE.fullmatch(name) else text(name)


def plan_time(minutes: int) -> str:
    """Return minutes from midnight as a plan writes them: "09:00", "01:30+1"."""
    days, rest = divmod(minutes, 1440)
    return f"{rest // 60:02d}:{rest % 60:02d}" + (f"+{days}" if days else "")
