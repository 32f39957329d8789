"""What an offer says about its step: water and acid, dyes and paint, the unit's time and its load."""

from __future__ import annotations

from datetime import datetime

from dyeday.ahead.advising.next_up import flag_first
from dyeday.ahead.problem_parts.fill_steps import fills_each_load
from dyeday.ahead.problem_parts.hours import absence_met, break_met
from dyeday.ahead.problem_parts.session_days import night_met
from dyeday.bench.prompts.offers import Offer
from dyeday.craft.dye.measuring import to_step
from dyeday.craft.water.acids import AcidKind
from dyeday.craft.yarn.heat_into_yarn import FIXING_C, least_warm_up_min
from dyeday.paper.sheets.cautions import FIRST_HEAT, IRRITANT_PCT, OPEN_POWDER, STRONG_ACID
from dyeday.plan.amount_text import acid_amount_text, dose_text, mass_text, poured_text, solution_text, volume_text
from dyeday.plan.doses import NOTHING, acid_parts, notes_of, soak_l
from dyeday.plan.model import Kit, Plan
from dyeday.plan.recipe import layer_dyes
from dyeday.plan.weigh_out import layer_liquor, no_room_in, section_waters_ml
from dyeday.terms import (
    KIT_OF_HEAT,
    KIT_TRAITS,
    AcidPlace,
    Cover,
    DayAim,
    DyeMethod,
    HeatEdge,
    KitKind,
    ReadingKind,
    State,
    TimerKind,
    UnitSystem,
    Water,
)
from dyeday.track.day.bath_contents import in_bath_now
from dyeday.track.day.bath_readings import FIRST_RINSE
from dyeday.track.day.progress import (
    FILL_MIN,
    dishes_to_heat,
    has_heated,
    heat_begun_now_min,
    heat_due_min,
    heat_in_all_min,
    last_heat_end,
)
from dyeday.track.day.room_air import dry_min
from dyeday.track.day.transitions import heat_timed_out, left_bath
from dyeday.track.day.waiting_time import cover_text, open_wait, wait_left_min, waiting_text
from dyeday.track.flags.circuits import overload_with
from dyeday.track.flags.exhausting import needs_look
from dyeday.track.flags.rinsing import too_warm_to_rinse
from dyeday.track.flags.room_and_stock import SHORT_MIX_REMEDY, short_mixes
from dyeday.track.reading_meaning import ph_to_read_again
from dyeday.track.timers.timers import TankMin, timer_of
from dyeday.track.timestamp import SECOND_IN_MIN, length_text, min_figure, minutes, whole_min

WARM_BATH = "a warm bath takes dye up fast: let it cool below 50 °C for an even shade"
"""common practice, no source"""
RING_W = 2000.0
"""Power of a hob's ring where a pot has none of its own; common practice, no source."""
_COVER_IT = {
    Cover.OPEN: "nothing covers it",
    Cover.LIDDED: "put a lid on it",
    Cover.WRAPPED: "wrap it while it waits",
}
_TOP_UP = "top it up, switched off, with boiling water before it is low"


def lines_to_know(offer: Offer, *, is_tank_filled: bool = False) -> tuple[str, ...]:
    """Return what to know before the step is taken."""
    tank = [_tank_line(offer, offer.tank, is_filled=is_tank_filled)] if offer.tank is not None else []
    names = ", ".join(dict.fromkeys(chore.chore for _, chore in offer.chores))
    return (*_step_lines(offer), *tank, *([f"also recorded: {names} done"] if names else []))


def _step_lines(offer: Offer) -> list[str]:
    step, batch = offer.step, offer.batch
    if step.to is State.SOAK:
        strong = [STRONG_ACID] if offer.acid_figure and _is_strong(offer.plan) else []
        return [*(_soak_lines(offer) if offer.water is not Water.KEPT else []), *_bath_lines(offer), *strong]
    flags = [f"{one.no}: {flag}" for one in offer.batches if (flag := flag_first(offer.day, one, offer.now))]
    if step.to is State.PAINT:
        return [*flags, *_dyeing_lines(offer)]
    if step.edge is HeatEdge.START:
        return [*flags, *_heat_lines(offer)]
    if step.to is State.RINSE:
        unseen = (one.no for one in offer.batches if needs_look(offer.day, one, offer.now))
        looks = [f"{no}: look first at what is left of its dye" for no in unseen]
        return [*(_short_wait_lines(offer, TimerKind.COOL, "cooled") or sorted(_too_warm(offer))), *flags, *looks]
    if step.to is State.DONE:
        dry_h = dry_min(offer.plan, batch.colourway) / 60
        left_h = dry_h - (minutes(batch.state_since, offer.now) / 60 if batch.state_since else 0.0)
        return [f"{left_h:.0f} of {dry_h:.0f} h of drying left"] if left_h > 0.5 else []
    if step.to is State.FIX and step.edge is None and batch.state is State.PAINT and not offer.is_immersed:
        return [f"{_COVER_IT[_cover_of(offer)]}; {_safe_until(offer)}"]
    cools = []
    if step.to is State.COOL:
        ended = last_heat_end(heat_timed_out(batch, offer.now)) if step.edge is None else None
        since = f" from {offer.day.time_text(ended.utc)}" if ended is not None else ""
        cools = [f"cools {length_text(offer.layer.cool_min)}{since}, then {batch.after_cooling[1]}"]
    return [*(_heat_had_lines(offer) if step.edge is HeatEdge.END else []), *cools]


def _dyeing_lines(offer: Offer) -> list[str]:
    """Return what to know before dye goes on, in a bath or by hand."""
    layer, batch = offer.layer, offer.batch
    lines = _short_wait_lines(offer, TimerKind.SOAK, "soaked") if batch.state is State.SOAK else []
    again = ((one.no, ph_to_read_again(offer.day, one, offer.now)) for one in offer.batches)
    lines += [f"{no}: read its pH again first: {why}" for no, why in again if why and batch.state is State.SOAK]
    lines += [OPEN_POWDER] if layer.powder_g_per_100g is not None else []
    if layer.acid_in is not AcidPlace.SOAK and _is_strong(offer.plan):
        lines.append(STRONG_ACID)
    if all((b.colourway, b.base) == (batch.colourway, batch.base) for b in offer.batches):
        lines += _paint_lines(offer)
    if offer.is_immersed:
        lines += _bath_lines(offer)
    lines += _acid_part_lines(offer)
    if offer.water is not Water.NEW and offer.may_keep_water:
        lines.append(WARM_BATH)
    return lines + (_heat_lines(offer) if offer.step.edge is HeatEdge.START else [])


def _short_wait_lines(offer: Offer, kind: TimerKind, done: str) -> list[str]:
    """Return which batches have not soaked, cooled or rested as long as they need, and from when they have."""
    lines = []
    for batch in offer.batches:
        wait = timer_of(offer.day, batch, offer.now)
        left_s = wait.left_s or 0.0 if wait is not None and wait.kind is kind else 0.0
        if wait is not None and left_s >= 60:
            had = f"{whole_min(wait.elapsed_s)} of {whole_min(wait.elapsed_s + left_s)} min"
            lines.append(f"{batch.no} has {done} {had}: ready at {offer.day.time_text(offer.now.later(left_s).utc)}")
    return lines


def _heat_had_lines(offer: Offer) -> list[str]:
    """Return how much of its heat a batch has had, before the heat is taken off."""
    running, heat = timer_of(offer.day, offer.batch, offer.now), offer.batch.open_heat
    if running is None or heat is None:
        return []
    planned = offer.batch.planned_heat(heat)
    # A heat that was off in between goes on with the minutes it had.
    in_all_min = heat_in_all_min(offer.plan, offer.batch, heat.layer, heat.heat_no, heat.unit)
    before_min, wanted_min = in_all_min - heat_due_min(offer.plan, offer.batch, heat), round(in_all_min)
    if running.kind is TimerKind.WARM_UP:
        had = f"{whole_min(before_min * 60 + 1)}" if before_min >= 1 else "none"
        return [f"not at heat yet: {had} of {wanted_min} min of {planned.how.value}; press h at full heat"]
    # The row of a heat with less than a second left shows all of its minutes; this line counts the same.
    had_min, left_min = whole_min(before_min * 60 + running.elapsed_s + 1), (running.left_s or 0.0) / 60
    left = length_text(left_min if left_min >= 1 else left_min - SECOND_IN_MIN)
    early = f"{left} early: " if left_min > SECOND_IN_MIN else ""
    lines = [f"{early}{had_min} of {wanted_min} min of {planned.how.value} so far"]
    kit = offer.plan.kit_of(heat.unit)
    if heat.heat_recorded_at is None and heat.warm_up_min and kit is not None and kit.kind is KitKind.POT:
        begun = offer.day.time_text(heat.at_heat_since.utc)
        lines.append(f"did it simmer at {begun}? If later, press Esc, then b, that time, then h")
    return lines


def _bath_lines(offer: Offer) -> list[str]:
    """Return the acid put into the tray or pot for this load, else what its last bath needs if it is kept."""
    if offer.unit is None:
        return []
    if (in_it := in_bath_now(offer.day, offer.unit, offer.now).acid) > NOTHING:
        return [f"{offer.unit} has {poured_text(offer.plan, in_it)} in it"]
    if offer.water is Water.NEW or not offer.may_keep_water:
        return []
    pour = offer.acid_offer(Water.KEPT)
    more = f"add {poured_text(offer.plan, pour.amount_now)}" if pour.amount_now > 0 else "no more acid"
    acid = f", {more}" if pour.need is not None else ""
    top_up = f", top up {volume_text(offer.plan, pour.top_up_l * 1000)}" if pour.top_up_l > 0 else ""
    left = volume_text(offer.plan, pour.left_l * 1000)
    has = f" with {acid_amount_text(offer.plan, pour.amount_in_it)} of acid" if pour.amount_in_it > 0 else ""
    kept = f"water kept: about {left} left{has}{top_up}{acid}; read the pH in 10 min"
    return [kept, *_colour_lines(offer, offer.unit)]


def _colour_lines(offer: Offer, unit: str) -> list[str]:
    """Return a warning where the bath that would be kept was last seen with colour in it.

    A look counts for the last bath that its yarn was in: yarn may have left the pot to cool before the look.
    """
    bath = left_bath(offer.day.units[unit].baths)
    entered = bath.entered if bath is not None else ()
    looks = [
        (look, batch.no)
        for no, since in entered
        for batch in offer.day.unsplit
        if no in offer.day.lineage(batch)
        for look in batch.readings
        if look.name is ReadingKind.EYE and look.where != FIRST_RINSE and look.at.utc >= since.utc
        if not any(place.unit != unit and since.utc < place.since.utc < look.at.utc for place in batch.placements)
    ]
    if not looks:
        return []
    last, no = max(looks, key=lambda look: look[0].at.utc)
    so = f"the bath of {no} was {last.value}: the shade comes out deeper; take new water, or less dye"
    return [] if last.is_clear else [so]


def _acid_part_lines(offer: Offer) -> list[str]:
    """Return that the acid offered for a pot is the first part of it, and when the rest goes in."""
    parts = acid_parts(offer.plan, offer.layer)
    if offer.unit is None or parts < 2 or (pour := offer.acid_offer()).amount_later < NOTHING:
        return []
    first, rest = (poured_text(offer.plan, amount) for amount in (pour.amount_now, pour.amount_later))
    later = f"{rest} once it simmers" if parts == 2 else f"{rest} in {parts - 1} parts from the simmer on"
    return [f"acid: {first} now, {later}"]


def _soak_lines(offer: Offer) -> list[str]:
    plan, pour = offer.plan, offer.acid_offer()
    need = pour.need
    numbers, acid_in = [batch.no for batch in offer.soaking], offer.layer.acid_in
    new = "new " if offer.may_keep_water and offer.water is None else ""
    water_l = need.water_l if numbers and need is not None else soak_l(offer.wof_g)
    line = f"{volume_text(plan, water_l * 1000)} of {new}water"
    if numbers and need is not None:
        line = f"fill it up to {line}, with {', '.join(numbers)} in it"
    warns = (
        [f"{', '.join(numbers)} in it soaks {offer.soaks_otherwise}: better apart"] if offer.soaks_otherwise else []
    )
    if acid_in is not AcidPlace.SOAK:
        return [f"{line}, no acid: it goes into the {acid_in.value}", *warns]
    if need is None:
        return [line, *warns]
    to_ph = f", to pH {need.ph:.1f}" if need.ph is not None else ""
    whom, much = "it" if not numbers else "all of it", dose_text(plan, need)
    if pour.amount_in_it > NOTHING:
        much = f"{poured_text(plan, pour.amount_now)} more" if pour.amount_now else "no more"
    off_jug = abs(to_step(pour.amount_now, plan.jug_ml) - pour.amount_now) > NOTHING
    by_pipette = off_jug and plan.acid.is_liquid and plan.session.units is UnitSystem.METRIC
    acid = f"{plan.acid.kind.value}{' by pipette' if by_pipette else ''}"
    return [
        f"{line}; {much} of {acid} for {whom} and the yarn{to_ph}",
        *warns,
        *notes_of(plan, need),
    ]


def _is_strong(plan: Plan) -> bool:
    return plan.acid.kind is AcidKind.VINEGAR and (plan.acid.strength_pct or 0.0) >= IRRITANT_PCT


def _paint_lines(offer: Offer) -> list[str]:
    plan, batch, layer = offer.plan, offer.batch, offer.layer
    numbers = {one.no for one in offer.batches}
    lines = [f"{mix}: {SHORT_MIX_REMEDY}" for mix in short_mixes(offer.day) if numbers & {*mix.batches}]
    needs = layer_dyes(plan.solution_pct, layer, offer.layer_no, offer.wof_g)
    solutions_ml = sum(need.solution_ml or 0.0 for need in needs)
    liquor = layer_liquor(plan, batch.base, layer, offer.layer_no, offer.wof_g, solutions_ml)
    several = len(layer.sections) > 1
    waters_ml = section_waters_ml(needs, liquor, layer)
    for section_no, section in enumerate(layer.sections, 1):
        own = (need for need in needs if need.section == section_no)
        of = [(need.dye, need.powder_g, need.solution_ml) for need in own]
        amounts = [f"{dye} {mass_text(plan, g) if ml is None else solution_text(plan, ml)}" for dye, g, ml in of]
        water = [f"water {volume_text(plan, waters_ml[section_no - 1])}"] if several else []
        share = f"{section.share_pct:g} %: " if several else ""
        lines.append(f"{share}{', '.join([*(amounts or ['no dye']), *water])}")
    if layer.liquor_ml(offer.wof_g) > 0:
        made_of = [*(waters_ml if several else [liquor.water_ml]), *(need.solution_ml or 0.0 for need in needs)]
        adds_up = sum(to_step(ml, plan.jug_ml) for ml in made_of) == to_step(liquor.liquor_ml, plan.jug_ml)
        total = f"{'' if adds_up else 'about '}{volume_text(plan, liquor.liquor_ml)}"
        made = f"{total} in all" if several else f"{volume_text(plan, liquor.water_ml)} of water to make {total}"
        with_acid = " with its acid" if liquor.dose is not None and liquor.dose.acid_ml else ""
        lines.append("; ".join(no_room_in(liquor, plan.session.units) or ()) or f"{made}{with_acid}")
    return [*lines, *(f"{n}. {text}" for n, text in enumerate(batch.colourway.steps, 1))]


def _heat_lines(offer: Offer) -> list[str]:
    batch, kit = offer.in_layer[0], offer.kit
    heat = offer.layer.heat_of(offer.step.heat_no or 1)
    if kit is None:
        return [f"no {KIT_OF_HEAT[heat.how].value} has room"] if offer.step.unit_kind else []
    lines = []
    if KIT_TRAITS[kit.kind].in_turn:
        to_go_min = heat_begun_now_min(offer.plan, batch, offer.step.heat_no or 1, offer.now, offer.unit)
        dishes, first_min = dishes_to_heat(to_go_min, heat.minutes)
        each = f"{heat.minutes:g} min"
        each = f"the first {min_figure(first_min)} min, then {each}" if first_min < heat.minutes else f"{each} each"
        lines += [f"{dishes} dishes, one after another: {each}"] if dishes > 1 else []
    elif kit.warm_up_min:
        at_heat = KIT_TRAITS[KIT_OF_HEAT[heat.how]].heat_verb
        lines.append(f"minutes count after {kit.warm_up_min:g} min of warm-up, or from h when it {at_heat}")
        lines += _bath_warm_up_lines(offer, kit)
    elif kit.tank_l and kit.power_w:
        boils_min = least_warm_up_min(kit.power_w, kit.tank_l, from_c=offer.plan.water.temperature_c)
        boils = f"{length_text(round(boils_min))} or more to boil"
        lines.append(f"{kit.tank_l:g} L takes {boils}; press h when it steams")
    lines += _short_wait_lines(offer, TimerKind.REST, "rested")
    lines += filter(None, [_left_alone(offer)])
    if not has_heated(offer.day):
        lines.append(FIRST_HEAT)
    return [*filter(None, [overload_with(offer.day, offer.unit, offer.now)]), *lines]


def _bath_warm_up_lines(offer: Offer, kit: Kit) -> list[str]:
    """Return the least time a pot's cold bath takes, where that is longer than the warm-up counted for it."""
    bath_ml = offer.layer.liquor_ml(offer.wof_g)
    if kit.kind is not KitKind.POT or not bath_ml or (offer.step.heat_no or 1) > 1:
        return []
    tap_c = offer.plan.water.temperature_c
    least_min = least_warm_up_min(kit.power_w or RING_W, bath_ml / 1000, from_c=tap_c, to_c=FIXING_C)
    if least_min <= kit.warm_up_min:
        return []
    bath = volume_text(offer.plan, bath_ml)
    power = f"{kit.power_w:g} W" if kit.power_w else f"the {RING_W:g} W of a usual ring"
    return [
        f"{bath} from {tap_c:g} °C takes {length_text(round(least_min))} or more at {power}: press h when it simmers"
    ]


def warnings(offer: Offer, *, is_tank_filled: bool) -> set[str]:
    """Return warnings against starting this heat or rinse now, each to be accepted by a second Enter."""
    if offer.step.to is State.RINSE:
        return _too_warm(offer)
    if offer.step.edge is not HeatEdge.START:
        return set()
    low = "the tank is too low for it: f if you fill it now" if offer.is_tank_short and not is_tank_filled else ""
    return {low, _left_alone(offer), overload_with(offer.day, offer.unit, offer.now)} - {""}


def _too_warm(offer: Offer) -> set[str]:
    """Return which batches are too warm to be rinsed, and why."""
    cooling = [batch for batch in offer.batches if batch.state is State.COOL]
    why = {batch.no: too_warm_to_rinse(offer.plan, batch, batch.layer, offer.now) for batch in cooling}
    return {f"{no} is too warm to rinse: {text}" for no, text in why.items() if text}


def _left_alone(offer: Offer) -> str:
    """Return why you would be away when a heat begun now ends: out, past your stop, or in a break; "" if not."""
    kit, day, plan = offer.kit, offer.day, offer.plan
    if kit is None or KIT_TRAITS[kit.kind].in_turn:
        return ""
    fill_min = FILL_MIN if fills_each_load(plan, kit, offer.wanted_min) else 0
    end = offer.now.later((kit.load_min + fill_min + offer.wanted_min) * 60).utc
    absence, night = absence_met(plan, offer.now.utc, end), night_met(plan, offer.now.utc, end)
    pause = break_met(plan, end)
    if absence is not None:
        out, back = map(day.time_text, absence)
        why = f"you are out of the house from {out} to {back}: load after {back}"
    elif night is not None and day.aim is not DayAim.TONIGHT:
        stop, _ = map(day.time_text, night)
        why = f"you stop at {stop}: {_till_morning(offer, night[1])}stay until it is off"
    elif pause is not None and not kit.switches_off:
        begins, ends = map(day.time_text, pause)
        why = f"your break is from {begins} to {ends}: load from {day.time_text(offer.now.utc + (pause[1] - end))}"
    else:
        return ""
    return f"would end at {day.time_text(end)}; {why}"


def _till_morning(offer: Offer, morning: datetime) -> str:
    """Return "load from Sun 10:00 (painted, wrapped, safe until Sun 11:20), or "; "" where yarn dries out first."""
    waiting = waiting_text(offer.day, offer.batch, offer.now)
    is_painting = offer.batch.state is State.PAINT and not offer.is_immersed
    keeps = f" ({waiting or _safe_until(offer)})" if waiting or is_painting else ""
    load = f"load from {offer.day.time_text(morning)}"
    if not keeps or _lasts(offer, None, morning):
        return f"{load}{keeps}, or "
    return f"wrap it now{keeps} and {load}, or " if _lasts(offer, Cover.WRAPPED, morning) else ""


def _lasts(offer: Offer, under: Cover | None, until: datetime) -> bool:
    """Return whether painted yarn may wait ``until`` then ``under`` a cover, by default the one it has."""
    batch, plan = offer.batch, offer.plan
    if (wait := open_wait(offer.day, batch, offer.now)) is not None:
        left_min = wait_left_min(batch, wait, plan, offer.now, under)
    else:
        left_min = plan.rules.wait_min(under or _cover_of(offer), specks=offer.layer.how is DyeMethod.SPECKLED)
    return offer.now.later(left_min * 60).utc >= until


def _cover_of(offer: Offer) -> Cover:
    """Return the cover that painted yarn waits under: the one on record, else its recipe's."""
    return offer.batch.cover or offer.layer.cover


def _safe_until(offer: Offer) -> str:
    """Return until when yarn that is painted now may wait under its cover."""
    cover = _cover_of(offer)
    wait_min = offer.plan.rules.wait_min(cover, specks=offer.layer.how is DyeMethod.SPECKLED)
    return cover_text(offer.day, cover, wait_min, offer.now)


def _tank_line(offer: Offer, tank: TankMin, *, is_filled: bool) -> str:
    """Return how long a tank lasts to its reserve, and what to do where that is too short for the heat."""
    (left, full), wanted = tank, offer.wanted_min
    is_known = is_filled or left < full or (offer.unit is not None and offer.day.units[offer.unit].filled)
    has = "its tank has" if is_known else "check that its tank is full: it then has"
    line = f"{has} water for {length_text(int((full if is_filled else left) + SECOND_IN_MIN))}"
    fill = f"switch off, fill it ({tank.fill_words}), then f"
    if wanted > full > left and not is_filled:
        return f"{line}: {fill}; even full not enough for {length_text(round(wanted))}: {_TOP_UP}"
    if wanted > full:
        return f"{line}, {length_text(round(wanted))} needed: {_TOP_UP}"
    if is_filled or left >= wanted:
        return line
    return f"{line}, {length_text(round(wanted))} needed: {fill}"
