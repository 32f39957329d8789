"""The main screen as plain values, computed from the day and now: what each line says, nothing of how it looks."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping
from datetime import date
from itertools import chain
from typing import TYPE_CHECKING

from dyeday.ahead.advising.next_up import Glance, NextUp, Rank, without_forecast
from dyeday.bench.view.batch_row import BatchRow, BatchRows
from dyeday.grouping import grouped
from dyeday.quick_dataclass import dataclass
from dyeday.text import counted, harmless
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.flags import Flag, one_for_each_cause
from dyeday.track.timers.alarm_states import Alarm, standing
from dyeday.track.timestamp import Moment, local, signed_s, time_text_near, time_text_on

if TYPE_CHECKING:
    from dyeday.ahead.forecast import Forecast

IF_YOU_WORK_ON = " if you work on"
MOST_NEXT_SHOWN = 8
MOST_NEXT_MADE = MOST_NEXT_SHOWN + 1
"""one more than the lines of what is next: the first may be the top line"""
LOOK_EVERY_S = 3.0
"""without an event, alarms and what is next are updated this often"""


@dataclass(frozen=True, slots=True)
class AlarmLine:
    """One line of alarms: alarms of one thing that came and went share a line. ``ids`` are all of them."""

    ids: tuple[str, ...]
    about: frozenset[str]
    """the batches, or the units, that it is about"""
    text: str
    brief: str
    """the same without how long it has stood"""
    is_past: bool = False
    """whether the causes of all of them are over"""


@dataclass(frozen=True, slots=True)
class BenchView:
    """The main screen at one moment."""

    title: str
    corner: tuple[str, ...]
    """alarms, when the day finishes and the clock, from the longest text to the shortest: alarms and clock"""
    corner_brief: tuple[str, str]
    """the number of alarms and the clock, shorter still; then one of the two"""
    foreseen: str
    """when the day finishes and whether it fits, where that is known"""
    alarms: tuple[AlarmLine, ...]
    """to be silenced"""
    snoozable: tuple[AlarmLine, ...]
    """that stand and are not snoozed, silenced or not"""
    next_up: tuple[NextUp, ...]
    rows: tuple[BatchRow, ...]
    closed: bool
    open_flags: int
    """of the whole day and of batches, each cause once"""

    @property
    def lasting_alarms(self) -> tuple[AlarmLine, ...]:
        """Alarms whose cause lasts."""
        return tuple(line for line in self.alarms if not line.is_past)

    @property
    def past_alarms(self) -> AlarmLine | None:
        """The line of all alarms that are past, where no other stands before it."""
        return self.alarms[0] if self.alarms and self.alarms[0].is_past else None


def fit_text(forecast: Forecast, zone: str | None) -> str:
    """Return "finish 19:40 · fits", or what is rinsed by stop instead; empty where nothing is foreseen."""
    if forecast.nothing_ends:
        return "no batch can be finished"
    if not forecast.steps:
        return ""
    at = forecast.at.utc
    heat = forecast.last_heat_text(lambda moment: time_text_near(moment, zone, at)) if forecast.counts_heat else ""
    if heat:
        return heat
    finish = f"finish {time_text_near(forecast.finish, zone, at)}"
    if forecast.fits:
        return f"{finish} · fits"
    done = f"{forecast.reached} of {forecast.of} {forecast.counted_as}"
    if forecast.counts_heat and forecast.tomorrow_finish is not None:
        return f"{done} · rinsed by {time_text_near(forecast.tomorrow_finish, zone, at)}"
    # Two sequences: one for the most by the stop, one for the earliest end.
    stop = (time_text_near if forecast.stop > at else time_text_on)(forecast.stop, zone, at)
    return f"{done} by stop {stop}, {finish}{IF_YOU_WORK_ON}"


def _corner(alarms: str, foreseen: str, clock: str) -> tuple[str, ...]:
    # A finish without its "if you work on" would read as the one that stopping brings.
    brief = foreseen.split(" · ")[0].split(", ")[0]
    less = [brief, *(brief.replace(words, " by ") for words in (" by stop ", " rinsed by stop "))]
    return tuple("   ".join(filter(None, (alarms, ahead, clock))) for ahead in (foreseen, *less, ""))


def _alarm_lines(day: Day, alarms: list[Alarm]) -> tuple[AlarmLine, ...]:
    """Return a line for each thing with an alarm that lasts, then one for all that are past."""
    if not alarms:
        return ()
    lines = []
    past: list[Alarm] = []
    for same in grouped(((alarm.about, alarm.kind), alarm) for alarm in alarms).values():
        if (shown := next((alarm for alarm in same if alarm.lasts), None)) is None:
            past += same
            continue
        often = f", {len(same)} times" if len(same) > 1 else ""
        ids = tuple(name for alarm in same for name in alarm.ids)
        stood = f"{shown.text}, alarm since {day.time_text(shown.since)}"
        lines.append(AlarmLine(ids, frozenset(shown.about.split("+")), stood + often, shown.text))
    if past:
        counts = Counter(alarm.text.split(":")[0] for alarm in past)
        texts = ", ".join(f"{text}, {count} times" if count > 1 else text for text, count in counts.items())
        ids = tuple(name for alarm in past for name in alarm.ids)
        about = frozenset(one for alarm in past for one in alarm.about.split("+"))
        lines.append(AlarmLine(ids, about, f"past, not silenced: {texts}", f"{len(past)} past, not silenced", True))
    return tuple(lines)


def new_batches(day: Day, before: Mapping[str, BatchRecord]) -> str:
    """Return "batch 06 Kelp Light" or such of the batches ``day`` has and ``before`` had not; parts are not new."""
    if not (new := [batch for batch in day.unsplit if batch.no not in before and batch.parent is None]):
        return ""
    names = ", ".join(f"{batch.no} {batch.colourway.name}" for batch in new)
    return f"batch{'es' if len(new) > 1 else ''} {names}, at the foot of the list"


class ViewCache:
    """The latest view and what it was made from. ``items`` is what is next, `MOST_NEXT_MADE` at most."""

    def __init__(self) -> None:
        self.rows = BatchRows()
        self.items: list[NextUp] = []
        self._day: Day | None = None
        self._date: date | None = None
        self._looked: Moment | None = None
        self._alarms: list[Alarm] = []
        self._forecast: Forecast | None = None

    def view(
        self,
        day: Day,
        now: Moment,
        flags: dict[str, list[Flag]],
        forecast: Forecast | None,
        *,
        is_awaited: bool = False,
        but: Collection[str] = (),
    ) -> BenchView:
        """Return the main screen of ``day`` at ``now``; alarms and what is next are up to `LOOK_EVERY_S` old.

        No alarms of the batches and units ``but``. ``flags`` are by batch, the whole day's under "". While a forecast
        ``is_awaited``, only the urgent is next.
        """
        today = local(now.utc, day.plan.session.zone).date()
        if day is not self._day or today != self._date:
            self._day, self._date, self._looked = day, today, None
            self.rows.forget()
        stale = self._looked is None or not 0 <= signed_s(self._looked, now) < LOOK_EVERY_S
        if stale:
            self._alarms = standing(day, now, but)
        alarmed = {no for alarm in self._alarms if alarm.lasts for no in alarm.batches}
        turned, asked = self.rows.update(day, now, flags, alarmed)
        if stale or turned or forecast is not self._forecast:
            glance = Glance(self._alarms, asked)
            if forecast is None:
                items = without_forecast(day, now, MOST_NEXT_MADE, glance)
            else:
                from dyeday.ahead.advising.advice import advice

                items = advice(day, now, MOST_NEXT_MADE, forecast, glance)
            # What is not urgent is the next day's, or the forecast's to choose.
            waits = Rank.CANNOT if is_awaited else None
            is_open = day.closed is None and not is_awaited
            self.items = items if is_open else [item for item in items if item.is_urgent or item.rank is waits]
            self._forecast = forecast
        if stale:
            self._looked = now
        lasting = [alarm for alarm in self._alarms if alarm.lasts]
        snoozable = [alarm for alarm in lasting if not alarm.is_snoozed(now.utc)]
        zone = day.plan.session.zone
        clock = f"{local(now.utc, zone):%H:%M}"
        foreseen = fit_text(forecast, zone) if forecast is not None and day.closed is None else ""
        snoozed = f", {len(lasting) - len(snoozable)} snoozed" if len(snoozable) < len(lasting) else ""
        count = f"{counted(len(lasting), 'alarm')}{snoozed}" if lasting else ""
        return BenchView(
            title=harmless(day.plan.session.name),
            corner=_corner(count, foreseen, clock),
            corner_brief=(f"{len(lasting)}! {clock}", f"{len(lasting)}!") if lasting else (clock, clock),
            foreseen=foreseen,
            alarms=_alarm_lines(day, [a for a in self._alarms if not a.silenced_at and not a.is_snoozed(now.utc)]),
            snoozable=_alarm_lines(day, snoozable),
            next_up=tuple(self.items),
            rows=self.rows.rows,
            closed=day.closed is not None,
            open_flags=sum(flag.cleared is None for flag in one_for_each_cause(chain(*flags.values()))),
        )
