"""What the bench offers for a step, and the events that taking it records; nothing of the screen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta

from dyeday import units
from dyeday.ahead.advising.next_step import Step
from dyeday.ahead.advising.reasons import clock
from dyeday.ahead.hours import absence_met, break_met
from dyeday.ahead.tank_fills import FILL_MIN, fills_each_load
from dyeday.bench.live_session import Draft
from dyeday.craft.water.acids import AcidKind
from dyeday.craft.yarn.heat_into_yarn import warm_up_min
from dyeday.paper.sheets.cautions import FIRST_HEAT, IRRITANT_PCT, OPEN_POWDER, STRONG_ACID
from dyeday.plan.amounts import layer_dyes, liquor_ml
from dyeday.plan.doses import soak_dose, soak_l
from dyeday.plan.model import FixStep, Layer, Plan, pots_of
from dyeday.terms import (
    HEAT_VERBS,
    KIT_OF_HEAT,
    KIT_TRAITS,
    AcidPlace,
    ClockKind,
    How,
    ReadingKind,
    RunEdge,
    State,
    Water,
)
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.bath_contents import acid_offer, may_keep
from dyeday.track.day.consumption import JAR_REMEDY, short_jars
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import has_heated, waiting_acids
from dyeday.track.day.tank_time import fill_lasts_min, tank_fills, to_reserve_min
from dyeday.track.events.event_text import placed, state_word
from dyeday.track.events.kit_events import AcidPutIn
from dyeday.track.events.measured import PLACES, Measured
from dyeday.track.events.movements import Heated, Moved
from dyeday.track.flags.holding import too_much
from dyeday.track.flags.power import too_much_with
from dyeday.track.reading_meaning import acid_text, dose_text
from dyeday.track.timers.clocks import clock_of
from dyeday.track.timestamp import Now, minutes, whole_min


@dataclass(frozen=True, slots=True)
class Offer:
    """What going on with a batch would record, before it is taken."""

    title: str
    units: tuple[tuple[str, str], ...] = ()
    """(unit, what is in it)"""
    unit: str | None = None
    amount_label: str = ""
    amount_for: Callable[[str | None], str] = lambda unit: ""
    """the amount offered once a unit is chosen"""
    looks: bool = False
    read_amount: Callable[[str], str] | None = None
    lines: tuple[str, ...] = ()
    """what to know before it is taken"""


@dataclass(frozen=True, slots=True)
class Taken:
    """What was taken of an offer: into which unit, how much acid or which weight, how the bath looked and where."""

    unit: str | None
    amount: str
    """mL or g, empty where none"""
    look: str | None
    where: str = PLACES[0]


def offer_for(day: Day, batch: BatchRecord, step: Step, now: Now) -> Offer:
    """Return the offer of a step: the units it may use with what is in them, the amount, and what to know."""
    choices = _choices(day, batch, step)
    layer = batch.layer_of(step.layer or batch.layer)
    where = placed(step.unit, hangs=step.to == State.DRY) if step.run != RunEdge.END else ""
    title = f"{batch.no} {batch.colourway.name}, now {state_word(batch)}: {step.text}{where}"
    acid = _acid_goes_in(step, layer)
    weighs = step.to == State.DONE
    label = f"acid, {day.plan.acid.unit} of {day.plan.acid.kind.value}" if acid else ""
    return Offer(
        title=title,
        units=choices,
        unit=step.unit,
        amount_label="weight of the whole batch, g" if weighs else label,
        amount_for=(lambda unit: _acid_offered(day, batch, step, unit, now)) if acid else (lambda unit: ""),
        looks=step.to == State.RINSE,
        read_amount=(lambda text: f"{units.read(text, units.MASS_G, low=0.1, high=1e5):g}")
        if weighs
        else (lambda text: f"{read_acid(day, text):g}"),
        lines=tuple(_to_know(day, batch, step, layer, now)),
    )


def _acid_goes_in(step: Step, layer: Layer) -> bool:
    return (
        bool(step.acid)
        or (step.to == State.SOAK and layer.acid_in == AcidPlace.SOAK)
        or (step.to == State.PAINT and layer.acid_in != AcidPlace.SOAK)
    )


def _acid_offered(day: Day, batch: BatchRecord, step: Step, unit: str | None, now: Now) -> str:
    """Return the dose, as the jug or the scale can do it, less what the bath has; nothing where it is not known."""
    if step.acid:
        return f"{round(step.acid, 3):g}"
    offer = acid_offer(day, batch, step.to or batch.state, unit, now, layer_no=step.layer or batch.layer)
    return f"{round(offer.now, 3):g}" if offer.now else ""


def acid_missing(day: Day, batch: BatchRecord, now: Now) -> str:
    """Return what the bath a batch soaks in lacks of its dose, as it is offered; nothing where none is known."""
    if batch.state != State.SOAK or batch.unit is None or batch.the_layer.acid_in != AcidPlace.SOAK:
        return ""
    return _acid_offered(day, batch, Step(batch.no, to=State.SOAK), batch.unit, now)


MOST_UNITS = 9
"""that digits choose among; any other is chosen by its name afterwards"""


def _to_know(day: Day, batch: BatchRecord, step: Step, layer: Layer, now: Now) -> list[str]:
    if step.to == State.SOAK:
        return [*_soak_lines(day, batch, layer), *_bath_lines(day, batch, step, layer, now)]
    if step.to == State.PAINT:
        powder = [OPEN_POWDER] if layer.powder_g_per_100g is not None else []
        strong = [STRONG_ACID] if layer.acid_in != AcidPlace.SOAK and _is_strong(day.plan) else []
        return [*powder, *strong, *_paint_lines(day, batch, step, layer)]
    if step.run == RunEdge.START:
        return _heat_lines(day, batch, step, now)
    if step.to == State.DONE:
        left = batch.colourway.dry_h - (minutes(batch.state_since, now) / 60 if batch.state_since else 0.0)
        soon = f"{left:.0f} h of its {batch.colourway.dry_h:g} h of drying are left; " if left > 0.5 else ""
        return [f"{soon}a adds its weight, which tells whether it is dry"]
    if step.run == RunEdge.END:
        return _so_far_lines(day, batch, now)
    if step.to == State.COOL:
        return [f"cools {layer.cool_min:g} min before it may be rinsed"]
    return []


def _so_far_lines(day: Day, batch: BatchRecord, now: Now) -> list[str]:
    """Tell how much of its heat a batch has had, before the heat is taken off."""
    clock, run = clock_of(day, batch, now), batch.open_run
    if clock is None or run is None:
        return []
    heat = batch.layer_of(run.layer).heats[run.pass_no - 1]
    if clock.what == ClockKind.WARM_UP:
        return [f"not at heat yet: none of {heat.minutes:g} min of {heat.how.value}; h says when heat is real"]
    return [f"{whole_min(clock.elapsed_s)} of {heat.minutes:g} min of {heat.how.value} so far"]


def _bath_lines(day: Day, batch: BatchRecord, step: Step, layer: Layer, now: Now) -> list[str]:
    """Tell what was put into the offered tray for this load, and what its last bath wants were its water kept."""
    if step.unit is None:
        return []
    put = sum(one.amount_of(day.plan.acid) for one in waiting_acids(day, step.unit))
    if put > 0:
        return [f"{step.unit} has {acid_text(day.plan, put)} in it"]
    if not may_keep(day, step.unit):
        return []
    kept = acid_offer(day, batch, State.SOAK, step.unit, now, Water.KEPT, step.layer or batch.layer)
    system, jug = day.plan.session.units, day.plan.jug_ml
    amounts = [units.show_volume(litres * 1000, system, jug) for litres in (kept.left_l, kept.top_up_l)]
    acid = f", add {acid_text(day.plan, kept.now)}" if kept.now > 0 else ""
    top_up = f", top up {amounts[1]}" if kept.top_up_l > 0 else ""
    return [f"its water kept: about {amounts[0]} left{top_up}{acid}, and read the pH in 10 min"]


def _soak_lines(day: Day, batch: BatchRecord, layer: Layer) -> list[str]:
    water = soak_l(batch.wof_g)
    need = soak_dose(day.plan, batch.wof_g, batch.base, layer) if layer.acid_in == AcidPlace.SOAK else None
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


def _paint_lines(day: Day, batch: BatchRecord, step: Step, layer: Layer) -> list[str]:
    plan = day.plan
    lines = [f"{jar}: {JAR_REMEDY}" for jar in short_jars(day) if batch.no in jar.batches]
    wanted = layer_dyes(plan, layer, step.layer or batch.layer, batch.wof_g)
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
    if liquor_ml(layer, batch.wof_g) > 0:
        solutions = sum(dye.solution_ml or 0.0 for dye in wanted)
        liquor = liquor_ml(layer, batch.wof_g)
        water = units.show_volume(max(0.0, liquor - solutions), plan.session.units, plan.jug_ml)
        total = units.show_volume(liquor, plan.session.units, plan.jug_ml)
        lines.append(f"{water} of water makes it {total}")
    return [*lines, *(f"{n}. {text}" for n, text in enumerate(batch.colourway.steps, 1))]


def _heat_lines(day: Day, batch: BatchRecord, step: Step, now: Now) -> list[str]:
    lines = []
    kit = day.plan.kit_of(step.unit) if step.unit else None
    heat = batch.the_layer.heats[(step.pass_no or 1) - 1]
    if kit is None:
        return [f"no {KIT_OF_HEAT[heat.how].value} has room"] if step.unit_kind else []
    if KIT_TRAITS[kit.kind].in_turn:
        pots = pots_of(kit, batch.skeins, batch.base.skein_g)
        if pots > 1:
            lines.append(f"{pots} pots in turn, {heat.minutes:g} min each")
    elif kit.warm_up_min:
        at_heat = HEAT_VERBS[heat.how]
        lines.append(f"minutes count after {kit.warm_up_min:g} min of warm-up, or from h when it {at_heat}")
    elif kit.tank_l and kit.power_w:
        minutes = warm_up_min(kit.power_w, kit.tank_l, from_c=day.plan.water.temperature_c)
        lines.append(f"{kit.tank_l:g} L take {minutes:.0f} min or more to boil; press h when it steams")
    lasts = fill_lasts_min(kit)
    if lasts is not None and step.unit is not None:
        left = to_reserve_min(day, lasts) - tank_fills(day, step.unit, now)[-1].ran_min
        needs = heat.minutes + kit.warm_up_min
        enough = "" if left >= needs else f": not enough for {needs:.0f} min, fill it first (k)"
        if needs > to_reserve_min(day, lasts):
            enough = f": not enough for {needs:.0f} min, nor is a full one: top it up boiling"
        lines.append(f"its tank has {whole_min(max(0.0, left) * 60)} min to its reserve{enough}")
    lines += _when_up(day, step.unit, heat, now)
    if not has_heated(day):
        lines.append(FIRST_HEAT)
    too_much = too_much_with(day, step.unit, now) if step.unit is not None else None
    return [too_much, *lines] if too_much is not None else lines


def _when_up(day: Day, unit: str | None, heat: FixStep, now: Now) -> list[str]:
    """Tell of a heat begun now that nobody would be in the house with, or that ends where no hands are free."""
    kit = day.plan.kit_of(unit) if unit else None
    if kit is None or KIT_TRAITS[kit.kind].in_turn:
        return []
    on_min = kit.warm_up_min + heat.minutes
    fill_min = FILL_MIN if fills_each_load(day.plan, kit, on_min) else 0
    up = now.later((kit.load_min + fill_min + on_min) * 60).utc
    absence, pause = absence_met(day.plan, now.utc, up), break_met(day.plan, up)
    if absence is not None:
        out, back = (clock(day, moment) for moment in absence)
        return [f"would be up {clock(day, up)}, and nobody is in from {out} to {back}: load after {back}"]
    if pause is not None and not kit.switches_off:
        begin, end = (clock(day, moment) for moment in pause)
        length = (pause[1] - up).total_seconds() / 60
        later = clock(day, now.utc + timedelta(minutes=length))
        return [f"would be up {clock(day, up)}, and no hands are free from {begin} to {end}: load from {later}"]
    return []


def read_acid(day: Day, text: str) -> float:
    """Return typed acid in mL or g, as the plan's acid is measured. Raises QuantityError."""
    kind = units.VOLUME_ML if day.plan.acid.is_liquid else units.MASS_G
    return units.read(text, kind, low=0, high=1e6)


def acid_draft(day: Day, batch: BatchRecord, amount: float, unit: str | None) -> Draft:
    """Return the event of acid put in: into the bath of ``unit`` where there is one, else with the batch."""
    in_ml = day.plan.acid.is_liquid
    return Draft(AcidPutIn(acid_ml=amount if in_ml else None, acid_g=None if in_ml else amount, unit=unit), batch.no)


def _choices(day: Day, batch: BatchRecord, step: Step) -> tuple[tuple[str, str], ...]:
    """Return the units digits choose among, with what is in each: of more than nine the offered and empty ones."""
    units = day.plan.units_of(step.unit_kind) if step.unit_kind is not None else ()
    choices = [(unit, _inside(day, unit, batch)) for unit in units]
    if len(choices) > MOST_UNITS:
        choices.sort(key=lambda choice: (choice[0] != step.unit, choice[1] != ""))
    return tuple(choices[:MOST_UNITS])


def _inside(day: Day, unit: str, batch: BatchRecord) -> str:
    if day.units[unit].is_down:
        return " (down)"
    others = [other for other in day.in_unit(unit) if other.no != batch.no]
    if not others:
        return ""
    kit = day.plan.kit_of(unit)
    full = kit is not None and too_much(kit, [*others, batch])
    return f" ({'+'.join(other.no for other in others)}{', full' if full else ''})"


def drafts_for(day: Day, batch: BatchRecord, step: Step, taken: Taken) -> list[Draft]:
    """Return the events of a step that was taken."""
    drafts = []
    if step.to == State.RINSE and taken.look:
        # Looked at before the water runs, so it is recorded before the rinse.
        look = Measured(reading=ReadingKind.EYE, value=taken.look, where=taken.where)
        drafts.append(Draft(look, batch.no))
    if step.to == State.DONE and taken.amount:
        drafts.append(Draft(Measured(reading=ReadingKind.WEIGHT_G, value=float(taken.amount)), batch.no))
    if step.run is not None and step.pass_no is not None:
        unit = taken.unit if step.run is not RunEdge.END else None
        drafts.append(Draft(Heated(heat_no=step.pass_no, edge=step.run, unit=unit), batch.no))
        return drafts
    if step.to is None:
        return [acid_draft(day, batch, float(taken.amount), step.unit)] if step.acid and taken.amount else drafts
    drafts.append(Draft(Moved(to=step.to, layer=step.layer, unit=taken.unit), batch.no))
    if taken.amount and step.to in (State.SOAK, State.PAINT):
        in_bath = step.to == State.SOAK or batch.layer_of(step.layer or batch.layer).how == How.IMMERSED
        drafts.append(acid_draft(day, batch, float(taken.amount), taken.unit if in_bath else None))
    return drafts
