"""The acids a dyer has: vinegar of any strength, citric acid as powder or solution."""

from __future__ import annotations

from enum import Enum

from dyeday.craft.errors import RefusedError
from dyeday.quick_dataclass import dataclass

ACETIC_G_PER_MOL = 60.052
"""Molar mass of acetic acid (IUPAC)."""
CITRIC_G_PER_MOL = 192.124
"""Molar mass of anhydrous citric acid (IUPAC)."""
CITRIC_MONOHYDRATE_G_PER_MOL = 210.138
"""Molar mass of citric acid monohydrate (IUPAC); 1.0938 times the anhydrous."""
VINEGAR_PCT = 5.0
"""Strength of household vinegar, % w/v. Common practice; the label says."""
ACETIC_NEAT_PCT = 105.0
"""Glacial acetic acid as % w/v, from its density of 1.05 kg/L (handbook figure, from memory)."""
CITRIC_SATURATED_G_PER_L_WATER = 1330.0
"""What a litre of water dissolves at 20 °C: 133 g in 100 g (Apelblat, Citric Acid, 2014, through a database)."""
CITRIC_SATURATED_PCT = 75.0
"""The same as % w/v of solution, from 133 g in 233 g and a density of 1.3 kg/L (density from memory)."""


class AcidKind(Enum):
    """Kinds of acid; CITRIC is the anhydrous powder. The values are the words of plans and of what is stored."""

    VINEGAR = "vinegar"
    CITRIC = "citric"
    CITRIC_MONOHYDRATE = "citric monohydrate"
    CITRIC_SOLUTION = "citric solution"


POURED = frozenset({AcidKind.VINEGAR, AcidKind.CITRIC_SOLUTION})
"""measured in mL; a powder is weighed in g"""
MOST_VOLUMES = 1000.0
"""A dose above this many volumes of its bath is the acid neat."""


@dataclass(frozen=True)
class BottledAcid:
    """One acid as it stands on the shelf."""

    kind: AcidKind
    strength_pct: float | None
    """% w/v, counted as acetic or anhydrous citric acid; None for a powder."""
    mol_per_unit: float
    """Moles in one mL, or in one g of a powder."""

    @property
    def is_poured(self) -> bool:
        """Measured in mL; a powder is weighed in g."""
        return self.strength_pct is not None

    @property
    def is_citric(self) -> bool:
        """Citric acid in any form; else acetic."""
        return self.kind is not AcidKind.VINEGAR

    @property
    def unit(self) -> str:
        """The unit its amounts are in."""
        return "mL" if self.is_poured else "g"

    @property
    def water_l_per_mol(self) -> float:
        """Litres that a mole brings with it; a powder brings none worth counting."""
        return 1 / (1000 * self.mol_per_unit) if self.is_poured else 0.0

    @property
    def most_mol_per_l(self) -> float:
        """The most that can go into a litre of water: neat for a liquid, saturated for a powder."""
        if self.is_poured:
            return MOST_VOLUMES * 1000 * self.mol_per_unit
        return CITRIC_SATURATED_G_PER_L_WATER / CITRIC_G_PER_MOL

    @property
    def name(self) -> str:
        """What a dyer calls it."""
        if not self.is_poured:
            return "citric acid" if self.kind is AcidKind.CITRIC else "citric acid monohydrate"
        return f"{self.strength_pct:g} % {'citric' if self.is_citric else 'vinegar'}"

    @property
    def at_most(self) -> str:
        """What its strongest bath would be, in words."""
        return "that is the acid neat" if self.is_poured else "no more dissolves"


def acid(kind: AcidKind = AcidKind.VINEGAR, strength_pct: float | None = None) -> BottledAcid:
    """Return an acid; vinegar without a strength, % w/v, has 5. Raises RefusedError for a strength that cannot be."""
    if kind is AcidKind.VINEGAR:
        pct = VINEGAR_PCT if strength_pct is None else strength_pct
        return BottledAcid(kind, pct, _strength(pct, ACETIC_NEAT_PCT, "vinegar") / 100 / ACETIC_G_PER_MOL)
    if kind is AcidKind.CITRIC_SOLUTION:
        if strength_pct is None:
            raise RefusedError("the strength of the citric solution is missing; give it in g per 100 mL")
        pct = _strength(strength_pct, CITRIC_SATURATED_PCT, "citric solution")
        return BottledAcid(kind, pct, pct / 100 / CITRIC_G_PER_MOL)
    g_per_mol = CITRIC_G_PER_MOL if kind is AcidKind.CITRIC else CITRIC_MONOHYDRATE_G_PER_MOL
    return BottledAcid(kind, None, 1 / g_per_mol)


def _strength(pct: float, most_pct: float, what: str) -> float:
    if not 0 < pct <= most_pct:
        raise RefusedError(f"{what} of {pct:g} % w/v cannot be; it must be more than 0 and at most {most_pct:g}")
    return pct
