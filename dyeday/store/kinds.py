"""Every kind of file that the data folder holds, and where: for whoever looks at all of them."""

from __future__ import annotations

import contextlib
import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Protocol

from dyeday.store.backups import Copy, backup_folder, bring_back, copies
from dyeday.store.durable import StoreError, read_bytes
from dyeday.store.library_file import LIBRARY
from dyeday.store.lot_book import LotBook
from dyeday.store.lot_copy import years_kept
from dyeday.store.sealed import LARGEST_FILE, Kind, unseal
from dyeday.store.sessions import SESSION
from dyeday.store.shelf import SHELF
from dyeday.store.times import TIMES

KINDS: tuple[tuple[str, str, Kind], ...] = (
    ("sessions", r"\d{4}-\d{2}-\d{2}-\d{1,4}", SESSION),
    (".", r"shelf(-\d{4}-\d{2}-\d{2})?", SHELF),
    (".", r"times", TIMES),
    (".", r"library", LIBRARY),
)
"""the folder within the data folder ("." for itself), what a file's name is before .json, and its kind"""


class Kept(Protocol):
    """One file of which copies are kept, as a person who brings one back sees it."""

    @property
    def path(self) -> Path: ...
    @property
    def word(self) -> str:
        """Return what kind of file it is."""

    @property
    def name(self) -> str:
        """Return what a person calls it by."""

    @property
    def is_put_together(self) -> bool:
        """Return whether a copy adds what the file lacks, rather than taking its place."""

    def present(self) -> str:
        """Return what it holds now, in a few words. Raises StoreError where it is not there or cannot be read."""

    def copies(self) -> list[Copy]:
        """Return its copies, newest first, each read and verified; set aside ones too."""

    def bring_back(self, copy: Copy, now: datetime) -> Path | None:
        """Bring a copy back; what was there is set aside and its new name returned. Raises StoreError."""


@dataclass(frozen=True, slots=True)
class SealedFile:
    """A sealed file of a kind, which a copy takes the place of."""

    path: Path
    kind: Kind
    is_put_together: bool = False

    @property
    def word(self) -> str:
        return self.kind.word

    @property
    def name(self) -> str:
        return self.path.stem

    def present(self) -> str:
        if not self.path.exists() and not self.path.is_symlink():
            raise StoreError(f"{self.path} is not there", "bring a copy back")
        return self.kind.holds(unseal(read_bytes(self.path, LARGEST_FILE), self.path, self.kind).tables)

    def copies(self) -> list[Copy]:
        return copies(self.path, self.kind)

    def bring_back(self, copy: Copy, now: datetime) -> Path | None:
        return bring_back(self.path, copy, self.kind, now)


def kept_in(data: Path) -> list[Kept]:
    """Return every file of ours of which copies are kept: sealed ones, newest name first, then the lot book."""
    return [*(SealedFile(path, kind) for path, kind in files_of(data)), *years_kept(LotBook(data).folder)]


def files_of(data: Path) -> list[tuple[Path, Kind]]:
    """Return every sealed file with its kind, newest name first; also those of which only copies are left."""
    found: dict[Path, Kind] = {}
    for inside, name, kind in KINDS:
        folder = data / inside
        stems = [path.stem for path in folder.glob("*.json")]
        with contextlib.suppress(OSError):
            stems += [path.name for path in backup_folder(folder / "x.json").parent.iterdir() if path.is_dir()]
        found |= {folder / f"{stem}.json": kind for stem in stems if re.fullmatch(name, stem)}
    return sorted(found.items(), key=lambda item: item[0].name, reverse=True)
