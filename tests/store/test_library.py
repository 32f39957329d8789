"""The library: kept durably, and brought over from a folder of an older dyeday."""

from __future__ import annotations

from pathlib import Path

import pytest

from dyeday.files.durable import StoreError
from dyeday.files.out_files import replace_text
from dyeday.store.records.library import LibraryRecords
from tests.plan.plans import plan

FILES = Path(__file__).parent / "files"


def test_what_is_taken_is_there_for_the_next_to_read(tmp_path: Path) -> None:
    made = plan()
    assert [change.name for change in LibraryRecords(tmp_path).take(made)] == [
        "worktop",
        "tray",
        "Sock",
        "Peat",
        "Bog",
    ]
    kept = LibraryRecords(tmp_path).library()
    assert (kept.kit, kept.colourways, kept.circuits) == (made.kit, made.colourways, made.circuits)
    assert LibraryRecords(tmp_path).take(made) == []


def test_a_library_of_version_1_is_read(tmp_path: Path) -> None:
    (tmp_path / "library.json").write_bytes((FILES / "library-1.json").read_bytes())
    assert [c.name for c in LibraryRecords(tmp_path).library().colourways] == ["Bog"]


def test_a_plan_that_was_changed_meanwhile_is_not_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    path.write_text("a = 1\n")
    with pytest.raises(StoreError, match="was changed by another program just now"):
        replace_text(path, "a = 2\n", "a = 3\n", tmp_path / "data")
    assert path.read_text() == "a = 1\n"


def test_a_plan_keeps_its_mark_and_who_may_read_it(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    path.write_bytes(b"\xef\xbb\xbfa = 1\r\n")
    path.chmod(0o644)
    replace_text(path, "a = 1\r\n", "a = 2\r\n", tmp_path / "data")
    assert path.read_bytes() == b"\xef\xbb\xbfa = 2\r\n"
    assert path.stat().st_mode & 0o777 == 0o644
    assert [p.name for p in tmp_path.iterdir() if p.name != "data"] == ["plan.toml"]
