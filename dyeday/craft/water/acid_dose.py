"""How much acid a bath needs, and which pH a dose gives.

The dose is for the water alone. What the fibre may take up stands beside it as an allowance and is never inside it.
From a target pH the dose is explicit but for the bath's own strength, so a few rounds settle it:
n = (A − (OH − H) − B − protons given off already) / n̄ moles, B the carbonate charge left at the target and n̄ the
protons that one mole of the added acid gives off there. Vinegar and citric solution also dilute the bath.
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil, inf

from dyeday.craft.errors import RefusedError, between, not_negative
from dyeday.craft.water.acid_on_fibre import fibre_mmol_per_g as usual_fibre_mmol_per_g
from dyeday.craft.water.acids import BottledAcid
from dyeday.craft.water.alkalinity import RawWater
from dyeday.craft.water.bath_chemistry import MOST_ROUNDS, STEADY, BathChemistry, base_missing_mol, of_raw_water
from dyeday.quick_dataclass import altered, dataclass

SAME_PH = 1e-4
"""pH difference below which a bath counts as being at its target. Numerical choice: no meter reads it."""
SAME_DOSE_PCT = 5.0
"""Doses for a hard and for a softened water nearer than this are one. Common practice, no source."""
DROP_TEST = (
    "the water's hardness is not known: the lower dose is for hard water, the higher for softened water; a drop test "
    "kit shows which"
)
"""Said beside a dose that depends on it."""
MUCH_VINEGAR_SHARE = 0.1
"""Acid above this share of the bath is remarked on. Common practice, no source."""
WARMEST_TRUSTED_C = 40.0
"""Up to here databases agree; at 60 °C minteq.v4.dat and sit.dat (both of the USGS phreeqc3 source)
differ by 9 % of a vinegar dose."""


@dataclass(frozen=True)
class AcidDose:
    """What to add, and what it does; amounts in mL, or in g of a powder (`BottledAcid.unit`)."""

    amount: float
    ph: float
    """Reached with the dose, the fibre's share apart."""
    bath: BathChemistry
    """What the bath is with the dose in it, for what comes next."""
    notes: tuple[str, ...] = ()
    fibre_share_mmol: float = 0.0
    """Acid the fibre itself may take up, mmol of protons: an allowance, within a factor of two."""
    fibre_amount: float = 0.0
    """The same as acid to put in beside `amount`."""
    if_softened: float | None = None
    """The dose were the water softened; None where its hardness is known or the two agree within `SAME_DOSE_PCT`."""


def dose_for(
    water_l: float,
    water: RawWater,
    target_ph: float,
    acid: BottledAcid,
    *,
    fibre_g: float = 0.0,
    fibre_mmol_per_g: float | None = None,
) -> AcidDose:
    """Return the acid that brings water to a target pH, usually 3.8 to 5.5.

    ``fibre_g`` of dry yarn may take up acid, by ``fibre_mmol_per_g`` or the usual allowance (`acid_on_fibre`). Raises
    RefusedError where water or acid cannot reach the target, or an amount is out of its range.
    """
    bath = of_raw_water(water_l, water)
    dose = dose_for_bath(bath, target_ph, acid, fibre_g=fibre_g, fibre_mmol_per_g=fibre_mmol_per_g)
    if not water.hardness_known:
        soft = dose_for(water_l, water.softened, target_ph, acid)
        if soft.amount > dose.amount * (1 + SAME_DOSE_PCT / 100):
            return replace(dose, if_softened=soft.amount, notes=(DROP_TEST, *dose.notes))
    return replace(dose, notes=water.notes + dose.notes) if water.notes else dose


def dose_for_bath(
    bath: BathChemistry,
    target_ph: float,
    acid: BottledAcid,
    *,
    fibre_g: float = 0.0,
    fibre_mmol_per_g: float | None = None,
) -> AcidDose:
    """Return the acid that brings a bath to a pH; none if acid in it has taken it lower. Raises as `dose_for`."""
    between(target_ph, 0, 14, "the target pH")
    if not (added_mol := mol_needed(bath, target_ph, acid)):
        own_ph = bath.ph
        if own_ph > target_ph - SAME_PH or bath.acetic_mol or bath.citric_mol:
            note = f"the bath is at pH {own_ph:.2f} already; add nothing"
            return _with_fibre(AcidDose(0.0, own_ph, bath, (note,)), acid, fibre_g, fibre_mmol_per_g)
        what = f"this water is at pH {own_ph:.2f} by itself, and acid only lowers it"
        raise RefusedError(f"{what}; pH {target_ph:g} cannot be reached, any pH below {own_ph:.2f} can")
    notes = []
    after = with_acid_mol(bath, acid, added_mol)
    if after.volume_l - bath.volume_l > MUCH_VINEGAR_SHARE * bath.volume_l:
        notes.append("the acid is more than a tenth of the bath; use a stronger one")
    if bath.temperature_c > WARMEST_TRUSTED_C:
        notes.append("above 40 °C the dose may be off by 10 %; read the pH when cool")
    dose = AcidDose(added_mol / acid.mol_per_unit, target_ph, after, tuple(notes))
    return _with_fibre(dose, acid, fibre_g, fibre_mmol_per_g)


def after_reading(bath: BathChemistry, read_ph: float, target_ph: float, acid: BottledAcid) -> AcidDose:
    """Return what to add to ``bath``, computed with all its acid, after a pH reading that differs.

    The difference counts as unknown base (the fibre, another water), which needs acid as well. Raises RefusedError
    where the target is below what this acid reaches, or a pH is outside 0-14.
    """
    if read_ph <= between(target_ph, 0, 14, "the target pH"):
        note = f"pH {read_ph:g} is at or below the target of {target_ph:g}; add nothing"
        return AcidDose(0.0, read_ph, bath, (note,))
    as_read = replace(bath, base_mol=bath.base_mol + base_missing_mol(bath, read_ph))
    return dose_for_bath(as_read, target_ph, acid)


def with_acid(bath: BathChemistry, acid: BottledAcid, amount: float) -> BathChemistry:
    """Return the bath after an amount, mL or g, of acid; `ph` is that with it. Raises RefusedError if negative."""
    return with_acid_mol(bath, acid, not_negative(amount, f"the acid in {acid.unit}") * acid.mol_per_unit)


def _with_fibre(dose: AcidDose, acid: BottledAcid, fibre_g: float, fibre_mmol_per_g: float | None) -> AcidDose:
    if not not_negative(fibre_g, "the fibre in g"):
        return dose
    bath = dose.bath
    mix = bath.at(dose.ph, 0.01)  # mol/L, a numerical choice: the allowance is good to a factor of two
    if fibre_mmol_per_g is None:
        anions_mol = mix.per_acetic * bath.acetic_mol + min(1.0, mix.per_citric) * bath.citric_mol
        fibre_mmol_per_g = usual_fibre_mmol_per_g(dose.ph, anions_mol / bath.volume_l)
    share_mmol = fibre_g * not_negative(fibre_mmol_per_g, "the fibre's acid in mmol/g")
    per_mol = mix.per_citric if acid.is_citric else mix.per_acetic
    extra = share_mmol / 1000 / per_mol / acid.mol_per_unit
    return replace(dose, fibre_share_mmol=share_mmol, fibre_amount=extra)


def with_acid_mol(bath: BathChemistry, acid: BottledAcid, added_mol: float) -> BathChemistry:
    """Return the bath after so many moles of acid, with the water the acid brings."""
    volume_l = bath.volume_l + added_mol * acid.water_l_per_mol
    if acid.is_citric:
        return altered(bath, volume_l=volume_l, citric_mol=bath.citric_mol + added_mol)
    return altered(bath, volume_l=volume_l, acetic_mol=bath.acetic_mol + added_mol)


def mol_needed(bath: BathChemistry, ph: float, acid: BottledAcid) -> float:
    """Return the moles that bring a bath to a pH, 0 if it is there or lower. Raises RefusedError."""
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
            raise RefusedError(_too_low(bath, ph, acid))
        # Both must stand still: the dose alone can cross its own value by chance while the strength still moves.
        if abs(mix.ionic_mol_l - ionic) <= STEADY * ionic and abs(needed - added) <= STEADY * needed:
            return needed
        added, ionic = needed, min(mix.ionic_mol_l, 1.0)
    raise RefusedError(_too_low(bath, ph, acid))


def _too_low(bath: BathChemistry, ph: float, acid: BottledAcid) -> str:
    strongest = with_acid_mol(bath, acid, acid.most_mol_per_l * bath.volume_l)
    lowest = ceil(strongest.ph * 100) / 100  # rounded down it would name what was just refused
    return (
        f"{acid.name} cannot bring this water to pH {ph:g}: at most it reaches pH {lowest:.2f} "
        f"({acid.at_most}); choose a higher target"
    )
