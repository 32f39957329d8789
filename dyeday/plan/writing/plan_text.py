"""A whole plan, or some tables of one, as TOML text that reads back the same; for what the program itself writes.

Only what differs from its default is written, each quantity with its unit, so that a person can go on from it.
Comments of a plan somebody wrote are not in the model, so they are not here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import MISSING, fields
from datetime import date as Date  # noqa: N812 - the class is called date
from math import inf, nextafter

from dyeday.craft.dye.dye_classes import PH_OF_CLASS
from dyeday.craft.water.acids import AcidKind
from dyeday.plan.defaults import ACID_PCT, usual_layer
from dyeday.plan.model import (
    Acid,
    Base,
    Chore,
    Circuit,
    Colourway,
    Dye,
    Extra,
    HandBatch,
    Kit,
    Layer,
    Money,
    Order,
    Plan,
    Section,
    Session,
    Water,
)
from dyeday.plan.reading.table_reader import E
from dyeday.plan.rules import Rules, usual_rules
from dyeday.plan.writing.toml_values import Value, clock, key_text, number, quantity, text, toml
from dyeday.terms import KIT_TRAITS, CoolWhere, ExtraPer, Form, How, Look, PhWith, Serves, UnitSystem

RULE_UNITS = {
    "acid_share": "%", "soak": "min", "open": "min", "lidded": "min", "wrapped": "min", "fix_share": "%",
    "exhaustion": "%", "shock": "°C", "felting": "°C", "dry": "%", "reserve": "%", "overdue": "min",
    "overdue_after": "min", "steam_over": "min", "re_alarm": "min", "ph_limit": "", "ph_low": "", "scorch_factor": "",
    "cloth": "", "look": "",
}  # fmt: skip
Pairs = Iterator[tuple[str, str | None]]
"""(key, TOML value), None where the key is left out"""


def plan_text(plan: Plan, hand: tuple[HandBatch, ...] = ()) -> str:
    """Return ``plan`` as TOML, its batches as ``hand`` has them."""
    tables: list[tuple[str, Pairs]] = [
        ("[session]", _session(plan.session)),
        ("[water]", _water(plan.water)),
        ("[acid]", _acid(plan.acid)),
        ("[rules]", _rules(plan.rules, plan.acid.ph_with)),
        ("[scale]", iter([("resolution", quantity(plan.scale_g, "g"))])),
        ("[jug]", iter([("resolution", quantity(plan.jug_ml, "mL"))])),
        ("[air]", iter([("temperature", quantity(plan.air_temperature_c, "°C")),
                        ("humidity", quantity(plan.air_humidity_pct, "%")),
                        ("altitude", quantity(plan.altitude_m, "m"))])),
        ("[money]", _money(plan.money)),
    ]  # fmt: skip
    tables += [("[[circuit]]", _circuit(item)) for item in plan.circuits]
    tables += [("[[kit]]", _kit(item)) for item in plan.kit]
    tables += [("[[base]]", _base(item)) for item in plan.bases]
    tables += [("[[dye]]", _dye(item)) for item in plan.dyes]
    parts = [_table(head, pairs) for head, pairs in tables]
    parts += [colourway_text(item) for item in plan.colourways]
    rest: list[tuple[str, Pairs]] = [("[[chore]]", _chore(item)) for item in plan.chores]
    rest += [("[[extra]]", _extra(item)) for item in plan.extras]
    rest += [("[[order]]", _order(item)) for item in plan.orders]
    rest += [("[[batch]]", _batch(item)) for item in hand]
    parts += [_table(head, pairs) for head, pairs in rest]
    return "\n".join(part for part in parts if part)


def order_text(order: Order) -> str:
    """Return an ``[[order]]`` table."""
    return _table("[[order]]", _order(order))


def order_table(order: Order) -> dict[str, Value]:
    """Return the keys of an order's table, whatever keys an order may have; those left out that say the default."""
    given = {field.name: getattr(order, field.name) for field in fields(Order) if field.default is MISSING}
    rest = {field.name: getattr(order, field.name) for field in fields(Order) if field.default is not MISSING}
    usual = {field.name: field.default for field in fields(Order)}
    return given | {key: value for key, value in rest.items() if value != usual[key]}


def base_text(base: Base) -> str:
    """Return a ``[[base]]`` table."""
    return _table("[[base]]", _base(base))


def dye_text(dye: Dye) -> str:
    """Return a ``[[dye]]`` table."""
    return _table("[[dye]]", _dye(dye))


def _spans(spans: tuple[tuple[int, int], ...]) -> str | None:
    return "[" + ", ".join(text(f"{clock(a)}-{clock(b)}") for a, b in spans) + "]" if spans else None


def _table(head: str, pairs: Pairs) -> str:
    lines = [f"{key} = {value}" for key, value in pairs if value is not None]
    if not lines and not head.startswith("[["):
        return ""
    return "\n".join([head, *lines]) + "\n"


def _opt(value: str, default: str = "") -> str | None:
    return None if value == default else text(value)


def _term(value: E, default: E) -> str | None:
    return None if value is default else text(value.value)


def _num(value: float | None, default: float | None = None) -> str | None:
    return None if value is None or value == default else number(value)


def _day(value: Date | None) -> str | None:
    return value.isoformat() if value is not None else None


def _session(s: Session) -> Pairs:
    yield "name", text(s.name)
    yield "date", s.date.isoformat()
    yield "start", text(clock(s.start_min))
    yield "stop", text(clock(s.stop_min))
    yield "tomorrow", _spans(s.tomorrow)
    yield "breaks", _spans(s.breaks)
    yield "zone", text(s.zone) if s.zone else None
    yield "hands", _num(s.hands, 1)
    yield "serves", _term(s.serves, Serves.BY_STOP)
    yield "units", _term(s.units, UnitSystem.METRIC)
    yield "screen_height", quantity(s.screen_height_mm, "mm")


def _water(w: Water) -> Pairs:
    yield "alkalinity", quantity(w.alkalinity_mg_l, "mg/L")
    yield "hardness", quantity(w.hardness_mg_l, "mg/L")
    yield "temperature", quantity(w.temperature_c, "°C", 15.0)
    yield "rinse_temperature", quantity(w.rinse_temperature_c, "°C", w.temperature_c)


def _acid(a: Acid) -> Pairs:
    yield "kind", _term(a.kind, AcidKind.VINEGAR)
    yield "strength", quantity(a.strength_pct, "%", ACID_PCT.get(a.kind))
    yield "target_ph", _num(a.target_ph, 4.5)
    yield "ph_with", _term(a.ph_with, PhWith.STRIP)
    yield "on_hand", quantity(a.on_hand, a.unit)
    yield "fibre_takes", _num(a.fibre_takes_mmol_per_g)
    yield "price", _num(a.price)


def _rules(r: Rules, ph_with: PhWith) -> Pairs:
    usual = usual_rules(ph_with)
    for field in fields(Rules):
        value, default = getattr(r, field.name), getattr(usual, field.name)
        if isinstance(value, str):
            yield field.name, _opt(value, default)
        elif isinstance(value, Look):
            yield field.name, _opt(value.value, default.value)
        else:
            yield field.name, quantity(value, RULE_UNITS[field.name], default)


def _money(m: Money) -> Pairs:
    yield "currency", _opt(m.currency)
    yield "energy", _num(m.energy_per_kwh)
    yield "hands", _num(m.hands_per_h)


def _circuit(c: Circuit) -> Pairs:
    yield "name", text(c.name)
    yield "volts", number(c.volts)
    yield "amps", number(c.amps)
    yield "continuous_share", _num(c.continuous_share)
    yield "lead_amps", _num(c.lead_amps)


def _kit(k: Kit) -> Pairs:
    yield "name", text(k.name)
    yield "kind", text(k.kind.value)
    yield "units", _num(k.units, 1)
    yield "holds", _num(k.holds_skeins) if k.holds_skeins is not None else quantity(k.holds_g, "g")
    yield "power", quantity(k.power_w, "W")
    yield "output", quantity(k.output_w, "W")
    yield "circuit", text(k.circuit) if k.circuit else None
    yield "tank", quantity(k.tank_l, "L")
    yield "lasts", quantity(k.lasts_min, "min")
    yield "warm_up", quantity(k.warm_up_min, "min", KIT_TRAITS[k.kind].warm_up_min)
    yield "load", quantity(k.load_min, "min", 2.0)
    yield "unload", quantity(k.unload_min, "min", 2.0)


def _base(b: Base) -> Pairs:
    yield "name", text(b.name)
    yield "fibre", "{ " + ", ".join(f"{key_text(name)} = {number(share)}" for name, share in b.fibre) + " }"
    yield "skein", quantity(b.skein_g, "g")
    yield "length", quantity(b.length_m, "m")
    yield "form", _term(b.form, Form.SKEIN)
    yield "soak", quantity(b.soak_min, "min")
    yield "on_hand", _num(b.on_hand)
    yield "price", _num(b.price)
    yield "sells", _num(b.sells)
    yield "care", _opt(b.care)


def _dye(d: Dye) -> Pairs:
    yield "name", text(d.name)
    yield "solution", quantity(d.solution_pct, "%", 1.0)
    yield "on_hand", quantity(d.on_hand_g, "g")
    yield "price", _num(d.price_per_g)
    yield "min_steam", quantity(d.min_steam_min, "min")
    yield "expected_exhaustion", quantity(d.expected_exhaustion_pct, "%")
    yield "class", _opt(d.dye_class)
    if (d.ph_low, d.ph_high) != PH_OF_CLASS.get(d.dye_class, (None, None)):
        yield "ph", text(f"{number(d.ph_low or 0)}-{number(d.ph_high or 0)}")
    if d.bottle_ml or d.bottle_pct is not None or d.bottle_made is not None:
        inner = [("left", quantity(d.bottle_ml, "mL")), ("strength", quantity(d.bottle_pct, "%"))]
        inner.append(("made", _day(d.bottle_made)))
        yield "bottle", "{ " + ", ".join(f"{key} = {value}" for key, value in inner if value is not None) + " }"


def colourway_text(c: Colourway) -> str:
    """Return a ``[[colourway]]`` table, with its layers in tables of their own where there are several."""
    head = [("name", text(c.name)), ("rinse", quantity(c.rinse_min_per_100g, "min", 2.0))]
    head += [("dry", quantity(c.dry_h, "h", 24.0))]
    head += [("steps", "[" + ", ".join(text(step) for step in c.steps) + "]" if c.steps else None)]
    if len(c.layers) == 1:
        return _table("[[colourway]]", iter([*head, *_layer(c.layers[0], 0)]))
    layers = [_table("[[colourway.layer]]", _layer(layer, n)) for n, layer in enumerate(c.layers)]
    return "\n".join([_table("[[colourway]]", iter(head)), *layers])


def _layer(x: Layer, index: int) -> Pairs:
    usual = usual_layer(x.how)
    yield "how", _term(x.how, How.PAINTED)
    yield "minutes", quantity(x.minutes_per_100g, "min", 6.0)
    yield "setup", quantity(x.setup_min, "min", 0.0)
    if x.how is How.IMMERSED:
        yield "liquor", quantity(_l_per_kg(x.liquor_ml_per_100g), "L/kg", _l_per_kg(usual.liquor_ml_per_100g))
    else:
        yield "liquor", quantity(x.liquor_ml_per_100g, "mL", usual.liquor_ml_per_100g)
    yield "powder", quantity(x.powder_g_per_100g, "g")
    yield "sections", _sections(x.sections)
    yield "fix", "[" + ", ".join(text(f"{step.how.value} {number(step.minutes)} min") for step in x.fix) + "]"
    yield "cover", _term(x.cover, usual.cover)
    # Outright in a later layer, it asks for a soak of its own.
    said = x.acid_in != usual.acid_in or (index > 0 and x.new_soak)
    yield "acid_in", text(x.acid_in.value) if said else None
    yield "cool", quantity(x.cool_min, "min", usual.cool_min)
    yield "cool_where", _term(x.cool_where, CoolWhere.OUT)
    yield "target_ph", _num(x.target_ph)


def _l_per_kg(ml_per_100g: float) -> float:
    """Return the L/kg that a plan's reader makes exactly ``ml_per_100g`` of."""
    near = ml_per_100g / 100
    return next((x for x in (near, nextafter(near, inf), nextafter(near, -inf)) if x * 100 == ml_per_100g), near)


def _sections(sections: tuple[Section, ...]) -> str:
    out = []
    for section in sections:
        dyes = ", ".join(f"{key_text(name)} = {number(amount)}" for name, amount in section.dyes)
        swatch = f" swatch = {text(section.swatch)}," if section.swatch else ""
        out.append(f"  {{ share = {number(section.share_pct)},{swatch} dyes = {{ {dyes} }} }},")
    return "\n".join(["[", *out, "]"])


def _chore(c: Chore) -> Pairs:
    yield "name", text(c.name)
    yield "minutes", number(c.minutes)
    yield "per", text(c.per.value)
    yield "when", text(c.when.value)


def _extra(e: Extra) -> Pairs:
    yield "name", text(e.name)
    yield "amount", quantity(e.amount, e.unit)
    yield "per", _term(e.per, ExtraPer.BATCH)
    yield "on_hand", quantity(e.on_hand, e.unit)
    yield "price", _num(e.price)


def _order(o: Order) -> Pairs:
    yield from ((key, toml(value)) for key, value in order_table(o).items())


def _batch(b: HandBatch) -> Pairs:
    yield "no", text(b.no) if b.no else None
    yield "order", text(b.order) if b.order else None
    yield "colourway", _opt(b.colourway)
    yield "base", _opt(b.base)
    yield "skeins", _num(b.skeins)
    yield "tag", _opt(b.tag)
    yield "carried", _opt(b.carried)
