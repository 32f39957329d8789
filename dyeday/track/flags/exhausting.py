"""Rules about dye left in the bath: too much of it, or no look at the bath."""

from __future__ import annotations

from collections.abc import Iterator

from dyeday.craft.dye import exhaustion
from dyeday.craft.errors import above, below
from dyeday.terms import DyeMethod, FlagId, LookRule, ReadingKind, State
from dyeday.track.day.batch_record import BatchRecord, Reading
from dyeday.track.day.bath_readings import exhausted_pct, expected_pct, is_loose_dye, last_ph, ph_limit, read_hot
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import (
    BATH_LOOKS,
    is_enough_heat,
    last_dyed,
    last_heat_end,
    layer_had_and_needs_min,
    readings_of,
)
from dyeday.track.events.reading_text import reading_text
from dyeday.track.flags.rinsing import CLOTH_RULE
from dyeday.track.flags.rule import RaisedFlag, clears, distinct_numbers
from dyeday.track.timestamp import Moment


def under_exhausted(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """The bath kept more dye than it should have; not where it was read hot."""
    for reading in readings_of(batch, *BATH_LOOKS):
        if why := _colour_left(day, batch, reading):
            yield RaisedFlag(reading.at.utc, why, _bath_remedy(day, batch, reading))


def _colour_left(day: Day, batch: BatchRecord, reading: Reading) -> str:
    """Return what a look says of dye that the bath kept; empty where it kept no more than expected."""
    if read_hot(batch, reading) or is_loose_dye(batch, reading):
        return ""
    try:
        low, high = exhausted_pct(batch, reading)
    except ValueError:
        return ""  # refused when it was typed; a file edited by hand must not stop the day
    expected = expected_pct(day.plan, batch, reading.layer)
    if not below(high, expected):
        return ""
    if low == high:
        how = "jar match" if reading.name == ReadingKind.JAR else "absorbance"
        was, wanted = distinct_numbers(low, expected)
        return f"{was} % taken up by {how}, {wanted} % expected"
    seen = reading_text(reading.name, reading.value, reading.where)
    return f"{seen}: under {high:.0f} % of the dye taken up, {expected:.0f} % expected"


def _bath_remedy(day: Day, batch: BatchRecord, reading: Reading) -> str:
    """Return what to do about colour left in the bath, by the pH and the heat on record."""
    # The pH is often read just after the look: to the end of its stay, or within the hour while that lasts.
    stay = batch.stay_at(reading.at.utc)
    until = stay.until if stay is not None and stay.until is not None else reading.at.later(3600)
    ph = last_ph(batch, last_dyed(batch, reading.layer, reading.at), until)
    layer = batch.layer_of(reading.layer)
    short = not is_enough_heat(day.plan, *layer_had_and_needs_min(day.plan, batch, reading.layer, reading.at))
    most_ph, painted = ph_limit(day.plan, layer), layer.how != DyeMethod.IMMERSED
    ph_high = None if ph is None else above(ph, most_ph)
    return exhaustion.remedy(ph_high, short, painted, too_deep=bool(layer.overfull), most_ph=most_ph)


def lacked_acid(day: Day, batch: BatchRecord) -> bool:
    """Return whether the last look since its heat found colour left in a dye bath where a pH read was too high."""
    end, layer = last_heat_end(batch), batch.current_layer
    if layer.how is not DyeMethod.IMMERSED or end is None:
        return False
    looks = [read for read in readings_of(batch, *BATH_LOOKS) if read.at.utc >= end.utc]
    if not looks or not _colour_left(day, batch, looks[-1]):
        return False
    read = (float(one.value) for one in readings_of(batch, ReadingKind.PH) if one.at.utc >= end.utc)
    is_high = any(above(ph, ph_limit(day.plan, layer)) for ph in read)
    own = (one for one in batch.cleared if one.rule is FlagId.UNDER_EXHAUSTED)
    return is_high and not any(clears(day, batch, one, looks[-1].at.utc) for one in own)


def _left_colour(day: Day, batch: BatchRecord, by: Moment) -> bool:
    """Return whether a batch of its colourway and base was seen by then to leave colour in its bath."""
    alike = (batch.colourway.name, batch.base.name)
    kin = (other for other in day.unsplit if (other.colourway.name, other.base.name) == alike)
    looks = ((other, look) for other in kin for look in readings_of(other, *BATH_LOOKS) if look.at.utc <= by.utc)
    return any(_colour_left(day, other, look) for other, look in looks)


def no_bath_reading(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """Rinsed with no look at what was left, where the plan asks for one or its colourway on this base left colour."""
    asked = day.plan.rules.look
    if asked is LookRule.NEVER:
        return
    for n, stay in enumerate(batch.stays):
        if stay.state != State.RINSE or stay.until is None or not batch.painted:
            continue
        after = batch.stay_after(n)
        if after is None or after.state in (State.RINSE, State.SCRAPPED):
            continue
        dyed = max((p.since.utc for p in batch.painted if p.since.utc <= stay.since.utc), default=None)
        readings = [r for r in readings_of(batch, *BATH_LOOKS) if r.at.utc <= stay.until.utc]
        if any(dyed is None or reading.at.utc >= dyed for reading in readings):
            continue
        if asked is LookRule.ALWAYS or _left_colour(day, batch, stay.until):
            why = "rinsed with no look at what was left in the bath"
            remedy = f"press a wet white cloth on it; clean: it is fixed; {CLOTH_RULE}"
            yield RaisedFlag(stay.until.utc, why, remedy)
