"""A plan, or some of its tables, as TOML text that reads back the same; for texts that the program writes.

Only what differs from its default is written, each quantity with its unit. Comments are not in the model.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from enum import Enum
from math import inf, nextafter
from typing import Any

from dyeday.craft.dye.dye_classes import PH_OF_CLASS
from dyeday.craft.water.alkalinity import MG_L_CACO3_PER
from dyeday.plan.key_help import TABLES
from dyeday.plan.model import AIMS, Acid, Colourway, Dye, HandBatch, Layer, Order, Plan, Section, Session
from dyeday.plan.recipe import usual_layer
from dyeday.plan.rules import usual_rules
from dyeday.plan.schema import Entry, entries, symbol
from dyeday.plan.writing.toml_values import Value, number, plan_time, quantity, text, toml
from dyeday.terms import DayAim, DosePer, DyeMethod

MOST_DECIMALS = 4
"""of a water report or a drop test; more come from another unit"""
Pairs = Iterator[tuple[str, str]]
"""(key, TOML value)"""


def plan_text(plan: Plan, hand: tuple[HandBatch, ...] = ()) -> str:
    """Return ``plan`` as TOML, its batches as ``hand`` has them."""
    parts = [
        _table("[session]", pairs(plan.session)),
        _table("[water]", pairs(plan.water)),
        _table("[acid]", pairs(plan.acid)),
        _table("[rules]", pairs(plan.rules, like=usual_rules(plan.acid.ph_with))),
        *(_table(f"[{table}]", pairs(plan, table=table)) for table in ("scale", "jug", "air")),
        _table("[money]", pairs(plan.money)),
    ]
    many = (*plan.circuits, *plan.kit, *plan.bases, *plan.dyes, *plan.colourways, *plan.chores, *plan.extras)
    parts += [item_text(item) for item in (*many, *plan.orders, *hand)]
    return "\n".join(part for part in parts if part)


def order_table(order: Order) -> dict[str, Value]:
    """Return the keys of an order's table without defaults."""
    values = ((entry, getattr(order, entry.field)) for entry in entries(Order))
    return {entry.name: value for entry, value in values if entry.needed or value != entry.default}


def item_text(item: Any) -> str:
    """Return the table of a dye, an order or another of several; a colourway's layers have their own if several."""
    head = _HEADS[type(item)]
    if not isinstance(item, Colourway):
        return _table(head, pairs(item))
    if len(item.layers) == 1:
        return _table(head, [*pairs(item), *_layer(item.layers[0], 0)])
    layers = [_table("[[colourway.layer]]", _layer(layer, n)) for n, layer in enumerate(item.layers)]
    return "\n".join([_table(head, pairs(item)), *layers])


_HEADS = {cls: head for head, cls in TABLES.items()}


def _layer(layer: Layer, index: int) -> Pairs:
    # Outright in a later layer, it asks for a soak of its own.
    return pairs(layer, always=("acid_in",) if index and layer.own_acid_soak else ())


def _table(head: str, lines: Iterable[tuple[str, str]]) -> str:
    written = [f"{key} = {value}" for key, value in lines]
    if not written and not head.startswith("[["):
        return ""
    return "\n".join([head, *written]) + "\n"


def pairs(item: Any, *, table: str = "", like: object = None, always: Collection[str] = ()) -> Pairs:
    """Yield the keys of ``item`` that differ from the default, or from ``like``."""
    kind: Any = type(item)
    keys = entries(kind)
    values = {entry.field: getattr(item, entry.field) for entry in keys}
    for entry in keys:
        value = values[entry.field]
        if entry.key.table != table:
            continue
        if entry.key.own and entry.field in OWN:
            written = OWN[entry.field](item)
        elif entry.needed or entry.key.always or entry.field in always:
            written = _value(entry, value)
        else:
            usual = entry.usual(values) if like is None else getattr(like, entry.field)
            written = None if value == usual or value is None else _value(entry, value)
        if written is not None:
            yield entry.name, written


def _value(entry: Entry, value: Any) -> str:
    if entry.key.clock:
        return text(plan_time(value))
    if isinstance(value, tuple):
        return toml([item if isinstance(item, str) else "-".join(map(plan_time, item)) for item in value])
    if isinstance(value, Enum):
        return text(str(value.value))
    if entry.key.unit:
        if entry.name != "alkalinity":
            return text(_in_unit(value, symbol(entry.key.unit)))
        # Its mmol/L would be read as meq/L.
        return text(_in_unit(value, "mg/L", but="mmol/L").replace("°dH", "dKH"))
    return toml(value)


def _in_unit(value: float, unit: str, but: str = "") -> str:
    """Return a number with its unit: a value of water that was typed in another one, as 11 °dH, in that again.

    Not in the unit ``but``.
    """
    if unit == "mg/L" and value != round(value, MOST_DECIMALS):
        names = (name for name in MG_L_CACO3_PER if name != but)
        typed = ((round(value / MG_L_CACO3_PER[name], MOST_DECIMALS), name) for name in names)
        value, unit = next(((x, name) for x, name in typed if x * MG_L_CACO3_PER[name] == value), (value, unit))
    return f"{number(value)} {unit}"


def _ph(d: Dye) -> str | None:
    if (d.ph_low, d.ph_high) == PH_OF_CLASS.get(d.dye_class, (None, None)):
        return None
    return text(f"{number(d.ph_low or 0)}-{number(d.ph_high or 0)}")


def _bottle(d: Dye) -> str | None:
    if not d.bottle_ml and d.bottle_pct is None and d.bottle_made is None:
        return None
    made = d.bottle_made.isoformat() if d.bottle_made is not None else None
    inner = [("left", quantity(d.bottle_ml, "mL")), ("strength", quantity(d.bottle_pct, "%")), ("made", made)]
    return "{ " + ", ".join(f"{key} = {value}" for key, value in inner if value is not None) + " }"


def _liquor(x: Layer) -> str | None:
    usual = usual_layer(x.how).liquor_ml_per_100g
    if x.how is DyeMethod.IMMERSED:
        return quantity(_l_per_kg(x.liquor_ml_per_100g), "L/kg", _l_per_kg(usual))
    return quantity(x.liquor_ml_per_100g, "mL", usual)


def _l_per_kg(ml_per_100g: float) -> float:
    """Return the L/kg that a plan's reader makes exactly ``ml_per_100g`` of."""
    near = ml_per_100g / 100
    return next((x for x in (near, nextafter(near, inf), nextafter(near, -inf)) if x * 100 == ml_per_100g), near)


def _sections(sections: tuple[Section, ...]) -> str:
    out = []
    for section in sections:
        swatch = f" swatch = {text(section.swatch)}," if section.swatch else ""
        out.append(f"  {{ share = {number(section.share_pct)},{swatch} dyes = {toml(dict(section.dyes))} }},")
    return "\n".join(["[", *out, "]"])


def _aim(s: Session) -> str | None:
    return None if s.aim is DayAim.BY_STOP else text(next(words for words, aim in AIMS.items() if aim is s.aim))


def _dose(a: Acid) -> str | None:
    if a.dose is None:
        return None
    per = {DosePer.PER_100_G: f"{a.unit} per 100 g", DosePer.WOF: "% WOF", DosePer.LITRE: f"{a.unit}/L"}[a.dose_per]
    return quantity(a.dose, per)


OWN: dict[str, Callable[[Any], str | None]] = {
    "holds_skeins": lambda x: number(x.holds_skeins) if x.holds_skeins is not None else quantity(x.holds_g, "g"),
    "fibre": lambda x: toml(dict(x.fibre)),
    "ph_low": _ph,
    "bottle_ml": _bottle,
    "layers": lambda _: None,
    "sections": lambda x: _sections(x.sections),
    "fix": lambda x: toml([f"{step.how.value} {number(step.minutes)} min" for step in x.fix]),
    "liquor_ml_per_100g": _liquor,
    "amount": lambda x: quantity(x.amount, x.unit),
    "on_hand": lambda x: quantity(x.on_hand, x.unit),
    "aim": _aim,
    "dose": _dose,
    "down": lambda x: toml(x.down) if x.down else None,
}
"""by field, the writer of a key that is more than one plain value"""
