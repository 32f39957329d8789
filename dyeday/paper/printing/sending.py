"""A sheet kept as a file and sent to the printer: one way for the shell and for the bench."""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from dyeday.files.durable import StoreError
from dyeday.paper.layout.sheet import Sheet
from dyeday.paper.layout.sheet_html import sheet_html
from dyeday.paper.layout.sheet_text import sheet_text
from dyeday.paper.local_time import local
from dyeday.paper.printing.pages import PrintedSheet, keep_page, note_sent, sent_before
from dyeday.paper.printing.printer import Printed, send
from dyeday.plan.model import Plan
from dyeday.quick_dataclass import dataclass
from dyeday.terms import UnitSystem


@dataclass(frozen=True, slots=True)
class Folder:
    """Where pages are kept, and of what: a session's id, or what else stands in its place."""

    data: Path
    session_id: str
    zone: str | None


def print_sheet(
    folder: Folder, sheet: Sheet, now: datetime, queue: str | None = None, copies: int = 1, paper: str | None = None
) -> Printed:
    """Keep a sheet as a file, send it, and note that it went. One sent before says so on every page.

    Where the data folder takes no file it is kept in the system's folder for passing things. Raises StoreError or
    OSError where that takes none either; then nothing was sent.
    """
    before = sent_before(folder.data, folder.session_id, sheet.name)
    marked = sheet.as_copy(copy_words(sheet, before, now, folder.zone)) if before else sheet
    try:
        file = keep_page(folder.data, folder.session_id, sheet.name, sheet_text(marked))
    except StoreError:
        # A full disk is no reason to have no paper: the page may be all that is left of the day.
        file = keep_page(Path(tempfile.mkdtemp(prefix="dyeday-")), folder.session_id, sheet.name, sheet_text(marked))
    done = send(file, f"{sheet.title}, {folder.session_id}", queue, copies, paper)
    if not done.sent:
        return done
    told = done.text if str(file) in done.text else f"{done.text}; the page is in {file}"
    try:
        note_sent(folder.data, folder.session_id, sheet.name, PrintedSheet(now, digest(sheet)))
    except StoreError as error:
        told += f"; {error}"
    return Printed(True, told)


def save_sheet(folder: Folder, sheet: Sheet, paper: str) -> str:
    """Keep a sheet as text and as HTML, and return a sentence that names both. Raises StoreError."""
    text = keep_page(folder.data, folder.session_id, sheet.name, sheet_text(sheet))
    html = keep_page(folder.data, folder.session_id, sheet.name, sheet_html(sheet, paper), "html")
    return f"kept as {text} and, for a browser, {html.name}"


def usual_paper(plan: Plan | None) -> str:
    """Return the paper of a studio: Letter where its plan measures in US units, else A4."""
    return "Letter" if plan is not None and plan.session.units == UnitSystem.US else "A4"


def digest(sheet: Sheet) -> str:
    """Return what a sheet says as a digest: its blocks, without the moment it was made at."""
    said = sheet_text(replace(sheet, about="", copy=""))
    return hashlib.sha256(said.encode("utf-8", "replace")).hexdigest()


def copy_words(sheet: Sheet, before: Sequence[PrintedSheet], now: datetime, zone: str | None) -> str:
    """Return what a reprint says: which copy, when, when the first was, and whether it changed since the last."""
    first, last = before[0], before[-1]
    same = "nothing changed" if last.digest == digest(sheet) else "CHANGED"
    since = f"{same} since" if len(before) == 1 else f"{same} since {_when(last.at, zone)}"
    return f"COPY {len(before) + 1}, {_when(now, zone)}; first printed {_when(first.at, zone)}, {since}"


def _when(moment: datetime, zone: str | None) -> str:
    return f"{local(moment, zone):%d %b %H:%M}"
