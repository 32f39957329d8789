"""A sheet saved as a file and sent to the printer, and when each was sent before."""

from __future__ import annotations

import hashlib
import json
import re
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from dyeday.files.durable import StoreError, make_folder, read_bytes, reason, replace_file
from dyeday.files.lock import FileLock
from dyeday.paper.layout.sheet import Sheet
from dyeday.paper.layout.sheet_html import sheet_html
from dyeday.paper.layout.sheet_text import sheet_text
from dyeday.paper.printing.printer import Printed, send
from dyeday.plan.model import Plan
from dyeday.quick_dataclass import dataclass
from dyeday.terms import UnitSystem
from dyeday.track.timestamp import iso, local, parse_utc


@dataclass(frozen=True, slots=True)
class Folder:
    """Where pages are saved, and the session they are of, or another name in its place."""

    data: Path
    session_id: str
    zone: str | None


def print_sheet(
    folder: Folder, sheet: Sheet, now: datetime, queue: str | None = None, copies: int = 1, paper: str | None = None
) -> Printed:
    """Save a sheet as a file, send it, and record the sending. A sheet sent before says so on every page.

    If it cannot be saved in the data folder, it is saved in a temporary one. Raises StoreError or OSError if that
    fails too; then nothing was sent.
    """
    before = sent_before(folder, sheet.name)
    marked = replace(sheet, copy=copy_words(sheet, before, now, folder.zone)) if before else sheet
    try:
        file = keep_page(folder, sheet.name, sheet_text(marked))
    except StoreError:
        # On a full disk, the printed page may be all that is left of the day.
        other = replace(folder, data=Path(tempfile.mkdtemp(prefix="dyeday-")))
        file = keep_page(other, sheet.name, sheet_text(marked))
    done = send(file, f"{sheet.title}, {folder.session_id}", queue, copies, paper)
    if not done.sent:
        return done
    message = done.text if str(file) in done.text else f"{done.text}; the page is in {file}"
    try:
        note_sent(folder, sheet.name, PrintedSheet(now, digest(sheet)))
    except StoreError as error:
        message += f"; {error}"
    return Printed(True, message)


def save_sheet(folder: Folder, sheet: Sheet, paper: str) -> str:
    """Save a sheet as text and as HTML; return a sentence that names both. Raises StoreError."""
    text = keep_page(folder, sheet.name, sheet_text(sheet))
    html = keep_page(folder, sheet.name, sheet_html(sheet, paper), "html")
    return f"saved as {text} and, for a browser, {html.name}"


def usual_paper(plan: Plan | None) -> str:
    """Return "Letter" if the plan uses US units, else "A4"."""
    return "Letter" if plan is not None and plan.session.units == UnitSystem.US else "A4"


def digest(sheet: Sheet) -> str:
    """Return the SHA-256 of a sheet's content, without the time it was made at."""
    text = sheet_text(replace(sheet, about="", copy=""))
    return hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()


def copy_words(sheet: Sheet, before: Sequence[PrintedSheet], now: datetime, zone: str | None) -> str:
    """Return the mark of a reprint: its number and time, the first printing, and whether it changed since."""
    first, last = before[0], before[-1]
    same = "nothing changed" if last.digest == digest(sheet) else "CHANGED"
    since = f"{same} since" if len(before) == 1 else f"{same} since {_when(last.at, zone)}"
    return f"COPY {len(before) + 1}, {_when(now, zone)}; first printed {_when(first.at, zone)}, {since}"


def _when(moment: datetime, zone: str | None) -> str:
    return f"{local(moment, zone):%d %b %H:%M}"


LARGEST_LIST = 8_000_000
"""bytes of the list of sendings, about 150 a line"""


@dataclass(frozen=True, slots=True)
class PrintedSheet:
    """One sending of a sheet to a printer; ``digest`` tells whether its content changed."""

    at: datetime
    digest: str


def keep_page(of: Folder, sheet: str, text: str, suffix: str = "txt") -> Path:
    """Save a page's text in the data folder; return its file. Raises StoreError."""
    folder = _folder(of.data)
    name = re.sub(r"[^A-Za-z0-9.-]", "_", f"{of.session_id}-{sheet}").lstrip(".")[:120]
    file = folder / f"{name}.{suffix}"
    try:
        replace_file(file, text.encode("utf-8", "replace"))
    except OSError as error:
        raise StoreError(f"the page could not be saved: {reason(error)}", f"check {folder}") from None
    return file


def note_sent(of: Folder, sheet: str, sent: PrintedSheet) -> None:
    """Record that a sheet was sent to a printer. Raises StoreError."""
    folder = _folder(of.data)
    path = folder / "sent.jsonl"
    row = json.dumps({"session": of.session_id, "sheet": sheet, "at": iso(sent.at), "sha256": sent.digest})
    try:
        with FileLock(folder / "sent.lock"):
            before = read_bytes(path, LARGEST_LIST).splitlines() if path.exists() else []
            replace_file(path, b"\n".join((*before, row.encode(), b"")))
    except OSError as error:
        raise StoreError(f"the sending could not be recorded: {reason(error)}", f"check {folder}") from None


def sent_before(of: Folder, sheet: str) -> list[PrintedSheet]:
    """Return the earlier sendings of a sheet, oldest first; unreadable lines are left out."""
    path = of.data / "pages" / "sent.jsonl"
    try:
        lines = read_bytes(path, LARGEST_LIST).splitlines() if path.exists() else []
    except StoreError:
        return []
    sheets = []
    for line in lines:
        try:
            row = json.loads(line)
            if (row["session"], row["sheet"]) == (of.session_id, sheet):
                sheets.append(PrintedSheet(parse_utc(row["at"]), str(row["sha256"])))
        except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
            continue
    return sheets


def _folder(data: Path) -> Path:
    folder = data / "pages"
    make_folder(folder)
    return folder
