"""Which folder the data lies in, and which file a person means."""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs

from dyeday.store.durable import StoreError


def data_folder(asked: str | None = None) -> Path:
    """Return the data folder: ``--data``, else ``DYEDAY_DATA``, else the usual place of this system's user.

    Raises StoreError where there is none.
    """
    chosen = asked or os.environ.get("DYEDAY_DATA")
    if chosen:
        return typed_path(chosen)
    usual = Path(platformdirs.user_data_dir("dyeday", appauthor=False))
    if not usual.is_absolute():
        raise StoreError("nothing says where this user's home folder is", "name a data folder with --data")
    return usual


def typed_path(typed: str) -> Path:
    """Return the whole path of one that a person typed; ~ is their home folder. Raises StoreError."""
    try:
        return Path(typed).expanduser().absolute()
    except RuntimeError:
        raise StoreError(f"{typed}: nobody's home folder is called so", "name the whole path") from None
