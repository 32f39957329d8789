"""Learned times: few for ever, a session's observations in one place, brought over from an older folder."""

from __future__ import annotations

from pathlib import Path

import pytest

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


def test_a_file_of_the_first_version_is_read(tmp_path: Path) -> None:
    """As it was written then."""
    stored = Path(__file__).parent / "files" / "times-1.json"
    (tmp_path / "times.json").write_bytes(stored.read_bytes())
    file = TimesRecords(tmp_path)
    assert file.observed()[1] == ("2026-03-14-1", ObservedDuration(WorkKind.DRY, 1440.0, 1200.0, "01", at_most=True))
    assert file.in_use() == {WorkKind.PAINTED: Learned(1.2, 0.1, 4)}
