"""The acid that the bench offers for a load, and acid as it is typed."""

from __future__ import annotations

from collections.abc import Sequence

from dyeday import units
from dyeday.ahead.advising.next_step import NextStep
from dyeday.plan.model import Layer
from dyeday.terms import AcidPlace, State, Water
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.bath_contents import acid_offer
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import Now


def acid_goes_in(step: NextStep, layer: Layer) -> bool:
    """Tell whether acid goes in with a step."""
    return (
        bool(step.acid)
        or (step.to is State.SOAK and layer.acid_in is AcidPlace.SOAK)
        or (step.to is State.PAINT and layer.acid_in is not AcidPlace.SOAK)
    )


def acid_offered(
    day: Day,
    batches: Sequence[BatchRecord],
    step: NextStep,
    unit: str | None,
    now: Now,
    water: Water | None = None,
) -> str:
    """Return the dose, as the jug or the scale can do it, less what the bath has; nothing where it is not known."""
    first, water = batches[0], water or Water.NEW
    to, layer_no = step.to or first.state, step.layer or first.layer
    if step.acid:
        amount = step.acid
    elif unit is None:
        amount = sum(acid_offer(day, batch, to, None, now, water, layer_no).now for batch in batches)
    else:
        amount = acid_offer(day, first, to, unit, now, water, layer_no, batches).now
    return f"{round(amount, 3):g}" if amount else ""


def acid_missing(day: Day, batch: BatchRecord, now: Now) -> str:
    """Return what the bath a batch soaks in lacks of its dose, as it is offered; nothing where none is known."""
    if batch.state != State.SOAK or batch.unit is None or batch.current_layer.acid_in != AcidPlace.SOAK:
        return ""
    return acid_offered(day, [batch], NextStep(batch.no, to=State.SOAK), batch.unit, now)


def read_acid(day: Day, text: str) -> float:
    """Return typed acid in mL or g, as the plan's acid is measured. Raises QuantityError."""
    kind = units.VOLUME_ML if day.plan.acid.is_liquid else units.MASS_G
    return units.read(text, kind, low=0, high=1e6)
