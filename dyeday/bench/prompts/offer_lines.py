"""What the bench tells of a step before it is taken: water and acid, dyes and paint, the unit's time and its load."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

from dyeday import units
from dyeday.ahead.advising.next_step import NextStep
from dyeday.ahead.advising.reasons import clock
from dyeday.ahead.problem_parts.hours import absence_met, break_met
from dyeday.ahead.problem_parts.tank_fills import FILL_MIN, fills_each_load
from dyeday.craft.water.acids import AcidKind
from dyeday.craft.yarn.heat_into_yarn import FIXING_C, warm_up_min
from dyeday.paper.sheets.cautions import FIRST_HEAT, IRRITANT_PCT, OPEN_POWDER, STRONG_ACID
from dyeday.plan.amounts import layer_dyes, liquor_ml
from dyeday.plan.doses import NOTHING, acid_parts, full_dose, soak_l
from dyeday.plan.model import Kit, Layer, Plan, pots_of
from dyeday.plan.weigh_out import layer_liquor, no_room_in
from dyeday.terms import (
    KIT_OF_HEAT,
    KIT_TRAITS,
    AcidPlace,
    ClockKind,
    DyeMethod,
    HeatEdge,
    KitKind,
    ReadingKind,
    State,
    Water,
)
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.bath_contents import acid_offer, may_keep, yarn_of
from dyeday.track.day.bath_readings import FIRST_RINSE
from dyeday.track.day.consumption import JAR_REMEDY, short_jars
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import has_heated, heat_to_go_min, heat_wanted_min, waiting_acids
from dyeday.track.day.tank_time import tank_left_min
from dyeday.track.flags.circuits import too_much_with
from dyeday.track.reading_meaning import acid_text, dose_text
from dyeday.track.timers.clocks import clock_of
from dyeday.track.timestamp import Now, length_text, minutes, whole_min

WARM_BATH = "a warm bath takes dye up fast: let it cool below 50 °C for an even shade"
"""common practice, no source"""


def lines_to_know(
    day: Day,
    batches: Sequence[BatchRecord],
    step: NextStep,
    layer: Layer,
    unit: str | None,
    water: Water | None,
    now: Now,
) -> list[str]:
    """Return what to know before a step of ``batches`` is taken, in ``unit`` and in such ``water``."""
    batch = batches[0]
    if step.to == State.SOAK:
        return [
            *_soak_lines(day, batches, layer),
            *_bath_lines(day, batches, step, unit, water, now),
        ]
    if step.to == State.PAINT:
        alike = all((b.colourway, b.base) == (batch.colourway, batch.base) for b in batches)
        lines = _paint_lines(day, batches, step, layer) if alike else []
        powder = [OPEN_POWDER] if layer.powder_g_per_100g is not None else []
        strong = [STRONG_ACID] if layer.acid_in != AcidPlace.SOAK and _is_strong(day.plan) else []
        return [
            *(_short_soak_lines(day, batches, now) if batch.state is State.SOAK else []),
            *powder,
            *strong,
            *lines,
            *(_bath_lines(day, batches, step, unit, water, now) if layer.how is DyeMethod.IMMERSED else []),
            *_part_lines(day, batches, step, layer, unit, water, now),
            *(
                [WARM_BATH]
                if layer.how is DyeMethod.IMMERSED and water is not Water.NEW and may_keep(day, unit)
                else []
            ),
            *(_heat_lines(day, batches, step, unit, now) if step.edge is HeatEdge.START else []),
        ]
    if step.edge == HeatEdge.START:
        return _heat_lines(day, batches, step, unit, now)
    if step.to == State.DONE:
        left = batch.colourway.dry_h - (minutes(batch.state_since, now) / 60 if batch.state_since else 0.0)
        soon = f"{left:.0f} h of its {batch.colourway.dry_h:g} h of drying are left; " if left > 0.5 else ""
        return [f"{soon}a adds its weight, which tells whether it is dry"]
    cools = [f"cools {length_text(layer.cool_min)} before it can be rinsed"] if step.to == State.COOL else []
    return [*(_so_far_lines(day, batch, now) if step.edge == HeatEdge.END else []), *cools]


def _short_soak_lines(day: Day, batches: Sequence[BatchRecord], now: Now) -> list[str]:
    """Say which of a load have not soaked as long as their base needs, and from when they have."""
    lines = []
    for batch in batches:
        soak = clock_of(day, batch, now)
        left_s = soak.left_s or 0.0 if soak is not None and soak.what is ClockKind.SOAK else 0.0
        if soak is not None and left_s >= 60:
            had = f"{whole_min(soak.elapsed_s)} of {batch.base.soak_min:g} min"
            lines.append(f"{batch.no} has soaked {had}: ready at {clock(day, now.later(left_s).utc)}")
    return lines


def _so_far_lines(day: Day, batch: BatchRecord, now: Now) -> list[str]:
    """Tell how much of its heat a batch has had, before the heat is taken off."""
    running, heat = clock_of(day, batch, now), batch.open_heat
    if running is None or heat is None:
        return []
    planned = batch.layer_of(heat.layer).heat_of(heat.heat_no)
    if running.what == ClockKind.WARM_UP:
        return [f"not at heat yet: none of {planned.minutes:g} min of {planned.how.value}; press h at full heat"]
    wanted = heat_wanted_min(day.plan, batch, heat)
    return [f"{whole_min(running.elapsed_s)} of {wanted:g} min of {planned.how.value} so far"]


def _bath_lines(
    day: Day, batches: Sequence[BatchRecord], step: NextStep, unit: str | None, water: Water | None, now: Now
) -> list[str]:
    """Tell what was put into the chosen tray or pot for this load, and what its last bath wants where it is kept."""
    layer_no, to = step.layer or batches[0].layer, step.to
    if unit is None or to is None:
        return []
    put = sum(one.amount_of(day.plan.acid) for one in waiting_acids(day, unit))
    if put > 0:
        return [f"{unit} has {acid_text(day.plan, put)} in it"]
    layer = batches[0].layer_of(layer_no)
    has_acid = layer.acid_in is AcidPlace.SOAK if to is State.SOAK else layer.how is DyeMethod.IMMERSED
    if water is Water.NEW or not has_acid or not may_keep(day, unit):
        return []
    kept = acid_offer(day, batches[0], to, unit, now, Water.KEPT, layer_no, batches)
    system, jug = day.plan.session.units, day.plan.jug_ml
    amounts = [units.show_volume(litres * 1000, system, jug) for litres in (kept.left_l, kept.top_up_l)]
    acid = f", add {acid_text(day.plan, kept.now)}" if kept.now > 0 else ""
    top_up = f", top up {amounts[1]}" if kept.top_up_l > 0 else ""
    said = f"its water kept: about {amounts[0]} left{top_up}{acid}, and read the pH in 10 min"
    return [said, *_colour_lines(day, unit)]


def _colour_lines(day: Day, unit: str) -> list[str]:
    """Tell that the bath which would be kept was last seen with colour in it."""
    looks = [
        (look.at.utc, str(look.value), no)
        for no, since in day.units[unit].baths[-2].loads
        if no in day.batches
        for look in day.batches[no].readings
        if look.name is ReadingKind.EYE and look.where != FIRST_RINSE and look.at.utc >= since.utc
    ]
    if not looks or (last := max(looks))[1] == "clear":
        return []
    return [f"the bath of {last[2]} was {last[1]}: the shade comes out deeper; take new water, or less dye"]


def _part_lines(
    day: Day,
    batches: Sequence[BatchRecord],
    step: NextStep,
    layer: Layer,
    unit: str | None,
    water: Water | None,
    now: Now,
) -> list[str]:
    """Say that the acid offered for a pot is the first part of it, and when the rest goes in."""
    parts = acid_parts(day.plan, layer)
    if unit is None or step.to is None or parts < 2:
        return []
    kept_or_new = water or Water.NEW
    layer_no = step.layer or batches[0].layer
    offer = acid_offer(day, batches[0], step.to, unit, now, kept_or_new, layer_no, batches)
    if offer.later < NOTHING:
        return []
    whole = acid_text(day.plan, offer.now + offer.later)
    if parts == 2:
        return [f"acid: first half of {whole}; the other half at the simmer"]
    return [f"acid: first of {parts} parts of {whole}; the others from the simmer on"]


def _soak_lines(day: Day, batches: Sequence[BatchRecord], layer: Layer) -> list[str]:
    water = soak_l(sum(batch.wof_g for batch in batches))
    need = full_dose(day.plan, water, yarn_of(*batches), layer) if layer.acid_in == AcidPlace.SOAK else None
    line = f"{units.show_volume(water * 1000, day.plan.session.units, day.plan.jug_ml)} of water"
    if need is None:
        return [
            line if layer.acid_in == AcidPlace.SOAK else f"{line}, no acid: it goes into the {layer.acid_in.value}"
        ]
    notes = ", ".join(need.notes)
    reaches = "" if need.ph is None else f", to pH {need.ph:.1f}"
    return [
        f"{line}; {dose_text(day.plan, need)} for it and the fibre{reaches}",
        *([notes] if notes else []),
        *([STRONG_ACID] if _is_strong(day.plan) else []),
    ]


def _is_strong(plan: Plan) -> bool:
    return plan.acid.kind == AcidKind.VINEGAR and (plan.acid.strength_pct or 0.0) >= IRRITANT_PCT


def _paint_lines(day: Day, batches: Sequence[BatchRecord], step: NextStep, layer: Layer) -> list[str]:
    plan, batch = day.plan, batches[0]
    numbers = {one.no for one in batches}
    lines = [f"{jar}: {JAR_REMEDY}" for jar in short_jars(day) if numbers & {*jar.batches}]
    wof_g = sum(one.wof_g for one in batches)
    wanted = layer_dyes(plan, layer, step.layer or batch.layer, wof_g)
    for place, section in enumerate(layer.sections, 1):
        parts = []
        for dye in wanted:
            if dye.section == place:
                amount = (
                    units.show_mass(dye.powder_g, plan.session.units, plan.scale_g)
                    if dye.solution_ml is None
                    else units.show_volume(dye.solution_ml, plan.session.units, plan.jug_ml)
                )
                parts.append(f"{dye.dye} {amount}")
        share = f"{section.share_pct:g} %: " if len(layer.sections) > 1 else ""
        lines.append(f"{share}{', '.join(parts) or 'no dye'}")
    if liquor_ml(layer, wof_g) > 0:
        solutions = sum(dye.solution_ml or 0.0 for dye in wanted)
        liquor = layer_liquor(plan, batch.base, layer, step.layer or batch.layer, wof_g, solutions)
        misfit = no_room_in(liquor)
        water, total = (
            units.show_volume(volume_ml, plan.session.units, plan.jug_ml)
            for volume_ml in (liquor.water_ml, liquor.liquor_ml)
        )
        with_acid = " with its acid" if liquor.dose is not None and liquor.dose.acid_ml else ""
        lines.append("; ".join(misfit) if misfit else f"{water} of water to make {total}{with_acid}")
    return [*lines, *(f"{n}. {text}" for n, text in enumerate(batch.colourway.steps, 1))]


def _heat_lines(day: Day, batches: Sequence[BatchRecord], step: NextStep, unit: str | None, now: Now) -> list[str]:
    lines, batch = [], batches[0]
    kit = day.plan.kit_of(unit) if unit else None
    heat = batch.layer_of(batch.layer).heat_of(step.heat_no or 1)
    if kit is None:
        return [f"no {KIT_OF_HEAT[heat.how].value} has room"] if step.unit_kind else []
    if KIT_TRAITS[kit.kind].in_turn:
        pots = pots_of(kit, batch.skeins, batch.base.skein_g)
        if pots > 1:
            lines.append(f"{pots} pots in turn, {heat.minutes:g} min each")
    elif kit.warm_up_min:
        at_heat = KIT_TRAITS[KIT_OF_HEAT[heat.how]].heat_verb
        lines.append(f"minutes count after {kit.warm_up_min:g} min of warm-up, or from h when it {at_heat}")
        lines += _bath_warm_up(day, batches, step, kit)
    elif kit.tank_l and kit.power_w:
        minutes = warm_up_min(kit.power_w, kit.tank_l, from_c=day.plan.water.temperature_c)
        lines.append(f"{kit.tank_l:g} L take {minutes:.0f} min or more to boil; press h when it steams")
    lines += _when_up(day, unit, heat_to_go_min(day.plan, batch, step.heat_no or 1, now), now)
    if not has_heated(day):
        lines.append(FIRST_HEAT)
    too_much = too_much_with(day, unit, now) if unit is not None else None
    return [too_much, *lines] if too_much is not None else lines


def _bath_warm_up(day: Day, batches: Sequence[BatchRecord], step: NextStep, kit: Kit) -> list[str]:
    """Say how long a pot's cold bath takes at the least, where that is longer than its warm-up counts for."""
    bath_ml = sum(liquor_ml(batch.layer_of(batch.layer), batch.wof_g) for batch in batches)
    if kit.kind is not KitKind.POT or not kit.power_w or not bath_ml or (step.heat_no or 1) > 1:
        return []
    tap_c = day.plan.water.temperature_c
    least_min = warm_up_min(kit.power_w, bath_ml / 1000, from_c=tap_c, to_c=FIXING_C)
    if least_min <= kit.warm_up_min:
        return []
    bath = units.show_volume(bath_ml, day.plan.session.units, day.plan.jug_ml)
    return [
        f"{bath} from {tap_c:g} °C take {least_min:.0f} min or more at {kit.power_w:g} W: press h when it simmers"
    ]


def _when_up(day: Day, unit: str | None, to_go_min: float, now: Now) -> list[str]:
    """Tell of a heat begun now that nobody would be in the house with, or that ends where no hands are free."""
    kit = day.plan.kit_of(unit) if unit else None
    if kit is None or KIT_TRAITS[kit.kind].in_turn:
        return []
    on_min = kit.warm_up_min + to_go_min
    fill_min = FILL_MIN if fills_each_load(day.plan, kit, on_min) else 0
    up = now.later((kit.load_min + fill_min + on_min) * 60).utc
    absence, pause = absence_met(day.plan, now.utc, up), break_met(day.plan, up)
    if absence is not None:
        out, back = (clock(day, moment) for moment in absence)
        return [f"would be up {clock(day, up)}, and you are out of the house from {out} to {back}: load after {back}"]
    if pause is not None and not kit.switches_off:
        begin, end = (clock(day, moment) for moment in pause)
        length = (pause[1] - up).total_seconds() / 60
        later = clock(day, now.utc + timedelta(minutes=length))
        return [f"would be up {clock(day, up)}, and no hands are free from {begin} to {end}: load from {later}"]
    return []


def tank_min(day: Day, batch: BatchRecord, step: NextStep, unit: str, now: Now) -> tuple[float, float, float] | None:
    """Return a tank's minutes to its reserve: left now, wanted for the heat of a step, and full; None without one."""
    kit = day.plan.kit_of(unit)
    tank = tank_left_min(day, unit, now)
    if kit is None or tank is None or step.edge is not HeatEdge.START:
        return None
    left, full = tank
    return left, heat_to_go_min(day.plan, batch, step.heat_no or 1, now) + kit.warm_up_min, full


def tank_line(minutes: tuple[float, float, float], *, is_filled: bool) -> str:
    """Return how long the tank lasts, and what to do where that is too short for the heat."""
    left, wanted, full = minutes
    line = f"its tank has {whole_min((full if is_filled else left) * 60)} min to its reserve"
    if wanted > full > left and not is_filled:
        return f"{line}: fill it first (f), off and cool; a full one lacks {wanted - full:.0f} min: top it up boiling"
    if wanted > full:
        return f"{line}: not enough for {wanted:.0f} min, nor is a full one: top it up boiling"
    return (
        line
        if is_filled or left >= wanted
        else f"{line}: not enough for {wanted:.0f} min, fill it first (f), off and cool"
    )
