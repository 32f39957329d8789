"""A place outside the data folder for entries that it would not take, so that leaving the bench loses none."""

from __future__ import annotations

import secrets
import tempfile
from pathlib import Path

from dyeday.store.durable import StoreError, reason, replace_file


def keep_elsewhere(session_id: str, text: str) -> Path:
    """Put ``text`` into a new file, its owner's alone, in the home folder, the folder for temporary files, or here.

    Returns the file. Raises StoreError where none of them takes it.
    """
    why = ""
    for folder in (_home, lambda: Path(tempfile.gettempdir()), Path.cwd):
        try:
            file = folder() / f"dyeday-{session_id}-{secrets.token_hex(4)}.jsonl"
            replace_file(file, text.encode())
        except OSError as error:
            why = reason(error)
        else:
            return file
    raise StoreError(f"they could be put nowhere else either: {why}", "make room on a disk")


def _home() -> Path:
    try:
        return Path.home()
    except RuntimeError:
        raise FileNotFoundError(2, "there is no home folder") from None
