"""A session's days, the planned one and those after it: their hours, their ends and the chores that end them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from math import ceil

from dyeday.ahead.problem_parts.hours import FULL_DAY, breaks_until, elapsed_min, less_pauses, met, midnight, wall
from dyeday.plan.model import Chore, Plan
from dyeday.terms import ChorePer, ChoreWhen
from dyeday.track.timestamp import local

DAYS_AHEAD = 14
"""days after the present one whose hours are laid out; work beyond them is laid out without breaks or nights"""


def windows_of(plan: Plan, now_utc: datetime, *, for_end: bool) -> tuple[tuple[int, int | None], ...]:
    """Return the hours of work in elapsed minutes: this day's and later ones, or with ``for_end`` an open evening."""
    number, hours, stop = day_number(plan, now_utc), next_hours(plan), work_stop_min(plan, now_utc)
    ahead: list[tuple[int, int | None]] = [(plan.session.start_min, None if for_end else stop)]
    if not for_end:
        if number:
            ahead = [(a, min(b, stop)) for a, b in _shifted(hours, number) if a < stop]
        later = (span for n in range(1, DAYS_AHEAD + 1) for span in _shifted(hours, number + n))
        ahead += [span for span in later if span[0] >= stop]
    pauses = (*breaks_until(plan, now_utc), *plan.session.out)
    spans = [span for begin, end in ahead for span in less_pauses(pauses, begin, end)]
    return tuple((elapsed_min(plan, a), None if b is None else elapsed_min(plan, b)) for a, b in spans)


def next_hours(plan: Plan) -> list[tuple[int, int]]:
    """Return the hours of a day after the first, from its midnight: those for tomorrow, else the first day's."""
    session = plan.session
    stop = session.start_min + ((session.stop_min - session.start_min) % FULL_DAY or FULL_DAY)
    spans = less_pauses(session.breaks, session.start_min, stop)
    return sorted(session.tomorrow) or [(a, b) for a, b in spans if b is not None]


def _shifted(hours: Iterable[tuple[int, int]], number: int) -> list[tuple[int, int]]:
    return [(FULL_DAY * number + a, FULL_DAY * number + b) for a, b in hours]


def day_number(plan: Plan, moment: datetime) -> int:
    """Return which day of the session it is: 0 until its stop has passed and the hours of the next have begun."""
    hours, session = next_hours(plan), plan.session
    days = (local(moment, session.zone).date() - session.date).days
    begins = (FULL_DAY * number + hours[0][0] for number in range(days, 0, -1)) if hours else ()
    return next((b // FULL_DAY for b in begins if session.stop_min <= b and wall(plan, b) <= moment), 0)


def morning_of(plan: Plan, number: int) -> datetime:
    """Return when the hours of a later day of the session begin."""
    return wall(plan, FULL_DAY * number + next((a for a, _ in next_hours(plan)), plan.session.start_min))


def stop_min_at(plan: Plan, moment: datetime) -> int:
    """Return the time of the plan at which the day of ``moment`` ends."""
    number = day_number(plan, moment)
    return FULL_DAY * number + next_hours(plan)[-1][1] if number else plan.session.stop_min


def end_of_day_chores(plan: Plan) -> list[tuple[Chore, int]]:
    """Return (chore, whole minutes) of those that end the day, for all batches, skeins or lots of the plan."""
    batches = plan.batches
    lots = {batch.mix or (batch.colourway, batch.base) for batch in batches}
    times = {
        ChorePer.DAY: 1,
        ChorePer.LOT: len(lots),
        ChorePer.BATCH: len(batches),
        ChorePer.SKEIN: sum(batch.skeins for batch in batches),
    }
    ending = (chore for chore in plan.chores if chore.when == ChoreWhen.END_OF_DAY)
    return [(chore, ceil(chore.minutes * times[chore.per])) for chore in ending]


def end_of_day_min(plan: Plan) -> int:
    """Return the minutes of the chores that end the day."""
    return sum(minutes for _, minutes in end_of_day_chores(plan))


def end_of_day(plan: Plan, at: int, busy: Iterable[tuple[int, int]] = ()) -> list[tuple[Chore, int, int]]:
    """Return (chore, start, end) of those that end the day, in a row but for breaks, absences and what is ``busy``.

    ``at`` is when the work before them ends. All are elapsed minutes from the plan's midnight.
    """
    out = []
    away = (*breaks_until(plan, midnight(plan) + timedelta(minutes=at)), *plan.session.out)
    pauses = sorted((*((elapsed_min(plan, a), elapsed_min(plan, b)) for a, b in away), *busy))
    for chore, minutes in end_of_day_chores(plan):
        for pause, back in pauses:
            if at < back and at + minutes > pause:
                at = back
        out.append((chore, at, at + minutes))
        at += minutes
    return out


def end_of_day_over(plan: Plan, at: int) -> int:
    """Return the minute at which the chores of `end_of_day` are done; ``at`` itself without any."""
    return max((end for _, _, end in end_of_day(plan, at)), default=at)


def work_stop_min(plan: Plan, moment: datetime) -> int:
    """Return the time of the plan at which work on yarn ends, so that the day's last chores are done by its stop."""
    return max(stop_min_at(plan, moment) - end_of_day_min(plan), plan.session.start_min)


def work_ends_text(plan: Plan) -> str:
    """Return what comes at `work_stop_min`: "you stop", or "your last chores begin"."""
    return "your last chores begin" if end_of_day_min(plan) else "you stop"


def night_met(plan: Plan, since: datetime, until: datetime) -> tuple[datetime, datetime] | None:
    """Return when you stop and begin again, if ``since`` to ``until`` meets that night."""
    stop, hours, number = stop_min_at(plan, since), next_hours(plan), day_number(plan, since)
    begins = (begin for n in (number + 1, number + 2) for begin, _ in _shifted(hours[:1], n))
    morning = next((begin for begin in begins if begin >= stop), None)
    return met(plan, ((stop, morning),), since, until) if morning is not None else None
