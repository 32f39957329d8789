"""The identity of a step of the schedule: a kind, a layer, a heat, or a chore of any name."""

from __future__ import annotations

import re
from typing import NamedTuple

from dyeday.terms import ChoreWhen, DyeMethod, StepKind
from dyeday.text import ordinal

DYE_STEP = {DyeMethod.PAINTED: StepKind.PAINT, DyeMethod.SPECKLED: StepKind.SPECKLE, DyeMethod.IMMERSED: StepKind.DYE}
"""how a layer is dyed to the step that puts its dye on"""


class StepId(NamedTuple):
    """One step of one batch. ``layer`` and ``heat`` count from 1, 0 where the kind has none."""

    kind: StepKind
    layer: int = 0
    heat: int = 0
    chore: str = ""
    """a chore's own name"""
    when: ChoreWhen | None = None
    """when a chore is done"""
    part: int = 0
    """The number, from 0, of a part of painting or acid, or of a dish; of a heat or unloading 1 if it goes on."""

    @property
    def text(self) -> str:
        """The step as it is stored and as JSON has it: "load 1.2", "soak load 1", "rinse", "wrap after 1"."""
        if self.kind is StepKind.CHORE:
            after = " after" if self.when is ChoreWhen.AFTER_PAINT else ""
            return f"{self.chore}{after} {self.layer}" if self.layer else self.chore
        if self.heat:
            return f"{self.kind.value} {self.layer}.{self.heat}"
        return f"{self.kind.value} {self.layer}" if self.layer else self.kind.value

    @property
    def words(self) -> str:
        """The step in words: "2nd heat on", "into the soak", "paint, layer 2", a chore's name."""
        layer = f", layer {self.layer}" if self.layer > 1 else ""
        match self.kind:
            case StepKind.SOAK_LOAD:
                return f"into the soak{layer}"
            case StepKind.FILL:
                return "fill the tank"
            case StepKind.ACID:
                return f"{ordinal(self.part + 2)} part of the acid{layer}"
            case StepKind.DISH:
                return f"next dish, {ordinal(self.heat)} heat{layer}"
            case StepKind.LOAD:
                return f"{ordinal(self.heat)} heat on{layer}"
            case StepKind.HEAT:
                return f"{ordinal(self.heat)} heat{layer}"
            case StepKind.UNLOAD:
                return f"{ordinal(self.heat)} heat off{' for now' if self.part else ''}{layer}"
        what = self.chore if self.kind is StepKind.CHORE else self.kind.value
        return f"{what}{layer}{', continued' if self.part else ''}"


class ChoreId(NamedTuple):
    """A chore of a lot or of the whole day, in place of a batch in the schedule."""

    name: str
    when: ChoreWhen | None
    first_of_lot: str = ""
    """the number of its first batch; empty for a chore of the day"""

    @property
    def text(self) -> str:
        """The chore as entries recorded it before lots had a key of their own: "mix 03", "sweep"."""
        return f"{self.name} {self.first_of_lot}" if self.first_of_lot else self.name


_STORED = re.compile(r"(soak load|soak|paint|speckle|dye|load|run|unload|rinse|dry)(?: (\d+)(?:\.(\d+))?)?")


def stored_step(text: str) -> StepId:
    """Return the step that a stored advice names; any other text is a chore's name, as older entries have it."""
    match = _STORED.fullmatch(text)
    step = StepId(StepKind(match[1]), int(match[2] or 0), int(match[3] or 0)) if match else None
    return step if step is not None and step.text == text else StepId(StepKind.CHORE, chore=text)


def owner_text(owner: object) -> str:
    """Return the owner of a step in words: a batch's number, or a chore's name and lot."""
    return owner.text if isinstance(owner, ChoreId) else str(owner)
