"""One layer of a colourway, read: sections with their dyes, and the heat that fixes it."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from typing import Any

from dyeday import units
from dyeday.plan.model import FixStep, Layer, Section
from dyeday.plan.reading.key_reader import Own, values_of
from dyeday.plan.reading.problems import near, undefined
from dyeday.plan.reading.table_reader import Table
from dyeday.plan.recipe import usual_layer
from dyeday.plan.schema import PER_100G
from dyeday.terms import AcidPlace, DyeMethod, HeatKind
from dyeday.text import brief, harmless

_HEATS = {heat.value for heat in HeatKind}
_STEP = re.compile(r"^\s*(\w+)\s+(.+?)\s*$")


def read_layer(t: Table, dyes: Collection[str], index: int) -> Layer:
    """Return layer ``index`` (from 0) from ``t``, which may be the colourway's own table.

    A later layer wants a soak of its own only where its ``acid_in`` says "soak" outright.
    """

    def acid(t: Table, layer: Mapping[str, Any]) -> dict[str, Any]:
        acid_in = t.choice("acid_in", usual_layer(layer["how"]).acid_in)
        own_soak = (index == 0 or t.has("acid_in")) and acid_in is AcidPlace.SOAK
        return {"acid_in": acid_in, "own_acid_soak": own_soak}

    own: Own = {
        "sections": lambda t, _: {"sections": _sections(t, dyes)},
        "fix": lambda t, _: {"fix": _fix(t)},
        "liquor_ml_per_100g": _liquor,
        "powder_g_per_100g": lambda t, layer: {"powder_g_per_100g": _powder(t, layer["how"])},
        "acid_in": acid,
    }
    layer = Layer(**values_of(t, Layer, own))
    if "layer" in t.path:
        t.finish()
    return layer


def _powder(t: Table, how: DyeMethod) -> float | None:
    if isinstance(t.get("powder"), dict):
        what = "it is a table, not a weight: powder is the weight of all dyes together for 100 g of yarn"
        t.problem("powder", what, 'write powder = "0.15 g", and which dyes, in parts, in its sections')
        return None
    powder = t.quantity("powder", units.MASS_G, low=0.001, high=50, strip=PER_100G)
    if powder is not None and how is not DyeMethod.SPECKLED and not t.wrong("how"):
        t.problem("powder", f"a {how.value} layer takes no powder", 'set how = "speckled", or give the dyes in % DOS')
    return powder


def _liquor(t: Table, layer: Mapping[str, Any]) -> dict[str, float]:
    usual = usual_layer(layer["how"]).liquor_ml_per_100g
    if t.wrong("how"):
        t.has("liquor")  # in mL or in L/kg is not known
        liquor = 0.0
    elif layer["how"] is DyeMethod.IMMERSED:
        liquor = t.amount("liquor", units.VOLUME_L, usual / 100, low=1, high=200, strip=r"\s*(/|per)\s*kg$") * 100
    else:
        liquor = t.amount("liquor", units.VOLUME_ML, usual, low=1, high=5000, strip=PER_100G)
    return {"liquor_ml_per_100g": liquor}


def _sections(t: Table, dyes: Collection[str]) -> tuple[Section, ...]:
    by_powder = "powder" in t.raw and not isinstance(t.raw["powder"], dict)
    example = '[{ share = 100, swatch = "#5b7f8c", dyes = { "…" = 1.0 } }]'
    raw = t.get("sections", required=True, example=example)
    if raw is None:
        return ()
    if not isinstance(raw, list) or not raw:
        t.problem("sections", "it is not a list of sections", f"write {example}")
        return ()
    sections = []
    for inner in t.tables("sections"):
        share = inner.quantity("share", units.PERCENT, 100.0 if len(raw) == 1 else None, low=0.1, high=100)
        if share is None and not inner.has("share"):
            inner.lacks("share", "a section has no share", "add share = 50, in % of the skein")
        swatch = inner.text("swatch") or None
        if swatch is not None and not re.fullmatch(r"#[0-9A-Fa-f]{6}", swatch):
            inner.problem("swatch", f"{brief(swatch)} is not a colour", 'write six digits, such as "#5b7f8c"')
            swatch = None
        sections.append(Section(share or 0.0, swatch, _dyes_of(inner, dyes, by_powder)))
        inner.finish()
    total = sum(section.share_pct for section in sections)
    if all(section.share_pct for section in sections) and abs(total - 100) > 0.5:
        t.problem("sections", f"the shares add to {total:g} %", "make them add to 100")
    return tuple(sections)


def _dyes_of(section: Table, known: Collection[str], by_powder: bool) -> tuple[tuple[str, float], ...]:
    raw = section.get("dyes", required=True, example='{ "…" = 1.0 }')
    if raw is None:
        return ()
    inner = Table(section.notes, raw, (*section.path, "dyes"))
    out = []
    for name in inner.raw:
        high = 1000.0 if by_powder else 20.0
        amount = inner.quantity(name, units.PERCENT, low=0.001, high=high)
        clean = harmless(name).strip()
        if undefined(clean, known):
            inner.problem(name, f"no [[dye]] is called {brief(clean)}", near(clean, known))
        elif amount is not None:
            out.append((clean, amount))
    return tuple(out)


def _fix(t: Table) -> tuple[FixStep, ...]:
    example = 'fix = ["steam 40 min"]'
    raw = t.get("fix", required=True, example='["steam 40 min"]')
    if raw is None:
        return ()
    if isinstance(raw, str):
        raw = [raw]
    if not isinstance(raw, list) or not raw:
        t.problem("fix", "it is not a list of heats and rests", f"write {example}")
        return ()
    steps = []
    for item in raw:
        match = _STEP.match(item) if isinstance(item, str) and len(item) <= units.LONGEST_TEXT else None
        word = match[1].casefold() if match else ""
        if match is None or word not in _HEATS:
            t.problem(
                "fix",
                f"{brief(item)} is not a heat or a rest",
                'write "steam 40 min", "microwave 2 min", "rest 5 min"',
            )
            continue
        try:
            steps.append(FixStep(HeatKind(word), units.read(match[2], units.TIME_MIN, low=0.1, high=600)))
        except units.QuantityError as error:
            t.problem("fix", f"in {brief(item)}, {error.what}", error.hint)
    if steps and not any(step.is_heat for step in steps):
        t.problem("fix", "it has no heat", f"write {example}")
    return tuple(steps)
