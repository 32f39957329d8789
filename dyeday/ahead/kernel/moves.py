"""Short moves of a local search over an order of tasks, and the slack by which they are aimed: how late each task
could start without making the end later. `justified` puts what has time to spare behind what has not.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Sequence
from itertools import pairwise
from random import Random

from dyeday.ahead.kernel.compiled import BIG, Tables
from dyeday.ahead.kernel.partial_schedule import PartialSchedule

REACH = 20
"""places a task moves at most"""

CHAINS = 0.15
"""share of moves that take a batch's following tasks along"""
EXCHANGES = 0.05
"""share of moves that exchange two tasks"""
AIMED = 0.3
"""share of the other moves that start from tasks that follow each other without a pause, one of them critical"""
ANY = 1 << 20
"""minutes of what moved where they are not counted"""
TRIES = 6
"""places looked at for a critical one"""

Neighbour = tuple[list[int], int, int, int]
"""an order, the first place that changed, the first behind which nothing did, and the minutes of what moved"""
EACH = 16
"""tasks between two remembered places"""

Mark = tuple[list[int], list[int], int, int]


class Slack:
    """Of one order after another: the latest start of each task were order and units kept.

    Exact for hands, batches, windows and units; of circuits only pairs that never run together are seen.
    """

    def __init__(self, tables: Tables) -> None:
        self.tables = tables
        self.latest = [BIG] * len(tables.tasks)
        """BIG for tasks beyond the end of the order"""
        self.loose = self.latest
        """without what the tasks behind it in the order need of the hands"""
        self.sequence: list[int] = []
        """task at each place"""
        self.marks: dict[int, Mark] = {}

    def follow(self, order: Sequence[int], state: PartialSchedule, end: int, upto: int = BIG) -> None:
        """Take over an order that ends in ``state``, to be over by ``end``; behind ``upto`` nothing has changed."""
        tables = self.tables
        self.sequence = tables.tasks_in(order[: state.at])
        place = -(-upto // EACH) * EACH
        if place in self.marks and place < state.at:
            mark = self.marks[place]
            self._backwards(state, place, mark[0][:], mark[1][:], mark[2], mark[3])
        else:
            many = len(tables.free)
            self.marks = {}
            self.latest = [BIG] * len(tables.tasks)
            self.loose = self.latest[:]
            self._backwards(state, state.at, [BIG] * many, [BIG] * many, end, len(tables.windows) - 1)

    def _backwards(
        self, state: PartialSchedule, place: int, following: list[int], current: list[int], after: int, window: int
    ) -> None:
        """Go back from ``place``; a unit must be free by ``following`` and begin to draw by ``current``."""
        tables, sequence, latest, units = self.tables, self.sequence, self.latest, state.units
        loose = self.loose
        tasks, others, spare, amps = tables.tasks, tables.others, tables.spare, tables.amps
        opens, closes = tables.windows[window]
        while place:
            place -= 1
            t = sequence[place]
            minutes, _, released, released_at, takes, slot, ends, on, off, outs, _, _, _, _, _ = tasks[t]
            limit = BIG
            for to, offset in outs:
                x = latest[to] - offset
                if x < limit:
                    limit = x
            if released >= 0:
                x = following[units[released]] - released_at
                if x < limit:
                    limit = x
            if takes:
                unit = units[slot]
                if ends < BIG:
                    x = following[unit] - ends
                    if x < limit:
                        limit = x
                if on >= 0 and others[unit]:
                    for v in others[unit]:
                        if amps[v] > spare[unit]:
                            x = current[v] - off
                            if x < limit:
                                limit = x
            loose[t] = limit
            if after - minutes < limit:
                limit = after - minutes
            while limit < opens and window:
                window -= 1
                opens, closes = tables.windows[window]
            if limit + minutes > closes:
                limit = closes - minutes
            latest[t] = after = limit
            if takes:
                following[unit] = limit
                if on >= 0:
                    current[unit] = limit + on
            if not place % EACH:
                self.marks[place] = (following[:], current[:], after, window)

    def minutes(self, place: int) -> int:
        """Return the minutes of the task at a place; 0 beyond the end of the order."""
        return self.tables.tasks[self.sequence[place]][0] if place < len(self.sequence) else 0

    def block(self, starts: Sequence[int], place: int) -> tuple[int, int]:
        """Return the first and last place of the tasks around one that follow each other without a pause."""
        tasks, sequence = self.tables.tasks, self.sequence
        first = last = place
        while first:
            before = sequence[first - 1]
            if starts[before] + tasks[before][0] != starts[sequence[first]]:
                break
            first -= 1
        t = sequence[last]
        while last + 1 < len(sequence):
            end = starts[t] + tasks[t][0]
            t = sequence[last + 1]
            if starts[t] != end:
                break
            last += 1
        return first, last


def propose(rng: Random, order: list[int], slack: Slack, state: PartialSchedule) -> Neighbour | None:
    """Return a neighbour of ``order``; None when the draw changes nothing."""
    draw, count, upto = rng.random, len(order), state.at
    kind = draw()
    if kind < CHAINS:
        source = int(draw() * upto)
        distance = 1 + int(draw() ** 2 * min(count - 1, REACH))
        return shift(order, source, distance if draw() < 0.4 else -distance, slack)
    if kind < CHAINS + EXCHANGES:
        moved = exchanged(order, order[int(draw() * count)], order[int(draw() * count)])
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


def exchanged(order: list[int], one: int, other: int) -> list[int]:
    """Return ``order`` with two batches in each other's places, as far as they have as many tasks left."""
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
    """Return ``order`` after some moves that were not judged."""
    moved = order[:]
    for _ in range(times):
        source = int(rng.random() * len(moved))
        target = max(0, min(len(moved) - 1, source + int((rng.random() * 2 - 1) * REACH)))
        moved.insert(target, moved.pop(source))
    return moved


def justified(tables: Tables, order: Sequence[int], state: PartialSchedule) -> list[int]:
    """Return the order in which the tasks of a schedule must begin at the latest, for it to end as it does.

    Units serve batches in the same turn. Of circuits only pairs that never run together count.
    """
    end, starts, units = state.now, state.starts, state.units
    latest = [BIG] * len(tables.tasks)
    free_by, draws_from = [BIG] * len(tables.free), [BIG] * len(tables.free)
    """of each unit: the latest moment at which it must be free again, and at which it must begin to draw"""
    away = [(closes, opens) for (_, closes), (opens, _) in pairwise(tables.windows) if closes < end]
    taken = [*away, (end, BIG)]
    """when the hands are not free, in order of time"""
    sequence = tables.tasks_in(order[: state.at])
    for t in reversed(sequence):
        minutes, _, released, released_at, takes, slot, ends, on, off, outs, *_ = tables.tasks[t]
        limit = min([end - minutes, *(latest[to] - offset for to, offset in outs)])
        if released >= 0:
            limit = min(limit, free_by[units[released]] - released_at)
        if takes:
            unit = units[slot]
            if ends < BIG:
                limit = min(limit, free_by[unit] - ends)
            if on >= 0:
                never_with = [v for v in tables.others[unit] if tables.amps[v] > tables.spare[unit]]
                limit = min([limit, *(draws_from[v] - off for v in never_with)])
        for begin, until in reversed(taken):
            if until <= limit:
                break
            limit = min(limit, begin - minutes)
        latest[t] = limit
        insort(taken, (limit, limit + minutes))
        if takes:
            free_by[unit] = min(free_by[unit], limit)
            if on >= 0:
                draws_from[unit] = min(draws_from[unit], limit + on)
    sequence.sort(key=lambda t: (latest[t], starts[t]))
    return [tables.batch_of[t] for t in sequence]


def at_most(order: Sequence[int], times: Sequence[int]) -> list[int]:
    """Return ``order`` with every batch in it no more often than ``times`` says."""
    seen = [0] * len(times)
    shortened = []
    for b in order:
        if seen[b] < times[b]:
            shortened.append(b)
        seen[b] += 1
    return shortened


def whole(tables: Tables, lead: Sequence[int]) -> list[int]:
    """Return an order with all that it does not contain yet behind it, batch by batch."""
    first = tables.first
    return [*lead, *(b for b in range(len(first) - 1) for _ in range(first[b + 1] - first[b] - lead.count(b)))]
