"""All that the data folder keeps and of which copies are made."""

from __future__ import annotations

import contextlib
import os
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from dyeday.store.backups import Copy, Kept, backup_folder, bring_back
from dyeday.store.records.copies import KeptRecords, records_of
from dyeday.store.session_form import SESSION, SESSION_ID


@dataclass(frozen=True, slots=True)
class KeptSession(Kept):
    """A session's file, which a copy takes the place of."""

    path: Path
    word: str = SESSION.word

    def look(self, file: Path) -> str:
        return SESSION.look(file)

    def bring_back(self, copy: Copy, now: datetime) -> Path | None:
        return bring_back(self.path, copy, SESSION, now)


def kept_in(data: Path) -> list[KeptSession | KeptRecords]:
    """Return the records, then every session, newest first; also those of which only copies are left."""
    records = records_of(data)
    there = os.path.lexists(records.path) or backup_folder(records.path).is_dir()
    return [*([records] if there else []), *map(KeptSession, session_files(data))]


def session_files(data: Path) -> list[Path]:
    """Return the file of every session, newest name first; also those of which only copies are left."""
    folder = data / "sessions"
    stems = {path.stem for path in folder.glob("*.json")}
    with contextlib.suppress(OSError):
        stems |= {path.name for path in (folder / "backups").iterdir() if path.is_dir()}
    return [folder / f"{stem}.json" for stem in sorted(stems, reverse=True) if SESSION_ID.match(stem)]
