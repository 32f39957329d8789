"""How much acid a plan's water needs, by the acid arithmetic of `dyeday.craft`."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

from dyeday.craft.dye.depth_of_shade import liquor_l
from dyeday.craft.dye.dye_classes import BathPh, PhRange, bath_ph
from dyeday.craft.dye.measuring import pipette_step
from dyeday.craft.errors import RefusedError, above, round_up
from dyeday.craft.water.acids import BottledAcid
from dyeday.craft.water.acids import acid as craft_acid
from dyeday.craft.water.alkalinity import RawWater, raw_water
from dyeday.craft.yarn.fibres import dyeable_share
from dyeday.plan.model import Acid, Base, Layer, Plan, Water
from dyeday.quick_dataclass import dataclass
from dyeday.terms import AcidPlace, DosePer, DyeMethod, UnitSystem

if TYPE_CHECKING:
    from dyeday.craft.water.acid_dose import AcidDose

# The chemistry of water is imported where it is used: the bench starts without it.

FIBRE_SHARE = 0.5
"""share of the acid that the fibre may take at most; a dose has so much of it, and the pH shows if more is needed.
100 g of wool then get about 1 % of acetic acid on their weight; common practice, no source."""
NOTHING = 0.001
"""mL or g of acid too small to put in"""
SOAK_L_PER_KG = 10.0
"""Water in a soak tray for its yarn; common practice, no source."""
USUAL_WOF_PCT = 1.0
"""Pure acid on the weight of yarn where the water is unknown: 20 mL of 5 % vinegar per 100 g; common practice, no
source."""
MOST_OVER = 1.25
"""times an amount of acid that a jug may round it up to; common practice, no source"""
IMMERSED_PARTS = 2
"""in how many parts a pot gets its acid, so that the dye goes on evenly; common practice, no source"""


@dataclass(frozen=True, slots=True)
class Dose:
    """Acid for one bath, in mL or g as the plan's acid is measured."""

    water_l: float
    water_amount: float
    """what the water alone needs"""
    fibre_most: float
    """what the fibre may take at most: an allowance within a factor of two"""
    ph: float | None
    """the bath with this dose; None for the dyer's own dose, or the usual one"""
    liquid: bool
    notes: tuple[str, ...] = ()
    water_if_softened: float | None = None
    """for the water alone if it is softened; None if its hardness is known or both are the same within 5 %"""

    @property
    def fibre_amount(self) -> float:
        """The acid poured for the fibre: half of what it may take at most."""
        return self.fibre_most * FIBRE_SHARE

    @property
    def amount(self) -> float:
        """The full dose: for the water, and for half of what the fibre may take."""
        return self.water_amount + self.fibre_amount

    @property
    def if_softened(self) -> float | None:
        """The full dose if the water is softened; None as ``water_if_softened``."""
        return None if self.water_if_softened is None else self.water_if_softened + self.fibre_amount

    @property
    def acid_ml(self) -> float | None:
        """Its amount in mL; None for a solid."""
        return self.amount if self.liquid else None

    @property
    def acid_g(self) -> float | None:
        """Its amount in g; None for a liquid."""
        return None if self.liquid else self.amount


def water_known(water: Water) -> bool:
    """Return whether the water's alkalinity or hardness is known; zero is known."""
    return water.alkalinity_mg_l is not None or water.hardness_mg_l is not None


@lru_cache(maxsize=32)
def _raw(water: Water) -> RawWater:
    return raw_water(water.alkalinity_mg_l, water.hardness_mg_l, temperature_c=water.temperature_c)


@lru_cache(maxsize=32)
def _acid(acid: Acid) -> BottledAcid:
    return craft_acid(acid.kind, acid.strength_pct)


@lru_cache(maxsize=64)
def _per_litre_and_gram(water: Water, acid: Acid) -> AcidDose:
    """Return the dose for a litre, and what a gram of fibre may take in it."""
    from dyeday.craft.water.acid_dose import dose_for

    takes = acid.fibre_takes_mmol_per_g
    return dose_for(1.0, _raw(water), acid.target_ph, _acid(acid), fibre_g=1.0, fibre_mmol_per_g=takes)


def ph_for_dyes(plan: Plan, layer: Layer) -> BathPh | None:
    """Return the range of pH for a layer's dyes with a class or range; None if none has one."""
    dyes = [dye for name in layer.dyes if (dye := plan.dye(name)) is not None]
    needed = [PhRange(d.ph_low, d.ph_high) for d in dyes if d.ph_low is not None and d.ph_high is not None]
    return bath_ph(needed, plan.acid.target_ph)


def target_ph(plan: Plan, layer: Layer | None = None) -> float:
    """Return the target pH of a bath: the layer's own, else that of its dyes, else the plan's."""
    if layer is None:
        return plan.acid.target_ph
    if layer.target_ph is not None:
        return layer.target_ph
    needed_ph = ph_for_dyes(plan, layer)
    return plan.acid.target_ph if needed_ph is None else needed_ph.target


def _acid_for(plan: Plan, layer: Layer | None) -> Acid:
    target = target_ph(plan, layer)
    return plan.acid if target == plan.acid.target_ph else replace(plan.acid, target_ph=target)


def dose(plan: Plan, water_l: float, fibre_g: float = 0.0, layer: Layer | None = None) -> Dose | None:
    """Return the acid that brings ``water_l`` of the plan's water to the pH of ``layer``, or to the plan's.

    None if the water is unknown or 0 L, or the pH out of reach. ``fibre_g`` is dry yarn as wool (`as_wool_g`).
    """
    if not water_known(plan.water) or water_l <= 0:
        return None
    try:
        each = _per_litre_and_gram(plan.water, _acid_for(plan, layer))
    except RefusedError:
        return None
    soft = None if each.if_softened is None else each.if_softened * water_l
    for_water, for_fibre = each.amount * water_l, each.fibre_amount * fibre_g
    return Dose(water_l, for_water, for_fibre, each.ph, plan.acid.is_liquid, each.notes, soft)


def as_wool_g(plan: Plan, wof_g: float, base: Base, layer: Layer | None = None) -> float:
    """Return the g of dry wool that would take as much acid as ``wof_g`` of a base in a bath of ``layer``."""
    from dyeday.craft.water.acid_on_fibre import mix_wool_ratio

    fibres = dict(base.fibre)
    if plan.acid.fibre_takes_mmol_per_g is not None or not water_known(plan.water):
        return wof_g * dyeable_share(fibres)
    try:
        wool_mmol = _per_litre_and_gram(plan.water, _acid_for(plan, layer)).fibre_share_mmol
    except RefusedError:
        return 0.0
    return wof_g * mix_wool_ratio(fibres, wool_mmol) if wool_mmol > 0 else 0.0


def full_dose(
    plan: Plan, water_l: float, yarn: Iterable[tuple[float, Base]], layer: Layer | None = None
) -> Dose | None:
    """Return the full dose of a bath with ``yarn`` (g, base): the dyer's own, or the usual one for unknown water."""
    share, acid = 1.0 if layer is None else layer.acid_share, plan.acid
    yarn = [(wof_g * share, base) for wof_g, base in yarn]
    if acid.dose is None and water_known(plan.water):
        return dose(plan, water_l, sum(as_wool_g(plan, wof_g, base, layer) for wof_g, base in yarn), layer)
    if water_l <= 0:
        return None
    notes = () if acid.dose is not None else (NOT_KNOWN,)
    per, each = (DosePer.WOF, USUAL_WOF_PCT) if acid.dose is None else (acid.dose_per, acid.dose)
    if per is DosePer.LITRE:
        return Dose(water_l, each * water_l, 0.0, None, acid.is_liquid, notes)
    wof_g = sum(each_g for each_g, _ in yarn)
    by_weight = acid_by_weight(acid, wof_g, each) if per is DosePer.WOF else each * wof_g / 100
    return Dose(water_l, 0.0, by_weight / FIBRE_SHARE, None, acid.is_liquid, notes)


def acid_by_weight(acid: Acid, wof_g: float, pure_pct: float = USUAL_WOF_PCT) -> float:
    """Return the acid, mL or g, with pure acid of ``pure_pct`` of ``wof_g``."""
    return pure_pct / (acid.strength_pct or 100.0) * wof_g


MEASURE_WATER = (
    'write its alkalinity in the plan, [water] alkalinity = "120 mg/L" (on the water report, or a drop test)'
)
NOT_KNOWN = f"the water is unknown, so acid goes by weight: read the pH; {MEASURE_WATER}"
"""Shown beside the usual dose."""


def fibre_takes_least(plan: Plan, wof_g: float, base: Base, layer: Layer | None = None) -> float:
    """Return the least acid, mL or g, that yarn carries out of a bath; unknown water counts as needing none."""
    from dyeday.craft.water.acid_on_fibre import LOWER_UPPER_RATIO

    if not water_known(plan.water):
        plan = replace(plan, water=Water(0.0, 0.0, plan.water.temperature_c))
    taken = dose(plan, 1.0, as_wool_g(plan, wof_g, base, layer), layer)
    return taken.fibre_most * LOWER_UPPER_RATIO if taken is not None else 0.0


def acid_parts(plan: Plan, layer: Layer) -> int:
    """Return the number of parts of a layer's acid: more than one only for a pot."""
    if layer.how is not DyeMethod.IMMERSED or layer.acid_in is AcidPlace.SOAK:
        return 1
    return IMMERSED_PARTS if plan.acid.parts is None else plan.acid.parts


def is_range(plan: Plan, dose: Dose) -> bool:
    """Return whether jug or scale tell a dose for hard water from that for softened water."""
    softened = dose.amount if dose.if_softened is None else dose.if_softened
    return to_pour(plan, softened) != to_pour(plan, dose.amount)


def notes_of(plan: Plan, dose: Dose) -> list[str]:
    """Return a dose's notes; that on hard and softened water only where it `is_range`."""
    from dyeday.craft.water.acid_dose import DROP_TEST

    return [note for note in dose.notes if note != DROP_TEST or is_range(plan, dose)]


def why_no_dose(plan: Plan) -> str:
    """Return why no dose can be computed for the plan's water and target, or ""."""
    if plan.acid.dose is not None:
        return ""
    if not water_known(plan.water):
        return NOT_KNOWN
    try:
        _per_litre_and_gram(plan.water, plan.acid)
    except RefusedError as error:
        return str(error)
    return ""


def to_pour(plan: Plan, amount: float) -> float:
    """Return an amount of acid rounded up to what jug or scale can measure; never 0.

    Where the jug would make it more than `MOST_OVER` times as much, up to a pipette's mark.
    """
    if amount <= NOTHING:
        return 0.0
    step = plan.jug_ml if plan.acid.is_liquid else plan.scale_g
    poured = round_up(amount / step) * step
    if not plan.acid.is_liquid or plan.session.units is UnitSystem.US or not above(poured, amount * MOST_OVER):
        return poured
    step = pipette_step(amount, step)
    return round_up(amount / step) * step


def poured_in_all(plan: Plan, layer: Layer, amount: float) -> float:
    """Return a layer's acid as jug or scale measures it: for its soak, or for each section of its liquor."""
    shares = (1.0,) if layer.acid_in is AcidPlace.SOAK else layer.liquor_shares
    return sum(to_pour(plan, amount * share) for share in shares)


def in_parts(plan: Plan, layer: Layer, amount: float) -> tuple[float, float]:
    """Return a layer's acid as `to_pour`, in the part that goes in first and the later one, 0 if there is none."""
    whole = to_pour(plan, amount)
    first = min(whole, to_pour(plan, whole / acid_parts(plan, layer)))
    return first, whole - first


def soak_l(wof_g: float) -> float:
    """Return the water in the soak of ``wof_g`` of dry yarn, in L."""
    return liquor_l(wof_g, SOAK_L_PER_KG)


def soak_dose(plan: Plan, wof_g: float, base: Base, layer: Layer | None = None) -> Dose | None:
    """Return the acid for the soak of ``wof_g`` of a base in 10 L/kg, before ``layer``."""
    return full_dose(plan, soak_l(wof_g), [(wof_g, base)], layer)


def layer_dose(plan: Plan, layer: Layer, wof_g: float, base: Base) -> Dose | None:
    """Return the acid for the liquor of a layer that has its acid in the bath or in the paint, None for powder."""
    return full_dose(plan, layer.liquor_ml(wof_g) / 1000, [(wof_g, base)], layer)


def acid_of_layer(plan: Plan, layer: Layer, wof_g: float, base: Base) -> Dose | None:
    """Return the acid a layer takes, in its liquor or a soak of its own; None where it takes none."""
    if layer.acid_in is not AcidPlace.SOAK:
        return layer_dose(plan, layer, wof_g, base)
    return soak_dose(plan, wof_g, base, layer) if layer.own_acid_soak else None


def correction(plan: Plan, water_l: float, put_in: float, read_ph: float, layer: Layer | None = None) -> Dose | None:
    """Return what to add to ``water_l`` that had ``put_in`` (mL or g) and reads ``read_ph``; None as for `dose`."""
    from dyeday.craft.water.acid_dose import after_reading, with_acid
    from dyeday.craft.water.bath_chemistry import of_raw_water

    if not water_known(plan.water) or water_l <= 0:
        return None
    try:
        bath = with_acid(of_raw_water(water_l, _raw(plan.water)), _acid(plan.acid), put_in)
        more = after_reading(bath, read_ph, target_ph(plan, layer), _acid(plan.acid))
    except RefusedError:
        return None
    return Dose(water_l, more.amount, 0.0, more.ph, plan.acid.is_liquid, more.notes)
