"""A session plan's text becomes the model, or every reason why it cannot.

What each key means, its unit and its default stand here and nowhere else; what may be odd but is not wrong is
`dyeday.plan.advice`.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Collection, Iterable, Sequence
from dataclasses import fields, replace
from datetime import date as Date  # noqa: N812
from math import ceil
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from dyeday import units
from dyeday.craft import fibres
from dyeday.plain import brief, harmless
from dyeday.plan import batches as splitting
from dyeday.plan.lines import Path, key_lines
from dyeday.plan.model import (
    UNIT_KIND_OF_HEAT,
    Acid,
    Base,
    Chore,
    Circuit,
    Colourway,
    Dye,
    HandBatch,
    Kit,
    Order,
    Plan,
    Rules,
    Session,
    Water,
)
from dyeday.plan.problems import PlanError, Problem, near, undefined
from dyeday.plan.recipe import read_layer
from dyeday.plan.table import PIECES, Notes, Table

LONGEST_TEXT = 1_000_000
MOST_BATCHES = 999
ACIDS = ("vinegar", "citric", "citric monohydrate", "citric solution")
KINDS = ("tray", "pot", "microwave", "steamer", "spinner", "sink", "pegs")
CHORE_TIMES = ("before soak", "before paint", "after paint", "after cool", "after rinse", "after dry", "end of day")
BICARBONATE_TO_CACO3 = 50.0435 / 61.0168
"""equivalent weights of CaCO3 and HCO3"""


def read_plan(text: str) -> Plan:
    """Return the plan in ``text`` (TOML).

    Raises PlanError with every problem, each with its line; where the TOML itself cannot be read, with that one.
    """
    raw, lines = _toml(text)
    notes = Notes(lines)
    root = Table(notes, raw, ())
    if not root.has("session"):
        root.lacks("session", "there is no [session]", "add a [session] with name, date, start, stop")
    session = _session(root.table("session"), there=root.has("session"))
    water = _water(root.table("water"))
    acid = _acid(root.table("acid"))
    rules = _rules(root.table("rules"), acid.ph_with)
    scale = root.table("scale")
    scale_g = scale.amount("resolution", units.MASS_G, 0.1, low=0.0001, high=50)
    scale.finish()
    jug = root.table("jug")
    jug_ml = jug.amount("resolution", units.VOLUME_ML, 5.0, low=0.01, high=1000)
    jug.finish()
    air = root.table("air")
    air_c = air.quantity("temperature", units.TEMPERATURE_C, low=-10, high=60)
    humidity = air.quantity("humidity", units.PERCENT, low=0, high=100)
    air.finish()
    circuits = tuple(_circuit(t) for t in root.tables("circuit"))
    kit = tuple(_kit(t, [c.name for c in circuits]) for t in root.tables("kit"))
    bases = tuple(_base(t) for t in root.tables("base"))
    dyes = tuple(_dye(t) for t in root.tables("dye"))
    colourways = tuple(_colourway(t, [d.name for d in dyes]) for t in root.tables("colourway"))
    chores = tuple(_chore(t) for t in root.tables("chore"))
    order_tables = root.tables("order")
    orders = tuple(_order(t, [c.name for c in colourways], [b.name for b in bases]) for t in order_tables)
    batch_tables = root.tables("batch")
    hand = tuple(_hand_batch(t, [order.item for order in orders]) for t in batch_tables)
    if not root.has("order"):
        what = "there is no [[order]], so nothing to dye"
        root.lacks("order", what, "add an [[order]] with item, colourway, base, skeins")
    root.finish()
    for key, named in (
        ("circuit", circuits),
        ("kit", kit),
        ("base", bases),
        ("dye", dyes),
        ("colourway", colourways),
    ):
        _no_twins(notes, key, [item.name for item in named])
    _must_fit(notes, orders, colourways, bases, kit)
    for n, what, right in splitting.hand_misfit([_or_any_number(notes, *each) for each in enumerate(orders)], hand):
        notes.add(("batch", n), what, right)
    if not notes.problems:
        _must_be_few(notes, orders, hand, colourways, bases, kit)
    batches = () if notes.problems else splitting.split(orders, hand, colourways, bases, kit)
    numbers = {batch.no for batch in batches}
    for n, by_hand in enumerate(hand):
        if batches and by_hand.no and splitting.as_numbered(by_hand.no, len(batches)) not in numbers:
            right = f"they go from {batches[0].no} to {batches[-1].no}"
            notes.add(("batch", n, "no"), f"no batch has the number {by_hand.no}", right)
    if notes.problems:
        raise PlanError(notes.problems)
    return Plan(
        session=session,
        water=water,
        acid=acid,
        rules=rules,
        scale_g=scale_g,
        jug_ml=jug_ml,
        air_temperature_c=air_c,
        air_humidity_pct=humidity,
        circuits=circuits,
        kit=kit,
        bases=bases,
        dyes=dyes,
        colourways=colourways,
        chores=chores,
        orders=orders,
        batches=batches,
    )


_DOTTED = re.compile(r"""(?<![\w.-])(?:(?:[\w-]++|"(?:[^"\\\n]|\\.)*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){50}""")
"""A key of fifty parts: nobody's, and the standard reader's time grows with the square of them."""


def _toml(text: str) -> tuple[dict[str, Any], dict[Path, int]]:
    """Return the tables of the text, and the line of every key."""
    if len(text) > LONGEST_TEXT:
        raise PlanError([Problem(1, "the plan is longer than a million characters", "split it into several days")])
    dotted = _DOTTED.search(text)
    if dotted is not None:
        what = "a key has more than fifty parts"
        raise PlanError([Problem(_line_at(text, dotted.start()), what, "write a key of this plan")])
    try:
        return tomllib.loads(text), key_lines(text)
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"\(at line (\d+), column \d+\)$", str(error))
        line = int(found[1]) if found else _line_at(text.rstrip(), len(text))
        what = re.sub(r" \(at [^()]*\)$", "", str(error))
        right = "write year-month-day of a day that exists" if "Invalid date" in what else "mend this line"
        raise PlanError([Problem(line, f"this is not TOML: {_cut(harmless(what))}", right)]) from None
    except RecursionError:
        what = "tables or lists are nested too deeply"
        raise PlanError([Problem(_deep_line(text), what, "a plan needs five levels at most")]) from None
    except ValueError:  # Python reads no decimal number of more than 4300 digits
        long = re.search(r"(?<![\d_])[\d_]{4300}", text)
        line = _line_at(text, long.start() if long else 0)
        raise PlanError([Problem(line, "a number has too many digits", "write a shorter number")]) from None


def _line_at(text: str, position: int) -> int:
    return text.count("\n", 0, position) + 1


def _cut(text: str) -> str:
    return text if len(text) <= 200 else text[:199] + "…"


def _deep_line(text: str) -> int:
    """Return the line of the first place where more than sixty brackets are open."""
    depth = 0
    for position, char in enumerate(text):
        if char in "[{":
            depth += 1
            if depth > 60:
                return _line_at(text, position)
        elif char in "]}":
            depth -= 1
    return 1


def _session(t: Table, *, there: bool) -> Session:
    name = t.text("name", required=there)
    date = t.day("date", required=there)
    start = t.clock("start", required=there)
    stop = t.clock("stop", required=there)
    if start is not None and stop is not None and stop <= start:
        t.problem("stop", "it is not after start", 'a time after midnight is written with +1, such as "01:30+1"')
    zone = t.text("zone") or None
    if zone is not None and not _zone_exists(zone):
        t.problem("zone", f"{brief(zone)} is no time zone", near(zone, available_timezones()))
    session = Session(
        name=name,
        date=date or Date(2000, 1, 1),
        start_min=start or 0,
        stop_min=stop or 0,
        tomorrow=t.windows("tomorrow"),
        breaks=t.windows("breaks"),
        zone=zone,
        hands=t.count("hands", 1, low=1, high=20),
        serves=t.choice("serves", ("by stop", "tonight"), "by stop"),
        units=t.choice("units", ("metric", "US"), "metric"),
        sound=t.texts("sound", most=20),
        screen_height_mm=t.quantity("screen_height", units.LENGTH_MM, low=50, high=2000),
    )
    t.finish()
    return session


def _zone_exists(zone: str) -> bool:
    try:
        ZoneInfo(zone)
    except (KeyError, ValueError, OSError):
        return False
    return True


def _water(t: Table) -> Water:
    alkalinity = t.quantity("alkalinity", units.WATER_MG_L, high=2000)
    bicarbonate = t.quantity("bicarbonate", units.BICARBONATE_MG_L, high=2500)
    if alkalinity is not None and bicarbonate is not None:
        t.problem("bicarbonate", "alkalinity is given too", "keep one of the two")
    if bicarbonate is not None:
        alkalinity = bicarbonate * BICARBONATE_TO_CACO3
    temperature = t.amount("temperature", units.TEMPERATURE_C, 15.0, high=60)
    water = Water(
        alkalinity_mg_l=alkalinity,
        hardness_mg_l=t.quantity("hardness", units.WATER_MG_L, high=2000),
        temperature_c=temperature,
        rinse_temperature_c=t.amount("rinse_temperature", units.TEMPERATURE_C, temperature, high=60),
    )
    t.finish()
    return water


def _acid(t: Table) -> Acid:
    kind = t.choice("kind", ACIDS, "vinegar")
    strength = t.quantity("strength", units.STRENGTH_PCT, 5.0 if kind == "vinegar" else None, low=0.1, high=100)
    if kind == "citric solution" and not t.has("strength"):
        t.lacks(
            "strength", "acid.strength is not given for a citric solution", 'add strength = "50 %" as you made it'
        )
    if kind in ("citric", "citric monohydrate"):
        strength = None
    on_hand = None
    if not t.has("on_hand") or t.wrong("kind"):
        pass  # in mL or in g, nobody can tell
    elif kind in ("vinegar", "citric solution"):
        on_hand = t.quantity("on_hand", units.VOLUME_ML, high=1e6)
    else:
        on_hand = t.quantity("on_hand", units.MASS_G, high=1e6)
    acid = Acid(
        kind=kind,
        strength_pct=strength,
        target_ph=t.number("target_ph", 4.5, low=2.5, high=7.5) or 4.5,
        ph_with=t.choice("ph_with", ("strip", "meter"), "strip"),
        on_hand=on_hand,
        fibre_takes_mmol_per_g=t.number("fibre_takes", None, low=0, high=2),
    )
    t.finish()
    return acid


_RULES: dict[str, tuple[units.Kind, float, float]] = {
    "acid_share": (units.PERCENT, 0, 100), "soak": (units.TIME_MIN, 0, 1440), "open": (units.TIME_MIN, 1, 10080),
    "lidded": (units.TIME_MIN, 1, 10080), "wrapped": (units.TIME_MIN, 1, 10080),
    "fix_share": (units.PERCENT, 1, 100), "exhaustion": (units.PERCENT, 1, 100),
    "shock": (units.DIFFERENCE_C, 0, 100), "felting": (units.TEMPERATURE_C, 20, 110),
    "dry": (units.PERCENT, 0.1, 50), "reserve": (units.PERCENT, 0, 90), "overdue": (units.TIME_MIN, 1, 600),
    "overdue_after": (units.TIME_MIN, 0, 240), "re_alarm": (units.TIME_MIN, 0.5, 240),
}  # fmt: skip


def _rules(t: Table, ph_with: str) -> Rules:
    plain = Rules()
    given: dict[str, Any] = {}
    for key, (kind, low, high) in _RULES.items():
        given[key] = t.quantity(key, kind, getattr(plain, key), low=low, high=high)
    given["ph_limit"] = t.number("ph_limit", 0.5 if ph_with == "meter" else 0.7, low=0, high=4)
    given["scorch_factor"] = t.number("scorch_factor", plain.scorch_factor, low=1, high=20)
    given["cloth"] = t.choice("cloth", ("1", "1-2", "2", "2-3", "3", "3-4", "4", "4-5", "5"), plain.cloth)
    t.finish()
    return Rules(**given)


def changed_rules(plan: Plan) -> list[tuple[str, object, object]]:
    """Return (key, value, default) for every threshold that is not the default."""
    default = Rules(ph_limit=0.5 if plan.acid.ph_with == "meter" else 0.7)
    pairs = ((f.name, getattr(plan.rules, f.name), getattr(default, f.name)) for f in fields(Rules))
    return [(key, value, usual) for key, value, usual in pairs if value != usual]


def _circuit(t: Table) -> Circuit:
    circuit = Circuit(
        name=t.text("name", required=True),
        volts=t.amount("volts", units.VOLTS, 230.0, required=True, low=50, high=500),
        amps=t.amount("amps", units.AMPS, 16.0, required=True, low=0.5, high=200),
        continuous_share=t.number("continuous_share", None, low=0.1, high=1),
        lead_amps=t.quantity("lead_amps", units.AMPS, low=0.5, high=200),
    )
    t.finish()
    return circuit


def _kit(t: Table, circuits: Collection[str]) -> Kit:
    name = t.text("name", required=True)
    kind = t.choice("kind", KINDS, "tray", required=True)
    holds_skeins: int | None = None
    holds_g: float | None = None
    raw = t.get("holds", required=kind != "sink" and not t.wrong("kind"), example='4 or "600 g"')
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
        warm_up_min=t.amount("warm_up", units.TIME_MIN, 10.0 if kind in ("steamer", "pot") else 0.0, high=240),
        load_min=t.amount("load", units.TIME_MIN, 2.0, high=120),
        unload_min=t.amount("unload", units.TIME_MIN, 2.0, high=120),
    )
    if kit.output_w is not None and kit.power_w is not None and kit.output_w > kit.power_w:
        t.problem("output", "a microwave gives less than it draws", "write power as the input on its nameplate")
    t.finish()
    return kit


def _base(t: Table) -> Base:
    name = t.text("name", required=True)
    mix = _fibre(t)
    quick = any(fibre.startswith("superwash") or fibre == "nylon" for fibre, _ in mix)
    base = Base(
        name=name,
        fibre=mix,
        skein_g=t.amount("skein", units.MASS_G, 100.0, required=True, low=1, high=5000),
        length_m=t.quantity("length", units.LENGTH_M, low=0.5, high=20_000),
        form=t.choice("form", ("skein", "mini", "blank"), "skein"),
        soak_min=t.amount("soak", units.TIME_MIN, 20.0 if quick else 45.0, high=1440),
        on_hand=t.number("on_hand", None, low=0, high=1e6, strip=PIECES),
        price=t.number("price", None, low=0, high=1e6),
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


def _dye(t: Table) -> Dye:
    bottle = t.table("bottle")
    dye = Dye(
        name=t.text("name", required=True),
        solution_pct=t.amount("solution", units.STRENGTH_PCT, 1.0, low=0.01, high=30),
        on_hand_g=t.quantity("on_hand", units.MASS_G, high=1e6),
        price_per_g=t.number("price", None, low=0, high=1e5),
        min_steam_min=t.quantity("min_steam", units.TIME_MIN, high=600),
        expected_exhaustion_pct=t.quantity("expected_exhaustion", units.PERCENT, low=1, high=100),
        bottle_ml=bottle.amount("left", units.VOLUME_ML, 0.0, required=t.has("bottle"), high=100_000),
        bottle_pct=bottle.quantity("strength", units.STRENGTH_PCT, low=0.01, high=30),
        bottle_made=bottle.day("made"),
    )
    bottle.finish()
    t.finish()
    return dye


def _colourway(t: Table, dyes: Collection[str]) -> Colourway:
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


def _chore(t: Table) -> Chore:
    chore = Chore(
        name=t.text("name", required=True),
        minutes=t.amount("minutes", units.TIME_MIN, 0.0, required=True, high=1440),
        per=t.choice("per", ("day", "lot", "batch", "skein"), "day", required=True),
        when=t.choice("when", CHORE_TIMES, "end of day", required=True),
    )
    t.finish()
    return chore


def _order(t: Table, colourways: Collection[str], bases: Collection[str]) -> Order:
    order = Order(
        item=t.text("item", required=True),
        colourway=_named(t, "colourway", colourways),
        base=_named(t, "base", bases),
        skeins=t.count("skeins", 1, required=True, low=1, high=5000),
        due=t.day("due"),
        priority=t.count("priority", 5, low=1, high=9),
        match=t.flag("match"),
        spare=t.count("spare", 0, high=500),
    )
    t.finish()
    return order


def _named(t: Table, key: str, known: Collection[str]) -> str:
    name = t.text(key, required=True)
    if name and undefined(name, known):
        t.problem(key, f"no [[{key}]] is called {brief(name)}", near(name, known))
    return name


def _hand_batch(t: Table, items: Collection[str]) -> HandBatch:
    raw = t.get("no")
    no = None
    if raw is not None:
        whole = isinstance(raw, int) and not isinstance(raw, bool) and 0 < raw < 1000
        no = f"{raw:02d}" if whole else raw
        if not isinstance(no, str) or not re.fullmatch(r"[0-9]{2,3}[a-z]?", no):
            t.problem("no", f"{brief(raw)} is no batch number", 'write two digits in quotes, such as "03"')
            no = None
    order = t.text("order") or None
    if order is not None and undefined(order, items):
        t.problem("order", f"no [[order]] has the item {brief(order)}", near(order, items))
    skeins = t.count("skeins", 0, low=1, high=5000) or None
    if order is not None and not t.has("skeins"):
        t.lacks("skeins", "this batch names an order but no skeins", "add skeins = 3")
    if not t.has("order") and t.has("skeins"):
        t.lacks("order", "this batch has skeins but no order", 'add order = "…", the item they are for')
    elif not t.has("order") and not t.has("no"):
        t.lacks("no", "this batch has neither a number nor an order", 'add no = "03", or order and skeins')
    batch = HandBatch(no=no, order=order, skeins=skeins, tag=t.text("tag", longest=40))
    t.finish()
    return batch


def _no_twins(notes: Notes, key: str, names: Iterable[str]) -> None:
    seen: set[str] = set()
    for n, name in enumerate(names):
        if name and name in seen:
            notes.add((key, n), f"a second [[{key}]] is called {brief(name)}", "give each its own name")
        seen.add(name)


def _must_fit(
    notes: Notes, orders: Iterable[Order], colourways: Iterable[Colourway], bases: Iterable[Base], kit: Iterable[Kit]
) -> None:
    """Note every order whose skein is larger than any unit it has to pass."""
    by_colourway = {item.name: item for item in colourways}
    by_base = {item.name: item for n, item in enumerate(bases) if not notes.wrong("base", n, "skein")}
    if any(notes.wrong("kit", n, "kind") for n, _ in enumerate(kit)):
        return
    for n, order in enumerate(orders):
        base, colourway = by_base.get(order.base), by_colourway.get(order.colourway)
        if base is None or colourway is None:
            continue
        kinds = set(splitting.kinds_on_the_way(colourway))
        kinds |= {UNIT_KIND_OF_HEAT[step.how] for layer in colourway.layers for step in layer.heats}
        for kind in sorted(kinds):
            of_kind = [item for item in kit if item.kind == kind]
            if of_kind and all(item.skeins_of(base.skein_g) == 0 for item in of_kind):
                largest = max(item.holds_g or 0 for item in of_kind)
                what = f"a piece of {base.name!r} weighs {base.skein_g:g} g and no {kind} holds that"
                notes.add(("order", n), what, f"the largest holds {largest:g} g")


def _or_any_number(notes: Notes, n: int, order: Order) -> Order:
    """Return order ``n``, with room for any batch where it is not known how many skeins its lot has."""
    wrong = any(notes.wrong("order", n, key) for key in ("colourway", "base", "skeins", "spare"))
    return replace(order, skeins=10**9) if wrong else order


def _must_be_few(
    notes: Notes,
    orders: Sequence[Order],
    hand: Sequence[HandBatch],
    colourways: Iterable[Colourway],
    bases: Iterable[Base],
    kit: Sequence[Kit],
) -> None:
    """Note where the orders come to more batches than a number of three digits tells apart."""
    by_colourway = {item.name: item for item in colourways}
    by_base = {item.name: item for item in bases}
    total = len(hand)
    for lot in splitting.lots_of(orders):
        limit = splitting.largest_batch(by_colourway[lot.colourway], by_base[lot.base], kit)
        total += ceil(lot.skeins / limit) if limit else 1
        if total > MOST_BATCHES:
            what = f"with this the orders come to more than {MOST_BATCHES} batches"
            notes.add(("order", orders.index(lot.orders[0])), what, "leave some for another day")
            return
