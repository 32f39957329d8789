"""What each session's file says of itself, remembered, so that years of closed days need not be opened to be passed.

A convenience: an entry counts only while its file's size, time and identity are the same, and whatever is wrong
with the index itself, the files are opened instead.
"""

from __future__ import annotations

import contextlib
import json
import os
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from dyeday.store.durable import StoreError, read_bytes, replace_file

LARGEST = 32_000_000


@dataclass(frozen=True, slots=True)
class Listed:
    """One session in a list."""

    id: str
    name: str
    date: str
    begun: str
    closed: bool
    batches: int
    events: int
    plan: str
    """the file it was begun from"""


class SessionIndex:
    """The sessions of one folder as they were when last opened."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / "sessions.index"
        self.folder = folder
        self._kept: dict[str, Any] = {}
        self._changed = False
        with contextlib.suppress(StoreError, ValueError, RecursionError):
            raw = json.loads(read_bytes(self.path, LARGEST))
            if isinstance(raw, dict):
                self._kept = raw

    def stamp(self, session_id: str) -> list[int] | None:
        """Return what tells one state of a session's file from another; None where it is not there."""
        try:
            about = os.stat(self.folder / f"{session_id}.json")  # noqa: PTH116 - thousands of them, at every look
        except OSError:
            return None
        return [about.st_size, about.st_mtime_ns, about.st_ino]

    def get(self, session_id: str) -> Listed | None:
        """Return what is known of a session, None where nothing is or its file has changed since."""
        kept = self._kept.get(session_id)
        if kept is None or not isinstance(kept, list) or len(kept) != 2 or kept[0] != self.stamp(session_id):
            return None
        try:
            listed = Listed(**kept[1])
        except TypeError:
            return None
        return listed if listed.id == session_id and isinstance(listed.closed, bool) else None

    def learn(self, listed: Listed, stamp: list[int] | None) -> None:
        """Remember a session that was opened; ``stamp`` was taken before it was read."""
        self._kept[listed.id] = [stamp, asdict(listed)]
        self._changed = True

    def save(self, ids: list[str]) -> None:
        """Write what was learned, of ``ids`` only. A folder that cannot be written stops nobody from reading."""
        if self._changed:
            kept = {session_id: self._kept[session_id] for session_id in ids if session_id in self._kept}
            with contextlib.suppress(OSError):
                replace_file(self.path, json.dumps(kept, separators=(",", ":")).encode())
            self._changed = False
