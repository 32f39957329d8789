"""A load: one movement of the hands with several batches, taken apart into the single events it stands for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from dyeday.terms import KIT_TRAITS, How, KitKind, RunEdge, State, UnitIs
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.events.event import Event

_OF_MOVE = ("layer", "outcome", "mix", "why")


def parts_of_load(day: Day, load: Event) -> list[Event]:
    """Return the events a load stands for, in the order they change ``day``; each has the load's id and time.

    The tank is filled before heat starts, a heat ends before its batch moves on, and the acid goes into the bath
    that the batches are in.
    """
    data = load.data
    unit, run = data.get("unit"), RunEdge(data["run"]) if "run" in data else None
    parts: list[Event] = []

    def part(kind: str, batch: str | None, **keys: Any) -> None:
        parts.append(replace(load, kind=kind, batch=batch, data={k: v for k, v in keys.items() if v is not None}))

    if "tank" in data:
        part("unit", None, unit=unit, **{"is": UnitIs.FILLED.value})
    water = data.get("water")
    for no in load.batches:
        heat = pass_of(data, no)
        batch = day.batches.get(no)
        if run is RunEdge.END and heat is not None:
            part("pass", no, run=run.value, **{"pass": heat})
        to = State(data["to"]) if "to" in data else _follows(day, batch, data) if batch is not None else None
        # What is lifted out of the unit it names does not go into it.
        into = None if run is RunEdge.END and batch is not None and batch.unit == unit else unit
        if to is not None:
            part("moved", no, to=to.value, unit=into, water=water, **{key: data.get(key) for key in _OF_MOVE})
        elif into is not None:
            part("placed", no, unit=into, water=water, why=data.get("why"))
        if into is not None:
            water = None  # changed once, for all of the load
        if "cover" in data:
            part("covered", no, cover=data["cover"])
    if "acid_ml" in data or "acid_g" in data:
        part("acid put in", None, unit=unit, acid_ml=data.get("acid_ml"), acid_g=data.get("acid_g"))
    if run is not None and run is not RunEdge.END:
        for no in load.batches:
            part("pass", no, run=run.value, unit=unit, **{"pass": pass_of(data, no)})
    return parts


def pass_of(data: Mapping[str, Any], batch_no: str) -> int | None:
    """Return the heat that a load says of one of its batches, None where it says none."""
    said: int | Mapping[str, int] | None = data.get("pass")
    return said.get(batch_no) if isinstance(said, Mapping) else said


def _follows(day: Day, batch: BatchRecord, data: Mapping[str, Any]) -> State | None:
    """Return the state a batch goes into with a load that does not say; None where it stays in its own."""
    if "run" in data:
        return State.FIX if data["run"] == RunEdge.START.value else None
    kit = day.plan.kit_of(str(data["unit"])) if data.get("unit") else None
    if kit is None:
        return None
    traits = KIT_TRAITS[kit.kind]
    if traits.heat is not None:
        undyed = batch.the_layer.how is How.IMMERSED and batch.state in (State.WAITING, State.SOAK)
        return State.PAINT if undyed else State.FIX
    if traits.hangs:
        return State.DRY
    if kit.kind is KitKind.TRAY:
        return State.SOAK if batch.state is State.WAITING else None
    return State.RINSE if kit.kind is KitKind.SINK else None
