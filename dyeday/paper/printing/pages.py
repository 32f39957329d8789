"""Printed pages kept as files, so that one that never reached paper is not lost; and which were sent when."""

from __future__ import annotations

import json
import re
from datetime import datetime
from pathlib import Path

from dyeday.files.durable import StoreError, make_folder, read_bytes, reason, replace_file
from dyeday.files.lock import FileLock
from dyeday.quick_dataclass import dataclass
from dyeday.track.timestamp import iso, parse_utc

LARGEST_LIST = 8_000_000
"""bytes of the list of what was sent; a line of it takes about 150"""


@dataclass(frozen=True, slots=True)
class PrintedSheet:
    """One sending of a sheet to a printer; ``digest`` tells whether the next one says the same."""

    at: datetime
    digest: str


def keep_page(data: Path, session_id: str, sheet: str, text: str, suffix: str = "txt") -> Path:
    """Put a page's text into the data folder and return its file. Raises StoreError."""
    folder = _folder(data)
    name = re.sub(r"[^A-Za-z0-9.-]", "_", f"{session_id}-{sheet}").lstrip(".")[:120]
    file = folder / f"{name}.{suffix}"
    try:
        replace_file(file, text.encode("utf-8", "replace"))
    except OSError as error:
        raise StoreError(f"the page could not be saved: {reason(error)}", f"look at {folder}") from None
    return file


def note_sent(data: Path, session_id: str, sheet: str, sent: PrintedSheet) -> None:
    """Put on record that a sheet was sent to a printer. Raises StoreError."""
    folder = _folder(data)
    path = folder / "sent.jsonl"
    row = json.dumps({"session": session_id, "sheet": sheet, "at": iso(sent.at), "sha256": sent.digest})
    try:
        with FileLock(folder / "sent.lock"):
            before = read_bytes(path, LARGEST_LIST).splitlines() if path.exists() else []
            replace_file(path, b"\n".join((*before, row.encode(), b"")))
    except OSError as error:
        raise StoreError(f"the sending could not be recorded: {reason(error)}", f"look at {folder}") from None


def sent_before(data: Path, session_id: str, sheet: str) -> list[PrintedSheet]:
    """Return when a sheet was sent before, oldest first; what cannot be read of the list tells nothing."""
    path = data / "pages" / "sent.jsonl"
    try:
        lines = read_bytes(path, LARGEST_LIST).splitlines() if path.exists() else []
    except StoreError:
        return []
    found = []
    for line in lines:
        try:
            row = json.loads(line)
            if (row["session"], row["sheet"]) == (session_id, sheet):
                found.append(PrintedSheet(parse_utc(row["at"]), str(row["sha256"])))
        except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
            continue
    return found


def _folder(data: Path) -> Path:
    folder = data / "pages"
    make_folder(folder)
    return folder
