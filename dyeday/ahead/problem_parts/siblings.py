"""Batches of one lot that must match are heated soon after each other, if kit allows it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import permutations
from typing import cast

from dyeday.ahead.kernel.problem import Batch, Link, Near, Problem, Row, Solution, Unit
from dyeday.ahead.problem_parts.kit_units import limit_ma
from dyeday.plan.model import Plan
from dyeday.plan.step_ids import StepId
from dyeday.terms import KIT_OF_HEAT, KitKind, StepKind
from dyeday.track.day.day_state import Day

APART_MIN = 20
"""minutes between heats that still match: common practice, no source"""
SEARCHES = 2
"""most further searches for siblings far apart in the advised day: each takes as long as the one that found it"""


def siblings(day: Day, batches: Sequence[Batch], units: Sequence[Unit]) -> Iterator[Near]:
    """Yield the loads of each heat of a lot of which an order must match: they are to be close together."""
    wanted = {order.key for order in day.plan.orders if order.match}
    loads: dict[tuple[str, int, int], list[tuple[Batch, int]]] = {}
    for batch in batches:
        record = day.batches.get(cast(str, batch.id))
        if record is None or not wanted & record.order_keys:
            continue
        for n, step in enumerate(batch.steps):
            of = cast(StepId, step.id)
            if n >= len(batch.past) and of.kind is StepKind.LOAD:
                loads.setdefault((record.planned_mix, of.layer, of.heat), []).append((batch, n))
    for (_, layer, heat), steps in loads.items():
        if len(steps) > 1:
            record = day.batches[cast(str, steps[0][0].id)]
            kind = KIT_OF_HEAT[record.layer_of(layer).heats[heat - 1].how]
            yield Near(tuple((batch.id, n) for batch, n in steps), _at_once(day.plan, units, kind), APART_MIN)


def heated_together(
    problem: Problem, found: Solution, before: Sequence[Row], solved: Callable[[Problem], Solution]
) -> Solution:
    """Return ``found``, or a better schedule that was searched with siblings far apart in it waiting for each other.

    Those that are far apart in ``before`` too, an earlier answer, are not searched for again.
    """
    tried = set(_apart(problem, before))
    for _ in range(SEARCHES):
        links = next((links for links in _apart(problem, found.rows) if links not in tried), None)
        if links is None:
            break
        tried.add(links)
        again = solved(replace(problem, links=(*problem.links, *links)))
        evaluations, now, then = found.evaluations + again.evaluations, found.value, again.value
        worse = then.end > now.end or then.senseless > now.senseless or len(again.left_out) > len(found.left_out)
        found = replace(found if worse or then.key >= now.key else again, evaluations=evaluations)
    return found


def _apart(problem: Problem, rows: Sequence[Row]) -> Iterator[tuple[Link, ...]]:
    """Yield, for siblings that go into heat too far apart, links by which all are dyed before one goes in."""
    starts = {(row.batch, row.step): row.start for row in rows}
    steps = {batch.id: batch.steps for batch in problem.batches}
    for near in problem.near:
        at = {(of, n): starts[of, steps[of][n].id] for of, n in near.steps if (of, steps[of][n].id) in starts}
        by_start = sorted(at, key=at.__getitem__)
        for first in range(0, len(by_start), near.room) if near.room > 1 else ():
            loads = by_start[first : first + near.room]
            if at[loads[-1]] - at[loads[0]] > near.within:
                pairs = permutations(sorted(loads, key=[*at].index), 2)
                yield tuple(Link(of, n - 1, *load) for (of, n), load in pairs)


def _at_once(plan: Plan, units: Sequence[Unit], kind: KitKind) -> int:
    """Return how many units of a kind can be on at once."""
    alike = [unit for unit in units if unit.kind == kind.value and unit.free_at is not None]
    room = sum(not unit.milliamps for unit in alike)
    for circuit in plan.circuits:
        draws_ma = sorted(unit.milliamps for unit in alike if unit.circuit == circuit.name and unit.milliamps)
        room += sum(sum(draws_ma[: n + 1]) <= limit_ma(circuit) for n in range(len(draws_ma)))
    return room
