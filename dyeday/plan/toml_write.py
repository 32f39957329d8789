"""Plain values of the model as tables of a plan: what `dyeday.plan.read` reads back as the same values.

Only what differs from a key's default is written, so that the result reads like a plan written by hand.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from datetime import date
from math import inf, nextafter

from dyeday.plan.model import Base, Colourway, Dye, FixStep, Layer, Order, Section


def text_of(value: str) -> str:
    """Return a TOML basic string. JSON's escapes are all among TOML's."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def number_of(value: float) -> str:
    """Return a number so that reading it gives exactly this float again."""
    return str(int(value)) if float(value).is_integer() and abs(value) < 1e15 else repr(float(value))


def _key(key: str, value: object, default: object = None) -> Iterator[str]:
    if value is None or value == default:
        return
    if isinstance(value, bool):
        said = "true" if value else "false"
    elif isinstance(value, (int, float)):
        said = number_of(value)
    elif isinstance(value, date):
        said = value.isoformat()
    else:
        said = text_of(str(value))
    yield f"{key} = {said}"


def order_toml(order: Order) -> str:
    """Return an ``[[order]]`` table."""
    lines = ["[[order]]", f"item = {text_of(order.item)}", f"colourway = {text_of(order.colourway)}"]
    lines += [f"base = {text_of(order.base)}", f"skeins = {order.skeins}"]
    for key, default in (("due", None), ("priority", 5), ("match", False), ("spare", 0), ("price", None)):
        lines += _key(key, getattr(order, key), default)
    return "\n".join(lines) + "\n"


def base_toml(base: Base) -> str:
    """Return a ``[[base]]`` table, without what is on hand of it."""
    mix = ", ".join(f"{text_of(name)} = {number_of(share)}" for name, share in base.fibre)
    lines = ["[[base]]", f"name = {text_of(base.name)}", f"fibre = {{ {mix} }}", f"skein = {number_of(base.skein_g)}"]
    lines += [*_key("length", base.length_m), *_key("form", base.form, "skein"), *_key("soak", base.soak_min)]
    lines += [*_key("price", base.price), *_key("sells", base.sells), *_key("care", base.care, "")]
    return "\n".join(lines) + "\n"


def dye_toml(dye: Dye) -> str:
    """Return a ``[[dye]]`` table, without what is on hand of it and in its bottle."""
    lines = ["[[dye]]", f"name = {text_of(dye.name)}", *_key("solution", dye.solution_pct, 1.0)]
    lines += [*_key("price", dye.price_per_g), *_key("min_steam", dye.min_steam_min)]
    lines += _key("expected_exhaustion", dye.expected_exhaustion_pct)
    return "\n".join(lines) + "\n"


def colourway_toml(colourway: Colourway) -> str:
    """Return a ``[[colourway]]`` table, with its layers in tables of their own where there are several."""
    lines = ["[[colourway]]", f"name = {text_of(colourway.name)}"]
    lines += [*_key("rinse", colourway.rinse_min_per_100g, 2.0), *_key("dry", colourway.dry_h, 24.0)]
    if colourway.steps:
        lines.append("steps = [" + ", ".join(text_of(step) for step in colourway.steps) + "]")
    if len(colourway.layers) == 1:
        lines += _layer(colourway.layers[0], 0)
    else:
        for index, layer in enumerate(colourway.layers):
            lines += ["", "[[colourway.layer]]", *_layer(layer, index)]
    return "\n".join(lines) + "\n"


def _layer(layer: Layer, index: int) -> Iterator[str]:
    immersed = layer.how == "immersed"
    yield from _key("how", layer.how, "painted")
    # A later layer asks for a soak of its own by naming where its acid is, so there it is left out or said outright.
    acid_default = "bath" if immersed else "soak"
    if layer.acid_in != acid_default or (index > 0 and layer.new_soak):
        yield f"acid_in = {text_of(layer.acid_in)}"
    yield from _key("minutes", layer.minutes_per_100g, 6.0)
    yield from _key("setup", layer.setup_min, 0.0)
    liquor = _divided(layer.liquor_ml_per_100g) if immersed else layer.liquor_ml_per_100g
    yield from _key("liquor", liquor, 20.0 if immersed else 90.0)
    yield from _key("powder", layer.powder_g_per_100g)
    yield from _key("cover", layer.cover, "lidded" if immersed else "wrapped")
    yield from _key("cool", layer.cool_min, 300.0 if immersed else 60.0)
    yield from _key("cool_where", layer.cool_where, "out")
    yield from _sections(layer.sections)
    yield "fix = [" + ", ".join(text_of(_step(step)) for step in layer.fix) + "]"


def _divided(ml_per_100g: float) -> float:
    """Return the L/kg that a plan's reader makes exactly ``ml_per_100g`` of."""
    near = ml_per_100g / 100
    return next((x for x in (near, nextafter(near, inf), nextafter(near, -inf)) if x * 100 == ml_per_100g), near)


def _step(step: FixStep) -> str:
    return f"{step.how} {number_of(step.minutes)} min"


def _sections(sections: Sequence[Section]) -> Iterator[str]:
    yield "sections = ["
    for section in sections:
        dyes = ", ".join(f"{text_of(name)} = {number_of(amount)}" for name, amount in section.dyes)
        swatch = f"swatch = {text_of(section.swatch)}, " if section.swatch else ""
        yield f"  {{ share = {number_of(section.share_pct)}, {swatch}dyes = {{ {dyes} }} }},"
    yield "]"
