"""Amounts as the plan's jug and scale can measure them, in its unit system."""

from __future__ import annotations

from collections.abc import Callable
from math import floor

from dyeday import units
from dyeday.craft.dye.measuring import FAIR_PCT, figure, measure_step, pipette_step, to_measure, to_step
from dyeday.craft.errors import ROUNDING, above, round_up
from dyeday.plan.doses import NOTHING, Dose, acid_parts, in_parts, to_pour
from dyeday.plan.model import Layer, Plan
from dyeday.terms import UnitSystem


def volume_text(plan: Plan, amount_ml: float) -> str:
    """Return mL in the plan's unit system, rounded to its jug's marks: "60 mL"."""
    return units.show_volume(amount_ml, plan.session.units, plan.jug_ml)


def solution_text(plan: Plan, solution_ml: float) -> str:
    """Return mL of dye solution: as the jug measures it, or a pipette where the jug is too coarse (`to_measure`)."""
    measured = to_measure(solution_ml, plan.jug_ml)
    if plan.session.units is UnitSystem.US or measured == to_step(solution_ml, plan.jug_ml):
        return volume_text(plan, solution_ml)
    return f"{measured:.4g} mL"


FINEST_ML = 0.1
"""the mark of a small pipette; common practice, no source"""


def mix_text(plan: Plan, amount_ml: float, *, is_water: bool = False) -> str:
    """Return mL that several batches are poured from, as `mix_ml`."""
    return _marked_text(plan, mix_ml(plan, amount_ml, is_water=is_water))


def mix_ml(plan: Plan, amount_ml: float, *, is_water: bool = False) -> float:
    """Return mL that several batches are poured from, up to a mark, water as `water_text`; US: to the nearest."""
    if is_water and amount_ml >= plan.jug_ml and plan.session.units is UnitSystem.METRIC:
        return round_up(amount_ml / plan.jug_ml) * plan.jug_ml
    return _at_mark(plan, amount_ml, round if plan.session.units is UnitSystem.US else round_up)


def water_text(plan: Plan, water_ml: float) -> str:
    """Return mL of water to the jug's marks; by pipette where it is less than one mark."""
    return (solution_text if water_ml < plan.jug_ml else volume_text)(plan, water_ml)


def share_text(plan: Plan, amount_ml: float) -> str:
    """Return mL that are poured from a mix, rounded down to a mark."""
    return _marked_text(plan, _at_mark(plan, amount_ml, lambda marks: floor(marks + ROUNDING)))


def _at_mark(plan: Plan, amount_ml: float, rounded: Callable[[float], int]) -> float:
    """Return mL ``rounded`` to the coarsest mark of jug or pipette at most `FAIR_PCT` off; US: as it is shown."""
    if plan.session.units is UnitSystem.US:
        return units.us_measured_ml(amount_ml, rounded)
    marks = (plan.jug_ml, pipette_step(amount_ml, plan.jug_ml), min(plan.jug_ml, FINEST_ML))
    at_marks = [rounded(amount_ml / step) * step for step in marks]
    fair = (ml for ml in at_marks if not above(abs(ml - amount_ml), amount_ml * FAIR_PCT / 100))
    return next(fair, at_marks[-1]) or amount_ml


def _marked_text(plan: Plan, marked_ml: float) -> str:
    return units.show_volume(marked_ml, plan.session.units, min(plan.jug_ml, FINEST_ML))


def made_up_ml(plan: Plan, solution_ml: float) -> float:
    """Return the mL to make up for at least so much solution: up to a mark of the jug, or of a pipette."""
    step = measure_step(solution_ml, plan.jug_ml)
    return solution_ml if plan.session.units is UnitSystem.US else round_up(solution_ml / step) * step


def mass_text(plan: Plan, amount_g: float) -> str:
    """Return g in the plan's unit system with the digits that its scale shows: "2.40 g"."""
    number, _, unit = units.show_mass(amount_g, plan.session.units, plan.scale_g).partition(" ")
    digits = len(f"{plan.scale_g:.10g}".partition(".")[2])
    return f"{float(number):.{digits}f} g" if unit == "g" and amount_g >= plan.scale_g else f"{number} {unit}"


def used_text(solution_ml: float | None, powder_g: float | None, otherwise: str = "") -> str:
    """Return recorded amounts of a dye: "120 mL and 0.4 g powder"; ``otherwise`` if there are none."""
    parts = [f"{figure(solution_ml)} mL"] if solution_ml is not None else []
    parts += [f"{figure(powder_g, 3)} g powder"] if powder_g is not None else []
    return " and ".join(parts) or otherwise


def acid_text(acid_ml: float, acid_g: float, *, kept: bool, share: bool) -> str:
    """Return a batch's acid: "35 mL", "33 mL kept" of earlier loads', "18 mL, its share" of what several had."""
    if kept or share:
        amount = f"{acid_ml:.0f} mL" if acid_ml or not acid_g else f"{figure(acid_g, 2)} g"
        return f"{amount}{' kept' * kept}{', its share' * share}"
    return f"{acid_ml:g} mL" if acid_ml else f"{acid_g:g} g"


def acid_amount_text(plan: Plan, acid: float) -> str:
    """Return an amount of the plan's acid, mL or g as it is measured, as the jug or the scale can do it."""
    return poured_text(plan, to_pour(plan, acid))


def poured_text(plan: Plan, poured: float) -> str:
    """Return an amount of the plan's acid, mL or g, that is one of `to_pour` or a part of one."""
    if plan.acid.is_liquid:
        return units.show_volume(poured, plan.session.units, pipette_step(poured, plan.jug_ml))
    return units.show_mass(poured, plan.session.units, plan.scale_g)


def dose_text(plan: Plan, dose: Dose) -> str:
    """Return a dose in words, as `acid_range_text`."""
    return acid_range_text(plan, dose.amount, dose.if_softened)


def acid_range_text(plan: Plan, acid: float, if_softened: float | None) -> str:
    """Return an amount as `acid_amount_text`; a range where hard and softened water differ."""
    hard, softened = (acid_amount_text(plan, each) for each in (acid, acid if if_softened is None else if_softened))
    return hard if hard == softened else f"{hard} (hard water) to {softened} (softened)"


def parts_text(plan: Plan, layer: Layer, dose: Dose) -> str:
    """Return when the parts of a layer's acid go in, with their amounts where one is known; "" for a single part."""
    first, later = in_parts(plan, layer, dose.amount)
    parts = acid_parts(plan, layer)
    if later < NOTHING:
        return ""
    how = f"in {'two' if parts == 2 else parts} parts"
    then = "once it simmers" if parts == 2 else f"in {parts - 1} parts from the simmer on"
    if dose.if_softened is not None:
        return f"{how}: the first before the yarn goes in, the rest {then}"
    return f"{how}: {poured_text(plan, first)} before the yarn goes in, {poured_text(plan, later)} {then}"
