"""The acid the fibre itself takes up from a bath: an allowance, of which a full dose counts half (`FIBRE_SHARE`).

Wool binds protons with anions beside them, so more in a bath that holds more acid. The figure is good to a factor of
two, and a cold soak of half an hour is short of equilibrium; a pH reading corrects it.
"""

from __future__ import annotations

from collections.abc import Mapping
from math import sqrt

from dyeday.craft.errors import between, not_negative, positive
from dyeday.craft.yarn.fibres import find

MOST_MMOL_PER_G = 0.82
"""Most acid wool binds (Steinhardt and Harris, J. Res. NBS 24 (1940) 335, abstract)."""
MIDPOINT_PH = 2.3
"""Where half is bound without salt, the upper estimate: Sen-i Gakkaishi 15 (1959) 292, abstract. Near 2.0 fits
Paddon's data at the boil."""
NYLON_MMOL_PER_G = 0.05
"""Amine ends of nylon that bind acid, 0.03 to 0.05 mmol/g; from memory. All of them do at the pH of a dyebath."""
SILK_WOOL_RATIO = 0.3
"""Basic groups of silk, about 0.2 mmol/g, beside wool's 0.82 (`MOST_MMOL_PER_G`), rounded up; from memory."""
LOWER_UPPER_RATIO = 0.5
"""The lower estimate beside the upper one: a midpoint of 2.0 instead of 2.3 is a factor of two."""


def mix_wool_ratio(mix: Mapping[str, float], wool_mmol_per_g: float) -> float:
    """Return how much acid a mix of fibres may take up, as a share of what as much wool would.

    ``mix`` has each fibre's share in percent; wool takes up ``wool_mmol_per_g`` in that bath (`fibre_mmol_per_g`).
    Nylon has its amine ends, silk its few basic groups; hair is as wool. What takes up no acid dye takes up no acid.
    """
    of_nylon = min(1.0, NYLON_MMOL_PER_G / positive(wool_mmol_per_g, "what wool takes up, mmol/g,"))
    shares = {"nylon": of_nylon, "silk": SILK_WOOL_RATIO}
    total = sum(mix.values())
    dyed = ((name, share) for name, share in mix.items() if total > 0 and (fibre := find(name)) and fibre.dyeable)
    return sum(share / total * shares.get(name, 1.0) for name, share in dyed)


def fibre_mmol_per_g(ph: float, anion_mol_l: float, midpoint_ph: float = MIDPOINT_PH) -> float:
    """Return the acid wool may take up, mmol of protons per g of dry fibre: 0 to 0.82.

    (θ / (1 − θ))² = [H⁺] [A⁻] 10^(2·midpoint), the form of Gilbert and Rideal; from memory, good to a factor of
    two. Half is taken up at ``midpoint_ph``, 2.3 (upper) or 2.0 (lower estimate). Silk and nylon take up less
    (`mix_wool_ratio`). Raises RefusedError where the pH is outside 0-14, or the anions are negative.
    """
    product = 10 ** -between(ph, 0, 14, "the pH") * not_negative(anion_mol_l, "the anions in mol/L")
    ratio = sqrt(product) * 10**midpoint_ph
    return MOST_MMOL_PER_G * ratio / (1 + ratio)
