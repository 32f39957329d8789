"""Advice on a valid plan: what is unusual, a sentence each. Limits are common practice unless a source is named."""

from __future__ import annotations

from collections.abc import Iterator

from dyeday.craft.dye.measuring import figure
from dyeday.craft.water.acids import AcidKind
from dyeday.craft.yarn.drying_air import GUESS_BELOW_C
from dyeday.craft.yarn.fibres import FIBRES
from dyeday.craft.yarn.heat_into_yarn import boils_c
from dyeday.plan.batches import PEG_G, batch_sizes, kinds_needed, largest_batch, lots_of
from dyeday.plan.doses import MEASURE_WATER, acid_by_weight, dose, ph_for_dyes, target_ph
from dyeday.plan.model import Base, Colourway, Layer, OrderKey, Plan
from dyeday.plan.reading.toml_positions import TomlPositions
from dyeday.plan.recipe import MOST_DOS_PCT
from dyeday.plan.weigh_out import no_room_in, weigh_out
from dyeday.quick_dataclass import dataclass
from dyeday.terms import STEADY_HEATS, AcidPlace, Cover, DyeMethod, Form, HeatKind, KitKind

LIQUOR_L_PER_KG = (8.0, 40.0)
"""US patent 5,925,149 gives 8-20 L/kg; a hand dyer's half-full pot goes to 40 (common practice)."""
UNDYED_PCT = 20.0
BOILS_C = 100.0
LOWER_BOIL_C = 3.0
"""A boiling point lower by more than this is mentioned: from about 900 m; common practice, no source."""
WARM_TAP_C = 40.0
"""A cold tap is never so warm; common practice, no source."""
HARD_MG_L = 180.0
"""Water above it is very hard (USGS: more than 180 mg/L as CaCO3); its alkalinity is rarely a quarter of it."""
SOFT_MG_L = 60.0
"""Water up to it is soft (USGS, as CaCO3) or softened, with its alkalinity still there."""
MOST_OF_HARDNESS = 1.25
"""Alkalinity rarely exceeds hardness by more: most of it came with calcium and magnesium; common practice"""
HEAVY_MINI_G = 60.0
"""Minis are sold of 5 to 50 g; common practice, no source."""
STRONG_ACID_PCT = 25.0
"""Acetic acid of 25 % and more is corrosive (ECHA registration dossier)."""


@dataclass(frozen=True, slots=True)
class Advice:
    """One unusual thing about a plan, and what would be usual."""

    what: str
    hint: str

    def __str__(self) -> str:
        return f"{self.what}; {self.hint}"


def advice(plan: Plan) -> tuple[Advice, ...]:
    """Return what is unusual, in the order of the plan."""
    return tuple(Advice(what, right) for what, right in _all(plan))


def water_advice(plan: Plan) -> tuple[str, ...]:
    """Return what is unusual about the water, each with what would be usual."""
    return tuple(str(Advice(what, right)) for what, right in _of_water(plan))


def obsolete_keys(text: str) -> tuple[Advice, ...]:
    """Return the obsolete keys of a valid plan's text, each with its line."""
    if (line := TomlPositions(text).lines.get(("session", "sound"))) is None:
        return ()
    what = f"line {line}: session.sound is ignored: plans are shared, and must not start programs"
    return (Advice(what, "delete it, and set this computer's sounds with `dyeday sound`"),)


def _all(plan: Plan) -> Iterator[tuple[str, str]]:
    yield from _of_water(plan)
    yield from _of_acid(plan)
    yield from _of_air(plan)
    wanted = {order.colourway for order in plan.orders}
    for colourway in plan.colourways:
        for n, layer in enumerate(colourway.layers, 1):
            yield from _of_layer(plan, colourway, n, layer)
    yield from _of_liquors(plan)
    for base in plan.bases:
        yield from _of_base(base)
    yield from _of_minis(plan)
    kinds = {kit.kind for kit in plan.kit}
    needed = {kind for c in plan.colourways if c.name in wanted for kind in kinds_needed(c)}
    for kind in sorted(needed - kinds, key=lambda kind: kind.value):
        yield f"the kit has no {kind.value}", f"add a [[kit]] of kind {kind.value!r}"
    for kit in plan.kit:
        if kit.kind is KitKind.STEAMER and kit.lasts_min is None and (kit.tank_l is None or kit.power_w is None):
            what = f"how long a fill of {kit.name!r} lasts is not known: its tank is not watched"
            yield what, 'time it once from switching on full to MIN, and write that: lasts = "60 min"'
    prices: dict[OrderKey, float] = {}
    for order in plan.orders:
        if order.price is not None and prices.setdefault(order.key, order.price) != order.price:
            what = f"{order.item!r} has two prices for the same yarn, and the last counts for all of it"
            yield what, "give both the same price, or each its own item"
        if order.due is not None and order.due < plan.session.date:
            yield f"{order.item!r} was due {order.due:%d %b}, before this day", "check the date"


def _of_water(plan: Plan) -> Iterator[tuple[str, str]]:
    water = plan.water
    for which, warm_c in (("the tap", water.temperature_c), ("rinse water", water.rinse_temperature_c)):
        if warm_c > WARM_TAP_C and (which == "the tap" or warm_c != water.temperature_c):
            what = f"{which} of {warm_c:g} °C is hot: it felts wool that goes in cold, and scalds"
            yield what, "water.temperature is what the cold tap runs at, 5 to 25 °C"
    alkalinity, hardness = water.alkalinity_mg_l, water.hardness_mg_l
    if alkalinity is None or hardness is None:
        return
    what = f"alkalinity of {figure(alkalinity, 3)} mg/L beside a hardness of {figure(hardness, 3)} mg/L is rare"
    if hardness > HARD_MG_L and alkalinity < hardness / 4:
        yield what, 'check the unit: a test\'s 7 dKH is 125 mg/L; write it as "7 dKH"'
    if hardness > SOFT_MG_L and alkalinity > MOST_OF_HARDNESS * hardness:
        yield what, 'check the units: 5.2 mmol/L of acid capacity are 260 mg/L; write "5.2 mmol/L"'


def _of_acid(plan: Plan) -> Iterator[tuple[str, str]]:
    if plan.water.alkalinity_mg_l is None:
        if plan.water.hardness_mg_l is None and plan.acid.dose is None:
            usual = f"{figure(acid_by_weight(plan.acid, 100))} {plan.acid.unit} of {plan.acid.name}"
            yield f"the water is unknown, so acid goes by weight, {usual} per 100 g", MEASURE_WATER
        elif plan.water.hardness_mg_l is not None:
            yield "only hardness is known and stands in for alkalinity", MEASURE_WATER
    if (hard_or_soft := dose(plan, 1.0)) is not None and hard_or_soft.if_softened is not None:
        more_pct = 100 * (hard_or_soft.if_softened / hard_or_soft.amount - 1)
        what = f"the water's hardness is not known: softened water needs {more_pct:.0f} % more {plan.acid.kind.value}"
        yield what, "add water.hardness from a drop test"
    if plan.acid.kind == AcidKind.VINEGAR and (plan.acid.strength_pct or 0) >= STRONG_ACID_PCT:
        right = "goggles and gloves, acid into water, and follow the maker's safety sheet"
        yield f"acetic acid of {plan.acid.strength_pct:g} % is corrosive", right
    if not 3.5 <= plan.acid.target_ph <= 6.0:
        what = f"a target of pH {plan.acid.target_ph:g} is unusual for acid dyes on wool"
        yield what, "most need pH 4 to 5.5; see the dye maker's sheet"


def _of_air(plan: Plan) -> Iterator[tuple[str, str]]:
    boils_at_c = boils_c(plan.altitude_m) if plan.altitude_m is not None else BOILS_C
    if boils_at_c < BOILS_C - LOWER_BOIL_C:
        what = f"at {plan.altitude_m:g} m water boils at {boils_at_c:.0f} °C, so steam and a simmer stay at that"
        yield what, "hold heats longer, and look at the bath before you rinse"
    if plan.air_temperature_c is not None and plan.air_temperature_c < GUESS_BELOW_C:
        what = f"air of {plan.air_temperature_c:g} °C is below {GUESS_BELOW_C:g} °C, where drying times are guesses"
        yield what, "dry indoors, or weigh it: it is dry when the weight no longer changes"


def _of_layer(plan: Plan, colourway: Colourway, n: int, layer: Layer) -> Iterator[tuple[str, str]]:
    where = repr(colourway.name) + (f" layer {n}" if len(colourway.layers) > 1 else "")
    if (bath := ph_for_dyes(plan, layer)) is not None and not bath.agreed:
        what = f"the dyes of {where} need different baths, pH {bath.low:g} and more and {bath.high:g} and less"
        set_to = f"its bath is set to pH {target_ph(plan, layer):g}"
        yield what, f"{set_to}: expect uneven colour, or give the layer a target_ph"
    for share_pct, dos_pct in layer.overfull:
        what = f"{where} puts {dos_pct:g} % DOS on a section of {share_pct:g} %"
        yield what, f"over {MOST_DOS_PCT:g} % the fibre is full and the rest rinses out"
    slow = [heat for heat in layer.heats if heat.how in STEADY_HEATS]
    needs, has = plan.dye_minimum_min(layer), sum(heat.minutes for heat in layer.heats)
    if slow and has < needs:
        used = {name for section in layer.sections for name, _ in section.dyes}
        names = " and ".join(dye.name for dye in plan.dyes if dye.name in used and dye.min_steam_min == needs)
        right = f"`min_steam` of {names} is {needs:g} min" if names else f"its dyes need {needs:g} min"
        judged = f"timers run {has:g} min, the flag short fix goes by {needs:g}"
        change = f"plan {needs:g} min, or set `min_steam` {'lower' if names else 'of its dyes'}"
        yield f"{where} has {has:g} min at heat", f"{right}: {judged}; {change}"
    elif layer.how == DyeMethod.SPECKLED and any(heat.how == HeatKind.SIMMER for heat in slow):
        yield f"{where} is speckled and simmers, which washes the powder off", 'fix = ["steam 45 min"] is usual'
    elif not slow:
        right = f"a steam of {needs:g} min is the usual hold; look at the bath before you rinse"
        yield f"{where} is fixed by microwave alone, {has:g} min", right
    liquor = layer.liquor_ml_per_100g / 100
    if layer.how == DyeMethod.IMMERSED and not LIQUOR_L_PER_KG[0] <= liquor <= LIQUOR_L_PER_KG[1]:
        low, high = LIQUOR_L_PER_KG
        yield f"{where} has {liquor:g} L/kg of liquor", f"{low:g} to {high:g} L/kg is usual"
    if layer.how == DyeMethod.IMMERSED and layer.acid_in == AcidPlace.PAINT:
        yield f"{where} is immersed, but its acid is in the paint", 'acid_in = "bath" is usual'
    if not layer.liquor_ml(100) and layer.acid_in != AcidPlace.SOAK:
        yield f"{where} is speckled, and has no liquor for its acid to be in", 'acid_in = "soak"'
    elif layer.how != DyeMethod.IMMERSED and layer.acid_in == AcidPlace.BATH:
        yield f"{where} is {layer.how.value}, and has no bath for its acid to be in", 'acid_in = "soak" or "paint"'
    if layer.cover == Cover.OPEN and layer.how != DyeMethod.IMMERSED and layer.fix[0].how == HeatKind.REST:
        yield f"{where} rests open before its first heat", "wrap it, or it dries before the dye is fixed"


def _of_liquors(plan: Plan) -> Iterator[tuple[str, str]]:
    """Yield each layer whose solutions do not go into its liquor, by the first batch that has it."""
    remarked: set[tuple[str, int]] = set()
    for one in weigh_out(plan).batches:
        for liquor in one.liquors:
            misfit, key = no_room_in(liquor, plan.session.units), (one.batch.colourway, liquor.layer)
            if misfit is None or key in remarked:
                continue
            remarked.add(key)
            layer = f" layer {liquor.layer}" if len(one.liquors) > 1 else ""
            yield f"{one.batch.no} {one.batch.colourway!r}{layer}: {misfit[0]}", misfit[1]


def _of_minis(plan: Plan) -> Iterator[tuple[str, str]]:
    """Yield the lots of minis that kit which holds a number of pieces splits, although they are light."""
    for lot in lots_of(plan.orders):
        base, most = plan.base(lot.base), largest_batch(plan, lot) or lot.skeins
        if base.form is Form.MINI and lot.skeins > most < int(most * PEG_G / base.skein_g):
            batches = len(batch_sizes(lot.skeins, most))
            what = f"{lot.skeins} {lot.base!r} are {batches} batches: kit holds {most} pieces"
            yield (
                what,
                f'for more minis give a weight to each [[kit]] that holds so few: holds = "{most * PEG_G:g} g"',
            )


def _of_base(base: Base) -> Iterator[tuple[str, str]]:
    if base.form is Form.MINI and base.skein_g > HEAVY_MINI_G:
        what = f"a mini of {base.skein_g:g} g is heavy: dye for {base.name!r} is worked out for all of it"
        yield what, "skein is the weight of one skein, not of a set"
    undyed = [(fibre, share) for fibre, share in base.fibre if not FIBRES[fibre].dyeable]
    if sum(share for _, share in undyed) >= UNDYED_PCT:
        names = " and ".join(f"{share:g} % {fibre}" for fibre, share in undyed)
        what = f"{base.name!r} is {names}, which acid dye does not colour"
        yield what, "that part stays undyed; use another dye for it"
