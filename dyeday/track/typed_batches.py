"""Several batches typed as one text: "3", "01-04", "01,03b"."""

from __future__ import annotations

from dyeday.text import harmless
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.events.event_text import batches_text


def typed_batches(day: Day, text: str) -> list[BatchRecord]:
    """Return the batches in ``text``, each once, in the order typed; a stretch takes in the parts of split ones.

    Raises ValueError where a number is no batch's or a stretch runs backwards.
    """
    found: dict[str, BatchRecord] = {}
    for part in text.split(","):
        first, dash, last = (end.strip() for end in part.partition("-"))
        begin, end = _batch(day, first), _batch(day, last if dash else first)
        if begin.no > end.no:
            raise ValueError(f"{harmless(part.strip())!r} is in reverse order; write {end.no}-{begin.no}")
        through = [batch for batch in day.live if begin.no <= batch.no <= end.no] if dash else [begin]
        # A stretch to a whole that was split ends with its parts, whose numbers come after it.
        through += [batch for batch in day.live if dash and end.no in day.line_of(batch) and batch not in through]
        found.update((batch.no, batch) for batch in through)
    return list(found.values())


def _batch(day: Day, text: str) -> BatchRecord:
    batch = day.find(text)
    if batch is None:
        known = batches_text([b.no for b in day.live])
        raise ValueError(f"there is no batch {harmless(text)!r}; the batches are {known}")
    return batch
