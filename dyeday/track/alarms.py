"""Alarms: what has gone past its time and does harm. States and words of ISA-18.2 / IEC 62682.

Heat running over its time, painted yarn drying out, a tank near empty; nothing else, since a soak, a cooling,
a rest or a drying that lasts longer harms nothing. Alarms are worked out from the day, so they come back as
they were after a restart; only what was done about them is an event.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from dyeday.track.clocks import heat_id, tank_clocks, wait_id
from dyeday.track.day import AlarmAct, Day
from dyeday.track.instant import Now
from dyeday.track.progress import at_heat_min, wait_limit, waits
from dyeday.track.record import BatchRecord

MOST_SHELVED_MIN = 15.0
URGENCY = {"heat": 0, "tank": 1, "wait": 2}


@dataclass(frozen=True, slots=True)
class Alarm:
    """One alarm. ``until`` is when its cause went away, None while it lasts."""

    id: str
    batch: str | None
    unit: str | None
    text: str
    since: datetime
    until: datetime | None
    acknowledged: datetime | None
    shelved_until: datetime | None

    @property
    def kind(self) -> str:
        return self.id.split("-", 1)[0]

    def state(self, now: datetime) -> str:
        """Return active, acknowledged, returned to normal, shelved or normal."""
        if self.until is not None:
            return "normal" if self.acknowledged else "returned to normal"
        if self.is_shelved(now):
            return "shelved"
        return "acknowledged" if self.acknowledged else "active"

    def is_shelved(self, now: datetime) -> bool:
        return self.shelved_until is not None and now < self.shelved_until

    def stood_min(self, now: datetime) -> float:
        """Return the minutes it stood active and unacknowledged, without those it was shelved before."""
        end = min(x for x in (self.until, self.acknowledged, now) if x is not None)
        start = self.since
        if self.shelved_until is not None and self.shelved_until > start:
            start = min(self.shelved_until, end)
        return max(0.0, (end - start).total_seconds() / 60)

    def sounds(self, now: datetime, re_alarm_min: float) -> int:
        """Return how often it should have sounded by ``now``: at once, then every ``re_alarm_min``."""
        if self.state(now) != "active":
            return 0
        start = max(self.since, self.shelved_until or self.since)
        return 1 + int((now - start).total_seconds() // (re_alarm_min * 60))


def alarms(day: Day, now: Now) -> list[Alarm]:
    """Return every alarm of the day up to ``now``, also those long over, most urgent first."""
    found = [alarm for batch in day.batches.values() if batch.state != "split" for alarm in of_batch(day, batch, now)]
    found += list(of_tanks(day, now))
    return sorted(found, key=lambda alarm: (URGENCY[alarm.kind], alarm.since))


def standing(day: Day, now: Now) -> list[Alarm]:
    """Return the alarms that want something: active, acknowledged, shelved, or returned and not acknowledged."""
    return [alarm for alarm in alarms(day, now) if alarm.state(now.utc) != "normal"]


def of_batch(day: Day, batch: BatchRecord, now: Now) -> Iterator[Alarm]:
    """Yield every alarm a batch has had up to ``now``."""
    late = day.plan.rules.overdue_after
    for run in batch.runs:
        heats = batch.layer_of(run.layer).heats
        heat = heats[min(run.pass_no, len(heats)) - 1]
        over = at_heat_min(run, now) - heat.minutes
        if over <= late:
            continue
        since = run.heat_start.later((heat.minutes + late) * 60).utc
        where = run.unit or heat.how
        text = f"{batch.no} {heat.how} {heat.minutes:g} min is over: take the heat off {where}"
        yield _alarm(day, heat_id(batch, run), batch.no, run.unit, text, since, run.end.utc if run.end else None)
    for wait in waits(batch):
        limit = wait_limit(batch, wait, day.plan, now)
        if limit is not None and limit.later(late * 60).utc <= (wait.until or now).utc:
            since = limit.later(late * 60).utc
            text = f"{batch.no} is painted and drying out: heat it or wrap it"
            until = wait.until.utc if wait.until else None
            yield _alarm(day, wait_id(batch, wait.since), batch.no, batch.unit, text, since, until)


def of_tanks(day: Day, now: Now) -> Iterator[Alarm]:
    """Yield the alarms of tanks that are running low now."""
    late = day.plan.rules.overdue_after
    for clock in tank_clocks(day, now):
        if clock.left_s is not None and clock.left_s < -late * 60:
            since = now.later(clock.left_s + late * 60).utc
            text = f"{clock.unit} has run {clock.elapsed_s / 60:.0f} min on one fill: fill it before it boils dry"
            yield _alarm(day, clock.id, None, clock.unit, text, since, None)


def _alarm(
    day: Day, name: str, batch: str | None, unit: str | None, text: str, since: datetime, until: datetime | None
) -> Alarm:
    acknowledged: datetime | None = None
    shelved: datetime | None = None
    for act in day.alarm_acts.get(name, ()):
        if act.what == "acknowledged":
            acknowledged = acknowledged or act.at.utc
        else:
            shelved = _shelved_until(act)
    return Alarm(name, batch, unit, text, since, until, acknowledged, shelved)


def _shelved_until(act: AlarmAct) -> datetime | None:
    if act.what != "shelved":
        return None
    return act.at.utc + timedelta(minutes=min(act.minutes or 5.0, MOST_SHELVED_MIN))
