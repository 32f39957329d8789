"""Rules about the rinse and after: shock, felting, colour that comes off on a cloth, and yarn that is not dry."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from dyeday.craft.dye.colour_difference import GRADES
from dyeday.craft.errors import above
from dyeday.craft.yarn import fibres
from dyeday.craft.yarn.drying_air import STANDARD_HUMIDITY_PCT, dry_weight_g
from dyeday.plan.model import Plan
from dyeday.terms import DyeMethod, FlagId, HeatKind, ReadingKind, State
from dyeday.track.day.batch_record import BatchRecord, Reading, Stay
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import last_heat_end, readings_of
from dyeday.track.day.room_air import room_c
from dyeday.track.events.measured import CLOTHS
from dyeday.track.flags.rule import RaisedFlag, distinct_numbers, is_cleared, part_text
from dyeday.track.timestamp import NO_END, SECOND_IN_MIN, Moment, minutes, signed_s

WARM_YARN_C = 50.0
"""up to this, a shock does not harm yarn that does not felt; common practice, no source"""
COOLED_FRACTION = 0.9
"""of the cooling time, after which yarn that was not measured counts as cool; common practice, no source"""
FRESH_MIN = 15.0
"""so long a temperature of cooling yarn counts as that of now; common practice, no source"""
COLD_INTO_HOT_C = 30.0
"""yarn that felts may go into a bath at most so much warmer; common practice, no source"""
GOES_IN_S = 300.0
"""a temperature read so near to the moment dye goes on counts as read then; common practice, no source"""
CLOTH_RULE = "faint (grade 4): rinse again; marked (3-4 or lower): fix again, then rinse"
COOL_FIRST = "let it cool to room temperature first"
WARM_FIRST = "let yarn and water reach the same temperature first"
LABEL_FRACTION = 0.06
"""a skein weighs what its label says within this much, dye and the day's air included; common practice, no source"""
APART_MIN = 120.0
"""weighings nearer to each other than this show nothing about drying"""
WEIGHED_LATE_S = 60.0
"""a weight read so soon after a batch is done counts as read before: times are typed to the minute"""


def felts(batch: BatchRecord) -> bool:
    """Return whether its fibre felts: wool that is not superwash, and the like."""
    return fibres.felts(dict(batch.base.fibre))


def rinse_below_c(plan: Plan, batch: BatchRecord) -> float:
    """Return the temperature of yarn, °C, up to which the plan's rinse water does it no harm."""
    below = plan.water.rinse_temperature_c + plan.rules.shock
    return below if felts(batch) else max(below, WARM_YARN_C)


def rinsed_hot(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """Yarn and rinse water too far apart, or rinsed before it could be cool."""
    for stay in batch.stays:
        if stay.state != State.RINSE:
            continue
        why, first = _shock(day, batch, stay)
        if why:
            gently = "handle it little, squeeze, never wring, and look for felted strands"
            look = gently if felts(batch) else "press a white cloth on it"
            yield RaisedFlag(stay.since.utc, why, f"{first}; then {look}")


def _shock(day: Day, batch: BatchRecord, stay: Stay) -> tuple[str, str]:
    """Return why a rinse was a shock to the yarn and what to do before the next one; ("", "") if it was not."""
    heat_end = last_heat_end(batch, stay.since)
    of_yarn, of_water = ([*_read_for(batch, of, stay, heat_end)] for of in (ReadingKind.YARN_C, ReadingKind.RINSE_C))
    told = (read for read in of_yarn if _still_tells(day.plan, batch, read, stay.layer, stay.since))
    yarn, water = (next((float(read.value) for read in reads), None) for reads in (told, of_water))
    if not felts(batch) and (yarn is None or yarn <= WARM_YARN_C):
        return "", ""
    if yarn is not None and water is not None:
        gap_c, limit = abs(yarn - water), day.plan.rules.shock
        if not above(gap_c, limit):
            return "", ""
        gap, most = distinct_numbers(gap_c, limit)
        why = f"yarn {round(yarn, 1):g} °C into {round(water, 1):g} °C, {gap} °C apart, {most} allowed"
        return why, COOL_FIRST if yarn > water else WARM_FIRST
    warm = too_warm_to_rinse(day.plan, batch, stay.layer, stay.since)
    return warm, COOL_FIRST if warm else ""


def too_warm_to_rinse(plan: Plan, batch: BatchRecord, layer: int, at: Moment) -> str:
    """Return why yarn is too warm for the plan's rinse water: by its last reading or its cooling time, else ""."""
    if (heat_end := last_heat_end(batch, at)) is None:
        return ""
    cooled, needed = minutes(heat_end, at), batch.layer_of(layer).cool_min
    readings = [r for r in readings_of(batch, ReadingKind.YARN_C) if heat_end.utc <= r.at.utc <= at.utc]
    if readings and _still_tells(plan, batch, readings[-1], layer, at):
        yarn_c, below_c = float(readings[-1].value), rinse_below_c(plan, batch)
        was, most = distinct_numbers(yarn_c, below_c)
        return f"yarn {was} °C, cool enough below {most} °C" if above(yarn_c, below_c) else ""
    return f"cooled {part_text(cooled, needed, 'min')}" if cooled < _enough_min(needed) else ""


def _enough_min(cool_min: float) -> float:
    return cool_min * COOLED_FRACTION - SECOND_IN_MIN


def _still_tells(plan: Plan, batch: BatchRecord, read: Reading, layer: int, at: Moment) -> bool:
    """Return whether a temperature of yarn still tells ``at`` then: cool, fresh, or read after its cooling time."""
    heat_end = last_heat_end(batch, at)
    if heat_end is None or not above(float(read.value), rinse_below_c(plan, batch)):
        return True
    enough = _enough_min(batch.layer_of(layer).cool_min)
    return minutes(read.at, at) <= FRESH_MIN or minutes(heat_end, read.at) >= enough


def _read_for(batch: BatchRecord, name: ReadingKind, stay: Stay, heat_end: Moment | None) -> Iterator[Reading]:
    """Yield the last reading from the heat to a rinse, then the first in it."""
    reads = [read for read in readings_of(batch, name) if heat_end is None or read.at.utc >= heat_end.utc]
    yield from [read for read in reads if read.at.utc <= stay.since.utc][-1:]
    inside = (read for read in reads if read.at.utc > stay.since.utc)
    yield from [read for read in inside if stay.until is None or read.at.utc <= stay.until.utc][:1]


def felting_risk(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """Fibre that felts, or silk, in too hot a bath or rinse; fibre that felts put cold into a hot dye bath."""
    if (fibre_limit := fibres.bath_limit_c(dict(batch.base.fibre))) is None:
        return
    own_c, fibre = fibre_limit
    limit = own_c if day.plan.rules.felting is None else day.plan.rules.felting
    harm = "silk loses its lustre" if fibre == "silk" else f"{fibre} felts"
    for reading in readings_of(batch, ReadingKind.BATH_C):
        heats = batch.layer_of(reading.layer).heats
        in_steam = reading.state == State.FIX and all(heat.how != HeatKind.SIMMER for heat in heats)  # in no bath
        if above(float(reading.value), limit) and not in_steam:
            was, most = distinct_numbers(float(reading.value), limit)
            why = f"bath at {was} °C, limit {most} °C for {batch.base.name}: {harm} above it"
            yield RaisedFlag(reading.at.utc, why, "turn the heat down, do not stir, and let it cool in the bath")
    if felts(batch):
        yield from _cold_into_hot(day, batch)


def _cold_into_hot(day: Day, batch: BatchRecord) -> Iterator[RaisedFlag]:
    """The bath's first temperature, read as yarn goes into it, against the yarn's own or the room's."""
    for dyed in batch.painted:
        if batch.layer_of(dyed.layer).how != DyeMethod.IMMERSED:
            continue
        baths = [r for r in readings_of(batch, ReadingKind.BATH_C) if 0 <= signed_s(dyed.since, r.at) <= GOES_IN_S]
        yarn = [r for r in readings_of(batch, ReadingKind.YARN_C) if 0 <= signed_s(r.at, dyed.since) <= GOES_IN_S]
        yarn_c = float(yarn[-1].value) if yarn else room_c(day.plan)
        if baths and above(float(baths[0].value) - yarn_c, COLD_INTO_HOT_C):
            yield RaisedFlag(
                baths[0].at.utc,
                f"yarn of {yarn_c:g} °C into a bath of {baths[0].value:g} °C, at most {COLD_INTO_HOT_C:g} °C apart",
                "do not move it, let both reach the same temperature, then heat slowly; look for felted strands",
            )


def bleeding(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """Colour on the cloth after a rinse with no dye or heat since; before a rinse any cloth takes up loose dye."""
    for reading in readings_of(batch, ReadingKind.CLOTH):
        grade = _grade_of(reading)
        if not _is_rinsed(batch, reading.at) or not _bleeds(day, grade):
            continue
        word = str(reading.value) if reading.value in CLOTHS else f"grade {grade}"
        remedy = "rinse again" if helps_to_rinse(grade) else "fix again, then rinse"
        yield RaisedFlag(reading.at.utc, f"cloth {word}, {day.plan.rules.cloth} or better expected", remedy)


def clean_cloths(day: Day, batch: BatchRecord) -> Iterator[datetime]:
    """Yield when a cloth pressed on rinsed yarn was clean enough."""
    for reading in readings_of(batch, ReadingKind.CLOTH):
        if _is_rinsed(batch, reading.at) and not _bleeds(day, _grade_of(reading)):
            yield reading.at.utc


def _grade_of(cloth: Reading) -> str:
    return CLOTHS.get(str(cloth.value), str(cloth.value))


def _bleeds(day: Day, grade: str) -> bool:
    return GRADES.index(grade) > GRADES.index(day.plan.rules.cloth)


def helps_to_rinse(grade: str) -> bool:
    """Return whether the colour on a cloth of this ISO grade is loose dye, which a rinse takes out."""
    return GRADES.index(grade) <= GRADES.index("4")


def was_seen_clear(batch: BatchRecord) -> bool:
    """Return whether the last look by eye since a batch's heat found the bath clear."""
    end = last_heat_end(batch)
    looks = [read for read in readings_of(batch, ReadingKind.EYE) if end is None or read.at.utc >= end.utc]
    return bool(looks) and looks[-1].is_clear


def bleeding_grade(day: Day, batch: BatchRecord) -> str:
    """Return the grade of the last cloth of a batch in rinse or drying, if it bleeds and was not cleared; else ""."""
    if batch.state not in (State.RINSE, State.DRY):
        return ""
    rinses = [stay.since.utc for stay in batch.stays if stay.state is State.RINSE]
    cloths = [read for read in readings_of(batch, ReadingKind.CLOTH) if rinses and read.at.utc >= rinses[-1]]
    if not cloths or is_cleared(day, batch, FlagId.BLEEDING, cloths[-1].at.utc):
        return ""
    grade = _grade_of(cloths[-1])
    return grade if _bleeds(day, grade) else ""


def _is_rinsed(batch: BatchRecord, moment: Moment) -> bool:
    """Return whether a batch had been rinsed by ``moment`` since dye or heat last came to it."""
    wet = (State.PAINT, State.FIX, State.RINSE)
    states = (stay.state for stay in reversed(batch.stays) if stay.state in wet and stay.since.utc <= moment.utc)
    return next(states, None) == State.RINSE


def not_dry(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """Done but heavier than yarn that is dry in the day's air, or with two weights too far apart."""
    allowed_fraction = day.plan.rules.dry / 100
    for n, stay in enumerate(batch.stays):
        if stay.state != State.DONE:
            continue
        hung, rinsed = ([s.since for s in batch.stays[:n] if s.state == of] for of in (State.DRY, State.RINSE))
        begun, until = max(hung or rinsed, default=NO_END), stay.since.later(WEIGHED_LATE_S)
        weights = readings_of(batch, ReadingKind.WEIGHT_G)
        if not (weighed := [read for read in weights if begun.utc <= read.at.utc <= until.utc]):
            continue
        last = float(weighed[-1].value)
        humidity = day.plan.air_humidity_pct
        humidity = STANDARD_HUMIDITY_PCT if humidity is None else humidity
        over = allowed_fraction if batch.weighed_wof_g is not None else max(allowed_fraction, LABEL_FRACTION)
        allowed = dry_weight_g(batch.wof_g, humidity, dict(batch.base.fibre)) * (1 + over)
        remedy = "hang it up again and weigh it in two hours; damp yarn may go mouldy"
        if above(last, allowed):
            was, most = (f"{float(number):g} g" for number in distinct_numbers(last, allowed, least=1))
            why = f"weighs {was}; dry, in air of {humidity:.0f} % humidity, {most} at most"
            yield RaisedFlag(stay.since.utc, why, remedy)
            continue
        before = [r for r in weighed if minutes(r.at, weighed[-1].at) >= APART_MIN]
        if before and above(abs(float(before[-1].value) - last), allowed_fraction * last):
            both = f"{round(float(before[-1].value), 1):g} g, then {round(last, 1):g} g"
            yield RaisedFlag(stay.since.utc, f"{both}: more than {day.plan.rules.dry:g} % apart", remedy)
