"""Rules by which hands choose what to do next, played through to an order of tasks."""

from __future__ import annotations

from collections.abc import Sequence

from dyeday.ahead.kernel.compiled import BIG, Tables
from dyeday.quick_dataclass import dataclass

STRIDE = 1 << 24
"""between two ranks; more than any key"""
PLACE = 10
"""between the keys of two batches, as if they were minutes"""


@dataclass(frozen=True, slots=True)
class Policy:
    """A rule, and its place in the queue for each kind of task."""

    ranks: tuple[int, ...]
    """of HEAT_OFF, HEAT_ON, DYE, OPEN, LAST, OTHER; the smallest goes first"""
    by: str
    """which batch among those: see ``batch_order``; "left" for the longest way still to go"""
    wait: int
    """minutes for which hands wait for a heater rather than begin something long"""
    over: int = BIG
    """minutes by which something long may last beyond the end of a heat"""


# Painting before heat comes off ends some days of the trade sooner, but leaves heat on that draws its amps meanwhile.
FOR_END = (
    Policy((1, 0, 3, 2, 4, 5), "left", 0),
    Policy((0, 2, 3, 1, 4, 5), "short", 5, 3),
    Policy((0, 1, 3, 4, 2, 5), "heat", 0),
    Policy((0, 1, 4, 3, 2, 5), "light", 0),
    Policy((1, 2, 3, 0, 4, 5), "heat", 10, 5),
    Policy((0, 1, 3, 2, 4, 5), "short", 0, 0),
    Policy((0, 1, 2, 4, 3, 5), "left", 5, 3),
    Policy((2, 0, 3, 1, 4, 5), "heat", 0),
)
"""chosen one after the other, each to add most to those before it on random days"""
TO_FINISH = (
    Policy((1, 0, 3, 2, 4, 5), "left", 0),
    Policy((1, 0, 4, 3, 2, 5), "heat", 0),
    Policy((1, 0, 4, 3, 2, 5), "light", 0),
)
"""by which a day goes on once as many batches as can be are rinsed: nothing is painted that would be left to dry"""
FOR_COUNT = (
    Policy((1, 0, 3, 4, 2, 5), "light", 0),
    Policy((0, 1, 3, 4, 2, 5), "light", 0),
    Policy((1, 0, 3, 2, 4, 5), "left", 0, 0),
    Policy((2, 0, 3, 4, 1, 5), "light", 5, 3),
    Policy((3, 0, 4, 2, 1, 5), "short", 0),
    Policy((0, 1, 4, 3, 2, 5), "light", 0),
    Policy((2, 0, 4, 1, 3, 5), "heat", 5),
    Policy((2, 1, 4, 0, 3, 5), "light", 5),
)


def batch_order(tables: Tables, by: str) -> list[int]:
    """Return the batches, first served first, by what is left of them."""
    count = len(tables.batches)
    tasks, first = tables.tasks, tables.first
    tasks_of = [range(first[b], first[b + 1]) for b in range(count)]
    tails = [tasks[first[b]][1] if tasks_of[b] else 0 for b in range(count)]
    hands = [sum(tasks[t][0] for t in tasks_of[b]) for b in range(count)]
    heat = [max((t[1] - t[0] for n in tasks_of[b] if (t := tasks[n])[7] >= 0), default=0) for b in range(count)]
    keys = {
        "left": [-tail for tail in tails],
        "short": tails,
        "heat": [-h for h in heat],
        "light": hands,
        "given": [0] * count,
    }[by]
    order = sorted(range(count), key=lambda b: (keys[b], b))
    for tasks_near, _, _ in tables.near:
        together = {tables.batch_of[task] for task in tasks_near}
        at = next(n for n, b in enumerate(order) if b in together)
        order = [*order[:at], *(b for b in order if b in together), *(b for b in order[at:] if b not in together)]
    return order


@dataclass(frozen=True, slots=True)
class Rule:
    """A policy worked out for one day's tasks."""

    ranks: tuple[int, ...]
    wait: int
    over: int
    keys: list[int]
    """of each task: the smallest goes first among those of one rank; in minutes, or thereabouts"""

    def ranking(self, tables: Tables) -> list[int]:
        """Return the number of each task in the queue."""
        ranks = self.ranks
        return [ranks[kind] * STRIDE + key for kind, key in zip(tables.kinds, self.keys, strict=True)]


def rule_of(tables: Tables, policy: Policy) -> Rule:
    """Return a policy for these tasks; a chore of a lot or the day comes with the first batch that waits for it."""
    if policy.by == "left":
        return Rule(policy.ranks, policy.wait, policy.over, [-task[1] for task in tables.tasks])
    place = [0] * len(tables.batches)
    for n, b in enumerate(batch_order(tables, policy.by)):
        place[b] = n * PLACE
    for task, others in tables.chores:
        place[tables.batch_of[task]] = min(place[tables.batch_of[other]] for other in others) + 1
    return Rule(policy.ranks, policy.wait, policy.over, [place[b] for b in tables.batch_of])


def one_at_a_time(tables: Tables, batches: Sequence[int]) -> list[int]:
    """Return the order in which each batch is finished before the next is begun."""
    left = [tables.first[b + 1] - tables.first[b] for b in range(len(tables.batches))]
    return [b for b in batches for _ in range(left[b])]
