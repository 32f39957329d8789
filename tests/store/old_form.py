"""A data folder as a dyeday from before the database wrote it: its lines of lots, sealed files and index."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path
from typing import Any
from zlib import crc32

from dyeday.plan.serialize import to_plain
from dyeday.store.sealed import Kind, Tables, seal
from dyeday.store.session_form import Listed
from dyeday.studio.lots.lot import Lot
from dyeday.studio.lots.lot_making import BookDay
from dyeday.studio.lots.lot_view import row_of, words_of


def line(kind: str, number: str, head: dict[str, Any], body: Any) -> bytes:
    """Return one line: its sum, its head, its body."""
    said = {"kind": kind, "number": number, **{key: value for key, value in head.items() if value}}
    rest = b"\t".join(json.dumps(part, ensure_ascii=False, separators=(",", ":")).encode() for part in (said, body))
    return b"%08x\t%s\n" % (crc32(rest), rest)


def lines_of_day(lots: Iterable[Lot], session: str, day: BookDay) -> bytes:
    """Return the lines a closed day added."""
    out = b""
    for lot in lots:
        row = row_of(lot)
        head = {"session": session, "date": row.date, "colourway": row.colourway, "base": row.base,
                "count": row.skeins, "mark": row.mark, "find": words_of(lot)}  # fmt: skip
        out += line("lot", lot.number, head, to_plain(lot))
    head = {"session": session, "date": day.date.isoformat()}
    return out + line("day", f"@{session}", head, to_plain(day))


def put_sealed(data: Path, word: str, tables: Tables) -> None:
    (data / f"{word}.json").write_bytes(seal(tables, Kind(word, 1)))


def put_index(data: Path, rows: Iterable[Listed]) -> None:
    """Write the index of sessions as they lie now."""
    index = {}
    for row in rows:
        about = (data / "sessions" / f"{row.id}.json").stat()
        index[row.id] = [[about.st_size, about.st_mtime_ns, about.st_ino], asdict(row)]
    (data / "sessions" / "sessions.index").write_text(json.dumps(index), encoding="utf-8")
