"""Depth of shade: from the weight of fibre to powder, solution and water.

WOF is the dry weight of fibre, DOS the dye in percent of it, a solution's strength % w/v: grams in 100 mL.
g dye = g fibre × DOS / 100 and mL solution = g dye × 100 / strength are definitions; the worked cases of Venkatesh
(VFSTR University) and of published textile calculation pages agree.
"""

from __future__ import annotations

from math import ceil

from dyeday.craft.errors import between, not_negative, positive

PINCH_G = 0.05
"""What one pinch of dye powder weighs. Common practice, no source: weigh ten of yours once."""


def wof_weighed_g(weighed_g: float, regain_here_pct: float, regain_label_pct: float) -> float:
    """Return the weight of fibre, g, of yarn weighed in this air, as its label would have it.

    A regain is the water that fibre holds, percent of bone-dry: in this air (`drying_air.regain_in_air_pct`), and in
    standard air (`fibres.regain_pct`). Raises RefusedError where the weight is not above 0, or a regain is negative.
    """
    here = 1 + not_negative(regain_here_pct, "the regain here in %") / 100
    label = 1 + not_negative(regain_label_pct, "the label's regain in %") / 100
    return positive(weighed_g, "the yarn's weight in g") / here * label


def powder_g(wof_g: float, dos_pct: float) -> float:
    """Return the dye, g, for a depth of shade on so much fibre. Raises RefusedError if negative or above 100 %."""
    return not_negative(wof_g, "the weight of fibre in g") * between(dos_pct, 0, 100, "the depth of shade in %") / 100


def solution_ml(dye_g: float, strength_pct: float) -> float:
    """Return the mL with so much dye. Raises RefusedError if it is negative or the strength not 0-100 % w/v."""
    strength = between(positive(strength_pct, "the solution's strength in %"), 0, 100, "the solution's strength in %")
    return not_negative(dye_g, "the dye in g") * 100 / strength


def liquor_l(wof_g: float, liquor_l_per_kg: float) -> float:
    """Return the bath, L, at a ratio in L/kg. Raises RefusedError if that is not above 0 or the fibre negative."""
    return not_negative(wof_g, "the weight of fibre in g") / 1000 * positive(liquor_l_per_kg, "the liquor in L/kg")


def speckle_powder_g(wof_g: float, g_per_100g: float) -> float:
    """Return the powder, g, for speckles at so many g to 100 g of fibre. Raises RefusedError if one is negative."""
    return not_negative(wof_g, "the weight of fibre in g") / 100 * not_negative(g_per_100g, "the powder in g/100 g")


def pinches(dye_g: float) -> float:
    """Return the pinches in so much powder, to the half, half a one at least. Raises RefusedError if negative."""
    halves = 2 * not_negative(dye_g, "the powder in g") / PINCH_G
    return max(round(halves), ceil(halves > 0)) / 2
