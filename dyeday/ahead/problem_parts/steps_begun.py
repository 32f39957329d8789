"""Which steps of a batch have begun, and when, by the state it is in."""

from __future__ import annotations

from dataclasses import replace
from math import ceil
from typing import cast

from dyeday.ahead.kernel.problem import Lag
from dyeday.ahead.problem_parts.batch_route import RINSE, Route
from dyeday.ahead.problem_parts.chore_steps import chore_past
from dyeday.ahead.problem_parts.hours import minute
from dyeday.ahead.problem_parts.off_early import heat_end_min
from dyeday.plan.model import Plan
from dyeday.plan.step_ids import StepId
from dyeday.terms import KitKind, State, StepKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import (
    cold_warm_up_min,
    heat_begun_now_min,
    heat_was_enough,
    heats_of,
    last_heat_end,
    soak_needed_min,
    soaked_min,
)
from dyeday.track.day.waiting_time import out_min
from dyeday.track.flags.exhausting import needs_heat
from dyeday.track.timestamp import Moment


def put_past(day: Day, record: BatchRecord, route: Route, now: Moment) -> None:
    """Set which steps of the batch have begun, and when, and the units that these hold."""
    now_min = minute(day.plan, now.utc)
    begun = _begun(day, record, route, now_min, now)
    running = len(begun) - 1
    while (place := len(begun)) < len(route.steps):
        step = route.steps[place]
        if (chore := chore_past(day, record.no, cast(StepId, step.id), step.minutes, now_min)) is None:
            break
        begun.append(chore)
    if 0 <= running < place - 1 and not route.steps[running].attended:
        # What hands did meanwhile does not end the soak.
        route.lag(place, Lag(running))
    route.past.extend(begun)
    for n, hold in enumerate(route.holds):
        if hold.first < len(begun):
            units = day.plan.units_of(KitKind(hold.kind))
            unit = record.unit if record.unit in units else next(iter(units), None)
            route.holds[n] = replace(hold, unit=unit)


def _begun(day: Day, record: BatchRecord, route: Route, now_min: int, now: Moment) -> list[tuple[int, int]]:
    plan = day.plan
    since = minute(plan, record.state_since.utc) if record.state_since is not None else now_min
    layer_no = record.layer

    if record.state == State.WAITING:
        return []
    soak = StepId(StepKind.SOAK, layer_no)
    if record.state == State.SOAK and soak in route.places:
        left = ceil(soak_needed_min(record, plan) - soaked_min(record, now, layer_no))
        return _up_to(since, route.places[soak], now_min + max(0, left))
    if record.state in (State.SOAK, State.PAINT):
        paint = route.dye_on(layer_no)
        if record.state == State.SOAK:
            return [(since, since)] * paint
        return _begun_dye(day, record, route, now, since)
    if record.state == State.FIX:
        return _begun_heat(day, record, route, now_min, now)
    heat_end = last_heat_end(record)
    ended = minute(plan, heat_end.utc) if heat_end is not None else since
    if needs_heat(day, record):
        return _begun_again(record, route, ended)
    if record.state is State.COOL or not record.is_last_layer:
        unload = route.heat(StepKind.UNLOAD, layer_no, len(record.current_layer.heats))
        return [(ended, ended)] * (unload + 1)
    if record.state == State.RINSE:
        rinse = route.places[RINSE]
        return _up_to(since, rinse, max(now_min + 1, since + route.steps[rinse].minutes))
    return _up_to(since, route.places[RINSE], since)


def _begun_again(record: BatchRecord, route: Route, ended: int) -> list[tuple[int, int]]:
    """Return all before the last heat as past; that comes again, and yarn that was lifted out takes a unit then."""
    load = route.heat(StepKind.LOAD, record.layer, len(record.current_layer.heats))
    route.steps[load] = replace(route.steps[load], lags=())
    if record.unit is None:
        route.holds[:] = [replace(h, first=load) if h.first < load <= h.last else h for h in route.holds]
    return [(ended, ended)] * load


def _begun_dye(day: Day, record: BatchRecord, route: Route, now: Moment, since: int) -> list[tuple[int, int]]:
    """Return the parts of putting dye on that are over or under way; work at heaters and absences do not count.

    What is left of a part under way is added to the next, so that brief work need not wait for it.
    """
    place, last = route.dye_on(record.layer), route.dyed_at(record.layer)
    now_min = minute(day.plan, now.utc)
    away = _heater_min(day, record, since, now_min)
    if record.state_since is not None:
        away += ceil(out_min(day.plan, record.state_since.utc, now.utc))
    begun: list[tuple[int, int]] = [(since, since)] * place
    start = since
    for n in range(place, last):
        end = start + route.steps[n].minutes
        if (left_min := end + away - now_min) > 0:
            for part, more_min in ((n, -left_min), (n + 1, left_min)):
                route.steps[part] = replace(route.steps[part], minutes=route.steps[part].minutes + more_min)
            return [*begun, (start, now_min)]
        begun.append((start, end))
        start = end
    return [*begun, (start, max(now_min + 1, start + route.steps[last].minutes + away))]


def _heater_min(day: Day, record: BatchRecord, since: int, now_min: int) -> int:
    """Return the minutes of loads and unloadings of other batches after ``since``, each load once."""
    others = [heat for other in day.unsplit if other is not record for heat in other.heats]
    on = {(heat.unit, minute(day.plan, heat.start.utc)) for heat in others}
    off = {(heat.unit, minute(day.plan, heat.end.utc)) for heat in others if heat.end is not None}
    loads, unloads = ([day.plan.kit_of(unit) for unit, at in edges if since < at <= now_min] for edges in (on, off))
    return sum(ceil(kit.load_min) for kit in loads if kit) + sum(ceil(kit.unload_min) for kit in unloads if kit)


def _up_to(since: int, place: int, until: int) -> list[tuple[int, int]]:
    """Return everything before step ``place`` as past, and that step as running ``until``."""
    return [*[(since, since)] * place, (since, max(until, since))]


def _begun_heat(day: Day, record: BatchRecord, route: Route, now_min: int, now: Moment) -> list[tuple[int, int]]:
    plan, layer_no = day.plan, record.layer
    paints = (s.until for s in reversed(record.stays) if s.state == State.PAINT)
    left_paint = next((until for until in paints if until is not None), None)
    dye_on = minute(plan, (left_paint or now).utc)
    done: list[tuple[int, int]] = [(dye_on, dye_on)] * (route.dyed_at(layer_no) + 1)
    heat = record.open_heat
    reached = heat.heat_no if heat is not None else max((r.heat_no for r in heats_of(record, layer_no)), default=0)
    for heat_no in range(1, reached + 1):
        heats = heats_of(record, layer_no, heat_no)
        if heat is None and heat_no == reached and not heat_was_enough(plan, record, layer_no, heat_no, now):
            # A breakdown, or dishes without a turn yet: one more load, in a unit that may be cold, gives the rest.
            place = route.heat(StepKind.HEAT, layer_no, heat_no)
            unit = heats[-1].unit
            to_go_min = heat_begun_now_min(plan, record, heat_no, now, unit)
            left_min = ceil(cold_warm_up_min(plan, record, heat_no, unit) + to_go_min)
            route.steps[place] = replace(route.steps[place], minutes=left_min)
            break
        begin = minute(plan, heats[0].start.utc) if heats else dye_on
        load, place = (route.heat(kind, layer_no, heat_no) for kind in (StepKind.LOAD, StepKind.HEAT))
        done += [(begin, begin)] * (load + 1 - len(done))
        if heat is not None and heat_no == heat.heat_no:
            on, early = minute(plan, heat.start.utc), route.early
            if early is not None and not early.is_enough:
                place = route.places[StepId(StepKind.HEAT, layer_no, heat_no, part=1)]
                return [*done[:place], *[(begin, begin)] * (place - len(done)), (on, early.at)]
            off = heat.own_end
            if off is None or off.utc > now.utc or not _follows(plan, record, heat_no, now):
                end = early.at if early is not None else heat_end_min(plan, record, heat)
                return [*done, (on, max(now_min, end))]
            # It went off by itself and is taken out without an entry: that must not stay to be done.
            end = minute(plan, off.utc)
            unload = route.heat(StepKind.UNLOAD, layer_no, heat_no)
            return [*done, (on, end), (end, end + route.steps[unload].minutes)]
        ends = [r.end for r in heats if r.end is not None]
        end = minute(plan, ends[-1].utc) if ends else begin
        unload = route.heat(StepKind.UNLOAD, layer_no, heat_no)
        done += [(begin, end), *[(end, end)] * (unload - place)]
    return done


def _follows(plan: Plan, record: BatchRecord, heat_no: int, now: Moment) -> bool:
    """Return whether a heat is complete and another one of its layer follows."""
    is_last = heat_no == len(record.current_layer.heats)
    return not is_last and heat_was_enough(plan, record, record.layer, heat_no, now)
