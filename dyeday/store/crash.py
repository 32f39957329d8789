"""The details of a crash, kept where the person who reports it finds them."""

from __future__ import annotations

import tempfile
from pathlib import Path

import platformdirs

from dyeday.store.durable import StoreError, make_folder, reason, replace_file


def keep_crash(details: str) -> Path:
    """Put the details into the one crash file of this user, the latest crash only, or else a temporary folder.

    Readable by the owner alone, for it may hold names from the plan. Raises StoreError where neither can be written.
    """
    why = "no folder is known"
    for place in (_usual, _temporary):
        try:
            folder = place()
            if not folder.is_absolute():
                continue
            make_folder(folder)
            path = folder / "crash.txt"
            replace_file(path, details.encode("utf-8", "backslashreplace"))
        except OSError as error:
            why = reason(error)
        except StoreError as error:
            why = error.what
        else:
            return path
    raise StoreError(f"its details could not be kept: {why}", "make room on the disk")


def _usual() -> Path:
    return Path(platformdirs.user_log_dir("dyeday", appauthor=False))


def _temporary() -> Path:
    return Path(tempfile.mkdtemp(prefix="dyeday-crash-"))
