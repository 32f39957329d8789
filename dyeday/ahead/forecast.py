"""Both answers about the rest of a day: how late tonight, and how much by stop; with the steps that lead there.

Asked again after every event and every minute with what really happened. Time comes in as `Now` and as a budget;
the same day, moment, seed and number of evaluations give the same answer.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import ceil
from random import Random

from dyeday.ahead.from_day import end_of_day_min, midnight, minute, problem_of
from dyeday.ahead.problem import Problem, Row, Solution
from dyeday.ahead.search import solve
from dyeday.track.day import Day
from dyeday.track.instant import Now

TONIGHT, BY_STOP = 1, 2
SPREAD = 0.15
"""Attended minutes vary by about this share of themselves until a studio's own times are known; common practice."""
REPLAYS = 20
LATE_SHARE = 0.9
"""one day in ten is later than the late answer"""


@dataclass(frozen=True, slots=True)
class Planned:
    """One step as foreseen. ``what`` is its name in the schedule: soak load 1, paint 1, run 1.2, rinse, dry."""

    batch: str
    what: str
    unit: str | None
    start: datetime
    end: datetime
    attended: bool

    @property
    def step(self) -> str:
        """The state or chore: soak, paint, fix, rinse, dry, or the chore's name."""
        word = self.what.split(" ")[0]
        if word in ("load", "run", "unload"):
            return "fix"
        return {"speckle": "paint", "dye": "paint"}.get(
            word, word if word in ("soak", "paint", "rinse", "dry") else self.what
        )

    @property
    def pass_no(self) -> int | None:
        return int(self.what.rsplit(".", 1)[1]) if self.step == "fix" else None


@dataclass(frozen=True, slots=True)
class Forecast:
    """The rest of the day. ``serving`` is the question the steps answer: 1 tonight, 2 by stop."""

    at: Now
    hands_off: datetime
    hands_off_late: datetime
    rinsed: int
    of: int
    carried: tuple[str, ...]
    tomorrow_hands_off: datetime | None
    stop: datetime
    steps: tuple[Planned, ...]
    busy: tuple[tuple[str, float], ...]
    """(unit or "hands", share of the time from now to hands-off it is busy)"""
    left_out: tuple[tuple[str, str], ...]
    serving: int
    evaluations: int
    tonight: Solution
    by_stop: Solution

    @property
    def fits(self) -> bool:
        return not self.left_out and self.hands_off <= self.stop


def forecast(
    day: Day,
    now: Now,
    *,
    evaluations: int | None = None,
    spent: Callable[[], bool] | None = None,
    seed: int = 0,
    before: Forecast | None = None,
    replays: int = REPLAYS,
) -> Forecast:
    """Return the forecast of ``day`` from ``now``, each question with ``evaluations`` or until ``spent()``.

    ``before`` is an earlier forecast to start from, so that advice stays where it is as good.
    """
    tonight_problem = problem_of(day, now, tonight=True)
    stop_problem = problem_of(day, now, tonight=False)
    warm = before.tonight.rows if before is not None else None
    tonight = solve(tonight_problem, TONIGHT, seed, evaluations, spent, warm)
    by_stop = solve(stop_problem, BY_STOP, seed, evaluations, spent, before.by_stop.rows if before else None)
    start = midnight(day.plan)
    # Where all fits before stop, the earliest end answers both questions.
    whole = last_attended(tonight.rows) <= stop_problem.stop and not tonight.value.late
    serving = TONIGHT if day.plan.session.serves == "tonight" or whole else BY_STOP
    chosen = tonight if serving == TONIGHT else by_stop

    def moment(minutes: float) -> datetime:
        return start + timedelta(minutes=minutes)

    last = end_of_day_min(day.plan)
    end = max(last_attended(tonight.rows), tonight_problem.now) + (last if tonight.rows else 0)
    goals = {b.name: b.steps[b.goal].name for b in stop_problem.batches if b.counts and b.goal is not None}
    finished = {row.batch: row.end for row in by_stop.rows if goals.get(row.batch) == row.step}
    past = {b.name for b in stop_problem.batches if b.counts and b.goal is not None and len(b.past) > b.goal}
    rinsed = {name for name, ended in finished.items() if ended <= stop_problem.stop} | past
    carried = tuple(sorted(name for name in goals if name not in rinsed))
    tomorrow = last_attended([row for row in by_stop.rows if row.start >= stop_problem.stop]) if carried else 0
    return Forecast(
        at=now,
        hands_off=moment(end),
        hands_off_late=moment(late_end(tonight_problem, tonight, seed, replays) + (last if tonight.rows else 0)),
        rinsed=len(rinsed),
        of=len(goals),
        carried=carried,
        tomorrow_hands_off=moment(tomorrow) if tomorrow else None,
        stop=moment(day.plan.session.stop_min),
        steps=tuple(
            Planned(r.batch, r.step, r.unit, moment(r.start), moment(r.end), r.attended) for r in chosen.rows
        ),
        busy=tuple(busy_shares(tonight_problem, tonight.rows)),
        left_out=tonight.left_out,
        serving=serving,
        evaluations=tonight.evaluations + by_stop.evaluations,
        tonight=tonight,
        by_stop=by_stop,
    )


def last_attended(rows: Sequence[Row]) -> int:
    """Return the minute at which the last attended step ends, 0 where there is none."""
    return max((row.end for row in rows if row.attended), default=0)


def late_end(problem: Problem, solution: Solution, seed: int, replays: int) -> int:
    """Return the minute hands are off on one day in ten at the latest: the same order with drawn minutes.

    Attended minutes are drawn around the plan's with a spread of 15 % (log-normal, so never negative).
    """
    likely = max(last_attended(solution.rows), problem.now)
    if not solution.rows or replays <= 0:
        return likely
    rng = Random(seed)  # noqa: S311 - no secret
    ends = sorted(
        max(last_attended(solve(_drawn(problem, rng), TONIGHT, seed, 1, None, solution.rows).rows), problem.now)
        for _ in range(replays)
    )
    return max(likely, ends[min(len(ends) - 1, ceil(LATE_SHARE * len(ends)) - 1)])


def _drawn(problem: Problem, rng: Random) -> Problem:
    batches = []
    for batch in problem.batches:
        steps = tuple(
            replace(step, minutes=max(1, round(step.minutes * rng.lognormvariate(0.0, SPREAD))))
            if step.attended and step.minutes > 0
            else step
            for step in batch.steps
        )
        batches.append(replace(batch, steps=steps))
    return replace(problem, batches=tuple(batches))


def busy_shares(problem: Problem, rows: Sequence[Row]) -> list[tuple[str, float]]:
    """Return how much of the time from now to hands-off the hands and each unit are busy."""
    end = last_attended(rows)
    span = max(1, end - problem.now)
    sums: dict[str, int] = {"hands": 0, **{unit.name: 0 for unit in problem.units}}
    for row in rows:
        length = max(0, min(row.end, end) - max(row.start, problem.now))
        if row.attended:
            sums["hands"] += length
        if row.unit is not None:
            sums[row.unit] = sums.get(row.unit, 0) + length
    return [(name, min(1.0, busy / span)) for name, busy in sums.items()]


def next_planned(found: Forecast, day: Day, most: int = 3) -> list[Planned]:
    """Return the next attended steps for these hands, in the order they begin."""
    return [step for step in found.steps if step.attended][:most]


def why(step: Planned, found: Forecast, day: Day) -> str:
    """Return the reason for a step in one short sentence: what it waits for, or what waits for it."""
    following = next(
        (s for s in found.steps if s.batch == step.batch and s.start >= step.end and s is not step), None
    )
    start = minute(day.plan, step.start)
    if start > minute(day.plan, found.at.utc):
        return f"from {step.start.astimezone():%H:%M}"
    if following is not None and following.unit is not None and following.what.startswith("run"):
        return f"so {following.unit} runs"
    if following is not None and not following.attended:
        return f"so its {following.step} begins"
    return "next in the day's order"
