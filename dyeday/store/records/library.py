"""The studio's library in the records: its definitions by kind and name."""

from __future__ import annotations

import json
import sqlite3
from typing import Any

from dyeday.plan.library import KEPT, Library, LibraryChange, Studio, T, with_definitions
from dyeday.plan.model import Plan
from dyeday.plan.serialize import from_plain, to_plain
from dyeday.store.records.database import Records

STUDIO = "studio"
"""the kind and name of the row with the studio's water, acid and hours"""


def library_in(db: sqlite3.Connection) -> Library:
    """Return the stored library."""
    rows = db.execute("SELECT kind, body FROM definition ORDER BY id").fetchall()
    tables: dict[str, Any] = {key: [json.loads(body) for kind, body in rows if kind == key] for key, _ in KEPT}
    tables["studio"] = next((json.loads(body) for kind, body in rows if kind == STUDIO), None)
    return from_plain(Library, tables)


def take_plan(db: sqlite3.Connection, plan: Plan, *, only_new: bool) -> list[LibraryChange]:
    """Add a plan's definitions, with ``only_new`` none that has a known name; return the changes."""
    library, changes = with_definitions(library_in(db), plan, only_new=only_new)
    for key, _ in KEPT if changes else ():
        for thing in getattr(library, key):
            _put(db, key, thing.name, thing)
    return changes


def _put(db: sqlite3.Connection, kind: str, name: str, thing: object) -> None:
    row = (kind, name, json.dumps(to_plain(thing), ensure_ascii=False, allow_nan=False))
    update = "ON CONFLICT(kind, name) DO UPDATE SET body = excluded.body"
    db.execute(f"INSERT INTO definition(kind, name, body) VALUES (?, ?, ?) {update}", row)


class LibraryRecords(Records):
    """The library of a data folder."""

    def library(self) -> Library:
        """Return the library. Raises StoreError."""
        with self.reading() as db:
            return library_in(db)

    def take(self, plan: Plan, *, only_new: bool = False) -> list[LibraryChange]:
        """Add a plan's definitions, durably; return the changes. Raises StoreError; then nothing changed."""
        with self.writing() as db:
            return take_plan(db, plan, only_new=only_new)

    def put(self, key: str, thing: T, instead_of: str = "") -> None:
        """Store a definition, perhaps in place of ``instead_of``, under a field of `Library`. Raises StoreError."""
        with self.writing() as db:
            if instead_of and instead_of != thing.name:
                say = "UPDATE definition SET name = ? WHERE kind = ? AND name = ?"
                db.execute(say, (thing.name, key, instead_of))
            _put(db, key, thing.name, thing)

    def put_studio(self, studio: Studio) -> None:
        """Store the studio's water, acid, hours, scale and jug, durably. Raises StoreError."""
        with self.writing() as db:
            _put(db, STUDIO, STUDIO, studio)

    def remove(self, key: str, name: str) -> None:
        """Delete one definition, durably. Raises StoreError."""
        with self.writing() as db:
            db.execute("DELETE FROM definition WHERE kind = ? AND name = ?", (key, name))
