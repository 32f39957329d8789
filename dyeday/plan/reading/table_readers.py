"""Readers of the tables that a plan may have many of, and of layers: keys that need more than one plain value."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from functools import partial
from typing import Any

from dyeday import units
from dyeday.craft.dye.dye_classes import PH_OF_CLASS
from dyeday.craft.yarn import fibres
from dyeday.plan.model import Base, Colourway, Dye, Extra, FixStep, HandBatch, Kit, Layer, Order, Section
from dyeday.plan.reading.key_reader import Own, read_keys, values_of
from dyeday.plan.reading.problems import similar, undefined
from dyeday.plan.reading.table_reader import Table
from dyeday.plan.recipe import usual_layer
from dyeday.plan.schema import PER_100G, PIECES
from dyeday.terms import KIT_TRAITS, AcidPlace, DyeMethod, HeatKind
from dyeday.text import brief, harmless

_HEATS = {heat.value for heat in HeatKind}
_STEP = re.compile(r"^\s*(\w+)\s+(.+?)\s*$")


def _layer(t: Table, dyes: Collection[str], index: int) -> Layer:
    """Return layer ``index`` (from 0); a later one has its own soak only if its table has ``acid_in = "soak"``."""

    def acid(t: Table, layer: dict[str, Any]) -> AcidPlace:
        acid_in = t.choice("acid_in", usual_layer(layer["how"]).acid_in)
        layer["own_acid_soak"] = (index == 0 or t.has("acid_in")) and acid_in is AcidPlace.SOAK
        return acid_in

    own: Own = {
        "sections": lambda t, _: _sections(t, dyes),
        "fix": _fix,
        "liquor_ml_per_100g": _liquor,
        "powder_g_per_100g": _powder,
        "acid_in": acid,
    }
    layer = Layer(**values_of(t, Layer, own))
    if "layer" in t.path:
        t.finish()
    return layer


def _powder(t: Table, layer: Mapping[str, Any]) -> float | None:
    how: DyeMethod = layer["how"]
    if isinstance(t.get("powder"), dict):
        what = "it is a table, not a weight: powder is the weight of all dyes together for 100 g of yarn"
        return t.refused("powder", what, 'write powder = "0.15 g", and which dyes, in parts, in its sections', None)
    powder = t.quantity("powder", units.MASS_G, low=0.001, high=50, strip=PER_100G)
    if powder is not None and how is not DyeMethod.SPECKLED and not t.has_problem("how"):
        t.problem("powder", f"a {how.value} layer has no powder", 'set how = "speckled", or give the dyes in % DOS')
    return powder


def _liquor(t: Table, layer: Mapping[str, Any]) -> float:
    usual = usual_layer(layer["how"]).liquor_ml_per_100g
    if t.has_problem("how"):
        t.has("liquor")
        return 0.0  # in mL or in L/kg is not known
    if layer["how"] is DyeMethod.IMMERSED:
        return t.amount("liquor", units.VOLUME_L, usual / 100, low=1, high=200, strip=r"\s*(/|per)\s*kg$") * 100
    return t.amount("liquor", units.VOLUME_ML, usual, low=1, high=5000, strip=PER_100G)


def _sections(t: Table, dyes: Collection[str]) -> tuple[Section, ...]:
    by_powder = "powder" in t.raw and not isinstance(t.raw["powder"], dict)
    example = '[{ share = 100, swatch = "#5b7f8c", dyes = { "…" = 1.0 } }]'
    if (raw := t.get("sections", required=True, example=example)) is None:
        return ()
    if not isinstance(raw, list) or not raw:
        return t.refused("sections", "it is not a list of sections", f"write {example}", ())
    sections = []
    for inner in t.tables("sections"):
        share = inner.quantity("share", units.PERCENT, 100.0 if len(raw) == 1 else None, low=0.1, high=100)
        if share is None and not inner.has("share"):
            inner.lacks("share", "a section has no share", "add share = 50, in % of the skein")
        swatch = inner.text("swatch") or None
        if swatch is not None and not re.fullmatch(r"#[0-9A-Fa-f]{6}", swatch):
            right = 'write # and six signs of 0-9 and a-f, such as "#5b7f8c", or leave it out'
            swatch = inner.refused("swatch", f"{brief(swatch)} is not a colour", right, None)
        sections.append(Section(share or 0.0, swatch, tuple(_dyes_of(inner, dyes, by_powder))))
        inner.finish()
    total = sum(section.share_pct for section in sections)
    if all(section.share_pct for section in sections) and abs(total - 100) > 0.5:
        t.problem("sections", f"the shares add to {total:g} %", "make them add to 100")
    return tuple(sections)


def _dyes_of(section: Table, known: Collection[str], by_powder: bool) -> Iterator[tuple[str, float]]:
    if (raw := section.get("dyes", required=True, example='{ "…" = 1.0 }')) is None:
        return
    inner = Table(section.notes, raw, (*section.path, "dyes"))
    for name in inner.raw:
        amount = inner.quantity(name, units.PERCENT, low=0.001, high=1000.0 if by_powder else 20.0)
        clean = harmless(name).strip()
        if undefined(clean, known):
            inner.problem(name, f"no [[dye]] is called {brief(clean)}", similar(clean, known))
        elif amount is not None:
            yield clean, amount


def _fix(t: Table, _: object) -> tuple[FixStep, ...]:
    example = 'fix = ["steam 40 min"]'
    if (raw := t.get("fix", required=True, example='["steam 40 min"]')) is None:
        return ()
    if isinstance(raw, str):
        raw = [raw]
    if not isinstance(raw, list) or not raw:
        return t.refused("fix", "it is not a list of heats and rests", f"write {example}", ())
    steps = []
    for item in raw:
        match = _STEP.match(item) if isinstance(item, str) and len(item) <= units.LONGEST_TEXT else None
        word = match[1].casefold() if match else ""
        if match is None or word not in _HEATS:
            right = 'write "steam 40 min", "microwave 2 min", "rest 5 min"'
            t.problem("fix", f"{brief(item)} is not a heat or a rest", right)
            continue
        try:
            steps.append(FixStep(HeatKind(word), units.read(match[2], units.TIME_MIN, low=0.1, high=600)))
        except units.QuantityError as error:
            t.problem("fix", f"in {brief(item)}, {error.what}", error.hint)
    if steps and not any(step.is_heat for step in steps):
        t.problem("fix", "it has no heat", f"write {example}")
    return tuple(steps)


def kit_of(t: Table, circuits: Collection[str]) -> Kit:
    """Return a ``[[kit]]`` table's kit; ``circuits`` are the names it may be plugged into."""
    named: Own = {"circuit": lambda t, _: _named(t, "circuit", circuits, required=False) or None}
    kit = read_keys(t, Kit, {"holds_skeins": _holds, "down": _down, **named})
    if kit.output_w is not None and kit.power_w is not None and kit.output_w > kit.power_w:
        t.problem("output", "a microwave gives less than it draws", "write power as the input on its nameplate")
    return kit


def _down(t: Table, kit: Mapping[str, Any]) -> tuple[str, ...]:
    """Return the units of a kit that are broken: by name, or the last so many."""
    names = tuple(f"{kit['name']} {n}" for n in range(1, int(kit["units"]) + 1))
    if (raw := t.get("down")) is None:
        return ()
    if isinstance(raw, int) and not isinstance(raw, bool) and 0 <= raw <= len(names):
        return names[len(names) - raw :]
    if isinstance(raw, list) and all(isinstance(name, str) and name in names for name in raw):
        return tuple(raw)
    right = f"write such as down = [{names[-1]!r}]"
    return t.refused("down", f"{brief(raw)} does not name units of this kit", right, ())


def _holds(t: Table, kit: dict[str, Any]) -> int | None:
    boundless = KIT_TRAITS[kit["kind"]].boundless
    raw = t.get("holds", required=not boundless and not t.has_problem("kind"), example='4 or "600 g"')
    if isinstance(raw, str) and not re.search(PIECES, raw[-20:]) and re.search(r"[^\W\d_]", raw):
        kit["holds_g"] = t.quantity("holds", units.MASS_G, low=1, high=1e5, strip=r"\s+of yarn$")
        return None
    return t.count("holds", 0, low=1, high=1000, right='write 1 to 1000, or a weight such as "600 g"') or None


def _fibre(t: Table, _: object) -> tuple[tuple[str, float], ...]:
    raw = t.get("fibre", required=True, example='{ "superwash wool" = 75, nylon = 25 }')
    if raw is None:
        return ()
    if not isinstance(raw, dict) or not raw:
        return t.refused("fibre", "it is not a table of fibres", 'write { "superwash wool" = 75, nylon = 25 }', ())
    inner = Table(t.notes, raw, (*t.path, "fibre"))
    mix: dict[str, float] = {}
    for name in raw:
        share = inner.quantity(name, units.PERCENT, low=0.1, high=100)
        if (known := fibres.find(name)) is None:
            inner.problem(name, "dyeday does not know this fibre", similar(name, fibres.FIBRES))
        else:
            mix[known.name] = mix.get(known.name, 0.0) + (share or 0.0)
    total = sum(mix.values())
    if not t.has_problem("fibre") and abs(total - 100) > 0.5:
        t.problem("fibre", f"the shares add to {total:g} %", "make them add to 100")
    return tuple(mix.items())


def _bottle(t: Table, dye: dict[str, Any]) -> float:
    bottle = t.table("bottle")
    left_ml = bottle.amount("left", units.VOLUME_ML, 0.0, required=t.has("bottle"), high=100_000)
    dye["bottle_pct"] = bottle.quantity("strength", units.STRENGTH_PCT, low=0.01, high=30)
    dye["bottle_made"] = bottle.day("made")
    bottle.finish()
    return left_ml


def _ph(t: Table, dye: dict[str, Any]) -> float | None:
    """Return the lower end of a dye's range of pH: the one given, else that of its class."""
    low, dye["ph_high"] = _ph_span(t) or PH_OF_CLASS.get(dye["dye_class"]) or (None, None)
    return low


def _ph_span(t: Table) -> tuple[float, float] | None:
    if not (ph := t.text("ph")):
        return None
    ends = [float(end.replace(",", ".")) for end in re.findall(r"\d+(?:[.,]\d+)?", ph)]
    if len(ends) != 2 or not 2 <= ends[0] <= ends[1] <= 8:
        return t.refused("ph", f"{brief(ph)} is not a range of pH from 2 to 8", 'write ph = "4-6"', None)
    return ends[0], ends[1]


def colourway_of(t: Table, dyes: Collection[str]) -> Colourway:
    """Return a ``[[colourway]]`` table's colourway; ``dyes`` are the names its recipe may use."""

    def layers(t: Table, _: object) -> tuple[Layer, ...]:
        if not t.has("layer"):
            return (_layer(t, dyes, 0),)
        out = tuple(_layer(inner, dyes, n) for n, inner in enumerate(t.tables("layer")))
        if not out and not t.has_problem("layer"):
            t.problem("layer", "there is none", "write the layer's keys, or drop it")
        return out

    return read_keys(t, Colourway, {"layers": layers})


def _amount(t: Table, extra: dict[str, Any]) -> float:
    amount, extra["unit"] = _poured_or_weighed(t, "amount", required=True)
    return amount or 0.0


def _extra_on_hand(t: Table, extra: Mapping[str, Any]) -> float | None:
    on_hand, unit = _poured_or_weighed(t, "on_hand")
    if on_hand is not None and not t.has_problem("amount") and t.has("amount") and unit != extra["unit"]:
        t.problem("on_hand", f"it is in {unit} and amount in {extra['unit']}", f"write both in {extra['unit']}")
    return on_hand


def _poured_or_weighed(t: Table, key: str, *, required: bool = False) -> tuple[float | None, str]:
    """Return an amount in mL or in g, and which of the two its unit says."""
    raw = t.get(key, required=required, example='"2 mL" or "5 g"')
    try:
        if isinstance(raw, str):
            units.read(raw, units.MASS_G)
            return t.quantity(key, units.MASS_G, high=1e6), "g"
    except units.QuantityError:
        pass
    return t.quantity(key, units.VOLUME_ML, high=1e6), "mL"


def order_of(t: Table, colourways: Collection[str], bases: Collection[str]) -> Order:
    """Return an ``[[order]]`` table's order; ``colourways`` and ``bases`` are the names it may use."""
    own: Own = {
        "colourway": lambda t, _: _named(t, "colourway", colourways),
        "base": lambda t, _: _named(t, "base", bases),
    }
    return read_keys(t, Order, own)


def _named(t: Table, key: str, known: Collection[str], *, required: bool = True, verb: str = "is called") -> str:
    name = t.text(key, required=required)
    if name and undefined(name, known):
        t.problem(key, f"no [[{key}]] {verb} {brief(name)}", similar(name, known))
    return name


def hand_batch_of(t: Table, items: Collection[str]) -> HandBatch:
    """Return a ``[[batch]]`` table's batch; ``items`` are the orders' items."""
    own: Own = {
        "no": _no,
        "order": lambda t, _: _named(t, "order", items, required=False, verb="has the item") or None,
        # For orders that share their item; empty where the batch names no order.
        "colourway": lambda t, batch: t.text("colourway") if batch["order"] is not None else "",
        "base": lambda t, batch: t.text("base") if batch["order"] is not None else "",
    }
    batch = HandBatch(**values_of(t, HandBatch, own))
    if batch.order is not None and not t.has("skeins"):
        t.lacks("skeins", "this batch names an order but no skeins", "add skeins = 3")
    if not t.has("order") and t.has("skeins"):
        t.lacks("order", "this batch has skeins but no order", 'add order = "…", the item they are for')
    elif not t.has("order") and not t.has("no"):
        t.lacks("no", "this batch has neither a number nor an order", 'add no = "03", or order and skeins')
    carried = batch.carried
    if carried and not re.fullmatch(r"\d{4}-\d{2}-\d{2}-\d{1,4}/\d{2,3}[a-z]{0,3}", carried):
        t.problem("carried", f"{brief(carried)} is not a batch of a session", 'write such as "2026-03-14-1/03"')
    elif carried and not t.has("order"):
        t.lacks("order", "this batch is carried over and has no order", "add order and skeins as `carry` writes them")
    t.finish()
    return batch


def _no(t: Table, _: object) -> str | None:
    if (raw := t.get("no")) is None:
        return None
    whole = isinstance(raw, int) and not isinstance(raw, bool) and 0 < raw < 1000
    no = f"{raw:02d}" if whole else raw
    if isinstance(no, str) and re.fullmatch(r"[0-9]{2,3}[a-z]{0,3}", no):
        return no
    return t.refused("no", f"{brief(raw)} is not a batch number", 'write two digits in quotes, such as "03"', None)


base_of = partial(read_keys, cls=Base, own={"fibre": _fibre})
dye_of = partial(read_keys, cls=Dye, own={"ph_low": _ph, "bottle_ml": _bottle})
extra_of = partial(read_keys, cls=Extra, own={"amount": _amount, "on_hand": _extra_on_hand})
