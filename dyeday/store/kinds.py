"""Every kind of file that the data folder holds, and where: for whoever looks at all of them."""

from __future__ import annotations

from pathlib import Path

from dyeday.store.backups import backup_folder
from dyeday.store.sealed import Kind
from dyeday.store.sessions import SESSION
from dyeday.store.shelf import SHELF

KINDS: tuple[tuple[str, Kind], ...] = (("sessions/????-??-??-*.json", SESSION), ("shelf*.json", SHELF))
"""where the files of a kind lie in the data folder, as a pattern, and the kind"""


def files_of(data: Path) -> list[tuple[Path, Kind]]:
    """Return every file of ours with its kind, newest name first; also those of which only copies are left."""
    found: dict[Path, Kind] = {}
    for pattern, kind in KINDS:
        for path in data.glob(pattern):
            found[path] = kind
        inside, _, name = pattern.rpartition("/")
        stem = name.removesuffix(".json")
        for folder in backup_folder(data / inside / "x.json").parent.glob(stem):
            if folder.is_dir():
                found.setdefault(data / inside / f"{folder.name}.json", kind)
    return sorted(found.items(), key=lambda item: item[0].name, reverse=True)
