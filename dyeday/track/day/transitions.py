"""Where a batch goes: from state to state, from unit to unit, on to the heat and off it; and the baths of units."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from dyeday.plan.model import Plan
from dyeday.quick_dataclass import altered, with_last
from dyeday.terms import CoolWhere, DyeMethod, HeatEdge, State, Water
from dyeday.track.day.batch_record import BatchRecord, Heat, Painted, Placement, Stay
from dyeday.track.day.day_state import Body, Day, Event
from dyeday.track.day.progress import at_heat_min, heat_begun_now_min, heat_was_enough, warm_up_min
from dyeday.track.day.unit_record import Bath, UnitRecord
from dyeday.track.timestamp import Moment

Baths = tuple[Bath, ...]
"""of one unit, in order; the last is the present or next bath"""


def _next_layer(batch: BatchRecord, to: State) -> int:
    """Return the layer a batch is in once it moves ``to``, where the event does not say.

    Soak or dye begins the next one, if there is one, in layer 0 and after the layer was fixed, cooled, rinsed or
    dried; before that it repeats the same.
    """
    if to == State.WAITING:
        return 1
    came_from = batch.working_state
    fixed = any(heat.layer == batch.layer and heat.end is not None for heat in batch.heats)
    over = came_from in (State.COOL, State.RINSE, State.DRY) or (came_from == State.FIX and fixed)
    if to in (State.SOAK, State.PAINT) and (over or batch.layer < 1) and not batch.is_last_layer:
        return batch.layer + 1
    return batch.layer


def moved(
    batch: BatchRecord,
    to: State,
    moment: Moment,
    *,
    unit: str | None = None,
    layer: int | None = None,
    mix: str | None = None,
) -> BatchRecord:
    """Return the batch moved ``to`` a state, its heat ended, and out of its unit or into ``unit``.

    Without ``unit`` it cools where it was heated if its recipe says so, and is heated where it cooled or, immersed,
    was dyed. A move that changes neither state nor layer keeps its unit; but a second one to cool lifts it out.
    """
    layer = min(layer or _next_layer(batch, to), len(batch.colourway.layers))
    new: dict[str, Any] = {}  # put into the batch at once: a fold moves batches hundreds of times
    if batch.state == State.FIX and to != State.FIX:
        new["heats"] = _heats_ended(batch, moment)
    keeps_unit = to != State.COOL
    if to != batch.state or layer != batch.layer or (to is State.RINSE and batch.cloth_was_read):
        before = batch.stays and with_last(batch.stays, until=moment)
        held = None if to != State.SET_ASIDE else batch.working_state
        cools = batch.state == State.FIX and to == State.COOL
        immersed = batch.current_layer.how is DyeMethod.IMMERSED
        keeps_unit = (
            to is batch.state is State.RINSE
            or (cools and batch.current_layer.cool_where == CoolWhere.IN_PLACE)
            or (to is State.FIX and (batch.state is State.COOL or (batch.state is State.PAINT and immersed)))
        )
        new |= {"stays": (*before, Stay(to, layer, moment)), "held_from": held, "state": to, "layer": layer}
        if to == State.PAINT:
            new["painted"] = (*batch.painted, Painted(layer, moment, mix or batch.planned_mix, batch.wof_g))
            new["covers"] = (*batch.covers, (moment, batch.layer_of(layer).cover))
    if unit is not None or not keeps_unit:
        new["placements"] = _placements(batch, unit, moment)
    return altered(batch, **new)


def dye_is_on(batch: BatchRecord, moment: Moment) -> BatchRecord:
    """Return a batch in paint whose yarn waits from ``moment`` on, under the cover it has."""
    return altered(batch, covers=(*batch.covers, (moment, batch.cover or batch.current_layer.cover)))


def placed_in(batch: BatchRecord, unit: str, moment: Moment) -> BatchRecord:
    """Return the batch in ``unit`` from ``moment`` on, in the same state."""
    return altered(batch, placements=_placements(batch, unit, moment))


def _placements(batch: BatchRecord, unit: str | None, moment: Moment) -> tuple[Placement, ...]:
    """Return the placements of a batch that is in ``unit``, None in no unit, from ``moment`` on."""
    placements, was_in = batch.placements, batch.unit
    if was_in == unit:
        return placements
    if was_in is not None:
        placements = with_last(placements, until=moment)
    return placements if unit is None else (*placements, Placement(unit, moment))


def _heats_ended(batch: BatchRecord, moment: Moment) -> tuple[Heat, ...]:
    return batch.heats if batch.open_heat is None else with_last(batch.heats, end=moment)


def filled_in_mid_heat(day: Day, unit: str, moment: Moment) -> dict[str, BatchRecord]:
    """Return the batches at heat in a unit whose tank is filled, off and on again, if they lack minutes."""
    kit, out = day.plan.kit_of(unit), dict[str, BatchRecord]()
    has_tank = kit is not None and (kit.tank_l is not None or kit.lasts_min is not None)
    for batch in day.in_unit(unit) if has_tank else ():
        heat = batch.heat_on(moment)
        if heat is None or at_heat_min(heat, moment) <= 0:
            continue
        if not heat_was_enough(day.plan, batch, heat.layer, heat.heat_no, moment):
            out[batch.no] = heated(day.plan, batch, heat.heat_no, HeatEdge.START, moment)
    return out


def heat_timed_out(batch: BatchRecord, moment: Moment) -> BatchRecord:
    """Return the batch with its heat ended if its unit had switched itself off by ``moment``."""
    heat = batch.open_heat
    if heat is None or heat.own_end is None or heat.own_end.utc > moment.utc:
        return batch
    return altered(batch, heats=with_last(batch.heats, end=heat.own_end, timed_out=True))


def heat_ended(batch: BatchRecord, moment: Moment) -> BatchRecord:
    """Return the batch with the heat that is on ended at ``moment``."""
    return altered(batch, heats=_heats_ended(batch, moment))


def heated(
    plan: Plan, batch: BatchRecord, heat_no: int, edge: HeatEdge, moment: Moment, unit: str | None = None
) -> BatchRecord:
    """Return the batch with a stretch of heat begun, at heat, or ended; one begun ends the one before."""
    if edge is HeatEdge.END:
        if batch.heats and batch.heats[-1].timed_out:
            # The entry overrules the end by the unit's timer.
            batch = altered(batch, heats=with_last(batch.heats, end=None, timed_out=False))
        return heat_ended(batch, moment)
    if batch.state != State.FIX:
        # Heat began before "fix" was entered: the yarn is in it all the same.
        batch = moved(batch, State.FIX, moment, layer=batch.layer)
    if unit is not None:
        batch = placed_in(batch, unit, moment)
    if edge is HeatEdge.AT_HEAT and batch.open_heat is not None and batch.open_heat.heat_no == heat_no:
        return altered(batch, heats=with_last(batch.heats, heat_recorded_at=moment))
    # All dishes of a batch one after the other: a unit with a timer ends them together.
    switches_off = plan.switches_off(batch.unit, batch.current_layer.heat_of(heat_no).how)
    own_end_min = heat_begun_now_min(plan, batch, heat_no, moment, batch.unit) if switches_off else None
    recorded_at = moment if edge is HeatEdge.AT_HEAT else None
    to_heat_min = warm_up_min(plan, batch, heat_no, batch.unit, moment)
    started = Heat(batch.layer, heat_no, batch.unit, moment, to_heat_min, recorded_at, own_end_min)
    return altered(batch, heats=(*_heats_ended(batch, moment), started))


def with_record(day: Day, record: BatchRecord, event: Event) -> Day:
    """Return the day with a batch as ``event`` changed it, and the baths of the units it left and came into."""
    unit_name, was_in = record.unit, day.batches[record.no].unit if record.no in day.batches else None
    day = altered(day, batches={**day.batches, record.no: altered(record, last_id=event.id)})
    if was_in == unit_name:
        return day
    if was_in is not None and not day.in_unit(was_in):
        day = with_unit(day, was_in, lambda unit: altered(unit, baths=next_bath(unit.baths, event.moment)))

    def entered(unit: UnitRecord) -> UnitRecord:
        came = (*unit.baths[-1].entered, (record.no, event.moment))
        return altered(unit, baths=with_last(unit.baths, entered=came))

    return day if unit_name is None else with_unit(day, unit_name, entered)


def with_unit(day: Day, name: str, change: Callable[[UnitRecord], UnitRecord]) -> Day:
    """Return the day with a unit changed; unchanged if it has no such unit."""
    unit = day.units.get(name)
    return day if unit is None else altered(day, units={**day.units, name: change(unit)})


def next_bath(baths: Baths, moment: Moment) -> Baths:
    """Return the baths of a unit that its last batch left at ``moment``."""
    return (*with_last(baths, ended=moment), Bath(baths[-1].number + 1, moment))


def poured_away(baths: Baths, moment: Moment, inside: Sequence[BatchRecord]) -> Baths:
    """Return the baths of a unit emptied at ``moment``; the batches ``inside`` are in the next one."""
    ended = next_bath(with_last(baths, poured_away=True), moment)
    return with_last(ended, entered=tuple((batch.no, moment) for batch in inside))


def left_bath(baths: Baths) -> Bath | None:
    """Return the bath that a unit's last load left there; None if it was poured away or the next load is in."""
    if len(baths) < 2 or baths[-1].entered or baths[-2].poured_away:
        return None
    return baths[-2]


def watered(day: Day, name: str | None, water: Water | None, moment: Moment) -> Day:
    """Return the day with new water in a unit, or the water of the load before if there is any."""
    if name is None or water is None:
        return day

    def change(unit: UnitRecord) -> UnitRecord:
        if water is Water.KEPT:
            if (old := left_bath(unit.baths)) is None:
                return unit
            goes_on = altered(old, acids=(*old.acids, *unit.baths[-1].acids), ended=None)
            return altered(unit, baths=(*unit.baths[:-2], goes_on))
        # A bath without batches is new: the old water went as the last load left.
        baths = poured_away(unit.baths, moment, day.in_unit(unit.name)) if unit.baths[-1].entered else unit.baths
        began = baths[-1].began
        return altered(
            unit, baths=baths, poured_away_at=unit.poured_away_at if began is None else (*unit.poured_away_at, began)
        )

    return with_unit(day, name, change)


class OfBatch(Body):
    """What happened to one batch; an unknown or split one is not changed."""

    @property
    def needs_batch(self) -> bool:
        return True

    def apply(self, day: Day, event: Event) -> Day:
        batch = day.batches.get(event.batch or "")
        if batch is None or batch.state is State.SPLIT:
            return day
        return with_record(day, self.change(day, batch, event), event)

    def change(self, day: Day, batch: BatchRecord, event: Event) -> BatchRecord:
        """Return the batch with what ``event`` says done to it."""
        raise NotImplementedError

    def refuse(self, day: Day, event: Event, *, typed: bool) -> None:
        if (batch := day.batches.get(event.batch or "")) is not None:
            self.refuse_of(day, batch, event, typed=typed)

    def refuse_of(self, day: Day, batch: BatchRecord, event: Event, *, typed: bool) -> None:
        """Raise EventError where ``event`` cannot be true of its batch."""
