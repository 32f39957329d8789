"""What the studio's records add to a plan: its library, shelf, learned times and the accuracy of its forecasts."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from dyeday.ahead.accuracy import RecordedForecast
from dyeday.ahead.late_case import StudioTimes, scale_of
from dyeday.commands.common import report, time_limit
from dyeday.files.durable import StoreError
from dyeday.plan.library import EMPTY, Library
from dyeday.plan.model import Plan
from dyeday.store.records.library import LibraryRecords
from dyeday.store.records.shelf import ShelfRecords
from dyeday.store.records.times import TimesRecords
from dyeday.studio.carry_over import overnight
from dyeday.studio.shelf.day_movements import differences, on_shelf
from dyeday.terms import WorkKind
from dyeday.track.day.day_state import Day
from dyeday.track.durations import Learned, to_reckon_with
from dyeday.track.timestamp import Moment

if TYPE_CHECKING:
    from dyeday.ahead.forecast import Budget, Forecast


def stocked(args: Namespace, plan: Plan) -> tuple[Plan, list[str]]:
    """Return ``plan`` with the shelf's amounts where it gives none, and what differs, or why it cannot be read."""
    try:
        shelf = ShelfRecords(args.data).shelf()
    except StoreError as error:
        return plan, [f"the shelf cannot be read: {error}"]
    return on_shelf(plan, shelf), differences(plan, shelf)


def studio_library(args: Namespace) -> Library:
    """Return the library of the data folder; an empty one, with a message on stderr, if it cannot be read."""
    try:
        return LibraryRecords(args.data).library()
    except StoreError as error:
        report([f"the library cannot be read: {error}"])
        return EMPTY


def own_times(data: Path) -> dict[WorkKind, Learned]:
    """Return the learned times in use, by kind of work; none, so that the plan's minutes count, if unreadable."""
    try:
        return to_reckon_with(TimesRecords(data).in_use())
    except StoreError:
        return {}


def night_notes(day: Day, now: Moment, data: Path) -> list[str]:
    """Return what the night did to carried batches, until something else happens in their new session."""
    if day.first_at is not None or not any(batch.carried for batch in day.unsplit):
        return []
    return overnight(day, now, own_times(data))


def recorded_forecasts(data: Path) -> list[RecordedForecast]:
    """Return the first forecast of each past day and how the day ended, newest first; none if unreadable."""
    try:
        return TimesRecords(data).recorded_forecasts()
    except StoreError:
        return []


def studio_times(data: Path) -> StudioTimes:
    """Return the learned times in use and the late scale, read now."""
    return StudioTimes(own_times(data), scale_of(recorded_forecasts(data)))


EVALUATIONS = 200
"""of a forecast that has neither its own number nor a time: counted, so that screen and paper say the same"""
LONGEST_S = 3.0
"""limit for each search: of both answers, and of what follows them"""


def foreseen(
    own: StudioTimes,
    day: Day,
    now: Moment,
    evaluations: int | None = None,
    budget: Budget | None = None,
    before: Forecast | None = None,
) -> Forecast:
    """Return the forecast of a day with the studio's ``own`` times, `EVALUATIONS` long unless a limit is given."""
    from dyeday.ahead.forecast import forecast

    if evaluations is None and budget is None:
        evaluations, budget = EVALUATIONS, lambda: time_limit(LONGEST_S)
    return forecast(day, now, evaluations=evaluations, budget=budget, before=before, own=own)
