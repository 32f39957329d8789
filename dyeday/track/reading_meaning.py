"""What a reading means: a bath's exhaustion, the acid a pH asks for, when yarn will be cool."""

from __future__ import annotations

from typing import Any, NamedTuple

from dyeday.craft.errors import above, below
from dyeday.craft.yarn.cooling_curve import minutes_until, newton
from dyeday.plan.amount_text import acid_amount_text
from dyeday.plan.doses import acid_parts, correction, ph_for_dyes, target_ph, to_pour
from dyeday.plan.model import Plan
from dyeday.terms import AcidPlace, DyeMethod, ReadingKind, State
from dyeday.track.day.batch_record import AcidIn, BatchRecord, Reading, Stay
from dyeday.track.day.bath_contents import dye_bath, others_in_bath, soak_acids, soak_water_l, stay_acids, their_acids
from dyeday.track.day.bath_readings import (
    IN_BATH_MIN,
    exhausted_pct,
    expected_pct,
    highest_ph,
    is_loose_dye,
    last_ph_reading,
    read_hot,
)
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import last_dyed, last_heat_end, readings_of
from dyeday.track.day.room_air import room_c
from dyeday.track.flags.acid_and_soak import DILUTE, MIST_AND_HEAT
from dyeday.track.flags.rinsing import rinse_below_c
from dyeday.track.timestamp import Moment, length_text, minutes


def meaning(day: Day, batch: BatchRecord, name: ReadingKind, value: Any, now: Moment, *, rinses: bool = False) -> str:
    """Return the remark on a reading of ``batch``, shown behind it; ``rinses`` where it is rinsed next.

    Empty where there is nothing to say. Raises ValueError where a jar or an absorbance is impossible.
    """
    if name is ReadingKind.PH:
        return _of_ph(day, batch, float(value), now)
    if name in (ReadingKind.YARN_C, ReadingKind.BATH_C):
        return _of_cooling(day, batch, name, float(value), now)
    if name in (ReadingKind.EYE, ReadingKind.JAR, ReadingKind.ABSORBANCE):
        return _of_bath(day, batch, Reading(now, name, value, None, batch.state, batch.layer, ""), rinses=rinses)
    return ""


def _of_bath(day: Day, batch: BatchRecord, read: Reading, *, rinses: bool) -> str:
    low, high = exhausted_pct(batch, read)
    exhausted = f"{low:.0f} %" if low == high else f"{low:.0f}-{high:.0f} %"
    later = "the look at the first rinse counts" if rinses else "read it again when cool"
    again = f"; still hot: {later}" if read_hot(batch, read) else ""
    if is_loose_dye(batch, read):
        again = "; a deep shade gives off loose dye: look at the next rinse"
    return f", {exhausted} exhausted, {expected_pct(day.plan, batch, batch.layer):.0f} % expected{again}"


def _of_ph(day: Day, batch: BatchRecord, read_ph: float, now: Moment) -> str:
    layer = batch.current_layer
    if not above(read_ph, highest_ph(day.plan, layer)):
        since = last_dyed(batch, batch.layer) or batch.state_since
        is_early = since is not None and minutes(since, now) < IN_BATH_MIN
        again = f"; read it again once the yarn has been in for {IN_BATH_MIN:g} min" if is_early else ""
        return (
            f", {_low_ph(day.plan, batch, read_ph) or f'good: the target is {target_ph(day.plan, layer):g}'}{again}"
        )
    is_heated, limit = _has_had_heat(batch), highest_ph(day.plan, layer)
    if _bath_and_acids(day, batch, now) is None:
        # How much of the soak's acid is in the paint is not known.
        if is_heated:
            return f", above {limit:g}: {MIST_AND_HEAT}"
        return f", above {limit:g}: mist acid water over it, never pour, and read again"
    then = ", then heat again" if is_heated else ""
    if (more := _more_acid(day, batch, read_ph, now)) is None:
        return f", above {limit:g}: more acid, stirred in or misted as acid water, never poured on paint{then}"
    mists = batch.state in (State.PAINT, State.FIX) and layer.how != DyeMethod.IMMERSED
    kind = day.plan.acid.kind.value
    acid = f"{acid_amount_text(day.plan, more.now)} of {kind}"
    do = f"mist {acid}, thinned with water" if mists else f"add {acid}"
    has_more = batch.state is not State.SOAK and acid_parts(day.plan, layer) > 1
    later = ", including what goes in at the simmer" if has_more else ""
    most = f"; {acid_amount_text(day.plan, more.most)} at most{later}" if more.now < more.most else ""
    return f", above {limit:g}: {do}, wait 5 min, read again{most}{then}"


def _low_ph(plan: Plan, batch: BatchRecord, read_ph: float) -> str:
    """Return what a pH means that is below target and dyes' range by more than `ph_limit` or `ph_low`, else "".

    The lower the pH, the faster acid dyes go on; common practice, no source.
    """
    layer, needed = batch.current_layer, ph_for_dyes(plan, batch.current_layer)
    target = target_ph(plan, layer)
    low = target if needed is None else min(target, needed.low, needed.high)
    if not below(read_ph, low - min(plan.rules.ph_limit, plan.rules.ph_low)):
        return ""
    is_far = below(read_ph, low - plan.rules.ph_low)
    means = ["is it the right bottle?"] if is_far else []
    if layer.how is DyeMethod.IMMERSED and batch.working_state is not State.SOAK:
        means += ["the dye goes on too fast to be even", "look for patches" if _has_had_heat(batch) else DILUTE]
    elif not is_far:
        means.append("it does not harm wool" + ", but dye goes on fast" * (not _has_had_heat(batch)))
    return "; ".join([f"{'far ' * is_far}more acidic than the {target:g} you need", *means])


def _has_had_heat(batch: BatchRecord) -> bool:
    """Return whether the heats of its layer are behind a batch: acid that goes in now needs another."""
    if (state := batch.working_state) is not State.FIX:
        return state not in (State.WAITING, State.SOAK, State.PAINT)
    last = batch.heats[-1] if batch.heats and batch.open_heat is None else None
    return last is not None and (last.layer, last.heat_no) == (batch.layer, len(batch.current_layer.heats))


class MoreAcid(NamedTuple):
    """Acid that a pH reading asks for, mL or g, in steps of the jug or the scale."""

    now: float
    """half of what would bring the bath to its target"""
    most: float
    """all of it"""


def acid_by_ph(day: Day, batch: BatchRecord, now: Moment) -> MoreAcid | None:
    """Return what the last pH read in the bath of a batch asks for, whichever batch in it was read.

    None if none was read, if acid went in since, or if the dose cannot be worked out.
    """
    if (last := _last_in_bath(day, batch, now)) is None or last.acids_since:
        return None
    return _more_acid(day, last.batch, last.ph, now) if last.is_high else MoreAcid(0.0, 0.0)


def ph_to_read_again(day: Day, batch: BatchRecord, now: Moment) -> str:
    """Return "20 mL of vinegar went in after pH 5.6" from `IN_BATH_MIN` after it on, if that pH was high; else ""."""
    if (last := _last_in_bath(day, batch, now)) is None or not last.is_high or not last.acids_since:
        return ""
    if minutes(max(put.at for put in last.acids_since), now) < IN_BATH_MIN:
        return ""
    acid = acid_amount_text(day.plan, sum(put.amount_of(day.plan.acid) for put in last.acids_since))
    return f"{acid} of {day.plan.acid.kind.value} went in after pH {last.ph:g}"


class _LastPh(NamedTuple):
    """The last pH read in a bath."""

    batch: BatchRecord
    """of which it is on record"""
    ph: float
    is_high: bool
    acids_since: list[AcidIn]


def _last_in_bath(day: Day, batch: BatchRecord, now: Moment) -> _LastPh | None:
    inside = [other for other in day.in_unit(batch.unit) if other.state is batch.state] if batch.unit else []
    soaked = (one for one in {one.no: one for one in (batch, *inside)}.values() if one.stays)
    readings = ((one, last_ph_reading(one, one.stays[-1].since, now)) for one in soaked)
    if not (read := [(reading.at.utc, one, reading) for one, reading in readings if reading is not None]):
        return None
    at, one, reading = max(read, key=lambda each: each[0])
    stay, ph = one.stays[-1], float(reading.value)
    theirs = their_acids(day, one, others_in_bath(day, one, stay), stay, now)
    puts = (*one.acids, *stay_acids(day, one, stay, now), *theirs)
    since = [put for put in puts if put.is_some and put.at.utc > at]
    return _LastPh(one, ph, above(ph, highest_ph(day.plan, one.current_layer)), since)


def _more_acid(day: Day, batch: BatchRecord, read_ph: float, now: Moment) -> MoreAcid | None:
    if (found := _bath_and_acids(day, batch, now)) is None:
        return None
    water_l, acids = found
    put_in = sum(put.amount_of(day.plan.acid) for put in acids)
    more = correction(day.plan, water_l, put_in, read_ph, batch.current_layer)
    if more is None or more.amount <= 0:
        return None
    return MoreAcid(to_pour(day.plan, more.amount / 2), to_pour(day.plan, more.amount))


def _bath_and_acids(day: Day, batch: BatchRecord, now: Moment) -> tuple[float, list[AcidIn]] | None:
    """Return a batch's water, L, and the acid in it; None without any, or with acid from an earlier bath."""
    layer, stay = batch.current_layer, batch.stays[-1] if batch.stays else None
    if stay is None:
        return None
    if batch.state is State.SOAK:
        return soak_water_l(day, batch, stay, now), soak_acids(day, batch, now, batch.layer)
    if layer.acid_in is AcidPlace.SOAK:
        return None
    since = last_dyed(batch, batch.layer) or stay.since
    bath = dye_bath(day, batch, Stay(stay.state, batch.layer, since, None), now)
    return bath.litres, bath.acids


def _of_cooling(day: Day, batch: BatchRecord, name: ReadingKind, read_c: float, now: Moment) -> str:
    """Return how long until yarn may be rinsed, by Newton's law through this reading and those since the heat."""
    heat_end = last_heat_end(batch)
    if batch.state != State.COOL or heat_end is None:
        return ""
    plan = day.plan
    to_c = rinse_below_c(plan, batch)
    if read_c <= to_c:
        return f", cool enough for rinse water of {plan.water.rinse_temperature_c:g} °C"
    cooling = (r for r in readings_of(batch, name) if r.at.utc >= heat_end.utc)
    seen = [(minutes(heat_end, r.at), float(r.value)) for r in cooling]
    so_far = minutes(heat_end, now)
    try:
        left = minutes_until(newton([*seen, (so_far, read_c)], room_c(plan)), so_far, to_c)
    except ValueError:
        return f", rinse once the yarn is below {to_c:g} °C"
    return f", below {to_c:g} °C in about {length_text(left)}"
