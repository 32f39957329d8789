"""Text that other people or programs wrote: plans, orders, events. Only plain files, up to a size, as text."""

from __future__ import annotations

import codecs
from pathlib import Path
from typing import BinaryIO

from dyeday.files.durable import StoreError, read_bytes, reason
from dyeday.text import brief

LARGEST_TEXT = 4_000_000
"""bytes; a plan of a hundred batches has thirty thousand"""
_WIDE = ((codecs.BOM_UTF32_LE, "UTF-32"), (codecs.BOM_UTF16_LE, "UTF-16"), (codecs.BOM_UTF16_BE, "UTF-16"))


def is_there(path: Path) -> bool:
    """Return whether anything is at ``path``, even a broken link. Raises StoreError if it is not a valid name."""
    try:
        path.lstat()
    except FileNotFoundError:
        return False
    except OSError as error:
        raise StoreError(f"{path} cannot be read: {reason(error)}", "check its name and its permissions") from None
    except ValueError:
        raise StoreError(f"{brief(str(path))} is not a valid file name", "check its name") from None
    return True


def read_text(path: Path, most: int = LARGEST_TEXT) -> str:
    """Return a plain file's text in UTF-8, without a byte order mark.

    Raises StoreError, with the line if there is one, for a link, a folder, a pipe or a device, for more than ``most``
    bytes, and for other encodings. Never waits for a pipe.
    """
    return as_text(read_bytes(path, most), str(path))


def read_stream(stream: BinaryIO, name: str, most: int = LARGEST_TEXT) -> str:
    """Return the text of a stream under the same rules. Raises StoreError."""
    raw = stream.read(most + 1)
    if len(raw) > most:
        raise StoreError(f"{name} is larger than {most // 1_000_000} MB", "split it into smaller files")
    return as_text(raw, name)


def as_text(raw: bytes, name: str) -> str:
    """Return bytes as text. Raises StoreError, ``name:line: …``."""
    wide = next((word for mark, word in _WIDE if raw.startswith(mark)), None)
    if wide is not None:
        raise StoreError(f"{name}:1: it is {wide} text", "save it as UTF-8")
    nul = raw.find(b"\0")
    if nul >= 0:
        what = f"{name}:{_line(raw, nul)}: it contains a NUL byte, so it is not text"
        raise StoreError(what, "save it as UTF-8 text")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise StoreError(f"{name}:{_line(raw, error.start)}: it is not UTF-8 text", "save it as UTF-8") from None


def _line(raw: bytes, position: int) -> int:
    return raw.count(b"\n", 0, position) + 1
