"""A bath as chemistry sees it: what is in it that no reaction changes, and the pH that follows.

Poured together, baths add up; that one rule serves a fresh tray, a topped-up one, a big pot and a paint liquor
that carries its own acid. The model: carbonate equilibrium, Davies activities, calcium bound by citrate and
acetate; magnesium is counted as calcium, and calcium bicarbonate pairs are left out (below 0.3 % of a dose).
Litres of water are taken as kilograms (0.2 % at 20 °C, 0.8 % at 40 °C).
"""

from __future__ import annotations

from dyeday.craft.errors import RefusedError, between, positive
from dyeday.craft.water.alkalinity import CACO3_G_PER_MOL, RawWater
from dyeday.craft.water.dissociation import constants
from dyeday.craft.water.speciation import Speciation, speciate
from dyeday.quick_dataclass import dataclass

STEADY = 1e-6
"""Relative change at which an iteration is done; far below what a strip or a scale can show."""
MOST_ROUNDS = 200
"""Rounds an iteration may take; usual baths need fewer than ten. Numerical choice."""
TRACE_MOL_L = 1e-12
"""Stands for no carbonate at all."""


@dataclass(frozen=True)
class BathChemistry:
    """What is dissolved, in moles for the whole bath; acid already in it is counted whole, bound or not."""

    volume_l: float
    base_mol: float
    """Acid the water consumes: alkalinity before any acid was added."""
    carbon_mol: float
    """Carbonate in all forms; it stays in the bath, as in one that has just been mixed."""
    calcium_mol: float
    acetic_mol: float = 0.0
    citric_mol: float = 0.0
    temperature_c: float = 20.0
    """A room's where none is said. Common practice, no source."""

    @property
    def ph(self) -> float:
        """The pH at rest, 0 to 14."""
        return ph_of(self)

    def at(self, ph: float, ionic_mol_l: float) -> Speciation:
        """Return how its contents divide at a pH and an ionic strength."""
        amounts = (self.carbon_mol, self.calcium_mol, self.base_mol, self.acetic_mol, self.citric_mol)
        return speciate(ph, ionic_mol_l, constants(self.temperature_c), *(mol / self.volume_l for mol in amounts))


def of_raw_water(volume_l: float, water: RawWater) -> BathChemistry:
    """Return a bath of raw water. Raises RefusedError where the volume is not above 0 L.

    Its carbonate follows from alkalinity and pH: C = (A − OH + H) / (f1 + 2 f2), f the carbonate fractions; none
    where no carbonate could bring such soft water to its pH.
    """
    base = 2 * water.alkalinity_mg_l / 1000 / CACO3_G_PER_MOL
    calcium = water.hardness_mg_l / 1000 / CACO3_G_PER_MOL
    k = constants(water.temperature_c)
    carbon, ionic = max(base, TRACE_MOL_L), 0.0
    for _ in range(MOST_ROUNDS):
        before = ionic
        mix = speciate(water.ph, ionic, k, carbon, calcium, base)
        grows = max(TRACE_MOL_L / carbon, (base - mix.free_charge) / mix.carbonate_charge)
        carbon, ionic = carbon * grows, mix.ionic_mol_l + (grows - 1) * mix.carbonate_charge / 2
        if abs(ionic - before) <= STEADY * ionic:
            break
    volume_l = positive(volume_l, "the water in L")
    return BathChemistry(
        volume_l, base * volume_l, carbon * volume_l, calcium * volume_l, temperature_c=water.temperature_c
    )


def base_missing_mol(bath: BathChemistry, ph: float) -> float:
    """Return the base, mol, beyond `base_mol` at this pH, 0-14; negative for too much. Raises RefusedError."""
    mix = _settled(bath, between(ph, 0, 14, "the pH"))
    return _charge_mol(bath, mix) - bath.base_mol


def ph_of(bath: BathChemistry) -> float:
    """Return the pH at which the bath's charges balance, by halving 0-14 (the balance falls steadily)."""
    low, high = 0.0, 14.0
    ionic = 0.0
    for _ in range(50):
        middle = (low + high) / 2
        mix = _settled(bath, middle, ionic)
        ionic = mix.ionic_mol_l
        if _charge_mol(bath, mix) > bath.base_mol:
            high = middle
        else:
            low = middle
    return (low + high) / 2


def _charge_mol(bath: BathChemistry, mix: Speciation) -> float:
    """Return the charge that the bath's base balances: hydroxide, carbonate and the anions of its acids."""
    acids_mol = mix.per_acetic * bath.acetic_mol + mix.per_citric * bath.citric_mol
    return (mix.free_charge + mix.carbonate_charge) * bath.volume_l + acids_mol


def _settled(bath: BathChemistry, ph: float, ionic: float = 0.0) -> Speciation:
    for _ in range(MOST_ROUNDS):
        mix = bath.at(ph, min(ionic, 1.0))
        if abs(mix.ionic_mol_l - ionic) <= STEADY * ionic or ionic >= 1.0 <= mix.ionic_mol_l:
            return mix
        ionic = mix.ionic_mol_l
    raise RefusedError("this bath is too strong to calculate; dilute it first")
