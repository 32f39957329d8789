"""How late a day may become: the minute by which nine in ten such days are over.

Part of the spread is common to all work of a day: a dyer who is slow today is slow at everything.
`python -m tests.ahead.late_case` measures how often days are over by then.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import hypot, sqrt
from statistics import NormalDist, quantiles
from typing import NamedTuple

from dyeday.ahead.accuracy import RecordedForecast
from dyeday.ahead.kernel.problem import Id, Row
from dyeday.ahead.problem_parts.batch_route import NOTHING_LEARNED
from dyeday.plan.step_ids import DYE_STEP, StepId
from dyeday.terms import StepKind, WorkKind
from dyeday.track.durations import OF_HOW, PRIOR_SPREAD, Learned

LATE_SHARE = 0.9
"""of days that end by the late case"""
DAY_SHARE = 0.25
"""of the variance of a step's minutes, what the whole day has in common; common practice, no source"""
WAITS = 1.3
"""factor for the waits of slow work that misses its kit or meets a break; measured on the examples"""
LEARNED_FROM = 10
"""least closed days for a studio's own factor"""
LEAST_SCALE, MOST_SCALE = 0.3, 3.0
"""limits of that factor"""
LEARNED_AS = {DYE_STEP[how]: kind for how, kind in OF_HOW.items()} | {
    StepKind.RINSE: WorkKind.RINSE, StepKind.LOAD: WorkKind.LOAD, StepKind.UNLOAD: WorkKind.UNLOAD,
}  # fmt: skip
"""kind of step to the kind of learned time"""


class StudioTimes(NamedTuple):
    """What a studio's closed days say of the days to come."""

    learned: Mapping[WorkKind, Learned] = NOTHING_LEARNED
    """its own times by kind of work"""
    late_scale: float = 1.0
    """the factor on `minutes_late` (`scale_of`)"""


PLAN_TIMES = StudioTimes()
"""of a studio without closed days"""


def learned_spread(step: Id, learned: Mapping[WorkKind, Learned]) -> float:
    """Return the `Learned.spread` of an attended step's minutes."""
    kind = LEARNED_AS.get(step.kind) if isinstance(step, StepId) else None
    return learned[kind].spread if kind is not None and kind in learned else PRIOR_SPREAD


def minutes_late(rows: Sequence[Row], studio: StudioTimes) -> int:
    """Return the minutes, 0 or more, beyond a schedule's end by which nine days in ten are over."""
    deviations = [learned_spread(row.step, studio.learned) * (row.end - row.start) for row in rows if row.attended]
    own = sqrt((1 - DAY_SHARE) * sum(minutes * minutes for minutes in deviations))
    day = sqrt(DAY_SHARE) * sum(deviations)
    return round(studio.late_scale * WAITS * NormalDist().inv_cdf(LATE_SHARE) * hypot(own, day))


def scale_of(recorded: Iterable[RecordedForecast]) -> float:
    """Return the factor on `minutes_late` by which nine in ten closed days were over; 1 for fewer than ten."""
    foreseen_min = ((one, (one.late - one.likely).total_seconds() / 60) for one in recorded)
    shares = [one.error_min / minutes * one.late_scale for one, minutes in foreseen_min if minutes > 0]
    if len(shares) < LEARNED_FROM:
        return 1.0
    return min(MOST_SCALE, max(LEAST_SCALE, quantiles(shares, n=10, method="inclusive")[-1]))
