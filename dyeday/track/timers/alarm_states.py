"""Alarms: what is past its time and does harm, in the states of ISA-18.2 / IEC 62682 under a dyer's words.

They are computed from the day; only what was done about them is an event.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace
from datetime import datetime, timedelta

from dyeday.craft.yarn import fibres
from dyeday.grouping import joined
from dyeday.quick_dataclass import dataclass
from dyeday.terms import AlarmAction, AlarmKind, AlarmState, Cover, HeatKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import MOST_SNOOZE_MIN, Day
from dyeday.track.day.progress import at_heat_min, has_its_minutes, heat_due_min
from dyeday.track.day.waiting_time import wait_used_up_at, waits
from dyeday.track.timers.timers import heat_id, tanks, wait_id
from dyeday.track.timestamp import Moment, length_text, on_wall

USUAL_SNOOZE_MIN = 5.0
URGENCY = {AlarmKind.HEAT: 0, AlarmKind.TANK: 1, AlarmKind.WAIT: 2}
ONE_HEAT = timedelta(minutes=1)
"""batches of one unit whose alarms come within this of each other had one heat, and have one alarm"""
OFF_AND_FILL = "turn it off, cool, fill it"
"""in this order: cold water into a tank that is hot or dry spits and cracks it"""


@dataclass(frozen=True, slots=True)
class Alarm:
    """One alarm. ``until`` is when its cause went away, None while it lasts."""

    id: str
    kind: AlarmKind
    batches: tuple[str, ...]
    """several where they are parts of one batch, or share one heat"""
    unit: str | None
    what: str
    """what is wrong and what to do, without its subject"""
    since: datetime
    until: datetime | None
    silenced_at: datetime | None = None
    snoozes: tuple[tuple[datetime, datetime], ...] = ()
    """(from, until) of each snooze"""
    others: tuple[str, ...] = ()
    """ids of the other batches' alarms in the same heat"""

    @property
    def ids(self) -> tuple[str, ...]:
        """Its own id, then the `others`."""
        return (self.id, *self.others)

    @property
    def lasts(self) -> bool:
        """Whether its cause lasts."""
        return self.until is None

    @property
    def snoozed_until(self) -> datetime | None:
        """When its last snooze ends or ended; None where it was never snoozed."""
        return self.snoozes[-1][1] if self.snoozes else None

    @property
    def about(self) -> str:
        """Its subject: "03", "03a+03b" or "steamer 1"."""
        return "+".join(self.batches) or str(self.unit)

    @property
    def text(self) -> str:
        """Its subject and what is wrong, in one line."""
        return f"{self.about} {self.what}"

    def state(self, now_utc: datetime) -> AlarmState:
        """Return its state; once its cause has gone, NORMAL if it was silenced at any time, else RETURNED."""
        if self.until is not None:
            return AlarmState.NORMAL if self.silenced_at else AlarmState.RETURNED
        if self.is_snoozed(now_utc):
            return AlarmState.SNOOZED
        return AlarmState.SILENCED if self.silenced_at else AlarmState.ACTIVE

    def is_snoozed(self, now_utc: datetime) -> bool:
        """Return whether its last snooze still runs."""
        return self.snoozed_until is not None and now_utc < self.snoozed_until

    def active_spans(self, now_utc: datetime) -> list[tuple[datetime, datetime]]:
        """Return the stretches up to ``now_utc`` in which it was active: neither silenced nor snoozed."""
        end = min(x for x in (self.until, self.silenced_at, now_utc) if x is not None)
        spans, start = [], self.since
        for off, on in sorted(self.snoozes):
            if min(off, end) > start:
                spans.append((start, min(off, end)))
            start = max(start, on)
        if end > start:
            spans.append((start, end))
        return spans

    def active_min(self, now_utc: datetime) -> float:
        """Return the minutes of its `active_spans`."""
        return sum((end - start).total_seconds() for start, end in self.active_spans(now_utc)) / 60

    def when_active_for(self, limit_min: float, now_utc: datetime) -> datetime | None:
        """Return when it had been active for ``limit_min`` in all; None if it has not."""
        left = timedelta(minutes=limit_min)
        for start, end in self.active_spans(now_utc):
            if end - start >= left:
                return start + left
            left -= end - start
        return None

    def sounds(self, now_utc: datetime, re_alarm_min: float) -> int:
        """Return how often it should have sounded since it began or its last snooze ended; 0 if it is not active.

        At once, then every ``re_alarm_min``. Compare it with an earlier count after as many snoozes.
        """
        if self.state(now_utc) != AlarmState.ACTIVE:
            return 0
        start = max(self.since, self.snoozed_until or self.since)
        return 1 + int((now_utc - start).total_seconds() // (re_alarm_min * 60))


def alarms(day: Day, now: Moment) -> list[Alarm]:
    """Return the alarms of the day up to ``now``, past ones too, most urgent first; one for all batches of a heat."""
    each = (alarm for batch in day.unsplit for alarm in alarms_of_batch(day, batch, now))
    of_batches = joined(each, lambda one, other: one.id == other.id, _shared)
    tanks = list(alarms_of_tanks(day, now))
    heats = joined(sorted(of_batches, key=lambda alarm: alarm.since), _is_one_heat, _together)
    # Where a heat also ran its tank low, that alarm replaces the heat's.
    every = [*(alarm for alarm in heats if not any(is_one_cause(alarm, tank) for tank in tanks)), *tanks]
    return sorted(every, key=lambda alarm: (URGENCY[alarm.kind], alarm.since))


def is_one_cause(heat: Alarm, tank: Alarm) -> bool:
    """Return whether the alarm of a heat left on and that of its unit's tank stood at one time."""
    meets = (heat.until is None or tank.since <= heat.until) and (tank.until is None or tank.until >= heat.since)
    return heat.kind is AlarmKind.HEAT and heat.unit == tank.unit and meets


def _is_one_heat(one: Alarm, other: Alarm) -> bool:
    both_heat = one.kind == other.kind == AlarmKind.HEAT and one.unit is not None
    return both_heat and one.unit == other.unit and abs(one.since - other.since) < ONE_HEAT


def _together(one: Alarm, other: Alarm) -> Alarm:
    """Return the joint alarm of two batches in one heat: of those for which it lasts, in the more urgent state."""
    speaks = min(
        one, other, key=lambda a: (a.until is not None, a.silenced_at is not None, a.snoozed_until or a.since)
    )
    ends = [alarm.until for alarm in (one, other) if alarm.until is not None]
    return replace(
        speaks,
        id=one.id,
        others=(*one.others, *other.ids),
        batches=speaks.batches if len(ends) == 1 else tuple(sorted((*one.batches, *other.batches))),
        what=one.what if one.what == other.what else f"heat time is up: turn off {one.unit}",
        since=min(one.since, other.since),
        until=max(ends) if len(ends) == 2 else None,
    )


def _shared(one: Alarm, other: Alarm) -> Alarm:
    """Return the joint alarm of two parts of one batch: of those for which it lasts, else of both."""
    ends = [alarm.until for alarm in (one, other) if alarm.until is not None]
    if len(ends) == 1:
        return one if one.lasts else other
    return replace(one, batches=(*one.batches, *other.batches), until=max(ends, default=None))


def standing(day: Day, now: Moment, but: Collection[str] = ()) -> list[Alarm]:
    """Return the alarms whose state is not NORMAL, without those only about batches or units in ``but``."""
    found = (alarm for alarm in alarms(day, now) if alarm.state(now.utc) != AlarmState.NORMAL)
    return [alarm for alarm in found if not {*(alarm.batches or (alarm.unit,))} <= {*but}]


def alarms_of_batch(day: Day, batch: BatchRecord, now: Moment) -> Iterator[Alarm]:
    """Yield the alarms of a batch up to ``now``, but those that ended before it was carried here."""
    for alarm in (*_of_heats(day, batch, now), *_of_waits(day, batch, now)):
        if alarm.until is None or batch.is_of_session(alarm.until):
            yield _handled(day, alarm, now)


def _of_heats(day: Day, batch: BatchRecord, now: Moment) -> Iterator[Alarm]:
    for heat in batch.heats:
        if heat.own_end is not None:
            continue
        planned = batch.planned_heat(heat)
        # A bath soon felts wool and dulls silk; steam harms only yarn that dries, and its tank's alarm comes first.
        delicate = planned.how is HeatKind.SIMMER and fibres.bath_limit_c(dict(batch.base.fibre)) is not None
        rules = day.plan.rules
        most_min = heat_due_min(day.plan, batch, heat) + (rules.overdue_after if delicate else rules.steam_over)
        if at_heat_min(heat, day.on_day_clock(now)) > most_min:
            what = f"{planned.how.value} {planned.minutes:g} min is up: turn off {heat.unit or planned.how.value}"
            since = on_wall(heat.at_heat_since.later(most_min * 60), now)
            until = on_wall(heat.end, now) if heat.end else None
            yield Alarm(heat_id(batch, heat), AlarmKind.HEAT, (batch.no,), heat.unit, what, since, until)


def _of_waits(day: Day, batch: BatchRecord, now: Moment) -> Iterator[Alarm]:
    for wait in waits(day, batch) if batch.painted else ():
        steady = day.on_day_clock(now)
        limit = wait_used_up_at(batch, wait, day.plan, steady)
        since = limit.later(day.plan.rules.overdue_after * 60) if limit is not None else None
        if since is not None and since.utc < (wait.until or steady).utc:
            # Heat ends it, and so does a cover put on since: more cannot be done for it out of heat.
            covered = (at for at, cover in batch.covers if at > since and cover is not Cover.OPEN)
            ended = min((moment for moment in (next(covered, None), wait.until) if moment), default=None)
            until = on_wall(ended, now) if ended else None
            unit = batch.unit if until is None else None
            what, alarm_id = "is painted and drying out: heat or wrap it", wait_id(batch, wait.since)
            yield Alarm(alarm_id, AlarmKind.WAIT, (batch.no,), unit, what, on_wall(since, now), until)


def heat_over_in(day: Day, unit: str, now: Moment) -> tuple[str, ...]:
    """Return the batches whose heat in a unit is on if all have had its minutes; else none."""
    on = [(b, heat) for b in day.unsplit if (heat := b.open_heat) is not None and heat.unit == unit]
    is_over = all(has_its_minutes(day.plan, batch, heat, now) for batch, heat in on)
    return tuple(batch.no for batch, _ in on) if is_over else ()


def alarms_of_tanks(day: Day, now: Moment) -> Iterator[Alarm]:
    """Yield the alarms of tanks up to ``now``. Heat off or a fill ends one; heat on again begins another."""
    for unit, fills in tanks(day, now):
        for fill in fills:
            since = fill.when_low()
            low = [span for span in fill.spans if span[1] > since] if since is not None else []
            for n, (start, end) in enumerate(low):
                is_on = fill.running and n == len(low) - 1
                what = f"ran {length_text(fill.run_min_by(end))} on one fill"
                if is_on:
                    what += f": {'turn it off' if heat_over_in(day, unit, now) else OFF_AND_FILL}"
                alarm_id = f"tank-{unit}-{fill.fill_no}" + (f".{n}" if n else "")
                begun, until = max(since or start, start), None if is_on else end
                yield _handled(day, Alarm(alarm_id, AlarmKind.TANK, (), unit, what, begun, until), now)


def _handled(day: Day, alarm: Alarm, now: Moment) -> Alarm:
    """Return an alarm with what was done about it: when it was first silenced, and its snoozes."""
    silenced_at: datetime | None = None
    snoozes: list[tuple[datetime, datetime]] = []
    for act in day.alarm_acts.get(alarm.id, ()):
        at = on_wall(act.at, now)
        if act.what is AlarmAction.SILENCED:
            silenced_at = silenced_at or at
            continue
        if snoozes:  # no longer snoozed, or snoozed again: the stretch before ends here at the latest
            snoozes[-1] = (snoozes[-1][0], min(snoozes[-1][1], at))
        if act.what is AlarmAction.SNOOZED:
            snoozes.append((at, at + timedelta(minutes=min(act.minutes or USUAL_SNOOZE_MIN, MOST_SNOOZE_MIN))))
    return replace(alarm, silenced_at=silenced_at, snoozes=tuple(snoozes))
