"""When hands come to end heat outside the hours of work: what is on in a pause, and what runs on after the stop."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf

from dyeday.ahead.kernel.problem import Batch, Problem, Window
from dyeday.ahead.problem_parts.off_early import STAYS_MIN
from dyeday.track.timers.timers import OFF_WITHIN_MIN


def heat_ends(problem: Problem, leaves: int) -> Iterator[Window]:
    """Yield when hands end heat outside the windows of ``problem``.

    Either it is on, and ends in the present pause or up to `STAYS_MIN` after the stop; or dyed yarn can still have it
    by the minute ``leaves``, until when the chores that end the day keep hands there.
    """
    batches, windows, stop = problem.batches, problem.windows, problem.stop
    begun = [(batch.past[-1][1], batch, batch.steps[len(batch.past) - 1]) for batch in batches if batch.past]
    ends = [end for _, end in windows if end is not None]
    closed = max((end for end in ends if end <= problem.now), default=0)
    for since, until in ((closed, inf), *((end, end + STAYS_MIN) for end in ends if end == stop > problem.now)):
        opens = min((begin for begin, _ in windows if begin >= since), default=0)
        free = max((end for end, _, step in begun if step.attended), default=since)
        for end, batch, step in sorted(begun, key=lambda one: one[0]):
            begin = max(end, free)
            if step.by_hand and since <= end <= until and begin < opens:
                free = min(begin + batch.steps[len(batch.past)].minutes, opens)
                yield begin, free
    if stop > problem.now and stop in ends:
        for batch in batches:
            yield from _heat_to_come(problem, batch, leaves)


def _heat_to_come(problem: Problem, batch: Batch, leaves: int) -> Iterator[Window]:
    """Yield when the next heat of dyed yarn ends if it begins as soon as it can, where that is by ``leaves``."""
    begun = len(batch.past)
    heat = next((n for n in range(begun, len(batch.steps)) if batch.steps[n].by_hand), None)
    if batch.shade_step is None or begun <= batch.shade_step or heat is None:
        return
    load = next((hold.first for hold in batch.holds if begun <= hold.first <= heat <= hold.last), heat)
    kind = next((hold.kind for hold in batch.holds if hold.first <= heat <= hold.last), None)
    loaded = max(_reached(problem, batch, load), _free_at(problem, kind))
    end = loaded + sum(step.minutes for step in batch.steps[load : heat + 1])
    off = end + batch.steps[heat + 1].minutes
    if problem.stop < off <= leaves:
        yield max(end, problem.stop), min(off + OFF_WITHIN_MIN, leaves)


def _reached(problem: Problem, batch: Batch, step: int) -> int:
    """Return the first minute at which a batch that has begun can be at a step."""
    begun = len(batch.past)
    return max(problem.now, batch.past[-1][1]) + sum(one.minutes for one in batch.steps[begun:step])


def _free_at(problem: Problem, kind: str | None) -> int:
    """Return the first minute at which a unit of a kind can be free."""
    taken = {
        hold.unit: _reached(problem, batch, hold.last + hold.to_end)
        for batch in problem.batches
        for hold in batch.holds
        if hold.kind == kind and hold.first < len(batch.past) <= hold.last
    }
    frees = [
        max(unit.free_at, taken.get(unit.name, 0))
        for unit in problem.units
        if unit.kind == kind and unit.free_at is not None
    ]
    return min(frees, default=problem.now)
