"""What a person has put into a file of theirs: whole or as it was, in whatever the name leads to."""

from __future__ import annotations

import os
import stat
import sys
from pathlib import Path

import pytest

from dyeday.store.durable import StoreError
from dyeday.store.out_files import put_text


def test_a_full_disk_leaves_what_was_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The export of last month is not half of this month's."""
    file = tmp_path / "lots.csv"
    put_text(file, "old\r\n")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as broken:
        broken.setattr("os.fsync", full)
        with pytest.raises(StoreError, match="no space left"):
            put_text(file, "new\r\n")
    assert file.read_bytes() == b"old\r\n"
    assert [path.name for path in tmp_path.iterdir()] == ["lots.csv"]


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no mode bits")
def test_who_may_read_it_is_the_umask_s_or_as_it_was(tmp_path: Path) -> None:
    """A person's file is not one of ours."""
    before = os.umask(0o027)
    try:
        put_text(tmp_path / "new.txt", "x")
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "new.txt").stat().st_mode) == 0o640
    (tmp_path / "new.txt").chmod(0o604)
    put_text(tmp_path / "new.txt", "y")
    assert stat.S_IMODE((tmp_path / "new.txt").stat().st_mode) == 0o604


@pytest.mark.skipif(sys.platform == "win32", reason="no such files there")
def test_a_link_stays_one_and_a_device_is_written_to(tmp_path: Path) -> None:
    """As any program would."""
    (tmp_path / "real").write_text("old", encoding="utf-8")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    put_text(tmp_path / "link", "new")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_text(encoding="utf-8") == "new"
    put_text(Path("/dev/null"), "x")
    for bad in (tmp_path, tmp_path / "none" / "x", tmp_path / "a\0b"):
        with pytest.raises(StoreError):
            put_text(bad, "x")
