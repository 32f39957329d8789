"""Text put wherever a folder still takes it: a crash's details, and entries the data folder would not take."""

from __future__ import annotations

import secrets
import tempfile
from collections.abc import Callable
from pathlib import Path

import platformdirs

from dyeday.files.durable import StoreError, make_folder, reason, replace_file


def keep_crash(details: str) -> Path:
    """Put a crash's details into this user's one crash file, else into a temporary folder. Return the file.

    Only the latest crash is kept, readable by its owner alone: it may hold names from the plan. Raises StoreError.
    """
    raw = details.encode("utf-8", "backslashreplace")
    return _first_that_takes("crash.txt", raw, (_logs, _temporary), "its details could not be saved")


def keep_elsewhere(session_id: str, text: str) -> Path:
    """Put ``text`` into a new file of its owner's alone: in the home folder, the temporary one, or the current one.

    Return the file. Raises StoreError.
    """
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


def _logs() -> Path:
    return Path(platformdirs.user_log_dir("dyeday", appauthor=False))


def _temporary() -> Path:
    return Path(tempfile.mkdtemp(prefix="dyeday-crash-"))


def crash_lines(details: str, saved: str) -> tuple[str, str]:
    """Keep the details of a crash; return the lines to refuse with. ``saved`` says what is saved and what to do."""
    try:
        file = keep_crash(details)
    except StoreError as error:
        return f"dyeday crashed; {saved}", str(error)
    return (
        f"dyeday crashed; {saved}",
        f"details for a bug report are in {file}; they may contain names from your plan",
    )
