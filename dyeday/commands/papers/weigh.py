"""`weigh`: what to weigh out and pour, for each batch and in total."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from dyeday.commands.common import answer, fields_of, opened, say
from dyeday.commands.days.check_and_begin import load
from dyeday.commands.studio_records import stocked, studio_library
from dyeday.paper.layout.amount_text import mass, mix_from, poured, volume
from dyeday.paper.layout.text_page import WIDTH, wrap
from dyeday.paper.sheets.cautions import ACID, DEFERS, EYES, GLOVES, POWDER
from dyeday.paper.sheets.weigh_out_sheet import section_text, to_weigh
from dyeday.plan.amounts import WASTE_PCT
from dyeday.plan.doses import Dose, refusal, to_pour
from dyeday.plan.model import Layer, Plan
from dyeday.plan.weigh_out import BatchWeighed, DyeTotal, WeighOut, warnings, weigh_out
from dyeday.text import counted
from dyeday.track.reading_meaning import amount_text, dose_text, parts_text, shares_text

CAUTION_WEIGH = f"{POWDER.said} {EYES.said} {GLOVES.said} {ACID.said} {DEFERS}"


def weigh(args: Namespace) -> int:
    """Print what to weigh out and measure for a plan, or for what is still to be dyed in the session."""
    if args.plan:
        plan, _ = stocked(args, load(Path(args.plan), studio_library(args))[0])
        weighed = weigh_out(plan)
    else:
        at = opened(args, reading=True)
        plan = at.day.plan
        weighed = weigh_out(plan, *to_weigh(at.day.live))
    if args.json:
        answer(weigh_data(plan, weighed))
        return 0
    say(*weigh_lines(plan, weighed), "", *wrap(CAUTION_WEIGH))
    return 0


def weigh_data(plan: Plan, weighed: WeighOut) -> dict[str, object]:
    """Return the weigh-out as JSON-able data, unrounded."""
    return {
        "batches": [
            {
                "batch": one.batch.no,
                **fields_of(one.batch, "tag colourway base skeins"),
                "wof_g": one.wof_g,
                "dyes": [fields_of(dye, "dye layer section powder_g solution_ml") for dye in one.dyes],
                "soak": {"water_l": one.soak_l, "times": max(1, one.acid_soaks), **_dose(plan, one.soak)},
                "liquor_ml": one.liquor_ml,
                "layers": [
                    {
                        "layer": liquor.layer,
                        "how": liquor.how.value,
                        "liquor_ml": liquor.liquor_ml,
                        "water_ml": liquor.water_ml,
                        "acid_in": liquor.acid_in.value,
                        **_dose(plan, liquor.dose),
                    }
                    for liquor in one.liquors
                ],
            }
            for one in weighed.batches
        ],
        "totals": {
            "dyes": {
                total.dye: fields_of(
                    total, "powder_g solution_ml mix_ml mix_powder_g from_bottle_ml on_hand_g short_g"
                )
                for total in weighed.dyes
            },
            "acid_ml": weighed.acid if weighed.liquid and weighed.doses_known else None,
            "acid_g": weighed.acid if not weighed.liquid and weighed.doses_known else None,
        },
    }


def _dose(plan: Plan, dose: Dose | None) -> dict[str, float | None]:
    if dose is None:
        return dict.fromkeys(("acid_ml", "acid_g", "pour_ml", "water_share", "fibre_share", "if_softened"))
    return {
        "acid_ml": dose.acid_ml,
        "acid_g": dose.acid_g,
        "pour_ml": to_pour(plan, dose.amount) if dose.liquid else None,
        "water_share": dose.water_amount,
        "fibre_share": dose.fibre_amount,
        "if_softened": dose.if_softened,
    }


def weigh_lines(plan: Plan, weighed: WeighOut) -> list[str]:
    """Return the weigh-out in lines: amounts as jug and scale can measure them."""
    lines: list[str] = []
    for one in weighed.batches:
        lines += _batch_lines(plan, one)
    lines.append(f"In all, {WASTE_PCT:g} % more dye than the recipes need, for what stays in jug and pipette")
    for t in weighed.dyes:
        parts = []
        if t.mix_ml:
            parts.append(_mix_text(plan, t))
        if t.dry_powder_g:
            parts.append(f"{mass(plan, t.dry_powder_g)} as powder")
        short = f", SHORT by {mass(plan, t.short_g)}" if t.short_g else ""
        lines.append(f"  {t.dye}: {', '.join(parts)}{short}")
    if weighed.doses_known:
        amount = amount_text(plan, weighed.acid, weighed.acid_if_softened)
        lines.append(f"  {plan.acid.kind.value}: {amount}")
    why = refusal(plan)
    if why:
        lines += wrap(why, WIDTH, "      ", "  acid: ")
    return lines + [line for note in warnings(plan, weighed) for line in wrap(note, WIDTH, "      ", "  note: ")]


def _mix_text(plan: Plan, total: DyeTotal) -> str:
    dye = plan.dye(total.dye)
    strength = f" of {dye.solution_pct:g} %" if dye is not None else ""
    return f"{volume(plan, total.mix_ml)}{strength} from {mix_from(plan, total)}"


def _batch_lines(plan: Plan, one: BatchWeighed) -> list[str]:
    tag = f" [{one.batch.tag}]" if one.batch.tag else ""
    skeins = counted(one.batch.skeins, plan.base(one.batch.base).form.value)
    lines = [f"{one.batch.no}{tag} {one.batch.colourway} on {one.batch.base}, {skeins}, {one.wof_g:g} g"]
    soak = f"  soak: {volume(plan, one.soak_l * 1000)} water"
    if one.soak is not None:
        each = f" in each of {one.acid_soaks} soaks" if one.acid_soaks > 1 else ""
        soak += f", {dose_text(plan, one.soak)} {plan.acid.name}{each}"
    lines.append(soak)
    lines += _acid_lines(plan, one.soak) if one.soak is not None else []
    many = len(one.liquors) > 1
    for liquor in one.liquors:
        head = f"  layer {liquor.layer} {liquor.how.value}" if many else f"  {liquor.how.value}"
        made = f": {volume(plan, liquor.liquor_ml)} liquor" if liquor.liquor_ml else ""
        if liquor.dose is not None:
            made += f", {dose_text(plan, liquor.dose)} {plan.acid.name} in the {liquor.acid_in.value}"
        lines.append(head + made)
        layer = plan.colourway(one.batch.colourway).layers[liquor.layer - 1]
        if liquor.dose is not None:
            lines += _acid_lines(plan, liquor.dose, layer)
        for d in one.dyes:
            if d.layer != liquor.layer:
                continue
            solution = "" if d.solution_ml is None else f" in {poured(plan, d.solution_ml)}"
            lines.append(f"    {section_text(layer, d.section)}: {d.dye} {mass(plan, d.powder_g)}{solution}")
    return lines


def _acid_lines(plan: Plan, dose: Dose, layer: Layer | None = None) -> list[str]:
    """Return what a dose is for and, with its ``layer``, in which parts it goes in."""
    said = [shares_text(plan, dose), f"acid {parts}" if layer and (parts := parts_text(plan, layer, dose)) else ""]
    return [line for text in said if text for line in wrap(text, WIDTH, "      ", "    ")]
