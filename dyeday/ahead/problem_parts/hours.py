"""A plan's times as minutes from midnight of its date, and the hours in which hands are there."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from itertools import pairwise

from dyeday.plan.model import Plan, Spans
from dyeday.track.timestamp import local, merged, wall_instant

FULL_DAY = 1440


def midnight(plan: Plan) -> datetime:
    """Return the instant the plan's minutes are counted from."""
    return wall(plan, 0)


def wall(plan: Plan, minutes: int) -> datetime:
    """Return the instant of a time of the plan, which is minutes on the clock from midnight of the session's date."""
    return wall_instant(plan.session.date, minutes, plan.session.zone)


def elapsed_min(plan: Plan, minutes: int) -> int:
    """Return a time of the plan in elapsed minutes from its midnight, which differ after a change of clocks."""
    return minute(plan, wall(plan, minutes))


def clock_text(minutes: int) -> str:
    """Return a time of the plan as hours and minutes on the clock, "01:30" also after midnight."""
    return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"


def plan_min(plan: Plan, moment: datetime) -> int:
    """Return a moment as a time of the plan: what the clock shows, in minutes from midnight of the session's date."""
    shown = local(moment, plan.session.zone)
    return (shown.date() - plan.session.date).days * FULL_DAY + shown.hour * 60 + shown.minute


def next_min(time: int, since: int) -> int:
    """Return the next time of the plan after ``since`` at which the clock shows what it shows at ``time``."""
    return since + ((time - since) % FULL_DAY or FULL_DAY)


def minute(plan: Plan, moment: datetime) -> int:
    """Return a moment in whole minutes from the plan's midnight, rounded down."""
    return int((moment - midnight(plan)).total_seconds() // 60)


def breaks_until(plan: Plan, moment: datetime) -> Spans:
    """Return the breaks up to the day of ``moment``: the first day's again, or the gaps in tomorrow's hours."""
    session, later = plan.session, plan_min(plan, moment) // FULL_DAY
    every_day = [span for span in session.breaks if span[0] < session.start_min + FULL_DAY]
    of_later = gaps_of(session.tomorrow) if session.tomorrow else every_day
    again = ((FULL_DAY * n + a, FULL_DAY * n + b) for n in range(1, later + 1) for a, b in of_later)
    return (*session.breaks, *again)


def gaps_of(spans: Iterable[tuple[int, int]]) -> Spans:
    """Return what lies between hours, which may be in any order."""
    return tuple((end, begin) for (_, end), (begin, _) in pairwise(sorted(spans)) if begin > end)


def less_pauses(pauses: Spans, start: int, end: int | None) -> list[tuple[int, int | None]]:
    """Return a stretch of hours less ``pauses``; open at the end where that is None."""
    spans: list[tuple[int, int | None]] = []
    for pause, back in merged(pauses):
        if back > start and (end is None or pause < end):
            if pause > start:
                spans.append((start, pause))
            start = back
    if end is None or end > start:
        spans.append((start, end))
    return spans


def absence_met(plan: Plan, since: datetime, until: datetime) -> tuple[datetime, datetime] | None:
    """Return the first absence from the house that ``since`` to ``until`` meets."""
    return met(plan, plan.session.out, since, until)


def break_met(plan: Plan, moment: datetime) -> tuple[datetime, datetime] | None:
    """Return the break that ``moment`` is in."""
    return met(plan, breaks_until(plan, moment), moment, moment + timedelta(seconds=1))


def no_hands_met(plan: Plan, moment: datetime) -> tuple[datetime, datetime] | None:
    """Return the break or absence, or both in a row, that ``moment`` is in."""
    return met(plan, (*breaks_until(plan, moment), *plan.session.out), moment, moment + timedelta(seconds=1))


def met(plan: Plan, spans: Spans, since: datetime, until: datetime) -> tuple[datetime, datetime] | None:
    """Return the first of ``spans``, adjoining ones merged, that ``since`` to ``until`` meets."""
    spans_met = ((wall(plan, begin), wall(plan, end)) for begin, end in merged(spans))
    return next(((begin, end) for begin, end in spans_met if since < end and until > begin), None)
