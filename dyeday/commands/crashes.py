"""What is said of a screen that crashed, one way for every screen."""

from __future__ import annotations

from dyeday.files.durable import StoreError
from dyeday.files.rescue import keep_crash


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
