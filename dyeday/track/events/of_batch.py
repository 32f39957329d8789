"""The base of events about one batch."""

from __future__ import annotations

from dyeday.terms import State
from dyeday.track.day.apply import with_record
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Body, Day, Event


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
