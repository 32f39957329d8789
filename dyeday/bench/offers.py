"""What the bench offers for a step, and the events that taking it records; nothing of the screen."""

from __future__ import annotations

from dyeday import units
from dyeday.ahead.steps import Step
from dyeday.bench.asks import Offer, Taken
from dyeday.bench.keeper import Draft
from dyeday.track.day import Day
from dyeday.track.flags.holding import too_much
from dyeday.track.record import BatchRecord
from dyeday.track.told import state_word


def offer_for(day: Day, batch: BatchRecord, step: Step) -> Offer:
    """Return the offer of a step: the units it may use with what is in them, and the acid that goes in."""
    choices = tuple((unit, _inside(day, unit, batch)) for unit in day.plan.units_of(step.unit_kind or ""))
    layer = batch.layer_of(step.layer or batch.layer)
    acid = (step.to == "soak" and layer.acid_in == "soak") or (step.to == "paint" and layer.acid_in != "soak")
    label = f"acid {'mL' if day.plan.acid.is_liquid else 'g'} of {day.plan.acid.kind}" if acid else ""
    where = f" in {step.unit}" if step.unit and step.run != "end" else ""
    title = f"{batch.no} {batch.colourway.name}, now {state_word(batch)}:  {step.text}{where}"
    return Offer(
        title=title,
        units=choices,
        unit=step.unit,
        amount_label=label,
        looks=step.to == "rinse",
        read_amount=lambda text: f"{read_acid(day, text):g}",
    )


def read_acid(day: Day, text: str) -> float:
    """Return typed acid in mL or g, as the plan's acid is measured. Raises QuantityError."""
    kind = units.VOLUME_ML if day.plan.acid.is_liquid else units.MASS_G
    return units.read(text, kind, low=0, high=1e6)


def acid_draft(day: Day, batch: BatchRecord, amount: float, unit: str | None) -> Draft:
    """Return the event of acid put in: into the bath of ``unit`` where there is one, else with the batch."""
    key = "acid_ml" if day.plan.acid.is_liquid else "acid_g"
    data: dict[str, object] = {key: amount}
    if unit is not None:
        data["unit"] = unit
    return Draft("acid put in", batch.no, data)


def _inside(day: Day, unit: str, batch: BatchRecord) -> str:
    if day.units[unit].is_down:
        return " (down)"
    others = [other for other in day.in_unit(unit) if other.no != batch.no]
    if not others:
        return ""
    kit = day.plan.kit_of(unit)
    full = kit is not None and too_much(kit, [*others, batch])
    return f" ({'+'.join(other.no for other in others)}{', full' if full else ''})"


def drafts_for(day: Day, batch: BatchRecord, step: Step, taken: Taken) -> list[Draft]:
    """Return the events of a step that was taken."""
    drafts = []
    if step.to == "rinse" and taken.look:
        # Looked at before the water runs, so it is recorded before the rinse.
        drafts.append(Draft("reading", batch.no, {"reading": "eye", "value": taken.look}))
    if step.run is not None:
        data: dict[str, object] = {"pass": step.pass_no, "run": step.run}
        if taken.unit is not None and step.run != "end":
            data["unit"] = taken.unit
        drafts.append(Draft("pass", batch.no, data))
        return drafts
    data = {"to": step.to}
    if step.layer is not None:
        data["layer"] = step.layer
    if taken.unit is not None:
        data["unit"] = taken.unit
    drafts.append(Draft("moved", batch.no, data))
    if taken.amount:
        unit = taken.unit if step.to == "soak" or (step.to == "paint" and batch.the_layer.how == "immersed") else None
        drafts.append(acid_draft(day, batch, float(taken.amount), unit))
    return drafts
