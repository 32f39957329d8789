"""Every kind of file that the data folder holds, and where: for whoever looks at all of them."""

from __future__ import annotations

import contextlib
import re
from pathlib import Path

from dyeday.store.backups import backup_folder
from dyeday.store.library import LIBRARY
from dyeday.store.sealed import Kind
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


def files_of(data: Path) -> list[tuple[Path, Kind]]:
    """Return every file of ours with its kind, newest name first; also those of which only copies are left."""
    found: dict[Path, Kind] = {}
    for inside, name, kind in KINDS:
        folder = data / inside
        stems = [path.stem for path in folder.glob("*.json")]
        with contextlib.suppress(OSError):
            stems += [path.name for path in backup_folder(folder / "x.json").parent.iterdir() if path.is_dir()]
        found |= {folder / f"{stem}.json": kind for stem in stems if re.fullmatch(name, stem)}
    return sorted(found.items(), key=lambda item: item[0].name, reverse=True)
