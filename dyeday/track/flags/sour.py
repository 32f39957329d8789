"""The rule about too much acid: a dyebath far below the pH its dyes want."""

from __future__ import annotations

from collections.abc import Iterator

from dyeday.plan.doses import wished_ph
from dyeday.terms import DyeMethod, ReadingKind, State
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import readings_of
from dyeday.track.flags.rule import RaisedFlag
from dyeday.track.timestamp import Now


def sour_bath(day: Day, batch: BatchRecord, now: Now) -> Iterator[RaisedFlag]:
    """An immersed layer whose dyes' range is known, read below it by more than `ph_low`; soaks harm no wool."""
    for reading in readings_of(batch, ReadingKind.PH):
        layer = batch.layer_of(reading.layer)
        if layer.how != DyeMethod.IMMERSED or reading.state == State.SOAK:
            continue
        wished = wished_ph(day.plan, layer)
        if wished is None:
            continue
        read, low = float(reading.value), min(wished.low, wished.high)
        if read < low - day.plan.rules.ph_low - 1e-9:
            yield RaisedFlag(
                reading.at.utc,
                f"pH {read:g} in the bath, its dyes need {low:g} and more",
                "lift the yarn, replace a third of the bath with tap water, and read again; "
                "never put bicarbonate into a hot bath",
            )
