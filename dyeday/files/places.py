"""Which folder the data lies in, and which file a person means."""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs

from dyeday.files.durable import StoreError, reason
from dyeday.text import brief


def data_folder(asked: str | None = None) -> Path:
    """Return the data folder: ``--data``, else ``DYEDAY_DATA``, else the usual place of this system's user.

    Raises StoreError where there is none.
    """
    chosen = asked or os.environ.get("DYEDAY_DATA")
    if chosen:
        folder = typed_path(chosen)
        _refuse_no_name(folder)
        return folder
    usual = Path(platformdirs.user_data_dir("dyeday", appauthor=False))
    if not usual.is_absolute():
        raise StoreError("this user's home folder is unknown", "name a data folder with --data")
    return usual


def _refuse_no_name(folder: Path) -> None:
    """Raise StoreError where no folder can have this name, so that the message names it and not what is in it."""
    try:
        folder.lstat()
    except (FileNotFoundError, NotADirectoryError, PermissionError):
        return
    except OSError as error:
        raise StoreError(
            f"the data folder {brief(str(folder))}: {reason(error)}", "choose another with --data"
        ) from None
    except ValueError:
        raise StoreError(f"{brief(str(folder))} is not a valid folder name", "choose another with --data") from None


def typed_path(typed: str) -> Path:
    """Return the whole path of one that a person typed; ~ is their home folder. Raises StoreError."""
    try:
        return Path(typed).expanduser().absolute()
    except RuntimeError:
        raise StoreError(f"{typed}: there is no such home folder", "name the whole path") from None
