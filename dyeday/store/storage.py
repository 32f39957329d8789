"""A TinyDB storage that never writes in place, holds no handle open, and reads a file only when it changed.

TinyDB's own JSON storage rewrites the file where it lies and takes an empty one for a new database; a pulled
plug in the middle would leave neither the old day nor the new one.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from tinydb.storages import Storage

from dyeday.store.durable import StoreError, read_bytes, replace_file

LARGEST_FILE = 64_000_000


class DurableStorage(Storage):
    """One JSON file. ``read`` gives what it last read while the file's identity, size and time are the same."""

    def __init__(self, path: str | Path) -> None:
        super().__init__()
        self.path = Path(path)
        self._kept: dict[str, dict[str, Any]] | None = None
        self._seen: tuple[int, int, int] | None = None

    def read(self) -> dict[str, dict[str, Any]] | None:
        stamp = self._stamp()
        if stamp is None:
            return None
        if stamp != self._seen:
            self._kept = parse(read_bytes(self.path, LARGEST_FILE), self.path)
            self._seen = stamp
        return self._kept

    def write(self, data: dict[str, dict[str, Any]]) -> None:
        # TinyDB has already changed what `read` gave it: until this is on the disk, nothing kept can be trusted.
        self._kept, self._seen = None, None
        text = json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
        replace_file(self.path, text.encode())
        self._kept, self._seen = data, self._stamp()

    def changed(self) -> bool:
        """Tell whether the file is another than the one last read or written."""
        return self._stamp() != self._seen

    def _stamp(self) -> tuple[int, int, int] | None:
        try:
            about = self.path.stat()
        except FileNotFoundError:
            return None
        except OSError as error:
            raise StoreError(f"{self.path} cannot be read: {error.strerror}", "check the data folder") from None
        return about.st_ino, about.st_size, about.st_mtime_ns


def parse(data: bytes, path: Path) -> dict[str, dict[str, Any]]:
    """Return the tables in a file's bytes. Raises StoreError where they are damaged: nothing is overwritten."""
    try:
        tables = json.loads(data.decode())
    except (ValueError, RecursionError):
        raise StoreError(f"{path} is damaged", "keep it, and bring a backup back") from None
    if not isinstance(tables, dict) or not all(isinstance(table, dict) for table in tables.values()):
        raise StoreError(f"{path} holds something else", "keep it, and bring a backup back")
    return tables
