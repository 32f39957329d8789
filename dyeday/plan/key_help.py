"""What `dyeday help plan` prints: every key with its unit, bounds, default and meaning, from the schema."""

from __future__ import annotations

from collections.abc import Iterator
from enum import Enum

from dyeday.plan import model
from dyeday.plan.rules import Rules
from dyeday.plan.schema import Entry, entries, symbol

TABLES: dict[str, type] = {
    "[session]": model.Session, "[water]": model.Water, "[acid]": model.Acid, "[scale]": model.Plan,
    "[jug]": model.Plan, "[air]": model.Plan, "[money]": model.Money, "[[circuit]]": model.Circuit,
    "[[kit]]": model.Kit, "[[base]]": model.Base, "[[dye]]": model.Dye, "[[colourway]]": model.Colourway,
    "[[colourway.layer]]": model.Layer, "[[chore]]": model.Chore, "[[extra]]": model.Extra,
    "[[order]]": model.Order, "[[batch]]": model.HandBatch, "[rules]": Rules,
}  # fmt: skip
"""the tables of a plan, in the order in which a plan has them"""


def keys_of(table: str) -> Iterator[Entry]:
    """Yield the keys of a table of `TABLES`."""
    cls = TABLES[table]
    inner = table.strip("[]") if cls is model.Plan else ""
    yield from (entry for entry in entries(cls) if entry.key.table == inner)


def plan_help() -> Iterator[str]:
    """Yield the lines: a table, then its keys; those that a table needs say so."""
    yield "A plan is a TOML file. [name] is a table you write once, [[name]] one you may write many times."
    yield 'Every amount may have its unit: "60 mL", "2 oz", "1.5 h"; a number alone is in the unit given here.'
    for table in TABLES:
        yield ""
        yield table
        yield from (f"  {entry.name}: {about(entry)}" for entry in keys_of(table))


def about(entry: Entry) -> str:
    """Return a key's meaning with its unit, bounds and default."""
    key = entry.key
    inner = "; ".join(part for part in (_values(entry), "needed" if entry.needed else _usual(entry)) if part)
    return f"{key.means} ({inner})" if inner else key.means


def _values(entry: Entry) -> str:
    """Return what may stand there: words, or a unit and bounds."""
    key, kind = entry.key, entry.kind
    if key.clock:
        return 'a time, "HH:MM"'
    if key.words:
        return ", ".join(f'"{word}"' for word in key.words)
    if isinstance(kind, type) and issubclass(kind, Enum):
        return ", ".join(f'"{member.value}"' for member in kind)
    if kind not in (int, float) or (key.own and not key.unit):
        return ""
    bounds = f"{key.low:.12g} to {key.high:.12g}" if key.high is not None and key.high < 1e5 else ""
    return ", ".join(filter(None, (symbol(key.unit), bounds)))


def _usual(entry: Entry) -> str:
    if usually := entry.key.usually:
        return usually if usually.startswith("needed") else f"default {usually}"
    if (value := entry.default) is None or value == "" or value == ():
        return ""
    if isinstance(value, Enum):
        return f'default "{value.value}"'
    if isinstance(value, bool):
        return f"default {str(value).lower()}"
    unit = f" {symbol(entry.key.unit)}" if entry.key.unit else ""
    return f'default "{value}"' if isinstance(value, str) else f"default {value:g}{unit}"
