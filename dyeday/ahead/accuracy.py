"""Forecast accuracy: the recorded forecast of the finish against the real finish."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from statistics import median

from dyeday.ahead.foreseen_steps import Forecast
from dyeday.ahead.problem_parts.hours import minute
from dyeday.ahead.problem_parts.session_days import end_of_day_over
from dyeday.quick_dataclass import dataclass
from dyeday.terms import State
from dyeday.track.day.day_state import Day
from dyeday.track.events.remarks import Foreseen
from dyeday.track.folding.fold import effective
from dyeday.track.timestamp import length_text

FEWEST = 3
"""least number of days to judge by"""
EVERY = timedelta(hours=1)
"""between two forecasts on record"""


@dataclass(frozen=True, slots=True)
class RecordedForecast:
    """One forecast on record: when it was made, its likely and its late end, and the end that came."""

    at: datetime
    likely: datetime
    late: datetime
    ended: datetime
    late_scale: float = 1.0
    """the studio's own factor (`StudioTimes`) that is in ``late``"""

    @property
    def error_min(self) -> float:
        """Minutes the day ended later than likely; negative where it ended earlier."""
        return (self.ended - self.likely).total_seconds() / 60

    @property
    def by_late(self) -> bool:
        """Whether the day ended by the late end."""
        return self.ended <= self.late


@dataclass(frozen=True, slots=True)
class AccuracyOnRecord:
    """How often days ended by the late end, and by how many minutes the likely one is usually off."""

    days: int
    by_late: int
    error_min: float
    """median of the absolute errors"""


def ended_at(day: Day) -> datetime | None:
    """Return when the last paint, rinse or heat ended; None without any, or while yarn has other work to come.

    Yarn that hangs to dry, or is set aside or scrapped, has none.
    """
    over = (State.DONE, State.SCRAPPED, State.SET_ASIDE)
    if not day.unsplit or not all(batch.only_dries or batch.state in over for batch in day.unsplit):
        return None
    work = (stay for batch in day.unsplit for stay in batch.stays if stay.state in (State.PAINT, State.RINSE))
    ends = [stay.until.utc for stay in work if stay.until is not None]
    ends += [heat.end.utc for batch in day.unsplit for heat in batch.heats if heat.end is not None]
    return max(ends, default=None)


def recorded_forecasts(day: Day) -> Iterator[RecordedForecast]:
    """Yield the forecasts recorded before the end of a day, in order; none while it has no `ended_at`."""
    if (work_ended := ended_at(day)) is None:
        return
    worked_min = minute(day.plan, work_ended)  # the chores that end the day come after
    ended = work_ended + timedelta(minutes=end_of_day_over(day.plan, worked_min) - worked_min)
    for event in effective(day.events)[0]:
        if isinstance(event.body, Foreseen) and event.at <= ended:
            foreseen = event.body
            yield RecordedForecast(event.at, foreseen.finish, foreseen.late, ended, foreseen.late_scale or 1.0)


def first_recorded(day: Day) -> RecordedForecast | None:
    """Return the first of `recorded_forecasts`, if there is one."""
    return next(recorded_forecasts(day), None)


def accuracy_of(recorded: Iterable[RecordedForecast]) -> AccuracyOnRecord | None:
    """Return the accuracy of one forecast of each day; None for fewer than `FEWEST` days."""
    days = list(recorded)
    if len(days) < FEWEST:
        return None
    missed = median(abs(one.error_min) for one in days)
    return AccuracyOnRecord(len(days), sum(one.by_late for one in days), missed)


def accuracy_text(accuracy: AccuracyOnRecord) -> str:
    """Return the accuracy in words."""
    return (
        f"{accuracy.by_late} of the last {accuracy.days} days ended by the time for nine days in ten; "
        f"the finish was off by {length_text(accuracy.error_min)}"
    )


def on_record(forecast: Forecast) -> Foreseen:
    """Return the event that records a forecast."""
    scale = None if forecast.late_scale == 1.0 else forecast.late_scale
    finish, late = forecast.finish, forecast.finish_late
    return Foreseen(finish=finish, late=late, late_scale=scale, rinsed=forecast.reached, of=forecast.of)


def worth_recording(day: Day, forecast: Forecast) -> bool:
    """Return whether a forecast is to be recorded: of a day under way, `EVERY` after the last one."""
    if day.closed is not None or not forecast.steps or not day.shown_events:
        return False
    last = next((event.at for event in reversed(day.events) if isinstance(event.body, Foreseen)), None)
    return last is None or forecast.at.utc - last >= EVERY
