"""A running day becomes a problem of whole minutes: what is left of every batch, from the state it is in.

Minutes are counted from midnight of the session's date, as the plan counts them. A batch set aside, done or
scrapped has nothing left; one under way keeps the unit it is in.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from math import ceil

from dyeday.ahead.advising.overrides import heeded
from dyeday.ahead.chore_steps import after_dry, chores_of, end_of_day_min
from dyeday.ahead.kernel.feasibility import fits
from dyeday.ahead.kernel.problem import Batch, Circuit, Hold, Lag, Link, Problem, Step, Unit, Window
from dyeday.ahead.light_to_dark import shades
from dyeday.ahead.tank_fills import FILL_MIN, fills_each_load
from dyeday.plan.batches import soaks_in_several
from dyeday.plan.model import Chore, Kit, Layer, Plan, pots_of
from dyeday.plan.step_ids import DYE_STEP, StepId
from dyeday.terms import (
    KIT_OF_HEAT,
    KIT_TRAITS,
    ChorePer,
    ChoreWhen,
    CoolWhere,
    How,
    KitKind,
    Serves,
    State,
    StepKind,
    WorkKind,
)
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import dyed, last_heat_end, runs_of, soak_needed_min, soaked_min
from dyeday.track.day.room_air import weather_ratio
from dyeday.track.durations.learned_times import Learned, expected_min
from dyeday.track.durations.observed_durations import OF_COOL, OF_HOW
from dyeday.track.timestamp import Now, wall_instant

FULL_DAY = 1440
NOTHING_LEARNED: Mapping[WorkKind, Learned] = {}
LEFT_ON_MIN = 45
"""Steam and simmer are not begun where nobody can take the yarn out within this after their time: no heat stays on
over night. A microwave ends by itself. Common practice, no source."""
JOIN_MIN = 10
"""A steamer is not opened for another batch later than this after the first went in. Common practice, no source."""
TOGETHER = ("tray", "steamer")
"""kinds in which batches lie together as far as they fit; in a steamer those of as long a steaming"""
RINSE, DRY = StepId(StepKind.RINSE), StepId(StepKind.DRY)
SINGLE = ("microwave",)
"""kinds that take one batch at a time whatever its size"""


def midnight(plan: Plan) -> datetime:
    """Return the instant the plan's minutes are counted from."""
    return wall(plan, 0)


def wall(plan: Plan, minutes: int) -> datetime:
    """Return the instant of a time of the plan, which is minutes on the clock from midnight of the session's date."""
    return wall_instant(plan.session.date, minutes, plan.session.zone)


def elapsed_min(plan: Plan, minutes: int) -> int:
    """Return the minutes that pass from the plan's midnight to a time of the plan.

    The same number but where clocks are changed in between: 10:00 of that day is 9 or 11 hours after its midnight.
    """
    return minute(plan, wall(plan, minutes))


def minute(plan: Plan, moment: datetime) -> int:
    """Return a moment in whole minutes from the plan's midnight, rounded down."""
    return int((moment - midnight(plan)).total_seconds() // 60)


@dataclass
class _Draft:
    """The steps of one batch while they are laid out."""

    learned: Mapping[WorkKind, Learned]
    steps: list[Step] = field(default_factory=list)
    holds: list[Hold] = field(default_factory=list)
    past: list[tuple[int, int]] = field(default_factory=list)
    ids: list[StepId] = field(default_factory=list)
    places: dict[StepId, int] = field(default_factory=dict)

    def add(self, step: StepId, minutes: float, **how: object) -> int:
        self.steps.append(Step(step, max(0, ceil(minutes - 1e-6)), **how))  # type: ignore[arg-type]
        self.ids.append(step)
        self.places[step] = len(self.steps) - 1
        return len(self.steps) - 1

    def chore(self, chore: Chore, minutes: float, layer: int = 0) -> int:
        return self.add(StepId(StepKind.CHORE, layer, chore=chore.name, when=chore.when), minutes)

    def heat(self, kind: StepKind, layer: int, heat: int) -> int:
        """Return the place of a load, a heat or an unloading."""
        return self.places[StepId(kind, layer, heat)]

    def dye_on(self, layer: int) -> int:
        """Return the place of the step that puts a layer's dye on."""
        return next(place for step, place in self.places.items() if step.kind.puts_dye_on and step.layer == layer)

    def minutes(self, kind: WorkKind, planned: float) -> float:
        """Return the minutes to expect of a kind of work that the plan gives ``planned``."""
        return expected_min(kind, planned, self.learned)

    def cool(self, layer: Layer) -> int:
        """Return the minutes a layer cools: never less than the plan's, for a rinse too hot does harm."""
        return ceil(max(layer.cool_min, self.minutes(OF_COOL[layer.cool_where], layer.cool_min)))

    def lag(self, place: int, lag: Lag) -> None:
        step = self.steps[place]
        self.steps[place] = replace(step, lags=(*step.lags, lag))


def problem_of(
    day: Day, now: Now, *, tonight: bool, learned: Mapping[WorkKind, Learned] = NOTHING_LEARNED, wishes: bool = True
) -> Problem:
    """Return what is left of the day. ``tonight`` opens the evening without end; else hands stop at the stop,
    with the chores that end the day done by then.

    ``learned`` are the studio's own times by kind of work; without ``wishes`` what the dyer waved off or put first
    is not heeded.
    """
    plan = day.plan
    current = minute(plan, now.utc)
    stop = plan.session.stop_min - end_of_day_min(plan)
    batches: list[Batch] = []
    links: list[Link] = []
    painted_lots = {b.mix for b in day.live if b.painted}
    for record in day.live:
        if not record.is_live or record.state in (State.SET_ASIDE, State.DRY):
            continue
        first_of_lot = record.mix not in painted_lots
        painted_lots.add(record.mix)
        batches.append(batch_of(day, record, current, now, setup=first_of_lot, learned=learned))
    batches += list(chores_of(plan, day, batches, links))
    batches += list(after_dry(day, now, lambda moment: minute(plan, moment)))
    if wishes:
        batches, wanted = heeded(day, now, batches, links, lambda moment: minute(plan, moment))
        links += wanted
    return Problem(
        now=current,
        windows=windows_of(plan, stop, tonight=tonight, now=current),
        stop=elapsed_min(plan, stop),
        units=tuple(_units(day, batches)),
        batches=tuple(batches),
        circuits=tuple(Circuit(c.name, _limit(c.amps, c.lead_amps, c.continuous_share)) for c in plan.circuits),
        links=tuple(links),
        closed=tuple((elapsed_min(plan, a), elapsed_min(plan, b)) for a, b in sorted(plan.session.out)),
    )


def _limit(amps: float, lead: float | None, share: float | None) -> int:
    limit = min(amps, lead if lead is not None else amps)
    return int(1000 * min(limit, amps * share if share is not None else limit))


def windows_of(plan: Plan, stop: int, *, tonight: bool, now: int) -> tuple[Window, ...]:
    """Return when hands are there, from ``now`` on: today less its breaks, then tomorrow and the days after.

    ``stop`` is a time of the plan; the windows are in minutes that pass.
    """
    session = plan.session
    end = None if tonight else max(stop, session.start_min)
    spans = spans_of(plan, end)
    if end is not None:
        tomorrow = session.tomorrow or tuple((a, b) for a, b in spans_of(plan, session.stop_min) if b is not None)
        for number in range(1, 4):
            spans += [(FULL_DAY * number + a, FULL_DAY * number + b) for a, b in tomorrow]
    return tuple((elapsed_min(plan, a), None if b is None else elapsed_min(plan, b)) for a, b in spans)


def merged(spans: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return stretches in order, those that meet put together."""
    out: list[tuple[int, int]] = []
    for begin, end in sorted(spans):
        if out and begin <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], end))
        else:
            out.append((begin, end))
    return out


def spans_of(plan: Plan, end: int | None) -> list[Window]:
    """Return the session's hours less breaks and absences, until ``end``; open at the end where that is None."""
    spans: list[Window] = []
    start = plan.session.start_min
    for pause, back in merged((*plan.session.breaks, *plan.session.out)):
        if pause > start and (end is None or pause < end):
            spans.append((start, pause))
            start = back
    if end is None or end > start:
        spans.append((start, end))
    return spans


def _units(day: Day, batches: Sequence[Batch]) -> Iterable[Unit]:
    circuits = {circuit.name: circuit for circuit in day.plan.circuits}
    for kit in day.plan.kit:
        circuit = circuits.get(kit.circuit or "")
        amps = int(1000 * (kit.power_w or 0.0) / circuit.volts) if circuit is not None else 0
        for name in kit.unit_names:
            unit = Unit(
                name=name,
                kind=kit.kind.value,
                holds=kit.holds_skeins,
                holds_g=int(kit.holds_g) if kit.holds_g is not None else None,
                shared=KIT_TRAITS[kit.kind].hangs,
                join_within=JOIN_MIN if KIT_TRAITS[kit.kind].joined else None,
                milliamps=amps,
                circuit=circuit.name if circuit is not None else None,
                free_at=None if day.units[name].is_down else 0,
            )
            together = KIT_TRAITS[kit.kind].together and _two_fit(unit, batches)
            yield replace(unit, shared=True) if together else unit


def _two_fit(unit: Unit, batches: Sequence[Batch]) -> bool:
    """Tell whether any two batches that are still to go into a kind of unit lie in this one together."""
    ahead = [b for b in batches if any(h.kind == unit.kind and h.last >= len(b.past) for h in b.holds)]
    skeins, grams = (sum(sorted(sizes)[:2]) for sizes in ([b.skeins for b in ahead], [b.grams for b in ahead]))
    return len(ahead) > 1 and fits(unit, Hold(unit.kind, 0, 0), Batch(None, (), skeins=skeins, grams=grams))


def _kit(plan: Plan, kind: KitKind) -> Kit | None:
    return next((kit for kit in plan.kit if kit.kind == kind), None)


def batch_of(
    day: Day,
    record: BatchRecord,
    current: int,
    now: Now,
    *,
    setup: bool,
    learned: Mapping[WorkKind, Learned] = NOTHING_LEARNED,
) -> Batch:
    """Return what is left of one batch."""
    draft = _Draft(learned)
    plan = day.plan
    start_layer = record.layer
    for number in range(start_layer, len(record.colourway.layers) + 1):
        _lay_out(plan, record, number, draft, setup=setup and number == start_layer)
    wof = record.wof_g / 100
    last = record.colourway.layers[-1]
    first_cool = None
    for chore in _chores_of_batch(plan, ChoreWhen.AFTER_COOL):
        place = draft.chore(chore, _chore_minutes(chore, record.skeins))
        first_cool = place if first_cool is None else first_cool
    rinse = draft.add(RINSE, draft.minutes(WorkKind.RINSE, record.colourway.rinse_min_per_100g * wof))
    cooled = rinse if first_cool is None else first_cool
    _cool(draft, cooled, len(record.colourway.layers), last)
    if last.cool_where == CoolWhere.IN_PLACE and draft.holds:
        draft.holds[-1] = replace(draft.holds[-1], last=cooled, to_end=False)
    if plan.units_of(KitKind.SINK):
        draft.holds.append(Hold(KitKind.SINK.value, rinse, rinse))
    for chore in _chores_of_batch(plan, ChoreWhen.AFTER_RINSE):
        draft.chore(chore, draft.minutes(WorkKind.RINSE, _chore_minutes(chore, record.skeins)))
    dry = draft.add(
        DRY, draft.minutes(WorkKind.DRY, record.colourway.dry_h * 60 * weather_ratio(plan)), attended=False
    )
    if plan.units_of(KitKind.PEGS):
        draft.holds.append(Hold(KitKind.PEGS.value, dry, dry))
    _put_past(day, record, draft, current, now)
    keys = {key for item, _ in record.shares for key in record.order_keys(item)}
    wanted = [order for order in plan.orders if order.key in keys]
    due = min((order.due for order in wanted if order.due), default=None)
    days = (due - plan.session.date).days if due is not None else 60
    return Batch(
        id=record.no,
        steps=tuple(draft.steps),
        holds=tuple(draft.holds),
        skeins=record.skeins,
        grams=ceil(record.wof_g),
        past=tuple(draft.past),
        goal=_last_heat_off(draft) if day.question is Serves.HEAT_BY_STOP else rinse,
        shade=shades(plan).get(record.colourway.name, 0),
        shade_step=draft.dye_on(start_layer),
        weight=_weight(days, min((order.priority for order in wanted), default=USUAL_PRIORITY)),
    )


USUAL_PRIORITY = 5


def _weight(days: int, priority: int) -> int:
    """Return how much a batch is wanted early, 1 to 108, by the days until it is due and by its first order."""
    return max(1, (60 - min(59, max(0, days))) * (10 - priority) // USUAL_PRIORITY)


def _lay_out(plan: Plan, record: BatchRecord, number: int, draft: _Draft, *, setup: bool) -> None:
    """Add the steps of one layer: soak where it wants one, dye, the heats with their rests."""
    layer = record.layer_of(number)
    wof = record.wof_g / 100
    begin = len(draft.steps)
    soaks = number == 1 or layer.new_soak
    if soaks:
        for chore in _chores_of_batch(plan, ChoreWhen.BEFORE_SOAK) if number == 1 else ():
            draft.chore(chore, _chore_minutes(chore, record.skeins))
        tray = _kit(plan, KitKind.TRAY)
        load = draft.add(StepId(StepKind.SOAK_LOAD, number), tray.load_min if tray is not None else 2)
        draft.add(StepId(StepKind.SOAK, number), soak_needed_min(record, plan), attended=False, exact=False)
    for chore in _chores_of_batch(plan, ChoreWhen.BEFORE_PAINT):
        draft.chore(chore, _chore_minutes(chore, record.skeins), number)
    planned = layer.minutes_per_100g * wof + (layer.setup_min if setup else 0)
    paint = draft.add(StepId(DYE_STEP[layer.how], number), draft.minutes(OF_HOW[layer.how], planned))
    if soaks and plan.units_of(KitKind.TRAY):
        holds = tray.skeins_of(record.base.skein_g) if tray is not None else None
        # One that lies in several trays takes one of them alone here, so that it is not left without any.
        several = soaks_in_several(record.colourway) and holds is not None and record.skeins > holds
        draft.holds.append(Hold(KitKind.TRAY.value, load, paint, to_end=False, whole=several))
    if not soaks and begin:
        before = record.layer_of(number - 1)
        _cool(draft, paint, number - 1, before)
    for chore in _chores_of_batch(plan, ChoreWhen.AFTER_PAINT):
        minutes = draft.minutes(OF_HOW[layer.how], _chore_minutes(chore, record.skeins))
        draft.chore(chore, minutes, number)
    _heats(plan, record, number, layer, paint, draft)


def _cool(draft: _Draft, step: int, number: int, layer: Layer) -> None:
    """Let a step wait until a layer has cooled: from the end of its last heat, or from when hands take that off."""
    last, least = len(layer.heats), draft.cool(layer)
    draft.lag(step, Lag(draft.heat(StepKind.HEAT, number, last), least=least))
    off = draft.heat(StepKind.UNLOAD, number, last)
    if not KIT_TRAITS[KIT_OF_HEAT[layer.heats[-1].how]].switches_off:
        draft.lag(step, Lag(off, least=max(0, least - draft.steps[off].minutes)))


def _heats(plan: Plan, record: BatchRecord, number: int, layer: Layer, paint: int, draft: _Draft) -> None:
    first_wait = ceil(plan.rules.cover_min(layer.cover))
    before = paint
    for pass_no, heat in enumerate(layer.heats, 1):
        kind = KIT_OF_HEAT[heat.how]
        kit = _kit(plan, kind)
        pots = pots_of(kit, record.skeins, record.base.skein_g) if KIT_TRAITS[kind].in_turn else 1
        in_pot = layer.how == How.IMMERSED and kind == KitKind.POT
        load_min = 1 if in_pot else draft.minutes(WorkKind.LOAD, kit.load_min if kit is not None else 2)
        warm = kit.warm_up_min if kit is not None else 0.0
        if fills_each_load(plan, kit, heat.minutes * pots + warm):
            load_min += FILL_MIN
        load = draft.add(StepId(StepKind.LOAD, number, pass_no), load_min)
        rest = ceil(layer.rest_before(pass_no)) if pass_no > 1 else 0
        draft.lag(load, Lag(before, least=rest, most=first_wait if pass_no == 1 else None))
        heating = StepId(StepKind.HEAT, number, pass_no)
        by_hand = not KIT_TRAITS[kind].switches_off
        run = draft.add(heating, heat.minutes * pots + warm, attended=False, draws=True, by_hand=by_hand)
        hold_from = paint if in_pot else load
        stays = in_pot and layer.cool_where == CoolWhere.IN_PLACE
        off = 1 if stays else draft.minutes(WorkKind.UNLOAD, kit.unload_min if kit is not None else 2)
        end = draft.add(StepId(StepKind.UNLOAD, number, pass_no), off)
        on = record.open_run
        if by_hand:
            draft.lag(end, Lag(run, most=LEFT_ON_MIN))
        elif on is not None and (on.layer, on.pass_no) == (number, pass_no):
            draft.lag(end, Lag(run, most=ceil(plan.rules.overdue_after)))
        # Bound to it, every heat of the plan would stop the search from much that is good: here it is a wish.
        draft.lag(end, Lag(run, wish=ceil(plan.rules.overdue_after)))
        if plan.units_of(kind):
            alike = ceil(heat.minutes) if KIT_TRAITS[kind].joined else 0
            draft.holds.append(
                Hold(kind.value, hold_from, end, to_end=stays, whole=KIT_TRAITS[kind].in_turn, alike=alike)
            )
        before = run


def _chores_of_batch(plan: Plan, when: ChoreWhen) -> list[Chore]:
    return [chore for chore in plan.chores if chore.when is when and chore.per in (ChorePer.BATCH, ChorePer.SKEIN)]


def _chore_minutes(chore: Chore, skeins: int) -> float:
    return chore.minutes * (skeins if chore.per == ChorePer.SKEIN else 1)


def _last_heat_off(draft: _Draft) -> int:
    """Return the place of the last step that takes a heat off: by then a batch is through its heat."""
    return max(place for step, place in draft.places.items() if step.kind is StepKind.UNLOAD)


def _put_past(day: Day, record: BatchRecord, draft: _Draft, current: int, now: Now) -> None:
    """Say which of the first steps have begun, and when, by the state the batch is in."""
    begun = _begun(day, record, draft, current, now)
    while len(begun) < len(draft.ids) and day.has_done(record.no, draft.ids[len(begun)]):
        since = begun[-1][1] if begun else current
        begun.append((since, min(since, current)))
    draft.past.extend(begun)
    for n, hold in enumerate(draft.holds):
        if hold.first < len(begun):
            units = day.plan.units_of(KitKind(hold.kind))
            unit = record.unit if record.unit in units else (units[0] if units else None)
            draft.holds[n] = replace(hold, unit=unit)


def _begun(day: Day, record: BatchRecord, draft: _Draft, current: int, now: Now) -> list[tuple[int, int]]:
    plan = day.plan
    since = minute(plan, record.state_since.utc) if record.state_since is not None else current
    number = record.layer

    if record.state == State.WAITING:
        return []
    soak = StepId(StepKind.SOAK, number)
    if record.state == State.SOAK and soak in draft.places:
        left = ceil(soak_needed_min(record, plan) - soaked_min(record, now, number))
        place = draft.places[soak]
        return [*[(since, since)] * place, (since, max(current, current + left))]
    if record.state in (State.SOAK, State.PAINT):
        paint = draft.dye_on(number)
        if record.state == State.SOAK:
            return [(since, since)] * paint
        return up_to_place(since, paint, max(current + 1, since + draft.steps[paint].minutes))
    if record.state == State.FIX:
        return _begun_heat(day, record, draft, current, now)
    heat_end = last_heat_end(record)
    ended = minute(plan, heat_end.utc) if heat_end is not None else since
    last = len(record.layer_of(number).heats)
    layer_done = draft.heat(StepKind.HEAT, number, last)
    if record.state == State.COOL:
        unload = draft.heat(StepKind.UNLOAD, number, last)
        return [*[(ended, ended)] * (layer_done + 1), *[(ended, ended)] * (unload - layer_done)]
    if record.state == State.RINSE:
        rinse = draft.places[RINSE]
        return up_to_place(since, rinse, max(current + 1, since + draft.steps[rinse].minutes))
    return up_to_place(since, draft.places[RINSE], since)


def up_to_place(since: int, place: int, until: int) -> list[tuple[int, int]]:
    """Return everything before step ``place`` as past, and that step as running ``until``."""
    return [*[(since, since)] * place, (since, max(until, since))]


def _begun_heat(day: Day, record: BatchRecord, draft: _Draft, current: int, now: Now) -> list[tuple[int, int]]:
    plan, number = day.plan, record.layer
    painted = dyed(record)
    left_paint = next(
        (s.until for s in reversed(record.stays) if s.state == State.PAINT and s.until is not None), None
    )
    at = left_paint or (painted.since if painted is not None else now)
    dye_on = minute(plan, at.utc)
    done: list[tuple[int, int]] = [(dye_on, dye_on)] * (draft.dye_on(number) + 1)
    run = record.open_run
    reached = run.pass_no if run is not None else max((r.pass_no for r in runs_of(record, number)), default=0)
    for pass_no in range(1, reached + 1):
        mine = runs_of(record, number, pass_no)
        begin = minute(plan, mine[0].start.utc) if mine else dye_on
        load, place = (draft.heat(kind, number, pass_no) for kind in (StepKind.LOAD, StepKind.HEAT))
        done += [(begin, begin)] * (load + 1 - len(done))
        if run is not None and pass_no == run.pass_no:
            return [*done, (begin, max(current, begin + draft.steps[place].minutes))]
        ends = [r.end for r in mine if r.end is not None]
        end = minute(plan, ends[-1].utc) if ends else begin
        unload = draft.heat(StepKind.UNLOAD, number, pass_no)
        done += [(begin, end), *[(end, end)] * (unload - place)]
    return done
