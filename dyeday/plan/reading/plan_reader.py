"""A session plan's text becomes the model, or every reason why it cannot.

Here and in `table_readers` and `layer_reader` stands what each key means and its unit; defaults that
hang on another key are `dyeday.plan.defaults`'s, and what may be odd but is not wrong is `dyeday.plan.lint`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import fields, replace
from datetime import date as Date  # noqa: N812
from math import ceil
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from dyeday import units
from dyeday.craft.dye.colour_difference import GRADES
from dyeday.craft.water.acids import CITRIC_SATURATED_PCT, AcidKind
from dyeday.craft.water.alkalinity import alkalinity_from_bicarbonate
from dyeday.plan import batches as splitting
from dyeday.plan.defaults import ACID_PCT
from dyeday.plan.library import EMPTY, Library, T, by_name, used
from dyeday.plan.model import (
    Acid,
    Base,
    Colourway,
    HandBatch,
    Kit,
    Money,
    Order,
    Plan,
    Session,
    Water,
)
from dyeday.plan.reading.problems import PlanError, near
from dyeday.plan.reading.table_reader import Notes, Table
from dyeday.plan.reading.table_readers import (
    base_of,
    chore_of,
    circuit_of,
    colourway_of,
    dye_of,
    extra_of,
    hand_batch_of,
    kit_of,
    order_of,
)
from dyeday.plan.reading.toml_syntax import toml_of
from dyeday.plan.rules import Rules, usual_rules
from dyeday.terms import PhWith, Serves, UnitSystem
from dyeday.text import brief


def read_plan(text: str, library: Library = EMPTY, *, without_orders: bool = False) -> Plan:
    """Return the plan in ``text`` (TOML).

    What it names and does not define comes from ``library``: a colourway or base an order names, a dye a colourway
    needs, any of these or a kit of which its own table gives the name only, and, where the plan has no kit at all,
    every kit. A plan without an order is a problem unless ``without_orders``: one that its first is about to go into.

    Raises PlanError with every problem, each with its line; where the TOML itself cannot be read, with that one.
    """
    raw, lines = toml_of(text)
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
    altitude_m = air.quantity("altitude", units.LENGTH_M, low=-500, high=5000)
    air.finish()
    purse = root.table("money")
    money = Money(
        currency=purse.text("currency", longest=8),
        energy_per_kwh=purse.number("energy", None, low=0, high=1e5),
        hands_per_h=purse.number("hands", None, low=0, high=1e5),
    )
    purse.finish()
    own_circuits = tuple(circuit_of(t) for t in root.tables("circuit"))
    known_circuits = [c.name for c in (*own_circuits, *library.circuits)]
    kit = tuple(_kept(t, library.kit) or kit_of(t, known_circuits) for t in root.tables("kit"))
    kit = kit if root.has("kit") else library.kit
    circuits = (*own_circuits, *used([k.circuit or "" for k in kit], own_circuits, library.circuits))
    bases = tuple(_kept(t, library.bases) or base_of(t) for t in root.tables("base"))
    dyes = tuple(_kept(t, library.dyes) or dye_of(t) for t in root.tables("dye"))
    known_dyes = [d.name for d in (*dyes, *library.dyes)]
    colourways = tuple(_kept(t, library.colourways) or colourway_of(t, known_dyes) for t in root.tables("colourway"))
    chores = tuple(chore_of(t) for t in root.tables("chore"))
    extras = tuple(extra_of(t) for t in root.tables("extra"))
    order_tables = root.tables("order")
    known = [[thing.name for thing in things] for things in (colourways, bases)]
    known[0] += [c.name for c in library.colourways]
    known[1] += [b.name for b in library.bases]
    orders = tuple(order_of(t, *known) for t in order_tables)
    batch_tables = root.tables("batch")
    hand = tuple(hand_batch_of(t, [order.item for order in orders]) for t in batch_tables)
    if not root.has("order") and not without_orders:
        what = "there is no [[order]], so nothing to dye"
        root.lacks("order", what, "add an [[order]] with item, colourway, base, skeins")
    root.finish()
    for key, named in (
        ("circuit", circuits),
        ("kit", kit),
        ("base", bases),
        ("dye", dyes),
        ("colourway", colourways),
        ("extra", extras),
    ):
        _no_twins(notes, key, [item.name for item in named])
    colourways += used([order.colourway for order in orders], colourways, library.colourways)
    bases += used([order.base for order in orders], bases, library.bases)
    needed = [dye for colourway in colourways for layer in colourway.layers for dye in layer.dyes]
    dyes += used(needed, dyes, library.dyes)
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
        altitude_m=altitude_m,
        money=money,
        circuits=circuits,
        kit=kit,
        bases=bases,
        dyes=dyes,
        colourways=colourways,
        chores=chores,
        extras=extras,
        orders=orders,
        batches=batches,
    )


def _kept(t: Table, kept: Sequence[T]) -> T | None:
    """Return the library's definition where a table gives a name and nothing else, and the library has it."""
    name = t.raw.get("name")
    return by_name(kept, name) if set(t.raw) == {"name"} and isinstance(name, str) else None


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
    # What it names is not read: a program of a plan must never run. `advice` says that it does nothing.
    t.get("sound")
    session = Session(
        name=name,
        date=date or Date(2000, 1, 1),
        start_min=start or 0,
        stop_min=stop or 0,
        tomorrow=t.windows("tomorrow"),
        breaks=t.windows("breaks"),
        zone=zone,
        hands=t.count("hands", 1, low=1, high=20),
        serves=t.choice("serves", Serves.BY_STOP),
        units=t.choice("units", UnitSystem.METRIC),
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
        alkalinity = alkalinity_from_bicarbonate(bicarbonate)
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
    kind = t.choice("kind", AcidKind.VINEGAR)
    most_pct = CITRIC_SATURATED_PCT if kind is AcidKind.CITRIC_SOLUTION else 100.0
    strength = t.quantity("strength", units.STRENGTH_PCT, ACID_PCT.get(kind), low=0.1, high=most_pct)
    if kind is AcidKind.CITRIC_SOLUTION and not t.has("strength"):
        t.lacks(
            "strength", "acid.strength is not given for a citric solution", 'add strength = "50 %" as you made it'
        )
    if kind in (AcidKind.CITRIC, AcidKind.CITRIC_MONOHYDRATE):
        strength = None
    on_hand = None
    if not t.has("on_hand") or t.wrong("kind"):
        pass  # in mL or in g, nobody can tell
    elif kind in (AcidKind.VINEGAR, AcidKind.CITRIC_SOLUTION):
        on_hand = t.quantity("on_hand", units.VOLUME_ML, high=1e6)
    else:
        on_hand = t.quantity("on_hand", units.MASS_G, high=1e6)
    acid = Acid(
        kind=kind,
        strength_pct=strength,
        target_ph=t.number("target_ph", 4.5, low=2.5, high=7.5) or 4.5,
        ph_with=t.choice("ph_with", PhWith.STRIP),
        on_hand=on_hand,
        fibre_takes_mmol_per_g=t.number("fibre_takes", None, low=0, high=2),
        price=t.number("price", None, low=0, high=1e5),
    )
    t.finish()
    return acid


_RULES: dict[str, tuple[units.Kind, float, float]] = {
    "acid_share": (units.PERCENT, 0, 100), "soak": (units.TIME_MIN, 0, 1440), "open": (units.TIME_MIN, 1, 10080),
    "lidded": (units.TIME_MIN, 1, 10080), "wrapped": (units.TIME_MIN, 1, 10080),
    "fix_share": (units.PERCENT, 1, 100), "exhaustion": (units.PERCENT, 1, 100),
    "shock": (units.DIFFERENCE_C, 0, 100), "felting": (units.TEMPERATURE_C, 20, 110),
    "dry": (units.PERCENT, 0.1, 50), "reserve": (units.PERCENT, 0, 90), "overdue": (units.TIME_MIN, 1, 600),
    "overdue_after": (units.TIME_MIN, 0, 240), "steam_over": (units.TIME_MIN, 0, 240),
    "re_alarm": (units.TIME_MIN, 0.5, 240),
}  # fmt: skip


def _rules(t: Table, ph_with: PhWith) -> Rules:
    usual = usual_rules(ph_with)
    given: dict[str, Any] = {}
    for key, (kind, low, high) in _RULES.items():
        given[key] = t.quantity(key, kind, getattr(usual, key), low=low, high=high)
    given["ph_limit"] = t.number("ph_limit", usual.ph_limit, low=0, high=4)
    given["ph_low"] = t.number("ph_low", usual.ph_low, low=0, high=6)
    given["scorch_factor"] = t.number("scorch_factor", usual.scorch_factor, low=1, high=20)
    given["cloth"] = t.word("cloth", GRADES, usual.cloth)
    given["look"] = t.choice("look", usual.look)
    t.finish()
    return Rules(**given)


def changed_rules(plan: Plan) -> list[tuple[str, object, object]]:
    """Return (key, value, default) for every threshold that is not the default."""
    default = usual_rules(plan.acid.ph_with)
    pairs = ((f.name, getattr(plan.rules, f.name), getattr(default, f.name)) for f in fields(Rules))
    return [(key, value, usual) for key, value, usual in pairs if value != usual]


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
        for kind in sorted(splitting.kinds_on_the_way(colourway), key=lambda kind: kind.value):
            of_kind = [item for item in kit if item.kind == kind]
            if of_kind and all(item.skeins_of(base.skein_g) == 0 for item in of_kind):
                largest = max(item.holds_g or 0 for item in of_kind)
                what = f"a piece of {base.name!r} weighs {base.skein_g:g} g and no {kind.value} holds that"
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
        if total > splitting.MOST_BATCHES:
            what = f"with this the orders come to more than {splitting.MOST_BATCHES} batches"
            notes.add(("order", orders.index(lot.orders[0])), what, "leave some for another day")
            return
