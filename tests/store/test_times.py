"""The file of times: small for ever, a session's observations in one place, read as it was written."""

from __future__ import annotations

from pathlib import Path

import pytest

from dyeday.store import times as store
from dyeday.store.times import TimesFile
from dyeday.track.durations.learned_times import Learned
from dyeday.track.durations.observed_durations import Taken


def test_a_session_seen_again_takes_the_place_of_what_was_seen(tmp_path: Path) -> None:
    """Not twice."""
    file = TimesFile(tmp_path)
    file.see("2026-03-14-1", [Taken("painted", 20, 30, "01")])
    file.see("2026-03-14-1", [Taken("painted", 20, 25, "01")])
    assert TimesFile(tmp_path).seen() == [("2026-03-14-1", Taken("painted", 20.0, 25.0, "01"))]


def test_only_the_newest_of_each_kind_are_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """By the session's date and number, whenever it was closed; another kind has room of its own."""
    monkeypatch.setattr(store, "NEWEST", 2)
    file = TimesFile(tmp_path)
    file.see("2026-03-14-10", [Taken("painted", 20, 10)])
    file.see("2026-03-14-9", [Taken("painted", 20, 9), Taken("rinse", 5, 4)])
    file.see("2026-03-13-1", [Taken("painted", 20, 1)])
    assert [(session, one.kind) for session, one in file.seen()] == [
        ("2026-03-14-9", "painted"),
        ("2026-03-14-9", "rinse"),
        ("2026-03-14-10", "painted"),
    ]


def test_what_changes_nothing_is_not_written(tmp_path: Path) -> None:
    """A late note on a closed day costs no copy."""
    file = TimesFile(tmp_path)
    file.see("2026-03-14-1", [Taken("painted", 20, 30, "01")])
    before = file.path.stat().st_ino
    TimesFile(tmp_path).see("2026-03-14-1", [Taken("painted", 20, 30, "01")])
    assert file.path.stat().st_ino == before


def test_a_file_of_the_first_version_is_read(tmp_path: Path) -> None:
    """As it was written then."""
    stored = Path(__file__).parent / "files" / "times-1.json"
    (tmp_path / "times.json").write_bytes(stored.read_bytes())
    file = TimesFile(tmp_path)
    assert file.seen()[1] == ("2026-03-14-1", Taken("dry", 1440.0, 1200.0, "01", at_most=True))
    assert file.own() == {"painted": Learned(1.2, 0.1, 4)}
