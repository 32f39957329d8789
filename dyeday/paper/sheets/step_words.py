"""A step of the timetable in words: what to see to before it, and when a load's heat is switched on."""

from __future__ import annotations

from collections.abc import Iterator

from dyeday.ahead.advising.next_up import open_before_rinse
from dyeday.ahead.deadlines import AGAIN, had_before
from dyeday.ahead.foreseen_steps import Forecast, Planned
from dyeday.terms import DyeMethod, State, StepKind
from dyeday.text import ordinal
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.flags.exhausting import looks_after_heat, needs_look
from dyeday.track.timestamp import time_text_on


def step_words(step: Planned, forecast: Forecast, day: Day) -> str:
    """Return a step in words, after what to see to before it: "look, rinse", "see flag, load, 1st heat on 14:28"."""
    batch = day.batches.get(step.batch)
    if batch is None:
        return step.id.words
    words = step.id.words
    if step.kind is StepKind.LOAD and step.minutes and batch.layer_of(step.id.layer).how is not DyeMethod.IMMERSED:
        words = ", ".join(_load_words(step, batch, forecast, day))
    if step.start > next((one.start for one in forecast.next_steps if one.owner == step.owner), step.start):
        again = step.kind is StepKind.RINSE and looks_after_heat(day, batch, forecast.at)
        return f"look, {words}" if again else words
    look = "look, " if needs_look(day, batch, forecast.at) else ""
    return f"{'see flag, ' if open_before_rinse(day, batch, forecast.at) else look}{words}"


def _load_words(load: Planned, batch: BatchRecord, forecast: Forecast, day: Day) -> Iterator[str]:
    """Yield what is done in a load: yarn put in unless it stays there, other heat off, its own on, and the layer."""
    resumes = (load.owner, load.id._replace(kind=StepKind.UNLOAD, part=1)) in [s.key for s in forecast.next_steps]
    if not resumes and not (batch.state is State.FIX and batch.unit == load.unit and batch.open_heat is None):
        yield "load"
    yield from (f"switch {no} off" for no in _off_first(load, forecast))
    on = AGAIN if resumes or had_before(batch, load.id) else f"{ordinal(load.id.heat)} heat on"
    yield f"{on} {time_text_on(load.end, day.plan.session.zone, forecast.at.utc)}"
    if load.id.layer > 1:
        yield f"layer {load.id.layer}"


def _off_first(load: Planned, forecast: Forecast) -> Iterator[str]:
    """Yield the batches whose heat ends as a load's is switched on, where one circuit cannot feed all its units."""
    problem = forecast.problem
    own = next((unit.circuit for unit in problem.units if unit.name == load.unit), None)
    units = {unit.name: unit.milliamps for unit in problem.units if own is not None and unit.circuit == own}
    if any(circuit.name == own and sum(units.values()) > circuit.milliamps for circuit in problem.circuits):
        for step in forecast.next_steps:
            if step.kind is StepKind.UNLOAD and step.start == load.end and step.unit in units:
                yield step.batch
