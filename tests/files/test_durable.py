"""A replaced file is on the disk before it has its name, and its folder is written out after."""

from __future__ import annotations

import errno
import os
import stat
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from dyeday.files import durable
from dyeday.files.durable import StoreError, Unsure, make_folder, read_bytes, replace_file, sweep

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


def test_where_only_the_folder_cannot_be_synced_the_file_is_there_and_that_is_reported(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = os.fsync

    def fails_for_folders(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        real(handle)

    monkeypatch.setattr(os, "fsync", fails_for_folders)
    with pytest.raises(Unsure):
        replace_file(tmp_path / "day.json", b"{}")

    assert (tmp_path / "day.json").read_bytes() == b"{}"


@pytest.mark.parametrize("refusal", [errno.EINVAL, errno.ENOTSUP, errno.ENOSYS])
def test_a_folder_that_without_fsync_is_not_a_failure(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, refusal: int
) -> None:
    real = os.fsync

    def fails_for_folders(handle: int) -> None:
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(refusal, os.strerror(refusal))
        real(handle)

    monkeypatch.setattr(os, "fsync", fails_for_folders)
    replace_file(tmp_path / "day.json", b"{}")

    assert (tmp_path / "day.json").read_bytes() == b"{}"


@pytest.fixture
def no_umask() -> Iterator[None]:
    before = os.umask(0)
    yield
    os.umask(before)


@pytest.mark.usefixtures("no_umask")
@pytest.mark.parametrize(("private", "mode"), [(True, 0o600), (False, 0o666)])
def test_only_a_private_file_is_its_owners_alone(tmp_path: Path, private: bool, mode: int) -> None:
    replace_file(tmp_path / "day.json", b"{}", private=private)
    assert stat.S_IMODE((tmp_path / "day.json").stat().st_mode) == mode


@pytest.mark.usefixtures("no_umask")
def test_every_folder_that_is_made_is_its_owners_alone(tmp_path: Path) -> None:
    make_folder(tmp_path / "data" / "days")
    assert [stat.S_IMODE(path.stat().st_mode) for path in (tmp_path / "data", tmp_path / "data" / "days")] == [
        0o700,
        0o700,
    ]


@pytest.mark.parametrize("linked", [True, False], ids=["hard links", "no hard links"])
def test_a_new_file_never_takes_the_place_of_another(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, linked: bool
) -> None:
    """A stick's file system has no hard links (link(2): EPERM)."""
    if not linked:

        def refuses(*_: object, **__: object) -> None:
            raise PermissionError(errno.EPERM, os.strerror(errno.EPERM))

        monkeypatch.setattr(os, "link", refuses)
    replace_file(tmp_path / "day.json", b"mine", new=True)
    with pytest.raises(FileExistsError):
        replace_file(tmp_path / "day.json", b"theirs", new=True)

    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("day.json", b"mine")]


def test_windows_gives_a_new_file_its_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "platform", "win32")
    replace_file(tmp_path / "day.json", b"{}", new=True)
    assert [path.name for path in tmp_path.iterdir()] == ["day.json"]


@pytest.mark.parametrize("holds", [0, 3, 5, 6])
def test_windows_tries_again_at_once_and_then_after_pauses_twice_as_long(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, holds: int
) -> None:
    """A scanner that holds the file open for that many tries; the sixth refusal is the answer."""
    tries, pauses = list[Path](), list[float]()
    real = Path.replace

    def held(self: Path, target: Path) -> Path:
        tries.append(target)
        if len(tries) <= holds:
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        return real(self, target)

    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setattr(Path, "replace", held)
    monkeypatch.setattr(time, "sleep", pauses.append)
    if holds == 6:
        with pytest.raises(PermissionError):
            replace_file(tmp_path / "day.json", b"{}")
    else:
        replace_file(tmp_path / "day.json", b"{}")

    assert pauses == pytest.approx([0.05, 0.1, 0.2, 0.4, 0.8][:holds])
    assert [path.name for path in tmp_path.iterdir()] == (["day.json"] if holds < 6 else [])


def test_elsewhere_a_refusal_is_the_answer_at_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "day.json").mkdir()
    monkeypatch.setattr(time, "sleep", lambda _: pytest.fail("it waits"))
    with pytest.raises(OSError, match="directory"):
        replace_file(tmp_path / "day.json", b"{}")


def test_a_file_as_large_as_may_be_is_read_and_one_byte_more_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"abc")
    assert read_bytes(tmp_path / "a", 3) == b"abc"
    with pytest.raises(StoreError, match="larger than"):
        read_bytes(tmp_path / "a", 2)


def test_a_file_is_read_and_written_where_the_system_knows_no_such_flags(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Windows has none of these four."""
    for flag in ("O_NONBLOCK", "O_NOCTTY", "O_NOFOLLOW", "O_CLOEXEC"):
        monkeypatch.delattr(os, flag)
    replace_file(tmp_path / "a", b"abc")
    assert read_bytes(tmp_path / "a", 3) == b"abc"


def test_what_is_refused_is_closed(tmp_path: Path) -> None:
    open_before = len(list(Path("/proc/self/fd").iterdir()))
    for _ in range(3):
        with pytest.raises(StoreError, match="is a folder"):
            read_bytes(tmp_path, 3)
    assert len(list(Path("/proc/self/fd").iterdir())) == open_before


def test_what_was_put_on_the_disk_is_named_once_in_its_order(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(durable, "SAVED", [])
    for name in ("a", "a", "b"):
        replace_file(tmp_path / name, b"")
    assert durable.SAVED == ["a", "b"]


@pytest.mark.parametrize(("seconds", "stays"), [(59.5, True), (60.5, False)])
def test_what_a_crash_left_is_taken_away_after_a_minute(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, seconds: float, stays: bool
) -> None:
    """Until then it may be another process's, just being written."""
    left = tmp_path / ".day.json.0123456789abcdef.new"
    left.touch()
    (tmp_path / "day.json").touch()
    written = left.stat().st_mtime
    monkeypatch.setattr(time, "time", lambda: written + seconds)
    sweep(tmp_path)
    assert left.exists() is stays
    assert (tmp_path / "day.json").exists()
