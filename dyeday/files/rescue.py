"""Text saved in any folder that can be written to: crash details, and entries that the data folder refuses."""

from __future__ import annotations

import secrets
import tempfile
from collections.abc import Callable
from pathlib import Path

import platformdirs

from dyeday.files.durable import StoreError, make_folder, reason, replace_file


def keep_crash(details: str) -> Path:
    """Write a crash's details to the user's crash file, else to a temporary folder; return the file.

    Only the latest crash is kept, readable by its owner only: it may contain names from the plan. Raises StoreError.
    """
    raw = details.encode("utf-8", "backslashreplace")
    logs = Path(platformdirs.user_log_dir("dyeday", appauthor=False))
    places = (lambda: logs, lambda: Path(tempfile.mkdtemp(prefix="dyeday-crash-")))
    return _first_that_takes("crash.txt", raw, places, "its details could not be saved")


def keep_elsewhere(session_id: str, text: str) -> Path:
    """Write a new private file to the home, temporary or current folder, and return it. Raises StoreError."""
    name = f"dyeday-{session_id}-{secrets.token_hex(4)}.jsonl"
    places = (Path.home, lambda: Path(tempfile.gettempdir()), Path.cwd)
    return _first_that_takes(name, text.encode(), places, "they could not be saved anywhere else either")


def _first_that_takes(name: str, raw: bytes, places: tuple[Callable[[], Path], ...], refused: str) -> Path:
    why = "no folder is known"
    for place in places:
        try:
            folder = place()
            if not folder.is_absolute():
                continue
            make_folder(folder)
            replace_file(folder / name, raw)
        except OSError as error:
            why = reason(error)
        except StoreError as error:
            why = error.what
        except RuntimeError:  # there is no home folder
            continue
        else:
            return folder / name
    raise StoreError(f"{refused}: {why}", "make room on a disk")


def crash_lines(details: str, saved: str) -> tuple[str, str]:
    """Save a crash's details; return the lines to show. ``saved`` says what is saved and what to do."""
    try:
        file = keep_crash(details)
    except StoreError as error:
        return f"dyeday crashed; {saved}", str(error)
    return (
        f"dyeday crashed; {saved}",
        f"details for a bug report are in {file}; they may contain names from your plan",
    )
