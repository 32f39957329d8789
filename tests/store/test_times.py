"""Learned times: few for ever, a session's observations in one place, brought over from an older folder."""

from __future__ import annotations

import contextlib
import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import pytest

from dyeday.ahead.accuracy import RecordedForecast
from dyeday.store.records import times as store
from dyeday.store.records.times import TimesRecords
from dyeday.terms import WorkKind
from dyeday.track.durations import Learned, ObservedDuration


def seen(data: Path, session: str, observations: list[ObservedDuration]) -> None:
    with TimesRecords(data).writing() as db:
        store.put_observed(db, session, observations)


def test_a_session_seen_again_takes_the_place_of_what_was_seen(tmp_path: Path) -> None:
    """Not twice."""
    seen(tmp_path, "2026-03-14-1", [ObservedDuration(WorkKind.PAINTED, 20, 30, "01")])
    seen(tmp_path, "2026-03-14-1", [ObservedDuration(WorkKind.PAINTED, 20, 25, "01")])
    assert TimesRecords(tmp_path).observed() == [
        ("2026-03-14-1", ObservedDuration(WorkKind.PAINTED, 20.0, 25.0, "01"))
    ]


def test_only_the_newest_of_each_kind_are_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """By the session's date and number, whenever it was closed; another kind has room of its own."""
    monkeypatch.setattr(store, "NEWEST", 2)
    file = TimesRecords(tmp_path)
    seen(tmp_path, "2026-03-14-10", [ObservedDuration(WorkKind.PAINTED, 20, 10)])
    seen(
        tmp_path, "2026-03-14-9", [ObservedDuration(WorkKind.PAINTED, 20, 9), ObservedDuration(WorkKind.RINSE, 5, 4)]
    )
    seen(tmp_path, "2026-03-13-1", [ObservedDuration(WorkKind.PAINTED, 20, 1)])
    assert [(session, one.kind) for session, one in file.observed()] == [
        ("2026-03-14-9", WorkKind.PAINTED),
        ("2026-03-14-9", WorkKind.RINSE),
        ("2026-03-14-10", WorkKind.PAINTED),
    ]


def test_forecasts_of_an_older_form_are_read_and_have_no_factor_in_their_late_end(tmp_path: Path) -> None:
    """Before the first write and after it, beside one that has a factor."""
    at, likely, late, ended = (datetime(2026, 4, 18, hour, tzinfo=UTC) for hour in (9, 17, 18, 19))
    with contextlib.closing(sqlite3.connect(tmp_path / "studio.db")) as db:
        db.executescript((Path(__file__).parent / "files" / "records-1" / "studio.sql").read_text(encoding="utf-8"))
        (session,) = db.execute("SELECT session FROM taken").fetchone()
        cells = (session, *(moment.isoformat() for moment in (at, likely, late, ended)))
        db.execute("INSERT INTO forecast VALUES (?, ?, ?, ?, ?)", cells)
        db.commit()
    assert TimesRecords(tmp_path).recorded_forecasts() == [RecordedForecast(at, likely, late, ended)]
    scaled = RecordedForecast(at, likely, late, ended, 1.5)
    with TimesRecords(tmp_path).writing() as db:
        assert [*db.execute("SELECT late_scale FROM forecast")] == [(1.0,)]
        store.put_forecast(db, session, scaled)
    assert TimesRecords(tmp_path).recorded_forecasts() == [scaled]


def test_a_file_of_the_first_version_is_read(tmp_path: Path) -> None:
    """As it was written then."""
    stored = Path(__file__).parent / "files" / "times-1.json"
    (tmp_path / "times.json").write_bytes(stored.read_bytes())
    file = TimesRecords(tmp_path)
    assert file.observed()[1] == ("2026-03-14-1", ObservedDuration(WorkKind.DRY, 1440.0, 1200.0, "01", at_most=True))
    assert file.in_use() == {WorkKind.PAINTED: Learned(1.2, 0.1, 4)}
