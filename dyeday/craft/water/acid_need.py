"""The moles of acid that bring a bath to a pH.

From a target pH the dose is explicit but for the bath's own strength, so a few rounds settle it:
n = (A − (OH − H) − B − acids already let go) / n̄ moles, B the carbonate charge left at the target and n̄ the
protons one mole of the added acid lets go there. Vinegar and citric solution also dilute what they are poured into.
"""

from __future__ import annotations

from math import ceil

from dyeday.craft.errors import RefusedError
from dyeday.craft.water.acids import Acid
from dyeday.craft.water.bath_chemistry import MOST_ROUNDS, STEADY, Bath, UnsettledError, usual_ionic_mol_l
from dyeday.craft.water.dissociation import constants
from dyeday.craft.water.speciation import speciate

QUICKENS_BELOW = 0.5
"""Rounds that shrink faster than this are summed ahead."""


class CannotReachError(RefusedError):
    """A target pH this acid cannot bring this bath to; the message says what it can."""


def with_acid_mol(bath: Bath, acid: Acid, added_mol: float) -> Bath:
    """Give the bath after so many moles of acid, with the water the acid brings."""
    return Bath(
        bath.volume_l + added_mol * acid.water_l_per_mol,
        bath.base_mol,
        bath.carbon_mol,
        bath.calcium_mol,
        bath.acetic_mol + (0.0 if acid.is_citric else added_mol),
        bath.citric_mol + (added_mol if acid.is_citric else 0.0),
        bath.temperature_c,
    )


def mol_needed(bath: Bath, ph: float, acid: Acid) -> float:
    """Give the moles of acid that bring a bath to a pH; 0 when it is there, or lower, already.

    Raises:
        CannotReachError: the pH is lower than this acid reaches.
    """
    k, brings = constants(bath.temperature_c), acid.water_l_per_mol
    ionic = usual_ionic_mol_l(bath.base_mol / bath.volume_l, bath.calcium_mol / bath.volume_l)
    added, last_step = 0.0, 0.0
    for _ in range(MOST_ROUNDS):
        litres = bath.volume_l + added * brings
        acetic = bath.acetic_mol + (0.0 if acid.is_citric else added)
        citric = bath.citric_mol + (added if acid.is_citric else 0.0)
        mix = speciate(
            ph,
            ionic,
            k,
            bath.carbon_mol / litres,
            bath.calcium_mol / litres,
            bath.base_mol / litres,
            acetic / litres,
            citric / litres,
        )
        per_litre, carbonate_mol = mix.free_charge, mix.carbonate_charge * litres
        own_mol = mix.per_acetic * bath.acetic_mol + mix.per_citric * bath.citric_mol
        short_mol = bath.base_mol - per_litre * bath.volume_l - carbonate_mol - own_mol
        per_mol = (mix.per_citric if acid.is_citric else mix.per_acetic) + per_litre * brings
        needed = short_mol / per_mol if per_mol > 0 else float("inf")
        if needed > acid.most_mol_per_l * bath.volume_l:
            raise CannotReachError(_too_low(bath, ph, acid))
        # Both must stand still: the dose alone can pass its own value by chance while the strength still moves.
        steady = abs(mix.ionic_mol_l - ionic) <= STEADY * ionic
        if steady and (abs(needed - added) <= STEADY * needed or needed <= 0 >= added):
            return max(needed, 0.0)
        step = needed - added
        shrinks = step / last_step if last_step else 1.0
        if abs(shrinks) < QUICKENS_BELOW:
            # Rounds shrink evenly, calcium's slowly; the rest of the series is taken in one stride.
            step, last_step = step / (1 - shrinks), 0.0
        else:
            last_step = step
        step = max(step, -added)
        # The ionic strength this step brings is known already; waiting a round for it doubles the rounds.
        grown = step / litres * (mix.ionic_per_citric if acid.is_citric else mix.ionic_per_acetic)
        added, ionic = added + step, min(max(mix.ionic_mol_l + grown, 0.0), 1.0)
    raise UnsettledError(_too_low(bath, ph, acid))


def _too_low(bath: Bath, ph: float, acid: Acid) -> str:
    strongest = with_acid_mol(bath, acid, acid.most_mol_per_l * bath.volume_l)
    lowest = ceil(strongest.ph * 100) / 100  # rounded down it would name what was just refused
    return (
        f"{acid.name} cannot bring this water to pH {ph:g}: at most it reaches pH {lowest:.2f} "
        f"({acid.at_most}); choose a higher target"
    )
