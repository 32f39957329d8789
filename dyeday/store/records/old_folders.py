"""A data folder from before the database, converted: its files are only read, then moved to ``old-records/``."""

from __future__ import annotations

import contextlib
import json
import os
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from zlib import crc32

from dyeday.ahead.accuracy import first_recorded
from dyeday.files.durable import StoreError, make_folder, read_bytes, sync_folder
from dyeday.plan.library import KEPT, Library
from dyeday.plan.serialize import from_plain, to_plain
from dyeday.store import backups
from dyeday.store.sealed import LARGEST_FILE, Damaged, Kind, Tables, unseal
from dyeday.store.session_form import Listed
from dyeday.store.sessions import Sessions
from dyeday.studio.lots.lot import Lot
from dyeday.studio.lots.lot_view import narrowed
from dyeday.studio.shelf.movements import Move
from dyeday.terms import WorkKind
from dyeday.text import counted
from dyeday.track.durations import Learned, ObservedDuration
from dyeday.track.folding.fold import fold

ARCHIVE = "old-records"
LARGEST_YEAR = 200_000_000
Tell = Callable[[str], None]
_NAMES = ("shelf", "times", "library")


def old_files(data: Path) -> list[Path]:
    """Return the files of an older dyeday that the database replaces."""
    names = ("lots", *(f"{name}.json" for name in _NAMES), *(f"backups/{name}" for name in _NAMES))
    return [data / name for name in names if os.path.lexists(data / name)]


def archive_old_files(data: Path) -> None:
    """Move the old files, unchanged, to ``old-records/``. Raises StoreError."""
    away = data / ARCHIVE
    make_folder(away)
    for path in (*old_files(data), *data.glob("shelf-*.json"), *(data / "backups").glob("shelf-*")):
        name = str(path.relative_to(data)).replace(os.sep, "-")
        names = (away / f"{name}{f'.{n}' if n else ''}" for n in range(1000))
        target = next(there for there in names if not os.path.lexists(there))
        with contextlib.suppress(FileNotFoundError):  # another shell has moved them
            path.rename(target)
    for name in (*(f"{name}.lock" for name in _NAMES), "sessions/sessions.index"):
        (data / name).unlink(missing_ok=True)
    sync_folder(away)
    sync_folder(data)


def convert_folder(data: Path, db: sqlite3.Connection, tell: Tell) -> None:
    """Fill a new database from an old folder's files. Raises StoreError if one is damaged with all its copies."""
    try:
        count = _filled(data, db, tell)
    except (KeyError, TypeError, ValueError, AttributeError):
        what = f"the files in {data} were written by a version of dyeday that this one cannot convert"
        raise StoreError(what, "install the newest one; nothing was changed") from None
    there = f"{data / 'studio.db'} now, {counted(count, 'lot')}"
    tell(f"the records are in {there}; the old files are in {data / ARCHIVE}")


def _filled(data: Path, db: sqlite3.Connection, tell: Tell) -> int:
    """Convert all that an old folder has into tables of today's `SCHEMA`; return the number of lots."""
    _shelf(data, db, tell)
    for key, things in _tables(data / "library.json", "library", tell).items():
        from_plain(Library, {**{each: [] for each, _ in KEPT}, key: list(things.values())})  # it must be one
        rows = [(key, thing["name"], json.dumps(thing, ensure_ascii=False)) for thing in things.values()]
        db.executemany("INSERT INTO definition(kind, name, body) VALUES (?, ?, ?)", rows)
    times = _tables(data / "times.json", "times", tell)
    for n, row in enumerate(times.get("seen", {}).values()):
        one, (day, _, nth) = from_plain(ObservedDuration, row), str(row["session"]).rpartition("-")
        cells = (one.kind.value, day, int(nth), n, one.planned_min, one.actual_min, one.batch, one.at_most)
        db.execute("INSERT INTO seen VALUES (?, ?, ?, ?, ?, ?, ?, ?)", cells)
    for kind, row in times.get("own", {}).items():
        own = from_plain(Learned, row)
        db.execute("INSERT INTO own VALUES (?, ?, ?, ?)", (WorkKind(kind).value, own.factor, own.spread, own.n))
    count = sum(_year(data, db, year, tell) for year in _years(data))
    _listed(data, db)
    return count


def _tables(path: Path, word: str, tell: Tell) -> Tables:
    """Return a sealed file's tables; those of its newest undamaged copy if it is damaged or lost; else none."""
    kind, damage = Kind(word, 1), ""
    try:
        if os.path.lexists(path):
            return unseal(read_bytes(path, LARGEST_FILE), path, kind).tables
    except Damaged as error:
        damage = error.what
    copy = backups.newest_good(path, kind)
    if damage and copy is None:
        raise StoreError(f"{damage}, and it has no undamaged copy", "move it away to continue without it")
    if damage:
        tell(f"{damage}: its newest undamaged copy is used")
    return {} if copy is None else unseal(read_bytes(copy.file, LARGEST_FILE), copy.file, kind).tables


def _shelf(data: Path, db: sqlite3.Connection, tell: Tell) -> None:
    """Convert the movements, those in yearly files as put aside; one in both, after a power cut, still counts."""
    now = _tables(data / "shelf.json", "shelf", tell).get("moves", {})
    years = [_tables(path, "shelf", tell).get("moves", {}) for path in sorted(data.glob("shelf-*.json"))]
    aside = [row for moves in years for row in moves.values()]
    known = {row["id"] for row in now.values()}
    rows = [(1, row) for row in aside if row["id"] not in known] + [(0, row) for row in now.values()]
    for seq, (is_aside, row) in enumerate({row["id"]: (away, row) for away, row in rows}.values(), 1):
        plain = to_plain(from_plain(Move, row))
        cells = {"seq": seq, "aside": is_aside, **plain, "thing": plain["thing"] or ""}
        db.execute(f"INSERT INTO move({', '.join(cells)}) VALUES (:{', :'.join(cells)})", cells)


@dataclass
class _Lines:
    """The lines of a year about one lot number, in their order."""

    heads: dict[str, dict[str, Any]] = field(default_factory=dict)
    bodies: dict[str, bytes] = field(default_factory=dict)
    withdrawn: dict[str, str] = field(default_factory=dict)
    kept: list[dict[str, Any]] = field(default_factory=list)
    words: list[str] = field(default_factory=list)


def _years(data: Path) -> list[Path]:
    folder = data / "lots"
    names = {path.stem for path in folder.glob("*.lots")}
    names |= {path.parent.name for path in folder.glob("backups/*/copy.lots")}
    return [folder / f"{name}.lots" for name in sorted(names) if name.isdecimal()]


def _year(data: Path, db: sqlite3.Connection, path: Path, tell: Tell) -> int:
    """Convert one year's lots, notes and days; return the number of lots."""
    lines, damaged = _whole_lines(path)
    numbers: dict[str, _Lines] = {}
    days: dict[str, int] = {}
    for head, body in lines:
        number, session, kind = str(head["number"]), str(head.get("session", "")), head["kind"]
        of = numbers.setdefault(number, _Lines())
        if kind == "day":
            days[session] = int(json.loads(body)["events"])
        elif kind == "kept":
            of.kept.append(json.loads(body))
            of.words.append(str(head.get("find", "")))
        elif kind == "withdrawn":
            of.withdrawn[session] = str(json.loads(body).get("why", "")) or "withdrawn"
        elif kind == "lot":
            of.heads[session], of.bodies[session] = head, body
            of.withdrawn.pop(session, None)
    here = set(Sessions(data).ids())
    lots = {number: of for number, of in numbers.items() if of.heads}
    for number, of in lots.items():
        _lot(db, number, of, {session: days[session] for session in of.heads if session in here and session in days})
    for number, of in numbers.items():
        cells = [(number, one["at"], one["what"], one["text"], one.get("of", "")) for one in of.kept]
        db.executemany("INSERT INTO noted(number, at, what, text, of) VALUES (?, ?, ?, ?, ?)", cells)
    if damaged:  # then none of its days counts as taken in, and all are taken in again
        tell(f"{path.name}: {counted(damaged, 'damaged line')} left out; its days are taken in again")
    else:
        db.executemany("INSERT OR REPLACE INTO taken(session, events) VALUES (?, ?)", days.items())
    return len(lots)


def _lot(db: sqlite3.Connection, number: str, of: _Lines, events: dict[str, int]) -> None:
    first, there = next(iter(of.heads.values())), [s for s in of.heads if s not in of.withdrawn]
    marks = dict.fromkeys(mark for session in there for mark in str(of.heads[session].get("mark", "")).split())
    words = " ".join((*(str(head.get("find", "")) for head in of.heads.values()), *of.words)).split()
    skeins = sum(int(of.heads[session].get("count", 0)) for session in there)
    cells = (number, first["date"], first["colourway"], first["base"], skeins)
    mark = " ".join(marks) if there else "withdrawn"
    db.execute("INSERT OR REPLACE INTO lot VALUES (?, ?, ?, ?, ?, ?, ?)", (*cells, mark, narrowed(words)))
    row: tuple[object, ...]
    for session, body in of.bodies.items():
        raw, why = json.loads(body), of.withdrawn.get(session, "")
        if session in events and not why:
            flags = {batch["no"]: batch.get("flags", []) for batch in raw["batches"]}
            known = (json.dumps(raw.get("shelf", [])), "", None, json.dumps(flags))
            row = (number, session, events[session], *known)
        else:
            from_plain(Lot, raw)  # it must be one
            row = (number, session, 0, "[]", why, body.decode(), "")
        db.execute("INSERT OR REPLACE INTO part VALUES (?, ?, ?, ?, ?, ?, ?)", row)


def _whole_lines(path: Path) -> tuple[list[tuple[dict[str, Any], bytes]], int]:
    """Return head and body of each undamaged line of a year or its copy, and the number of damaged ones."""
    copy = path.parent / "backups" / path.stem / "copy.lots"
    year, damaged = _lines_of(path)
    copied, _ = _lines_of(copy)
    if not set(copied) <= set(year):  # the copy is the year's beginning
        year, damaged = [*dict.fromkeys((*copied, *year))], 0
    return [(json.loads(head), body) for head, body in year], damaged


def _lines_of(path: Path) -> tuple[list[tuple[bytes, bytes]], int]:
    lines = [*filter(None, read_bytes(path, LARGEST_YEAR).split(b"\n"))] if path.is_file() else []
    parts = [line.partition(b"\t")[::2] for line in lines]
    good = [rest.partition(b"\t")[::2] for total, rest in parts if b"%08x" % crc32(rest) == total]
    return good, len(lines) - len(good)


def _listed(data: Path, db: sqlite3.Connection) -> None:
    """Convert the index of closed sessions, so that not all are opened, and the forecasts of the newest."""
    stored = Sessions(data)
    stamps, index = stored.stamps(), {}
    with contextlib.suppress(StoreError, ValueError, RecursionError):
        index = json.loads(read_bytes(data / "sessions" / "sessions.index", LARGEST_FILE))
    taken = dict(db.execute("SELECT session, events FROM taken"))
    for session, (stamp, raw) in index.items() if isinstance(index, dict) else ():
        with contextlib.suppress(TypeError):
            listed = Listed(**raw)
            if listed.closed and taken.get(session) == listed.events and tuple(stamp[:2]) == stamps.get(session):
                cells = (*stamp[:2], json.dumps(raw, ensure_ascii=False), session)
                db.execute("UPDATE taken SET size = ?, changed_ns = ?, listed = ? WHERE session = ?", cells)
    for session in [name for name in stored.ids() if name in taken][:30]:
        with contextlib.suppress(StoreError):
            file = stored.open(session)
            if (forecast := first_recorded(fold(file.plan, file.events))) is not None:
                moments = map(to_plain, (forecast.at, forecast.likely, forecast.late, forecast.ended))
                db.execute("INSERT INTO forecast VALUES (?, ?, ?, ?, ?, ?)", (session, *moments, forecast.late_scale))
