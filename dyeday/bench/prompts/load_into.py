"""A load on offer in one unit with new or kept water: what an offer's lines and its acid are worked out from."""

from __future__ import annotations

from functools import cached_property

from dyeday import units
from dyeday.ahead.advising.next_step import NextStep
from dyeday.plan.model import Kit, Layer, Plan
from dyeday.quick_dataclass import dataclass
from dyeday.terms import AcidPlace, DyeMethod, State, Water
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.bath_contents import AcidOffer, acid_offer, may_keep
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import Now


@dataclass(frozen=True)
class LoadInto:
    """The ``step`` that ``batches`` take together, into ``unit`` if it needs one; ``water`` None: not said yet."""

    day: Day
    batches: tuple[BatchRecord, ...]
    step: NextStep
    now: Now
    unit: str | None = None
    water: Water | None = None

    @property
    def plan(self) -> Plan:
        """The day's plan."""
        return self.day.plan

    @property
    def batch(self) -> BatchRecord:
        """The first batch, which stands for all of a load that is alike."""
        return self.batches[0]

    @property
    def wof_g(self) -> float:
        """The dry weight of the whole load, g."""
        return sum(batch.wof_g for batch in self.batches)

    @property
    def layer_no(self) -> int:
        """The number of the layer that the step is of, from 1."""
        return self.step.layer or self.batch.layer

    @property
    def layer(self) -> Layer:
        """The layer that the step is of."""
        return self.batch.colourway.layer_of(self.layer_no)

    @property
    def is_immersed(self) -> bool:
        """Whether the layer is dyed in a bath."""
        return self.layer.how is DyeMethod.IMMERSED

    @property
    def kit(self) -> Kit | None:
        """The kit that the unit is one of."""
        return self.plan.kit_of(self.unit) if self.unit is not None else None

    @cached_property
    def may_keep_water(self) -> bool:
        """Whether the bath of the load before may still be in the unit, and this step could use it."""
        soaks = self.step.to is State.SOAK and self.layer.acid_in is AcidPlace.SOAK
        return (soaks or (self.step.to is State.PAINT and self.is_immersed)) and may_keep(self.day, self.unit)

    @property
    def acid_goes_in(self) -> bool:
        """Whether acid goes in with the step."""
        in_soak = self.layer.acid_in is AcidPlace.SOAK
        return bool(self.step.acid) or self.step.to is (State.SOAK if in_soak else State.PAINT)

    def acid_offer(self, water: Water | None = None) -> AcidOffer:
        """Return the acid that the bath wants with ``water``, by default that of the load, else new water."""
        to = self.step.to or self.batch.state
        kept_or_new = water or self.water or Water.NEW
        return acid_offer(self.day, self.batch, to, self.unit, self.now, kept_or_new, self.layer_no, self.batches)

    @cached_property
    def acid_amount(self) -> str:
        """The acid offered, mL or g, less what the bath has; "" where none goes in or none is known."""
        if not self.acid_goes_in:
            return ""
        if self.step.acid:
            amount = self.step.acid
        elif self.unit is None:
            alone = (LoadInto(self.day, (batch,), self.step, self.now, None, self.water) for batch in self.batches)
            amount = sum(load.acid_offer().now for load in alone)
        else:
            amount = self.acid_offer().now
        return f"{round(amount, 3):g}" if amount else ""

    def volume(self, volume_ml: float) -> str:
        """Return a volume in mL as the plan's jug can measure it, with its unit."""
        return units.show_volume(volume_ml, self.plan.session.units, self.plan.jug_ml)


def acid_missing(day: Day, batch: BatchRecord, now: Now) -> str:
    """Return what the bath a batch soaks in lacks of its dose, mL or g; "" where it lacks none or soaks in none."""
    if batch.state is not State.SOAK or batch.unit is None:
        return ""
    return LoadInto(day, (batch,), NextStep(batch.no, to=State.SOAK), now, batch.unit).acid_amount


def read_acid(day: Day, text: str) -> float:
    """Return typed acid in mL or g, as the plan's acid is measured. Raises QuantityError."""
    kind = units.VOLUME_ML if day.plan.acid.is_liquid else units.MASS_G
    return units.read(text, kind, low=0, high=1e6)
