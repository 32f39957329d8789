"""The steps of one batch while they are laid out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from math import ceil

from dyeday.ahead.kernel.problem import Hold, Lag, Step
from dyeday.ahead.problem_parts.off_early import OffEarly
from dyeday.plan.model import Chore, Layer
from dyeday.plan.step_ids import StepId
from dyeday.terms import StepKind, WorkKind
from dyeday.track.durations import OF_COOL, Learned, expected_min

NOTHING_LEARNED: Mapping[WorkKind, Learned] = {}
PAINT_PART_MIN = 5
"""least minutes of a part of painting, which is not interrupted: one skein or several"""
RINSE, DRY = StepId(StepKind.RINSE), StepId(StepKind.DRY)


@dataclass
class Route:
    """Its steps, what they hold and which have begun. A step's place is its number in ``steps``, from 0."""

    learned: Mapping[WorkKind, Learned]
    steps: list[Step] = field(default_factory=list)
    holds: list[Hold] = field(default_factory=list)
    past: list[tuple[int, int]] = field(default_factory=list)
    places: dict[StepId, int] = field(default_factory=dict)
    early: OffEarly | None = None
    """how the heat that is on ends early, if it does"""

    def add(self, step: StepId, minutes: float, **how: object) -> int:
        """Append a step of ``minutes``, rounded up, with the fields ``how`` of a Step; return its place."""
        self.steps.append(Step(step, max(0, ceil(minutes - 1e-6)), **how))  # type: ignore[arg-type]
        self.places[step] = len(self.steps) - 1
        return len(self.steps) - 1

    def chore(self, chore: Chore, minutes: float, layer: int = 0) -> int:
        """Append a chore; return its place."""
        return self.add(StepId(StepKind.CHORE, layer, chore=chore.name, when=chore.when), minutes)

    def heat(self, kind: StepKind, layer: int, heat: int) -> int:
        """Return the place of a load, a heat or an unloading."""
        return self.places[StepId(kind, layer, heat)]

    def dye_on(self, layer: int) -> int:
        """Return the place of the first step that puts a layer's dye on."""
        return next(place for step, place in self.places.items() if step.kind.puts_dye_on and step.layer == layer)

    def dyed_at(self, layer: int) -> int:
        """Return the place of the last step that puts a layer's dye on."""
        return max(place for step, place in self.places.items() if step.kind.puts_dye_on and step.layer == layer)

    def dye(self, step: StepId, minutes: float, skeins: int) -> int:
        """Append putting dye on, in parts between which it can be put down; return the place of the first."""
        whole = ceil(minutes - 1e-6)
        parts = max(1, min(skeins, whole // PAINT_PART_MIN))
        ends = [whole * n // parts for n in range(parts + 1)]
        places = [self.add(step._replace(part=n), ends[n + 1] - ends[n], goes_on=n + 1 < parts) for n in range(parts)]
        return places[0]

    def minutes(self, kind: WorkKind, planned: float) -> float:
        """Return the minutes to expect of a kind of work that the plan gives ``planned``."""
        return expected_min(kind, planned, self.learned)

    def cool(self, layer: Layer) -> int:
        """Return the minutes a layer cools: never less than the plan's, since a hot rinse does harm."""
        return ceil(max(layer.cool_min, self.minutes(OF_COOL[layer.cool_where], layer.cool_min)))

    def lag(self, place: int, lag: Lag) -> None:
        """Have the step at ``place`` wait for ``lag`` too."""
        step = self.steps[place]
        self.steps[place] = replace(step, lags=(*step.lags, lag))
