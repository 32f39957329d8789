"""The data folder, and paths as a person types them."""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs

from dyeday.files.durable import StoreError, reason
from dyeday.text import brief


def data_folder(asked: str | None = None) -> Path:
    """Return the data folder: ``--data``, else ``DYEDAY_DATA``, else the system's for data. Raises StoreError."""
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
    """Raise StoreError for an impossible name here, so that the message names the folder and not a file in it."""
    try:
        folder.lstat()
    except (FileNotFoundError, NotADirectoryError, PermissionError):
        return
    except OSError as error:
        what = f"the data folder {brief(str(folder))}: {reason(error)}"
        raise StoreError(what, "choose another with --data") from None
    except ValueError:
        raise StoreError(f"{brief(str(folder))} is not a valid folder name", "choose another with --data") from None


def typed_path(typed: str) -> Path:
    """Return the absolute path of a typed one; ~ is the home folder. Raises StoreError."""
    try:
        return Path(typed).expanduser().absolute()
    except RuntimeError:
        raise StoreError(f"{typed}: there is no such home folder", "write the whole path") from None
