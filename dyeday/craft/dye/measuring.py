"""What jug and scale can do: rounding, splitting without loss, and what a small weighing is worth."""

from __future__ import annotations

from math import floor

from dyeday.craft.dye.depth_of_shade import solution_ml
from dyeday.craft.errors import ROUNDING, above, not_negative, positive
from dyeday.quick_dataclass import dataclass

FAIR_PCT = 5.0
"""Uncertainty of depth a dyer should not notice. Common practice, no source."""
USUAL_STRENGTHS_PCT = (4.0, 2.0, 1.0, 0.5, 0.25, 0.1, 0.05, 0.02, 0.01)
"""Strengths dyers mix, % w/v. Common practice, no source."""


@dataclass(frozen=True)
class Mix:
    """What to mix so that enough solution stands ready."""

    powder_g: float
    from_bottle_ml: float
    """Old solution that goes in."""
    water_ml: float
    """To add; the volume of the powder is neglected."""
    total_ml: float
    """Ready in the end, waste included."""


def figure(value: float, digits: int = 4) -> str:
    """Return a number with so many significant digits, with zeros where others would write an exponent: "12340"."""
    return f"{float(f'{value:.{digits}g}'):.15g}"


def to_step(value: float, step: float) -> float:
    """Round to the nearest step, halves up. Raises RefusedError if the step is not above 0, or the value negative."""
    return floor(not_negative(value, "the amount") / positive(step, "the step") + 0.5 + ROUNDING) * step


def pipette_step(amount_ml: float, jug_ml: float) -> float:
    """Return the mark, mL, of a pipette that holds so much, if finer than the jug's; common practice, no source."""
    return min(jug_ml, 0.5 if amount_ml >= 5 else 0.1)


def measure_step(solution_ml: float, jug_ml: float) -> float:
    """Return the step, mL, that measures a solution: the jug's, or a pipette's where the jug is `FAIR_PCT` off.

    Raises RefusedError as `to_step`.
    """
    off_ml = abs(to_step(solution_ml, jug_ml) - solution_ml)
    return jug_ml if off_ml <= solution_ml * FAIR_PCT / 100 else pipette_step(solution_ml, jug_ml)


def to_measure(solution_ml: float, jug_ml: float) -> float:
    """Return mL as by the jug or a pipette (`measure_step`). Raises RefusedError as `to_step`."""
    return to_step(solution_ml, measure_step(solution_ml, jug_ml))


def uncertain_pct(amount: float, step: float) -> float:
    """Return how uncertain an amount is in percent of itself: half a step of the scale or jug that measures it.

    Common practice, no source. Raises RefusedError where the amount or the step is not above 0.
    """
    return 50 * positive(step, "the step") / positive(amount, "the amount")


def weaker_pct(dye_g: float, strength_pct: float, jug_step_ml: float) -> float | None:
    """Return the weaker solution, % w/v, of which a jug measures this much dye fairly; None when no other is needed.

    ``strength_pct`` is that of the solution it would be taken from. Raises RefusedError where a value is not above 0.
    """
    uncertain = uncertain_pct(solution_ml(positive(dye_g, "the dye in g"), strength_pct), jug_step_ml)
    if uncertain <= FAIR_PCT:
        return None
    enough_pct = strength_pct * FAIR_PCT / uncertain
    return next((pct for pct in USUAL_STRENGTHS_PCT if not above(pct, enough_pct)), enough_pct)


def to_mix(total_ml: float, strength_pct: float, *, left_ml: float = 0.0, left_pct: float | None = None) -> Mix:
    """Return what to mix for so much solution, waste included, less ``left_ml`` in the bottle of ``left_pct``, % w/v.

    As much of the bottle is used as brings neither too much room nor too much dye. Raises RefusedError where an
    amount is negative or a strength not above 0.
    """
    strength = positive(strength_pct, "the solution's strength in %")
    old = strength if left_pct is None else positive(left_pct, "the bottle's strength in %")
    total = not_negative(total_ml, "the solution in mL")
    used = min(not_negative(left_ml, "what is in the bottle in mL"), total, total * strength / old)
    return Mix((total * strength - used * old) / 100, used, total - used, total)
