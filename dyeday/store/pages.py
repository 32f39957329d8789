"""Printed pages kept as files, so that one that never reached paper is not lost."""

from __future__ import annotations

from pathlib import Path

from dyeday.store.durable import StoreError, make_folder, reason, replace_file


def keep_page(data: Path, session_id: str, sheet: str, text: str) -> Path:
    """Put a page's text into the data folder and return its file. Raises StoreError."""
    folder = data / "pages"
    make_folder(folder)
    file = folder / f"{session_id}-{sheet}.txt"
    try:
        replace_file(file, text.encode())
    except OSError as error:
        raise StoreError(f"the page could not be kept: {reason(error)}", f"look at {folder}") from None
    return file
