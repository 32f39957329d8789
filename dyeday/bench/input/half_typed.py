"""Half-typed texts, kept until accepted, even through a power cut."""

from __future__ import annotations

import contextlib
import json
from pathlib import Path

from dyeday.files.durable import StoreError, read_bytes, replace_file

LARGEST = 1_000_000
LONGEST = 20_000
"""characters of one text"""


class HalfTyped:
    """Texts by the question they answer, in a file beside the session's."""

    def __init__(self, session_file: Path) -> None:
        self.path = session_file.with_suffix(".drafts")
        self.texts: dict[str, str] = {}
        # They are a convenience: whatever is wrong with its file, the day goes on without it.
        with contextlib.suppress(StoreError, ValueError, RecursionError):
            raw = json.loads(read_bytes(self.path, LARGEST))
            if isinstance(raw, dict):
                self.texts = {str(key): str(text) for key, text in raw.items()}

    def get(self, question: str) -> str:
        """Return the text kept under ``question``, "" for nothing."""
        return self.texts.get(question, "")

    def keep(self, question: str, text: str) -> None:
        """Keep ``text``, or forget the question where it is empty."""
        if self.get(question) == text:
            return
        if text:
            self.texts[question] = text[:LONGEST]
        else:
            self.texts.pop(question, None)
        while len(raw := json.dumps(self.texts).encode()) > LARGEST:
            del self.texts[next(iter(self.texts))]
        with contextlib.suppress(OSError):
            replace_file(self.path, raw)
