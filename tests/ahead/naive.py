"""The ways of working that people have without a forecast, as orders of the hands' tasks."""

from __future__ import annotations

from collections.abc import Callable

from dyeday.ahead.decode import State, beginning, decode
from dyeday.ahead.dispatch import play
from dyeday.ahead.policies import Policy, rule_of
from dyeday.ahead.tables import DYE, Tables

FINISH_FIRST = (1, 2, 3, 4, 0, 5)
"""rinse, unload, load, paint, soak"""


def single(tables: Tables) -> list[int]:
    """One batch right through before the next."""
    return [b for b in range(len(tables.batches)) for _ in range(tables.first[b + 1] - tables.first[b])]


def waves(tables: Tables) -> list[int]:
    """A tray-full of batches right through, stage by stage, then the next."""
    trays = max(1, sum(unit.kind == "tray" for unit in tables.problem.units))
    count = len(tables.batches)
    groups = [range(n, min(n + trays, count)) for n in range(0, count, trays)]
    return [b for group in groups for b in _in_stages(tables, list(group), 0)]


def stage_by_stage(tables: Tables) -> list[int]:
    """Soak and paint until the next would let painted yarn dry out, then fix those, then go on; rinse at the end."""
    order: list[int] = []
    group: list[int] = []
    spent = 0
    for b in range(len(tables.batches)):
        tasks = range(tables.first[b], tables.first[b + 1])
        paint = next(n for n, t in enumerate(tasks) if tables.kinds[t] == DYE)
        minutes = sum(tables.tasks[t][0] for t in tasks[: paint + 1])
        longest = min((most - tables.tasks[tasks[paint]][0] for _, most in tables.deadlines[tasks[paint]]), default=0)
        if group and spent + minutes > longest:
            order += _in_stages(tables, group, 1)
            group, spent = [], 0
        group.append(b)
        spent += minutes
    return order + _in_stages(tables, group, 1) + list(range(len(tables.batches)))


def _in_stages(tables: Tables, group: list[int], without_last: int) -> list[int]:
    left = {b: tables.first[b + 1] - tables.first[b] - without_last for b in group}
    order = []
    while any(left.values()):
        for b in group:
            if left[b]:
                left[b] -= 1
                order.append(b)
    return order


def first_come(tables: Tables) -> list[int]:
    """First come, first served; what was begun goes before what was not."""
    played = play(tables, rule_of(tables, Policy(FINISH_FIRST, "given", 0)).ranking(tables), 0)
    assert played is not None
    return played.order


WAYS: dict[str, Callable[[Tables], list[int]]] = {
    "stage by stage": stage_by_stage,
    "waves": waves,
    "single": single,
    "first come": first_come,
}


def outcome(tables: Tables, way: str) -> State:
    """Return how the day goes that way."""
    order = WAYS[way](tables)
    out = decode(tables, order, beginning(tables))
    assert out is not None
    return out.state
