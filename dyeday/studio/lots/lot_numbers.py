"""Which batches of a day are one lot, and what each lot is called."""

from __future__ import annotations

from dyeday.plan.batches import by_number, split_no
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day


def mixes_of(batch: BatchRecord) -> tuple[str, ...]:
    """Return which mix each layer was last dyed from, by layer; the batch's own where it was not yet."""
    put_on = {painted.layer: painted.mix for painted in batch.painted_since_overdye}
    return tuple(put_on.get(layer, batch.mix) for layer in range(1, len(batch.colourway.layers) + 1))


def lot_numbers(day: Day, session_id: str) -> dict[str, str]:
    """Return the lot's number of every batch that was not split, by its own number.

    It holds from the morning on: labels may have it before the day is closed. ``session_id`` is YYYY-MM-DD-n.
    """
    numbers: dict[str, str] = {}
    by_mix: dict[tuple[str, str, str, tuple[str, ...]], list[str]] = {}
    for batch in day.unsplit:
        mixes = mixes_of(batch)
        # A batch painted on an earlier day keeps that day's lot, unless a layer since came from another mix.
        if batch.lot and set(mixes) == {batch.mix}:
            numbers[batch.no] = batch.lot
        else:
            by_mix.setdefault((batch.colourway.name, batch.base.name, batch.mix, mixes), []).append(batch.no)
    year, month, date, nth = session_id.split("-")
    head = f"{year[2:]}{month}{date}" + ("" if nth == "1" else f".{nth}")
    groups: list[list[str]] = [*by_mix.values(), *([no] for no in numbers)]
    roots = [root for group in groups for root in {split_no(no)[0] for no in group}]
    for batches in by_mix.values():
        # Parts of a split batch that went into different mixes need their letters to be told apart.
        first = min(batches, key=by_number)
        root = split_no(first)[0]
        numbers |= dict.fromkeys(batches, f"{head}-{root if roots.count(root) == 1 else first}")
    return numbers
