"""Short moves of a local search over an order of tasks, aimed at what the end of the schedule hangs on."""

from __future__ import annotations

from random import Random

from dyeday.ahead.kernel.decode import State
from dyeday.ahead.kernel.slack import Slack

REACH = 20
"""places a task moves at most"""

CHAINS = 0.15
"""share of moves that take a batch's following tasks along"""
EXCHANGES = 0.05
"""share of moves that exchange two tasks"""
AIMED = 0.3
"""share of the other moves that start from tasks that follow each other without a pause, one of them critical"""
ANY = 1 << 20
"""minutes of what moved where nobody counts them"""
TRIES = 6
"""places looked at for a critical one"""

Neighbour = tuple[list[int], int, int, int]
"""an order, the first place that changed, the first behind which nothing did, and the minutes of what moved"""


def propose(rng: Random, order: list[int], slack: Slack, state: State) -> Neighbour | None:
    """Return a neighbour of ``order``; None when the draw changes nothing."""
    draw, count, upto = rng.random, len(order), state.at
    kind = draw()
    if kind < CHAINS:
        source = int(draw() * upto)
        distance = 1 + int(draw() ** 2 * min(count - 1, REACH))
        return shift(order, source, distance if draw() < 0.4 else -distance, slack)
    if kind < CHAINS + EXCHANGES:
        moved = exchange(rng, order)
        changed = next((n for n in range(count) if moved[n] != order[n]), count)
        return (moved, changed, _same_from(order, moved), ANY) if changed < count else None
    swap = False
    if draw() < AIMED:
        starts, latest, sequence = state.starts, slack.latest, slack.sequence
        for _ in range(TRIES):
            place = int(draw() * upto)
            if starts[sequence[place]] >= latest[sequence[place]]:
                break
        first, last = slack.block(starts, place)
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
    minutes = slack.minutes(source) + (slack.minutes(target) if swap else 0)
    return (moved, source, target + 1, minutes) if source < target else (moved, target, source + 1, minutes)


def _same_from(order: list[int], moved: list[int]) -> int:
    upto = len(order)
    while upto and moved[upto - 1] == order[upto - 1]:
        upto -= 1
    return upto


def shift(order: list[int], source: int, distance: int, slack: Slack) -> Neighbour | None:
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
    if first == count:
        return None
    return moved, first, _same_from(order, moved), sum(slack.minutes(n) for n in places)


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
