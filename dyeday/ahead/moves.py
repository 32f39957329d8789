"""Short moves of a local search over an order of tasks, aimed at what the end of the schedule hangs on."""

from __future__ import annotations

from random import Random

from dyeday.ahead.tables import Tables

REACH = 20
"""places a task moves at most"""

CHAINS = 0.15
"""share of moves that take a batch's following tasks along"""
EXCHANGES = 0.05
"""share of moves that exchange two tasks"""
AIMED = 0.3
"""share of the other moves that start from a critical block"""

Block = tuple[int, int]
"""first and last place of tasks that follow each other without a pause and that the end hangs on"""


def blocks(tables: Tables, order: list[int], starts: list[int], upto: int) -> list[Block]:
    """Return the critical blocks of the first ``upto`` places, from the last backwards."""
    tasks = tables.tasks
    following = tables.first[:-1]
    sequence: list[int] = []
    place = [0] * len(tasks)
    for at in range(upto):
        task = following[order[at]]
        following[order[at]] = task + 1
        sequence.append(task)
        place[task] = at
    opens = {window[0] for window in tables.windows}
    found: list[Block] = []
    at = upto - 1
    while at >= 0:
        last = at
        while at > 0:
            before, start = sequence[at - 1], starts[sequence[at]]
            if starts[before] + tasks[before][0] != start and start not in opens:
                break
            at -= 1
        found.append((at, last))
        if at == 0:
            break
        task = sequence[at]
        start = starts[task]
        for earlier in range(task - 1, tables.first[order[at]] - 1, -1):
            if any(to == task and starts[earlier] + offset == start for to, offset in tasks[earlier][9]):
                at = place[earlier]
                break
        else:
            at = _freed_by(tables, sequence, starts, at)
    return found


def _freed_by(tables: Tables, sequence: list[int], starts: list[int], at: int) -> int:
    """Return the place of the task whose heat ended just when the one at ``at`` could have its own."""
    task = sequence[at]
    wanted = starts[task] + max(0, tables.tasks[task][7])
    for before in range(at - 1, -1, -1):
        earlier = sequence[before]
        if tables.tasks[earlier][8] >= 0 and starts[earlier] + tables.tasks[earlier][8] == wanted:
            return before
    return at - 1


def propose(rng: Random, order: list[int], critical: list[Block], upto: int) -> tuple[list[int], int] | None:
    """Return a neighbour of ``order`` and the first place that changed; None when the draw changes nothing."""
    draw, count = rng.random, len(order)
    kind = draw()
    if kind < CHAINS:
        source = int(draw() * upto)
        distance = 1 + int(draw() ** 2 * min(count - 1, REACH))
        return shift(order, source, distance if draw() < 0.4 else -distance)
    if kind < CHAINS + EXCHANGES:
        moved = exchange(rng, order)
        changed = next((n for n in range(count) if moved[n] != order[n]), count)
        return (moved, changed) if changed < count else None
    swap = False
    if critical and draw() < AIMED:
        first, last = critical[int(draw() * len(critical))]
        kind = draw()
        if kind < 0.5:
            source = first + 1 + int(draw() ** 2 * min(count - first - 1, REACH))
            target = first - int(draw() ** 3 * min(4, first + 1))
        elif last == first:
            return None
        elif kind < 0.8:
            source, target = last, first + int(draw() * (last - first))
        else:
            source, target = first + int(draw() * (last - first)), last + int(draw() ** 3 * min(6, count - last))
    else:
        source = int(draw() * upto)
        swap = draw() >= 0.6
        distance = 1 + int(draw() ** 2 * min(count - 1, REACH))
        target = source + (distance if draw() < 0.5 else -distance)
    if not (0 <= source < count and 0 <= target < count) or order[source] == order[target]:
        return None
    moved = order[:]
    if swap:
        moved[source], moved[target] = moved[target], moved[source]
    else:
        moved.insert(target, moved.pop(source))
    return moved, min(source, target)


def shift(order: list[int], source: int, distance: int) -> tuple[list[int], int] | None:
    """Return ``order`` with the task at ``source`` and all later ones of its batch moved by ``distance`` places."""
    b, count = order[source], len(order)
    places = [n for n in range(source, count) if order[n] == b]
    moved = [other for n, other in enumerate(order) if n < source or other != b]
    lowest = order[:source].count(b) and max(n for n in range(source) if order[n] == b) + 1
    for n in places:
        at = min(max(n + distance, lowest), len(moved))
        moved.insert(at, b)
        lowest = at + 1
    first = max(0, min(source, places[0] + distance))
    while first < count and moved[first] == order[first]:
        first += 1
    return (moved, first) if first < count else None


def exchange(rng: Random, order: list[int]) -> list[int]:
    """Return ``order`` with two batches in each other's places, as far as they have as many tasks left."""
    one, other = order[int(rng.random() * len(order))], order[int(rng.random() * len(order))]
    places = [n for n, b in enumerate(order) if b in (one, other)]
    counts = {one: order.count(one), other: order.count(other)}
    moved = order[:]
    for n in places:
        wanted = other if order[n] == one else one
        if not counts[wanted]:
            wanted = one if wanted == other else other
        counts[wanted] -= 1
        moved[n] = wanted
    return moved


def kick(rng: Random, order: list[int], times: int) -> list[int]:
    """Return ``order`` after some moves that nobody judged."""
    moved = order[:]
    for _ in range(times):
        source = int(rng.random() * len(moved))
        target = max(0, min(len(moved) - 1, source + int((rng.random() * 2 - 1) * REACH)))
        moved.insert(target, moved.pop(source))
    return moved
