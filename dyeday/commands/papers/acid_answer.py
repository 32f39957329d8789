"""`acid`: the dose for a water and a yarn, or the pH that a dose reaches."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import replace

from dyeday import units
from dyeday.commands.common import Refusal, print_json, say, typed_amount
from dyeday.craft.dye.measuring import figure
from dyeday.craft.errors import RefusedError
from dyeday.craft.water.acid_dose import AcidDose, after_reading, dose_for, with_acid
from dyeday.craft.water.acids import AcidKind
from dyeday.craft.water.acids import acid as craft_acid
from dyeday.craft.water.alkalinity import HIGHEST_MG_L, raw_water
from dyeday.craft.water.bath_chemistry import of_raw_water
from dyeday.paper.layout.sheet_text import WIDTH
from dyeday.paper.sheets.cautions import ACID, EYES
from dyeday.text import brief, wrap

CAUTION = f"{ACID.whole} {EYES.rule}"


def _read(typed: str | None, kind: units.Kind, option: str, *, low: float, high: float) -> float | None:
    return None if typed is None else typed_amount(option, typed, kind, low, high)


def _number(typed: str | None, option: str, what: str, high: float) -> float | None:
    """Return a number from 0 to ``high``; None if it was not given. Raises Refusal."""
    if typed is None:
        return None
    try:
        value = units.number(typed)
    except ValueError:
        value = -1.0
    if not 0 <= value <= high:
        raise Refusal(f"{option}: {brief(typed)} is not a valid {what}; write 0 to {high:g}")
    return value


def acid(args: Namespace) -> None:
    """Print the acid that a water needs for a pH, or the pH that a dose reaches. Raises Refusal."""
    water_l = _read(args.water, units.VOLUME_L, "--water", low=0.001, high=10_000) or 1.0
    kind = AcidKind(args.kind)
    strength = _read(args.strength, units.STRENGTH_PCT, "--strength", low=0.1, high=100)
    said_target = _number(args.target_ph, "--target-ph", "pH", 14)
    target = 4.5 if said_target is None else said_target
    reached = _number(args.reached, "--reached", "pH", 14)
    fibre_g = _read(args.fibre, units.MASS_G, "--fibre", low=0, high=1e6) or 0.0
    temperature = _read(args.temperature, units.TEMPERATURE_C, "--temperature", low=0, high=100)
    if args.alkalinity is None and args.hardness is None:
        raise Refusal(
            "the water is unknown; give --alkalinity '180 mg/L' from a drop test or the water company's "
            "report, or --hardness '10 dH'. Until you know it, go by weight: 20 mL of 5 % vinegar or 1 g of citric "
            "acid for 100 g of dry yarn, then read the pH"
        )
    if strength is None and kind is AcidKind.CITRIC_SOLUTION:
        raise Refusal("--strength: a citric solution needs one; write --strength '50 %' as you made it")
    if strength is not None and kind in (AcidKind.CITRIC, AcidKind.CITRIC_MONOHYDRATE):
        what = f"--strength: {kind.value} is a powder and has no strength"
        raise Refusal(f"{what}; for a solution write --kind 'citric solution'")
    try:
        used = craft_acid(kind, strength)
        water = raw_water(
            _read(args.alkalinity, units.ALKALINITY_MG_L, "--alkalinity", low=0, high=HIGHEST_MG_L),
            _read(args.hardness, units.WATER_MG_L, "--hardness", low=0, high=HIGHEST_MG_L),
            temperature_c=15.0 if temperature is None else temperature,
        )
        bath = of_raw_water(water_l, water)
        amount_kind = units.VOLUME_ML if used.is_poured else units.MASS_G
        put_in = _read(args.dose, amount_kind, "--dose", low=0, high=1e7)
        if reached is not None:
            before = dose_for(water_l, water, target, used).amount if put_in is None else put_in
            dose = after_reading(with_acid(bath, used, before), reached, target, used)
            dose = replace(dose, notes=water.notes + dose.notes)
        elif put_in is not None:
            after = with_acid(bath, used, put_in)
            dose = AcidDose(put_in, after.ph, after, water.notes)
        else:
            takes = _number(args.fibre_takes, "--fibre-takes", "amount in mmol per g", 2)
            dose = dose_for(water_l, water, target, used, fibre_g=fibre_g, fibre_mmol_per_g=takes)
    except RefusedError as error:
        raise Refusal(str(error)) from None
    unit = used.unit
    if args.json:
        print_json({
            "acid_ml": dose.amount if used.is_poured else None,
            "acid_g": None if used.is_poured else dose.amount,
            "ph": dose.ph,
            "water_l": water_l,
            "if_softened": dose.if_softened,
            "alkalinity_mg_l": water.alkalinity_mg_l,
            "fibre_share": dose.fibre_amount,
            "notes": list(dose.notes),
        })  # fmt: skip
        return
    amount = f"{figure(dose.amount, 3)} {unit}"
    of = f"{used.kind.value} {used.strength_pct:g} %" if used.strength_pct is not None else used.name
    if reached is None and put_in is not None:
        say(f"{amount} of {of} in {water_l:g} L: pH {dose.ph:.1f}")
    elif dose.amount:
        if dose.if_softened is not None:
            amount = f"{amount} (hard water) to {figure(dose.if_softened, 3)} {unit} (softened)"
        of_water = f"{water_l:g} L with {figure(water.alkalinity_mg_l, 3)} mg/L of alkalinity"
        if reached is None:
            say(f"add {amount} of {of} to {of_water}: pH {dose.ph:.1f}")
        else:
            now = f"add {figure(dose.amount / 2, 3)} {unit} more of {of} to {of_water}, wait 5 min, read again"
            whole = f"{amount} more in all bring it to pH {dose.ph:.1f}, what the yarn takes up included"
            say(*wrap(f"{now}; {whole}", WIDTH))
    if dose.fibre_amount:
        more = f"{figure(dose.fibre_amount, 3)} {unit} more"
        fibre_note = f"{figure(fibre_g)} g of fibre may take up to about {more}: add half of that, as a plan does"
        say(*wrap(f"{fibre_note}; then read the pH", WIDTH))
    elif reached is None and put_in is None and not fibre_g:
        say("the yarn takes up acid too: give its dry weight with --fibre")
    if reached is not None and put_in is None:
        given = f"{figure(before, 3)} {unit} are counted as in it already"
        say(f"{given}: give what you put in with --dose if it was another amount")
    for note in dose.notes:
        say(note)
    say("", *wrap(CAUTION, WIDTH))
