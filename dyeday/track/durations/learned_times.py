"""What a studio really takes, learned from its record: a factor on the plan's minutes for each kind of work.

Estimates are medians, so that one bad afternoon changes little, and they start from the plan, so that a few
observations move them little.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import exp, log, sqrt
from statistics import median

from dyeday.grouping import grouped
from dyeday.quick_dataclass import dataclass
from dyeday.terms import WorkKind
from dyeday.track.durations.observed_durations import LYING, ObservedDuration

PRIOR_N = 4.0
"""number of observations that the plan's own value counts as; common practice, no source"""
PRIOR_SPREAD = 0.15
"""the spread taken until a studio's own is known; common practice, no source"""
MAD_TO_SIGMA = 1.4826
"""median absolute deviation to standard deviation of a normal: 1 / Φ⁻¹(3/4)"""
LEAST_SPREAD = 0.03
"""least spread; common practice, no source"""


@dataclass(frozen=True, slots=True)
class Learned:
    """A kind of work: ``factor`` on the plan's minutes, above 0; ``spread`` of ln(actual / expected); ``n`` seen."""

    factor: float
    spread: float
    n: int


def learned(takens: Iterable[ObservedDuration]) -> dict[WorkKind, Learned]:
    """Return by kind (`dyeday.track.durations.observed_durations.KINDS`) what the observations say.

    The factor is exp of the median of ln(actual / planned), drawn towards 0 as if the plan itself were `PRIOR_N`
    observations: n / (n + 4) of the way. The spread is 1.4826 times the median absolute deviation of the same
    logarithms, mixed by squares with `PRIOR_SPREAD` in the same proportion. A stretch with only an upper bound counts
    if that bound is below what the others say.
    """
    by_kind = grouped((one.kind, one) for one in takens)
    return {kind: times for kind, ones in by_kind.items() if (times := _of_kind(ones)) is not None}


def _of_kind(ones: list[ObservedDuration]) -> Learned | None:
    logs = [log(one.ratio) for one in ones if not one.at_most]
    so_far = median(logs) if logs else 0.0
    logs += [log(one.ratio) for one in ones if one.at_most and log(one.ratio) < so_far]
    if not logs:
        return None
    n, middle = len(logs), median(logs)
    own = MAD_TO_SIGMA * median(abs(value - middle) for value in logs)
    spread = sqrt((n * own**2 + PRIOR_N * PRIOR_SPREAD**2) / (n + PRIOR_N))
    return Learned(exp(middle * n / (n + PRIOR_N)), max(LEAST_SPREAD, spread), n)


def to_reckon_with(by_kind: Mapping[WorkKind, Learned]) -> dict[WorkKind, Learned]:
    """Return the kinds a forecast may use: all but those of yarn that lay waiting."""
    return {kind: each for kind, each in by_kind.items() if kind not in LYING}


def expected_min(kind: WorkKind, planned_min: float, by_kind: Mapping[WorkKind, Learned]) -> float:
    """Return the minutes to expect of work the plan gives ``planned_min``; the plan's where nothing is known."""
    return planned_min * by_kind[kind].factor if kind in by_kind else planned_min
