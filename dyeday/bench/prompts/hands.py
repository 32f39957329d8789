"""Hands: what each step takes of them, and when a pair is free for the next."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import cast

from dyeday.ahead.from_day import batch_of
from dyeday.ahead.problem_parts.hours import minute
from dyeday.plan.step_ids import DYE_STEP, StepId
from dyeday.quick_dataclass import dataclass
from dyeday.terms import HeatEdge, State, StepKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import Now


@dataclass(frozen=True, slots=True)
class HandWork:
    """What hands do with a batch in one go: it goes ``to`` a state, a heat starts or ends, or both."""

    batch: str
    to: State | None
    edge: HeatEdge | None
    heat_no: int = 0
    layer: int | None = None

    @property
    def is_brief(self) -> bool:
        """Whether it is done between two skeins of painting: a heat that is put on or taken off."""
        return self.edge is not None and self.to is not State.PAINT

    def minutes(self, day: Day, now: Now) -> int:
        """Return the whole minutes it takes of the hands, by the plan; 0 where it takes next to none."""
        batch = day.batches[self.batch]
        wanted = {*self._steps(batch)}
        is_first_of_lot = batch.mix not in {other.mix for other in day.live if other.painted}
        laid_out = batch_of(day, batch, minute(day.plan, now.utc), now, setup=is_first_of_lot) if wanted else None
        steps = laid_out.steps if laid_out is not None else ()
        return sum(step.minutes for step in steps if cast(StepId, step.id)._replace(part=0) in wanted)

    def _steps(self, batch: BatchRecord) -> Iterator[StepId]:
        layer = self.layer or batch.layer
        if self.to is State.SOAK:
            yield StepId(StepKind.SOAK_LOAD, layer)
        elif self.to is State.PAINT:
            yield StepId(DYE_STEP[batch.colourway.layer_of(layer).how], layer)
        elif self.to is State.RINSE:
            yield StepId(StepKind.RINSE)
        if self.edge is HeatEdge.START:
            yield StepId(StepKind.LOAD, layer, self.heat_no)
        elif self.edge is HeatEdge.END:
            yield StepId(StepKind.UNLOAD, layer, self.heat_no)


class Hands:
    """One pair of hands from ``since`` on, doing one thing after the other; painting is put down for a heat."""

    def __init__(self, since: Now) -> None:
        self.free = self._knob_free = since
        self._work: HandWork | None = None

    def free_for(self, work: HandWork) -> Now:
        """Return when hands can begin ``work``; a heat is taken off whatever else they do."""
        paints = self._work is not None and self._work.to is State.PAINT and not self.works_on(work.batch)
        if work.edge is HeatEdge.END or (work.is_brief and paints):
            return self._knob_free
        return max(self.free, self._knob_free)

    def works_on(self, batch: str) -> bool:
        """Tell whether a batch is what they worked on last."""
        return self._work is not None and self._work.batch == batch

    def take(self, work: HandWork, at: Now, length_min: float) -> None:
        """Do ``work`` from ``at`` on; what it interrupts takes so much longer."""
        end = at.later(length_min * 60)
        if not work.is_brief:
            self.free, self._work = max(self.free, end), work
            return
        self._knob_free = max(self._knob_free, end)
        if at < self.free:
            self.free = self.free.later(length_min * 60)


def freest(pairs: Sequence[Hands], work: HandWork) -> Hands:
    """Return the pair of hands that can begin ``work`` first."""
    return min(pairs, key=lambda pair: pair.free_for(work))
