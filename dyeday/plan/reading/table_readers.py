"""The tables a plan may have many of: circuits, kit, bases, dyes, colourways, chores, orders, batches by hand."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import replace

from dyeday import units
from dyeday.craft.dye.dye_classes import PH_OF_CLASS
from dyeday.craft.yarn import fibres
from dyeday.plan.limits import LONGEST_TAG
from dyeday.plan.model import (
    MOST_PIECES,
    MOST_SPARE,
    Base,
    Chore,
    Circuit,
    Colourway,
    Dye,
    Extra,
    HandBatch,
    Kit,
    Order,
)
from dyeday.plan.reading.layer_reader import read_layer
from dyeday.plan.reading.problems import near, undefined
from dyeday.plan.reading.table_reader import PIECES, Table
from dyeday.terms import KIT_TRAITS, ChorePer, ChoreWhen, ExtraPer, Form, KitKind
from dyeday.text import brief


def circuit_of(t: Table) -> Circuit:
    circuit = Circuit(
        name=t.text("name", required=True),
        volts=t.amount("volts", units.VOLTS, 230.0, required=True, low=50, high=500),
        amps=t.amount("amps", units.AMPS, 16.0, required=True, low=0.5, high=200),
        continuous_share=t.number("continuous_share", None, low=0.1, high=1),
        lead_amps=t.quantity("lead_amps", units.AMPS, low=0.5, high=200),
    )
    t.finish()
    return circuit


def kit_of(t: Table, circuits: Collection[str]) -> Kit:
    name = t.text("name", required=True)
    kind = t.choice("kind", KitKind.TRAY, required=True)
    holds_skeins: int | None = None
    holds_g: float | None = None
    raw = t.get("holds", required=not KIT_TRAITS[kind].boundless and not t.wrong("kind"), example='4 or "600 g"')
    if isinstance(raw, str) and not re.search(PIECES, raw[-20:]) and re.search(r"[^\W\d_]", raw):
        holds_g = t.quantity("holds", units.MASS_G, low=1, high=100_000, strip=r"\s+of yarn$")
    elif raw is not None:
        holds_skeins = (
            t.count("holds", 0, low=1, high=1000, right='write 1 to 1000, or a weight such as "600 g"') or None
        )
    circuit = t.text("circuit") or None
    if circuit is not None and undefined(circuit, circuits):
        t.problem("circuit", f"no [[circuit]] is called {brief(circuit)}", near(circuit, circuits))
    kit = Kit(
        name=name,
        kind=kind,
        units=t.count("units", 1, low=1, high=99),
        holds_skeins=holds_skeins,
        holds_g=holds_g,
        power_w=t.quantity("power", units.POWER_W, low=1, high=30_000),
        output_w=t.quantity("output", units.POWER_W, low=1, high=5_000),
        circuit=circuit,
        tank_l=t.quantity("tank", units.VOLUME_L, low=0.05, high=200),
        lasts_min=t.quantity("lasts", units.TIME_MIN, low=1, high=1440),
        warm_up_min=t.amount("warm_up", units.TIME_MIN, KIT_TRAITS[kind].warm_up_min, high=240),
        load_min=t.amount("load", units.TIME_MIN, 2.0, high=120),
        unload_min=t.amount("unload", units.TIME_MIN, 2.0, high=120),
    )
    if kit.output_w is not None and kit.power_w is not None and kit.output_w > kit.power_w:
        t.problem("output", "a microwave gives less than it draws", "write power as the input on its nameplate")
    t.finish()
    return kit


def base_of(t: Table) -> Base:
    name = t.text("name", required=True)
    mix = _fibre(t)
    quick = any(fibre.startswith("superwash") or fibre == "nylon" for fibre, _ in mix)
    base = Base(
        name=name,
        fibre=mix,
        skein_g=t.amount("skein", units.MASS_G, 100.0, required=True, low=1, high=5000),
        length_m=t.quantity("length", units.LENGTH_M, low=0.5, high=20_000),
        form=t.choice("form", Form.SKEIN),
        soak_min=t.amount("soak", units.TIME_MIN, 20.0 if quick else 45.0, high=1440),
        on_hand=t.number("on_hand", None, low=0, high=1e6, strip=PIECES),
        price=t.number("price", None, low=0, high=1e6),
        sells=t.number("sells", None, low=0, high=1e6),
        care=t.text("care", longest=200),
    )
    t.finish()
    return base


def _fibre(t: Table) -> tuple[tuple[str, float], ...]:
    raw = t.get("fibre", required=True, example='{ "superwash wool" = 75, nylon = 25 }')
    if raw is None:
        return ()
    if not isinstance(raw, dict) or not raw:
        t.problem("fibre", "it is not a table of fibres", 'write { "superwash wool" = 75, nylon = 25 }')
        return ()
    inner = Table(t.notes, raw, (*t.path, "fibre"))
    mix: dict[str, float] = {}
    for name in raw:
        share = inner.quantity(name, units.PERCENT, low=0.1, high=100)
        try:
            known = fibres.find(name).name
        except fibres.UnknownFibreError:
            inner.problem(name, "this fibre is not known here", near(name, fibres.FIBRES))
        else:
            mix[known] = mix.get(known, 0.0) + (share or 0.0)
    total = sum(mix.values())
    if not t.wrong("fibre") and abs(total - 100) > 0.5:
        t.problem("fibre", f"the shares add to {total:g} %", "make them add to 100")
    return tuple(mix.items())


def dye_of(t: Table) -> Dye:
    bottle = t.table("bottle")
    dye_class = t.word("class", tuple(PH_OF_CLASS), "")
    span = _ph_span(t)
    if span is None and dye_class:
        span = PH_OF_CLASS[dye_class]
    dye = Dye(
        name=t.text("name", required=True),
        solution_pct=t.amount("solution", units.STRENGTH_PCT, 1.0, low=0.01, high=30),
        on_hand_g=t.quantity("on_hand", units.MASS_G, high=1e6),
        price_per_g=t.number("price", None, low=0, high=1e5),
        min_steam_min=t.quantity("min_steam", units.TIME_MIN, high=600),
        expected_exhaustion_pct=t.quantity("expected_exhaustion", units.PERCENT, low=1, high=100),
        dye_class=dye_class,
        ph_low=span[0] if span else None,
        ph_high=span[1] if span else None,
        bottle_ml=bottle.amount("left", units.VOLUME_ML, 0.0, required=t.has("bottle"), high=100_000),
        bottle_pct=bottle.quantity("strength", units.STRENGTH_PCT, low=0.01, high=30),
        bottle_made=bottle.day("made"),
    )
    bottle.finish()
    t.finish()
    return dye


def _ph_span(t: Table) -> tuple[float, float] | None:
    said = t.text("ph")
    if not said:
        return None
    ends = [float(end.replace(",", ".")) for end in re.findall(r"\d+(?:[.,]\d+)?", said)]
    if len(ends) != 2 or not 2 <= ends[0] <= ends[1] <= 8:
        t.problem("ph", f"{brief(said)} is not a range of pH from 2 to 8", 'write ph = "4-6"')
        return None
    return ends[0], ends[1]


def colourway_of(t: Table, dyes: Collection[str]) -> Colourway:
    name = t.text("name", required=True)
    layers = [read_layer(inner, dyes, n) for n, inner in enumerate(t.tables("layer"))]
    if not t.has("layer"):
        layers = [read_layer(t, dyes, 0)]
    elif not layers and not t.wrong("layer"):
        t.problem("layer", "there is none", "write the layer's keys, or drop it")
    colourway = Colourway(
        name=name,
        layers=tuple(layers),
        rinse_min_per_100g=t.amount("rinse", units.TIME_MIN, 2.0, high=240, strip=r"\s*(/|per)\s*100\s*g$"),
        dry_h=t.amount("dry", units.TIME_H, 24.0, high=400),
        steps=t.texts("steps"),
    )
    t.finish()
    return colourway


def chore_of(t: Table) -> Chore:
    chore = Chore(
        name=t.text("name", required=True),
        minutes=t.amount("minutes", units.TIME_MIN, 0.0, required=True, high=1440),
        per=t.choice("per", ChorePer.DAY, required=True),
        when=t.choice("when", ChoreWhen.END_OF_DAY, required=True),
    )
    t.finish()
    return chore


def extra_of(t: Table) -> Extra:
    amount, unit = _poured_or_weighed(t, "amount", required=True)
    on_hand, of_hand = _poured_or_weighed(t, "on_hand")
    if on_hand is not None and amount is not None and of_hand != unit:
        t.problem("on_hand", f"it is in {of_hand} and amount in {unit}", f"write both in {unit}")
    extra = Extra(
        name=t.text("name", required=True),
        amount=amount or 0.0,
        unit=unit,
        per=t.choice("per", ExtraPer.BATCH),
        on_hand=on_hand,
        price=t.number("price", None, low=0, high=1e5),
    )
    t.finish()
    return extra


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
    order = Order(
        item=t.text("item", required=True),
        colourway=_named(t, "colourway", colourways),
        base=_named(t, "base", bases),
        skeins=t.count("skeins", 1, required=True, low=1, high=MOST_PIECES),
        due=t.day("due"),
        priority=t.count("priority", 5, low=1, high=9),
        match=t.flag("match"),
        spare=t.count("spare", 0, high=MOST_SPARE),
        price=t.number("price", None, low=0, high=1e6),
        parcel=t.text("parcel"),
        sample=t.flag("sample"),
    )
    t.finish()
    return order


def _named(t: Table, key: str, known: Collection[str]) -> str:
    name = t.text(key, required=True)
    if name and undefined(name, known):
        t.problem(key, f"no [[{key}]] is called {brief(name)}", near(name, known))
    return name


def hand_batch_of(t: Table, items: Collection[str]) -> HandBatch:
    raw = t.get("no")
    no = None
    if raw is not None:
        whole = isinstance(raw, int) and not isinstance(raw, bool) and 0 < raw < 1000
        no = f"{raw:02d}" if whole else raw
        if not isinstance(no, str) or not re.fullmatch(r"[0-9]{2,3}[a-z]{0,3}", no):
            t.problem("no", f"{brief(raw)} is no batch number", 'write two digits in quotes, such as "03"')
            no = None
    order = t.text("order") or None
    if order is not None and undefined(order, items):
        t.problem("order", f"no [[order]] has the item {brief(order)}", near(order, items))
    skeins = t.count("skeins", 0, low=1, high=MOST_PIECES) or None
    if order is not None and not t.has("skeins"):
        t.lacks("skeins", "this batch names an order but no skeins", "add skeins = 3")
    if not t.has("order") and t.has("skeins"):
        t.lacks("order", "this batch has skeins but no order", 'add order = "…", the item they are for')
    elif not t.has("order") and not t.has("no"):
        t.lacks("no", "this batch has neither a number nor an order", 'add no = "03", or order and skeins')
    carried = t.text("carried", longest=40)
    if carried and not re.fullmatch(r"\d{4}-\d{2}-\d{2}-\d{1,4}/\d{2,3}[a-z]{0,3}", carried):
        t.problem("carried", f"{brief(carried)} is no batch of a session", 'write such as "2026-03-14-1/03"')
        carried = ""
    if carried and not t.has("order"):
        t.lacks("order", "this batch is carried over and has no order", "add order and skeins as `carry` writes them")
    batch = HandBatch(no=no, order=order, skeins=skeins, tag=t.text("tag", longest=LONGEST_TAG), carried=carried)
    if order is not None:
        batch = replace(batch, colourway=t.text("colourway"), base=t.text("base"))
    t.finish()
    return batch
