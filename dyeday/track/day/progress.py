"""How far batches have come: what each is doing, minutes soaked and at heat, and which units are on."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from math import ceil
from typing import NamedTuple

from dyeday.plan.model import PUTTING_DYE_ON, Plan, dishes_of
from dyeday.terms import KIT_OF_HEAT, KIT_TRAITS, STEADY_HEATS, DyeMethod, HeatKind, KitKind, ReadingKind, State
from dyeday.text import counted
from dyeday.track.day.batch_record import BatchRecord, Heat, Reading, Stay
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import SECOND_IN_MIN, Moment, minutes

BATH_READINGS = (ReadingKind.EYE, ReadingKind.JAR, ReadingKind.ABSORBANCE)
"""readings of what was left in the bath; EYE is a look"""
STATE_WORDS = {State.SET_ASIDE: "set aside"}
"""the screen's words for states, where the record has others"""
DOING = {
    "waiting": "not started", "soak": "soaking", "paint": "painting", "speckle": "speckling", "dye": "dyeing",
    "fix": "fixing", "cool": "cooling", "rinse": "rinsing", "dry": "drying",
}  # fmt: skip
FILL_MIN = 3
"""minutes of work to fill a tank; common practice, no source"""
REHEAT_MIN = 2
"""minutes until a hot unit is at heat again, filled with boiling water if at all; common practice, no source"""
HOT_MIN = 5.0
"""minutes for which a unit that was at heat stays hot; common practice, no source"""


def heat_place(how: HeatKind, unit: str | None) -> str:
    """Return "steam in pot 1" or, where the unit's name says it, "steamer 1"."""
    if unit is None:
        return how.value
    return unit if unit.startswith(how.value) else f"{how.value} in {unit}"


def state_word(batch: BatchRecord, state: State | None = None, layer: int | None = None) -> str:
    """Return the screen's word for ``state``, else for the batch's own: paint is paint, speckle or dye, by layer."""
    of = state or batch.state
    if of is State.PAINT:
        return PUTTING_DYE_ON[batch.layer_of(batch.layer if layer is None else layer).how]
    return STATE_WORDS.get(of, str(of.value))


def state_word_then(day: Day | None, batch_no: str, to: State, layer: int | None, at_utc: datetime) -> str:
    """Return the screen's word for the state that a batch went into at ``at_utc``, by the layer it had then."""
    if day is None or (batch := day.batches.get(batch_no)) is None:
        return to.value
    # Put into a pot that is switched on, it went on to its fix in the same minute.
    stays = (stay.layer for stay in reversed(batch.stays) if stay.state is to and stay.since.utc <= at_utc)
    return state_word(batch, to, next(stays, layer))


def unfixed_word(batch: BatchRecord) -> str:
    """Return the word for dyed yarn out of heat: "painted", or "unfixed" if immersed or its layer was heated."""
    had_heat = any(heat.layer == batch.layer for heat in batch.heats)
    return "unfixed" if had_heat or batch.current_layer.how is DyeMethod.IMMERSED else "painted"


def unit_words(unit: str | None, *, hangs: bool) -> str:
    """Return " in tray 1", or " on pegs 1" where it ``hangs`` to dry; "" without a unit."""
    return f" {'on' if hangs else 'in'} {unit}" if unit else ""


def hanging_text(day: Day) -> str:
    """Return "; 12 more hang to dry", to follow a count of the others; "" where none hangs."""
    hang = sum(batch.only_dries for batch in day.unfinished)
    return f"; {counted(hang, 'more hangs', 'more hang')} to dry" if hang else ""


def whereabouts(batch: BatchRecord) -> str:
    """Return what a batch is doing and where: "soaking in tray 1", "drying on pegs 1"."""
    word = state_word(batch)
    return f"{DOING.get(word, word)}{unit_words(batch.unit, hangs=batch.state is State.DRY)}"


def soak_needed_min(batch: BatchRecord, plan: Plan) -> float:
    """Return the minutes a soak takes: the plan's rule where it sets one, else the base's own."""
    return plan.rules.soak if plan.rules.soak is not None else batch.base.soak_min


def soaks_count_from(batch: BatchRecord, before: Moment, layer: int) -> Moment | None:
    """Return from when soaks count for dyeing ``layer`` at ``before``: the layer before it or a return to waiting."""
    start: Moment | None = None
    for stay in batch.stays:
        if stay.since.utc > before.utc:
            break
        is_earlier = stay.layer < layer and stay.state in (State.COOL, State.FIX)
        if is_earlier or stay.state is State.WAITING:
            start = stay.since
    return start


def soaks_before(batch: BatchRecord, before: Moment, layer: int) -> list[Stay]:
    """Return the soaks that wet the yarn for dyeing ``layer`` at ``before``."""
    start = soaks_count_from(batch, before, layer)
    soaks = (stay for stay in batch.stays if stay.state == State.SOAK and stay.since.utc <= before.utc)
    return [soak for soak in soaks if start is None or soak.since.utc >= start.utc]


def soaked_min(batch: BatchRecord, now: Moment, layer: int) -> float:
    """Return the minutes of the soaks for ``layer`` that began by ``now``; if one lasts, up to ``now``."""
    return sum(minutes(stay.since, stay.until or now) for stay in soaks_before(batch, now, layer))


def heats_of(batch: BatchRecord, layer: int, heat_no: int | None = None, until: Moment | None = None) -> list[Heat]:
    """Return the stretches of a layer's heats, or of one, since dye last went on it, begun by ``until`` if given."""
    since = last_dyed(batch, layer, until)
    of_no = (h for h in batch.heats if h.layer == layer and (heat_no is None or h.heat_no == heat_no))
    later = (heat for heat in of_no if since is None or heat.start.utc >= since.utc)
    return [heat for heat in later if until is None or heat.start.utc <= until.utc]


def at_heat_min(heat: Heat, now: Moment) -> float:
    """Return the minutes of a stretch at heat, to its end or, while it is on, to ``now``."""
    return minutes(heat.at_heat_since, heat.ended(now) or now)


def heat_had_min(batch: BatchRecord, layer: int, heat_no: int, now: Moment) -> float:
    """Return the minutes at heat that a heat gave, of its stretches begun by ``now``; all dishes together."""
    return sum(at_heat_min(heat, now) for heat in heats_of(batch, layer, heat_no, now))


def again_words(day: Day, batch_no: str | None, heat_no: int, at_utc: datetime) -> str:
    """Return ", next dish" or ", again" where the stretch begun at ``at_utc`` goes on with a heat, else ""."""
    if (batch := day.batches.get(batch_no or "")) is None:
        return ""
    stretches = [heat for heat in batch.heats if heat.heat_no == heat_no and heat.start.utc <= at_utc]
    if len(stretches) < 2 or stretches[-1].layer != (heat := stretches[-2]).layer:
        return ""
    dish_min = batch.planned_heat(heat).minutes
    in_dishes = heat_in_all_min(day.plan, batch, heat.layer, heat_no, stretches[-1].unit) > dish_min
    return ", next dish" if in_dishes else ", again"


def heat_in_all_min(plan: Plan, batch: BatchRecord, layer: int, heat_no: int, unit: str | None = None) -> float:
    """Return the minutes a heat needs: of all dishes in a microwave, ``unit`` or its last or the plan's first."""
    planned = batch.layer_of(layer).heat_of(heat_no)
    kind = KIT_OF_HEAT[planned.how]
    if not KIT_TRAITS[kind].in_turn:
        return planned.minutes
    units = [unit] if unit else [heat.unit for heat in heats_of(batch, layer, heat_no) if heat.unit]
    kit = plan.kit_of(units[-1]) if units else plan.first_of(kind)
    return planned.minutes * dishes_of(kit, batch.skeins, batch.base.skein_g)


def kit_to_heat_in(plan: Plan, batch: BatchRecord, layer_no: int, heat_no: int) -> KitKind:
    """Return the kind of kit for a heat: the recipe's, or the pot that painted yarn to be steamed was put into."""
    layer, kit = batch.layer_of(layer_no), plan.kit_of(batch.unit)
    how = layer.heat_of(heat_no).how
    is_dyed = batch.state in (State.PAINT, State.FIX) and layer_no == batch.layer
    may_differ = is_dyed and layer.how is not DyeMethod.IMMERSED
    if kit is not None and may_differ and how in STEADY_HEATS and KIT_TRAITS[kit.kind].steady:
        return kit.kind
    return KIT_OF_HEAT[how]


def rounds_of(plan: Plan, heats: Iterable[Heat], needed_min: float, now: Moment) -> list[list[Heat]]:
    """Return the stretches of a heat in rounds: each gave enough of ``needed_min``, but the last, maybe empty."""
    rounds: list[list[Heat]] = [[]]
    for heat in heats:
        rounds[-1].append(heat)
        if is_enough_heat(plan, sum(at_heat_min(one, now) for one in rounds[-1]), needed_min):
            rounds.append([])
    return rounds


def is_enough_heat(plan: Plan, had_min: float, needed_min: float) -> bool:
    """Return whether minutes at heat are at least ``rules.fix_share`` of those needed, to a second."""
    return had_min >= needed_min * plan.rules.fix_share / 100 - SECOND_IN_MIN


def layer_had_and_needs_min(plan: Plan, batch: BatchRecord, layer_no: int, until: Moment) -> tuple[float, float]:
    """Return the minutes at heat per dish that a layer had by ``until``, and those it needs.

    Steamed or simmered, it needs what its deepest section needs, if the dyes say so; else what the recipe asks for.
    """
    layer = batch.layer_of(layer_no)
    had = 0.0
    for heat_no, heat in enumerate(layer.heats, 1):
        dishes = heat_in_all_min(plan, batch, layer_no, heat_no) / heat.minutes
        had += heat_had_min(batch, layer_no, heat_no, until) / dishes
    steady = any(heat.how in STEADY_HEATS for heat in layer.heats)
    return had, (plan.dye_minimum_min(layer) if steady else 0.0) or sum(heat.minutes for heat in layer.heats)


def heat_was_enough(plan: Plan, batch: BatchRecord, layer: int, heat_no: int, now: Moment) -> bool:
    """Return whether a heat gave enough minutes by ``now``, all its dishes together."""
    had, needed = heat_had_min(batch, layer, heat_no, now), heat_in_all_min(plan, batch, layer, heat_no)
    return bool(heats_of(batch, layer, heat_no, now)) and is_enough_heat(plan, had, needed)


def heat_due_min(plan: Plan, batch: BatchRecord, heat: Heat) -> float:
    """Return the minutes that a stretch should give: those of `heat_begun_now_min` as it began."""
    earlier = (other for other in heats_of(batch, heat.layer, heat.heat_no, heat.start) if other is not heat)
    return _lacks_min(plan, batch, heat.layer, heat.heat_no, earlier, heat.start, heat.unit)


def heat_due_at(plan: Plan, batch: BatchRecord, heat: Heat) -> Moment:
    """Return when a stretch has given the minutes that it should."""
    return heat.at_heat_since.later(heat_due_min(plan, batch, heat) * 60)


def has_its_minutes(plan: Plan, batch: BatchRecord, heat: Heat, now: Moment) -> bool:
    """Return whether a stretch has given the minutes that it should by ``now``."""
    return at_heat_min(heat, now) >= heat_due_min(plan, batch, heat)


def heat_begun_now_min(plan: Plan, batch: BatchRecord, heat_no: int, now: Moment, unit: str | None) -> float:
    """Return the minutes at heat of a stretch begun now, for all dishes in ``unit``: what its heat lacks, or all."""
    earlier = heats_of(batch, batch.layer, heat_no, now)
    return _lacks_min(plan, batch, batch.layer, heat_no, earlier, now, unit)


def cold_warm_up_min(plan: Plan, batch: BatchRecord, heat_no: int, unit: str | None) -> float:
    """Return the minutes from switching on to heat: of the unit, else of its kind in the plan, else the usual."""
    kind = KIT_OF_HEAT[batch.current_layer.heat_of(heat_no).how]
    kit = plan.kit_of(unit) or plan.first_of(kind)
    return kit.warm_up_min if kit is not None else KIT_TRAITS[kind].warm_up_min


def warm_up_min(plan: Plan, batch: BatchRecord, heat_no: int, unit: str | None, now: Moment) -> float:
    """Return `cold_warm_up_min`, but at most `REHEAT_MIN` where the heat goes on in the unit that is hot from it.

    While that is on, it is filled in mid-heat: `FILL_MIN` more.
    """
    whole_min = cold_warm_up_min(plan, batch, heat_no, unit)
    last = batch.heats[-1] if batch.heats else None
    goes_on = last is not None and (last.layer, last.heat_no, last.unit) == (batch.layer, heat_no, unit)
    if last is None or unit is None or not goes_on or at_heat_min(last, now) <= 0:
        return whole_min
    if (off := last.ended(now)) is None:
        return min(whole_min, FILL_MIN + REHEAT_MIN)
    return min(whole_min, REHEAT_MIN) if minutes(off, now) <= HOT_MIN else whole_min


def load_on_min(plan: Plan, batches: Iterable[BatchRecord], heat_no: int, unit: str | None, now: Moment) -> float:
    """Return the minutes that a load begun now keeps a unit on: warm-up and at heat, of the batch heated longest."""
    return max(
        warm_up_min(plan, batch, heat_no, unit, now) + heat_begun_now_min(plan, batch, heat_no, now, unit)
        for batch in batches
    )


def _lacks_min(
    plan: Plan, batch: BatchRecord, layer: int, heat_no: int, heats: Iterable[Heat], now: Moment, unit: str | None
) -> float:
    """Return the minutes that a heat lacks after its stretches ``heats``, in their last round.

    The last dish, if it had enough, has all its minutes. If it had half of them, or is the first, it goes on. Else it
    begins again: the few minutes are those in which dishes changed places.
    """
    dish_min = batch.layer_of(layer).heat_of(heat_no).minutes
    needed_min = heat_in_all_min(plan, batch, layer, heat_no, unit)
    had_min = sum(at_heat_min(heat, now) for heat in rounds_of(plan, heats, needed_min, now)[-1])
    dishes, of_next_min = divmod(had_min, dish_min)
    if is_enough_heat(plan, of_next_min, dish_min):
        return needed_min - (dishes + 1) * dish_min
    return needed_min - (had_min if not dishes or of_next_min >= dish_min / 2 else dishes * dish_min)


def dishes_to_heat(to_go_min: float, each_min: float) -> tuple[int, float]:
    """Return (dishes, minutes of the first) for ``to_go_min``: the first gets the rest, the others ``each_min``."""
    dishes = ceil((to_go_min - SECOND_IN_MIN) / each_min)
    first_min = to_go_min - (dishes - 1) * each_min
    return dishes, each_min if first_min > each_min - SECOND_IN_MIN else first_min


def has_heated(day: Day) -> bool:
    """Return whether heat was switched on yet in this session."""
    return any(batch.is_of_session(heat.start.utc) for batch in day.batches.values() for heat in batch.heats)


def last_heat_end(batch: BatchRecord, begun_by: Moment | None = None) -> Moment | None:
    """Return the end on record of the last stretch of heat, begun by ``begun_by`` if given; None without either."""
    ends = [heat.end for heat in batch.heats if begun_by is None or heat.start.utc <= begun_by.utc]
    return ends[-1] if ends else None


def last_dyed(batch: BatchRecord, layer: int, until: Moment | None = None) -> Moment | None:
    """Return when dye last went on a layer, by ``until`` if given; None where none did."""
    of_layer = (put_on.since for put_on in reversed(batch.painted) if put_on.layer == layer)
    return next((since for since in of_layer if until is None or since.utc <= until.utc), None)


def readings_of(batch: BatchRecord, *names: ReadingKind) -> list[Reading]:
    """Return the readings of ``names``, in order."""
    return [reading for reading in batch.readings if reading.name in names]


def left_fix(batch: BatchRecord) -> list[tuple[Stay, Moment]]:
    """Return (stay, when) of each fix that the batch left for a later state or layer, at once or from aside."""
    later, again = (State.COOL, State.RINSE, State.DRY, State.DONE), (State.FIX, State.SCRAPPED, State.WAITING)
    out = []
    for n, stay in enumerate(batch.stays):
        if stay.state is not State.FIX or stay.until is None or (after := batch.stay_after(n)) is None:
            continue
        if after.state in later or (after.layer > stay.layer and after.state not in again):
            out.append((stay, stay.until))
    return out


class UnitOn(NamedTuple):
    """A unit whose heat is on: the batches heated in it, and when the last of them has its minutes."""

    unit: str
    batches: tuple[str, ...]
    until: Moment


def units_on(day: Day, now: Moment) -> list[UnitOn]:
    """Return every unit that is on, in the plan's order; those that it lacks come last."""
    heats: dict[str, list[tuple[BatchRecord, Heat]]] = {unit: [] for unit in day.plan.unit_names}
    for batch in day.unsplit:
        if (heat := batch.heat_on(now)) is not None:
            heats.setdefault(heat.unit or "a unit that is not named", []).append((batch, heat))
    return [
        UnitOn(unit, tuple(batch.no for batch, _ in on), max(heat_due_at(day.plan, *one) for one in on))
        for unit, on in heats.items()
        if on
    ]
