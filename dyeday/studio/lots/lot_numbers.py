"""Which batches of a day are one lot, and what each lot is called."""

from __future__ import annotations

from dyeday.plan.batches import split_no
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day


def mixes_of(batch: BatchRecord) -> tuple[str, ...]:
    """Return which mix each layer was last dyed from, by layer; the batch's own where it was not yet."""
    put_on = {painted.layer: painted.mix for painted in batch.painted}
    return tuple(put_on.get(layer, batch.mix) for layer in range(1, len(batch.colourway.layers) + 1))


def lot_numbers(day: Day, session_id: str) -> dict[str, str]:
    """Return the lot's number of every batch that was not split, by its own number.

    It holds from the morning on: labels may have it before the day is closed. ``session_id`` is YYYY-MM-DD-n.
    """
    together: dict[object, list[str]] = {}
    for batch in day.live:
        mixes = mixes_of(batch)
        begun_before = batch.lot if set(mixes) == {batch.mix} else ""
        key: object = begun_before or (batch.colourway.name, batch.base.name, batch.mix, mixes)
        together.setdefault(key, []).append(batch.no)
    year, month, rest, nth = session_id.split("-")
    head = f"{year[2:]}{month}{rest}" + ("" if nth == "1" else f".{nth}")
    roots = [root for batches in together.values() for root in {split_no(no)[0] for no in batches}]
    numbers = {}
    for mix, batches in together.items():
        first = min(batches)
        # Parts of a split batch that went into different mixes need their letters to be told apart.
        root = split_no(first)[0]
        plain = root if roots.count(root) == 1 else first
        for no in batches:
            numbers[no] = mix if isinstance(mix, str) else f"{head}-{plain}"
    return numbers
