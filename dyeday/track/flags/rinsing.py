"""Rules about the rinse and the wool: shock, felting, and colour that comes off on a cloth."""

from __future__ import annotations

from collections.abc import Iterator

from dyeday.craft.yarn import fibres
from dyeday.plan.model import Plan
from dyeday.terms import ReadingKind, State
from dyeday.track.day.batch_record import BatchRecord, Stay
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import last_heat_end, readings_of
from dyeday.track.events.event_schema import CLOTHS, GRADES
from dyeday.track.flags.rule import TYPED_MIN, Raised, apart, of
from dyeday.track.timestamp import Now, minutes

WARM_YARN_C = 30.0
"""Yarn that does not felt is not harmed by a shock below this; common practice, no source."""


def felts(batch: BatchRecord) -> bool:
    """Tell whether its fibre felts: wool that is not superwash, and the like."""
    return fibres.felts(dict(batch.base.fibre))


def rinse_below_c(plan: Plan, batch: BatchRecord) -> float:
    """Return the warmth of yarn, °C, below which the plan's rinse water does it no harm."""
    below = plan.water.rinse_temperature_c + plan.rules.shock
    return below if felts(batch) else max(below, WARM_YARN_C)


def rinsed_hot(day: Day, batch: BatchRecord, now: Now) -> Iterator[Raised]:
    """Yarn and rinse water too far apart, or rinsed before it could be cool."""
    for stay in batch.stays:
        if stay.state != State.RINSE:
            continue
        why = _too_hot(day, batch, stay, now)
        if why:
            look = "look for felted strands and lost bounce" if felts(batch) else "press a white cloth on it"
            yield Raised(stay.since.utc, why, f"let it come to the room's warmth before you go on; then {look}")


def _too_hot(day: Day, batch: BatchRecord, stay: Stay, now: Now) -> str:
    heat_end = last_heat_end(batch, stay.since)
    yarn, water = (
        _read_for(batch, ReadingKind.YARN_C, stay, heat_end),
        _read_for(batch, ReadingKind.RINSE_C, stay, heat_end),
    )
    if not felts(batch) and (yarn is None or yarn <= WARM_YARN_C):
        return ""
    if yarn is not None and water is not None:
        gap_c, limit = abs(yarn - water), day.plan.rules.shock
        if gap_c <= limit + 1e-9:
            return ""
        gap, most = apart(gap_c, limit)
        return f"yarn {round(yarn, 1):g} °C into {round(water, 1):g} °C, {gap} apart of {most} °C"
    if heat_end is None:
        return ""
    cooled = minutes(heat_end, stay.since)
    needed = batch.layer_of(stay.layer).cool_min
    return f"cooled {of(cooled, needed, 'min')}" if cooled <= needed - TYPED_MIN else ""


def _read_for(batch: BatchRecord, name: ReadingKind, stay: Stay, heat_end: Now | None) -> float | None:
    """Return the temperature that holds for a rinse: the last before it since the heat, else the first in it."""
    before, inside = None, None
    for reading in readings_of(batch, name):
        if reading.at.utc <= stay.since.utc:
            if heat_end is None or reading.at.utc >= heat_end.utc:
                before = float(reading.value)
        elif inside is None and (stay.until is None or reading.at.utc <= stay.until.utc):
            inside = float(reading.value)
    return before if before is not None else inside


def felting_risk(day: Day, batch: BatchRecord, now: Now) -> Iterator[Raised]:
    """Wool that felts, in too hot a bath or shocked in the rinse."""
    if not felts(batch):
        return
    limit = day.plan.rules.felting
    for reading in readings_of(batch, ReadingKind.BATH_C):
        if float(reading.value) > limit:
            was, most = apart(float(reading.value), limit)
            why = f"bath at {was} °C, limit {most} °C for {batch.base.name}"
            yield Raised(reading.at.utc, why, "turn the heat down, do not stir, and let it cool in the bath")
    for shocked in rinsed_hot(day, batch, now):
        yield Raised(
            shocked.since, f"rinsed hot: {shocked.why}", "handle it as little as you can and squeeze, never wring"
        )


def bleeding(day: Day, batch: BatchRecord, now: Now) -> Iterator[Raised]:
    """Colour on the cloth after the last rinse; before one it takes up loose dye, whatever is fixed."""
    limit = GRADES.index(day.plan.rules.cloth)
    for reading in readings_of(batch, ReadingKind.CLOTH):
        grade = CLOTHS.get(str(reading.value), str(reading.value))
        if not _is_rinsed(batch, reading.at) or GRADES.index(grade) >= limit:
            continue
        word = str(reading.value) if reading.value in CLOTHS else f"grade {grade}"
        remedy = "rinse again" if GRADES.index(grade) >= GRADES.index("4") else "fix again, then rinse"
        yield Raised(reading.at.utc, f"cloth {word}, wanted {day.plan.rules.cloth}", remedy)


def _is_rinsed(batch: BatchRecord, moment: Now) -> bool:
    """Tell whether a batch had been rinsed by ``moment`` since dye or heat last came to it."""
    wet = [
        s.state for s in batch.stays if s.state in (State.PAINT, State.FIX, State.RINSE) and s.since.utc <= moment.utc
    ]
    return bool(wet) and wet[-1] == State.RINSE
