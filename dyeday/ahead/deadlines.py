"""The latest start of each batch and each heat for the batch to reach its goal, rinsed or through heat, by the stop.

Only the batch's own steps and the hours of work count. Taking yarn out of heat has no deadline of its own.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import cast

from dyeday.ahead.foreseen_steps import Forecast
from dyeday.ahead.kernel.feasibility import past_steps
from dyeday.ahead.kernel.problem import Batch, Problem
from dyeday.plan.step_ids import StepId
from dyeday.quick_dataclass import dataclass
from dyeday.terms import StepKind
from dyeday.text import ordinal
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.progress import heats_of


@dataclass(frozen=True, slots=True)
class Deadline:
    """A step's latest start beside the start that the forecast has for it."""

    batch: str
    step: StepId
    at: datetime
    """the latest start"""
    by: datetime
    """when the heat of a load is on at the latest; ``at`` of any other step"""
    foreseen: datetime | None
    """None where the forecast has no such step, or leaves its batch for later days"""

    @property
    def slack_min(self) -> int | None:
        """Minutes from the foreseen to the latest start, negative if too late; None without a foreseen one."""
        return None if self.foreseen is None else round((self.at - self.foreseen).total_seconds() / 60)


def has_begun(batch: BatchRecord | None, heat: StepId) -> bool:
    """Return whether a batch has begun a heat since dye last went on; False without a batch."""
    return batch is not None and bool(heats_of(batch, heat.layer, heat.heat))


def heat_text(batch: BatchRecord | None, heat: StepId, on: str) -> str:
    """Return "2nd heat on", or "heat on again" for a heat that the batch began before; ``on`` is "on" or "off"."""
    return f"heat {on} again" if has_begun(batch, heat) else f"{ordinal(heat.heat)} heat {on}"


def deadlines(forecast: Forecast) -> list[Deadline]:
    """Return the latest starts of the next step and the loads of each batch that can meet the stop, soonest first."""
    problem = forecast.problem
    planned = {step.key: step for step in forecast.steps}
    out = []
    for batch in problem.batches:
        if not batch.counts or batch.goal is None:
            continue
        begins = _latest_starts(problem, batch, batch.goal)
        pending = [n for n in sorted(begins) if batch.steps[n].attended]
        if not pending or begins[pending[0]] < problem.now:
            continue
        ids = {n: cast(StepId, batch.steps[n].id) for n in pending}
        ids = {n: step_id for n, step_id in ids.items() if step_id.kind is not StepKind.UNLOAD}
        for n, step_id in ids.items():
            is_load = step_id.kind is StepKind.LOAD
            if is_load or n == min(ids):
                step = planned.get((str(batch.id), step_id))
                foreseen = step.start if step is not None and step.batch not in forecast.not_by_stop else None
                at = forecast.midnight + timedelta(minutes=begins[n])
                by = at + timedelta(minutes=batch.steps[n].minutes if is_load else 0)
                out.append(Deadline(str(batch.id), step_id, at, by, foreseen))
    return sorted(out, key=lambda deadline: deadline.at)


def _latest_starts(problem: Problem, batch: Batch, goal: int) -> dict[int, int]:
    """Return the latest start of each step to come, up to ``goal``; the first before ``problem.now`` if too late."""
    begins: dict[int, int] = {}
    for n in range(goal, len(past_steps(batch)) - 1, -1):
        step = batch.steps[n]
        ends = problem.stop if n == goal else begins[n + 1]
        for m in range(n + 1, goal + 1):
            for lag in batch.steps[m].lags:
                if lag.after == n:
                    ends = min(ends, begins[m] - lag.least)
        begins[n] = _place(problem, ends, step.minutes) if step.attended else ends - step.minutes
    return begins


def _place(problem: Problem, ends: int, minutes: int) -> int:
    """Return the last minute at which ``minutes`` of work fit into hours before ``ends``; one before now if never."""
    for opens, closes in reversed(problem.windows):
        start = (ends if closes is None else min(ends, closes)) - minutes
        if start >= opens:
            return start
    return problem.now - 1
