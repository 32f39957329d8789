"""A step of the timetable in words: what to see to before it, and when a load's heat is switched on."""

from __future__ import annotations

from collections.abc import Iterator

from dyeday.ahead.advising.next_up import open_before_rinse
from dyeday.ahead.advising.still_to_do import soaks_from
from dyeday.ahead.deadlines import has_begun, heat_text
from dyeday.ahead.foreseen_steps import Forecast, Planned
from dyeday.terms import DyeMethod, KitKind, State, StepKind
from dyeday.text import batches_text
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.flags.exhausting import needs_another_look, needs_look
from dyeday.track.timestamp import time_text_on


def step_words(step: Planned, forecast: Forecast, day: Day) -> str:
    """Return a step in words, after what to see to before it: "look, rinse", "see flag, load, 1st heat on 14:28"."""
    batch, words = day.batches.get(step.batch), step.id.words
    if batch is None:
        return words
    if (since := soaks_from(step, forecast)) is not None:
        return f"{words}, not before {time_text_on(since, day.plan.session.zone, forecast.at.utc)}"
    if step.kind is StepKind.LOAD and step.minutes and batch.layer_of(step.id.layer).how is not DyeMethod.IMMERSED:
        words = ", ".join(_load_words(step, batch, forecast, day))
    elif step.kind is StepKind.UNLOAD and not step.id.part and _loads(step, forecast):
        words = f"{heat_text(batch, step.id, 'off')}{_layer(step)}"
    if step.start > next((one.start for one in forecast.next_steps if one.owner == step.owner), step.start):
        again = step.kind is StepKind.RINSE and needs_another_look(day, batch, forecast.at)
        return f"look, {words}" if again else words
    look = "look, " if needs_look(day, batch, forecast.at) else ""
    return f"{'see flag, ' if open_before_rinse(day, batch, forecast.at) else look}{words}"


def unit_words_of(step: Planned, day: Day) -> str:
    """Return the unit of a step; of painting the tray that the yarn comes from: "from tray 1"."""
    kit = day.plan.kit_of(step.unit)
    if kit is not None and kit.kind is KitKind.TRAY and step.kind.puts_dye_on:
        return f"from {step.unit}"
    return step.unit or ""


def _loads(off: Planned, forecast: Forecast) -> bool:
    """Return whether the heat that a step ends is still to be switched on."""
    return (off.owner, off.id._replace(kind=StepKind.LOAD)) in (step.key for step in forecast.next_steps)


def _layer(step: Planned) -> str:
    return f", layer {step.id.layer}" if step.id.layer > 1 else ""


def _load_words(load: Planned, batch: BatchRecord, forecast: Forecast, day: Day) -> Iterator[str]:
    """Yield what is done in a load: yarn put in unless it stays there, heat on and its layer, after other heat."""
    stays = batch.open_heat is None or has_begun(batch, load.id)
    if batch.state is not State.FIX or batch.unit != load.unit or not stays:
        yield "load"
    at = time_text_on(load.end, day.plan.session.zone, forecast.at.utc)
    yield f"{heat_text(batch, load.id, 'on')} {at}{_layer(load)}"
    if others := list(_off_first(load, forecast)):
        yield f"once {batches_text(others)} {'is' if len(others) == 1 else 'are'} off: one circuit"


def _off_first(load: Planned, forecast: Forecast) -> Iterator[str]:
    """Yield the batches whose heat ends as a load's is switched on, where the circuit cannot feed all that is on."""
    problem = forecast.problem
    own = next((unit.circuit for unit in problem.units if unit.name == load.unit), None)
    units = {unit.name: unit.milliamps for unit in problem.units if own is not None and unit.circuit == own}
    begins = {step.key: step.end for step in forecast.next_steps if step.kind is StepKind.LOAD}
    ends = [step for step in forecast.next_steps if step.kind is StepKind.UNLOAD and step.unit in units]
    off = [step for step in ends if step.start == load.end]
    begun = (
        step for step in ends if begins.get((step.owner, step.id._replace(kind=StepKind.LOAD)), load.start) < load.end
    )
    on = {load.unit, *(step.unit for step in begun if step.start >= load.end)}
    drawn = sum(milliamps for unit, milliamps in units.items() if unit in on)
    if any(circuit.name == own and drawn > circuit.milliamps for circuit in problem.circuits):
        yield from (step.batch for step in off)
