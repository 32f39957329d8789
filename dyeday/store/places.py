"""Which folder the data lies in."""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs


def data_folder(asked: str | None = None) -> Path:
    """Return the data folder: ``--data``, else ``DYEDAY_DATA``, else the usual place of this system's user."""
    chosen = asked or os.environ.get("DYEDAY_DATA")
    if chosen:
        return Path(chosen).expanduser().absolute()
    return Path(platformdirs.user_data_dir("dyeday", appauthor=False))
