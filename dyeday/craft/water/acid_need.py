"""The moles of acid that bring a bath to a pH.

From a target pH the dose is explicit but for the bath's own strength, so a few rounds settle it:
n = (A − (OH − H) − B − protons given off already) / n̄ moles, B the carbonate charge left at the target and n̄ the
protons that one mole of the added acid gives off there. Vinegar and citric solution also dilute the bath.
"""

from __future__ import annotations

from math import ceil, inf

from dyeday.craft.errors import RefusedError
from dyeday.craft.water.acids import BottledAcid
from dyeday.craft.water.bath_chemistry import MOST_ROUNDS, STEADY, BathChemistry, UnsettledError
from dyeday.quick_dataclass import altered


class CannotReachError(RefusedError):
    """A target pH this acid cannot bring this bath to; the message says what it can."""


def with_acid_mol(bath: BathChemistry, acid: BottledAcid, added_mol: float) -> BathChemistry:
    """Return the bath after so many moles of acid, with the water the acid brings."""
    volume_l = bath.volume_l + added_mol * acid.water_l_per_mol
    if acid.is_citric:
        return altered(bath, volume_l=volume_l, citric_mol=bath.citric_mol + added_mol)
    return altered(bath, volume_l=volume_l, acetic_mol=bath.acetic_mol + added_mol)


def mol_needed(bath: BathChemistry, ph: float, acid: BottledAcid) -> float:
    """Return the moles that bring a bath to a pH, 0 if it is there or lower. Raises CannotReachError."""
    added, ionic = 0.0, 0.0
    for _ in range(MOST_ROUNDS):
        with_it = with_acid_mol(bath, acid, added)
        mix = with_it.at(ph, ionic)
        per_litre, carbonate_mol = mix.free_charge, mix.carbonate_charge * with_it.volume_l
        own_mol = mix.per_acetic * bath.acetic_mol + mix.per_citric * bath.citric_mol
        short_mol = bath.base_mol - per_litre * bath.volume_l - carbonate_mol - own_mol
        per_mol = (mix.per_citric if acid.is_citric else mix.per_acetic) + per_litre * acid.water_l_per_mol
        needed = max(short_mol / per_mol, 0.0) if per_mol > 0 else inf
        if needed > acid.most_mol_per_l * bath.volume_l:
            raise CannotReachError(_too_low(bath, ph, acid))
        # Both must stand still: the dose alone can cross its own value by chance while the strength still moves.
        if abs(mix.ionic_mol_l - ionic) <= STEADY * ionic and abs(needed - added) <= STEADY * needed:
            return needed
        added, ionic = needed, min(mix.ionic_mol_l, 1.0)
    raise UnsettledError(_too_low(bath, ph, acid))


def _too_low(bath: BathChemistry, ph: float, acid: BottledAcid) -> str:
    strongest = with_acid_mol(bath, acid, acid.most_mol_per_l * bath.volume_l)
    lowest = ceil(strongest.ph * 100) / 100  # rounded down it would name what was just refused
    return (
        f"{acid.name} cannot bring this water to pH {ph:g}: at most it reaches pH {lowest:.2f} "
        f"({acid.at_most}); choose a higher target"
    )
