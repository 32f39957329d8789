"""What a studio has of its own, for the commands that read a plan: its library, its shelf, the times it takes."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from dyeday.ahead.accuracy import AccuracyOnRecord, RecordedForecast
from dyeday.ahead.late_case import scale_of
from dyeday.commands.common import complain
from dyeday.files.durable import StoreError
from dyeday.files.places import data_folder
from dyeday.plan.library import EMPTY, Library
from dyeday.plan.model import Plan
from dyeday.store.records.library import LibraryRecords
from dyeday.store.records.shelf import ShelfRecords
from dyeday.store.records.times import TimesRecords
from dyeday.studio.shelf.day_movements import differences, on_shelf
from dyeday.terms import WorkKind
from dyeday.track.durations.learned_times import Learned, to_reckon_with


def stocked(args: Namespace, plan: Plan) -> tuple[Plan, list[str]]:
    """Return ``plan`` with the shelf's amounts where it gives none itself, and what to tell about the two.

    A shelf that cannot be read stops no day: it is told, and the plan is as it was.
    """
    try:
        shelf = ShelfRecords(data_folder(args.data)).shelf()
    except StoreError as error:
        return plan, [f"the shelf cannot be looked at: {error}"]
    return on_shelf(plan, shelf), differences(plan, shelf)


def studio_library(args: Namespace) -> Library:
    """Return the library of the data folder.

    One that cannot be read stops no day whose plan defines all it names: it is told, and taken for empty.
    """
    try:
        return LibraryRecords(data_folder(args.data)).library()
    except StoreError as error:
        complain([f"the library cannot be looked at: {error}"])
        return EMPTY


def own_times(data: Path) -> dict[WorkKind, Learned]:
    """Return the times the forecast goes by: the studio's own where they were taken over, else none.

    Records that cannot be read are no reason to have no forecast: the plan's minutes stand in.
    """
    try:
        return to_reckon_with(TimesRecords(data).own())
    except StoreError:
        return {}


def kept_data(kept: AccuracyOnRecord | None) -> dict[str, object] | None:
    """Return how forecasts were kept as JSON-able data."""
    return None if kept is None else {"days": kept.days, "by_late": kept.by_late, "error_min": kept.error_min}


def promises_of(data: Path) -> list[RecordedForecast]:
    """Return what the first forecast of each past day said and how the day ended, newest days first."""
    try:
        return TimesRecords(data).promises()
    except StoreError:
        return []  # past days that cannot be read are no reason to foresee nothing of today


def own_late_scale(data: Path) -> float:
    """Return what a studio's own closed days make of the late case; 1 for fewer than ten."""
    return scale_of(promises_of(data))
