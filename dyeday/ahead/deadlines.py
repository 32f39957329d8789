"""The latest start of each batch and each heat for the batch to be rinsed by the stop.

Only the batch's own steps and the hours of work count.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import cast

from dyeday.ahead.foreseen_steps import Forecast, Planned
from dyeday.ahead.kernel.feasibility import past_steps
from dyeday.ahead.kernel.problem import Batch, Problem
from dyeday.ahead.problem_parts.tank_fills import with_fills
from dyeday.plan.model import Plan
from dyeday.plan.step_ids import StepId
from dyeday.quick_dataclass import dataclass
from dyeday.terms import StepKind
from dyeday.text import ordinal
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.progress import heats_of

AGAIN = "heat again"


@dataclass(frozen=True, slots=True)
class Deadline:
    """A step's latest start, and the start the forecast has for it; None where its batch is left for tomorrow."""

    batch: str
    step: StepId
    at: datetime
    foreseen: datetime | None

    @property
    def slack_min(self) -> int | None:
        """Minutes from the foreseen to the latest start, negative if too late; None without a foreseen one."""
        return None if self.foreseen is None else round((self.at - self.foreseen).total_seconds() / 60)


def had_before(batch: BatchRecord | None, id_: StepId) -> bool:
    """Return whether a batch with no heat on has had the heat of a step before, all of it or a part."""
    return batch is not None and batch.open_heat is None and bool(heats_of(batch, id_.layer, id_.heat))


def heat_words(batch: BatchRecord | None, load: StepId, on: str = "") -> str:
    """Return "2nd heat" with ``on`` after it, "layer 2 1st heat", or "heat again" for one the batch has had."""
    heat = AGAIN if had_before(batch, load) else f"{ordinal(load.heat)} heat{on}"
    return f"layer {load.layer} {heat}" if load.layer > 1 else heat


def filling(plan: Plan, steps: Iterable[Planned]) -> dict[tuple[str, StepId], timedelta]:
    """Return how long the tank is filled at the start of each load that fills it, by batch and load."""
    fills = (step for step in with_fills(plan, steps) if step.kind is StepKind.FILL)
    return {(step.batch, step.id._replace(kind=StepKind.LOAD)): step.end - step.start for step in fills}


def deadlines(forecast: Forecast) -> list[Deadline]:
    """Return the latest starts of each batch's next step and heats, soonest first, if the stop can be met."""
    problem = forecast.problem
    planned = {step.key: step for step in forecast.steps}
    out = []
    for batch in problem.batches:
        if not batch.counts or batch.goal is None:
            continue
        begins = latest_of(problem, batch)
        pending = [n for n in sorted(begins) if batch.steps[n].attended]
        if not pending or begins[pending[0]] < problem.now:
            continue
        for n in pending:
            step_id = cast(StepId, batch.steps[n].id)
            if n == pending[0] or step_id.kind is StepKind.LOAD:
                step = planned.get((str(batch.id), step_id))
                foreseen = step.start if step is not None and step.batch not in forecast.not_by_stop else None
                at = forecast.midnight + timedelta(minutes=begins[n])
                out.append(Deadline(str(batch.id), step_id, at, foreseen))
    return sorted(out, key=lambda deadline: deadline.at)


def latest_of(problem: Problem, batch: Batch) -> dict[int, int]:
    """Return the latest start of each step to come, up to the goal; before ``problem.now`` if no hours fit."""
    if batch.goal is None:
        return {}
    begins: dict[int, int] = {}
    for n in range(batch.goal, len(past_steps(batch)) - 1, -1):
        step = batch.steps[n]
        ends = problem.stop if n == batch.goal else begins[n + 1]
        for m in range(n + 1, batch.goal + 1):
            for lag in batch.steps[m].lags:
                if lag.after == n:
                    ends = min(ends, begins[m] - lag.least)
        begins[n] = _place(problem, ends, step.minutes) if step.attended else ends - step.minutes
    return begins


def _place(problem: Problem, ends: int, minutes: int) -> int:
    """Return the last minute at which ``minutes`` of uninterrupted work can start and be done by ``ends``.

    The minute before ``problem.now`` if no hours fit.
    """
    for opens, closes in reversed(problem.windows):
        start = (ends if closes is None else min(ends, closes)) - minutes
        if start >= opens:
            return start
    return problem.now - 1
