"""The next step of one batch, as the bench offers it: where it goes, or which heat starts or ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from dyeday.plan.doses import soak_dose
from dyeday.plan.model import Kit
from dyeday.quick_dataclass import altered, dataclass
from dyeday.terms import KIT_OF_HEAT, AcidPlace, CoolWhere, DyeMethod, HeatEdge, HeatKind, KitKind, ReadingKind, State
from dyeday.track.day.batch_record import BatchRecord, Heat
from dyeday.track.day.bath_contents import part_due
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import (
    dishes_to_heat,
    has_its_minutes,
    heat_begun_now_min,
    heat_due_at,
    heats_of,
    kit_to_heat_in,
    load_on_min,
    state_word,
)
from dyeday.track.day.transitions import heat_timed_out
from dyeday.track.flags.exhausting import needs_heat
from dyeday.track.flags.rinsing import bleeding_grade, helps_to_rinse, was_seen_clear
from dyeday.track.flags.room_and_stock import over_room, rests
from dyeday.track.timers.timers import next_heat_no, tank_min
from dyeday.track.timestamp import Moment, min_figure


@dataclass(frozen=True, slots=True)
class NextStep:
    """A step on offer: a move ``to`` a state, a heat that starts or ends, both in one movement, or acid."""

    batch: str
    to: State | None = None
    heat_no: int | None = None
    edge: HeatEdge | None = None
    how: HeatKind | None = None
    """the kind of a heat that starts"""
    layer: int | None = None
    unit_kind: KitKind | None = None
    """the kind of unit it goes into, if it does"""
    unit: str | None = None
    """one of these with room, or the one it is in; None without any"""
    text: str = ""
    """what hands do, without the unit"""
    acid: float = 0.0
    """mL or g to add, if that is the step"""
    stays_on: bool = False
    """whether the unit stays on for others as this one is lifted out"""
    again: str = ""
    """why it is rinsed or heated once more, if it is"""

    @property
    def begun_heat_no(self) -> int | None:
        """The number of the heat that starts, if one does."""
        return (self.heat_no or 1) if self.edge is HeatEdge.START else None


def shared_step(day: Day, batches: Sequence[BatchRecord], now: Moment) -> NextStep | None:
    """Return the one step that ``batches``, at least one, take next together, in a unit with room for all.

    None where nothing comes after. Raises ValueError where their steps, their soaks' acid or a pot's colours differ.
    """
    steps = [next_step(day, batch, now) for batch in batches]
    baths = [_bath(day, batch, step) for batch, step in zip(batches, steps, strict=True)]
    first, *others = zip(batches, steps, baths, strict=True)
    for other in others:
        if _movement(*other[1:]) != _movement(*first[1:]):
            texts = [f"{batch.no}: {step.text if step else 'nothing'}{bath}" for batch, step, bath in (first, other)]
            raise ValueError(f"{'; '.join(texts)}. Move them one by one")
    shared = steps[0]
    if shared is None or not others or shared.unit_kind is None:
        return shared
    return replace(shared, unit=roomy_unit(day, batches, shared.unit_kind, shared.begun_heat_no, now))


def _movement(step: NextStep | None, bath: str) -> tuple[object, ...]:
    """Return what must be the same for batches that move together."""
    return () if step is None else (step.to, step.edge, step.unit_kind, step.layer, bath)


def _bath(day: Day, batch: BatchRecord, step: NextStep | None) -> str:
    """Return " without acid" or " with acid to pH 4.5" for a soak, " in Peat" for a pot; "" for any other step."""
    if step is not None and step.unit_kind is KitKind.POT:
        return f" in {batch.colourway.name}"
    if step is None or step.to is not State.SOAK:
        return ""
    layer = batch.layer_of(step.layer or batch.layer)
    if layer.acid_in is not AcidPlace.SOAK:
        return " without acid"
    need = soak_dose(day.plan, batch.wof_g, batch.base, layer)
    return " with acid" if need is None or need.ph is None else f" with acid to pH {need.ph:.1f}"


def next_step(day: Day, batch: BatchRecord, now: Moment) -> NextStep | None:
    """Return the next step of a batch, in a unit with room if there is one; None where nothing comes after."""
    state = batch.state
    if state == State.WAITING:
        return _move(day, batch, State.SOAK, KitKind.TRAY, "into the soak")
    if state == State.SOAK:
        if more := _acid_by_ph(day, batch, now):
            return more
        if batch.current_layer.how is DyeMethod.IMMERSED:
            return _into_the_pot(day, batch, state_word(batch, State.PAINT), now)
        return _move(day, batch, State.PAINT, None, state_word(batch, State.PAINT))
    if state == State.PAINT:
        return _first_heat(day, batch, now)
    if state == State.FIX:
        return _fix_step(day, batch, now)
    if again := _against_bleeding(day, batch, now) or _against_colour_left(day, batch, now):
        return again
    if state is State.COOL or (state in (State.RINSE, State.DRY) and not batch.is_last_layer):
        to, word = batch.after_cooling
        if to is State.RINSE:
            return _move(day, batch, to, KitKind.SINK, word)
        layer = batch.layer + 1
        if to is State.SOAK:
            text = f"soak for layer {layer}" if layer > 1 else "soak for the overdye"
            return _move(day, batch, to, KitKind.TRAY, text, layer)
        text = f"{word}, layer {layer}" if layer > 1 else f"{word} over"
        following = altered(batch, layer=layer)
        if following.current_layer.how is DyeMethod.IMMERSED:
            return replace(_into_the_pot(day, following, text, now), layer=layer)
        return _move(day, batch, to, None, text, layer)
    if state == State.RINSE:
        return _move(day, batch, State.DRY, KitKind.PEGS, "hang up to dry")
    if state == State.DRY:
        return _move(day, batch, State.DONE, None, "take down once dry")
    if state == State.SET_ASIDE:
        back = batch.held_from or State.WAITING
        return _move(day, batch, back, None, f"back to {back.value}")
    return None


def _against_bleeding(day: Day, batch: BatchRecord, now: Moment) -> NextStep | None:
    """Return the rinse or heat that a batch needs if its last cloth took up colour; else None."""
    if not (grade := bleeding_grade(day, batch)):
        return None
    why = f"it bleeds: cloth of grade {grade}"
    if helps_to_rinse(grade):
        return replace(_move(day, batch, State.RINSE, KitKind.SINK, "rinse again"), again=why)
    return _heat_again(day, batch, why, now)


def _against_colour_left(day: Day, batch: BatchRecord, now: Moment) -> NextStep | None:
    """Return the heat that yarn with colour left in its bath needs, after acid for a pot whose pH was too high."""
    if not needs_heat(day, batch):
        return None
    if batch.current_layer.how is not DyeMethod.IMMERSED:
        return _heat_again(day, batch, "", now)
    return _acid_by_ph(day, batch, now) or _heat_again(day, batch, "colour is left in its bath", now)


def _heat_again(day: Day, batch: BatchRecord, why: str, now: Moment) -> NextStep:
    last = len(batch.current_layer.heats)
    unit = roomy_unit(day, [batch], KIT_OF_HEAT[batch.current_layer.heat_of(last).how], last, now)
    on = _heat_on(day, batch, last, unit, now)
    return replace(on, to=State.FIX, text=f"fix again, {on.text}", again=why)


def _move(
    day: Day, batch: BatchRecord, to: State, kind: KitKind | None, text: str, layer: int | None = None
) -> NextStep:
    return NextStep(batch.no, to=to, layer=layer, unit_kind=kind, unit=roomy_unit(day, [batch], kind), text=text)


def _into_the_pot(day: Day, batch: BatchRecord, text: str, now: Moment) -> NextStep:
    """Return the move into the dye of the batch's layer, its heat on if that is in the pot, or the wait for a pot."""
    unit = roomy_unit(day, [batch], KitKind.POT, 1, now)
    step = NextStep(batch.no, to=State.PAINT, unit_kind=KitKind.POT, unit=unit, text=text)
    if unit is None and day.plan.units_of(KitKind.POT):
        return replace(step, text="wait for a pot")
    on = _heat_on(day, batch, 1, step.unit, now)
    return replace(on, to=State.PAINT, text=f"{step.text}, {on.text}") if on.unit_kind is KitKind.POT else step


def _first_heat(day: Day, batch: BatchRecord, now: Moment) -> NextStep:
    """Return the move into a unit with its heat on; the wait for a unit if none has room."""
    kind = kit_to_heat_in(day.plan, batch, batch.layer, 1)
    # The pot it was dyed in is the pot it is heated in.
    unit = batch.unit if batch.current_layer.how == DyeMethod.IMMERSED else None
    unit = unit or roomy_unit(day, [batch], kind, 1, now)
    if unit is None and day.plan.units_of(kind):
        return NextStep(batch.no, to=State.FIX, text=f"wait for a {kind.value}")
    return replace(_heat_on(day, batch, 1, unit, now), to=State.FIX)


def _heat_on(day: Day, batch: BatchRecord, heat_no: int, unit: str | None, now: Moment) -> NextStep:
    how = batch.current_layer.heat_of(heat_no).how
    text = f"start {how.value} {_length(day, batch, heat_no, unit, now)}"
    kind = kit_to_heat_in(day.plan, batch, batch.layer, heat_no)
    return NextStep(batch.no, heat_no=heat_no, edge=HeatEdge.START, how=how, unit_kind=kind, unit=unit, text=text)


def _length(day: Day, batch: BatchRecord, heat_no: int, unit: str | None, now: Moment) -> str:
    """Return how long a heat begun now in ``unit`` is: "30 min", "the last 12 of 30 min", "2 min, 2 dishes"."""
    each_min = batch.current_layer.heat_of(heat_no).minutes
    to_go_min = heat_begun_now_min(day.plan, batch, heat_no, now, unit)
    dishes, first_min = dishes_to_heat(to_go_min, each_min)
    lacks = f"the last {min_figure(to_go_min)} of {dishes * each_min:g}" if first_min < each_min else f"{each_min:g}"
    return f"{lacks} min, {dishes} dishes" if dishes > 1 else f"{lacks} min"


def _fix_step(day: Day, batch: BatchRecord, now: Moment) -> NextStep:
    batch = heat_timed_out(batch, now)  # no hand turns off what did so itself
    if (heat := batch.open_heat) is not None:
        return _acid_part(day, batch, heat, now) or _heat_off(day, batch, heat, now)
    if (following := next_heat_no(day, batch, now)) is None:
        if batch.heats and batch.state_since is not None and (batch.heats[-1].end or now).utc < batch.state_since.utc:
            return _heat_again(day, batch, "it is back in fix, and no heat is on", now)
        return _move(day, batch, State.COOL, None, "cool")
    kind = kit_to_heat_in(day.plan, batch, batch.layer, following)
    unit = roomy_unit(day, [batch], kind, following, now)
    return _heat_on(day, batch, following, unit, now)


def _acid_by_ph(day: Day, batch: BatchRecord, now: Moment) -> NextStep | None:
    """Return the acid that the last pH read in its bath asks for, until some is put in or the pH is read again."""
    inside = day.in_unit(batch.unit) if batch.unit else ()
    if not any(read.name is ReadingKind.PH for other in (batch, *inside) for read in other.readings):
        return None
    from dyeday.plan.amount_text import acid_amount_text
    from dyeday.track.reading_meaning import acid_by_ph

    more = acid_by_ph(day, batch, now)
    if more is None or not more.now:
        return None
    where = f" to {batch.unit}" if batch.unit else ""
    text = f"add {acid_amount_text(day.plan, more.now)} of {day.plan.acid.kind.value}{where}"
    return NextStep(batch.no, unit=batch.unit, text=text, acid=more.now)


def _acid_part(day: Day, batch: BatchRecord, heat: Heat, now: Moment) -> NextStep | None:
    """Return the next part of a pot's acid, if its time has come and the heat is not over."""
    part = part_due(day, batch, now)
    if not part or has_its_minutes(day.plan, batch, heat, now):
        return None
    text = f"{round(part, 3):g} {day.plan.acid.unit} of acid into {heat.unit}"
    return NextStep(batch.no, unit=heat.unit, text=text, acid=part)


def _heat_off(day: Day, batch: BatchRecord, heat: Heat, now: Moment) -> NextStep:
    """Return the end of a heat, with the move out to cool if no other heat follows."""
    text = f"heat off {heat.unit or ''}".rstrip()
    off = NextStep(batch.no, heat_no=heat.heat_no, edge=HeatEdge.END, unit=heat.unit, text=text)
    ended = altered(batch, heats=(*batch.heats[:-1], replace(heat, end=now)))
    if next_heat_no(day, ended, now) is not None:
        return off
    if others := _heating_longer(day, batch, heat, now):
        ends = {no: day.time_text(end.utc) for no, end in others.items()}
        for_whom = ", ".join(f"{no} until {end}" for no, end in ends.items())
        text = f"lift {batch.no} out, leave {heat.unit} on ({for_whom})"
        return replace(off, to=State.COOL, text=text, stays_on=True)
    cools = "let it cool in place" if batch.current_layer.cool_where is CoolWhere.IN_PLACE else "out to cool"
    return replace(off, to=State.COOL, text=f"{text}, {cools}")


def _heating_longer(day: Day, batch: BatchRecord, heat: Heat, now: Moment) -> dict[str, Moment]:
    """Return when each other batch in a unit has its minutes, if this one has had them and those have not."""
    if not has_its_minutes(day.plan, batch, heat, now):
        return {}
    others = [(o, o.open_heat) for o in day.unsplit if o is not batch and o.unit == heat.unit]
    in_unit = ((other, theirs) for other, theirs in others if theirs is not None and theirs.unit == heat.unit)
    on = ((other, theirs) for other, theirs in in_unit if not has_its_minutes(day.plan, other, theirs, now))
    return {other.no: heat_due_at(day.plan, other, theirs) for other, theirs in on}


def in_unit_if_as_good(
    day: Day, batches: Sequence[BatchRecord], step: NextStep, unit: str | None, now: Moment
) -> NextStep:
    """Return ``step`` in ``unit`` if that is as good: of its kind, with room, and its tank lasts if the other's does.

    A heat that could have an empty unit does not join others.
    """
    kit = day.plan.kit_of(unit)
    if unit is None or kit is None or kit.kind is not step.unit_kind or day.units[unit].is_down:
        return step
    inside = _others_in(day, unit, batches, now)
    heat_no = step.begun_heat_no
    own_if_empty = heat_no and step.unit is not None and not day.in_unit(step.unit)
    if _keeps_out(kit, inside, batches, now) or (inside and own_if_empty):
        return step
    if not _tank_lasts(day, unit, batches, heat_no, now) and (
        step.unit and _tank_lasts(day, step.unit, batches, heat_no, now)
    ):
        return step
    return in_other_unit(day, batches[0], step, unit, now)


def in_other_unit(day: Day, batch: BatchRecord, step: NextStep, unit: str | None, now: Moment) -> NextStep:
    """Return ``step`` in another unit, and a heat's length there."""
    if step.edge is not HeatEdge.START:
        return replace(step, unit=unit)
    of_layer = altered(batch, layer=step.layer or batch.layer)
    before, after = (_length(day, of_layer, step.heat_no or 1, one, now) for one in (step.unit, unit))
    return replace(step, unit=unit, text=step.text.removesuffix(before) + after)


def roomy_unit(
    day: Day,
    batches: Sequence[BatchRecord],
    kind: KitKind | None,
    heat_no: int | None = None,
    now: Moment | None = None,
) -> str | None:
    """Return the unit for a load: the one it is in, else an empty one that holds it, else one with room.

    Of empty ones the first whose tank lasts for heat ``heat_no`` begun ``now``, or as far as a full one does, else
    the first; without either tanks are not looked at. A unit that later arrivals fill comes last: the load may have
    left before they came. None where no kind is wanted, the plan has none, or none has room or suits.
    """
    if kind is None:
        return None
    units = day.plan.units_of(kind)
    own = {batch.unit for batch in batches}
    here = own.pop() if len(own) == 1 else None
    if here in units and not day.units[here].is_down:
        return here
    shared, first_empty = [], None
    for unit, kit in units.items():
        if inside := _others_in(day, unit, batches, now):
            shared.append((len(inside), unit, kit, inside))
        elif not day.units[unit].is_down and not over_room(kit, [*batches]):
            if now is None or _tank_lasts(day, unit, batches, heat_no, now):
                return unit
            first_empty = first_empty or unit
    if first_empty is not None:
        return first_empty
    for _, unit, kit, inside in sorted(shared, key=lambda item: item[0]):
        if not day.units[unit].is_down and not _keeps_out(kit, inside, batches, now):
            return unit
    return roomy_unit(altered(day, arrivals={}), batches, kind, heat_no, now) if day.arrivals else None


def _others_in(day: Day, unit: str, batches: Sequence[BatchRecord], now: Moment | None) -> list[BatchRecord]:
    """Return what takes up room in a unit beside ``batches``, then or later, without what rests after its turn."""
    kit, numbers, at = day.plan.kit_of(unit), {batch.no for batch in batches}, now.utc if now is not None else None
    there = (*day.in_unit(unit), *day.arrivals.get(unit, ()))
    return [other for other in there if not rests(other, unit, kit, at) and other.no not in numbers]


def _keeps_out(kit: Kit, inside: Sequence[BatchRecord], batches: Sequence[BatchRecord], now: Moment | None) -> bool:
    """Return whether a unit has no room beside what is in it, another bath or a hot one, or colour that may run."""
    if kit.kind is KitKind.TRAY and len({soaks_in_acid(batch) for batch in (*inside, *batches)}) > 1:
        return True
    if kit.kind is KitKind.POT and (
        len({batch.colourway.name for batch in (*inside, *batches)}) > 1 or any(_is_hot(one, now) for one in inside)
    ):
        return True
    if kit.kind is not KitKind.SINK:
        return bool(over_room(kit, [*inside, *batches]))
    return any(_runs_into(one, other) for one in inside for other in batches)


def soaks_in_acid(batch: BatchRecord) -> bool:
    """Return whether the soak that a batch is in, or goes into next, has its layer's acid in it."""
    is_soaking = batch.state in (State.WAITING, State.SOAK)
    return batch.layer_of(batch.layer if is_soaking else batch.layer + 1).acid_in is AcidPlace.SOAK


def _is_hot(batch: BatchRecord, now: Moment | None) -> bool:
    """Return whether a pot with a batch in it has reached heat: cold yarn may felt in it, and dyes unevenly."""
    heats = heats_of(batch, batch.layer)
    return any(heat.end is not None or (now is not None and heat.at_heat_since.utc <= now.utc) for heat in heats)


def _runs_into(one: BatchRecord, other: BatchRecord) -> bool:
    """Return whether two batches are of two colours that may run into each other in one rinse."""
    return one.colourway.name != other.colourway.name and not (was_seen_clear(one) and was_seen_clear(other))


def rinsed_before(day: Day, batch: BatchRecord) -> list[str]:
    """Return the batches that must be rinsed first: their colours may run into its own, and no sink has room."""
    if day.plan.units_of(KitKind.SINK) and roomy_unit(day, [batch], KitKind.SINK) is not None:
        return []
    return [o.no for o in day.unsplit if o is not batch and o.state is State.RINSE and _runs_into(o, batch)]


def soonest_free(day: Day, kind: KitKind, now: Moment) -> tuple[str, Moment] | None:
    """Return the unit of a kind whose heat ends first, and when; None if none has heat on."""
    ends: dict[str, Moment] = {}
    for batch in day.unsplit:
        heat = heat_timed_out(batch, now).open_heat
        if heat is not None and heat.unit in day.plan.units_of(kind):
            end = max(now, heat_due_at(day.plan, batch, heat))
            ends[heat.unit] = max(end, ends.get(heat.unit, end))
    return min(ends.items(), key=lambda one: one[1].utc, default=None)


def _tank_lasts(day: Day, unit: str, batches: Sequence[BatchRecord], heat_no: int | None, now: Moment) -> bool:
    tank = tank_min(day, unit, now) if heat_no is not None else None
    return tank is None or not tank.is_short_for(load_on_min(day.plan, batches, heat_no or 1, unit, now))
