"""Puts a changed batch or unit into its day and keeps the unit's baths; `OfBatch` is the base of events of one."""

from __future__ import annotations

from collections.abc import Callable

from dyeday.quick_dataclass import altered
from dyeday.terms import State, Water
from dyeday.track.day.batch_record import BatchRecord, UnitRecord
from dyeday.track.day.baths import left_empty, poured_away, water_kept, with_batch
from dyeday.track.day.day_state import Body, Day, Event
from dyeday.track.timestamp import Now


def with_record(day: Day, record: BatchRecord, event: Event) -> Day:
    """Return the day with a batch as ``event`` changed it."""
    unit_name, was_in = record.unit, day.batches[record.no].unit if record.no in day.batches else None
    day = altered(day, batches={**day.batches, record.no: altered(record, last_id=event.id)})
    if was_in == unit_name:
        return day
    moment = event.moment
    if was_in is not None and not inside(day, was_in):
        day = with_unit(day, was_in, lambda unit: altered(unit, baths=left_empty(unit.baths, moment)))
    if unit_name is None:
        return day
    return with_unit(day, unit_name, lambda unit: altered(unit, baths=with_batch(unit.baths, record.no, moment)))


def with_unit(day: Day, name: str, change: Callable[[UnitRecord], UnitRecord]) -> Day:
    """Return the day with a unit changed; one the plan does not have changes nothing."""
    unit = day.units.get(name)
    return day if unit is None else altered(day, units={**day.units, name: change(unit)})


def inside(day: Day, unit: str) -> list[str]:
    """Return the numbers of the batches in a unit."""
    return [batch.no for batch in day.batches.values() if batch.unit == unit and batch.state is not State.SPLIT]


def watered(day: Day, name: str | None, water: Water | None, moment: Now) -> Day:
    """Return the day with new water in a unit, or the water of the load before; unchanged where ``water`` is None."""
    if name is None or water is None:
        return day

    def change(unit: UnitRecord) -> UnitRecord:
        if water is Water.KEPT:
            return altered(unit, baths=water_kept(unit.baths))
        # Where nothing was in it, its bath is new already.
        baths = poured_away(unit.baths, moment, inside(day, unit.name)) if unit.baths[-1].loads else unit.baths
        began = baths[-1].began
        return altered(unit, baths=baths, emptied=unit.emptied if began is None else (*unit.emptied, began))

    return with_unit(day, name, change)


class OfBatch(Body):
    """What happened to one batch; of an unknown or split one it changes nothing."""

    @property
    def needs_batch(self) -> bool:
        return True

    def apply(self, day: Day, event: Event) -> Day:
        batch = day.batches.get(event.batch or "")
        if batch is None or batch.state is State.SPLIT:
            return day
        return with_record(day, self.change(day, batch, event), event)

    def change(self, day: Day, batch: BatchRecord, event: Event) -> BatchRecord:
        """Return the batch with what ``event`` says done to it."""
        raise NotImplementedError

    def refuse(self, day: Day, event: Event, *, typed: bool) -> None:
        batch = day.batches.get(event.batch or "")
        if batch is not None:
            self.refuse_of(day, batch, event, typed=typed)

    def refuse_of(self, day: Day, batch: BatchRecord, event: Event, *, typed: bool) -> None:
        """Raise EventError where ``event`` cannot be true of its batch."""
