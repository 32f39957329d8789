"""Of as many batches that reach their goal by the stop, those of more urgent orders; yarn dry when it is due."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace

from dyeday.ahead.followed_rows import counted_by_stop, followed
from dyeday.ahead.kernel.problem import Batch, Link, Problem, Row, Solution
from dyeday.ahead.kernel.search import COUNT
from dyeday.ahead.problem_parts.batch_route import DRY
from dyeday.ahead.problem_parts.kit_units import HEATERS

SEARCHES = 2
"""most further searches for batches left over: each takes as long as the one that found the answer"""
MOST_LATER_MIN = 30
"""minutes by which the work of the next day may end later for a more urgent batch"""


def urgent_first(
    problem: Problem,
    found: Solution,
    before: Sequence[Row],
    due: Mapping[str, int],
    solved: Callable[[Problem], Solution],
) -> Solution:
    """Return ``found``, or a schedule in which as many batches but more urgent ones are in time.

    A batch is in time if it reaches its goal by the stop and is dry by its minute in ``due``. The schedule is
    ``before``, an earlier answer, or one in which a less urgent batch waits for a heater until the one that is not in
    time has had it. What was not in time for the same reason in ``before`` is not searched for again.
    """
    tried = set[Link]()
    if before and any(_passed_over(problem, found.rows, due)):
        tried.update(_passed_over(problem, before, due))
        earlier = followed(problem, COUNT, before)
        found = found if earlier is None else _better(problem, found, earlier, due)
    for _ in range(SEARCHES):
        link = next((link for link in _passed_over(problem, found.rows, due) if link not in tried), None)
        if link is None:
            break
        tried.add(link)
        again = solved(replace(problem, links=(*problem.links, link)))
        found = replace(_better(problem, found, again, due), evaluations=found.evaluations + again.evaluations)
    return found


def _better(problem: Problem, found: Solution, other: Solution, due: Mapping[str, int]) -> Solution:
    now, then = found.value, other.value
    costs_little = (then.late, then.missed) <= (now.late, now.missed) and then.end <= now.end + MOST_LATER_MIN
    is_whole = len(other.left_out) <= len(found.left_out)
    is_urgent = _urgency(problem, other, due) > _urgency(problem, found, due)
    return other if costs_little and is_whole and is_urgent else found


def _urgency(problem: Problem, solution: Solution, due: Mapping[str, int]) -> tuple[int, int]:
    """Return the weight of the batches that reach their goal by the stop, then of those in time."""
    by_stop = counted_by_stop(problem, solution.rows).reached
    in_time = _in_time(problem, solution.rows, due)
    by_id = [(str(batch.id), batch.weight) for batch in problem.batches]
    return sum(weight for id_, weight in by_id if id_ in by_stop), sum(w for id_, w in by_id if id_ in in_time)


def _in_time(problem: Problem, rows: Sequence[Row], due: Mapping[str, int]) -> frozenset[str]:
    """Return the batches that reach their goal by the stop, but those dry too late that could be dry when due."""
    hung = [(str(row.batch), row) for row in rows if row.step == DRY]
    late = {no for no, row in hung if row.end > due.get(no, row.end) >= problem.now + row.end - row.start}
    return counted_by_stop(problem, rows).reached - late


def _passed_over(problem: Problem, rows: Sequence[Row], due: Mapping[str, int]) -> Iterator[Link]:
    """Yield links by which a batch that is not in time has its heater before a less urgent one that is by stop."""
    in_time, by_stop = _in_time(problem, rows, due), counted_by_stop(problem, rows).reached
    counted = sorted((batch for batch in problem.batches if batch.counts), key=lambda batch: batch.weight)
    for urgent in (batch for batch in reversed(counted) if batch.id not in in_time):
        for other in (batch for batch in counted if batch.id in by_stop and batch.weight < urgent.weight):
            steps, others = _heaters(urgent), _heaters(other)
            if kind := next((kind for kind in steps if kind in others), ""):
                yield Link(urgent.id, steps[kind], other.id, others[kind])


def _heaters(batch: Batch) -> dict[str, int]:
    """Return the step with which a batch first takes each kind of heater, if that is still to come."""
    holds = (hold for hold in batch.holds if hold.kind in HEATERS and hold.first >= len(batch.past))
    steps: dict[str, int] = {}
    for hold in holds:
        steps.setdefault(hold.kind, hold.first)
    return steps
