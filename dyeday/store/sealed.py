"""The bytes of a data file: tables as JSON behind a seal that names what it is, its version and its digest.

A file with the right digest was written by dyeday; any other was cut, flipped or edited, and is refused. The seal's
own form never changes, so that every version can tell a newer file from a damaged one.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable, Mapping
from dataclasses import field
from operator import is_
from pathlib import Path
from typing import Any

from dyeday.files.durable import StoreError, read_bytes
from dyeday.quick_dataclass import dataclass
from dyeday.text import counted, strict_json

Tables = dict[str, dict[str, Any]]
LARGEST_FILE = 32_000_000
LARGEST_UNSEALED = 8_000_000
"""bytes; a file without a seal has to be parsed unchecked"""
_SEAL = re.compile(rb'\{"kept":\{"what":"([a-z-]{1,40})","version":(\d{1,6}),"sha256":"([0-9a-f]{64})"\}')


class Damaged(StoreError):  # noqa: N818 - what the file is
    """A file that is not valid: it stays as it is and is never loaded."""


class FileNewer(StoreError):  # noqa: N818 - what the file is
    """A file of a later version than this program knows."""


class FileGone(StoreError):  # noqa: N818 - what the file is
    """A file that existed is missing."""


def rows_in(tables: Tables) -> int:
    """Return the number of rows in all tables."""
    return sum(len(table) for table in tables.values())


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of data file: its word, its version, and the steps from older versions."""

    word: str
    version: int
    steps: Mapping[int, Callable[[Tables], Tables]] = field(default_factory=dict)
    """pure functions from the tables of version n to those of n + 1, one for each n below ``version``"""
    build: Callable[[Tables], object] = lambda tables: tables
    """builds from the tables what the store builds; KeyError, TypeError or ValueError mean invalid tables"""
    unsealed: Callable[[Tables], int | None] = lambda tables: None
    """the version of a file without a seal; None if it is not valid"""
    holds: Callable[[Any], str] = lambda tables: counted(rows_in(tables), "entry", "entries")
    """what ``build`` built, in a few words for a list of copies"""
    only_added: tuple[str, ...] = ()
    """tables whose rows are never changed"""

    def verify(self, file: Path) -> str:
        """Return what a file of this kind holds, in a few words. Raises StoreError if it is damaged."""
        return self.holds(unseal(read_bytes(file, LARGEST_FILE), file, self).built)


@dataclass(frozen=True, slots=True)
class Unsealed:
    """The tables of a file, brought up to the version of this dyeday, and the version it was written as."""

    tables: Tables
    version: int
    built: object = None
    """what the kind's ``build`` built from the tables"""


class RowTexts:
    """The JSON of tables as last written, so that a new row does not serialize the rest again.

    A row counts as written if it is the same object under the same key in the same place.
    """

    def __init__(self) -> None:
        self._kept: dict[str, tuple[list[str], list[object], bytes]] = {}

    def of(self, name: str, table: Mapping[str, object]) -> bytes:
        """Return a table as a JSON object."""
        keys, rows = list(table), list(table.values())
        old_keys, old_rows, text = self._kept.get(name, ([], [], b""))
        have = len(old_rows)
        if keys[:have] != old_keys or not all(map(is_, rows[:have], old_rows)):
            text, have = b"", 0
        fresh = [f"{_json(key)}:{_json(row)}".encode() for key, row in zip(keys[have:], rows[have:], strict=True)]
        text = b",".join([text, *fresh] if text else fresh)
        self._kept[name] = keys, rows, text
        return b"{" + text + b"}"


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def seal(tables: Tables, kind: Kind, texts: RowTexts | None = None) -> bytes:
    """Return the bytes of a file; ``texts`` keeps rows written before. Raises ValueError for what JSON lacks."""
    parts = []
    for name, table in tables.items():
        text = texts.of(name, table) if texts is not None and name in kind.only_added else _json(table).encode()
        parts.append(_json(name).encode() + b":" + text)
    body = b"{" + b",".join(parts) + b"}"
    digest = _digest(kind.word, kind.version, body)
    head = f'{{"kept":{{"what":"{kind.word}","version":{kind.version},"sha256":"{digest}"}}'
    return head.encode() + (b"," + body[1:] if tables else body[1:])


def unseal(raw: bytes, path: Path, kind: Kind) -> Unsealed:
    """Return what a file's bytes hold. Raises Damaged or FileNewer, naming ``path``."""
    if not raw.strip():
        raise Damaged(f"{path} is empty, but was not before", _KEEP)
    version, body, sealed = None, raw, _SEAL.match(raw)
    if sealed is not None:
        word, version = sealed[1].decode(), int(sealed[2])
        body = b"{" + raw[sealed.end() :].removeprefix(b",")
        if _digest(word, version, body) != sealed[3].decode():
            raise Damaged(f"{path} is damaged, or was changed by another program", _KEEP)
        if word != kind.word:
            raise Damaged(f"{path} is a {word} file where a {kind.word} file belongs", _KEEP)
        if version > kind.version:
            form = f"version {version} of its form, this one knows {kind.version}"
            what = f"{path} was written by a newer dyeday ({form})"
            raise FileNewer(what, "install the newer one; nothing was changed")
    elif len(raw) > LARGEST_UNSEALED:
        raise Damaged(f"{path} has no check sum", _KEEP)
    try:
        tables = json.loads(body) if sealed is not None else strict_json(body)
    except (ValueError, RecursionError):
        raise Damaged(f"{path} is damaged", _KEEP) from None
    try:
        if not isinstance(tables, dict) or not all(isinstance(table, dict) for table in tables.values()):
            raise TypeError("no tables")
        if version is None and (version := kind.unsealed(tables)) is None:
            raise TypeError("of no version")
        for n in range(version, kind.version):
            tables = kind.steps[n](tables)
        return Unsealed(tables, version, kind.build(tables))
    except (KeyError, TypeError, ValueError, AttributeError, StopIteration):
        raise Damaged(f"{path} is not a valid {kind.word} file", _KEEP) from None


_KEEP = "keep it; nothing was changed"


def _digest(word: str, version: int, body: bytes) -> str:
    return hashlib.sha256(f"{word} {version}\n".encode() + body).hexdigest()
