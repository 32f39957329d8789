"""What a person has put into a file of theirs: whole or as it was, in whatever the name leads to."""

from __future__ import annotations

import os
import stat
import sys
from pathlib import Path

import pytest

from dyeday.files.durable import StoreError
from dyeday.files.out_files import FileExists, put_output, put_text


def test_a_full_disk_leaves_what_was_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The export of last month is not half of this month's."""
    file = tmp_path / "lots.csv"
    put_text(file, "old\r\n")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as broken:
        broken.setattr("os.fsync", full)
        with pytest.raises(StoreError, match="no space left"):
            put_text(file, "new\r\n", overwrite=True)
    assert file.read_bytes() == b"old\r\n"
    assert [path.name for path in tmp_path.iterdir()] == ["lots.csv"]


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no mode bits")
def test_who_may_read_it_is_the_umask_s_or_as_it_was(tmp_path: Path) -> None:
    """A person's file is not one of dyeday's."""
    before = os.umask(0o027)
    try:
        put_text(tmp_path / "new.txt", "x")
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "new.txt").stat().st_mode) == 0o640
    (tmp_path / "new.txt").chmod(0o604)
    put_text(tmp_path / "new.txt", "y", overwrite=True)
    assert stat.S_IMODE((tmp_path / "new.txt").stat().st_mode) == 0o604


@pytest.mark.skipif(sys.platform == "win32", reason="no such files there")
def test_a_link_is_not_followed_and_a_device_is_written_to(tmp_path: Path) -> None:
    """A link may lead to a plan or a file of dyeday's own, which its name does not show."""
    (tmp_path / "real").write_text("old", encoding="utf-8")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    for overwrite in (False, True):
        with pytest.raises(StoreError, match="is a link"):
            put_text(tmp_path / "link", "new", overwrite=overwrite)
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_text(encoding="utf-8") == "old"
    put_text(Path("/dev/null"), "x")
    for bad in (tmp_path, tmp_path / "none" / "x", tmp_path / "a\0b"):
        with pytest.raises(StoreError):
            put_text(bad, "x")


def test_a_file_that_is_there_is_replaced_only_where_that_was_asked(tmp_path: Path) -> None:
    """Nothing is left beside it either way."""
    put_text(tmp_path / "a.txt", "old")
    with pytest.raises(FileExists, match="is not overwritten"):
        put_text(tmp_path / "a.txt", "new")
    assert (tmp_path / "a.txt").read_text(encoding="utf-8") == "old"
    put_text(tmp_path / "a.txt", "new", overwrite=True)
    assert (tmp_path / "a.txt").read_text(encoding="utf-8") == "new"
    assert [path.name for path in tmp_path.iterdir()] == ["a.txt"]


def test_a_file_system_without_second_names_takes_new_files_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A stick's: the name is looked at just before it is given."""

    def unknown(*_: object, **__: object) -> None:
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr("os.link", unknown)
    put_text(tmp_path / "a.txt", "one")
    with pytest.raises(FileExists):
        put_text(tmp_path / "a.txt", "two")
    assert [(path.name, path.read_text(encoding="utf-8")) for path in tmp_path.iterdir()] == [("a.txt", "one")]


def test_neither_a_plan_nor_a_file_of_the_data_folder_is_an_output(tmp_path: Path) -> None:
    """Whatever the plan is called, and by whatever way the folder is named."""
    data = tmp_path / "data"
    data.mkdir()
    (tmp_path / "way").symlink_to(data)
    for name in ("saturday.toml", "saturday.txt"):
        (tmp_path / name).write_text('[session]\nname = "x"\n', encoding="utf-8")
        with pytest.raises(StoreError, match="is a plan"):
            put_output(tmp_path / name, "new", data, overwrite=True)
    for inside in (data / "new.txt", tmp_path / "way" / "new.txt", data / ".." / "data" / "new.txt"):
        with pytest.raises(StoreError, match="data folder"):
            put_output(inside, "new", data, overwrite=True)
    put_output(tmp_path / "page.txt", "new", data, overwrite=False)
    assert not list(data.iterdir())
