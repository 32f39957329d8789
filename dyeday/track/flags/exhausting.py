"""Rules about dye left in the bath: too much of it, or no look at the bath."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from dyeday.craft.dye import exhaustion
from dyeday.craft.errors import above, below
from dyeday.terms import DyeMethod, FlagId, LookRule, ReadingKind, State
from dyeday.track.day.batch_record import BatchRecord, Reading
from dyeday.track.day.bath_readings import exhausted_pct, expected_pct, highest_ph, is_loose_dye, read_hot
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import (
    BATH_READINGS,
    is_enough_heat,
    last_dyed,
    last_heat_end,
    layer_had_and_needs_min,
    readings_of,
)
from dyeday.track.events.reading_text import reading_text
from dyeday.track.flags.rinsing import CLOTH_RULE, clean_cloths
from dyeday.track.flags.rule import RaisedFlag, distinct_numbers, is_cleared
from dyeday.track.timestamp import Moment

CLOTH_REMEDY = f"press a wet white cloth on it; clean: it is fixed; {CLOTH_RULE}"


def under_exhausted(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """The bath kept more dye than expected, by a look not taken hot that no later look or cloth answers."""
    answered = _answered_at(day, batch)
    for reading in readings_of(batch, *BATH_READINGS):
        at = reading.at.utc
        # What you cleared stays on record with your reason.
        stands = answered is None or at >= answered or is_cleared(day, batch, FlagId.UNDER_EXHAUSTED, at)
        if stands and (why := _colour_left(day, batch, reading)):
            yield RaisedFlag(at, why, _bath_remedy(day, batch, reading))


def _answered_at(day: Day, batch: BatchRecord) -> datetime | None:
    """Return when a bath or rinse water was last seen with no more colour than expected, or a rinsed cloth clean."""
    looks = (look for look in readings_of(batch, *BATH_READINGS) if not _is_no_proof(batch, look))
    enough = [look.at.utc for look in looks if not _colour_left(day, batch, look)]
    return max([*enough, *clean_cloths(day, batch)], default=None)


def _is_no_proof(batch: BatchRecord, look: Reading) -> bool:
    return read_hot(batch, look) or is_loose_dye(batch, look)


def _colour_left(day: Day, batch: BatchRecord, reading: Reading) -> str:
    """Return what a look says of dye that the bath kept; empty if that is no more than expected, or not proved."""
    if _is_no_proof(batch, reading):
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
    """Return what to do about colour left in the bath, by pH and heat on record; of yarn that hangs, with a cloth."""
    if batch.state in (State.DRY, State.DONE):
        return CLOTH_REMEDY
    ph_high, short = _ph_high_and_short(day, batch, reading)
    layer = batch.layer_of(reading.layer)
    most_ph, painted = highest_ph(day.plan, layer), layer.how != DyeMethod.IMMERSED
    too_deep, heat_min = bool(layer.overfull), layer.heats[-1].minutes if layer.heats and not short else 0
    return exhaustion.remedy(ph_high, short, painted, too_deep=too_deep, most_ph=most_ph, heat_min=heat_min)


def _ph_high_and_short(day: Day, batch: BatchRecord, reading: Reading) -> tuple[bool | None, bool]:
    """Return whether the last pH of a look's layer is too high, None if not known; whether its heat was short."""
    dyed, wet = last_dyed(batch, reading.layer, reading.at), (State.PAINT, State.FIX, State.COOL, reading.state)
    since = (one for one in readings_of(batch, ReadingKind.PH) if dyed is None or one.at.utc >= dyed.utc)
    read = [one for one in since if one.layer == reading.layer and one.state in wet]
    is_known = read and not any(put.is_some and put.at.utc > read[-1].at.utc for put in batch.acids)
    ph = float(read[-1].value) if is_known else None
    short = not is_enough_heat(day.plan, *layer_had_and_needs_min(day.plan, batch, reading.layer, reading.at))
    return None if ph is None else above(ph, highest_ph(day.plan, batch.layer_of(reading.layer))), short


def needs_heat(day: Day, batch: BatchRecord) -> bool:
    """Return whether a batch that cools before its rinse was looked at since its heat and needs that heat again."""
    end, looks = last_heat_end(batch), readings_of(batch, *BATH_READINGS)
    if batch.state is not State.COOL or not batch.is_last_layer or end is None:
        return False
    return bool(looks) and looks[-1].at.utc >= end.utc and _asks_for_heat(day, batch)


def needs_another_look(day: Day, batch: BatchRecord, now: Moment) -> bool:
    """Return whether a batch is looked at again before its rinse, after heat that its last look asked for."""
    is_seen = batch.is_last_layer and _is_looked_at(batch, now, now)
    return is_seen and _asks_for_heat(day, batch) and _is_asked(day, batch, now)


def _asks_for_heat(day: Day, batch: BatchRecord) -> bool:
    """Return whether the last look found colour left that heat can fix, and the flag was not cleared."""
    looks = readings_of(batch, *BATH_READINGS)
    if not looks or not _colour_left(day, batch, looks[-1]):
        return False
    if is_cleared(day, batch, FlagId.UNDER_EXHAUSTED, looks[-1].at.utc):
        return False
    return any(_ph_high_and_short(day, batch, looks[-1])) or not batch.current_layer.overfull


def _left_colour(day: Day, batch: BatchRecord, by: Moment) -> bool:
    """Return whether a batch of its colourway and base was seen by then to leave colour in its bath."""
    alike = (batch.colourway.name, batch.base.name)
    kin = (other for other in day.unsplit if (other.colourway.name, other.base.name) == alike)
    looks = ((other, look) for other in kin for look in readings_of(other, *BATH_READINGS) if look.at.utc <= by.utc)
    return any(_colour_left(day, other, look) for other, look in looks)


def needs_look(day: Day, batch: BatchRecord, now: Moment) -> bool:
    """Return whether a batch that cools before its rinse must be looked at first, or `no_bath_reading` is raised."""
    cools = batch.state is State.COOL and batch.is_last_layer
    return cools and not _is_looked_at(batch, now, now) and _is_asked(day, batch, now)


def _is_asked(day: Day, batch: BatchRecord, by: Moment) -> bool:
    asked = day.plan.rules.look
    return asked is not LookRule.NEVER and (asked is LookRule.ALWAYS or _left_colour(day, batch, by))


def _is_looked_at(batch: BatchRecord, dyed_by: Moment, by: Moment) -> bool:
    """Return whether a look ``by`` then came after the last dye that went on by ``dyed_by``."""
    dyed = max((put.since.utc for put in batch.painted if put.since.utc <= dyed_by.utc), default=None)
    looks = (read for read in readings_of(batch, *BATH_READINGS) if read.at.utc <= by.utc)
    return any(dyed is None or look.at.utc >= dyed for look in looks)


def no_bath_reading(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """Rinsed with no look that the plan asks for: of each batch, or of those like one that left colour."""
    for n, stay in enumerate(batch.stays):
        if stay.state != State.RINSE or stay.until is None or not batch.painted:
            continue
        after = batch.stay_after(n)
        if after is None or after.state in (State.RINSE, State.SCRAPPED):
            continue
        if not _is_looked_at(batch, stay.since, stay.until) and _is_asked(day, batch, stay.until):
            yield RaisedFlag(stay.until.utc, "rinsed with no look at what was left in the bath", CLOTH_REMEDY)
