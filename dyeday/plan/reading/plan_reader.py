"""A session plan's text becomes the model, or a list of every problem.

Keys are declared in the model; here and in `table_readers` are the rules between keys.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import fields, replace
from itertools import accumulate
from math import ceil
from typing import Any
from zoneinfo import ZoneInfo, available_timezones

from dyeday import units
from dyeday.craft.water.acids import CITRIC_SATURATED_PCT, POURED, AcidKind
from dyeday.craft.water.alkalinity import HIGHEST_MG_L, alkalinity_from_bicarbonate
from dyeday.plan import batches as splitting
from dyeday.plan.library import EMPTY, Library, T, by_name
from dyeday.plan.model import (
    ACID_PCT,
    AIMS,
    Acid,
    Chore,
    Circuit,
    HandBatch,
    Money,
    Order,
    Plan,
    Session,
    Water,
)
from dyeday.plan.reading.key_reader import read_keys, values_of
from dyeday.plan.reading.problems import PlanError, similar
from dyeday.plan.reading.table_reader import Notes, Table
from dyeday.plan.reading.table_readers import base_of, colourway_of, dye_of, extra_of, hand_batch_of, kit_of, order_of
from dyeday.plan.reading.toml_syntax import toml_of
from dyeday.plan.rules import Rules, usual_rules
from dyeday.terms import DayAim, DosePer
from dyeday.text import brief


def read_plan(text: str, library: Library = EMPTY, *, without_orders: bool = False) -> Plan:
    """Return the plan in ``text`` (TOML); an order is needed unless ``without_orders``.

    ``library`` defines what is named only: a colourway or base of an order, a dye of a colourway, any of these or a
    kit whose table has only a name; and every kit, if the plan has none. Raises PlanError with every problem, each
    with its line; where the TOML itself cannot be read, with that one.
    """
    raw, lines = toml_of(text)
    notes = Notes(lines)
    root = Table(notes, raw, ())
    if not root.has("session"):
        root.lacks("session", "there is no [session]", "add a [session] with name, date, start, stop")
    session = _session(root.table("session"), there=root.has("session"))
    water = read_keys(root.table("water"), Water, {"alkalinity_mg_l": _alkalinity})
    acid = read_keys(root.table("acid"), Acid, {"strength_pct": _strength, "dose": _dose, "on_hand": _acid_on_hand})
    rules = read_keys(root.table("rules"), Rules, like=usual_rules(acid.ph_with))
    alone: dict[str, Any] = {}
    for table in ("scale", "jug", "air"):
        t = root.table(table)
        alone |= values_of(t, Plan, table=table)
        t.finish()
    money = read_keys(root.table("money"), Money)
    own_circuits = tuple(read_keys(t, Circuit) for t in root.tables("circuit"))
    known_circuits = [c.name for c in (*own_circuits, *library.circuits)]
    kit = tuple(_library_definition(t, library.kit) or kit_of(t, known_circuits) for t in root.tables("kit"))
    kit = kit if root.has("kit") else library.kit
    circuits = (*own_circuits, *_used([k.circuit or "" for k in kit], own_circuits, library.circuits))
    bases = tuple(_library_definition(t, library.bases) or base_of(t) for t in root.tables("base"))
    dyes = tuple(_library_definition(t, library.dyes) or dye_of(t) for t in root.tables("dye"))
    known_dyes = [d.name for d in (*dyes, *library.dyes)]
    tables = root.tables("colourway")
    colourways = tuple(_library_definition(t, library.colourways) or colourway_of(t, known_dyes) for t in tables)
    chores = tuple(read_keys(t, Chore) for t in root.tables("chore"))
    extras = tuple(extra_of(t) for t in root.tables("extra"))
    known_colourways = [c.name for c in (*colourways, *library.colourways)]
    known_bases = [b.name for b in (*bases, *library.bases)]
    orders = tuple(order_of(t, known_colourways, known_bases) for t in root.tables("order"))
    hand = tuple(hand_batch_of(t, [order.item for order in orders]) for t in root.tables("batch"))
    if not root.has("order") and not without_orders:
        what = "there is no [[order]], so nothing to dye"
        root.lacks("order", what, "add an [[order]] with item, colourway, base, skeins")
    root.finish()
    things = {"circuit": circuits, "kit": kit, "base": bases, "dye": dyes, "colourway": colourways, "extra": extras}
    for key, named in things.items():
        _no_duplicates(notes, key, named)
    colourways += _used([order.colourway for order in orders], colourways, library.colourways)
    bases += _used([order.base for order in orders], bases, library.bases)
    needed = [dye for colourway in colourways for layer in colourway.layers for dye in layer.dyes]
    dyes += _used(needed, dyes, library.dyes)
    plan = Plan(
        session=session,
        water=water,
        acid=acid,
        rules=rules,
        **alone,
        money=money,
        circuits=circuits,
        kit=kit,
        bases=bases,
        dyes=dyes,
        colourways=colourways,
        chores=chores,
        extras=extras,
        orders=orders,
    )
    _must_fit(notes, plan)
    for n, what, right in splitting.hand_misfit([_or_any_number(notes, *each) for each in enumerate(orders)], hand):
        notes.add(("batch", n), what, right)
    if not notes.problems:
        _must_be_few(notes, plan, hand)
    batches = () if notes.problems else splitting.split_orders(plan, orders, hand)
    numbers = {batch.no for batch in batches}
    for n, by_hand in enumerate(hand):
        if batches and by_hand.no and splitting.full_batch_no(by_hand.no, len(batches)) not in numbers:
            right = f"they go from {batches[0].no} to {batches[-1].no}"
            notes.add(("batch", n, "no"), f"no batch has the number {by_hand.no}", right)
    if notes.problems:
        raise PlanError(notes.problems)
    return replace(plan, batches=batches)


def _used(names: Iterable[str], own: Sequence[T], known: Sequence[T]) -> tuple[T, ...]:
    """Return the ``known`` definitions that are named and that ``own`` lacks."""
    wanted = (name for name in dict.fromkeys(names) if by_name(own, name) is None)
    return tuple(thing for name in wanted for thing in known if thing.name == name)


def _library_definition(t: Table, known: Sequence[T]) -> T | None:
    """Return the library's definition for a table that gives only a name, if the library has it."""
    name = t.raw.get("name")
    return by_name(known, name) if set(t.raw) == {"name"} and isinstance(name, str) else None


def _session(t: Table, *, there: bool) -> Session:
    # What it names is not read: a program of a plan must never run. `advice` says that it does nothing.
    t.get("sound")
    session = read_keys(t, Session, {"aim": _aim}, demand=there)
    ends = [key in t.raw and not t.has_problem(key) for key in ("start", "stop")]
    if all(ends) and session.stop_min <= session.start_min:
        t.problem("stop", "it is not after start", 'write a time after midnight with +1, such as "01:30+1"')
    if session.zone is not None and not _zone_exists(session.zone):
        t.problem("zone", f"{brief(session.zone)} is not a time zone", similar(session.zone, available_timezones()))
    return session


def _aim(t: Table, _: object) -> DayAim:
    """Return the plan's aim; `serves` is its older name."""
    aim = t.word("aim", tuple(AIMS), next(iter(AIMS)))
    serves = t.choice("serves", DayAim.BY_STOP)
    if t.has("aim") and t.has("serves"):
        t.problem("serves", "session.aim is given too", "keep aim alone")
    return AIMS[aim] if t.has("aim") else serves


def _zone_exists(zone: str) -> bool:
    try:
        ZoneInfo(zone)
    except (KeyError, ValueError, OSError):
        return False
    return True


def _alkalinity(t: Table, _: object) -> float | None:
    alkalinity = t.quantity("alkalinity", units.ALKALINITY_MG_L, high=HIGHEST_MG_L)
    bicarbonate = t.quantity("bicarbonate", units.BICARBONATE_MG_L, high=2500)
    if alkalinity is not None and bicarbonate is not None:
        t.problem("bicarbonate", "alkalinity is given too", "keep one of the two")
    return alkalinity if bicarbonate is None else alkalinity_from_bicarbonate(bicarbonate)


def _strength(t: Table, acid: Mapping[str, Any]) -> float | None:
    kind = acid["kind"]
    most_pct = CITRIC_SATURATED_PCT if kind is AcidKind.CITRIC_SOLUTION else 100.0
    strength = t.quantity("strength", units.STRENGTH_PCT, ACID_PCT.get(kind), low=0.1, high=most_pct)
    if kind is AcidKind.CITRIC_SOLUTION and not t.has("strength"):
        what = "acid.strength is not given for a citric solution"
        t.lacks("strength", what, 'add strength = "50 %" as you made it')
    return strength if kind in POURED else None


def _dose(t: Table, acid: dict[str, Any]) -> float | None:
    """Return a dyer's own dose, in mL or g as the acid is measured, or in percent."""
    unit, kind = ("mL", units.VOLUME_ML) if acid["kind"] in POURED else ("g", units.MASS_G)
    hint = f'write such as "20 {unit} per 100 g", "15 {unit}/L" or "1 % WOF"'
    dose = t.text("dose")
    match = _DOSE.fullmatch(dose)
    if not dose or t.has_problem("kind"):
        return None
    if match is None:
        return t.refused("dose", f"{brief(dose)} does not say per what", hint, None)
    kind, most = (units.PERCENT, 100.0) if match["wof"] else (kind, 1000.0)
    acid["dose_per"] = DosePer.WOF if match["wof"] else DosePer.LITRE if match["litre"] else DosePer.PER_100_G
    try:
        return units.read(match["amount"], kind, low=0.001, high=most)
    except units.QuantityError as error:
        return t.refused("dose", error.what, hint, None)


_DOSE = re.compile(
    r"(?P<amount>.+?)\s*(?:(?:/|\bper)\s*(?:100\s*g|(?P<litre>l|litre|liter))|(?P<wof>(?:o\.?)?w\.?o\.?f\.?))", re.I
)


def _acid_on_hand(t: Table, acid: Mapping[str, Any]) -> float | None:
    if not t.has("on_hand") or t.has_problem("kind"):
        return None  # in mL or in g is not known
    return t.quantity("on_hand", units.VOLUME_ML if acid["kind"] in POURED else units.MASS_G, high=1e6)


def changed_rules(plan: Plan) -> list[tuple[str, object, object]]:
    """Return (key, value, default) for every threshold that is not the default."""
    default = usual_rules(plan.acid.ph_with)
    pairs = ((f.name, getattr(plan.rules, f.name), getattr(default, f.name)) for f in fields(Rules))
    return [(key, value, usual) for key, value, usual in pairs if value != usual]


def _no_duplicates(notes: Notes, key: str, items: Iterable[Any]) -> None:
    seen: set[str] = set()
    for n, name in enumerate(item.name for item in items):
        if name and name in seen:
            notes.add((key, n), f"a second [[{key}]] is called {brief(name)}", "give each its own name")
        seen.add(name)


def _must_fit(notes: Notes, plan: Plan) -> None:
    """Note every order whose skein is too large for a kind of kit it needs."""
    if any(notes.has_problem("kit", n, "kind") for n, _ in enumerate(plan.kit)):
        return
    weighed = [base for n, base in enumerate(plan.bases) if not notes.has_problem("base", n, "skein")]
    for n, order in enumerate(plan.orders):
        base, colourway = by_name(weighed, order.base), by_name(plan.colourways, order.colourway)
        if base is None or colourway is None:
            continue
        for kind in sorted(splitting.kinds_needed(colourway), key=lambda kind: kind.value):
            of_kind = [item for item in plan.kit if item.kind == kind]
            if of_kind and all(item.skeins_of(base.skein_g) == 0 for item in of_kind):
                largest = max(item.holds_g or 0 for item in of_kind)
                what = f"one skein of {base.name!r} weighs {base.skein_g:g} g and no {kind.value} holds that"
                notes.add(("order", n), what, f"the largest holds {largest:g} g")


def _or_any_number(notes: Notes, n: int, order: Order) -> Order:
    """Return order ``n``, with room for any batch where it is not known how many skeins its lot has."""
    wrong = any(notes.has_problem("order", n, key) for key in ("colourway", "base", "skeins", "spare"))
    return replace(order, skeins=10**9) if wrong else order


MOST_UNITS = 300
"""units of all kit together: with more, a forecast would exceed its budget"""


def _must_be_few(notes: Notes, plan: Plan, hand: Sequence[HandBatch]) -> None:
    """Note orders that make more batches than three digits can number, and kit of more than `MOST_UNITS`."""
    for n, item_units in enumerate(accumulate(item.units for item in plan.kit)):
        if item_units > MOST_UNITS:
            what = f"with this the kit comes to {item_units} units or more"
            notes.add(("kit", n), what, f"leave out what the day does not use; a forecast handles {MOST_UNITS}")
            return
    total = len(hand)
    for lot in splitting.lots_of(plan.orders):
        limit = splitting.largest_batch(plan, lot)
        total += ceil(lot.skeins / limit) if limit else 1
        if total > splitting.MOST_BATCHES:
            what = f"with this the orders come to more than {splitting.MOST_BATCHES} batches"
            notes.add(("order", plan.orders.index(lot.orders[0])), what, "leave some for another day")
            return
