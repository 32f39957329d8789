"""A forecast as plain values: every step with its times, when the day ends, and what is rinsed by stop."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from dyeday.plan.step_ids import ChoreId, StepId
from dyeday.quick_dataclass import dataclass
from dyeday.terms import State, StepKind, WarningKind
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import Moment

if TYPE_CHECKING:
    from dyeday.ahead.kernel.problem import Problem, Solution

_STATES = {
    StepKind.SOAK_LOAD: State.SOAK, StepKind.SOAK: State.SOAK, StepKind.PAINT: State.PAINT,
    StepKind.SPECKLE: State.PAINT, StepKind.DYE: State.PAINT, StepKind.LOAD: State.FIX, StepKind.HEAT: State.FIX,
    StepKind.UNLOAD: State.FIX, StepKind.RINSE: State.RINSE, StepKind.DRY: State.DRY,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Planned:
    """One step of a batch, a lot or the day, as the forecast plans it."""

    owner: str | ChoreId
    """a batch's number, or a chore of a lot or of the day"""
    id: StepId
    """its identity within ``owner``"""
    unit: str | None
    start: datetime
    end: datetime
    attended: bool
    put_down: bool = False
    """whether it is put down at its end and taken up again later"""

    @property
    def batch(self) -> str:
        """Its batch's number, empty for a chore of a lot or of the day."""
        return self.owner if isinstance(self.owner, str) else ""

    @property
    def key(self) -> tuple[str | ChoreId, StepId]:
        """Its identity in the schedule."""
        return self.owner, self.id

    @property
    def kind(self) -> StepKind:
        """What is done."""
        return self.id.kind

    @property
    def is_chore(self) -> bool:
        """Whether it is a chore, of a batch or not."""
        return self.id.kind is StepKind.CHORE

    @property
    def state(self) -> State | None:
        """The state of its batch meanwhile; None for a chore, and for what is done in mid-heat or to a tank."""
        return _STATES.get(self.id.kind)

    @property
    def chore_data(self) -> dict[str, Any]:
        """The fields by which an entry names a chore; none for any other step."""
        if not self.is_chore:
            return {}
        layer = {"layer": self.id.layer} if self.id.layer else {}
        first = self.owner.first_of_lot if isinstance(self.owner, ChoreId) else ""
        lot = {"first_of_lot": first} if first else {}
        return {"chore": self.id.chore, "when": self.id.when, **layer, **lot}

    @property
    def heat_no(self) -> int | None:
        """The number of its heat within the layer, from 1; None where it is not of a heat."""
        return self.id.heat or None

    @property
    def layer(self) -> int | None:
        """The layer a soak, a heat or dye is of, from 1; None for any other step."""
        return self.id.layer or None if not self.is_chore else None

    @property
    def minutes(self) -> int:
        """How long it takes, in whole minutes."""
        return round((self.end - self.start).total_seconds() / 60)


@dataclass(frozen=True, slots=True)
class Warned:
    """What will go wrong unless you act."""

    kind: WarningKind
    about: str
    """a batch, several ("01, 02"), a unit, a circuit or an order's item"""
    at: datetime
    """when it goes wrong, or when to prevent it at the latest"""
    text: str
    do: str = ""
    """the remedy, if there is one"""

    def __str__(self) -> str:
        return f"{self.text}: {self.do}" if self.do else self.text


@dataclass(frozen=True, slots=True)
class Forecast:
    """The rest of the day, as foreseen at a moment: two answers, and the steps that give one of them."""

    at: Moment
    day: Day
    """the day that it is of, as it was at ``at``"""
    finish: datetime
    """when hands finish if all is done tonight, the chores that end the day too; whatever ``steps`` aim at"""
    finish_late: datetime
    """by when nine such days in ten are over (`minutes_late`)"""
    late_scale: float
    """the studio's own factor that is in ``finish_late``"""
    reached: int
    """batches rinsed by the stop, or with ``counts_heat`` through their heat; those done or drying too"""
    of: int
    """batches in all, without those set aside or scrapped"""
    not_by_stop: tuple[str, ...]
    """numbers of the others"""
    tomorrow_finish: datetime | None
    """when the work left for later days ends; None without any, or where those have no time for it"""
    stop: datetime
    """when the day of the session that ``at`` is in ends by plan, its last chores included"""
    steps: tuple[Planned, ...]
    """by their start"""
    busy: tuple[tuple[str, float], ...]
    """(unit or "hands", share of the time that it is busy, from now to the end of work without the last chores)"""
    left_out: tuple[tuple[str, str], ...]
    """(batch or chore, why it cannot be finished on any day)"""
    for_end: bool
    """whether ``steps`` answer `END`, the earliest finish; else `COUNT`, the most batches by the stop"""
    evaluations: int
    earliest: Solution
    by_stop: Solution
    advised: Solution
    """the sequence of ``steps``; it stays until another is worth the change"""
    problem: Problem
    """what ``advised`` solves"""
    changed: str = ""
    """a sentence on why the next step changed, if there is one"""
    counts_heat: bool = False
    """whether ``reached`` counts batches once they are through their heat"""
    made_by_stop: tuple[int, datetime] | None = None
    """once the next day has begun: how many batches were through their heat by the session's stop, and that stop"""
    warned: tuple[Warned, ...] = ()
    """warnings, soonest first"""

    @property
    def midnight(self) -> datetime:
        """The instant from which ``problem`` counts its minutes."""
        return (self.at.utc - timedelta(minutes=self.problem.now)).replace(second=0, microsecond=0)

    @property
    def counted_as(self) -> str:
        """What ``reached`` counts, in words: "through heat" or "rinsed"."""
        return "through heat" if self.counts_heat else "rinsed"

    @property
    def last_heat(self) -> tuple[datetime | None, datetime | None]:
        """When the last heat begun by stop goes on, and when the last of these, or of those that are on, goes off."""
        heats = [step for step in self.steps if step.kind is StepKind.HEAT and step.start <= self.stop]
        to_come = {(step.owner, step.id.layer, step.id.heat) for step in self.steps if step.kind is StepKind.HEAT}
        off = (step for step in self.steps if step.kind is StepKind.UNLOAD)
        on = [step.start for step in off if (step.owner, step.id.layer, step.id.heat) not in to_come]
        return max((s.start for s in heats), default=None), max((*(s.end for s in heats), *on), default=None)

    def last_heat_text(self, when: Callable[[datetime], str]) -> str:
        """Return "last load in 22:10, last heat off 22:55" or either part; empty if nothing is heated."""
        words = zip(("last load in", "last heat off"), self.last_heat, strict=True)
        return ", ".join(f"{word} {when(moment)}" for word, moment in words if moment is not None)

    @property
    def rinses_by_stop(self) -> int:
        """How many of ``steps`` are rinses that end by the stop."""
        return sum(step.kind is StepKind.RINSE and step.end <= self.stop for step in self.steps)

    @property
    def fits(self) -> bool:
        """Whether every batch and all work are finished by the stop."""
        return not self.left_out and self.finish <= self.stop

    @property
    def left_over(self) -> list[str]:
        """The batches of ``not_by_stop`` without those that cannot be finished at all."""
        never = {batch for batch, _ in self.left_out}
        return [batch for batch in self.not_by_stop if batch not in never]

    @property
    def nothing_ends(self) -> bool:
        """Whether batches are left out, and no other one has work to come."""
        never = {of for of, _ in self.left_out}
        return bool(never) and not any(step.batch and step.batch not in never for step in self.next_steps)

    @property
    def next_steps(self) -> tuple[Planned, ...]:
        """All attended steps to come, in the order they begin."""
        return tuple(step for step in self.steps if step.attended)


Foresee = Callable[[Day, Moment, Forecast | None], Forecast]
"""forecasts a day from a moment, beginning with the forecast before, if any"""
