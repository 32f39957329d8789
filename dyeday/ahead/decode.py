"""An order of the hands' tasks turned into times, each as early as what stands before it allows.

Starts never go back in time along the order, so a unit, a circuit or a peg that is free now stays free until somebody
later in the order takes it; that is what keeps one pass over the order enough.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from dyeday.ahead import rare
from dyeday.ahead.tables import BIG, Stay, Tables, Wait

EVERY = 8
"""tasks between two remembered states"""


@dataclass(slots=True)
class State:
    """Everything the rest of the order depends on, at one place in it."""

    at: int
    now: int
    window: int
    late: int
    done: int
    """batches rinsed by the stop"""
    next_task: list[int]
    ready: list[int]
    free: list[int]
    held: list[int]
    draws_until: list[int]
    starts: list[int]
    waits: list[int]
    stays: list[list[Stay]]
    pending: list[Wait]

    def copy(self) -> State:
        return State(
            self.at, self.now, self.window, self.late, self.done, self.next_task[:], self.ready[:], self.free[:],
            self.held[:], self.draws_until[:], self.starts[:], self.waits[:], self.stays[:], self.pending[:],
        )  # fmt: skip


def beginning(tables: Tables) -> State:
    """Return the state before the first task."""
    return State(
        0, tables.now, 0, 0, 0, tables.first[:-1], tables.ready[:], tables.free[:], tables.held[:],
        tables.draws_until[:], [0] * len(tables.tasks), tables.waits[:], tables.stays[:], tables.pending[:],
    )  # fmt: skip


@dataclass(slots=True)
class Limits:
    """What a schedule must reach to be of interest; decoding stops when it no longer can."""

    end: int = BIG
    done: int = 0
    """batches rinsed by the stop; counted only where ``count`` is set"""
    count: bool = False
    wanted: int = BIG
    """stop as soon as so many batches are rinsed"""
    end_of_hands: int = BIG
    """no task before that may end later"""


@dataclass(slots=True)
class Decoded:
    """How an order came out. ``order`` is what was really done: blocked tasks moved behind what frees them."""

    state: State
    saved: list[State] = field(default_factory=list)
    """states after every ``EVERY`` tasks, from where decoding began"""


NO_LIMITS = Limits()


def decode(
    tables: Tables, order: list[int], state: State, limits: Limits = NO_LIMITS, save: bool = False
) -> Decoded | None:
    """Return the outcome of ``order`` (batch numbers, one for each task) from ``state`` on; None when it misses
    ``limits`` or nothing can start. ``order`` is changed where a task was blocked; ``state`` is used up.
    """
    tasks, windows, spare, others, amps = tables.tasks, tables.windows, tables.spare, tables.others, tables.amps
    now, next_task, ready, free = state.now, state.next_task, state.ready, state.free
    held, draws_until, starts, pending = state.held, state.draws_until, state.starts, state.pending
    window, done, stop = state.window, state.done, tables.stop
    opens, closes = windows[window]
    gate, end_limit = (stop, BIG) if limits.count else (BIG, limits.end)
    if now > gate:
        gate, end_limit = BIG, limits.end if done == limits.done else BIG
    wanted, end_of_hands = limits.wanted, limits.end_of_hands
    soonest = min(pending)[0] if pending else BIG
    saved: list[State] = []
    at, count = state.at, len(order)
    moved_at, moved = -1, 0
    """for how often the order was mended at one place"""
    while at < count:
        b = order[at]
        t = next_task[b]
        minutes, tail, released, released_at, units, slot, ends, on, off, outs, goal, is_rare = tasks[t]
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
        if is_rare and start < BIG:
            state.window = window
            start, chosen = rare.earliest(tables, state, t, start)
        if start >= BIG:
            moved = moved + 1 if moved_at == at else 1
            moved_at = at
            if moved > count or not rare.bring_forward(tables, state, order, at):
                return None
            continue
        if start + minutes > closes:
            while True:
                if start < opens:
                    start = opens
                if start + minutes <= closes:
                    break
                window += 1
                opens, closes = windows[window]
        elif start < opens:
            start = opens
            while start + minutes > closes:
                window += 1
                opens, closes = windows[window]
                start = opens
        if start + tail > end_limit or start + minutes > end_of_hands:
            return None
        if start + minutes > soonest and moved_at != at and rare.urgent_first(tables, state, order, at):
            moved_at, moved = at, 0
            continue
        now = start + minutes
        if now > gate:
            gate = BIG
            if done < limits.done:
                return None
            if done == limits.done:
                end_limit = limits.end
                if start + tail > end_limit:
                    return None
        starts[t] = start
        if released >= 0:
            free[held[released]] = start + released_at
        if units:
            held[slot] = unit
            free[unit] = start + ends
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
        if is_rare:
            state.window = window
            rare.commit(tables, state, t, start, chosen)
        if pending:
            state.late += rare.waited(pending, t, start)
            soonest = min(pending)[0] if pending else BIG
        if save and at % EVERY == 0:
            state.at, state.now, state.window, state.done = at, now, window, done
            saved.append(state.copy())
        if goal and done >= wanted:
            break
    state.at, state.now, state.window, state.done = at, now, window, done
    return Decoded(state, saved)
