"""The acid the fibre itself takes out of a bath: an allowance to show and change, never a fact to judge by.

Wool binds protons with anions beside them, so more in a bath that holds more acid. The figure is good to a
factor of two, and a cold soak of half an hour is not at rest; a pH reading corrects it.
"""

from __future__ import annotations

from math import sqrt

from dyeday.craft.errors import between, not_negative

MOST_MMOL_PER_G = 0.82
"""Most acid wool binds (Steinhardt and Harris, J. Res. NBS 24 (1940) 335, abstract)."""

MIDPOINT_PH = 2.3
"""Where half is bound without salt, the upper estimate: Sen-i Gakkaishi 15 (1959) 292, abstract. Near 2.0 fits
Paddon's data at the boil."""


def fibre_mmol_per_g(ph: float, anion_mol_l: float, midpoint_ph: float = MIDPOINT_PH) -> float:
    """Give the acid wool may take, mmol of protons per g of dry fibre: 0 to 0.82.

    (θ / (1 − θ))² = [H⁺] [A⁻] 10^(2·midpoint), the form of Gilbert and Rideal; from memory, good to a factor of
    two. Silk and nylon take less, so on a blend it errs to the high side.

    Args:
        ph: of the bath at rest.
        anion_mol_l: the acid's anions in mol/L.
        midpoint_ph: pH of half uptake, 2.3 (upper) or 2.0 (lower estimate).

    Raises:
        RefusedError: the pH is outside 0-14, or the anions are negative.
    """
    product = 10 ** -between(ph, 0, 14, "the pH") * not_negative(anion_mol_l, "the anions in mol/L")
    ratio = sqrt(product) * 10**midpoint_ph
    return MOST_MMOL_PER_G * ratio / (1 + ratio)
