"""A sequence followed again: on the day as it has become since, or with minutes drawn around the expected ones."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import ceil, exp, sqrt
from random import Random

from dyeday.ahead.kernel.compile_problem import tabulate
from dyeday.ahead.kernel.decode import beginning, decode
from dyeday.ahead.kernel.hill_climb import Aim, AtEnd, ByStop
from dyeday.ahead.kernel.problem import Id, Problem, Row, Solution, Step, Value
from dyeday.ahead.kernel.schedule_rows import replayed, rows_of
from dyeday.ahead.kernel.search import END
from dyeday.plan.step_ids import StepId
from dyeday.terms import StepKind, WorkKind
from dyeday.track.durations.learned_times import PRIOR_SPREAD, Learned

LATE_SHARE = 0.9
"""one day in ten is later than the late answer"""
DAY_SHARE = 0.25
"""of the variance of a step's minutes, what the whole day has in common; common practice, no source"""
LEARNED_AS = {
    StepKind.PAINT: WorkKind.PAINTED,
    StepKind.SPECKLE: WorkKind.SPECKLED,
    StepKind.DYE: WorkKind.IMMERSED,
    StepKind.RINSE: WorkKind.RINSE,
    StepKind.LOAD: WorkKind.LOAD,
    StepKind.UNLOAD: WorkKind.UNLOAD,
}
"""a kind of step to the kind of work its minutes are learned under"""


def last_attended(rows: Sequence[Row]) -> int:
    """Return the minute at which the last attended step ends, 0 where there is none."""
    return max((row.end for row in rows if row.attended), default=0)


def followed(problem: Problem, objective: int, rows: Sequence[Row], *, sooner: bool = False) -> Solution | None:
    """Return what becomes of a sequence on ``problem``, None where it is no longer possible.

    Each step in the same unit and no earlier than in ``rows``; with ``sooner`` as early as its place in the sequence
    allows, in whatever unit is free.
    """
    tables = tabulate(problem)
    order, state = replayed(tables, rows)
    if sooner:
        out = decode(tables, order, beginning(tables))
        state = None if out is None else out.state
    if state is None:
        return None
    aim: Aim = AtEnd(tables) if objective == END else ByStop(tables)
    return Solution(tuple(rows_of(tables, state)), Value(*aim.value(state)), 1, tables.left_out)


def spread_of(step: Id, learned: Mapping[WorkKind, Learned]) -> float:
    """Return the spread of ln(actual / expected) of an attended step's minutes."""
    kind = LEARNED_AS.get(step.kind) if isinstance(step, StepId) else None
    return learned[kind].spread if kind is not None and kind in learned else PRIOR_SPREAD


def drawn(problem: Problem, rng: Random, learned: Mapping[WorkKind, Learned]) -> Problem:
    """Return the day with its attended minutes drawn around the expected ones (log-normal, so never negative).

    `DAY_SHARE` of each step's variance is the day's, the same for all its steps: hands that are slow today are slow
    at everything, and steps drawn each for itself would make a long day look certain to the minute.
    """
    slow = rng.gauss(0.0, 1.0)

    def draw(step: Step) -> Step:
        if not step.attended or step.minutes <= 0:
            return step
        deviation = sqrt(DAY_SHARE) * slow + sqrt(1 - DAY_SHARE) * rng.gauss(0.0, 1.0)
        return replace(step, minutes=max(1, round(step.minutes * exp(spread_of(step.id, learned) * deviation))))

    batches = tuple(replace(batch, steps=tuple(map(draw, batch.steps))) for batch in problem.batches)
    return replace(problem, batches=batches)


def drawn_ends(
    problem: Problem, rows: Sequence[Row], learned: Mapping[WorkKind, Learned], seed: int, replays: int
) -> list[int]:
    """Return the minutes at which hands are off in ``replays`` days with drawn minutes, earliest first."""
    rng = Random(seed)  # noqa: S311 - no secret
    ends = []
    for _ in range(replays):
        again = followed(drawn(problem, rng, learned), END, rows, sooner=True)
        if again is not None:
            ends.append(max(last_attended(again.rows), problem.now))
    return sorted(ends)


def late_of(ends: Sequence[int], likely: int, share: float = LATE_SHARE) -> int:
    """Return the minute by which ``share`` of the drawn days are over, never before the ``likely`` one."""
    if not ends:
        return likely
    return max(likely, ends[min(len(ends), max(1, ceil(share * len(ends)))) - 1])
