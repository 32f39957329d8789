"""Batches of one lot that must match are heated soon after each other, if kit allows it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import cast

from dyeday.ahead.kernel.problem import Batch, Near, Unit
from dyeday.ahead.problem_parts.kit_units import limit_ma
from dyeday.plan.model import Plan
from dyeday.plan.step_ids import StepId
from dyeday.terms import KIT_OF_HEAT, KitKind, StepKind
from dyeday.track.day.day_state import Day

APART_MIN = 20
"""minutes between heats that still match: common practice, no source"""


def siblings(day: Day, batches: Sequence[Batch], units: Sequence[Unit]) -> Iterator[Near]:
    """Yield the loads to be close together, for each lot of which an order must match."""
    wanted = {order.key for order in day.plan.orders if order.match}
    loads: dict[tuple[str, int, int], list[tuple[Batch, int]]] = {}
    for batch in batches:
        record = day.batches.get(cast(str, batch.id))
        if record is None or not wanted & record.order_keys:
            continue
        for n, step in enumerate(batch.steps):
            of = cast(StepId, step.id)
            if n >= len(batch.past) and of.kind is StepKind.LOAD:
                loads.setdefault((record.mix, of.layer, of.heat), []).append((batch, n))
    for (_, layer, heat), steps in loads.items():
        if len(steps) > 1:
            record = day.batches[cast(str, steps[0][0].id)]
            kind = KIT_OF_HEAT[record.layer_of(layer).heats[heat - 1].how]
            yield Near(tuple((batch.id, n) for batch, n in steps), _at_once(day.plan, units, kind), APART_MIN)


def _at_once(plan: Plan, units: Sequence[Unit], kind: KitKind) -> int:
    """Return how many units of a kind can be on at once."""
    alike = [unit for unit in units if unit.kind == kind.value and unit.free_at is not None]
    room = sum(not unit.milliamps for unit in alike)
    for circuit in plan.circuits:
        draws_ma = sorted(unit.milliamps for unit in alike if unit.circuit == circuit.name and unit.milliamps)
        room += sum(sum(draws_ma[: n + 1]) <= limit_ma(circuit) for n in range(len(draws_ma)))
    return room
