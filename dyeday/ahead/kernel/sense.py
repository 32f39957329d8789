"""What a dyer would rather do: its worth beside the day's end, and the moves that mend what no dyer would do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise, permutations

from dyeday.ahead.kernel.compiled import DYE, HEAT_OFF, HEAT_ON, Tables, with_links
from dyeday.ahead.kernel.moves import exchanged
from dyeday.ahead.kernel.partial_schedule import PartialSchedule
from dyeday.ahead.kernel.problem import Id

NEW_SHADE, LIGHTER = 30, 30
"""what a change of shade, and one from dark to light, weigh against minutes by which a batch is over earlier"""
WISH, APART, DRY = 5, 10, 20
"""What a minute weighs: by which something follows later than wished, by which what belongs together starts apart,
for which hands wait for yarn that soaks."""
PAINTED = 1
"""what a minute weighs in which painted yarn waits for its heat: it dries, and its heater may stand empty"""
EARLY = 30
"""what a chore of a lot, such as mixing dyes, weighs at most in minutes, one for each that it is done too early"""

HOUR = 60
OUT_OF_TURN = 10
"""minutes of the day's end that it is worth to put yarn into heat before yarn that was painted an hour after it"""
WORTH = 5
"""minutes too late or apart that are worth one minute of the day's end"""
COMING_MIN = 120
"""minutes from now within which a chore is put off"""
STOPS = 3
"""places tried for a chore that could be done later"""
SWAPS = 4
"""batches tried in the place of one whose sibling is elsewhere"""

LOOK_BACK = 40
"""minutes before something late in which a heat begun may be in its way"""
LATELY = 30
"""minutes before a soak in which hands could have begun it instead of other work"""


def note_sense(tables: Tables) -> None:
    """Fill in what had better start soon after each other, and what begins a step that lasts "at least"."""
    task_of: dict[tuple[Id, int], int] = {}
    for task, steps in enumerate(tables.steps):
        batch = tables.batches[tables.batch_of[task]]
        task_of.update(((batch.id, n), task) for n, _ in steps)
        n, offset = steps[-1]
        step = batch.steps[n]
        if not step.attended and not step.exact and n + 1 < len(batch.steps):
            tables.soaks.append((task, task + 1, offset + step.minutes))
    for heat, kind in enumerate(tables.kinds):
        is_first = heat == tables.first[tables.batch_of[heat]]
        if kind == HEAT_ON and (is_first or tables.kinds[heat - 1] == DYE):
            tables.dyed.append((None if is_first else heat - 1, heat))
    tables.queue += _queue(tables)
    chores = ((task, to) for task, to in tables.meets.items() if not tables.batches[tables.batch_of[task]].counts)
    tables.chores += [(task, [other for other, _ in to]) for task, to in chores]
    for near in tables.problem.near:
        tasks = tuple(task_of[of] for of in near.steps if of in task_of)
        if len(tasks) > 1 and near.room > 1:
            tables.near.append((tasks, near.room, near.within))


def _queue(tables: Tables) -> Iterator[tuple[int, int]]:
    """Yield (heat of yarn already painted, heat in such a unit too of yarn painted an hour or more after it)."""
    painted: list[tuple[int, int, str]] = []
    for dye, heat in tables.dyed:
        batch, at = tables.batches[tables.batch_of[heat]], tables.steps[heat][0][0]
        kind = next((hold.kind for hold in batch.holds if hold.first == at), "")
        if dye is None and kind and batch.past:
            painted.append((batch.past[-1][1], heat, kind))
    for early, late in permutations(painted, 2):
        if early[2] == late[2] and late[0] - early[0] >= HOUR:
            yield early[1], late[1]


def tie(tables: Tables, state: PartialSchedule) -> int:
    """Return how good a schedule is among equals, in minutes, smaller is better.

    Batches early, the heavy ones above all; heat taken off in time; hands not waiting for a soak; what belongs
    together soon after each other; painted yarn soon in heat; shades in a row, light before dark.
    """
    starts = state.starts
    weights = sum(weight for _, weight in tables.lasts)
    sooner = sum(weight * (starts[task] - tables.now) for task, weight in tables.lasts)
    total = sooner * len(tables.lasts) // max(1, weights)
    total += WISH * sum(over for _, _, over in _over(tables, starts))
    total += APART * sum(over for _, _, over in _apart(tables, starts))
    total += DRY * sum(idle for _, idle in _waits(tables, starts))
    total += PAINTED * sum(waits for _, waits in _painted(tables, starts))
    total += sum(min(EARLY, *(starts[other] - starts[task] for other in others)) for task, others in tables.chores)
    if tables.ties:
        shades = [shade for _, shade in sorted((starts[task], shade) for task, shade in tables.ties.items())]
        for before, after in pairwise(shades):
            if before != after:
                total += NEW_SHADE + LIGHTER * (after < before)
    return total


def senseless(tables: Tables, state: PartialSchedule) -> int:
    """Return what all that is done too late, too far apart or out of turn costs, in minutes of the day's end."""
    if not tables.soft_mosts and not tables.near and not tables.queue:
        return 0
    over = sum(over for _, _, over in _over(tables, state.starts))
    over += sum(over for _, _, over in _apart(tables, state.starts))
    return -(-over // WORTH) + OUT_OF_TURN * sum(1 for _ in _out_of_turn(tables, state.starts))


def _over(tables: Tables, starts: Sequence[int]) -> Iterator[tuple[int, int, int]]:
    """Yield (task, minute by which it was wished for, minutes after that)."""
    for source, task, most in tables.soft_mosts:
        over = starts[task] - starts[source] - most
        if over > 0:
            yield task, starts[source] + most, over


def _apart(tables: Tables, starts: Sequence[int]) -> Iterator[tuple[int, int, int]]:
    """Yield (first task, last one, minutes too many between them) of what belongs together."""
    for tasks, room, within in tables.near:
        by_start = sorted(tasks, key=starts.__getitem__)
        for n in range(0, len(by_start), room):
            first, last = by_start[n], by_start[min(n + room, len(by_start)) - 1]
            over = starts[last] - starts[first] - within
            if over > 0:
                yield first, last, over


def _out_of_turn(tables: Tables, starts: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Yield (heat of yarn painted early, heat of yarn painted later) where the later goes in first."""
    return ((early, late) for early, late in tables.queue if starts[late] < starts[early])


def _waits(tables: Tables, starts: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Yield (task that began a soak, minutes for which hands wait until it is over)."""
    waiting = [(starts[dye], load) for load, dye, offset in tables.soaks if starts[dye] <= starts[load] + offset]
    if not waiting:
        return
    ends = sorted(start + tables.tasks[task][0] for task, start in enumerate(starts))
    at = 0
    for start, load in sorted(waiting):
        while at < len(ends) and ends[at] <= start:
            at += 1
        idle = start - max(ends[at - 1] if at else 0, tables.now)
        if idle > 1:
            yield load, idle


def _painted(tables: Tables, starts: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Yield (task that puts painted yarn into heat, minutes for which it waited)."""
    for dye, heat in tables.dyed:
        waits = starts[heat] - (tables.now if dye is None else starts[dye] + tables.tasks[dye][0])
        if waits > 0:
            yield heat, waits


def mended(tables: Tables, order: list[int], state: PartialSchedule) -> Iterator[list[int]]:
    """Yield orders in which one thing that makes no sense may be mended."""
    sequence = tables.tasks_in(order)
    place = {task: n for n, task in enumerate(sequence)}
    at = [state.starts[task] for task in sequence]

    def first_from(minute: int) -> int:
        return next((n for n, start in enumerate(at) if start >= minute), len(at))

    def moved(tasks: Sequence[int], to: int) -> list[int]:
        """Return the order with some tasks of one batch before place ``to``."""
        out = {place[task] for task in tasks}
        left = [b for n, b in enumerate(order[:to]) if n not in out]
        right = [b for n, b in enumerate(order[to:], to) if n not in out]
        return [*left, *(order[place[task]] for task in tasks), *right]

    def fresher() -> Iterator[list[int]]:
        """Yield orders in which painted yarn that waits longest goes into heat sooner, or is painted later."""
        for early, late in _out_of_turn(tables, state.starts):
            yield exchanged(order, tables.batch_of[early], tables.batch_of[late])
        for task, _ in sorted(_painted(tables, state.starts), key=lambda painted: -painted[1]):
            dyeing = [before for before in _own(tables, task) if before < task and tables.kinds[before] == DYE]
            yield moved([task], place[task - 1] + 1 if task > tables.first[tables.batch_of[task]] else 0)
            if dyeing:
                yield moved([each for each in dyeing if each in place], place[task])

    if state.late:
        yield from fresher()
    for task, latest, _ in _over(tables, state.starts):
        to = first_from(latest - tables.tasks[task][0])
        if place[task - 1] < to < place[task]:
            yield moved([task], to)
        for n in range(place[task] - 1, -1, -1):
            other = sequence[n]
            if at[n] < latest - LOOK_BACK:
                break
            if tables.kinds[other] == HEAT_ON and tables.batch_of[other] != tables.batch_of[task]:
                behind = [later for later in _own(tables, other) if later >= other and place[later] < place[task]]
                yield moved(behind, place[task] + 1)
    for load, _ in _waits(tables, state.starts):
        soonest = place[load - 1] + 1 if load > tables.first[tables.batch_of[load]] else 0
        for to in range(place[load] - 1, max(soonest, first_from(state.starts[load] - HOUR)) - 1, -1):
            if tables.kinds[sequence[to]] not in (HEAT_ON, HEAT_OFF):
                yield moved([load], to)
    for first, last, _ in _apart(tables, state.starts):
        for to in (place[first], *(place[task] for task in _before(tables, place, first))):
            together = [task for task in _own(tables, last) if to < place[task] <= place[last]]
            yield moved(together, to + 1)
        for near, far in ((first, last), (last, first)):
            one, where = tables.batch_of[far], state.starts[near]
            others = {tables.batch_of[task] for tasks, _, _ in tables.near for task in tasks if far in tasks}
            by_distance = sorted(
                (abs(state.starts[task] - where), tables.batch_of[task])
                for task, kind in enumerate(tables.kinds)
                if kind == HEAT_ON and tables.batch_of[task] not in others
            )
            for other in list(dict.fromkeys(b for _, b in by_distance))[:SWAPS]:
                yield exchanged(order, one, other)
    if not state.late:
        yield from fresher()


def put_off(
    tables: Tables, order: Sequence[int], start: int, chore: int, others: Sequence[int]
) -> Iterator[list[int]]:
    """Yield orders in which a chore that begins soon comes later, at best just before what waits for it."""
    place = tables.places(order)
    at, needed = place[chore], min(place[other] for other in others)
    for to in range(needed, at + 1, -max(1, (needed - at) // STOPS)):
        if start < tables.now + COMING_MIN:
            yield [*order[:at], *order[at + 1 : to], order[at], *order[to:]]


def together(tables: Tables, order: Sequence[int], state: PartialSchedule) -> Iterator[tuple[list[int], list[int]]]:
    """Yield numbers of the tasks, smaller goes first, and an order to begin with: what is apart comes together.

    The early batch waits, or one of both goes with the other from its heats, its dye or its first task on.
    """
    place = tables.places(order)
    number = [2 * at for at in place]
    for early, late, _ in _apart(tables, state.starts):
        waits = range(early, _own(tables, early).stop)
        others = [task for task in tables.tasks_in(order)[: place[late] + 1] if task not in waits]
        yield number, [tables.batch_of[task] for task in (*others, early)]
        for task, other, sign in ((early, late, 1), (late, early, -1)):
            theirs = _own(tables, other)
            for first in _beginnings(tables, task):
                numbers = number[:]
                for t in range(first, _own(tables, task).stop):
                    if t - task + other in theirs:
                        numbers[t] = sign * max(sign * number[t], sign * number[t - task + other] - 1)
                yield numbers, []


def linked(tables: Tables, state: PartialSchedule) -> Iterator[Tables]:
    """Yield tables in which what is apart goes on only when what stands before both is done, farthest first;
    then those in which a soak that hands wait for begins before what they do in the half hour before it.
    """
    starts = state.starts
    for early, late, _ in sorted(_apart(tables, starts), key=lambda apart: -apart[2]):
        ways = [
            (before - 1, to) for before, to in ((early, late), (late, early)) if before > _own(tables, before).start
        ]
        yield with_links(tables, ways)
    for load, _ in _waits(tables, starts):
        lately = [
            task
            for task, start in enumerate(starts)
            if 0 < starts[load] - start <= LATELY and task not in _own(tables, load)
        ]
        work = [task for task in lately if tables.kinds[task] not in (HEAT_ON, HEAT_OFF)]
        if work:
            yield with_links(tables, [(load, min(work, key=starts.__getitem__))])


def _beginnings(tables: Tables, heat: int) -> list[int]:
    """Return where the heats up to a heat begin, the dyeing before those, and the batch."""
    heats = _first_of(tables, heat, HEAT_ON, HEAT_OFF)
    return sorted({heats, _first_of(tables, heats, DYE), _own(tables, heat).start}, reverse=True)


def _first_of(tables: Tables, task: int, *kinds: int) -> int:
    """Return the first of a batch's tasks of some kinds that follow each other up to a task."""
    while task > _own(tables, task).start and tables.kinds[task - 1] in kinds:
        task -= 1
    return task


def _begun_with(tables: Tables, task: int) -> int:
    """Return the first part of the work that a task ends."""
    while task > _own(tables, task).start and tables.goes_on[task - 1]:
        task -= 1
    return task


def dyed_later(tables: Tables, order: Sequence[int], state: PartialSchedule) -> list[int]:
    """Return the order in which yarn that would wait too long is dyed, or heated first, just before its next load."""
    starts, sequence = state.starts, tables.tasks_in(order)
    places = tables.places(order)
    moved: dict[int, int] = {}
    for task in reversed(sequence):  # what is moved takes along what it waited for too long
        for to, offset in tables.deadlines.get(task, ()):
            if tables.kinds[to] == HEAT_ON and starts[to] > starts[task] + offset:
                load = _first_of_load(tables, state, to)
                moved.update(dict.fromkeys(range(_begun_with(tables, task), to), moved.get(load, places[load])))
    return [tables.batch_of[t] for t in sorted(sequence, key=lambda t: (moved.get(t, places[t]), t not in moved))]


def _first_of_load(tables: Tables, state: PartialSchedule, load: int) -> int:
    """Return the task that begins the load which a task joins; the task itself where it joins none."""
    units = {
        task: state.units[takes[0].slot] for task, takes in tables.takes.items() if tables.kinds[task] == HEAT_ON
    }
    unit = units.get(load, -1)
    if unit < 0 or not tables.roomy[unit]:
        return load
    since = state.starts[load] - tables.join_within[unit]
    alike = (t for t, other in units.items() if other == unit and since <= state.starts[t] <= state.starts[load])
    return min(alike, key=state.starts.__getitem__)


def _own(tables: Tables, task: int) -> range:
    """Return the tasks of a task's batch."""
    b = tables.batch_of[task]
    return range(tables.first[b], tables.first[b + 1])


def _before(tables: Tables, place: dict[int, int], task: int) -> list[int]:
    """Return the two tasks of a task's batch before it."""
    return [before for before in (task - 1, task - 2) if before in place and before in _own(tables, task)]
