"""How past forecasts were kept: what `ahead` and `times` tell."""

from __future__ import annotations

from pathlib import Path

from dyeday.ahead.accuracy import AccuracyOnRecord, RecordedForecast
from dyeday.ahead.late_case import scale_of
from dyeday.files.durable import StoreError
from dyeday.store.records.times import TimesRecords


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
