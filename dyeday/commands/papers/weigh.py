"""`weigh`: what to weigh out and pour, for each batch and in total."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from dyeday.commands.common import fields_of, opened, print_json, say, sessions
from dyeday.commands.days.carry import day_with_carried
from dyeday.commands.days.check_and_begin import first_moment, load
from dyeday.commands.studio_records import stocked, studio_library
from dyeday.paper.layout.sheet_text import WIDTH, sheet_lines
from dyeday.paper.sheets.cautions import GLOVES
from dyeday.paper.sheets.sheet_kinds import weigh_sheet_of
from dyeday.paper.sheets.weigh_out_sheet import to_weigh
from dyeday.plan.doses import Dose, to_pour
from dyeday.plan.model import Plan
from dyeday.plan.weigh_out import WeighOut
from dyeday.text import wrap


def weigh(args: Namespace) -> None:
    """Print what to weigh out and measure for a plan, or for what is still to be dyed in the session."""
    if args.plan:
        plan, _ = stocked(args, load(Path(args.plan), studio_library(args))[0])
        now = first_moment(plan)
        day = day_with_carried(sessions(args), plan, now)
    else:
        at = opened(args, reading=True)
        plan, day, now = at.day.plan, at.day, at.now
    if args.json:
        print_json(weigh_data(plan, to_weigh(day.unsplit).weighed(plan)))
    else:
        say(*sheet_lines(weigh_sheet_of(day, now)))
        say("", *wrap(f"{GLOVES.head}: {GLOVES.rule}", WIDTH))


def weigh_data(plan: Plan, weighed: WeighOut) -> dict[str, object]:
    """Return the weigh-out as JSON-able data, unrounded."""
    amounts = "powder_g solution_ml mix_ml mix_powder_g from_bottle_ml on_hand_g short_g"
    return {
        "batches": [
            {
                "batch": one.batch.no,
                **fields_of(one.batch, "tag colourway base skeins"),
                "wof_g": one.wof_g,
                "dyes": [fields_of(dye, "dye layer section powder_g solution_ml") for dye in one.dyes],
                "soak": {
                    "water_l": one.soak_l,
                    "times": max(1, len(one.acid_soaks)),
                    **_dose(plan, one.acid_soaks[0][1] if one.acid_soaks else None),
                },
                "acid_soaks": [{"layer": layer, **_dose(plan, dose)} for layer, dose in one.acid_soaks],
                "liquor_ml": one.liquor_ml,
                "layers": [
                    {
                        **fields_of(liquor, "layer liquor_ml water_ml"),
                        "how": liquor.how.value,
                        "acid_in": liquor.acid_in.value,
                        **_dose(plan, liquor.dose),
                    }
                    for liquor in one.liquors
                ],
            }
            for one in weighed.batches
        ],
        "totals": {
            "dyes": {total.dye: fields_of(total, amounts) for total in weighed.dyes},
            "acid_ml": weighed.acid if weighed.liquid and weighed.doses_known else None,
            "acid_g": weighed.acid if not weighed.liquid and weighed.doses_known else None,
        },
    }


def _dose(plan: Plan, dose: Dose | None) -> dict[str, float | None]:
    if dose is None:
        return dict.fromkeys(("acid_ml", "acid_g", "pour_ml", "water_share", "fibre_share", "if_softened"))
    return {
        **fields_of(dose, "acid_ml acid_g if_softened"),
        "pour_ml": to_pour(plan, dose.amount) if dose.liquid else None,
        "water_share": dose.water_amount,
        "fibre_share": dose.fibre_amount,
    }
