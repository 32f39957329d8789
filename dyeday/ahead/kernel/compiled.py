"""A problem turned into flat integer tables, which is what the inner loop reads.

A *task* is an attended step with the unattended steps that follow it of themselves. Tasks are numbered through all
batches; a *slot* is one hold of one batch. All offsets are minutes after the task's start.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from copy import copy
from dataclasses import dataclass, field
from itertools import pairwise

from dyeday.ahead.kernel.problem import Batch, Id, Problem

BIG = 1 << 40
"""later than any minute: held until a task releases it, open, or no limit"""
HEAT_OFF, HEAT_ON, DYE, OPEN, LAST, OTHER = range(6)
"""what a task is to a policy: empties a heater, fills one, frees another unit, takes one, ends the batch, none"""

Task = tuple[
    int,  # minutes of the hands
    int,  # tail: minutes from its start to the end of its batch's hands at the earliest
    int,  # slot released, or -1
    int,  # offset of that release
    tuple[int, ...],  # units for the one plain hold it takes, earliest start wins, first of equals; () for none
    int,  # slot of that hold
    int,  # offset at which that hold ends of itself; BIG where a later task ends it
    int,  # offset at which that unit begins to draw, or -1
    int,  # offset at which it ends drawing
    tuple[tuple[int, int], ...],  # (later task, offset before which it cannot start)
    int,  # 1 where its end makes a batch count as rinsed
    bool,  # whether its start depends on more than that: links, takes and draws below
    bool,  # whether it changes more than that: any of the tables below
    bool,  # whether it must follow something soon
    int,  # minutes from its start to the end of what must follow it soon, where something must; else 0
]


@dataclass(slots=True)
class Take:
    """A hold that begins in a task and does not fit into the task's own tuple."""

    slot: int
    offset: int
    units: tuple[int, ...]
    ends: int
    """offset at which it ends of itself; BIG where a later task ends it"""
    skeins: int
    weight_mg: int
    whole: bool


Wait = tuple[int, int, int, int]
"""(latest start while hands are there, batch, task, latest start) of painted yarn that must not wait too long"""
Stay = tuple[int, int, int, int, int]
"""(from, until, skeins, mg, slot) in a unit that takes several batches"""


@dataclass(slots=True)
class Tables:
    """The compiled problem, and the state from which every schedule begins. It does not change once it is filled."""

    problem: Problem
    now: int
    """when the hands are free at the earliest"""
    stop: int
    windows: list[tuple[int, int]]
    batches: list[Batch]
    left_out: tuple[tuple[Id, str], ...]
    # of each unit
    free: list[int]
    """when it can be had; BIG while it is down, or held until a task lets it go"""
    amps: list[int]
    """mA"""
    spare: list[int]
    """mA its circuit has over for the others while it runs; BIG where that can never bind"""
    others: list[tuple[int, ...]]
    """the other units on its circuit; () where that can never bind"""
    capacity: list[tuple[int, int]]
    """(skeins, mg)"""
    roomy: list[bool]
    """whether it takes several batches, or has several in it now: then ``stays`` tells when it has room"""
    join_within: list[int]
    draws_until: list[int]
    stays: list[list[Stay]]
    # of each task
    tasks: list[Task] = field(default_factory=list)
    batch_of: list[int] = field(default_factory=list)
    ready: list[int] = field(default_factory=list)
    waits: list[int] = field(default_factory=list)
    """how many links must be met first"""
    kinds: list[int] = field(default_factory=list)
    groups: list[int] = field(default_factory=list)
    """the same for tasks that, once ready, can start at the same time whenever that is; -1 where that is unknown"""
    steps: list[list[tuple[int, int]]] = field(default_factory=list)
    """(step, offset)"""
    goes_on: list[int] = field(default_factory=list)
    """minutes of the same work that are still to come behind a task; 0 where it is complete"""
    brief: list[bool] = field(default_factory=list)
    """whether it may be done between two tasks of work that goes on"""
    takes: dict[int, list[Take]] = field(default_factory=dict)
    draws: dict[int, list[tuple[int, int, int]]] = field(default_factory=dict)
    """(slot, from offset, to offset) in a unit that an earlier task took"""
    releases: dict[int, list[tuple[int, int]]] = field(default_factory=dict)
    """(slot, offset), beyond the one in the task itself"""
    spans: dict[int, list[tuple[int, int, bool]]] = field(default_factory=dict)
    """(from offset, to offset, whether hands end it) of what runs by itself in a task and may not run at any time"""
    meets: dict[int, list[tuple[int, int]]] = field(default_factory=dict)
    """(task of another batch, offset before which it cannot start)"""
    late_weights: dict[int, int] = field(default_factory=dict)
    """of each task that must start soon after another: what a minute counts by which it is late"""
    deadlines: dict[int, list[tuple[int, int]]] = field(default_factory=dict)
    """(later task of the batch, offset by which it should have started)"""
    # of each batch and slot
    first: list[int] = field(default_factory=list)
    """first task of each batch, and after the last batch the number of tasks"""
    slots: list[list[int]] = field(default_factory=list)
    """numbers of a batch's holds"""
    held: list[int] = field(default_factory=list)
    """unit in each slot; -1 while there is none"""
    alike: list[int] = field(default_factory=list)
    """of each slot: only those of one number lie in a unit together"""
    pending: list[Wait] = field(default_factory=list)
    """waits that have begun already"""
    ties: dict[int, int] = field(default_factory=dict)
    """task → shade, where the order of shades matters"""
    lasts: list[tuple[int, int]] = field(default_factory=list)
    """(last task, weight) of each batch that has any"""
    soft_mosts: list[tuple[int, int, int]] = field(default_factory=list)
    """(task, later task of the batch, offset by which it had better have started)"""
    near: list[tuple[tuple[int, ...], int, int]] = field(default_factory=list)
    """(tasks that had better start soon after each other, how many at once, minutes within which)"""
    soaks: list[tuple[int, int, int]] = field(default_factory=list)
    """(task that begins what lasts "at least", the next of its batch, offset before which that cannot start)"""
    dyed: list[tuple[int | None, int]] = field(default_factory=list)
    """(task that puts dye on, None where it is on already; the next one of its batch, that puts it into heat)"""
    queue: list[tuple[int, int]] = field(default_factory=list)
    """(heat of yarn already painted, heat in the same kind of unit of yarn painted an hour or more after that)"""
    chores: list[tuple[int, list[int]]] = field(default_factory=list)
    """(chore of a lot or of the day, tasks that wait for it)"""
    minutes: int = 0
    """of the hands, all tasks together"""
    opened: int = -1
    """batch whose work is under way and goes on; -1 where none"""
    goals: int = 0
    """batches that can still count"""

    def tasks_in(self, order: Sequence[int]) -> list[int]:
        """Return the task at each place of an order of batches."""
        following = self.first[:-1]
        tasks = []
        for b in order:
            t = following[b]
            following[b] = t + 1
            tasks.append(t)
        return tasks

    def places(self, order: Sequence[int]) -> list[int]:
        """Return the place of each task in an order of batches; its length for tasks that are not in it."""
        places = [len(order)] * len(self.tasks)
        for place, task in enumerate(self.tasks_in(order)):
            places[task] = place
        return places

    def work(self, end: int) -> int:
        """Return the minutes of the hands and of their breaks until ``end``."""
        breaks = sum(after[0] - before[1] for before, after in pairwise(self.windows) if after[0] < end)
        return self.minutes + breaks


def without_stop(tables: Tables) -> Tables:
    """Return the same work as if the hands' last window before the stop never closed and every batch counted."""
    relaxed = copy(tables)
    before = [window for window in tables.windows if window[0] < tables.stop]
    if before:
        relaxed.windows = [*before[:-1], (before[-1][0], BIG)]
    relaxed.stop = BIG
    return relaxed


def with_links(tables: Tables, links: Iterable[tuple[int, int]]) -> Tables:
    """Return the same work in which, for each (task, task of another batch), the second waits for the first's end."""
    more = copy(tables)
    more.tasks, more.waits = tables.tasks[:], tables.waits[:]
    more.meets = {task: list(others) for task, others in tables.meets.items()}
    for of, to in links:
        more.meets.setdefault(of, []).append((to, tables.tasks[of][0]))
        more.waits[to] += 1
        more.tasks[of] = (*more.tasks[of][:12], True, *more.tasks[of][13:])
        more.tasks[to] = (*more.tasks[to][:11], True, *more.tasks[to][12:])
    return more
