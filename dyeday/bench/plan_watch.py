"""Whether the plan file of a day was changed in an editor since the day took it."""

from __future__ import annotations

from pathlib import Path

from dyeday.bench.live_session import LiveSession
from dyeday.files.durable import StoreError
from dyeday.files.safe_read import read_text
from dyeday.store.session_form import digest_of


class PlanWatch:
    """Looks at the plan file; reads it only where its time or size is another than before."""

    def __init__(self, keeper: LiveSession) -> None:
        self.keeper = keeper
        self.is_changed = False
        self._seen: tuple[object, ...] = ()

    def look(self) -> str:
        """Look at the file; return what to say of a change that was not said before, else nothing. Never raises."""
        about = self.keeper.file.about
        path = Path(about.source)
        try:
            found = path.stat()
            seen = (found.st_mtime_ns, found.st_size, about.digest, about.source)
            if seen == self._seen:
                return ""
            self._seen = seen
            self.is_changed = digest_of(read_text(path)) != about.digest
        except (StoreError, OSError, ValueError):
            self.is_changed = False  # away, or no text: the day goes on under the plan it has
        return f"{path.name} has changed: P lists the changes and takes them into this day" if self.is_changed else ""
