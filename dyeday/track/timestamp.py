"""A moment as the computer knows it, and the true time between two of them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta


@dataclass(frozen=True, slots=True)
class Now:
    """A moment: aware UTC, and the seconds since boot (counting sleep) of which boot, where known."""

    utc: datetime
    boot_s: float | None = None
    boot_id: str | None = None

    def earlier(self, seconds: float) -> Now:
        """Return the moment ``seconds`` before this one."""
        boot_s = None if self.boot_s is None else self.boot_s - seconds
        return Now(self.utc - timedelta(seconds=seconds), boot_s, self.boot_id)

    def later(self, seconds: float) -> Now:
        return self.earlier(-seconds)


SECOND_MIN = 1 / 60
"""a limit met to the second is met"""


def elapsed_s(since: Now, until: Now) -> float:
    """Return the seconds from ``since`` to ``until``.

    Within one boot by the boot clock, which no clock step or time zone moves; otherwise by the wall clock.
    Never negative: a wall clock that was set back makes it 0.
    """
    same_boot = since.boot_id is not None and since.boot_id == until.boot_id
    if same_boot and since.boot_s is not None and until.boot_s is not None:
        return max(0.0, until.boot_s - since.boot_s)
    return max(0.0, (until.utc - since.utc).total_seconds())


def minutes(since: Now, until: Now) -> float:
    """Return the minutes from ``since`` to ``until``, as `elapsed_s`."""
    return elapsed_s(since, until) / 60


def whole_min(seconds: float) -> int:
    """Return a length as the whole minutes a person is told, in rows, lines, pages and doubts: rounded down.

    What is left, over, or so far is told alike, so that no two places differ by one.
    """
    return int((abs(seconds) + _HAIR_S) // 60)


_HAIR_S = 1e-6
"""what arithmetic may take from a whole minute"""


def into_min_s(seconds: float) -> float:
    """Return how many seconds of the next minute a length has beside its `whole_min`."""
    return (abs(seconds) + _HAIR_S) % 60


def length_text(length_min: float) -> str:
    """Return a length of time as every sentence and page tells it: "40 s", "95 min", "1h54", "24h00", "2d3h".

    Rounded down. Seconds are told only where there is no minute: nothing on a dye day hangs on them otherwise.
    Hours come in from 100 minutes on, for up to there plans, soaks and steamings are thought of in minutes; days
    from two on, for drying is thought of in hours.
    """
    whole = whole_min(length_min * 60)
    if whole == 0 and length_min * 60 >= 1:
        return f"{int(length_min * 60 + 1e-6)} s"
    if whole < 100:
        return f"{whole} min"
    return f"{whole // 60}h{whole % 60:02d}" if whole < 2880 else f"{whole // 1440}d{whole // 60 % 24}h"


def short_min(seconds: float) -> str:
    """Return a length as the bench's column of minutes tells it: "12", "1h54", "24h", "2d3h".

    As `length_text` does, but in four cells: the column's title says minutes, and from ten hours on they go.
    """
    whole = whole_min(seconds)
    if whole < 100:
        return f"{whole}"
    return f"{whole // 60}h" if 600 <= whole < 2880 else length_text(whole)


STEP_S = 2.0
"""wall and boot clock further apart than this: the wall was stepped; less is drift"""


def on_wall(moment: Now, now: Now) -> datetime:
    """Return ``moment`` by the wall clock as ``now`` has it: moved where the wall was stepped between the two."""
    same_boot = moment.boot_id is not None and moment.boot_id == now.boot_id
    if not same_boot or moment.boot_s is None or now.boot_s is None:
        return moment.utc
    moved = now.utc - timedelta(seconds=now.boot_s - moment.boot_s)
    return moment.utc if abs((moved - moment.utc).total_seconds()) < STEP_S else moved


def local(moment: datetime, zone: str | None) -> datetime:
    """Return ``moment`` in ``zone``, an IANA name, or in this computer's where none is named; for display only."""
    if not zone:
        return moment.astimezone()
    # Not at the top: what it needs takes longer to load than all of this, and most plans name no zone.
    from zoneinfo import ZoneInfo

    return moment.astimezone(ZoneInfo(zone))


YESTERDAY_H = 12
"""a time of day further back than this is rather a mistake for one still to come"""


class StillToComeError(ValueError):
    """A time of day of which nobody can have meant yesterday's."""


def last_time(hour: int, minute: int, zone: str | None, now: Now, begun: datetime | None = None) -> datetime:
    """Return the latest instant not after ``now`` at which clocks in ``zone`` show a time of day.

    Where ``begun`` is given, the day's first entry, a time from before it that is yesterday's and long past is taken
    for one still to come: a clock a minute slow, or a slip. Raises StillToComeError for that, ValueError where there
    is no such time.
    """
    here = local(now.utc, zone)
    then = here.replace(hour=hour, minute=minute, second=0, microsecond=0)
    if then <= here:
        return then.astimezone(UTC)
    before = (here - timedelta(days=1)).replace(hour=hour, minute=minute, second=0, microsecond=0)
    moment = before.astimezone(UTC)
    if begun is not None and moment < begun and now.utc - moment > timedelta(hours=YESTERDAY_H):
        raise StillToComeError(
            f"{then:%H:%M} is still to come, it is {here:%H:%M} here; yesterday's is written {before:%Y-%m-%dT%H:%M}"
        )
    return moment


def clock_from(moment: datetime, zone: str | None, day: date) -> str:
    """Return "14:05" in ``zone``, "Sun 14:05" on another day than ``day``, with its date from a week on."""
    here = local(moment, zone)
    days = (here.date() - day).days
    if abs(days) > MOST_DAYS:
        return f"{here:%H:%M on %d %b}"
    return f"{here:%a %H:%M}" if days else f"{here:%H:%M}"


MOST_DAYS = 6
"""days that a weekday tells apart"""


def parse_utc(text: str) -> datetime:
    """Return the aware UTC instant of an ISO 8601 text; one without an offset is taken as UTC.

    Raises ValueError where it is none.
    """
    moment = datetime.fromisoformat(text.strip())
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)


def iso(moment: datetime) -> str:
    """Return an instant as ISO 8601 in UTC, with microseconds only where it has any."""
    return moment.astimezone(UTC).isoformat().replace("+00:00", "Z")
