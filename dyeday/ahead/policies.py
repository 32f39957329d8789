"""Rules by which hands choose what to do next, played through to an order of tasks."""

from __future__ import annotations

from bisect import insort
from collections.abc import Sequence
from dataclasses import dataclass

from dyeday.ahead import rare
from dyeday.ahead.decode import State, beginning, decode
from dyeday.ahead.tables import BIG, HEAT_ON, Tables

NEARLY_DRY = 60
"""minutes before painted yarn has waited its longest from which it goes before everything else"""


@dataclass(frozen=True, slots=True)
class Policy:
    """A rule, and its place in the queue for each kind of task."""

    ranks: tuple[int, ...]
    """of HEAT_OFF, HEAT_ON, DYE, OPEN, LAST, OTHER; the smallest goes first"""
    by: str
    """which batch among those: see ``batch_order``; "left" for the longest way still to go"""
    wait: int
    """minutes for which hands wait for a heater rather than begin something long"""


FOR_END = (
    Policy((1, 0, 3, 2, 4, 5), "left", 0),
    Policy((1, 0, 4, 3, 2, 5), "heat", 0),
    Policy((3, 1, 2, 0, 4, 5), "heat", 5),
    Policy((2, 0, 3, 1, 4, 5), "left", 0),
    Policy((0, 1, 3, 2, 4, 5), "light", 5),
    Policy((2, 1, 3, 0, 4, 5), "short", 0),
    Policy((1, 2, 3, 4, 0, 5), "given", 0),
)
FOR_COUNT = (
    Policy((1, 0, 3, 4, 2, 5), "light", 0),
    Policy((3, 0, 4, 2, 1, 5), "short", 0),
    Policy((2, 0, 4, 1, 3, 5), "heat", 5),
    Policy((0, 1, 3, 4, 2, 5), "light", 0),
    Policy((2, 1, 4, 0, 3, 5), "light", 0),
    Policy((0, 1, 4, 3, 2, 5), "given", 5),
    Policy((1, 2, 3, 4, 0, 5), "given", 0),
)


def batch_order(tables: Tables, by: str) -> list[int]:
    """Return the batches, first served first, by what is left of them."""
    count = len(tables.batches)
    tasks, first = tables.tasks, tables.first
    mine = [range(first[b], first[b + 1]) for b in range(count)]
    tails = [tasks[first[b]][1] if mine[b] else 0 for b in range(count)]
    hands = [sum(tasks[t][0] for t in mine[b]) for b in range(count)]
    heat = [max((t[1] - t[0] for n in mine[b] if (t := tasks[n])[7] >= 0), default=0) for b in range(count)]
    keys = {
        "left": [-tail for tail in tails],
        "long": [-tail for tail in tails],
        "short": tails,
        "heat": [-h for h in heat],
        "light": hands,
        "given": [0] * count,
    }[by]
    return sorted(range(count), key=lambda b: (keys[b], b))


def play(
    tables: Tables,
    ranks: Sequence[int],
    batches: Sequence[int],
    wait: int,
    longest_left: bool = False,
    lead: Sequence[int] = (),
    wanted: int = BIG,
) -> tuple[list[int], State] | None:
    """Return the order of tasks when among what can start at once the best rank, then the first batch, is taken.

    A task that fills or empties a heater counts as startable when it is within ``wait`` minutes. With
    ``longest_left`` the batch with the longest way to go comes first. ``lead`` is an order to begin with.
    It stops as soon as ``wanted`` batches are rinsed. None when stuck.
    """
    tasks, kinds, ends = tables.tasks, tables.kinds, tables.first[1:]
    place = [0] * len(batches)
    for n, b in enumerate(batches):
        place[b] = n
    state = beginning(tables)
    order = list(lead)
    if lead and decode(tables, order, state) is None:
        return None
    next_task, ready = state.next_task, state.ready
    queue: list[tuple[int, int, int]] = []
    for b in batches:
        t = next_task[b]
        if t < ends[b]:
            insort(queue, (ranks[kinds[t]], -tasks[t][1] if longest_left else place[b], b))
    while queue and state.done < wanted:
        now = state.now
        chosen = _urgent(tables, state, next_task) if state.pending else -1
        if chosen < 0:
            best_start, found = BIG, []
            known: dict[tuple[tuple[int, ...], int], int] = {}
            for _, _, b in queue:
                t = next_task[b]
                if ready[t] > now + wait and ready[t] > best_start + wait:
                    continue
                task = tasks[t]
                if ready[t] <= now and not task[11] and not task[14]:
                    which = (task[4], task[7])
                    start = known.get(which, -1)
                    if start < 0:
                        start = known[which] = _peek(tables, state, t)
                else:
                    start = _peek(tables, state, t)
                if start < BIG:
                    found.append((start, b))
                    if start < best_start:
                        best_start = start
                        if start <= now:
                            break
            for start, b in found:
                if start <= best_start or (start <= best_start + wait and kinds[next_task[b]] <= HEAT_ON):
                    chosen = b
                    break
        if chosen < 0:
            return None
        order.append(chosen)
        if decode(tables, order, state) is None:
            return None
        queue.remove(next(entry for entry in queue if entry[2] == chosen))
        t = next_task[chosen]
        if t < ends[chosen]:
            insort(queue, (ranks[kinds[t]], -tasks[t][1] if longest_left else place[chosen], chosen))
    return order, state


def _urgent(tables: Tables, state: State, next_task: Sequence[int]) -> int:
    """Return the batch that can start now and whose longest wait is nearly over; -1 when there is none."""
    latest, b = min(state.pending)[:2]
    if latest < state.now + NEARLY_DRY and _peek(tables, state, next_task[b]) <= latest:
        return b
    return -1


def one_at_a_time(tables: Tables, batches: Sequence[int]) -> list[int]:
    """Return the order in which each batch is finished before the next is begun."""
    left = [tables.first[b + 1] - tables.first[b] for b in range(len(tables.batches))]
    return [b for b in batches for _ in range(left[b])]


def _peek(tables: Tables, state: State, task: int) -> int:
    """Return when a task could start; BIG when it is blocked."""
    minutes, _, _, _, units, _, _, on, _, _, _, is_rare, _, _, dry = tables.tasks[task]
    start = max(tables.now, state.now, state.ready[task])
    if units:
        best, free, others = BIG, state.free, tables.others
        for u in units:
            x = free[u] if free[u] > start else start
            if x < best and on >= 0 and others[u]:
                x = rare.amps_from(tables, state.draws_until, u, x + on) - on
            best = min(best, x)
        start = best
        if start >= BIG:
            return BIG
    if is_rare or dry:
        start = rare.earliest(tables, state, task, start)[0]
        if start >= BIG:
            return BIG
    opens, closes = tables.windows[state.window]
    if start < opens or start + minutes > closes:
        return rare.within_window(tables, state.window, start, minutes)
    return start
