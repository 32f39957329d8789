"""Hands that always take the task with the smallest number among those that can start: a day played through.

A search varies the numbers (`Ranking`); a variation is played from the first choice on that it can change.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Sequence
from dataclasses import dataclass, field
from random import Random

from dyeday.ahead.kernel import constraints as rare
from dyeday.ahead.kernel.compiled import BIG, HEAT_OFF, HEAT_ON, Tables
from dyeday.ahead.kernel.decode import EVERY, NO_LIMITS, Choose, Limits, decode
from dyeday.ahead.kernel.dispatching_rules import Rule
from dyeday.ahead.kernel.partial_schedule import PartialSchedule, beginning

NEARLY_DRY = 60
"""minutes before painted yarn has waited its longest from which it goes before everything else"""

Ranking = Sequence[int]
"""of each task: its place in the queue, smaller goes first"""
WEIGHTS = (-3, -2, -1, -0.5, 0.5, 1, 2, 3)
"""minutes of the way still to go that a minute of a trait counts for"""
SPREAD = 15
"""standard deviation of the minutes by chance"""
PAUSES = ((0, BIG), (0, BIG), (5, 3), (5, BIG), (0, 0), (3, 3))
"""a rule's ``wait`` and ``over``"""
TWO_TRAITS, OTHER_POLICY, OPENS_FIRST = 0.6, 0.3, 0.125
"""shares of rules: by two traits; near another with only its keys; by which batches begin before heat comes off"""

Traits = list[list[int]]
"""of each trait: its minutes for each batch"""


@dataclass(slots=True)
class Played:
    """A day played through: the batch chosen at each place, how it ended, and states on the way."""

    order: list[int]
    state: PartialSchedule
    saved: list[PartialSchedule] = field(default_factory=list)
    """states at every ``EVERY``-th place, from the beginning on"""


def play(
    tables: Tables,
    ranking: Ranking,
    wait: int,
    over: int = BIG,
    lead: Sequence[int] = (),
    limits: Limits = NO_LIMITS,
    known: Played | None = None,
    same_until: int = 0,
) -> Played | None:
    """Return the day when among what can start at once the smallest number is taken; None when stuck or over limits.

    A heater's task counts as startable within ``wait`` minutes. Others that last more than ``over`` minutes beyond
    the next end of a heat come behind those that do not, and behind waiting for an end within ``wait`` minutes.
    ``lead`` is an order to begin with, ``known`` a day that goes the same way for ``same_until`` places.
    """
    if known is None:
        state = beginning(tables)
        saved = [state.copy()]
        order = list(lead)
    else:
        at = same_until // EVERY
        state = known.saved[at].resumed(known.state.starts, known.state.units)
        saved = known.saved[: at + 1]
        order = known.order[: at * EVERY]
    if len(order) > state.at:
        out = decode(tables, order, state, limits, True)
        if out is None:
            return None
        saved += out.saved
    out = decode(tables, order, state, limits, True, choose=_chooser(tables, state, ranking, wait, over))
    if out is None or (state.done < limits.wanted and state.at < len(tables.tasks)):
        return None
    return Played(order, state, saved + out.saved)


def stuck(tables: Tables) -> list[int]:
    """Return the batches that never get on when all that can start is done, one thing after another."""
    state = beginning(tables)
    decode(tables, [], state, choose=_chooser(tables, state, range(len(tables.tasks)), 0, BIG))
    return [b for b in range(len(tables.batches)) if state.next_task[b] < tables.first[b + 1]]


def _chooser(tables: Tables, state: PartialSchedule, ranking: Ranking, wait: int, over: int) -> Choose:
    """Return what chooses: a queue of every batch's next task."""
    tasks, kinds, groups, ends = tables.tasks, tables.kinds, tables.groups, tables.first[1:]
    spare, others, amps, windows = tables.spare, tables.others, tables.amps, tables.windows
    next_task, ready, free, draws_until = state.next_task, state.ready, state.free, state.draws_until
    goes_on = tables.goes_on
    queue = sorted((ranking[t], b) for b, t in enumerate(next_task) if t < ends[b])
    last = -1
    opened = state.opened

    def choose(now: int, window: int, soonest: int) -> int:
        nonlocal last, opened
        if last >= 0:
            t = next_task[last]
            if goes_on[t - 1]:
                opened = last
            elif last == opened:
                opened = -1
            if t < ends[last]:
                insort(queue, (ranking[t], last))
        if opened >= 0 or soonest < now + NEARLY_DRY:
            state.now, state.window = now, window
            last = _between(tables, state, queue, opened) if opened >= 0 else _urgent(tables, state)
            if last >= 0:
                queue.remove(next(entry for entry in queue if entry[1] == last))
                return last
        horizon = now + wait
        closes = windows[window][1]
        if now < windows[window][0]:
            closes = now  # a break: nothing starts now
        blocked = set()
        held = chosen = long = ending = None
        tight = False
        event = -1
        """when the next heat ends"""
        for entry in queue:
            t = next_task[entry[1]]
            start = ready[t]
            if start > horizon:
                continue
            if start < now:
                start = now
            group = groups[t]
            if group in blocked:
                continue
            minutes, _, _, _, units, _, _, on, _, _, _, is_rare, _, _, dry = tasks[t]
            if is_rare:
                state.now, state.window = now, window
                start = rare.soonest_start(tables, state, t)
            else:
                if units:
                    soon = BIG
                    for u in units:
                        x = free[u]
                        if x < start:
                            x = start
                        if x < soon:
                            if on >= 0 and others[u]:
                                left = spare[u]
                                for v in others[u]:
                                    if draws_until[v] > x + on:
                                        left -= amps[v]
                                if left < 0:
                                    if not wait or x > horizon:
                                        continue
                                    x = rare.amps_from(tables, draws_until, u, x + on) - on
                                    if x >= soon:
                                        continue
                            soon = x
                            if x == start:
                                break
                    start = soon
                if start + minutes > closes:
                    start = BIG if start <= horizon else start
                elif start + dry > closes and start <= horizon:
                    state.now, state.window = now, window
                    start = rare.soonest_start(tables, state, t)
            if start <= now and now + minutes > soonest:
                tight = True  # begun now, it would still be at it when something else can wait no longer
                continue
            if start <= now:
                if over < BIG and kinds[t] > HEAT_ON:
                    if event < 0:
                        event, ending = _next_end(tables, state, queue, now)
                    if now + minutes > event + over:
                        if long is None:
                            long = entry
                        continue
                chosen = entry
                break
            if start <= horizon and kinds[t] <= HEAT_ON and held is None:
                held = entry
            elif group >= 0 and ready[t] <= now:
                blocked.add(group)
        if chosen is None:
            chosen = ending if event <= horizon and ending is not None else long
        if chosen is None:
            state.now, state.window = now, window
            if tight and (waiting := _first_wait(tables, state)) >= 0:
                last = waiting
                queue.remove(next(entry for entry in queue if entry[1] == last))
                return last
            chosen = _soonest(tables, state, queue, wait)
            if chosen is None:
                return -1
        elif held is not None:
            chosen = held
        queue.remove(chosen)
        last = chosen[1]
        return last

    return choose


def _between(tables: Tables, state: PartialSchedule, queue: list[tuple[int, int]], opened: int) -> int:
    """Return the batch of something brief that can start now, while there is time for it; else the opened one."""
    now, closes = state.now, tables.windows[state.window][1]
    task = state.next_task[opened]
    left = tables.tasks[task][0] + tables.goes_on[task]
    for _, b in queue:
        t = state.next_task[b]
        minutes = tables.tasks[t][0]
        if tables.brief[t] and now + minutes + left <= closes and rare.soonest_start(tables, state, t) <= now:
            return b
    soonest, b, _, _ = min(state.pending, default=(BIG, opened, 0, 0))
    t = state.next_task[b]
    urgent = now + tables.tasks[task][0] > soonest and tables.brief[t]
    start = rare.soonest_start(tables, state, t) if urgent else BIG
    return b if start + tables.tasks[t][0] + left <= closes else opened


def _first_wait(tables: Tables, state: PartialSchedule) -> int:
    """Return the batch that can wait least and is not blocked; -1 where there is none."""
    for _, b, _, _ in rare.by_urgency(tables, state):
        if rare.soonest_start(tables, state, state.next_task[b]) < BIG:
            return b
    return -1


def _next_end(
    tables: Tables, state: PartialSchedule, queue: list[tuple[int, int]], now: int
) -> tuple[int, tuple[int, int] | None]:
    """Return when the next heat ends that hands must take off, and its entry; BIG and None where there is none."""
    event, next_entry = BIG, None
    for entry in queue:
        t = state.next_task[entry[1]]
        if tables.kinds[t] == HEAT_OFF and now < state.ready[t] < event:
            event, next_entry = state.ready[t], entry
    return event, next_entry


def _soonest(
    tables: Tables, state: PartialSchedule, queue: list[tuple[int, int]], wait: int
) -> tuple[int, int] | None:
    """Return the first entry that can start when the first task can, or that fills or empties a heater soon after."""
    startable = []
    best = BIG
    known: dict[int, int] = {}
    for entry in queue:
        t = state.next_task[entry[1]]
        if state.ready[t] > best + wait:
            continue
        group = tables.groups[t]
        if state.ready[t] > state.now or group < 0:
            start = rare.soonest_start(tables, state, t)
        elif group in known:
            start = known[group]
        else:
            start = known[group] = rare.soonest_start(tables, state, t)
        if start < BIG:
            startable.append((start, entry, t))
            best = min(best, start)
    for start, entry, t in startable:
        if start <= best or (start <= best + wait and tables.kinds[t] <= HEAT_ON):
            return entry
    return None


def _urgent(tables: Tables, state: PartialSchedule) -> int:
    """Return the batch whose longest wait is nearly over and that can start now; -1 when there is none."""
    for latest, b, _, _ in rare.by_urgency(tables, state):
        if latest >= state.now + NEARLY_DRY:
            break
        if rare.soonest_start(tables, state, state.next_task[b]) <= state.now:
            return b
    return -1


def traits_of(tables: Tables) -> Traits:
    """Return the minutes of hands up to the first heat and in all, those before the longest heat and behind the last
    one, and those of the longest heat and of all of them.
    """
    rows = []
    for b, batch in enumerate(tables.batches):
        own = range(tables.first[b], tables.first[b + 1])
        heats = [
            (batch.steps[n].minutes, task, tables.tasks[task][1] - offset)
            for task in own
            for n, offset in tables.steps[task]
            if batch.steps[n].draws
        ]
        hands = sum(tables.tasks[task][0] for task in own)
        if heats:
            longest, last = max(heats, key=lambda heat: heat[0]), heats[-1]
            rows.append(
                (
                    sum(tables.tasks[task][0] for task in own if task <= heats[0][1]),
                    hands,
                    tables.tasks[own[0]][1] - longest[2],
                    last[2] - last[0],
                    longest[0],
                    sum(heat[0] for heat in heats),
                )
            )
        else:
            rows.append((hands, hands, 0, 0, 0, 0))
    return [list(column) for column in zip(*rows, strict=True)]


def drawn(rng: Random, tables: Tables, traits: Traits, near: Rule | None = None) -> Rule:
    """Return a rule drawn at random, or one not far from ``near``."""
    draw = rng.random
    ranks = (2, 0, 3, 1, 4, 5) if draw() < OPENS_FIRST else (1, 0, 3, 2, 4, 5)
    wait, over = PAUSES[int(draw() * len(PAUSES))]
    if near is None:
        keys = _blended(rng, tables, traits, [-task[1] for task in tables.tasks])
        if draw() < TWO_TRAITS:
            keys = _blended(rng, tables, traits, keys)
        return Rule(ranks, wait, over, keys)
    if draw() < OTHER_POLICY:
        return Rule(ranks, wait, over, near.keys)
    return Rule(near.ranks, near.wait, near.over, _blended(rng, tables, traits, near.keys))


def _blended(rng: Random, tables: Tables, traits: Traits, keys: list[int]) -> list[int]:
    """Return keys with one trait of their batch, weighted, in addition, and some minutes by chance for each batch."""
    trait, weight = rng.choice(traits), rng.choice(WEIGHTS)
    more = [round(weight * minutes + rng.gauss(0, SPREAD)) for minutes in trait]
    return [key + more[b] for key, b in zip(keys, tables.batch_of, strict=True)]
