"""The rest of the day as if it had happened: a forecast's steps as events, folded on a copy of the day.

What the dyer does besides, acid and readings, is not foreseen; tanks are filled where the caller says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import Any

from dyeday.ahead.foreseen_steps import Planned
from dyeday.terms import RunEdge, State, StepKind, UnitIs
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.fold import take_all
from dyeday.track.events.event import Event

_Said = tuple[datetime, int, str | None, str, dict[str, Any]]
"""when, rank within the minute, batch, kind, keys"""
Fill = tuple[datetime, str]
"""(when, unit) a tank is filled"""


def foreseen(day: Day, steps: Sequence[Planned], now: datetime, fills: Iterable[Fill] = ()) -> Day:
    """Return the day after ``steps``, none of which happens before ``now``."""
    return take_all(day, events_of(day, steps, now, fills))


def events_of(day: Day, steps: Sequence[Planned], now: datetime, fills: Iterable[Fill] = ()) -> list[Event]:
    """Return what would be recorded if ``steps`` happened as foreseen, in order."""
    told: list[_Said] = [(at, 0, None, "unit", {"unit": unit, "is": UnitIs.FILLED.value}) for at, unit in fills]
    for step in steps:
        if step.batch in day.batches:
            told += _of_step(step, day.batches[step.batch])
    told.sort(key=lambda item: (item[0], item[1]))
    begin = max(now, day.last_at) if day.last_at is not None else now
    out = []
    for n, (moment, _, batch, kind, data) in enumerate(told):
        at = max(moment, begin)
        out.append(Event(f"foreseen-{n}", kind, at, at, data, batch))
    return out


def _of_step(step: Planned, batch: BatchRecord) -> Iterator[_Said]:
    """Yield what a step would put on record."""
    unit = {"unit": step.unit} if step.unit is not None else {}
    if step.kind is StepKind.SOAK_LOAD:
        yield step.end, 2, step.batch, "moved", {"to": State.SOAK.value, **_layer(step), **unit}
    elif step.kind.puts_dye_on:
        # A tray that yarn was soaked in is left when dye goes on; a pot it is dyed in is where it goes.
        into = unit if step.kind is StepKind.DYE else {}
        yield step.start, 3, step.batch, "moved", {"to": State.PAINT.value, **_layer(step), **into}
        yield step.end, 1, step.batch, "moved", {"to": State.FIX.value, **_layer(step), **into}
    elif step.kind is StepKind.HEAT:
        yield step.start, 4, step.batch, "pass", {"pass": step.pass_no, "run": RunEdge.START.value, **unit}
        # The prompt has somebody switch it off in its time, though the yarn may be taken out later.
        yield step.end, 1, step.batch, "pass", {"pass": step.pass_no, "run": RunEdge.END.value}
    elif step.kind is StepKind.UNLOAD:
        yield step.start, 1, step.batch, "pass", {"pass": step.pass_no, "run": RunEdge.END.value}
        if step.pass_no == len(batch.layer_of(step.layer or 1).heats):
            yield step.end, 0, step.batch, "moved", {"to": State.COOL.value}
    elif step.kind is StepKind.RINSE:
        yield step.start, 3, step.batch, "moved", {"to": State.RINSE.value, **unit}
    elif step.kind is StepKind.DRY:
        yield step.start, 2, step.batch, "moved", {"to": State.DRY.value, **unit}


def _layer(step: Planned) -> dict[str, Any]:
    return {"layer": step.layer} if step.layer is not None else {}
