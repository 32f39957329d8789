"""The rule about dryness: weighed at the end, and still heavier than dry yarn in this air."""

from __future__ import annotations

from collections.abc import Iterator

from dyeday.craft.errors import above
from dyeday.craft.yarn.drying_air import STANDARD_HUMIDITY_PCT, dry_weight_g
from dyeday.terms import ReadingKind, State
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import readings_of
from dyeday.track.flags.rule import RaisedFlag, distinct_numbers
from dyeday.track.timestamp import Now, minutes

LABEL_SHARE = 0.06
"""A skein's label is right within this much, dye and the day's air included; common practice, no source."""


APART_MIN = 120.0
"""Weighings nearer to each other than this tell nothing about drying."""


def not_dry(day: Day, batch: BatchRecord, now: Now) -> Iterator[RaisedFlag]:
    """Called done and heavier than dry weight with the air's regain allows, or its weight still changes."""
    share = day.plan.rules.dry / 100
    for n, stay in enumerate(batch.stays):
        if stay.state != State.DONE:
            continue
        hung = [s.since.utc for s in batch.stays[:n] if s.state == State.DRY]
        rinsed = [s.since.utc for s in batch.stays[:n] if s.state == State.RINSE]
        begun = max(hung or rinsed, default=None)
        weighed = [
            r
            for r in readings_of(batch, ReadingKind.WEIGHT_G)
            if r.at.utc <= stay.since.later(60).utc and begun is not None and r.at.utc >= begun
        ]
        if not weighed:
            continue
        last = float(weighed[-1].value)
        humidity = day.plan.air_humidity_pct
        humidity = STANDARD_HUMIDITY_PCT if humidity is None else humidity
        over = share if batch.weighed_wof_g is not None else max(share, LABEL_SHARE)
        allowed = dry_weight_g(batch.wof_g, humidity, dict(batch.base.fibre)) * (1 + over)
        remedy = "hang it up again and weigh it in two hours; damp yarn may go mouldy"
        if above(last, allowed):
            was, most = (f"{float(number):g} g" for number in distinct_numbers(last, allowed, least=1))
            why = f"weighs {was}; dry, in air of {humidity:.0f} % humidity, {most} at most"
            yield RaisedFlag(stay.since.utc, why, remedy)
            continue
        before = [r for r in weighed if minutes(r.at, weighed[-1].at) >= APART_MIN]
        if before and abs(float(before[-1].value) - last) > share * last:
            both = f"{_grams(float(before[-1].value))}, then {_grams(last)}"
            why = f"{both}: more than {day.plan.rules.dry:g} % apart"
            yield RaisedFlag(stay.since.utc, why, remedy)


def _grams(weight_g: float) -> str:
    return f"{round(weight_g, 1):g} g"
