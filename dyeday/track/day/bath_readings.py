"""What readings of a bath mean: how much dye went into the fibre, whether it was hot, and its pH."""

from __future__ import annotations

from dyeday.craft.dye import exhaustion
from dyeday.plan.doses import target_ph
from dyeday.plan.model import Layer, Plan
from dyeday.terms import ReadingKind, State
from dyeday.track.day.batch_record import BatchRecord, Reading
from dyeday.track.day.progress import last_heat_end, readings_of
from dyeday.track.timestamp import Moment, minutes

IN_BATH_MIN = 5.0
"""The pH of a bath counts once the yarn has been in it so long; common practice, no source."""
FIRST_RINSE = "first rinse"
HOT_C = 40.0
"""Above this a bath still gives dye to the fibre; common practice, no source."""


def exhausted_pct(batch: BatchRecord, reading: Reading) -> tuple[float, float]:
    """Return (low, high) of the exhaustion, %, by one of `BATH_READINGS`. Raises ValueError if it cannot be."""
    value = reading.value
    if reading.name == ReadingKind.EYE:
        return exhaustion.by_eye(str(value))
    if reading.name == ReadingKind.JAR:
        by_recipe_l = batch.layer_of(reading.layer).liquor_ml(batch.wof_g) / 1000
        first_l = value.get("first_l") or by_recipe_l
        pct = exhaustion.jar_match(value["match"], value["left_l"], first_l)
    else:
        pct = exhaustion.absorbance(value["first"], value["first_l"], value["left"], value["left_l"])
    return pct, pct


def expected_pct(plan: Plan, batch: BatchRecord, layer: int) -> float:
    """Return the exhaustion in percent to expect of a layer's dyes, weighted by their amounts."""
    weights: list[tuple[float, float]] = []
    for section in batch.layer_of(layer).sections:
        for name, dos in section.dyes:
            dye = plan.dye(name)
            own = dye.expected_exhaustion_pct if dye is not None else None
            weights.append((section.share_pct * dos, plan.rules.exhaustion if own is None else own))
    return exhaustion.expected_of_mix(weights) if weights else plan.rules.exhaustion


def read_hot(batch: BatchRecord, reading: Reading) -> bool:
    """Return whether a look was taken while the bath was still hot.

    By the last temperature since the heat, of which a high one counts for the layer's cooling time; without one, in
    fix and until that time is over.
    """
    heat_end = last_heat_end(batch, reading.at)
    earlier = (r for r in readings_of(batch, ReadingKind.BATH_C, ReadingKind.YARN_C) if r.at.utc <= reading.at.utc)
    temperatures = [r for r in earlier if heat_end is None or r.at.utc >= heat_end.utc]
    cool_min = batch.layer_of(reading.layer).cool_min
    if temperatures:
        last = temperatures[-1]
        if float(last.value) <= HOT_C:
            return False
        if minutes(last.at, reading.at) < cool_min:
            return True
    if reading.state == State.FIX:
        return True
    if reading.state == State.COOL and heat_end is not None:
        # A rinse shown for 14:20 may begin at 14:19: the last minute counts as cooled.
        return minutes(heat_end, reading.at) <= cool_min - 1
    return False


def is_loose_dye(batch: BatchRecord, reading: Reading) -> bool:
    """Return whether a look is at the first rinse of a deep shade: loose dye only. Common practice, no source."""
    sections = batch.layer_of(reading.layer).sections
    if not any(section.is_deep for section in sections) or reading.name is not ReadingKind.EYE:
        return False
    if reading.where is not None:
        return reading.where == FIRST_RINSE
    rinse = batch.stay_at(reading.at.utc)
    if rinse is None or rinse.state != State.RINSE:
        return False
    return not any(rinse.since.utc <= r.at.utc < reading.at.utc for r in readings_of(batch, ReadingKind.EYE))


def last_ph_reading(batch: BatchRecord, since: Moment | None, until: Moment) -> Reading | None:
    """Return the last reading of a pH from ``since`` to ``until``, or None."""
    known = (r for r in readings_of(batch, ReadingKind.PH) if r.at.utc <= until.utc)
    read = [reading for reading in known if since is None or reading.at.utc >= since.utc]
    return read[-1] if read else None


def last_ph(batch: BatchRecord, since: Moment | None, until: Moment) -> float | None:
    """Return the last pH read from ``since`` to ``until``, or None."""
    reading = last_ph_reading(batch, since, until)
    return None if reading is None else float(reading.value)


def highest_ph(plan: Plan, layer: Layer) -> float:
    """Return the highest pH that counts as reaching the layer's target."""
    return target_ph(plan, layer) + plan.rules.ph_limit
