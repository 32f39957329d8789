"""`acid` and `weigh`: how much of what, worked out for this water and this yarn."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import replace
from pathlib import Path

from dyeday import units
from dyeday.commands.common import Refusal, answer, opened, say
from dyeday.commands.plans import load
from dyeday.commands.stocked import stocked, studio_library
from dyeday.craft.acid import AcidDose, after_reading, dose_for, with_acid
from dyeday.craft.acid_kinds import acid as craft_acid
from dyeday.craft.bath import of_raw_water
from dyeday.craft.measuring import figure
from dyeday.craft.refusal import RefusedError
from dyeday.craft.water import raw_water
from dyeday.paper.measured import acid_amount, mix_from, volume
from dyeday.paper.weighing import to_weigh
from dyeday.plan.doses import Dose, refusal
from dyeday.plan.model import Plan
from dyeday.plan.weigh import WASTE_PCT, BatchWeighed, DyeTotal, WeighOut, warnings, weigh_out

CAUTION = "Acid into water, gloves and goggles, never with bleach; the maker's safety sheet goes before this."


def _read(said: str | None, kind: units.Kind, option: str, *, low: float, high: float) -> float | None:
    if said is None:
        return None
    try:
        return units.read(said, kind, low=low, high=high)
    except units.QuantityError as error:
        raise Refusal(f"{option}: {error}") from None


def _number(said: str | None, option: str, what: str, high: float) -> float | None:
    """Return a plain number from 0 to ``high``, None where it was not given. Raises Refusal."""
    if said is None:
        return None
    try:
        value = units.number(said)
    except ValueError:
        value = -1.0
    if not 0 <= value <= high:
        raise Refusal(f"{option}: {said!r} is no {what}; write 0 to {high:g}")
    return value


def acid(args: Namespace) -> int:
    water_l = _read(args.water, units.VOLUME_L, "--water", low=0.001, high=10_000) or 1.0
    kind = args.kind
    strength = _read(args.strength, units.STRENGTH_PCT, "--strength", low=0.1, high=100)
    said_target = _number(args.target_ph, "--target-ph", "pH", 14)
    target = 4.5 if said_target is None else said_target
    reached, dosed = _number(args.reached, "--reached", "pH", 14), args.dose
    fibre_g = _read(args.fibre, units.MASS_G, "--fibre", low=0, high=1e6) or 0.0
    temperature = _read(args.temperature, units.TEMPERATURE_C, "--temperature", low=0, high=100)
    if strength is not None and kind in ("citric", "citric monohydrate"):
        raise Refusal(f"--strength: {kind} is a powder and has none; for a solution say --kind 'citric solution'")
    try:
        mine = craft_acid(kind, strength)
        water = raw_water(
            _read(args.alkalinity, units.WATER_MG_L, "--alkalinity", low=0, high=5000),
            _read(args.hardness, units.WATER_MG_L, "--hardness", low=0, high=5000),
            temperature_c=15.0 if temperature is None else temperature,
        )
        bath = of_raw_water(water_l, water)
        amount_kind = units.VOLUME_ML if mine.is_poured else units.MASS_G
        put_in = _read(dosed, amount_kind, "--dose", low=0, high=1e7)
        if reached is not None:
            before = put_in
            if before is None:
                first = dose_for(water_l, water, target, mine)
                before = first.acid_ml if first.acid_ml is not None else first.acid_g or 0.0
            found = after_reading(with_acid(bath, mine, before), reached, target, mine)
            found = replace(found, notes=water.notes + found.notes)
        elif put_in is not None:
            after = with_acid(bath, mine, put_in)
            found = AcidDose(
                acid_ml=put_in if mine.is_poured else None,
                acid_g=None if mine.is_poured else put_in,
                ph=after.ph,
                water_l=water_l,
                alkalinity_mg_l=water.alkalinity_mg_l,
                fibre_share_mmol=0.0,
                fibre_acid_ml=None,
                fibre_acid_g=None,
                bath=after,
                notes=water.notes,
            )
        else:
            takes = _number(args.fibre_takes, "--fibre-takes", "amount in mmol per g", 2)
            found = dose_for(water_l, water, target, mine, fibre_g=fibre_g, fibre_mmol_per_g=takes)
    except RefusedError as error:
        raise Refusal(str(error)) from None
    extra = found.fibre_acid_ml if found.fibre_acid_ml is not None else found.fibre_acid_g
    if args.json:
        answer(
            {
                "acid_ml": found.acid_ml,
                "acid_g": found.acid_g,
                "ph": found.ph,
                "water_l": found.water_l,
                "alkalinity_mg_l": water.alkalinity_mg_l,
                "fibre_share": extra if fibre_g else 0.0,
                "notes": list(found.notes),
            }
        )
        return 0
    amount = f"{figure(found.acid_ml)} mL" if found.acid_ml is not None else f"{figure(found.acid_g or 0)} g"
    of = f"{kind} {mine.strength_pct:g} %" if mine.strength_pct is not None else kind
    what = "add" if reached is None else "add to it"
    say(f"{what} {amount} of {of} to {water_l:g} L: pH {found.ph:.2f}")
    if fibre_g and extra:
        unit = "mL" if mine.is_poured else "g"
        more = f"{figure(extra, 3)} {unit} more"
        say(f"{figure(fibre_g)} g of fibre may take up to {more}; read the pH and add as it asks")
    for note in found.notes:
        say(note)
    say(CAUTION)
    return 0


def weigh(args: Namespace) -> int:
    if args.plan:
        plan, _ = stocked(args, load(Path(args.plan), studio_library(args))[0])
        weighed = weigh_out(plan)
    else:
        at = opened(args, reading=True)
        plan = at.day.plan
        weighed = weigh_out(plan, *to_weigh(at.day.live))
    if args.json:
        answer(weigh_data(weighed))
        return 0
    say(*weigh_lines(plan, weighed))
    return 0


def weigh_data(weighed: WeighOut) -> dict[str, object]:
    """Return the weigh-out as JSON-able data, unrounded."""
    return {
        "batches": [
            {
                "batch": one.batch.no,
                "tag": one.batch.tag,
                "colourway": one.batch.colourway,
                "base": one.batch.base,
                "skeins": one.batch.skeins,
                "wof_g": one.wof_g,
                "dyes": [
                    {
                        "dye": d.dye,
                        "layer": d.layer,
                        "section": d.section,
                        "powder_g": d.powder_g,
                        "solution_ml": d.solution_ml,
                    }
                    for d in one.dyes
                ],
                "soak": {"water_l": one.soak_l, "times": max(1, one.acid_soaks), **_dose(one.soak)},
                "liquor_ml": one.liquor_ml,
                "layers": [
                    {
                        "layer": liquor.layer,
                        "how": liquor.how,
                        "liquor_ml": liquor.liquor_ml,
                        "water_ml": liquor.water_ml,
                        "acid_in": liquor.acid_in,
                        **_dose(liquor.dose),
                    }
                    for liquor in one.liquors
                ],
            }
            for one in weighed.batches
        ],
        "totals": {
            "dyes": {
                t.dye: {
                    "powder_g": t.powder_g,
                    "solution_ml": t.solution_ml,
                    "mix_ml": t.mix_ml,
                    "mix_powder_g": t.mix_powder_g,
                    "from_bottle_ml": t.from_bottle_ml,
                    "on_hand_g": t.on_hand_g,
                    "short_g": t.short_g,
                }
                for t in weighed.dyes
            },
            "acid_ml": weighed.acid if weighed.liquid and weighed.doses_known else None,
            "acid_g": weighed.acid if not weighed.liquid and weighed.doses_known else None,
        },
    }


def _dose(dose: Dose | None) -> dict[str, float | None]:
    if dose is None:
        return {"acid_ml": None, "acid_g": None, "fibre_share": None}
    return {"acid_ml": dose.acid_ml, "acid_g": dose.acid_g, "fibre_share": dose.fibre_amount}


def weigh_lines(plan: Plan, weighed: WeighOut) -> list[str]:
    """Return the weigh-out for a person: amounts as jug and scale can do them."""
    lines: list[str] = []
    for one in weighed.batches:
        lines += _batch_lines(plan, one)
    lines.append(f"In all, {WASTE_PCT:g} % more than the recipes take, for what stays in jug and pipette")
    for t in weighed.dyes:
        system = plan.session.units
        parts = []
        if t.mix_ml:
            parts.append(_mix_text(plan, t))
        if t.dry_powder_g:
            parts.append(f"{units.show_mass(t.dry_powder_g, system, plan.scale_g)} as powder")
        short = f", SHORT by {units.show_mass(t.short_g, system, plan.scale_g)}" if t.short_g else ""
        lines.append(f"  {t.dye}: {', '.join(parts)}{short}")
    if weighed.doses_known:
        lines.append(f"  {plan.acid.kind}: {acid_amount(plan, weighed.acid)} for the water alone")
    why = refusal(plan)
    if why:
        lines.append(f"  acid: {why}")
    lines += [f"  note: {warning}" for warning in warnings(plan, weighed)]
    return lines


def _mix_text(plan: Plan, total: DyeTotal) -> str:
    dye = plan.dye(total.dye)
    strength = f" of {dye.solution_pct:g} %" if dye is not None else ""
    return f"{volume(plan, total.mix_ml)}{strength} from {mix_from(plan, total)}"


def _batch_lines(plan: Plan, one: BatchWeighed) -> list[str]:
    system = plan.session.units
    tag = f" [{one.batch.tag}]" if one.batch.tag else ""
    lines = [f"{one.batch.no}{tag} {one.batch.colourway} on {one.batch.base}, {one.batch.skeins} x, {one.wof_g:g} g"]
    soak = f"  soak: {units.show_volume(one.soak_l * 1000, system, plan.jug_ml)} water"
    if one.soak is not None:
        each = f" in each of {one.acid_soaks} soaks" if one.acid_soaks > 1 else ""
        soak += f", {acid_amount(plan, one.soak.amount)} {plan.acid.kind}{each}"
        if one.soak.fibre_amount:
            soak += f" (the fibre may take {acid_amount(plan, one.soak.fibre_amount)} more: read the pH)"
    lines.append(soak)
    many = len(one.liquors) > 1
    for liquor in one.liquors:
        head = f"  layer {liquor.layer} {liquor.how}" if many else f"  {liquor.how}"
        made = f": {units.show_volume(liquor.liquor_ml, system, plan.jug_ml)} liquor" if liquor.liquor_ml else ""
        if liquor.dose is not None:
            made += f", {acid_amount(plan, liquor.dose.amount)} {plan.acid.kind} in the {liquor.acid_in}"
        lines.append(head + made)
        for d in one.dyes:
            if d.layer != liquor.layer:
                continue
            solution = "" if d.solution_ml is None else f" = {units.show_volume(d.solution_ml, system, plan.jug_ml)}"
            lines.append(
                f"    section {d.section}: {d.dye} {units.show_mass(d.powder_g, system, plan.scale_g)}{solution}"
            )
    return lines
