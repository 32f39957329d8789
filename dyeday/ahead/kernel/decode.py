"""An order of the hands' tasks turned into times, each as early as what stands before it allows.

Starts never go back in time along the order, so what is free now stays free until a later task claims it. A neighbour
of an order already decoded (`Known`) is decoded from the last remembered state before the change, and given up as
soon as a task behind it starts later than the known order could bear; where the day is as it was, the rest is taken
over.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from copy import copy
from dataclasses import dataclass, field, replace
from operator import gt

from dyeday.ahead.kernel import constraints as rare
from dyeday.ahead.kernel.compiled import BIG, Tables
from dyeday.ahead.kernel.partial_schedule import PartialSchedule, beginning
from dyeday.ahead.kernel.problem import Row

EVERY = 8
"""tasks between two remembered states"""


@dataclass(slots=True)
class Limits:
    """What a schedule must reach to be of interest; decoding stops when it no longer can."""

    end: int = BIG
    done: int = 0
    """batches rinsed by the stop; counted only where ``count`` is set"""
    count: bool = False
    wanted: int = BIG
    """stop as soon as so many batches are rinsed"""
    last_start: int = BIG
    """no task may start later"""
    idle: int = BIG
    """``now`` less ``worked`` must not exceed this: hands that have idled longer cannot be done in time"""


@dataclass(slots=True)
class Known:
    """An order that has been decoded."""

    saved: list[PartialSchedule]
    """states at every ``EVERY``-th place, from the beginning on"""
    state: PartialSchedule
    """at its end"""
    latest: list[int]
    """of each task: the start behind which this order would be worse"""
    loose: list[int]
    """the same but for what the tasks behind it in the order need of the hands"""


@dataclass(slots=True)
class Decoded:
    """How an order came out."""

    state: PartialSchedule
    saved: list[PartialSchedule] = field(default_factory=list)
    """states at every ``EVERY``-th place after the one where decoding began"""
    same_from: int = BIG
    """place from which order and outcome are the known one's; BIG where they are not to the end"""


NO_LIMITS = Limits()

Choose = Callable[[int, int, int], int]
"""(now, window, when the first longest wait is over) → the batch whose next task comes now; -1 when there is none"""


def _left(tables: Tables, task: int) -> int:
    """Return the minutes of work that goes on from a task to its end."""
    return tables.tasks[task][0] + tables.goes_on[task]


def _is_between(tables: Tables, window: int, start: int, minutes: int, now: int, task: int) -> bool:
    """Tell whether what is brief leaves time for work that goes on with ``task``, or is over before it can go on."""
    if start + minutes + _left(tables, task) <= tables.windows[window][1]:
        return True
    begins = rare.within_window(tables, window, start, minutes)
    return begins + minutes <= rare.within_window(tables, window, now, tables.tasks[task][0])


def decode(
    tables: Tables,
    order: list[int],
    state: PartialSchedule,
    limits: Limits = NO_LIMITS,
    save: bool = False,
    known: Known | None = None,
    upto: int = 0,
    lenience: int = 0,
    choose: Choose | None = None,
) -> Decoded | None:
    """Return the outcome of ``order`` (batch numbers, one for each task) from ``state`` on; None when it misses
    ``limits`` or nothing can start. ``order`` is changed where a task was blocked; ``state`` is used up.

    ``known`` is an order that is the same from place ``upto`` on; before that, tasks are expected to start up to
    ``lenience`` minutes later than it could bear.
    ``choose`` goes on where ``order`` ends, looking at the lists of ``state``; what it chooses is appended.
    """
    tasks, windows, spare, others, amps = tables.tasks, tables.windows, tables.spare, tables.others, tables.amps
    now, next_task, ready, free = state.now, state.next_task, state.ready, state.free
    held, draws_until, starts, pending = state.held, state.draws_until, state.starts, state.pending
    took = state.units
    window, done, stop = state.window, state.done, tables.stop
    opens, closes = windows[window]
    gate, end_limit = (stop, BIG) if limits.count else (BIG, limits.end)
    if now > gate:
        gate, end_limit = BIG, limits.end if done == limits.done else BIG
    wanted, most_idle, last_start, worked = limits.wanted, limits.idle, limits.last_start, state.worked
    soonest = min(pending)[0] if pending else BIG
    saved: list[PartialSchedule] = []
    opened, goes_on, brief = state.opened, tables.goes_on, tables.brief
    at, count = state.at, len(order)
    joint, latest = (upto, known.loose) if known is not None else (count, None)
    moved_at, moved, urged_at = -1, 0, -1
    """for how often the order was mended at one place"""
    while at < count or choose is not None:
        if choose is not None and at == count:
            b = choose(now, window, soonest)
            if b < 0:
                break
            order.append(b)
            count += 1
        if at == joint and known is not None:
            latest, lenience = known.latest, 0
            if any(map(gt, ready, latest)):
                return None
        b = order[at]
        t = next_task[b]
        (
            minutes, tail, released, released_at, units, slot, ends, on, off, outs, goal,
            is_rare, writes, awaited, dry,
        ) = tasks[t]  # fmt: skip
        if (
            opened >= 0
            and b != opened
            and not (brief[t] and _is_between(tables, window, max(now, ready[t]), minutes, now, next_task[opened]))
        ):
            stood = rare.going_on_first(order, at, opened)
            count = len(order)
            if joint <= stood:
                joint, latest = stood + 1, None
            continue
        start = ready[t]
        if start < now:
            start = now
        unit = -1
        if units:
            best = BIG
            for u in units:
                x = free[u]
                if x < start:
                    x = start
                if x < best:
                    if on >= 0 and others[u]:
                        y = x + on
                        while True:
                            left, following = spare[u], BIG
                            for v in others[u]:
                                until = draws_until[v]
                                if until > y:
                                    left -= amps[v]
                                    if until < following:
                                        following = until
                            if left >= 0:
                                break
                            y = following
                        x = y - on
                        if x >= best:
                            continue
                    best, unit = x, u
                    if x == start:
                        break
            start = best
        chosen: tuple[int, ...] = ()
        if start < BIG and (is_rare or (dry and (start + dry > closes or start < opens))):
            state.window = window
            start, chosen = rare.earliest(tables, state, t, start)
        if start >= BIG:
            moved = moved + 1 if moved_at == at else 1
            moved_at = at
            state.now, state.window = now, window
            stood = rare.bring_forward(tables, state, order, at)
            if not stood or moved > count:
                return None
            if joint <= stood:
                joint, latest = stood + 1, None
            continue
        if start + minutes > closes:
            while True:
                if start < opens:
                    start = opens
                if start + minutes <= closes:
                    break
                window += 1
                worked += windows[window][0] - closes
                opens, closes = windows[window]
        elif start < opens:
            start = opens
            while start + minutes > closes:
                window += 1
                worked += windows[window][0] - closes
                opens, closes = windows[window]
                start = opens
        if start + tail > end_limit or start - worked > most_idle or start > last_start:
            return None
        if latest is not None and start - lenience > latest[t]:
            return None
        if start + minutes > soonest and urged_at != at:
            state.now, state.window = now, window
            if stood := rare.urgent_first(tables, state, order, at):
                urged_at = at
                while window and now < opens:  # what now waits had been put off to other hours
                    worked -= opens - windows[window - 1][1]
                    window -= 1
                    opens, closes = windows[window]
                if joint <= stood:
                    joint, latest = stood + 1, None
                continue
        now = start + minutes
        worked += minutes
        if now > gate:
            gate = BIG
            if done < limits.done:
                return None
            if done == limits.done:
                end_limit = limits.end
                if start + tail > end_limit:
                    return None
        starts[t] = start
        ready[t] = 0
        if released >= 0:
            free[held[released]] = start + released_at
            held[released] = -1
        if units:
            took[slot] = unit
            if ends < BIG:
                free[unit] = start + ends
            else:
                held[slot] = unit
                free[unit] = BIG
            if on >= 0:
                draws_until[unit] = start + off
        for to, offset in outs:
            x = start + offset
            if x > ready[to]:
                ready[to] = x
        if goal and start + minutes <= stop:
            done += 1
        next_task[b] = t + 1
        at += 1
        if goes_on[t]:
            opened = b
        elif b == opened:
            opened = -1
        if writes:
            state.window = window
            rare.commit(tables, state, t, start, chosen)
        if awaited and pending:
            state.late += rare.waited(tables, pending, t, start)
            soonest = min(pending)[0] if pending else BIG
        if dry:
            soonest = rare.begin_waits(tables, state, t, start)
        if save and not at % EVERY:
            state.at, state.now, state.window, state.done, state.worked = at, now, window, done, worked
            state.opened = opened
            if (
                known is not None
                and at >= joint
                and at < known.state.at
                and state.goes_on_like(known.saved[at // EVERY])
            ):
                final = known.state
                return Decoded(final.resumed(starts, took), saved, joint)
            saved.append(state.remembered())
        if goal and done >= wanted:
            break
    state.at, state.now, state.window, state.done, state.worked = at, now, window, done, worked
    state.opened = opened
    return Decoded(state, saved)


def replayed(tables: Tables, rows: Sequence[Row]) -> tuple[list[int], PartialSchedule | None]:
    """Return the order of rows, other steps last, and the state in which no step starts sooner or in another unit."""
    at = {(row.batch, row.step): row for row in rows}
    again = copy(tables)
    again.ready, again.tasks, again.takes = tables.ready[:], tables.tasks[:], dict(tables.takes)
    numbers = {unit.name: n for n, unit in enumerate(tables.problem.units)}
    when: list[tuple[int, int, int]] = []
    for task, b in enumerate(tables.batch_of):
        steps = [at.get((tables.batches[b].id, tables.batches[b].steps[n].id)) for n, _ in tables.steps[task]]
        first = steps[0]
        if first is None:
            when.append((1 << 40, task, b))
            continue
        when.append((first.start, task, b))
        again.ready[task] = max(again.ready[task], first.start)
        units = {numbers[row.unit] for row in steps if row is not None and row.unit in numbers}
        plain = tables.tasks[task]
        same = tuple(unit for unit in plain[4] if unit in units)
        if same:
            again.tasks[task] = (*plain[:4], same, *plain[5:])
        if task in tables.takes:
            again.takes[task] = [
                replace(take, units=tuple(u for u in take.units if u in units) or take.units)
                for take in tables.takes[task]
            ]
    order = [b for _, _, b in sorted(when)]
    out = decode(again, order, beginning(again))
    return order, None if out is None else out.state
