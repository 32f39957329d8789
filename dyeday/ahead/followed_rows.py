"""Rows of a schedule: followed again in the present day, put in the order of numbers, counted by the stop."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from dyeday.ahead.kernel.compile_problem import tabulate
from dyeday.ahead.kernel.decode import decode, replayed
from dyeday.ahead.kernel.hill_climb import Aim, AtEnd, ByStop, valued
from dyeday.ahead.kernel.partial_schedule import beginning, rows_of
from dyeday.ahead.kernel.problem import Id, Problem, Row, Solution
from dyeday.ahead.kernel.search import END
from dyeday.plan.batches import by_number
from dyeday.plan.step_ids import owner_text
from dyeday.quick_dataclass import dataclass


def last_attended(rows: Sequence[Row]) -> int:
    """Return the minute at which the last attended step ends; 0 if there is none."""
    return max((row.end for row in rows if row.attended), default=0)


def followed(problem: Problem, objective: int, rows: Sequence[Row], *, sooner: bool = False) -> Solution | None:
    """Return the schedule of a sequence on ``problem``; None if it is no longer possible.

    Steps start no earlier than in ``rows``, in the same units if they can be had; with ``sooner`` as early as their
    order allows, in any unit.
    """
    tables = tabulate(problem)
    order, state = replayed(tables, rows)
    if sooner:
        out = decode(tables, order, beginning(tables))
        state = None if out is None else out.state
    if state is None:
        return None
    aim: Aim = AtEnd(tables) if objective == END else ByStop(tables)
    return Solution(tuple(rows_of(tables, state)), valued(aim, tables, state), 1, tables.left_out)


def in_number_order(problem: Problem, rows: Sequence[Row]) -> tuple[Row, ...]:
    """Return rows in which batches that differ in nothing but their number start in the order of their numbers."""
    begins: dict[Id, int] = {}
    for row in rows:
        begins[row.batch] = min(row.start, begins.get(row.batch, row.start))
    alike: dict[object, list[str]] = {}
    for batch in problem.batches:
        if isinstance(batch.id, str) and batch.id in begins:
            links = {
                replace(link, of="" if link.of == batch.id else link.of, to="" if link.to == batch.id else link.to)
                for link in problem.links
                if batch.id in (link.of, link.to)
            }
            near = [n for n, each in enumerate(problem.near) if any(id_ == batch.id for id_, _ in each.steps)]
            key = (replace(batch, id=""), frozenset(links), tuple(near))
            alike.setdefault(key, []).append(batch.id)
    named: dict[Id, str] = {
        was: no
        for same in alike.values()
        for was, no in zip(sorted(same, key=begins.__getitem__), sorted(same, key=by_number), strict=True)
    }
    return tuple(replace(row, batch=named.get(row.batch, row.batch)) for row in rows)


@dataclass(frozen=True, slots=True)
class CountedByStop:
    """Which batches reach their goal, the rinse or the end of their heat, by the stop; a rinse begun counts."""

    reached: frozenset[str]
    not_by_stop: tuple[str, ...]
    """the others that count"""
    tomorrow: int
    """minute at which the work begun after the stop ends; 0 without any"""


def counted_by_stop(problem: Problem, rows: Sequence[Row]) -> CountedByStop:
    """Return which batches reach their goal by the stop, and when the work after it ends."""
    goals = {b.id: b.steps[b.goal].id for b in problem.batches if b.counts and b.goal is not None}
    finished = {row.batch for row in rows if goals.get(row.batch) == row.step and row.end <= problem.stop}
    past = {b.id for b in problem.batches if b.counts and b.goal is not None and len(b.past) > b.goal}
    reached = frozenset(map(owner_text, finished | past))
    later = [row for row in rows if row.start >= problem.stop and row.attended]
    not_by_stop = sorted((name for name in map(owner_text, goals) if name not in reached), key=by_number)
    return CountedByStop(reached, tuple(not_by_stop), last_attended(later))
