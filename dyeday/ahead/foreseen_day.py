"""The forecast's steps as events, folded onto a copy of the day as if they had happened.

Acid and readings are not foreseen; tanks are filled when the caller says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime

from dyeday.ahead.foreseen_steps import Planned
from dyeday.terms import HeatEdge, State, StepKind, UnitEvent
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Body, Day, Event
from dyeday.track.day.progress import heat_due_at
from dyeday.track.events.movements import Heated, Moved, UnitChanged
from dyeday.track.folding.fold import take_all

_Entry = tuple[datetime, int, str | None, Body]
"""when, rank within the minute, batch, what happened"""
Fill = tuple[datetime, str]
"""(when, unit) a tank is filled"""


def foreseen(day: Day, steps: Sequence[Planned], now_utc: datetime, fills: Iterable[Fill] = ()) -> Day:
    """Return the day after ``steps``, none of which happens before ``now_utc``."""
    return take_all(day, events_of(day, steps, now_utc, fills))


def events_of(day: Day, steps: Sequence[Planned], now_utc: datetime, fills: Iterable[Fill] = ()) -> list[Event]:
    """Return the events that ``steps`` would make, in order."""
    entries: list[_Entry] = [(at, 0, None, UnitChanged(unit=unit, what=UnitEvent.FILLED)) for at, unit in fills]
    off_for_now = {step.batch for step in steps if step.kind is StepKind.UNLOAD and step.id.part}
    for step in steps:
        if step.batch in day.batches:
            goes_on = step.batch in off_for_now and not step.id.part
            entries += _of_step(step, day.batches[step.batch], day, goes_on=goes_on)
    entries.sort(key=lambda item: (item[0], item[1]))
    begin = max(now_utc, day.last_at or now_utc)
    timed = ((max(moment, begin), batch, body) for moment, _, batch, body in entries)
    return [Event(f"foreseen-{n}", body, at, at, batch) for n, (at, batch, body) in enumerate(timed)]


def _of_step(step: Planned, batch: BatchRecord, day: Day, *, goes_on: bool) -> Iterator[_Entry]:
    """Yield the events of a step; ``goes_on`` if the heat that is on goes off before it for a while."""
    unit, layer, heat = step.unit, step.layer, step.heat_no or 1
    if step.kind is StepKind.SOAK_LOAD:
        yield step.end, 2, step.batch, Moved(to=State.SOAK, layer=layer, unit=unit)
    elif step.kind.puts_dye_on:
        # A tray that yarn was soaked in is left when dye goes on; a pot it is dyed in is where it goes.
        into = unit if step.kind is StepKind.DYE else None
        if not step.id.part and batch.state is not State.PAINT:
            yield step.start, 3, step.batch, Moved(to=State.PAINT, layer=layer, unit=into)
        if not step.goes_on:
            yield step.end, 1, step.batch, Moved(to=State.FIX, layer=layer, unit=into)
    elif step.kind is StepKind.HEAT:
        yield step.start, 4, step.batch, Heated(heat_no=heat, edge=HeatEdge.START, unit=unit)
        # At the prompt you switch it off in time, though the yarn may be taken out later.
        yield step.end, 1, step.batch, Heated(heat_no=heat, edge=HeatEdge.END)
    elif step.kind is StepKind.UNLOAD:
        on = batch.open_heat
        is_on = on is not None and (on.layer, on.heat_no) == (step.id.layer, heat) and not goes_on
        due = heat_due_at(day.plan, batch, on).utc if on and is_on else step.start
        yield min(due, step.start), 1, step.batch, Heated(heat_no=heat, edge=HeatEdge.END)
        if heat == len(batch.layer_of(step.id.layer).heats) and not step.id.part:
            yield step.end, 0, step.batch, Moved(to=State.COOL)
    elif step.kind is StepKind.RINSE:
        yield step.start, 3, step.batch, Moved(to=State.RINSE, unit=unit)
    elif step.kind is StepKind.DRY:
        yield step.start, 2, step.batch, Moved(to=State.DRY, unit=unit)
