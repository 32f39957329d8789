"""What decoding needs now and then: shared units, longest waits, links between batches, tasks that are blocked."""

from __future__ import annotations

from dyeday.ahead.kernel.compiled import BIG, Tables, Take, Wait
from dyeday.ahead.kernel.partial_schedule import PartialSchedule

BETWEEN = 4
"""minutes kept for what is brief when work that goes on is begun"""


def earliest(tables: Tables, state: PartialSchedule, task: int, start: int) -> tuple[int, tuple[int, ...]]:
    """Return the first minute from ``start`` at which a task can begin (BIG: blocked), and the units of its takes."""
    if state.waits[task]:
        return BIG, ()
    minutes = tables.tasks[task][0]
    takes = tables.takes.get(task, ())
    draws = tables.draws.get(task, ())
    while True:
        before = start
        # Work that goes on is begun only where there is time for all of it, and for what comes in between.
        whole = minutes + (still + BETWEEN if (still := tables.goes_on[task]) else 0)
        start = within_window(tables, state.window, start, whole)
        chosen: list[int] = []
        for take in takes:
            at, unit = min(
                (_room(tables, state, u, start + take.offset, take), n, u) for n, u in enumerate(take.units)
            )[::2]
            if at >= BIG:
                return BIG, ()
            chosen.append(unit)
            start = max(start, at - take.offset)
        for slot, on, _ in draws:
            unit = next((u for take, u in zip(takes, chosen, strict=True) if take.slot == slot), state.held[slot])
            start = max(start, amps_from(tables, state.draws_until, unit, start + on) - on)
        for on, off, by_hand in tables.spans.get(task, ()):
            start = may_run_from(tables, start + on, off - on, by_hand=by_hand) - on
        start = _not_left_to_dry(tables, state, task, start)
        if start == before:
            return start, tuple(chosen)


def within_window(tables: Tables, window: int, start: int, minutes: int) -> int:
    """Return the first minute from ``start`` at which the hands have ``minutes`` in one go."""
    for opens, closes in tables.windows[window:]:
        if max(start, opens) + minutes <= closes:
            return max(start, opens)
    return start


def _room(tables: Tables, state: PartialSchedule, unit: int, at: int, take: Take) -> int:
    """Return the first minute from ``at`` at which a unit takes a batch."""
    if not tables.roomy[unit]:
        return max(at, state.free[unit])
    at = max(at, state.free[unit])
    skeins, mg = tables.capacity[unit]
    alone = take.whole or not tables.problem.units[unit].shared
    while at < BIG:
        inside = [stay for stay in state.stays[unit] if stay[1] > at]
        if not inside:
            return at
        late = at - min(stay[0] for stay in inside) > tables.join_within[unit]
        others = any(tables.alike[stay[4]] != tables.alike[take.slot] for stay in inside)
        if alone or late or others or any(stay[2] >= BIG for stay in inside):
            at = max(stay[1] for stay in inside)
        elif sum(s[2] for s in inside) + take.skeins <= skeins and sum(s[3] for s in inside) + take.weight_mg <= mg:
            return at
        else:
            at = min(stay[1] for stay in inside)
    return BIG


def amps_from(tables: Tables, draws_until: list[int], unit: int, at: int) -> int:
    """Return the first minute from ``at`` at which the unit's circuit has enough for it."""
    while True:
        on = [other for other in tables.others[unit] if draws_until[other] > at]
        if sum(tables.amps[other] for other in on) <= tables.spare[unit]:
            return at
        at = min(draws_until[other] for other in on)


def may_run_from(tables: Tables, at: int, minutes: int, *, by_hand: bool) -> int:
    """Return from when what runs ``minutes`` meets no closed time; ``by_hand``, it ends while hands are there."""
    while True:
        end = at + minutes
        later = next((back for out, back in tables.problem.closed if at < back and end > out), None)
        if later is None and by_hand:
            opens = next((opens for opens, closes in tables.windows if end <= closes), BIG)
            later = opens - minutes if end < opens < BIG else None
        if later is None:
            return at
        at = later


def _not_left_to_dry(tables: Tables, state: PartialSchedule, task: int, start: int) -> int:
    """Return ``start``, or a later minute if hands would be busy when what must follow soon is due.

    A heat that hands end needs them at its end too. Work that goes on is looked at as a whole.
    """
    b = tables.batch_of[task]
    if (task and tables.goes_on[task - 1]) or (tables.opened == b and task == tables.first[b]):
        return start  # nothing is left half painted
    last = task
    while tables.goes_on[last]:
        last += 1
    minutes = tables.tasks[task][0] + tables.goes_on[task]
    for to, most in tables.deadlines.get(last, ()):
        offset = minutes - tables.tasks[last][0] + max(o for later, o in tables.tasks[last][9] if later <= to)
        if start + offset + until_off(tables, to) <= tables.windows[state.window][1]:
            continue
        for opens, _ in [(start, BIG), *tables.windows[state.window :]]:
            if opens < start:
                continue
            begin = within_window(tables, state.window, opens, minutes)
            if begin == opens and _soonest(tables, state.window, to, opens + offset) <= opens + most:
                start = opens
                break
    return start


def _soonest(tables: Tables, window: int, task: int, at: int) -> int:
    """Return the first minute from ``at`` at which a task has hands, now and at the end of what they end."""
    while True:
        before = at
        at = within_window(tables, window, at, tables.tasks[task][0])
        for on, off, by_hand in tables.spans.get(task, ()):
            at = may_run_from(tables, at + on, off - on, by_hand=by_hand) - on
        if at == before:
            return at


def until_off(tables: Tables, task: int) -> int:
    """Return the minutes from the start of a task for which hands must be there: its own, or a heat's they end."""
    return max([tables.tasks[task][0], *(off for _, off, by_hand in tables.spans.get(task, ()) if by_hand)])


def commit(tables: Tables, state: PartialSchedule, task: int, start: int, chosen: tuple[int, ...]) -> None:
    """Write into the state what a task takes, lets go, draws and makes possible."""
    for slot, at in tables.releases.get(task, ()):
        unit = state.held[slot]
        if unit < 0:
            continue
        if tables.roomy[unit]:
            state.stays[unit] = [(*s[:1], start + at, *s[2:]) if s[4] == slot else s for s in state.stays[unit]]
        else:
            state.free[unit] = start + at
    for take, unit in zip(tables.takes.get(task, ()), chosen, strict=True):
        state.held[take.slot] = state.units[take.slot] = unit
        until = start + take.ends
        if tables.roomy[unit]:
            skeins = BIG if take.whole else take.skeins
            current = [stay for stay in state.stays[unit] if stay[1] > start]
            state.stays[unit] = [*current, (start + take.offset, until, skeins, take.weight_mg, take.slot)]
        else:
            state.free[unit] = until
    for slot, _, off in tables.draws.get(task, ()):
        unit = state.held[slot]
        state.draws_until[unit] = max(state.draws_until[unit], start + off)
    for slot, _ in tables.releases.get(task, ()):
        state.held[slot] = -1
    for to, offset in tables.meets.get(task, ()):
        state.waits[to] -= 1
        state.ready[to] = max(state.ready[to], start + offset)


def begin_waits(tables: Tables, state: PartialSchedule, task: int, start: int) -> int:
    """Note what must follow a task soon; return until when all that must is due, while hands are there."""
    for to, most in tables.deadlines[task]:
        latest = start + most
        closes = tables.windows[state.window][1] - until_off(tables, to)
        before_closing = min(latest, closes)
        if closes < latest and tables.windows[state.window + 1][0] <= latest:
            before_closing = latest
        state.pending.append((before_closing, tables.batch_of[task], to, latest))
    return min(state.pending)[0]


def waited(tables: Tables, pending: list[Wait], task: int, start: int) -> int:
    """Take a task from the waits under way; return the minutes, weighted, by which it exceeded the longest one."""
    late = 0
    for wait in [wait for wait in pending if wait[2] == task]:
        late += max(0, start - wait[3])
        pending.remove(wait)
    return late * tables.late_weights[task] if late else 0


def by_urgency(tables: Tables, state: PartialSchedule) -> list[Wait]:
    """Return the waits under way, the one to be ended first in front: of those already too late, the heaviest."""
    now, weights = state.now, tables.late_weights
    return sorted(state.pending, key=lambda wait: (max(wait[0], now), -weights[wait[2]], wait[0]))


def soonest_start(tables: Tables, state: PartialSchedule, task: int) -> int:
    """Return when a task could start; BIG when it waits for what only other tasks bring about."""
    minutes, _, _, _, units, _, _, on, _, _, _, is_rare, _, _, dry = tables.tasks[task]
    start = max(tables.now, state.now, state.ready[task])
    if units:
        best, free, others = BIG, state.free, tables.others
        for u in units:
            x = free[u] if free[u] > start else start
            if x < best and on >= 0 and others[u]:
                x = amps_from(tables, state.draws_until, u, x + on) - on
            best = min(best, x)
        start = best
        if start >= BIG:
            return BIG
    if is_rare or dry:
        start = earliest(tables, state, task, start)[0]
        if start >= BIG:
            return BIG
    opens, closes = tables.windows[state.window]
    if start < opens or start + minutes > closes:
        return within_window(tables, state.window, start, minutes)
    return start


def bring_forward(tables: Tables, state: PartialSchedule, order: list[int], at: int) -> int:
    """Move the first task of ``order`` after ``at`` that is not blocked to ``at``; return where it stood, or 0."""
    tried = {order[at]}
    for n in range(at + 1, len(order)):
        if order[n] not in tried:
            tried.add(order[n])
            if soonest_start(tables, state, state.next_task[order[n]]) < BIG:
                order.insert(at, order.pop(n))
                return n
    return 0


def going_on_first(order: list[int], at: int, opened: int) -> int:
    """Move the next task of a batch whose work goes on to ``at``, or add it there; return where it stood."""
    try:
        n = order.index(opened, at)
    except ValueError:
        n = len(order)
        order.append(opened)
    order.insert(at, order.pop(n))
    return n


def urgent_first(tables: Tables, state: PartialSchedule, order: list[int], at: int) -> int:
    """Move the batch that can wait least to ``at``, if it can go; return where it stood, 0 when it is there."""
    weights, next_task = tables.late_weights, state.next_task
    due = ((max(wait[0], soonest_start(tables, state, next_task[wait[1]])), wait) for wait in state.pending)
    for start, (_, batch, _, _) in sorted(due, key=lambda each: (each[0], -weights[each[1][2]], each[1][0])):
        if batch == order[at]:
            return 0
        if start < BIG and batch in order[at:]:
            n = order.index(batch, at)
            order.insert(at, order.pop(n))
            return n
    return 0
