"""How long painted yarn has waited out of heat, and how much longer its covers let it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from dyeday.craft.errors import above
from dyeday.plan.model import Plan
from dyeday.quick_dataclass import dataclass
from dyeday.terms import Cover, DyeMethod, State
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import is_enough_heat, layer_had_and_needs_min
from dyeday.track.timestamp import Moment, merged, minutes, wall_instant

PAINT_AT_MOST = 2.0
"""times the recipe's minutes that painting may take; then its yarn waits. Common practice, no source"""


def out_min(plan: Plan, since: datetime, until: datetime) -> float:
    """Return the minutes from ``since`` to ``until`` in which you were out of the house by the plan."""
    met = ((max(since, out), min(until, back)) for out, back in absences(plan))
    return sum(max(0.0, (back - out).total_seconds()) for out, back in met) / 60


def painted_by(plan: Plan, since: Moment, length_min: float) -> Moment:
    """Return when ``length_min`` of painting are over, begun ``since`` and paused while you are out of the house."""
    end = since.later(60 * length_min)
    for out, back in absences(plan):
        if since.utc < back and out < end.utc:
            end = end.later((back - max(out, since.utc)).total_seconds())
    return end


def absences(plan: Plan) -> list[tuple[datetime, datetime]]:
    """Return the (leave, come back) of the plan's absences, adjoining ones merged."""
    on, zone = plan.session.date, plan.session.zone
    return [(wall_instant(on, out, zone), wall_instant(on, back, zone)) for out, back in merged(plan.session.out)]


@dataclass(frozen=True, slots=True)
class WaitingTime:
    """A stretch in which painted yarn was not in heat; ``until`` is None while it lasts."""

    layer: int
    since: Moment
    until: Moment | None
    specks: bool = False
    """whether specks lie on it that had no heat yet"""


def waits(day: Day, batch: BatchRecord) -> Iterator[WaitingTime]:
    """Yield the stretches in which painted yarn was out of heat; none of an immersed layer, which lies in its bath.

    The first begins as the batch leaves paint, or before that with its cover or a chore after paint, or after
    `PAINT_AT_MOST`; others as heat ends, unless it was the layer's last and the layer had enough. A stretch ends with
    heat, or with a state other than fix; set aside it goes on.
    """
    for n, stay in enumerate(batch.stays):
        layer = batch.layer_of(stay.layer)
        if stay.state != State.PAINT or layer.how is DyeMethod.IMMERSED:
            continue
        specks = layer.how is DyeMethod.SPECKLED
        covered = [at for at, _ in batch.covers if stay.since.utc < at.utc]
        # The whole batch's, where it was split since.
        wof_g = next((put_on.wof_g for put_on in batch.painted if put_on.since == stay.since), None) or batch.wof_g
        at_most = painted_by(day.plan, stay.since, PAINT_AT_MOST * layer.dyeing_min(wof_g))
        left = (stay.until,) if stay.until is not None else ()
        start: Moment | None = min((at_most, *covered, *left))
        onward = (later.since for later in batch.stays[n + 1 :] if later.state not in (State.FIX, State.SET_ASIDE))
        until = next(onward, None)
        for heat in batch.heats:
            if heat.start < stay.since or (until is not None and not heat.start < until):
                continue
            if start is not None and not heat.start < start:
                yield WaitingTime(stay.layer, start, heat.start, specks)
            specks = False
            start = heat.end
            if start is not None and heat.heat_no >= len(layer.heats):
                had_min, needed_min = layer_had_and_needs_min(day.plan, batch, stay.layer, start)
                start = None if is_enough_heat(day.plan, had_min, needed_min) else start
        if start is not None:
            yield WaitingTime(stay.layer, start, until, specks)


def waited_by_cover(batch: BatchRecord, wait: WaitingTime, now: Moment) -> list[tuple[Cover, float]]:
    """Return (cover, minutes) of each part of a wait, in order."""
    until = wait.until or now
    # A cover put on at the end of a wait is the next wait's.
    lasts = wait.until is None
    changes = [(at, cover) for at, cover in batch.covers if at.utc < until.utc or (lasts and at.utc == until.utc)]
    before = [cover for at, cover in changes if at.utc <= wait.since.utc]
    cover = before[-1] if before else batch.layer_of(wait.layer).cover
    parts, start = [], wait.since
    for at, changed in changes:
        if at.utc > wait.since.utc:
            parts.append((cover, minutes(start, at)))
            start, cover = at, changed
    parts.append((cover, minutes(start, until)))
    return parts


def wait_used_up_at(batch: BatchRecord, wait: WaitingTime, plan: Plan, now: Moment) -> Moment | None:
    """Return when a wait had lasted as long as its covers let it; None if it has not by ``now``."""
    used, start = 0.0, wait.since
    for cover, length in waited_by_cover(batch, wait, now):
        limit = plan.rules.wait_min(cover, specks=wait.specks)
        if above(used + length / limit, 1.0):
            return start.later((1.0 - used) * limit * 60)
        used += length / limit
        start = start.later(length * 60)
    return None


def wait_left_min(
    batch: BatchRecord, wait: WaitingTime, plan: Plan, now: Moment, under: Cover | None = None
) -> float:
    """Return the minutes, below 0 once over, that a wait may still last ``under`` a cover, else its present one."""
    parts = waited_by_cover(batch, wait, now)
    used_share = sum(length / plan.rules.wait_min(cover, specks=wait.specks) for cover, length in parts)
    return (1.0 - used_share) * plan.rules.wait_min(under or parts[-1][0], specks=wait.specks)


def open_wait(day: Day, batch: BatchRecord, now: Moment) -> WaitingTime | None:
    """Return the wait that lasts at ``now``, if any."""
    return next((wait for wait in waits(day, batch) if wait.until is None and wait.since.utc <= now.utc), None)


def lies_open(day: Day, batch: BatchRecord, now: Moment) -> bool:
    """Return whether painted yarn waits with nothing over it."""
    wait = open_wait(day, batch, now)
    return wait is not None and waited_by_cover(batch, wait, now)[-1][0] is Cover.OPEN


def waiting_text(day: Day, batch: BatchRecord, now: Moment) -> str | None:
    """Return "painted, wrapped, safe until Sat 20:25" of yarn that waits for heat, else None."""
    if (wait := open_wait(day, batch, now)) is None:
        return None
    cover, left_min = waited_by_cover(batch, wait, now)[-1][0], wait_left_min(batch, wait, day.plan, now)
    return f"painted, {cover_text(day, cover, left_min, now)}"


def cover_text(day: Day, cover: Cover, left_min: float, now: Moment) -> str:
    """Return "wrapped, safe until Sat 20:25" of yarn that may wait ``left_min`` longer, or "drying out since"."""
    until = day.time_text(now.later(left_min * 60).utc)
    return f"{cover.value}, {'safe until' if left_min > 0 else 'drying out since'} {until}"
