"""An order put right by pushing every task as late as it can be: what has time to spare goes behind what has not."""

from __future__ import annotations

from bisect import insort
from collections.abc import Sequence
from itertools import pairwise

from dyeday.ahead.kernel.compiled import BIG, Tables
from dyeday.ahead.kernel.decode import State


def justified(tables: Tables, order: Sequence[int], state: State) -> list[int]:
    """Return the order in which the tasks of a schedule must begin at the latest, for it to end as it does.

    ``state`` is how ``order`` ended. Each unit serves its batches in the same turn; the hands may change theirs. Of
    circuits only pairs that never run together are seen, of shared units nothing.
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
