"""The lines of the lot book: a sum, a head that says what the line is and what it is found by, and its body.

``crc32 TAB head TAB body``, head and body each JSON on one line, so that the index is made from heads alone. Lines
are only ever added. One whose sum is wrong (torn by a pulled plug, or changed since) counts as not there.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass, fields
from typing import Any
from zlib import crc32


@dataclass(frozen=True, slots=True)
class Head:
    """What a line is: a lot's part done on one day (``lot``), something kept with it later (``kept``), a part that
    is no more (``withdrawn``), or a closed day (``day``, its number the session's id behind an @)."""

    kind: str
    number: str
    session: str = ""
    date: str = ""
    colourway: str = ""
    base: str = ""
    count: int = 0
    """skeins of a lot, events of a day"""
    mark: str = ""
    """what a list shows behind the name"""
    find: str = ""
    """folded text it is found by"""


LARGEST = 200_000_000
"""bytes of a year's file, of its index and of its copy that are read: over ten times a year of 200 full days"""
SUFFIX = ".lots"
KINDS = ("lot", "kept", "withdrawn", "day")
"""lines of other kinds are a later dyeday's: they stay, and are passed over"""
_KEYS = frozenset(field.name for field in fields(Head))


@dataclass(frozen=True, slots=True)
class Span:
    """Where a line lies in its file, its end of line left out."""

    start: int
    length: int


def line_of(head: Head, body: Any) -> bytes:
    """Return one line with its end."""
    said = {key: value for key, value in asdict(head).items() if value}
    rest = b"\t".join(
        json.dumps(part, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode() for part in (said, body)
    )
    return b"%08x\t%s\n" % (crc32(rest), rest)


def read_line(line: bytes) -> tuple[Head, bytes] | None:
    """Return a line's head and the bytes of its body, None where its sum or its shape is wrong."""
    sum_, tab, rest = line.partition(b"\t")
    try:
        if not tab or int(sum_, 16) != crc32(rest):
            return None
        head, _, body = rest.partition(b"\t")
        said = json.loads(head)
        return Head(**{key: said[key] for key in said if key in _KEYS}), body
    except (ValueError, TypeError, RecursionError):
        return None


def lines_in(data: bytes, start: int = 0) -> Iterator[tuple[Span, Head | None]]:
    """Yield where each line of a file lies and its head, None where the line is damaged."""
    while start < len(data):
        end = data.find(b"\n", start)
        end = len(data) if end < 0 else end
        if end > start:
            read = read_line(data[start:end])
            yield Span(start, end - start), read[0] if read is not None else None
        start = end + 1
