"""A colourway as it is typed: layers of sections whose shares always add up, with the grams for one skein."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from dyeday.bench.setup.form_toml import DAY, CheckedForm, Values, judge, kept_table, plain_toml, shares_toml, twin
from dyeday.bench.setup.steps import COLOURWAYS
from dyeday.bench.setup.typed_words import dyes_of, word_of
from dyeday.bench.setup.usual import PALETTE
from dyeday.grouping import grouped
from dyeday.plan.library import Library, by_name
from dyeday.plan.lint import advice
from dyeday.plan.recipe import layer_dyes
from dyeday.plan.weigh_out import layer_liquor, no_room_in
from dyeday.plan.writing.toml_values import number, text, toml
from dyeday.terms import CoolWhere, DyeMethod

HOWS = tuple(how.value for how in DyeMethod)
COOLS = tuple(where.value for where in CoolWhere)
MOST_LAYERS, MOST_SECTIONS = 9, 40
SKEIN_G = 100.0
SHOWN = ("how", "fix", "powder", "sections")
"""keys of a layer that the form shows"""


def layers_of(values: Values) -> int:
    """Return how many layers a colourway's form has, 1 or more."""
    return max(1, int(values.get("layers", "1")))


def sections_of(values: Values, layer: int) -> int:
    """Return how many sections layer ``layer`` (from 1) of a colourway's form has, 1 or more."""
    return max(1, int(values.get(f"{layer}.sections", "1")))


def shares_of(typed: Sequence[str]) -> list[float | None]:
    """Return the shares in %, adding to 100, for what is typed of each; None where that is not a share.

    Empty ones have what the others leave, in equal parts. Where that is nothing, or nothing is left open, all are
    made larger or smaller alike. Where one is None, the others are as typed.
    """
    if len(typed) == 1:
        return [100.0]  # what was typed while there were several is not asked any more
    given = [_share(each) for each in typed]
    wrong = [share is None and bool(share_text.strip()) for share, share_text in zip(given, typed, strict=True)]
    total, empty = sum(share or 0.0 for share in given), given.count(None)
    if any(wrong):
        return [None if bad else share or 1.0 for share, bad in zip(given, wrong, strict=True)]
    if empty and total < 100:
        return [share or round((100 - total) / empty, 2) for share in given]
    even = total / max(1, len(given) - empty)
    total += empty * even
    return [round(100 * (share or even) / total, 2) for share in given]


def _share(typed: str) -> float | None:
    number_text = typed.strip().rstrip("%").strip().replace(",", ".")
    if fraction := re.fullmatch(r"(\d{1,2})/([1-9]\d?)", number_text):
        number_text = f"{100 * int(fraction[1]) / int(fraction[2]):.2f}"
    return (float(number_text) or None) if re.fullmatch(r"\d{1,6}(\.\d{1,6})?", number_text) else None


def colourway_toml(values: Values, rest: Mapping[str, str], library: Library) -> str:
    """Return the ``[[colourway]]`` table with its layers; ``rest`` has keys not shown, a layer's as "2.cool"."""
    known = [dye.name for dye in library.dyes]
    lines = ["[[colourway]]"]
    if values.get("name", "").strip():
        lines.append(f"name = {text(values['name'].strip())}")
    steps = values.get("steps", "").strip()
    heads = {**rest, "steps": plain_toml(steps, "list")} if steps else rest
    lines += [f"{key} = {value}" for key, value in heads.items() if "." not in key]
    for n in range(1, layers_of(values) + 1):
        how = word_of(values.get(f"{n}.how", "").strip() or DyeMethod.PAINTED.value, HOWS)
        lines += ["[[colourway.layer]]", f"how = {text(how)}"]
        lines += [f"{key[2:]} = {value}" for key, value in rest.items() if key.startswith(f"{n}.")]
        fix = values.get(f"{n}.fix", "").strip()
        lines.append(f"fix = {plain_toml(fix or 'steam 45 min', 'list')}")
        if how == DyeMethod.SPECKLED.value and (powder := values.get(f"{n}.powder", "").strip()):
            lines.append(f"powder = {plain_toml(powder, 'value')}")
        if how == DyeMethod.IMMERSED.value and (cools := values.get(f"{n}.cool_where", "").strip()):
            lines.append(f"cool_where = {text(word_of(cools, COOLS))}")
        places = range(1, sections_of(values, n) + 1)
        lines.append("sections = [")
        shares = shares_of([values.get(f"{n}.{m}.share", "") for m in places])
        for m, share in zip(places, shares, strict=True):
            colour = values.get(f"{n}.{m}.colour", "").strip()
            typed = values.get(f"{n}.{m}.share", "").strip()
            share_toml = text(typed) if share is None else number(share)
            swatch = f" swatch = {text(PALETTE.get(colour.casefold(), colour))}," if colour else ""
            dyes = shares_toml(dyes_of(values.get(f"{n}.{m}.dyes", ""), known))
            lines.append(f"{{ share = {share_toml},{swatch} dyes = {dyes} }},")
        lines.append("]")
    return "\n".join(lines) + "\n"


def judged_colourway(values: Values, rest: Mapping[str, str], library: Library, instead_of: str) -> CheckedForm:
    """Return the colourway as the reader of plans reads it, with grams for its sections and what `check` says."""
    before = DAY + twin(COLOURWAYS, values.get("name", "").strip(), library, instead_of)
    named = {**values, "name": values.get("name", "").strip() or " "}
    plan, problems = judge(before, colourway_toml(named, rest, library), library, "colourway")
    swatches = _swatches(values)
    if plan is None:
        messages = {_field(path, what): _labelled(what) for path, what in problems.items()}
        return CheckedForm(problems=messages, swatches=swatches)
    made = plan.colourways[0]
    base = library.bases[0] if library.bases else None
    skein_g = base.skein_g if base is not None else SKEIN_G
    beside: dict[str, str] = {}
    misfits: list[str] = []
    for n, layer in enumerate(made.layers, 1):
        needs = layer_dyes(plan.solution_pct, layer, n, skein_g)
        if base is not None:
            solutions_ml = sum(need.solution_ml or 0.0 for need in needs)
            misfits += ["; ".join(no_room_in(layer_liquor(plan, base, layer, n, skein_g, solutions_ml)) or ())]
        grams = grouped((each.section, f"{each.dye} {each.powder_g:.3g} g") for each in needs)
        for m, section in enumerate(layer.sections, 1):
            beside[f"{n}.{m}.dyes"] = ", ".join(grams.get(m, [])) or "undyed"
            beside[f"{n}.{m}.share"] = f"{section.share_pct:g} %"
    warnings = [str(each) for each in advice(replace(plan, colourways=(made,))) if repr(made.name) in each.what]
    return CheckedForm(made, beside=beside, swatches=swatches, advice=(*filter(None, misfits), *warnings))


def _swatches(values: Values) -> dict[str, str]:
    out = {}
    for key, typed in values.items():
        colour = PALETTE.get(typed.strip().casefold(), typed.strip()) if key.endswith(".colour") else ""
        if re.fullmatch(r"#[0-9A-Fa-f]{6}", colour):
            out[key] = colour
    return out


def _field(path: str, what: str) -> str:
    """Return the form's field for the reader's path "layer.0.sections.1" and what it says there."""
    match = re.match(r"layer\.(\d+)(?:\.sections\.(\d+)|\.(\w+))?", path)
    if match is None:
        return path
    n = int(match[1]) + 1
    if match[2] is None:
        return f"{n}.{match[3] or 'how'}"
    key = "colour" if what.startswith("swatch") else "share" if what.startswith("share") else "dyes"
    return f"{n}.{int(match[2]) + 1}.{key}"


def _labelled(what: str) -> str:
    """Return what the reader says with the form's labels in place of the plan's keys."""
    for key, label in (("fix: ", "heats: "), ("swatch: ", "screen colour: "), ("cool_where: ", "cools: ")):
        if what.startswith(key):
            return label + what.removeprefix(key)
    return what


def typed_colourway(library: Library, name: str) -> tuple[Values, dict[str, str]]:
    """Return what one would type for a kept colourway, and the TOML values of keys the form does not show."""
    raw = kept_table(COLOURWAYS, library, name)
    if not raw or by_name(library.colourways, name) is None:
        return {}, {}
    head = ("name", "steps", "rinse", "dry")
    layers: list[dict[str, Any]] = raw.get("layer") or [{key: raw[key] for key in raw if key not in head}]
    values: Values = {"name": name, "steps": ", ".join(raw.get("steps", [])), "layers": str(len(layers))}
    rest: dict[str, str] = {key: toml(raw[key]) for key in ("rinse", "dry") if key in raw}
    if any("," in step or ";" in step for step in raw.get("steps", [])):
        rest["steps"] = toml(raw["steps"])  # the form cuts at commas: these are its default
        values["steps"] = ""
    names = {colour: word for word, colour in PALETTE.items()}
    for n, layer in enumerate(layers, 1):
        values[f"{n}.how"] = str(layer.get("how", "painted"))
        values[f"{n}.fix"] = ", ".join(layer.get("fix", []))
        values[f"{n}.powder"] = str(layer.get("powder", ""))
        values[f"{n}.sections"] = str(len(layer["sections"]))
        for m, section in enumerate(layer["sections"], 1):
            swatch = str(section.get("swatch", ""))
            values[f"{n}.{m}.colour"] = names.get(swatch, swatch)
            if len(layer["sections"]) > 1:
                values[f"{n}.{m}.share"] = f"{section.get('share', 100):g}"
            values[f"{n}.{m}.dyes"] = ", ".join(f"{dye} {depth:g}" for dye, depth in section["dyes"].items())
        shown = {*SHOWN}
        if values[f"{n}.how"] == DyeMethod.IMMERSED.value:
            values[f"{n}.cool_where"] = str(layer.get("cool_where", ""))
            shown.add("cool_where")
        rest |= {f"{n}.{key}": toml(value) for key, value in layer.items() if key not in shown}
    return values, rest


def with_section(values: Values, layer: int) -> Values:
    """Return the values with one more section at the end of a layer; shares typed before are left to be shared."""
    count = sections_of(values, layer)
    if count >= MOST_SECTIONS:
        return values
    return {**values, f"{layer}.sections": str(count + 1)}


def without_section(values: Values, layer: int, place: int) -> Values:
    """Return the values without a section; a layer keeps one, and a later layer goes with its last."""
    count = sections_of(values, layer)
    if count == 1:
        return without_layer(values, layer)
    out = {key: typed for key, typed in values.items() if not re.match(rf"{layer}\.\d+\.", key)}
    left = [m for m in range(1, count + 1) if m != place]
    for new, old in enumerate(left, 1):
        for key in ("colour", "share", "dyes"):
            if f"{layer}.{old}.{key}" in values:
                out[f"{layer}.{new}.{key}"] = values[f"{layer}.{old}.{key}"]
    return {**out, f"{layer}.sections": str(count - 1)}


def with_layer(values: Values) -> Values:
    """Return the values with one more layer, a pale bath that goes over everything."""
    n = layers_of(values) + 1
    if n > MOST_LAYERS:
        return values
    return {**values, "layers": str(n), f"{n}.sections": "1", f"{n}.how": "immersed", f"{n}.fix": "simmer 30 min"}


def without_layer(values: Values, layer: int) -> Values:
    """Return the values without the last layer; an earlier one, or the only one, stays."""
    if layer != layers_of(values) or layer == 1:
        return values
    out = {key: typed for key, typed in values.items() if not key.startswith(f"{layer}.")}
    return {**out, "layers": str(layer - 1)}
