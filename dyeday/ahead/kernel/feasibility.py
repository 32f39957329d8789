"""What is possible at all: which units a batch may have, what a circuit allows, what cannot be finished."""

from __future__ import annotations

from dataclasses import replace

from dyeday.ahead.kernel.compiled import BIG
from dyeday.ahead.kernel.problem import Batch, Hold, Id, Problem, Unit

DAY_MIN = 1440


def past_steps(batch: Batch) -> list[tuple[int, int]]:
    """Return what has begun of a batch, with the unattended steps that follow it of themselves."""
    past = list(batch.past)
    while past and len(past) < len(batch.steps) and not batch.steps[len(past)].attended:
        start = past[-1][1]
        past.append((start, start + batch.steps[len(past)].minutes))
    return past


def fits(unit: Unit, hold: Hold, batch: Batch) -> bool:
    """Whether a batch may go into a unit at all, were it empty."""
    if unit.kind != hold.kind or (hold.unit is not None and hold.unit != unit.name):
        return False
    if hold.whole:
        return True
    return (unit.holds is None or hold.room_of(batch) <= unit.holds) and (
        unit.holds_mg is None or batch.weight_mg <= unit.holds_mg
    )


def windows(problem: Problem) -> list[tuple[int, int]]:
    """Return the hands' windows that are not over, BIG for open; the last one always is."""
    there = sorted((*problem.windows, *problem.heat_ends))
    opening = [(max(a, problem.now), BIG if z is None else z) for a, z in there if z is None or z > problem.now]
    if not opening:
        return [(problem.now, BIG)]
    if opening[-1][1] != BIG:
        opening.append((max(problem.windows[-1][0] + DAY_MIN, opening[-1][1]), BIG))
    return opening


def circuits(problem: Problem) -> tuple[list[int], list[int], list[tuple[int, ...]]]:
    """Return of each unit its mA, the mA its circuit has over for others while it runs, and those others."""
    amps = [unit.milliamps for unit in problem.units]
    spare = [BIG] * len(amps)
    others: list[tuple[int, ...]] = [()] * len(amps)
    for circuit in problem.circuits:
        on = [n for n, unit in enumerate(problem.units) if unit.circuit == circuit.name and amps[n]]
        if sum(amps[n] for n in on) > circuit.milliamps:
            for n in on:
                spare[n] = circuit.milliamps - amps[n]
                others[n] = tuple(m for m in on if m != n)
    return amps, spare, others


def draws_in(batch: Batch, hold: Hold) -> bool:
    """Whether a unit draws its amps while a hold lasts."""
    return any(batch.steps[n].draws for n in range(hold.first, hold.last + hold.to_end))


def units_for(problem: Problem, batch: Batch, hold: Hold, down: set[str]) -> list[int]:
    """Return the units a hold may have, the smallest first."""
    feeding = problem.circuits if draws_in(batch, hold) else ()
    limits_ma: dict[str | None, int] = {circuit.name: circuit.milliamps for circuit in feeding}
    units = [
        n
        for n, unit in enumerate(problem.units)
        if unit.name not in down and fits(unit, hold, batch) and unit.milliamps <= limits_ma.get(unit.circuit, BIG)
    ]
    big = [(BIG if (u := problem.units[n]).holds is None else u.holds or 0, n) for n in units]
    return [n for _, n in sorted(big)]


def possible(problem: Problem) -> tuple[tuple[tuple[Id, str], ...], list[Batch], set[str]]:
    """Return batches left out with the reason, those that remain, and the units that can never be had."""
    down = {unit.name for unit in problem.units if unit.free_at is None}
    shared = {unit.name for unit in problem.units if unit.shared}
    left_out: list[tuple[Id, str]] = []
    batches = list(problem.batches)
    before = -1
    while before != len(left_out):
        before = len(left_out)
        for batch in list(batches):
            begun = len(past_steps(batch))
            missing = [h for h in batch.holds if h.first >= begun and not units_for(problem, batch, h, down)]
            if missing:
                left_out.append((batch.id, f"no {missing[0].kind} for it"))
                batches.remove(batch)
                down |= {h.unit for h in batch.holds if h.unit and h.first < begun <= h.last} - shared
    return tuple(left_out), batches, down


def without(problem: Problem, names: set[Id]) -> Problem:
    """Return a problem less some batches; what they hold now stays theirs."""
    occupied = set()
    for batch in problem.batches:
        if batch.id in names:
            begun = len(past_steps(batch))
            occupied |= {hold.unit for hold in batch.holds if hold.unit and hold.first < begun <= hold.last}
    return replace(
        problem,
        batches=tuple(batch for batch in problem.batches if batch.id not in names),
        units=tuple(replace(unit, free_at=None) if unit.name in occupied else unit for unit in problem.units),
        links=tuple(link for link in problem.links if link.of not in names and link.to not in names),
    )
