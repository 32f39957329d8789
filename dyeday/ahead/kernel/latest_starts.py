"""How late each step of a schedule may begin: backwards from the end, its order kept.

So are the turns of units and circuits: what does not overlap in the schedule never does.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations, pairwise

from dyeday.ahead.kernel.problem import Batch, Hold, Id, Problem, Row, Window
from dyeday.grouping import grouped
from dyeday.quick_dataclass import dataclass

Key = tuple[Id, Id]
"""(batch, step), by what the caller calls them"""
At = tuple[int, int]
"""(batch, step), by number"""
Edge = tuple[At, At, int]
"""the second step starts ``minutes`` or more after the first one starts"""


@dataclass(frozen=True, slots=True)
class _Span:
    """What is taken in a unit, or drawn: from the start of ``first`` to ``minutes`` after ``last`` starts."""

    first: At
    last: At
    minutes: int
    start: int
    end: int
    begun: bool


def latest_starts(problem: Problem, rows: Sequence[Row], tied: Iterable[tuple[Key, Key]] = ()) -> dict[Key, int]:
    """Return, by batch and step, when each attended step must have begun, never before the schedule's own start.

    With every one at its latest, the day ends by the stop, or where the schedule itself ends later, no later than it.
    The first step of a ``tied`` pair may be no more minutes late than the second.
    """
    placed = _placed(problem, rows)
    return {
        (row.batch, row.step): minute
        for at, minute in _latest(problem, placed, tied).items()
        if (row := placed[at]).attended
    }


def _placed(problem: Problem, rows: Sequence[Row]) -> dict[At, Row]:
    """Return the row of every step; names that come twice in a batch are told apart by their order."""
    left = grouped(((row.batch, row.step), row) for row in rows)
    placed = {}
    for b, batch in enumerate(problem.batches):
        for n, step in enumerate(batch.steps):
            rows_of_step = left.get((batch.id, step.id))
            if rows_of_step and n >= len(batch.past):
                placed[b, n] = rows_of_step.pop(0)
    return placed


def _latest(problem: Problem, placed: dict[At, Row], tied: Iterable[tuple[Key, Key]]) -> dict[At, int]:
    # A task is an attended step with the unattended ones that follow of themselves: they move together.
    head = dict(_heads(problem, placed))
    offset = {at: placed[at].start - placed[head[at]].start for at in placed}
    order = sorted(set(head.values()), key=lambda at: (placed[at].start, placed[at].end, at))
    limits = {at: list(_limits(problem, placed, at, head, offset)) for at in order}
    after: dict[At, list[tuple[At, int]]] = {}
    for earlier, later, minutes in _edges(problem, placed):
        if earlier in placed and later in placed and head[earlier] != head[later]:
            gap = minutes + offset[earlier] - offset[later]
            after.setdefault(head[earlier], []).append((head[later], gap))
    at_key = {(row.batch, row.step): head[at] for at, row in placed.items()}
    for first, second in ((at_key.get(one), at_key.get(other)) for one, other in tied):
        if first and second:
            after.setdefault(first, []).append((second, placed[second].start - placed[first].start))
    latest: dict[At, int] = {}
    for at in reversed(order):
        bounds = [*limits[at], *(latest[later] - gap for later, gap in after.get(at, []) if later in latest)]
        latest[at] = max(min(bounds, default=placed[at].start), placed[at].start)
    return {at: latest[head[at]] + offset[at] for at in placed}


def _heads(problem: Problem, placed: dict[At, Row]) -> Iterator[tuple[At, At]]:
    for b, batch in enumerate(problem.batches):
        current: At | None = None
        for n in range(len(batch.steps)):
            if (b, n) in placed:
                current = (b, n) if placed[b, n].attended or current is None else current
                yield (b, n), current


def _limits(
    problem: Problem, placed: dict[At, Row], at: At, head: dict[At, At], offset: dict[At, int]
) -> Iterator[int]:
    """Yield what a task's start is bound by of itself: the hands' hours, longest waits, who may still join a unit."""
    b = at[0]
    batch = problem.batches[b]
    last = max((row.end for row in placed.values() if row.attended), default=problem.stop)
    for n in range(at[1], len(batch.steps)):
        if head.get((b, n)) != at:
            continue
        row = placed[b, n]
        closing = _closing(problem.windows, row.start, max(last, problem.stop))
        if row.attended or (batch.steps[n].exact and row.unit is not None and row.end <= closing):
            # Heat that ends while hands are there must still do so: it is not left alone.
            yield closing - (row.end - row.start) - offset[b, n]
        for lag in batch.steps[n].lags:
            if lag.most is not None:
                yield _end(batch, placed, b, lag.after) + lag.most - offset[b, n]
        for hold in batch.holds:
            unit = next((u for u in problem.units if u.name == row.unit), None)
            if hold.first == n and unit is not None and unit.shared and unit.join_within is not None:
                first = _first_in(problem, placed, row)
                if first < row.start:
                    yield first + unit.join_within - offset[b, n]


def _first_in(problem: Problem, placed: dict[At, Row], row: Row) -> int:
    """Return when the first of the batches that are in a row's unit as it starts went in."""
    first = row.start
    for b, hold, unit in _held(problem, placed):
        past = problem.batches[b].past
        start = past[hold.first][0] if hold.first < len(past) else placed[b, hold.first].start
        if unit == row.unit and start <= row.start < placed[b, hold.last].start:
            first = min(first, start)
    return first


def _held(problem: Problem, placed: dict[At, Row]) -> Iterator[tuple[int, Hold, str]]:
    """Yield each hold that ends in a step to come, with its batch and its unit."""
    for b, batch in enumerate(problem.batches):
        for hold in batch.holds:
            units = [placed[b, n].unit for n in range(hold.first, hold.last + 1) if (b, n) in placed]
            unit = next((name for name in units if name), hold.unit)
            if unit is not None and (b, hold.last) in placed:
                yield b, hold, unit


def _closing(windows: Sequence[Window], start: int, otherwise: int) -> int:
    for begin, end in windows:
        if begin <= start and (end is None or start <= end):
            return otherwise if end is None else end
    return otherwise


def _end(batch: Batch, placed: dict[At, Row], b: int, n: int) -> int:
    if n < len(batch.past):
        return batch.past[n][1]
    return placed[b, n].start + batch.steps[n].minutes if (b, n) in placed else 1 << 40


def _edges(problem: Problem, placed: dict[At, Row]) -> Iterator[Edge]:
    numbers = {batch.id: b for b, batch in enumerate(problem.batches)}
    for b, batch in enumerate(problem.batches):
        for n, step in enumerate(batch.steps):
            if n:
                yield (b, n - 1), (b, n), batch.steps[n - 1].minutes
            for lag in step.lags:
                yield (b, lag.after), (b, n), batch.steps[lag.after].minutes + lag.least
    for link in problem.links:
        if link.of in numbers and link.to in numbers:
            minutes = problem.batches[numbers[link.of]].steps[link.of_step].minutes
            yield (numbers[link.of], link.of_step), (numbers[link.to], link.to_step), minutes + link.least
    hands = sorted(
        (at for at in placed if placed[at].attended), key=lambda at: (placed[at].start, placed[at].end, at)
    )
    for first, second in pairwise(hands):
        yield first, second, placed[first].end - placed[first].start
    for spans in grouped((*_by_unit(problem, placed), *_by_circuit(problem, placed))).values():
        for one, other in combinations(sorted(spans, key=lambda span: (span.start, span.end)), 2):
            if one.end <= other.start and not other.begun:
                yield one.last, other.first, one.minutes
            elif one.start <= other.start and not one.begun and not other.begun:
                yield one.first, other.first, 0


def _by_unit(problem: Problem, placed: dict[At, Row]) -> Iterator[tuple[object, _Span]]:
    for b, hold, unit in _held(problem, placed):
        yield unit, _span(problem.batches[b], placed, b, hold.first, hold.last, to_end=hold.to_end)


def _by_circuit(problem: Problem, placed: dict[At, Row]) -> Iterator[tuple[object, _Span]]:
    for circuit in problem.circuits:
        milliamps = {unit.name: unit.milliamps for unit in problem.units if unit.circuit == circuit.name}
        for (b, n), row in placed.items() if sum(milliamps.values()) > circuit.milliamps else ():
            if row.unit in milliamps and problem.batches[b].steps[n].draws:
                yield circuit, _span(problem.batches[b], placed, b, n, n, to_end=True)


def _span(batch: Batch, placed: dict[At, Row], b: int, first: int, last: int, *, to_end: bool) -> _Span:
    step, begun = batch.steps[last], (b, first) not in placed
    start = placed[b, first].start if not begun else -(1 << 40)
    if to_end and not step.attended and not step.exact and (b, last + 1) in placed:
        # It lasts until the next one starts.
        return _Span((b, first), (b, last + 1), 0, start, placed[b, last + 1].start, begun)
    minutes = step.minutes if to_end else 0
    return _Span((b, first), (b, last), minutes, start, placed[b, last].start + minutes, begun)
