"""Text of other people is read whole, or refused at once with the place and the reason."""

from __future__ import annotations

import io
import os
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.files.durable import StoreError
from dyeday.files.safe_read import as_text, read_stream, read_text


def refusal(path: Path, most: int = 1000) -> str:
    with pytest.raises(StoreError) as caught:
        read_text(path, most)
    return str(caught.value)


def test_a_file_with_a_byte_order_mark_is_its_text(tmp_path: Path) -> None:
    """The mark is not a part of the text."""
    (tmp_path / "a").write_bytes(b"\xef\xbb\xbfname = 1\r\n")
    assert read_text(tmp_path / "a") == "name = 1\r\n"


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"a\nb\xe9\n", ":2: it is not UTF-8 text; save it as UTF-8"),
        ("name".encode("utf-16"), ":1: it is UTF-16 text; save it as UTF-8"),
        ("name".encode("utf-32"), ":1: it is UTF-32 text; save it as UTF-8"),
        (b"a\n\n\0", ":3: it contains a NUL byte"),
        (b"\xed\xa0\x80", ":1: it is not UTF-8 text"),
    ],
    ids=["latin-1", "utf-16", "utf-32", "nul", "surrogate"],
)
def test_another_encoding_is_reported_with_its_line(tmp_path: Path, raw: bytes, said: str) -> None:
    """Nothing is guessed."""
    (tmp_path / "a").write_bytes(raw)
    assert f"{tmp_path / 'a'}{said}" in refusal(tmp_path / "a")


def test_a_large_file_is_not_read(tmp_path: Path) -> None:
    """A sparse file of a terabyte is refused by its size."""
    with (tmp_path / "a").open("wb") as file:
        file.truncate(1 << 40)
    assert "larger than" in refusal(tmp_path / "a", 4_000_000)


@pytest.mark.skipif(sys.platform == "win32", reason="no such files there")
def test_what_is_not_a_plain_file_is_refused_without_waiting(tmp_path: Path) -> None:
    """A pipe without a writer, a device without an end, a folder, a socket's like, a link and a link to itself."""
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "real").write_text("x", encoding="utf-8")
    (tmp_path / "link").symlink_to(tmp_path / "real")
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    (tmp_path / "gone").symlink_to(tmp_path / "nothing")
    for path in (tmp_path / "pipe", Path("/dev/zero"), Path("/dev/tty"), tmp_path):
        assert (
            "is not a regular file" in refusal(path)
            or "is a folder" in refusal(path)
            or "cannot be read" in refusal(path)
        )
    assert f"name the file it leads to, {tmp_path / 'real'}" in refusal(tmp_path / "link")
    for path in (tmp_path / "loop", tmp_path / "gone", tmp_path / "not there"):
        assert refusal(path).startswith(str(path))


def test_a_name_that_can_be_none_is_refused() -> None:
    """A NUL in a name, and a name longer than any."""
    assert "not a valid file name" in refusal(Path("a\0b"))
    assert "cannot be read" in refusal(Path("a" * 5000))


def test_more_than_allowed_from_a_pipe_is_refused_not_cut(tmp_path: Path) -> None:
    """Half of a file's events would be worse than none."""
    assert read_stream(io.BytesIO(b"x" * 100), "-", 100) == "x" * 100
    with pytest.raises(StoreError, match="is larger than"):
        read_stream(io.BytesIO(b"x" * 101), "-", 100)


@given(st.binary())
def test_any_bytes_are_text_or_refused(raw: bytes) -> None:
    """Only the documented error comes out, and the text can be written again."""
    try:
        assert as_text(raw, "x").encode() or raw in (b"", b"\xef\xbb\xbf")
    except StoreError as error:
        assert str(error).startswith("x:")
