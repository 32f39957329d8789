"""Why a batch cannot be finished, or not by the stop, with numbers and a remedy."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import timedelta
from math import ceil, floor

from dyeday.ahead.foreseen_steps import Forecast
from dyeday.ahead.kernel.feasibility import draws_in, fits, past_steps, without
from dyeday.ahead.kernel.problem import Batch, Hold, Problem, Unit
from dyeday.ahead.kernel.search import END, solve
from dyeday.ahead.problem_parts.hours import clock_text, midnight
from dyeday.ahead.problem_parts.kit_units import HEATERS, limit_ma, limits_a
from dyeday.ahead.problem_parts.session_days import windows_of
from dyeday.grouping import grouped
from dyeday.plan.batches import batch_sizes
from dyeday.plan.model import Circuit, Plan
from dyeday.terms import KitKind
from dyeday.text import batches_text, counted
from dyeday.track.day.day_state import Day

Hindrance = tuple[str, str]
"""what keeps a batch from being finished, and the remedy; both without a full stop"""


def hindrance(plan: Plan, problem: Problem, batch: Batch) -> str:
    """Return why a batch left out of a schedule cannot be finished, by the unit that comes closest, with a remedy."""
    begun = len(past_steps(batch))
    for hold in batch.holds:
        if hold.first < begun:
            continue
        units = [unit for unit in problem.units if unit.kind == hold.kind]
        if not (lacking := sorted((list(_lacks(plan, problem, unit, hold, batch)) for unit in units), key=len)):
            needs = f"{'a heat' if hold.kind in HEATERS else 'a step'} of its recipe needs a {hold.kind}"
            return f"{needs} and the kit has none; add a {hold.kind} for {counted(batch.skeins, 'skein')}"
        if lacking[0]:
            return "; ".join(map(", and ".join, zip(*lacking[0], strict=True)))
    return _kept_from(problem, batch)


def _lacks(plan: Plan, problem: Problem, unit: Unit, hold: Hold, batch: Batch) -> Iterator[Hindrance]:
    """Yield everything that keeps a batch out of a unit."""
    if unit.free_at is None:
        pots = (one for one in problem.units if one.kind == KitKind.POT.value and one.free_at is not None)
        rooms = (fits(pot, replace(hold, kind=pot.kind, unit=None), batch) for pot in pots)
        in_pot = hold.kind == KitKind.STEAMER.value and any(rooms)
        or_pot = ", or painted yarn into a pot (u) and steam it there" if in_pot else ""
        yield f"{unit.name} is down", f"put {unit.name} back in use{or_pot}"
    if not fits(unit, hold, batch) and (hold.unit is None or hold.unit == unit.name):
        yield _too_small(unit, batch)
    circuit = next((c for c in plan.circuits if c.name == unit.circuit), None)
    if circuit is not None and draws_in(batch, hold) and unit.milliamps > limit_ma(circuit):
        yield _over(plan, circuit, unit)


def _too_small(unit: Unit, batch: Batch) -> Hindrance:
    if unit.holds is not None and batch.skeins > unit.holds:
        most, holds, room = unit.holds, f"{unit.holds}", counted(batch.skeins, "skein")
    else:
        most = (unit.holds_mg or 0) * batch.skeins // batch.weight_mg
        holds, room = f"{(unit.holds_mg or 0) / 1000:.4g}", f"{batch.weight_mg / 1000:.4g} g"
    why = f"{unit.name} holds {holds} of its {room}"
    if unit.kind == KitKind.PEGS.value or most <= 0:
        return why, f"make room for {room}"
    parts = " + ".join(map(str, batch_sizes(batch.skeins, most)))
    return why, f"split {batch.id} into {parts}, or use a {unit.kind} for {room}"


def _over(plan: Plan, circuit: Circuit, unit: Unit) -> Hindrance:
    """Return that a unit draws more than its circuit allows, and the remedy."""
    draws = unit.milliamps / 1000
    limit = min(limits_a(circuit))
    needs = []
    if circuit.continuous_share is not None and circuit.amps * circuit.continuous_share < draws:
        share = circuit.continuous_share
        by = f"{100 * share:.0f} % of its {circuit.amps:g} A"
        needs.append(f"a circuit of {_up(draws / share):g} A")
    elif circuit.amps < draws:
        by = "its fuse"
        needs.append(f"a circuit of {_up(draws):g} A")
    if circuit.lead_amps is not None and circuit.lead_amps < draws:
        by = by if needs and limit < circuit.lead_amps else "its lead"
        needs.append(f"a lead of {_up(draws):g} A")
    other = next((c for c in plan.circuits if c is not circuit and limit_ma(c) >= unit.milliamps), None)
    elsewhere = f"plug it into {other.name}, or " if other is not None else ""
    most_w = floor(limit * circuit.volts)
    why = f"{unit.name} draws {round(draws, 2):g} A and {circuit.name} allows {round(limit, 2):g} A by {by}"
    return why, f"{elsewhere}use a {unit.kind} of at most {most_w} W, or {' and '.join(needs)}"


def _up(amps: float) -> float:
    """Return a current rounded up to a tenth of an ampere."""
    return ceil(10 * amps - 1e-6) / 10


def _kept_from(problem: Problem, batch: Batch) -> str:
    """Return that a batch waits for a unit that other yarn never leaves, or for something else unfinished."""
    wanted = {hold.kind for hold in batch.holds if hold.first >= len(past_steps(batch))}
    for other in problem.batches:
        for hold in other.holds:
            lies = hold.first < len(past_steps(other)) <= hold.last
            if other is not batch and hold.kind in wanted and lies and hold.unit is not None:
                stuck = f"{other.id} is in {hold.unit} and cannot go on"
                return f"{stuck}; take {other.id} out of {hold.unit}, or set it aside"
    return "what it waits for cannot be finished; finish that first, or set it aside"


def cannot_be_finished(forecast: Forecast) -> Iterator[tuple[list[str], str]]:
    """Yield the batches and chores left out for one reason, and a sentence about it."""
    for why, batches in grouped((why, batch) for batch, why in forecast.left_out).items():
        yield batches, f"{batches_text(batches)} cannot be finished: {why}"


def too_late_alone(day: Day, forecast: Forecast, batches: Sequence[str]) -> list[tuple[list[str], str]]:
    """Return those of ``batches`` that would not be done by the stop even if the day had nothing else, and why."""
    out = []
    for (cause, by), alike in grouped(_alone(day, forecast, batches)).items():
        whose = "" if len(batches) == 1 else f"{batches_text(alike)} "
        out.append((alike, f"{cause}{whose}not before {by} even with no other work"))
    return out


def _alone(day: Day, forecast: Forecast, batches: Sequence[str]) -> Iterator[tuple[tuple[str, str], str]]:
    """Yield (cause, if known, and its time) and the batch for each batch too late even alone."""
    problem = forecast.problem
    at_home = None
    for batch in problem.batches:
        if not isinstance(batch.id, str) or batch.id not in batches:
            continue
        done = _done_by_itself(problem, batch)
        if done is None or done <= problem.stop:
            continue
        cause = ""
        if day.plan.session.out:
            plan = replace(day.plan, session=replace(day.plan.session, out=()))
            windows = windows_of(plan, forecast.at.utc, for_end=forecast.for_end)
            at_home = at_home or replace(problem, windows=windows, closed=())
            sooner = _done_by_itself(at_home, batch)
            if sooner is not None and sooner <= problem.stop:
                away = ", ".join(f"{clock_text(a)} to {clock_text(b)}" for a, b in sorted(day.plan.session.out))
                cause = f"no heat runs while you are out of the house ({away}), so "
        yield (cause, day.time_text(midnight(day.plan) + timedelta(minutes=done))), batch.id


def _done_by_itself(problem: Problem, batch: Batch) -> int | None:
    """Return when a batch reaches its goal with no other work and an open end; None if it does not."""
    if batch.goal is None:
        return None
    if today := [window for window in problem.windows if window[0] < problem.stop]:
        problem = replace(problem, windows=(*today[:-1], (today[-1][0], None)))
    alone = solve(without(problem, {other.id for other in problem.batches if other is not batch}), END, 0, 1)
    goal = batch.steps[batch.goal].id
    return next((row.end for row in alone.rows if row.step == goal), None)
