"""A replaced file is on the disk before it has its name, and its folder is written out after."""

from __future__ import annotations

import errno
import os
import stat
import sys
from pathlib import Path

import pytest

from dyeday.files.durable import Late, replace_file

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="elsewhere a file is synced in other ways")


def test_the_file_is_synced_under_another_name_and_its_folder_once_the_name_is_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without the first a power cut leaves half a file, without the second no file (fsync(2))."""
    synced: list[tuple[bool, bool]] = []
    real = os.fsync

    def note(handle: int) -> None:
        synced.append((stat.S_ISDIR(os.fstat(handle).st_mode), (tmp_path / "day.json").exists()))
        real(handle)

    monkeypatch.setattr(os, "fsync", note)
    replace_file(tmp_path / "day.json", b"{}")

    assert synced == [(False, False), (True, True)]
    assert [path.name for path in tmp_path.iterdir()] == ["day.json"]


def test_where_only_the_folder_cannot_be_synced_the_file_is_there_and_that_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = os.fsync

    def fails_for_folders(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        real(handle)

    monkeypatch.setattr(os, "fsync", fails_for_folders)
    with pytest.raises(Late):
        replace_file(tmp_path / "day.json", b"{}")

    assert (tmp_path / "day.json").read_bytes() == b"{}"
