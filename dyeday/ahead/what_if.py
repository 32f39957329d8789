"""What would change the day: one more unit of a kind, an hour later, a batch left out; in minutes and batches.

Every answer starts from the best sequence of the day as it is, so none can come out worse than it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace

from dyeday.ahead.brought import more_rinsed
from dyeday.ahead.followed_rows import counted_by_stop, last_attended
from dyeday.ahead.foreseen_steps import Forecast
from dyeday.ahead.from_day import both_problems
from dyeday.ahead.kernel.problem import Problem, Row, Solution
from dyeday.ahead.kernel.search import COUNT, END, solve
from dyeday.ahead.problem_parts.batch_route import NOTHING_LEARNED
from dyeday.ahead.problem_parts.hours import time_text
from dyeday.ahead.problem_parts.session_days import stop_min_at
from dyeday.plan.model import Plan
from dyeday.plan.step_ids import owner_text
from dyeday.quick_dataclass import dataclass
from dyeday.terms import KIT_TRAITS, State, WorkKind
from dyeday.text import counted
from dyeday.track.day.batch_record import UnitRecord
from dyeday.track.day.day_state import Day
from dyeday.track.durations.learned_times import Learned
from dyeday.track.timestamp import Moment, length_text

AN_HOUR_MIN = 60
EVALUATIONS = 400
"""for each question of each change"""


@dataclass(frozen=True, slots=True)
class Change:
    """A change in words ("steamer +1", "stop 21:00", "without 07"), and the changed day."""

    label: str
    day: Day


@dataclass(frozen=True, slots=True)
class Gain:
    """The gain of a change: minutes that all is rinsed earlier, and more batches by the stop; negative: a loss.

    A batch that is left out does not count, so these are the others.
    """

    label: str
    minutes: int
    batches: int
    rinsed: int = 0
    """batches more that are rinsed by the stop, where ``batches`` counts those through their heat"""


def changes(day: Day, now: Moment) -> Iterator[Change]:
    """Yield one more unit of each kit that a step takes, an hour later, and leaving out each batch."""
    for kit in day.plan.kit:
        if not KIT_TRAITS[kit.kind].scheduled or not kit.units:
            continue
        yield Change(f"{kit.name} +1", with_units(day, kit.name, 1))
    later = stop_min_at(day.plan, now.utc) + AN_HOUR_MIN
    yield Change(f"stop {time_text(later)}", with_stop(day, later))
    for batch in day.unsplit:
        if batch.is_unfinished and batch.state not in (State.SET_ASIDE, State.DRY):
            yield Change(f"without {batch.no}", without_batches(day, (batch.no,)))


def with_units(day: Day, name: str, more: int) -> Day:
    """Return the day with ``more`` (or fewer) units of the kit called ``name``, never less than none."""
    kit = tuple(replace(k, units=max(0, k.units + more)) if k.name == name else k for k in day.plan.kit)
    return on_plan(day, replace(day.plan, kit=kit))


def with_stop(day: Day, stop_min: int) -> Day:
    """Return ``day`` with its stop at ``stop_min``, minutes from midnight of its date."""
    return on_plan(day, replace(day.plan, session=replace(day.plan.session, stop_min=stop_min)))


def without_batches(day: Day, numbers: Sequence[str]) -> Day:
    """Return the day as if some batches and their parts did not exist; what they lie in counts as free."""
    left = {no: batch for no, batch in day.batches.items() if not {*day.lineage(batch)} & {*numbers}}
    return replace(day, batches=left)


def on_plan(day: Day, plan: Plan) -> Day:
    """Return the day with another plan's kit and hours; units that are new stand ready."""
    units = {name: day.units.get(name) or UnitRecord(name) for name in plan.unit_names}
    return replace(day, plan=plan, units=units)


def _answers(
    problems: tuple[Problem, Problem], warm: Sequence[Sequence[Row]], evaluations: int
) -> tuple[Solution, Solution]:
    """Return the answers to both questions about a day, each searched from rows."""
    late, stop = problems
    return solve(late, END, 0, evaluations, None, warm[0]), solve(stop, COUNT, 0, evaluations, None, warm[1])


def gains(
    day: Day,
    now: Moment,
    forecast: Forecast,
    *,
    learned: Mapping[WorkKind, Learned] = NOTHING_LEARNED,
    evaluations: int = EVALUATIONS,
    wanted: Callable[[], bool] = lambda: True,
    asked: Sequence[Change] | None = None,
) -> Iterator[Gain]:
    """Yield the gain of each change as it is computed, until ``wanted()`` is false.

    The unchanged day gets the same search from the same sequence, so that a gain never comes from more searching.
    """
    base = both_problems(day, now, learned)
    before = _answers(base, (forecast.tonight.rows, forecast.by_stop.rows), evaluations)
    tonight, by_stop = _answers(base, [answer.rows for answer in before], evaluations)
    not_by_stop = _not_by_stop(base[1], by_stop)
    for change in changes(day, now) if asked is None else asked:
        if not wanted():
            return
        other = both_problems(change.day, now, learned)
        gone = set(day.batches) - set(change.day.batches)
        warm = [[row for row in answer.rows if row.batch not in gone] for answer in before]
        late, stop = _answers(other, warm, evaluations)
        minutes = _end(base[0], tonight) - _end(other[0], late)
        more = len(not_by_stop - gone) - len(_not_by_stop(other[1], stop))
        yield Gain(change.label, max(0, minutes), max(0, more))


def _end(problem: Problem, solution: Solution) -> int:
    return max(problem.now, last_attended(solution.rows))


def _not_by_stop(problem: Problem, solution: Solution) -> set[str]:
    return set(counted_by_stop(problem, solution.rows).carried)


def gain_of(label: str, before: Forecast, after: Forecast) -> Gain:
    """Return the gain between the forecasts without and with the change."""
    minutes = round((before.finish - after.finish).total_seconds() / 60)
    there = {owner_text(batch.id) for batch in after.problem.batches}
    batches = sum(no in there for no in before.not_by_stop) - len(after.not_by_stop)
    return Gain(label, minutes, batches, more_rinsed(before, after))


def gain_text(gain: Gain) -> str:
    """Return "24 min earlier, 1 batch more by stop"."""
    way = "earlier" if gain.minutes > 0 else "later"
    parts = [f"{length_text(abs(gain.minutes))} {way}"] if gain.minutes else []
    for more, done in ((gain.batches, "by stop"), (gain.rinsed, "rinsed by stop")):
        if more:
            parts.append(f"{counted(abs(more), 'batch', 'batches')} {'more' if more > 0 else 'fewer'} {done}")
    return ", ".join(parts) or "no gain"
