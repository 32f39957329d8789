"""Moments by wall clock and boot clock, the time between them, and how times and lengths are typed and shown."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta
from typing import TypeVar

from dyeday.quick_dataclass import dataclass

SECOND_IN_MIN = 1 / 60
"""one second: a limit met to the second is met"""
At = TypeVar("At", int, datetime)
ROUNDING_S = 1e-6
"""rounding errors allowed for, s"""
STEP_S = 2.0
"""difference of wall and boot clock, s, above which the wall clock was set; less is drift"""
LONGEST_JUMP_MIN = 180
"""the furthest that clocks are put forward, but for islands that crossed the date line"""
YESTERDAY_H = 12
"""a time of day before the day began and further back than this is taken for one still to come"""
NEAR_S = 12 * 3600.0
"""times within this need no weekday"""
CHANGED_H = (21, 22, 23, 0, 1, 2, 3, 4)
"""hours that came twice in any zone since 2000, by the IANA time zone database: no other needs looking at twice"""
MOST_DAYS = 6
"""days for which a weekday is enough"""


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment: aware UTC and, if known, the seconds since boot (counting sleep) and which boot."""

    utc: datetime
    boot_s: float | None = None
    boot_id: str | None = None

    def __lt__(self, other: Moment) -> bool:
        return self.utc < other.utc

    def earlier(self, seconds: float) -> Moment:
        """Return the moment ``seconds`` before this one."""
        boot_s = None if self.boot_s is None else self.boot_s - seconds
        return Moment(self.utc - timedelta(seconds=seconds), boot_s, self.boot_id)

    def later(self, seconds: float) -> Moment:
        """Return the moment ``seconds`` later, by both clocks."""
        return self.earlier(-seconds)


NO_END = Moment(datetime.max.replace(tzinfo=UTC))
"""later than anything a day records"""


def signed_s(since: Moment, until: Moment) -> float:
    """Return the seconds from ``since`` to ``until``, negative where ``until`` is the earlier one.

    Within one boot by the boot clock, which no clock step or time zone moves; otherwise by the wall clock.
    """
    same_boot = since.boot_id is not None and since.boot_id == until.boot_id
    if same_boot and since.boot_s is not None and until.boot_s is not None:
        return until.boot_s - since.boot_s
    return (until.utc - since.utc).total_seconds()


def elapsed_s(since: Moment, until: Moment) -> float:
    """Return `signed_s`, but never a negative number: a wall clock that was set back makes it 0."""
    return max(0.0, signed_s(since, until))


def minutes(since: Moment, until: Moment) -> float:
    """Return the minutes from ``since`` to ``until``, as `elapsed_s`."""
    return elapsed_s(since, until) / 60


def merged(spans: Iterable[tuple[At, At]]) -> list[tuple[At, At]]:
    """Return stretches in order; those that meet or overlap become one."""
    out: list[tuple[At, At]] = []
    for begin, end in sorted(spans):
        if out and begin <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], end))
        else:
            out.append((begin, end))
    return out


def whole_min(seconds: float) -> int:
    """Return seconds as whole minutes, rounded down and without sign."""
    return int((abs(seconds) + ROUNDING_S) // 60)


def into_min_s(seconds: float) -> float:
    """Return how many seconds are beyond `whole_min`."""
    return (abs(seconds) + ROUNDING_S) % 60


def length_text(length_min: float) -> str:
    """Return a length of time as shown: "40 s", "25 min", "1 h 25", "24 h", "2 d 3 h".

    Rounded down and without sign. Seconds appear from 1 s to a minute, days from two days on.
    """
    seconds = abs(length_min) * 60
    whole = whole_min(seconds)
    if whole == 0 and seconds >= 1:
        return f"{int(seconds + ROUNDING_S)} s"
    hours, rest = divmod(whole, 60)
    if not hours:
        return f"{whole} min"
    if whole < 2880:
        return f"{hours} h {rest:02d}" if rest else f"{hours} h"
    return f"{hours // 24} d {hours % 24} h" if hours % 24 else f"{hours // 24} d"


def min_figure(length_min: float) -> str:
    """Return minutes as a bare figure, "1.5" or "38", rounded down: to a tenth below ten, else to a whole one."""
    parts = 10 if length_min < 10 else 1
    return f"{int(length_min * parts + ROUNDING_S) / parts:g}"


def on_wall(moment: Moment, now: Moment) -> datetime:
    """Return ``moment`` by the wall clock of ``now``: moved if that clock was set between the two."""
    same_boot = moment.boot_id is not None and moment.boot_id == now.boot_id
    if not same_boot or moment.boot_s is None or now.boot_s is None:
        return moment.utc
    moved = now.utc - timedelta(seconds=now.boot_s - moment.boot_s)
    return moment.utc if abs((moved - moment.utc).total_seconds()) < STEP_S else moved


def local(moment: datetime, zone: str | None) -> datetime:
    """Return ``moment`` in ``zone``, an IANA name, or in this computer's where none is named."""
    if not zone:
        return moment.astimezone()
    # Not at the top: what it needs takes longer to load than all of this, and most plans name no zone.
    from zoneinfo import ZoneInfo

    return moment.astimezone(ZoneInfo(zone))


def instants_of(shown: datetime, zone: str | None) -> tuple[datetime, ...]:
    """Return the aware UTC instants at which clocks in ``zone`` show a naive date and time.

    Usually one; none in the hour that is left out in spring, two in the hour that comes twice in autumn.
    """
    instants = sorted({_taken_as(shown, zone, fold) for fold in (0, 1)})
    return tuple(moment for moment in instants if local(moment, zone).replace(tzinfo=None, fold=0) == shown)


def _taken_as(shown: datetime, zone: str | None, fold: int) -> datetime:
    shown = shown.replace(fold=fold)
    if zone:
        from zoneinfo import ZoneInfo

        shown = shown.replace(tzinfo=ZoneInfo(zone))
    return shown.astimezone(UTC)


def wall_instant(day: date, minutes: int, zone: str | None) -> datetime:
    """Return the aware UTC instant of a plan's time: ``minutes`` on the clock from 00:00 of ``day``, 1530 is 01:30+1.

    Of an hour that comes twice the first; of one that is left out, the moment clocks are put forward.
    """
    shown = datetime.combine(day, time()) + timedelta(minutes=minutes)
    for _ in range(LONGEST_JUMP_MIN):
        if instants := instants_of(shown, zone):
            return instants[0]
        shown += timedelta(minutes=1)
    return _taken_as(shown, zone, 0)  # a whole day is left out: islands have crossed the date line


def named_instant(shown: datetime, letter: str, zone: str | None) -> datetime:
    """Return the instant of a date and time that was typed, with "A" or "B" where it came twice.

    Raises ChangedClockError where it never came, or came twice and no letter says which.
    """
    if not (instants := instants_of(shown, zone)):
        raise ChangedClockError(f"{shown:%H:%M} does not exist on {shown:%d %b}: the clocks went forward")
    if len(instants) == 2 and not letter:
        raise ChangedClockError(
            f"{shown:%H:%M} came twice on {shown:%d %b}; write {shown:%H:%M}A for the first, "
            f"{shown:%H:%M}B for the second"
        )
    return instants[-1] if letter == "B" else instants[0]


class ChangedClockError(ValueError):
    """A time that the clocks' change to or from summer time left out, or made two."""


class StillToComeError(ValueError):
    """A time of day that is still to come, and yesterday's is not meant."""


def last_time(
    hour: int, minute: int, zone: str | None, now: Moment, begun: datetime | None = None, letter: str = ""
) -> datetime:
    """Return the latest instant not after ``now`` at which clocks in ``zone`` show a time of day.

    ``letter`` is A or B for the first or the second of an hour that comes twice. Raises StillToComeError where the
    time is yesterday's, before the day's first entry at ``begun`` and more than `YESTERDAY_H` past: a slip, or a slow
    clock; ChangedClockError where the time was left out or came twice; ValueError where there is no such time.
    """
    here = local(now.utc, zone)
    then = here.replace(hour=hour, minute=minute, second=0, microsecond=0, tzinfo=None, fold=0)
    over = [moment for moment in instants_of(then, zone) if moment <= now.utc]
    if len(over) == 1 and letter != "B":
        return over[0]  # the hour's second coming is still ahead
    if over or then <= here.replace(tzinfo=None, fold=0):
        moment = named_instant(then, letter, zone)
        if moment > now.utc:
            raise StillToComeError(f"the second {then:%H:%M} is still to come, it is {here:%H:%M} here")
        return moment
    before = then - timedelta(days=1)
    moment = named_instant(before, letter, zone)
    if begun is not None and moment < begun and now.utc - moment > timedelta(hours=YESTERDAY_H):
        raise StillToComeError(
            f"{then:%H:%M} is still to come, it is {here:%H:%M} here; yesterday's is written {before:%Y-%m-%dT%H:%M}"
        )
    return moment


def time_text_from(moment: datetime, zone: str | None, day: date) -> str:
    """Return "14:05" in ``zone``, "Sun 14:05" on another day than ``day``, "14:05 on 21 Mar" from a week on.

    In the hour that comes twice, "02:30A" is the first and "02:30B" the second.
    """
    here = local(moment, zone)
    twice = instants_of(here.replace(tzinfo=None, fold=0), zone) if here.hour in CHANGED_H else ()
    letter = "" if len(twice) < 2 else "A" if moment == twice[0] else "B"
    days = (here.date() - day).days
    if abs(days) > MOST_DAYS:
        return f"{here:%H:%M}{letter}{here: on %d %b}"
    return f"{here:%a %H:%M}{letter}" if days else f"{here:%H:%M}{letter}"


def time_text(moment: datetime, zone: str | None) -> str:
    """Return "14:05" in ``zone``."""
    return f"{local(moment, zone):%H:%M}"


def time_text_on(moment: datetime, zone: str | None, day: datetime) -> str:
    """Return "14:05", or "Sun 03:08" on another day than ``day``, as `time_text_from`."""
    return time_text_from(moment, zone, local(day, zone).date())


def time_text_near(moment: datetime, zone: str | None, now_utc: datetime) -> str:
    """Return "03:08" within twelve hours of ``now_utc``, else as `time_text_on`."""
    near = abs((moment - now_utc).total_seconds()) <= NEAR_S
    return time_text(moment, zone) if near else time_text_on(moment, zone, now_utc)


def parse_utc(text: str) -> datetime:
    """Return the aware UTC instant of an ISO 8601 text; one without an offset is taken as UTC.

    Raises ValueError where it is not one.
    """
    moment = datetime.fromisoformat(text.strip())
    if moment.tzinfo is UTC:
        return moment
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)


def iso(moment: datetime) -> str:
    """Return an instant as ISO 8601 in UTC, with microseconds only where it has any."""
    return moment.astimezone(UTC).isoformat().replace("+00:00", "Z")
