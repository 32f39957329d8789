"""The bottleneck of a day: hands, a kind of kit, a circuit or the rack; and the gain from one more of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial
from itertools import pairwise
from typing import cast

from dyeday.ahead.foreseen_steps import Forecast, Planned
from dyeday.ahead.problem_parts.batch_route import NOTHING_LEARNED
from dyeday.ahead.what_if import Change, Gain, gains, on_plan, with_units
from dyeday.plan.batches import pegs_taken
from dyeday.plan.model import Plan
from dyeday.plan.step_ids import StepId
from dyeday.quick_dataclass import dataclass
from dyeday.terms import KIT_OF_HEAT, KitKind, StepKind, WorkKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.durations.learned_times import Learned
from dyeday.track.timestamp import merged

HANDS = "hands"
Span = tuple[datetime, datetime]
EVALUATIONS = 60
"""evaluations for each question about one more"""


@dataclass(frozen=True, slots=True)
class Bottleneck:
    """The bottleneck, busy for this share of the time until the finish.

    ``name`` is "hands", a unit, the plural of a kind of unit, or a circuit; ``kit`` the kit or circuit it is, empty
    for hands.
    """

    name: str
    busy_share: float
    idle_min: int
    until: datetime
    kit: str = ""


def bottleneck(forecast: Forecast, day: Day) -> Bottleneck | None:
    """Return what is busy longest until the last attended step of the day; None if nothing is left to do.

    Where steps are left for another day, that is until the stop. Only the hours of work count, for kit as for hands.
    A unit is taken from going in to being free for the next, as a pot while yarn cools in it; a circuit while nothing
    more can be switched on, a rack while nothing more can be hung up. Trays are left out: yarn lies in them because
    nothing else is ready for it.
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
    yield _share(HANDS, sum(step.minutes for step in steps), open_min, until)
    for kind in reversed(KIT_OF_HEAT.values()):
        units = [unit.name for unit in problem.units if unit.kind == kind.value and unit.free_at is not None]
        busy = sum(_covered_min(_held(forecast, unit, until), hours) for unit in units)
        if units and busy:
            name = f"{kind.value}s" if len(units) > 1 else units[0]
            kit = next((k.name for k in plan.kit if units[0] in k.unit_names), "")
            yield _share(name, busy, len(units) * open_min, until, kit)
    heats = [step for step in forecast.steps if step.kind is StepKind.HEAT and step.unit]
    for circuit in problem.circuits:
        amps = {u.name: u.milliamps for u in problem.units if u.circuit == circuit.name and u.milliamps}
        heats_on = [step for step in heats if step.unit in amps]
        if heats_on and sum(amps.values()) > circuit.milliamps:
            full = _full_min(heats_on, partial(_is_circuit_full, amps, circuit.milliamps), hours)
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
    """Yield the hours of work that are left until a moment."""
    begin = forecast.at.utc - timedelta(minutes=forecast.problem.now)
    for opens, closes in forecast.problem.windows:
        start = max(forecast.at.utc, begin + timedelta(minutes=opens))
        end = until if closes is None else min(until, begin + timedelta(minutes=closes))
        if start < end:
            yield start, end


def _held(forecast: Forecast, unit: str, until: datetime) -> Iterator[Span]:
    """Yield when batches hold a unit."""
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
    """Return the minutes of some hours that any of some stretches cover."""
    both = [(max(a, begin), min(z, end)) for a, z in merged(spans) for begin, end in hours]
    return round(sum((z - a).total_seconds() for a, z in both if a < z) / 60)


def _full_min(steps: Sequence[Planned], is_full: Callable[[Sequence[Planned]], bool], hours: Sequence[Span]) -> int:
    """Return the minutes in which ``steps`` under way leave no room."""
    spans = pairwise(sorted({moment for step in steps for moment in (step.start, step.end)}))
    full = [span for span in spans if is_full([step for step in steps if step.start <= span[0] < step.end])]
    return _covered_min(full, hours)


def _is_circuit_full(amps: Mapping[str, int], limit: int, heats: Sequence[Planned]) -> bool:
    """Return whether no other unit of a circuit could be switched on beside those of ``heats``."""
    on = {heat.unit or "" for heat in heats}
    off = [drawn for unit, drawn in amps.items() if unit not in on]
    return bool(on and off) and sum(amps[unit] for unit in on) + min(off) > limit


def _is_rack_full(pegs: Mapping[str, int], limit: int, hanging: Sequence[Planned]) -> bool:
    """Return whether the smallest batch would find no room beside those that hang."""
    return sum(pegs.get(step.batch, 0) for step in hanging) + min(pegs.values()) > limit


def one_more(day: Day, neck: Bottleneck) -> Change:
    """Return the day with one more of its bottleneck: a unit, room on a circuit for one, a helper."""
    plan = day.plan
    if any(kit.name == neck.kit for kit in plan.kit):
        return Change(f"one more {neck.kit}", with_units(day, neck.kit, 1))
    if neck.kit:
        return Change(f"{neck.kit} with room for one unit more", on_plan(day, _roomier(plan, neck.kit)))
    return Change("a second pair of hands at the dyeing", _helped(day))


def _helped(day: Day) -> Day:
    """Return the day as if putting dye on took half as long."""

    def half(batch: BatchRecord) -> BatchRecord:
        layers = tuple(replace(x, minutes_per_100g=x.minutes_per_100g / 2) for x in batch.colourway.layers)
        return replace(batch, colourway=replace(batch.colourway, layers=layers))

    return replace(day, batches={no: half(batch) for no, batch in day.batches.items()})


def _roomier(plan: Plan, name: str) -> Plan:
    watts = [kit.power_w or 0.0 for kit in plan.kit if kit.circuit == name]

    def wider(amps: float, volts: float) -> float:
        return amps + max(watts, default=0.0) / volts

    circuits = tuple(
        replace(
            circuit,
            amps=wider(circuit.amps, circuit.volts) / (circuit.continuous_share or 1),
            lead_amps=wider(circuit.lead_amps, circuit.volts) if circuit.lead_amps is not None else None,
        )
        if circuit.name == name
        else circuit
        for circuit in plan.circuits
    )
    return replace(plan, circuits=circuits)


def gain_of_one_more(
    day: Day, forecast: Forecast, learned: Mapping[WorkKind, Learned] = NOTHING_LEARNED
) -> tuple[Bottleneck, Gain] | None:
    """Return the bottleneck and what one more of it would bring; None where nothing is left to do."""
    neck = bottleneck(forecast, day)
    if neck is None:
        return None
    asked = [one_more(day, neck)]
    gain = next(gains(day, forecast.at, forecast, learned=learned, evaluations=EVALUATIONS, asked=asked), None)
    return None if gain is None else (neck, gain)
