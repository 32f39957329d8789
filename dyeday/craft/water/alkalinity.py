"""Raw water as a dyer knows it: alkalinity and hardness in the units kits and water companies print.

Alkalinity consumes acid; hardness (calcium and magnesium) does not, but it binds citrate. The common unit is
milligrams of CaCO3 per litre. Each factor below follows from its definition; published factor tables agree.
"""

from __future__ import annotations

from dataclasses import replace

from dyeday.craft.errors import RefusedError, between, not_negative
from dyeday.quick_dataclass import dataclass

CACO3_G_PER_MOL = 100.087
"""Molar mass of calcium carbonate."""
CAO_G_PER_MOL = 56.077
"""Molar mass of calcium oxide, in which the German degree is defined."""
HCO3_G_PER_MOL = 61.017
"""Molar mass of bicarbonate."""
GRAIN_MG = 64.79891
"""One grain, exact by definition."""
US_GALLON_L = 3.785411784
"""One US gallon, exact by definition."""
IMPERIAL_GALLON_L = 4.54609
"""One imperial gallon, exact by definition."""
MG_L_CACO3_PER = {
    "mg/L": 1.0,
    "ppm": 1.0,
    "°dH": 10 * CACO3_G_PER_MOL / CAO_G_PER_MOL,
    "°fH": 10.0,
    "°e": GRAIN_MG / IMPERIAL_GALLON_L,
    "gpg": GRAIN_MG / US_GALLON_L,
    "mmol/L": CACO3_G_PER_MOL,
    "meq/L": CACO3_G_PER_MOL / 2,
}
"""Milligrams of CaCO3 per litre in one of each unit. 1 °dH is 10 mg/L CaO, 1 °e one grain per imperial gallon,
1 gpg one grain per US gallon, 1 mmol/L counts calcium and magnesium, 1 meq/L acid consumed. Reports give the latter
as mmol/L too: of H+, the acid capacity of ISO 9963-1."""
USUAL_RAW_PH = 7.8
"""pH taken for tap water when none was read. Common practice, no source; from 7.0 to 8.3 the dose for pH 5
moves by less than 1 %."""
HIGHEST_MG_L = 2000.0
"""More than any drinking water carries; above it a unit was mistaken. Common practice, no source."""
ALKALINITY_FROM_HARDNESS = (
    "only hardness is known and stands in for alkalinity: the dose may be too big, or too small for softened water; "
    "read the pH"
)
HARDNESS_FROM_ALKALINITY = "hardness is not given: taken equal to alkalinity; softened water needs more acid"


@dataclass(frozen=True)
class RawWater:
    """Water as it comes, before anything is added."""

    alkalinity_mg_l: float
    """As CaCO3."""
    hardness_mg_l: float
    """As CaCO3, calcium and magnesium together, all counted as calcium."""
    temperature_c: float
    ph: float
    """As read, or `USUAL_RAW_PH`."""
    notes: tuple[str, ...] = ()
    """What was taken for granted, in words for the dyer."""
    hardness_known: bool = True
    """False where alkalinity stands in for it: the water may be hard, or softened and hold no calcium."""

    @property
    def softened(self) -> RawWater:
        """The same water had its calcium been taken out, with all its alkalinity."""
        return replace(self, hardness_mg_l=0.0, hardness_known=True, notes=())


def alkalinity_from_bicarbonate(bicarbonate_mg_l: float) -> float:
    """Return alkalinity, mg/L as CaCO3, from mg/L of bicarbonate ion. Raises RefusedError if negative.

    One mole of bicarbonate consumes one of acid and counts as half a mole of CaCO3 (molar masses): × 0.8202.
    """
    bicarbonate_mol = not_negative(bicarbonate_mg_l, "the bicarbonate in mg/L") / HCO3_G_PER_MOL
    return bicarbonate_mol * CACO3_G_PER_MOL / 2


def raw_water(
    alkalinity_mg_l: float | None = None,
    hardness_mg_l: float | None = None,
    *,
    temperature_c: float = 15.0,
    ph: float = USUAL_RAW_PH,
) -> RawWater:
    """Return the raw water from alkalinity and hardness, as CaCO3; zero is a value, None is unknown.

    One stands in for the other: hardness for alkalinity as an upper guess (common practice, no source). Raises
    RefusedError where neither is known, or a value is out of its range.
    """
    notes: tuple[str, ...] = ()
    if alkalinity_mg_l is None:
        if hardness_mg_l is None:
            raise RefusedError("the water's alkalinity and hardness are both missing; give at least one")
        alkalinity_mg_l, notes = hardness_mg_l, (ALKALINITY_FROM_HARDNESS,)
    hardness_known = hardness_mg_l is not None
    if hardness_mg_l is None:
        hardness_mg_l, notes = alkalinity_mg_l, (HARDNESS_FROM_ALKALINITY,)
    return RawWater(
        between(alkalinity_mg_l, 0, HIGHEST_MG_L, "the alkalinity in mg/L CaCO3"),
        between(hardness_mg_l, 0, HIGHEST_MG_L, "the hardness in mg/L CaCO3"),
        between(temperature_c, 0, 100, "the water's temperature in °C"),
        between(ph, 5, 10.5, "the raw water's pH"),
        notes,
        hardness_known,
    )
