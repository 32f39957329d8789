"""What would change the day: one more unit of a kind, an hour later, a batch left out, more of what is busiest.

`gains` searches what to suggest; `gain_of` compares two forecasts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial
from itertools import pairwise
from typing import cast

from dyeday.ahead.brought import more_rinsed
from dyeday.ahead.followed_rows import counted_by_stop, last_attended
from dyeday.ahead.foreseen_steps import Forecast, Planned
from dyeday.ahead.from_day import both_problems
from dyeday.ahead.kernel.problem import Problem, Row, Solution
from dyeday.ahead.kernel.search import COUNT, END, solve
from dyeday.ahead.problem_parts.batch_route import NOTHING_LEARNED
from dyeday.ahead.problem_parts.hours import FULL_DAY, clock_text
from dyeday.ahead.problem_parts.session_days import day_number, next_hours, stop_min_at
from dyeday.plan.batches import pegs_taken
from dyeday.plan.equipment import Circuit
from dyeday.plan.model import Plan
from dyeday.plan.step_ids import StepId, owner_text
from dyeday.quick_dataclass import dataclass
from dyeday.terms import KIT_OF_HEAT, KIT_TRAITS, ChoreWhen, KitKind, State, StepKind, WorkKind
from dyeday.text import counted
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.unit_record import UnitRecord
from dyeday.track.durations import Learned
from dyeday.track.timestamp import Moment, length_text, merged

AN_HOUR_MIN = 60
EVALUATIONS = 400
"""for each question of each change"""
HANDS = "hands"
Span = tuple[datetime, datetime]


@dataclass(frozen=True, slots=True)
class Change:
    """A change in words ("steamer +1", "stop 21:00", "without 07"), and the changed day."""

    label: str
    day: Day


@dataclass(frozen=True, slots=True)
class Gain:
    """The gain of a change; a loss is negative."""

    label: str
    minutes: int
    """by which the day ends earlier"""
    batches: int
    """how many of those in the changed day no longer miss the stop"""
    rinsed: int = 0
    """batches more that are rinsed by the stop, where ``batches`` counts those through their heat"""
    of_others: bool = False
    """whether the changed day lacks a batch, so that these are other batches"""


def changes(day: Day, forecast: Forecast) -> Iterator[Change]:
    """Yield a helper or more amps if hands or a circuit are busiest, more of each kit, an hour more, a batch less."""
    neck = bottleneck(forecast, day)
    if neck is not None and not neck.kit:
        yield Change("a helper dyeing", _helped(day))
    elif neck is not None and all(kit.name != neck.kit for kit in day.plan.kit):
        yield Change(f"{neck.kit}, more amps", on_plan(day, _roomier(day.plan, neck.kit)))
    for kit in day.plan.kit:
        if KIT_TRAITS[kit.kind].scheduled and kit.units:
            yield Change(f"{kit.name} +1", with_units(day, kit.name, 1))
    later = stop_min_at(day.plan, forecast.at.utc) + AN_HOUR_MIN
    yield Change(f"stop {clock_text(later)}", with_stop(day, later, forecast.at))
    for batch in day.unsplit:
        if batch.is_unfinished and batch.state is not State.SET_ASIDE and not batch.only_dries:
            yield Change(f"without {batch.no}", without_batches(day, (batch.no,)))


def with_units(day: Day, name: str, more: int) -> Day:
    """Return the day with ``more`` (or fewer) units of the kit called ``name``, never less than none."""
    kit = tuple(replace(k, units=max(0, k.units + more)) if k.name == name else k for k in day.plan.kit)
    return on_plan(day, replace(day.plan, kit=kit))


def with_stop(day: Day, stop_min: int, now: Moment) -> Day:
    """Return ``day`` with its present day's stop at ``stop_min``, minutes from midnight of the session's date."""
    session, number = day.plan.session, day_number(day.plan, now.utc)
    if number:
        hours, stop = next_hours(day.plan), stop_min - FULL_DAY * number
        spans = tuple((a, stop if (a, b) == hours[-1] else min(b, stop)) for a, b in hours if a < stop)
        return on_plan(day, replace(day.plan, session=replace(session, tomorrow=spans)))
    return on_plan(day, replace(day.plan, session=replace(session, stop_min=stop_min)))


def without_batches(day: Day, numbers: Sequence[str]) -> Day:
    """Return the day as if some batches and their parts did not exist; what they lie in counts as free."""
    left = {no: batch for no, batch in day.batches.items() if not {*day.lineage(batch)} & {*numbers}}
    return replace(day, batches=left)


def on_plan(day: Day, plan: Plan) -> Day:
    """Return the day with another plan, whose kit is as it was, and ready if new; batches keep their recipes."""
    units = {name: day.units.get(name) or UnitRecord(name) for name in plan.unit_names}
    return replace(day, plan=plan, units=units)


def _answers(
    problems: tuple[Problem, Problem], warm: Sequence[Sequence[Row] | None], evaluations: int
) -> tuple[Solution, Solution]:
    """Return the answers to both questions about a day, each searched from rows of ``warm``, if there are any."""
    evening, stop = problems
    return solve(evening, END, 0, evaluations, None, warm[0]), solve(stop, COUNT, 0, evaluations, None, warm[1])


def gains(
    day: Day,
    now: Moment,
    forecast: Forecast,
    *,
    learned: Mapping[WorkKind, Learned] = NOTHING_LEARNED,
    evaluations: int = EVALUATIONS,
    wanted: Callable[[], bool] = lambda: True,
    asked: Sequence[Change] | None = None,
) -> Iterator[Gain]:
    """Yield the gain, at least 0, of `changes` or of those ``asked`` as it is computed, until ``wanted()`` is false.

    Both days get the same search from the same sequence, that of the day as it is: no gain comes from more searching.
    ``forecast`` only says what `changes` there are.
    """
    for wishes in (True, False):  # the forecast too does without a wish that cannot be kept
        base = both_problems(day, now, learned, wishes=wishes)
        before = _answers(base, (None, None), evaluations)
        if before[0].rows:
            break
    earliest, by_stop = _answers(base, [answer.rows for answer in before], evaluations)
    not_by_stop = _not_by_stop(base[1], by_stop)
    for change in changes(day, forecast) if asked is None else asked:
        if not wanted():
            return
        other = both_problems(change.day, now, learned, wishes=wishes)
        gone = set(day.batches) - set(change.day.batches)
        warm = [[row for row in answer.rows if row.batch not in gone] for answer in before]
        other_earliest, other_by_stop = _answers(other, warm, evaluations)
        minutes = _end(base[0], earliest) - _end(other[0], other_earliest)
        more = len(not_by_stop - gone) - len(_not_by_stop(other[1], other_by_stop))
        yield Gain(change.label, max(0, minutes), max(0, more), of_others=bool(gone))


def _end(problem: Problem, solution: Solution) -> int:
    return max(problem.now, last_attended(solution.rows))


def _not_by_stop(problem: Problem, solution: Solution) -> set[str]:
    return set(counted_by_stop(problem, solution.rows).not_by_stop)


def gain_of(label: str, before: Forecast, after: Forecast) -> Gain:
    """Return the gain or loss between the forecasts without and with the change."""
    minutes = round((before.finish - after.finish).total_seconds() / 60)
    there = {owner_text(batch.id) for batch in after.problem.batches}
    batches = sum(no in there for no in before.not_by_stop) - len(after.not_by_stop)
    is_less = len(there) < len(before.problem.batches)
    return Gain(label, minutes, batches, more_rinsed(before, after), of_others=is_less)


def gain_text(gain: Gain) -> str:
    """Return "24 min earlier, 1 batch more by stop", or "no gain"."""
    way = "earlier" if gain.minutes > 0 else "later"
    parts = [f"{length_text(abs(gain.minutes))} {way}"] if gain.minutes else []
    for more, done in ((gain.batches, "by stop"), (gain.rinsed, "rinsed by stop")):
        if more:
            other = "other " if gain.of_others else ""
            count = counted(abs(more), f"{other}batch", f"{other}batches")
            parts.append(f"{count} {'more' if more > 0 else 'fewer'} {done}")
    return ", ".join(parts) or "no gain"


@dataclass(frozen=True, slots=True)
class Bottleneck:
    """The bottleneck: "hands", a heater or a rack, several heaters of a kind ("steamers") or a circuit."""

    name: str
    busy_share: float
    """of the hours of work ``until`` then, 0 to 1"""
    idle_min: int
    """minutes of those hours in which it is not busy; of several units, in sum"""
    until: datetime
    kit: str = ""
    """the kit or circuit that ``name`` is of; empty for hands"""


def bottleneck(forecast: Forecast, day: Day) -> Bottleneck | None:
    """Return what is busy for most of the hours of work until the last step or the stop; None without a step by then.

    A heater is busy until it is free for the next, as a pot while yarn cools in it; a circuit while nothing more can
    be switched on, a rack while nothing more can be hung up. Trays do not count: yarn may lie there until its turn.
    """
    steps = [step for step in forecast.next_steps if step.start < forecast.stop or forecast.for_end]
    if not steps:
        return None
    until = max(step.end for step in steps)
    if len(steps) < len(forecast.next_steps):
        until = max(until, forecast.stop)
    return max(_shares(forecast, day, steps, until), key=lambda share: share.busy_share)


def _shares(forecast: Forecast, day: Day, steps: Sequence[Planned], until: datetime) -> Iterator[Bottleneck]:
    problem, plan = forecast.problem, day.plan
    hours = list(_hours(forecast, until))
    open_min = _covered_min(hours, hours)
    last_chores = [(step.start, until) for step in steps if step.id.when is ChoreWhen.END_OF_DAY]
    with_chores = merged([*hours, *last_chores])  # hours end where time is kept for them
    yield _share(HANDS, sum(step.minutes for step in steps), _covered_min(with_chores, with_chores), until)
    for kind in reversed(KIT_OF_HEAT.values()):
        units = [unit.name for unit in problem.units if unit.kind == kind.value and unit.free_at is not None]
        busy = sum(_covered_min(_held(forecast, unit, until), hours) for unit in units)
        if units and busy:
            name = f"{kind.value}s" if len(units) > 1 else units[0]
            kit = next((k.name for k in plan.kit if units[0] in k.unit_names), "")
            yield _share(name, busy, len(units) * open_min, until, kit)
    heats = [step for step in forecast.steps if step.kind is StepKind.HEAT and step.unit]
    for circuit in problem.circuits:
        milliamps = {u.name: u.milliamps for u in problem.units if u.circuit == circuit.name and u.milliamps}
        heats_on = [step for step in heats if step.unit in milliamps]
        if heats_on and sum(milliamps.values()) > circuit.milliamps:
            full = _full_min(heats_on, partial(_is_circuit_full, milliamps, circuit.milliamps), hours)
            yield _share(circuit.name, full, open_min, until, circuit.name)
    yield from _rack(forecast, day, hours, until)


def _rack(forecast: Forecast, day: Day, hours: Sequence[Span], until: datetime) -> Iterator[Bottleneck]:
    drying = [step for step in forecast.steps if step.kind is StepKind.DRY and step.unit]
    hung = {step.batch: day.batches[step.batch] for step in drying if step.batch in day.batches}
    skeins = {no: pegs_taken(batch.base, batch.skeins) for no, batch in hung.items()}
    for kit in day.plan.kit:
        if kit.kind is not KitKind.PEGS or kit.holds_skeins is None or not skeins:
            continue
        for unit in kit.unit_names:
            on_rack = [step for step in drying if step.unit == unit]
            full = _full_min(on_rack, partial(_is_rack_full, skeins, kit.holds_skeins), hours)
            if full:
                yield _share(unit, full, _covered_min(hours, hours), until, kit.name)


def _share(name: str, busy: int, had: int, until: datetime, kit: str = "") -> Bottleneck:
    return Bottleneck(name, min(1.0, busy / max(1, had)), max(0, had - busy), until, kit)


def _hours(forecast: Forecast, until: datetime) -> Iterator[Span]:
    for opens, closes in forecast.problem.windows:
        start = max(forecast.at.utc, forecast.midnight + timedelta(minutes=opens))
        end = until if closes is None else min(until, forecast.midnight + timedelta(minutes=closes))
        if start < end:
            yield start, end


def _held(forecast: Forecast, unit: str, until: datetime) -> Iterator[Span]:
    planned = {step.key: step for step in forecast.steps}
    for batch in forecast.problem.batches:
        for hold in batch.holds:
            ids = [cast(StepId, step.id) for step in batch.steps[hold.first : hold.last + 1]]
            first, *between = (planned.get((str(batch.id), step_id)) for step_id in ids)
            last = between[-1] if between else first
            name = hold.unit or next((step.unit for step in (first, *between) if step and step.unit), None)
            if name == unit and hold.last >= len(batch.past):
                ends = until if last is None else last.end if hold.to_end else last.start
                yield first.start if first is not None else forecast.at.utc, ends


def _covered_min(spans: Iterable[Span], hours: Iterable[Span]) -> int:
    """Return the minutes of ``hours`` that ``spans`` cover."""
    both = [(max(a, begin), min(z, end)) for a, z in merged(spans) for begin, end in hours]
    return round(sum((z - a).total_seconds() for a, z in both if a < z) / 60)


def _full_min(steps: Sequence[Planned], is_full: Callable[[Sequence[Planned]], bool], hours: Sequence[Span]) -> int:
    """Return the minutes of ``hours`` in which ``steps`` under way leave no room."""
    spans = pairwise(sorted({moment for step in steps for moment in (step.start, step.end)}))
    full = [span for span in spans if is_full([step for step in steps if step.start <= span[0] < step.end])]
    return _covered_min(full, hours)


def _is_circuit_full(milliamps: Mapping[str, int], limit_ma: int, heats: Sequence[Planned]) -> bool:
    """Return whether no unit that is off could be switched on beside ``heats``; False where all are on."""
    on = {heat.unit or "" for heat in heats}
    off = [drawn for unit, drawn in milliamps.items() if unit not in on]
    return bool(on and off) and sum(milliamps[unit] for unit in on) + min(off) > limit_ma


def _is_rack_full(pegs: Mapping[str, int], limit: int, hanging: Sequence[Planned]) -> bool:
    """Return whether the smallest batch that is to dry would find no room beside those that hang."""
    return sum(pegs.get(step.batch, 0) for step in hanging) + min(pegs.values()) > limit


def _helped(day: Day) -> Day:
    """Return the day as if a helper put dye on too, and it took half as long; other work stays as it is."""

    def half(batch: BatchRecord) -> BatchRecord:
        layers = tuple(
            replace(x, minutes_per_100g=x.minutes_per_100g / 2, setup_min=x.setup_min / 2)
            for x in batch.colourway.layers
        )
        return replace(batch, colourway=replace(batch.colourway, layers=layers))

    return replace(day, batches={no: half(batch) for no, batch in day.batches.items()})


def _roomier(plan: Plan, name: str) -> Plan:
    watts = max((kit.power_w or 0.0 for kit in plan.kit if kit.circuit == name), default=0.0)

    def wider(circuit: Circuit) -> Circuit:
        more_a, lead_a = watts / circuit.volts, circuit.lead_amps
        amps = circuit.amps + more_a / (circuit.continuous_share or 1)
        return replace(circuit, amps=amps, lead_amps=None if lead_a is None else lead_a + more_a)

    return replace(plan, circuits=tuple(wider(c) if c.name == name else c for c in plan.circuits))
