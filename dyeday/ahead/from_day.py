"""A running day as a problem in whole minutes: the remaining steps of every batch, from its present state.

Minutes elapse from midnight of the session's date, whatever clocks are changed to. Batches set aside, done or
scrapped are not in it; one under way keeps its unit unless that is down.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from math import ceil

from dyeday.ahead.advising.next_step import roomy_unit
from dyeday.ahead.advising.wishes import halted_first, heeded, over_first
from dyeday.ahead.kernel.problem import Batch, Circuit, Hold, Lag, Link, Problem, Step
from dyeday.ahead.problem_parts.batch_route import DRY, NOTHING_LEARNED, RINSE, Route
from dyeday.ahead.problem_parts.chore_steps import after_dry, chore_minutes, chores_of, chores_of_batch, dry_at_min
from dyeday.ahead.problem_parts.fill_steps import fills_each_load
from dyeday.ahead.problem_parts.heat_ends import heat_ends
from dyeday.ahead.problem_parts.hours import elapsed_min, minute
from dyeday.ahead.problem_parts.kit_units import limit_ma, units_of
from dyeday.ahead.problem_parts.light_to_dark import shades
from dyeday.ahead.problem_parts.off_early import OffEarly, off_early
from dyeday.ahead.problem_parts.session_days import day_number, stop_min_at, windows_of, work_stop_min
from dyeday.ahead.problem_parts.siblings import siblings
from dyeday.ahead.problem_parts.steps_begun import put_past
from dyeday.plan.batches import pegs_taken, soaks_in_several
from dyeday.plan.model import Kit, Plan, dishes_of
from dyeday.plan.step_ids import DYE_STEP, StepId
from dyeday.terms import (
    KIT_TRAITS,
    AcidPlace,
    ChoreWhen,
    CoolWhere,
    DayAim,
    DyeMethod,
    KitKind,
    State,
    StepKind,
    WorkKind,
)
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import FILL_MIN, REHEAT_MIN, kit_to_heat_in, soak_needed_min
from dyeday.track.day.room_air import dry_min
from dyeday.track.durations import OF_HOW, Learned, expected_min
from dyeday.track.timers.timers import OFF_WITHIN_MIN, fill_lasts_min, to_reserve_min
from dyeday.track.timestamp import Moment

HEAT_WEIGHT = 60
"""weight of a minute of heat left on, in minutes of painted yarn that waits too long: common practice, no source"""
REST_OVER_MIN = 10
"""a rest between two heats should last at most this much longer than the plan's: yarn cools. Common practice"""
BRIEF_MIN = 5
"""work this short is done between two skeins of painting: a knob, a fill, a load"""
USUAL_PRIORITY = 5


def problem_of(
    day: Day,
    now: Moment,
    *,
    for_end: bool,
    learned: Mapping[WorkKind, Learned] = NOTHING_LEARNED,
    wishes: bool = True,
) -> Problem:
    """Return what is left of the day: ``for_end`` in an evening that stays open, else in later days' hours too.

    Hands are one pair: who of several takes a step is not known. ``wishes`` says whether the dyer's wishes count.
    """
    plan = day.plan
    now_min = minute(plan, now.utc)
    links: list[Link] = []
    set_up = layers_set_up(day)
    at_work = (one for one in day.unfinished if one.state is not State.SET_ASIDE and not one.only_dries)
    batches = [batch_of(day, one, now, set_up, learned=learned, for_end=for_end) for one in at_work]
    batches += list(chores_of(day, batches, links, now_min))
    batches += [*_on_the_pegs(day, now_min, learned), *after_dry(day, now, learned), *_moved(day, now_min)]
    wanted: list[Link] = []
    if wishes:
        batches, wanted = heeded(day, now, batches, links)
    links += wanted or halted_first(day, batches)
    links += over_first(batches, links, now_min)
    units = tuple(units_of(day, batches))
    windows, stop = windows_of(plan, now.utc, for_end=for_end), elapsed_min(plan, work_stop_min(plan, now.utc))
    made = Problem(
        now=now_min,
        windows=windows,
        stop=stop,
        units=units,
        batches=tuple(batches),
        circuits=tuple(Circuit(circuit.name, limit_ma(circuit)) for circuit in plan.circuits),
        links=tuple(links),
        near=tuple(siblings(day, batches, units)),
        closed=tuple((elapsed_min(plan, a), elapsed_min(plan, b)) for a, b in sorted(plan.session.out)),
    )
    return _with_heat_ends(plan, now, made)


def both_problems(
    day: Day, now: Moment, learned: Mapping[WorkKind, Learned], *, wishes: bool = True
) -> tuple[Problem, Problem]:
    """Return what is left of the day with an evening that stays open, and with later days' hours instead."""
    evening = problem_of(day, now, for_end=True, learned=learned, wishes=wishes)
    ways = [[_early(day, batch, now, learned, for_end=way) for batch in day.unsplit] for way in (True, False)]
    if ways[0] != ways[1]:
        return evening, problem_of(day, now, for_end=False, learned=learned, wishes=wishes)
    windows = windows_of(day.plan, now.utc, for_end=False)
    return evening, _with_heat_ends(day.plan, now, replace(evening, windows=windows))


def _with_heat_ends(plan: Plan, now: Moment, problem: Problem) -> Problem:
    leaves = elapsed_min(plan, stop_min_at(plan, now.utc))
    return replace(problem, heat_ends=tuple(heat_ends(problem, leaves)))


def _early(
    day: Day, record: BatchRecord, now: Moment, learned: Mapping[WorkKind, Learned], *, for_end: bool
) -> OffEarly | None:
    kit = day.plan.kit_of(record.open_heat.unit) if record.open_heat is not None else None
    if kit is None:
        return None
    hands_min = ceil(expected_min(WorkKind.UNLOAD, kit.unload_min, learned))
    return off_early(day, record, now, hands_min, for_end=for_end)


def _moved(day: Day, now_min: int) -> Iterator[Batch]:
    """Yield a batch "moved": hands' time now to move yarn out of units that broke down, where others have room.

    Yarn in fix is left out: its new load is a step of its own batch.
    """
    down = (b for b in day.unfinished if b.unit is not None and b.unit in day.units and day.units[b.unit].is_down)
    kits = ((batch, day.plan.kit_of(batch.unit)) for batch in down if batch.state is not State.FIX)
    minutes = sum(ceil(kit.load_min) for batch, kit in kits if kit is not None and roomy_unit(day, [batch], kit.kind))
    if minutes:
        past = ((now_min, now_min + minutes),)
        yield Batch("moved", (Step(StepId(StepKind.LOAD), minutes),), past=past, counts=False)


def _on_the_pegs(day: Day, now_min: int, learned: Mapping[WorkKind, Learned]) -> Iterator[Batch]:
    """Yield yarn that hangs to dry and only takes up room."""
    pegs = day.plan.units_of(KitKind.PEGS)
    for record in day.unsplit:
        if record.only_dries and record.state_since is not None and pegs:
            since = minute(day.plan, record.state_since.utc)
            until = dry_at_min(day.plan, record, record.state_since, learned)
            unit = record.unit if record.unit in pegs else next(iter(pegs))
            if until > now_min:
                yield Batch(
                    ("drying", record.no),
                    (Step(DRY, until - since, attended=False),),
                    (Hold(KitKind.PEGS.value, 0, 0, unit=unit, skeins=pegs_taken(record.base, record.skeins)),),
                    skeins=record.skeins,
                    weight_mg=int(1000 * record.wof_g),
                    past=((since, until),),
                    counts=False,
                )


def layers_set_up(day: Day) -> dict[tuple[str, int], str]:
    """Return the number of the first batch to get the dye of each (mix, layer): hands set up for that one."""
    put_on = (
        (put.since.utc, put.mix, batch.layer_no(put.layer), batch.no)
        for batch in day.unsplit
        for put in batch.painted
    )
    return {(mix, layer): no for _, mix, layer, no in sorted(put_on, reverse=True)}


def batch_of(
    day: Day,
    record: BatchRecord,
    now: Moment,
    set_up: dict[tuple[str, int], str],
    *,
    learned: Mapping[WorkKind, Learned] = NOTHING_LEARNED,
    for_end: bool = True,
) -> Batch:
    """Return a batch for the scheduler, from its present layer on; ``set_up`` (`layers_set_up`) grows by its own."""
    route = Route(learned, early=_early(day, record, now, learned, for_end=for_end))
    plan, layers = day.plan, len(record.colourway.layers)
    for layer_no in range(record.layer, layers + 1):
        setup = set_up.setdefault((record.planned_mix, layer_no), record.no) == record.no
        _lay_out(plan, record, layer_no, route, setup=setup)
    after_cool = len(route.steps)
    for chore in chores_of_batch(plan, ChoreWhen.AFTER_COOL):
        route.chore(chore, chore_minutes(chore, record.skeins))
    rinse_min = record.colourway.rinse_min_per_100g * record.wof_g / 100
    rinse = route.add(RINSE, route.minutes(WorkKind.RINSE, rinse_min))
    _cool(plan, record, route, after_cool, layers)
    if plan.units_of(KitKind.SINK):
        route.holds.append(Hold(KitKind.SINK.value, rinse, rinse))
    for chore in chores_of_batch(plan, ChoreWhen.AFTER_RINSE):
        route.chore(chore, route.minutes(WorkKind.RINSE, chore_minutes(chore, record.skeins)))
    dry = route.add(DRY, route.minutes(WorkKind.DRY, dry_min(plan, record.colourway)), attended=False)
    if plan.units_of(KitKind.PEGS):
        route.holds.append(Hold(KitKind.PEGS.value, dry, dry, skeins=pegs_taken(record.base, record.skeins)))
    put_past(day, record, route, now)
    for n, hold in enumerate(route.holds):
        if hold.unit is not None and day.units[hold.unit].is_down:
            # Yarn in a unit that is down is moved; where none has room, it stays.
            route.holds[n] = replace(hold, unit=roomy_unit(day, [record], KitKind(hold.kind)) or hold.unit)
    wanted = [order for order in plan.orders if order.key in record.order_keys]
    heats_off = (place for step, place in route.places.items() if step.kind is StepKind.UNLOAD)
    due_days = min([59, *((order.due - plan.session.date).days for order in wanted if order.due)])
    priority = min((order.priority for order in wanted), default=USUAL_PRIORITY)
    return Batch(
        id=record.no,
        steps=tuple(route.steps),
        holds=tuple(route.holds),
        skeins=record.skeins,
        weight_mg=int(1000 * record.wof_g),
        past=tuple(route.past),
        goal=max(heats_off) if counts_heat(day, now) else rinse,
        shade=shades(plan).get(record.colourway.name, 0),
        shade_step=route.dye_on(record.layer),
        weight=(60 - max(0, due_days)) * (10 - priority),  # 1 to 540, 5 without both
    )


def _lay_out(plan: Plan, record: BatchRecord, layer_no: int, route: Route, *, setup: bool) -> None:
    """Add the steps and chores of one layer: soak if it needs one, dye, heats."""
    layer = record.layer_of(layer_no)
    begin = len(route.steps)
    is_first = layer_no == 1 and not begin
    soaks = is_first or layer.own_acid_soak or (record.state is State.DRY and layer_no == record.layer + 1)
    if soaks:
        for chore in chores_of_batch(plan, ChoreWhen.BEFORE_SOAK) if is_first else ():
            route.chore(chore, chore_minutes(chore, record.skeins))
        tray = plan.first_of(KitKind.TRAY)
        load = route.add(StepId(StepKind.SOAK_LOAD, layer_no), tray.load_min if tray is not None else 2)
        route.add(StepId(StepKind.SOAK, layer_no), soak_needed_min(record, plan), attended=False, exact=False)
    for chore in chores_of_batch(plan, ChoreWhen.BEFORE_PAINT):
        route.chore(chore, chore_minutes(chore, record.skeins), layer_no)
    dyeing = route.minutes(OF_HOW[layer.how], layer.dyeing_min(record.wof_g, setup=setup))
    skeins = 1 if layer.how is DyeMethod.IMMERSED else record.skeins
    paint = route.dye(StepId(DYE_STEP[layer.how], layer_no), dyeing, skeins)
    if begin:
        _cool(plan, record, route, load if soaks else paint, layer_no - 1)
    if soaks and plan.units_of(KitKind.TRAY):
        holds = tray.skeins_of(record.base.skein_g) if tray is not None else None
        # Yarn that lies in several trays takes one of them alone here, so that it is not left without any.
        several = soaks_in_several(record.colourway) and holds is not None and record.skeins > holds
        acid = int(layer.acid_in is AcidPlace.SOAK)  # yarn that gets its acid later soaks apart
        route.holds.append(Hold(KitKind.TRAY.value, load, paint, to_end=False, whole=several, alike=acid))
    for chore in chores_of_batch(plan, ChoreWhen.AFTER_PAINT):
        minutes = route.minutes(OF_HOW[layer.how], chore_minutes(chore, record.skeins))
        route.chore(chore, minutes, layer_no)
    _heats(plan, record, layer_no, paint, route)


def _cool(plan: Plan, record: BatchRecord, route: Route, step: int, layer_no: int) -> None:
    """Let a step wait until a layer has cooled; yarn that cools in place keeps its unit until then."""
    layer = record.layer_of(layer_no)
    last, least = len(layer.heats), route.cool(layer)
    route.lag(step, Lag(route.heat(StepKind.HEAT, layer_no, last), least=least))
    off = route.heat(StepKind.UNLOAD, layer_no, last)
    if not plan.switches_off(None, layer.heats[-1].how):
        route.lag(step, Lag(off, least=max(0, least - route.steps[off].minutes)))
    if layer.cool_where == CoolWhere.IN_PLACE and route.holds:
        route.holds[-1] = replace(route.holds[-1], last=step, to_end=False)


def _heats(plan: Plan, record: BatchRecord, layer_no: int, paint: int, route: Route) -> None:
    layer = record.layer_of(layer_no)
    first_wait = ceil(plan.rules.wait_min(layer.cover, specks=layer.how is DyeMethod.SPECKLED))
    before = route.dyed_at(layer_no)
    for heat_no, planned in enumerate(layer.heats, 1):
        kind = kit_to_heat_in(plan, record, layer_no, heat_no)
        kit = plan.first_of(kind)
        dishes = dishes_of(kit, record.skeins, record.base.skein_g) if KIT_TRAITS[kind].in_turn else 1
        in_pot = layer.how == DyeMethod.IMMERSED and kind == KitKind.POT
        warm = kit.warm_up_min if kit is not None else 0.0
        heating = StepId(StepKind.HEAT, layer_no, heat_no)
        by_hand = not plan.switches_off(None, planned.how)
        on = record.open_heat
        is_on = on is not None and (on.layer, on.heat_no) == (layer_no, heat_no)
        early = route.early if is_on else None
        heat_min = planned.minutes * dishes
        rest = ceil(layer.rest_before(heat_no)) if heat_no > 1 else 0
        most, soft_most = (first_wait, None) if heat_no == 1 else (None, rest + REST_OVER_MIN)
        load_min = 1 if in_pot else route.minutes(WorkKind.LOAD, kit.load_min if kit is not None else 2)
        goes_on = early is not None and not early.is_enough
        if early is not None and goes_on:
            # It stays where it is, and the same heat goes on there later.
            before = route.add(heating._replace(part=1), 0, attended=False, draws=True, by_hand=by_hand)
            off_now = route.add(StepId(StepKind.UNLOAD, layer_no, heat_no, part=1), early.hands_min, brief=True)
            route.lag(off_now, Lag(before, most=0, weight=HEAT_WEIGHT))
            heat_min, rest, most, load_min = early.needed_min - early.had_min, 0, None, 1
            warm = min(warm, REHEAT_MIN) if early.for_tank else warm
        if early.fills if early is not None else fills_each_load(plan, kit, heat_min + warm):
            load_min += FILL_MIN
        load = route.add(StepId(StepKind.LOAD, layer_no, heat_no), load_min, brief=load_min <= BRIEF_MIN)
        route.lag(load, Lag(load - 1 if goes_on else before, least=rest, most=most, soft_most=soft_most))
        heat = route.add(heating, heat_min + warm, attended=False, draws=True, by_hand=by_hand)
        hold_from = paint if in_pot else before if goes_on else load
        stays = in_pot and layer.cool_where == CoolWhere.IN_PLACE
        off = 1 if stays else route.minutes(WorkKind.UNLOAD, kit.unload_min if kit is not None else 2)
        off = early.hands_min if early is not None and early.is_enough else off
        end = route.add(StepId(StepKind.UNLOAD, layer_no, heat_no), off, brief=off <= BRIEF_MIN)
        if by_hand:
            route.lag(end, Lag(heat, most=_off_within_min(plan, kit, heat_min + warm, off), weight=HEAT_WEIGHT))
        elif is_on:
            route.lag(end, Lag(heat, most=ceil(plan.rules.overdue_after), weight=HEAT_WEIGHT))
        # A soft limit: a hard one on every heat of the plan would keep the search from good days.
        route.lag(end, Lag(heat, soft_most=ceil(plan.rules.overdue_after)))
        # A plan of recipes without any kit is laid out as if there were enough of it.
        if plan.kit:
            alike = ceil(planned.minutes) if KIT_TRAITS[kind].joined else 0
            route.holds.append(
                Hold(kind.value, hold_from, end, to_end=stays, whole=KIT_TRAITS[kind].in_turn, alike=alike)
            )
        before = heat


def _off_within_min(plan: Plan, kit: Kit | None, on_min: float, off_min: float) -> int:
    """Return within how many minutes of its end hands switch off a heat, so that its tank is not low meanwhile."""
    most = min(OFF_WITHIN_MIN, ceil(plan.rules.overdue_after))
    lasts = fill_lasts_min(kit)
    left = most if lasts is None else int(to_reserve_min(plan, lasts) - on_min)
    return max(0, min(most, left - ceil(off_min))) if left >= 0 else most


def counts_heat(day: Day, now: Moment) -> bool:
    """Return whether a batch counts once it is through its heat: on the first day of a session with that aim."""
    return day.aim is DayAim.HEAT_BY_STOP and day_number(day.plan, now.utc) == 0
