"""A day that follows the advice to its end, with minutes drawn at random: ``python -m tests.ahead.follow``.

Every step takes what it takes, is put on record, and the rest is forecast again. Printed is the forecast's error hour
by hour, and the finish beside that of working stage by stage with the very same minutes.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from random import Random
from typing import cast

from dyeday.ahead.accuracy import RecordedForecast, ended_at, on_record, recorded_forecasts, worth_recording
from dyeday.ahead.forecast import forecast
from dyeday.ahead.foreseen_steps import Forecast, Planned
from dyeday.ahead.from_day import problem_of
from dyeday.ahead.kernel.compile_problem import tabulate
from dyeday.ahead.kernel.compiled import BIG, Tables
from dyeday.ahead.kernel.constraints import soonest_start
from dyeday.ahead.kernel.decode import decode
from dyeday.ahead.kernel.partial_schedule import PartialSchedule, beginning
from dyeday.ahead.kernel.problem import Id, Problem, Step
from dyeday.ahead.problem_parts.hours import midnight
from dyeday.ahead.problem_parts.session_days import end_of_day_min
from dyeday.ahead.warnings import Fill, events_of
from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.step_ids import StepId, owner_text
from dyeday.terms import ChoreWhen, DayAim, State, StepKind
from dyeday.track.day.day_state import Day, Event
from dyeday.track.durations import PRIOR_SPREAD
from dyeday.track.events.movements import ChoreFinished, Moved
from dyeday.track.folding.fold import begin, take_all
from dyeday.track.timers.timers import tank_min
from dyeday.track.timestamp import Moment
from tests.fakes import HEAVY_DAY

IDLE_MIN = 30
"""how long hands that work stage by stage wait before they go on with the next stage"""
LONGEST = 2000
"""steps after which a run that gets nowhere is given up"""


@dataclass(frozen=True)
class Followed:
    """A day followed to its end, all of it on record."""

    day: Day
    forecasts: int
    steps: int
    changed: int
    """how often the advice changed its mind about the next step"""
    finish: datetime

    @property
    def recorded(self) -> list[RecordedForecast]:
        return list(recorded_forecasts(self.day))


def drawn_min(seed: int, batch: str, what: str, minutes: int) -> int:
    """Return what a step takes on the day of ``seed``; the same however the day is worked through."""
    rng = Random(f"{seed} {batch} {what}")  # noqa: S311 - no secret
    return max(1, round(minutes * rng.lognormvariate(0.0, PRIOR_SPREAD)))


@dataclass
class Following:
    """A day that is being followed."""

    day: Day
    at: datetime
    found: Forecast | None = None
    forecasts: int = 0
    steps: int = 0
    changed: int = 0


def following(plan: Plan, seed: int, evaluations: int) -> Iterator[Following]:
    """Yield the day after each step that was done as advised, until nothing is left for hands."""
    run = Following(begin(plan), midnight(plan) + timedelta(minutes=plan.session.start_min))
    while run.steps < LONGEST:
        found = run.found = forecast(
            run.day, Moment(run.at), evaluations=evaluations, before=run.found, seed=run.forecasts, warn=False
        )
        run.forecasts += 1
        run.changed += bool(found.changed)
        if worth_recording(run.day, found):
            run.day = take_all(run.day, [_on_record(found, run.at, run.forecasts)])
        painted = next(iter(_painted(run.day, found)), None)
        if painted is not None:
            # It was put down, and took longer before than was left of it.
            run.steps += 1
            run.at += timedelta(minutes=1)
            body = Moved(to=State.FIX, layer=run.day.batches[painted].layer)
            run.day = take_all(run.day, [Event(f"painted-{run.steps}", body, run.at, run.at, painted)])
            continue
        step = next((step for step in found.next_steps if not _ends_day(step)), None)
        if step is None:
            return
        if step.start > run.at:
            run.at = step.start
            continue
        run.steps += 1
        length = drawn_min(seed, owner_text(step.owner), step.id.text, step.minutes)
        if step.kind is StepKind.LOAD:
            length = max(length, step.minutes)  # heat waits for its place on the circuit, however soon it is loaded
        done = replace(step, start=run.at, end=run.at + timedelta(minutes=length))
        run.day = take_all(run.day, _recorded(run.day, done, found, run.steps))
        run.at = done.end
        yield run
    raise AssertionError(f"not at its end after {LONGEST} steps")


def _painted(day: Day, found: Forecast) -> Iterator[str]:
    """Yield batches at which hands are and of which nothing is left to paint."""
    left = {(step.batch, step.layer) for step in found.steps if step.kind.puts_dye_on}
    for batch in day.unsplit:
        if batch.state is State.PAINT and (batch.no, batch.layer) not in left:
            yield batch.no


def follow(plan: Plan, seed: int, evaluations: int) -> Followed:
    """Follow the advice from the session's start until nothing is left for hands."""
    if plan.session.aim != DayAim.TONIGHT:
        plan = replace(plan, session=replace(plan.session, aim=DayAim.TONIGHT))
    last = None
    for last in following(plan, seed, evaluations):
        ended = last.at
    assert last is not None
    return Followed(
        last.day, last.forecasts, last.steps, last.changed, ended + timedelta(minutes=end_of_day_min(plan))
    )


def followed_until(
    plan: Plan, seed: int, evaluations: int, wanted: Sequence[datetime]
) -> Iterator[tuple[Day, Moment]]:
    """Yield the day at the first step's end after each of some moments, as far as it lasts so long."""
    left = sorted(wanted)
    for run in following(plan, seed, evaluations) if left else ():
        if run.at >= left[0]:
            left = [moment for moment in left if moment > run.at]
            yield run.day, Moment(run.at)
            if not left:
                return


def _on_record(found: Forecast, at: datetime, number: int) -> Event:
    return Event(f"foreseen-{number}", on_record(found), at, at)


def _ends_day(step: Planned) -> bool:
    return step.id.when is ChoreWhen.END_OF_DAY


def _recorded(day: Day, step: Planned, found: Forecast, number: int) -> list[Event]:
    """Return what is put on record of a step that was done, with the heat or the drying that follows of itself."""
    if step.is_chore:
        done = ChoreFinished(**step.chore_data)
        return [Event(f"chore-{number}", done, step.end, step.end, step.batch or None)]
    after: list[Planned] = []
    fills: list[Fill] = []
    if step.kind in (StepKind.LOAD, StepKind.RINSE):
        follows = next(s for s in found.steps if s.batch == step.batch and not s.attended and s.start >= step.start)
        length = follows.end - follows.start
        after = [replace(follows, start=step.end, end=step.end + length)]
        tank = tank_min(day, step.unit, Moment(step.start)) if step.unit is not None else None
        if tank is not None and tank.left < length.total_seconds() / 60:
            fills = [(step.start, str(step.unit))]
    entries = events_of(day, [step, *after], step.start, fills)
    return [replace(event, id=f"{event.id}-{number}") for event in entries if event.at <= step.end]


def stages(plan: Plan, seed: int) -> int:
    """Return the minutes after the session's start at which hands are off, stage by stage with the same minutes."""
    day = begin(plan)
    problem = problem_of(day, Moment(midnight(plan) + timedelta(minutes=plan.session.start_min)), for_end=True)
    tables = tabulate(_drawn(problem, seed))
    return stage_by_stage(tables).now - problem.now + end_of_day_min(plan)


def stage_by_stage(tables: Tables) -> PartialSchedule:
    """Return how the day goes when every batch is dyed before the first is heated, and all are rinsed at the end.

    Within a stage whatever can begin first is done first; only where nothing of a stage can go on within half an
    hour is something of the next one done.
    """
    state = beginning(tables)
    order: list[int] = []
    ends = tables.first[1:]
    while True:
        left = [b for b in range(len(tables.batches)) if state.next_task[b] < ends[b]]
        if not left:
            return state
        starts = {b: soonest_start(tables, state, state.next_task[b]) for b in left}
        soonest = min(starts.values())
        can = [b for b in left if starts[b] < BIG and starts[b] <= soonest + IDLE_MIN]
        chosen = min(can, key=lambda b: (_stage(tables, state.next_task[b]), starts[b], b))
        order.append(chosen)
        assert decode(tables, order, state) is not None


def _stage(tables: Tables, task: int) -> int:
    """Return the stage of a task: 0 before dye and dye, 1 heat, 2 and 3 the same of a second layer, 9 the rinse."""
    batch, step = tables.batches[tables.batch_of[task]], tables.steps[task][0][0]
    what = cast(StepId, batch.steps[step].id)
    if what.kind is StepKind.RINSE:
        # What cools in its pot is lifted out with the heats of its layer: the pot is wanted again.
        return 1 if any(hold.kind == "pot" and hold.last == step for hold in batch.holds) else 9
    layer = what.layer - 1 if what.layer else 0
    return 2 * layer + (what.kind in (StepKind.LOAD, StepKind.UNLOAD) or what.when is ChoreWhen.AFTER_PAINT)


def _drawn(problem: Problem, seed: int) -> Problem:
    def drawn_step(of: Id, step: Step) -> Step:
        name = cast(StepId, step.id).text
        return replace(step, minutes=drawn_min(seed, owner_text(of), name, step.minutes)) if step.attended else step

    batches = tuple(
        replace(batch, steps=tuple(drawn_step(batch.id, step) for step in batch.steps)) for batch in problem.batches
    )
    return replace(problem, batches=batches)


def table(run: Followed) -> Iterator[str]:
    """Yield the forecast's error hour by hour."""
    yield "at     foreseen  late    error of the likely end"
    for one in run.recorded:
        kept = "" if one.by_late else ", later than late"
        said = f"{one.at:%H:%M}  {one.likely:%H:%M}     {one.late:%H:%M}"
        yield f"{said}   {one.error_min:+.0f} min{kept}"


def main() -> None:
    """Follow the heavy example's advice on some days."""
    parser = argparse.ArgumentParser(prog="python -m tests.ahead.follow")
    parser.add_argument("plan", type=Path, nargs="?", default=HEAVY_DAY)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--days", type=int, default=1)
    parser.add_argument("--evaluations", type=int, default=300, help="for each question of each forecast")
    options = parser.parse_args()
    plan = read_plan(options.plan.read_text(encoding="utf-8"))
    for seed in range(options.seed, options.seed + options.days):
        run = follow(plan, seed, options.evaluations)
        start = midnight(plan) + timedelta(minutes=plan.session.start_min)
        took, naive = round((run.finish - start).total_seconds() / 60), stages(plan, seed)
        assert ended_at(run.day) is not None
        print(f"day {seed}: {run.steps} steps, {run.forecasts} forecasts, {run.changed} changes of advice")
        print("\n".join(table(run)))
        print(f"finished after {took} min, stage by stage {naive} min: {naive - took} min earlier\n")


if __name__ == "__main__":
    main()
