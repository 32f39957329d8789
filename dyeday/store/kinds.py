"""All that the data folder keeps and of which copies are made: for whoever looks at all of them."""

from __future__ import annotations

import contextlib
import os
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from dyeday.store.backups import Copy, backup_folder, bring_back, copies
from dyeday.store.durable import StoreError, read_bytes
from dyeday.store.records.copies import KeptRecords, records_of
from dyeday.store.sealed import LARGEST_FILE, unseal
from dyeday.store.sessions import SESSION, SESSION_ID


@dataclass(frozen=True, slots=True)
class KeptSession:
    """A session's file, which a copy takes the place of."""

    path: Path
    word: str = SESSION.word

    @property
    def name(self) -> str:
        return self.path.stem

    def present(self) -> str:
        """Return what it holds now, in a few words. Raises StoreError where it is not there or cannot be read."""
        if not os.path.lexists(self.path):
            raise StoreError(f"{self.path} is not there", "bring a copy back")
        return SESSION.holds(unseal(read_bytes(self.path, LARGEST_FILE), self.path, SESSION).tables)

    def copies(self) -> list[Copy]:
        """Return its copies, newest first, each read and verified; set aside ones too."""
        return copies(self.path, SESSION)

    def bring_back(self, copy: Copy, now: datetime) -> Path | None:
        """Bring a copy back; what was there is set aside and its new name returned. Raises StoreError."""
        return bring_back(self.path, copy, SESSION, now)


Kept = KeptSession | KeptRecords


def kept_in(data: Path) -> list[Kept]:
    """Return the records, then every session, newest first; also those of which only copies are left."""
    records = records_of(data)
    there = os.path.lexists(records.path) or backup_folder(records.path).is_dir()
    return [*([records] if there else []), *map(KeptSession, session_files(data))]


def session_files(data: Path) -> list[Path]:
    """Return the file of every session, newest name first; also those of which only copies are left."""
    folder = data / "sessions"
    stems = {path.stem for path in folder.glob("*.json")}
    with contextlib.suppress(OSError):
        stems |= {path.name for path in backup_folder(folder / "x.json").parent.iterdir() if path.is_dir()}
    return [folder / f"{stem}.json" for stem in sorted(stems, reverse=True) if SESSION_ID.match(stem)]
