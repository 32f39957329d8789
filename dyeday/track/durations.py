"""How long work took by a day's record, one value a stretch, and the studio's own minutes learned from that.

Hands are at what was begun last, and at nothing in breaks and absences; what began at the same moment shares them.
Chores of a batch or skein that lie in a stretch (wrapping after paint, spinning after the rinse) are planned and
counted with it, for of most chores only the end is recorded.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from itertools import pairwise
from math import exp, log, sqrt
from operator import eq, gt
from statistics import median
from typing import NamedTuple

from dyeday.craft.errors import RefusedError
from dyeday.craft.yarn.cooling_curve import newton
from dyeday.craft.yarn.drying_air import water_share
from dyeday.grouping import grouped
from dyeday.plan.model import Plan
from dyeday.quick_dataclass import dataclass
from dyeday.terms import ChorePer, ChoreWhen, CoolWhere, DyeMethod, ReadingKind, State, WorkKind
from dyeday.track.day.batch_record import BatchRecord, Heat, Stay
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import readings_of, soak_needed_min
from dyeday.track.day.room_air import dry_min, room_c
from dyeday.track.events.movements import ChoreFinished, Heated, Load, Moved
from dyeday.track.flags.rinsing import rinse_below_c
from dyeday.track.folding.fold import effective
from dyeday.track.timestamp import NO_END, Moment, minutes, wall_instant

SHORTEST_MIN = 0.5
"""a shorter stretch is left out: two keys were pressed one after the other"""

OF_HOW = {
    DyeMethod.PAINTED: WorkKind.PAINTED,
    DyeMethod.SPECKLED: WorkKind.SPECKLED,
    DyeMethod.IMMERSED: WorkKind.IMMERSED,
}
OF_COOL = {CoolWhere.OUT: WorkKind.COOL_OUT, CoolWhere.IN_PLACE: WorkKind.COOL_IN_PLACE}
ATTENDED = (*OF_HOW.values(), WorkKind.RINSE, WorkKind.LOAD, WorkKind.UNLOAD)
"""kinds of attended work"""
LYING = (WorkKind.SOAK,)
"""how long yarn lay until the dyer came back; shown, but the forecast does not use it"""
TIMED = (*ATTENDED, *OF_COOL.values(), WorkKind.DRY, *LYING)
FREED_MIN = 10.0
"""yarn that left paint so soon after its unit came free has probably waited for that"""
SILENT_MIN = 60.0
"""after a gap so long, and longer than planned, work may have been over long before"""
PRIOR_N = 4.0
"""observations that the plan's own value counts as; common practice, no source"""
PRIOR_SPREAD = 0.15
"""the spread taken until a studio's own is known; common practice, no source"""
MAD_TO_SIGMA = 1.4826
"""median absolute deviation to standard deviation of a normal: 1 / Φ⁻¹(3/4)"""
LEAST_SPREAD = 0.03
"""of `Learned.spread`; common practice, no source"""


@dataclass(frozen=True, slots=True)
class ObservedDuration:
    """One stretch: what the plan allows for it and what it took, in minutes, both above 0."""

    kind: WorkKind
    planned_min: float
    actual_min: float
    batch: str = ""
    at_most: bool = False
    """it was over by then, or earlier"""

    @property
    def ratio(self) -> float:
        """Actual by planned minutes."""
        return self.actual_min / self.planned_min


def durations_of(day: Day) -> tuple[ObservedDuration, ...]:
    """Return every stretch of the day that is over and known, batch by batch."""
    busy = list(_busy(day))
    lots: set[tuple[str, int]] = set()
    out: list[ObservedDuration] = []
    first_dyed = ((batch, batch.painted[0].since if batch.painted else NO_END) for batch in day.batches.values())
    for batch, _ in sorted(first_dyed, key=lambda pair: (pair[1].utc, pair[0].no)):
        for stay in _own_stays(day, batch):
            if stay.until is not None:
                out += _stayed(day, batch, stay, stay.until, busy, lots)
        if batch.state != State.SPLIT:
            out += _heats(day, batch)
            out += _cooled(day.plan, batch)
            out += _dried(day.plan, batch)
    return tuple(one for one in out if one.planned_min > 0 and one.actual_min >= SHORTEST_MIN)


def _own_stays(day: Day, batch: BatchRecord) -> list[Stay]:
    """Return a batch's stays without those of the batch it was split from, or of an earlier session."""
    parent = day.batches.get(batch.parent or "")
    known = {stay.since.utc for stay in parent.stays} if parent is not None else set()
    return [stay for stay in batch.stays if stay.since.utc not in known and batch.is_of_session(stay.since.utc)]


class _Busy(NamedTuple):
    """A stretch in which hands worked on a batch, or on none (""); None if they were away."""

    since: datetime
    until: datetime
    batch: str | None


def _busy(day: Day) -> Iterator[_Busy]:
    """Yield dyeing, rinsing, chores with both ends on record, breaks and absences."""
    end, session = day.last_at, day.plan.session
    for span in (*session.breaks, *session.out):
        begin, over = (wall_instant(session.date, minute, session.zone) for minute in span)
        yield _Busy(begin, over, None)
    counting = effective(day.events)[0]
    done = [(event.at, event.body.entry_of(event)) for event in counting if isinstance(event.body, ChoreFinished)]
    for begun, entry in day.chores_begun:
        if (until := next((at for at, of in done if of == entry and at > begun.utc), None)) is not None:
            yield _Busy(begun.utc, until, entry.batch)
    for batch in day.batches.values():
        for stay in _own_stays(day, batch):
            if stay.state in (State.PAINT, State.RINSE) and end is not None:
                # The stay of a batch that was split goes on in its parts.
                parts = (part for part in day.unsplit if batch.no in day.lineage(part))
                same = (one for part in parts for one in part.stays if one.state is stay.state)
                ends = (one.until for one in same if one.since.utc == stay.since.utc)
                over = max((end if until is None else until.utc for until in ends), default=end)
                yield _Busy(stay.since.utc, over, batch.no)


def _hands_share(begin: datetime, end: datetime, batch_no: str, busy: list[_Busy], hands: int) -> float:
    """Return the share of a batch's stay, 0 to 1, in which hands worked on it."""
    if end <= begin:
        return 1.0
    over = [one for one in busy if one.batch != batch_no and one.since < end and one.until > begin]
    cuts = sorted({begin, end, *(max(one.since, begin) for one in over), *(min(one.until, end) for one in over)})
    own_s = 0.0
    for a, b in pairwise(cuts):
        there = [one for one in over if one.since <= a and one.until >= b]
        later, level = (sum(test(one.since, begin) for one in there) for test in (gt, eq))
        if all(one.batch is not None for one in there):
            own_s += (b - a).total_seconds() * min(1.0, max(0, hands - later) / (1 + level))
    return own_s / (end - begin).total_seconds()


def _stayed(
    day: Day, batch: BatchRecord, stay: Stay, until: Moment, busy: list[_Busy], lots: set[tuple[str, int]]
) -> Iterator[ObservedDuration]:
    plan, length = day.plan, minutes(stay.since, until)
    layer = batch.layer_of(stay.layer)
    hands_share = _hands_share(stay.since.utc, until.utc, batch.no, busy, plan.session.hands)
    if stay.state == State.SOAK:
        yield ObservedDuration(WorkKind.SOAK, soak_needed_min(batch, plan), length, batch.no)
    elif stay.state == State.PAINT and length > 0:  # none where the pot was switched on with the dye
        mix = next((put_on.mix for put_on in batch.painted if put_on.since == stay.since), batch.planned_mix)
        set_up = (mix, batch.layer_no(stay.layer))
        first = set_up not in lots
        lots.add(set_up)
        planned = layer.dyeing_min(batch.wof_g, setup=first) + _chores_min(plan, batch, ChoreWhen.AFTER_PAINT)
        at_most = _may_have_waited(day, batch, stay, until, planned)
        yield ObservedDuration(OF_HOW[layer.how], planned, length * hands_share, batch.no, at_most)
    elif stay.state == State.RINSE:
        planned = batch.colourway.rinse_min_per_100g * (batch.wof_g / 100)
        planned += _chores_min(plan, batch, ChoreWhen.AFTER_RINSE)
        at_most = _may_have_waited(day, batch, stay, until, planned)
        yield ObservedDuration(WorkKind.RINSE, planned, length * hands_share, batch.no, at_most)


def _may_have_waited(day: Day, batch: BatchRecord, stay: Stay, until: Moment, planned_min: float) -> bool:
    """Return whether work may have ended before its stay did, as a unit came free or after a long gap in entries."""
    later = (heat for heat in batch.heats if heat.start.utc >= until.utc)
    heat = next(later, None) if stay.state is State.PAINT else None
    freed = _freed(day, batch, heat) if heat is not None else ()
    if any(stay.since < free and not until < free and minutes(free, until) <= FREED_MIN for free in freed):
        return True
    between = (event.at for event in day.shown_events if stay.since.utc < event.at < until.utc)
    entries = sorted({stay.since.utc, until.utc, *between})
    return any((b - a).total_seconds() >= max(SILENT_MIN, planned_min) * 60 for a, b in pairwise(entries))


def _chores_min(plan: Plan, batch: BatchRecord, when: ChoreWhen) -> float:
    chores = [chore for chore in plan.chores if chore.when == when and chore.per in (ChorePer.BATCH, ChorePer.SKEIN)]
    return sum(chore.minutes * (batch.skeins if chore.per == ChorePer.SKEIN else 1) for chore in chores)


def _heats(day: Day, batch: BatchRecord) -> Iterator[ObservedDuration]:
    """Yield loading (into fix, or unit free, to heat) and unloading (heat off to the next state), if undisturbed."""
    alive = [event for event in effective(day.events)[0] if isinstance(event.body, (Load, Moved, Heated))]
    # One entry for several steps does not show how long each took.
    at_once = {event.at for event in alive if isinstance(event.body, Load) and batch.no in event.batches}

    def disturbed(since: datetime, until: datetime) -> bool:
        return any(batch.no not in event.batches and since < event.at <= until for event in alive)

    parent = day.batches.get(batch.parent or "")
    theirs = set(parent.heats) if parent is not None else set()
    for stay in batch.stays:
        if stay.state != State.FIX or not batch.is_of_session(stay.since.utc):
            continue
        until = stay.until.utc if stay.until is not None else day.last_at or stay.since.utc
        heats = [r for r in batch.heats if r not in theirs and stay.since.utc <= r.start.utc <= until]
        if not heats:
            continue
        first, last = heats[0], heats[-1]
        kit = day.plan.kit_of(first.unit)
        begin = max([stay.since, *_freed(day, batch, first)])
        if kit is not None and first.start.utc not in at_once and not disturbed(begin.utc, first.start.utc):
            yield ObservedDuration(WorkKind.LOAD, kit.load_min, minutes(begin, first.start), batch.no)
        kit = day.plan.kit_of(last.unit)
        in_place = batch.layer_of(stay.layer).cool_where == CoolWhere.IN_PLACE
        if kit is None or last.end is None or stay.until is None or in_place or stay.until.utc in at_once:
            continue
        if disturbed(last.end.utc, stay.until.utc):
            continue
        yield ObservedDuration(WorkKind.UNLOAD, kit.unload_min, minutes(last.end, stay.until), batch.no)


def _freed(day: Day, batch: BatchRecord, heat: Heat) -> list[Moment]:
    """Return when others' heats in the unit of ``heat`` ended before it: it could not be loaded earlier."""
    others = (other for each in day.batches.values() if each.no != batch.no for other in each.heats)
    ends = (other.end for other in others if other.unit == heat.unit)
    return [end for end in ends if end is not None and end.utc <= heat.start.utc]


def _temperatures(batch: BatchRecord) -> list[tuple[float, float]]:
    """Return (minutes since the last heat ended, °C) up to the rinse, of the yarn or else its bath, if read twice."""
    ends = [heat.end for heat in batch.heats if heat.end is not None]
    if not ends or batch.open_heat is not None:
        return []
    rinses = (s.since.utc for s in batch.stays if s.state == State.RINSE)
    rinsed = min((since for since in rinses if since >= ends[-1].utc), default=None)
    for name in (ReadingKind.YARN_C, ReadingKind.BATH_C):
        later = (r for r in readings_of(batch, name) if r.at.utc >= ends[-1].utc)
        seen = [(minutes(ends[-1], r.at), float(r.value)) for r in later if rinsed is None or r.at.utc <= rinsed]
        if len({at for at, _ in seen}) > 1:
            return seen
    return []


def _cooled(plan: Plan, batch: BatchRecord) -> Iterator[ObservedDuration]:
    if not (seen := _temperatures(batch)):
        return
    came = batch.carried.at if batch.carried is not None else None
    if came is not None and seen[-1][0] <= minutes(batch.heats[-1].end or came, came):
        return  # it was read in the session that the batch came from
    layer = batch.layer_of(batch.heats[-1].layer)
    try:
        safe = newton(seen, room_c(plan)).minute_of(rinse_below_c(plan, batch))
    except RefusedError:
        return
    # More than ten times the plan is a wrong reading, not a slow pot.
    if 0 < safe <= 10 * max(layer.cool_min, 1.0):
        yield ObservedDuration(OF_COOL[layer.cool_where], layer.cool_min, safe, batch.no)


def _dried(plan: Plan, batch: BatchRecord) -> Iterator[ObservedDuration]:
    """Yield the drying of a batch: by two weights if it has them, else at most until it was taken down.

    Wet yarn loses water evenly, so its spun weight and one on the pegs tell when all of it will be gone. A weight
    within 2 % of dry shows only that it was dry by then.
    """
    if (hung := next((stay for stay in reversed(batch.stays) if stay.state == State.DRY), None)) is None:
        return
    planned, dry_g = dry_min(plan, batch.colourway), batch.wof_g
    weighed = readings_of(batch, ReadingKind.SPUN_G)
    spun = [r for r in weighed if r.at.utc >= hung.since.utc or r.state in (State.RINSE, State.DRY)]
    hanging = (r for r in readings_of(batch, ReadingKind.WEIGHT_G) if r.state == State.DRY)
    on_way = [r for r in hanging if r.at.utc > hung.since.utc and batch.is_of_session(r.at.utc)]
    for reading in on_way:
        since, value = minutes(hung.since, reading.at), float(reading.value)
        if value <= dry_g * 1.02:
            yield ObservedDuration(WorkKind.DRY, planned, since, batch.no, at_most=True)
            return
        if spun and value < float(spun[-1].value):
            try:
                wet, left = water_share(dry_g, float(spun[-1].value)), water_share(dry_g, value)
            except RefusedError:
                return
            if left < 0.8 * wet:
                yield ObservedDuration(WorkKind.DRY, planned, since * wet / (wet - left), batch.no)
                return
    if hung.until is not None and batch.state == State.DONE:
        yield ObservedDuration(WorkKind.DRY, planned, minutes(hung.since, hung.until), batch.no, at_most=True)


@dataclass(frozen=True, slots=True)
class Learned:
    """A kind of work: ``factor`` on the plan's minutes, above 0; ``spread`` of ln(actual / expected); ``n`` seen."""

    factor: float
    spread: float
    n: int


def learned(observed: Iterable[ObservedDuration]) -> dict[WorkKind, Learned]:
    """Return what the observations say, by kind.

    The factor is exp of the median of ln(actual / planned), drawn towards 0 as if the plan itself were `PRIOR_N`
    observations: times n / (n + `PRIOR_N`). The spread is 1.4826 times the median absolute deviation of the same
    logarithms, mixed by squares with `PRIOR_SPREAD` in the same proportion. A stretch with only an upper bound counts
    if that is below the others' median, or without others below the plan.
    """
    by_kind = grouped((one.kind, one) for one in observed)
    return {kind: times for kind, ones in by_kind.items() if (times := _of_kind(ones)) is not None}


def _of_kind(ones: list[ObservedDuration]) -> Learned | None:
    logs = [log(one.ratio) for one in ones if not one.at_most]
    so_far = median(logs) if logs else 0.0
    logs += [log(one.ratio) for one in ones if one.at_most and log(one.ratio) < so_far]
    if not logs:
        return None
    n, middle = len(logs), median(logs)
    own = MAD_TO_SIGMA * median(abs(value - middle) for value in logs)
    spread = sqrt((n * own**2 + PRIOR_N * PRIOR_SPREAD**2) / (n + PRIOR_N))
    return Learned(exp(middle * n / (n + PRIOR_N)), max(LEAST_SPREAD, spread), n)


def to_reckon_with(by_kind: Mapping[WorkKind, Learned]) -> dict[WorkKind, Learned]:
    """Return the kinds a forecast may use: all but those of yarn that lay waiting."""
    return {kind: each for kind, each in by_kind.items() if kind not in LYING}


def expected_min(kind: WorkKind, planned_min: float, by_kind: Mapping[WorkKind, Learned]) -> float:
    """Return the minutes to expect of work the plan gives ``planned_min``; the plan's where nothing is known."""
    return planned_min * by_kind[kind].factor if kind in by_kind else planned_min
