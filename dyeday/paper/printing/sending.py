"""The system's printer: its state, and sheets saved and sent to its queue with `lp`, which confirms no more."""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from dyeday.files.durable import FileLock, StoreError, make_folder, read_bytes, reason, replace_file
from dyeday.paper.layout.label_page import PAPERS
from dyeday.paper.layout.sheet import Sheet
from dyeday.paper.layout.sheet_html import sheet_html
from dyeday.paper.layout.sheet_text import sheet_text
from dyeday.paper.printing.programs import run
from dyeday.plan.model import Plan
from dyeday.quick_dataclass import dataclass
from dyeday.terms import UnitSystem
from dyeday.text import harmless
from dyeday.track.timestamp import iso, local, parse_utc

LONGEST_S = 10.0
LONGEST_TITLE = 100
MOST_COPIES = 99


@dataclass(frozen=True, slots=True)
class PrintResult:
    """The result of an attempt to print: whether the page was ``sent`` to a queue, and a sentence that says so."""

    sent: bool
    text: str


def chosen_queue(asked: str | None) -> str | None:
    """Return the queue to print to: the one asked for, else LPDEST, else PRINTER, else None for the default."""
    return asked or os.environ.get("LPDEST") or os.environ.get("PRINTER") or None


def send(file: Path, title: str, queue: str | None = None, copies: int = 1, paper: str | None = None) -> PrintResult:
    """Send a text file to a printer's queue: ``queue``, else LPDEST, else PRINTER, else the default.

    ``paper`` is one of `PAPERS`, or None for the queue's default. Never raises, and takes ten seconds at most. The
    file stays, and the sentence names it.
    """
    if sys.platform == "win32":
        return _windows(file, copies, queue)
    if (lp := shutil.which("lp")) is None:
        return PrintResult(False, f"no lp command is installed; the page is in {file}")
    chosen = chosen_queue(queue)
    command = [lp, "-d", chosen] if chosen else [lp]
    command += ["-n", str(max(1, min(copies, MOST_COPIES)))] if copies != 1 else []
    command += ["-o", f"media={PAPERS[paper].media}"] if paper else []
    command += ["-t", harmless(title)[:LONGEST_TITLE]]
    until = time.monotonic() + LONGEST_S
    try:
        answer = run(command, file, until)
    except OSError as error:
        return PrintResult(False, f"lp could not be run ({error.strerror}); the page is in {file}")
    if answer.endless:
        return PrintResult(False, f"lp did not stop writing and was ended; the page is in {file}")
    if answer.status is None:
        return PrintResult(False, f"lp did not answer within {LONGEST_S:.0f} s; the page is in {file}")
    if answer.status != 0:
        # Every message begins with this.
        why = re.sub(r"^\S*lp: (Error - )?", "", answer.output).rstrip(".") or "no reason given"
        return PrintResult(False, f"lp refused: {why}{_advice(answer.output, until)}; the page is in {file}")
    if job := re.search(r"request id is (\S+)-(\d+)", answer.output):
        return PrintResult(True, f"sent to queue {job[1]} as job {job[2]}; the page is in {file}")
    where = f"queue {harmless(chosen)}" if chosen else "the default queue"
    return PrintResult(True, f"sent to {where}; lp gave no job number; the page is in {file}")


def _advice(answer: str, until: float) -> str:
    """Return what to do after a refusal, or "". lp gives the same message for no queue and no scheduler."""
    lpstat = shutil.which("lpstat")
    if lpstat is not None and until - time.monotonic() > 0.1 and "not running" in _ask(until, lpstat, "-r"):
        return " (the print service is not running: restart the computer, and print again)"
    if "no default" in answer.lower():
        return " (name a queue with --printer, LPDEST or PRINTER; `lpstat -e` lists them)"
    if "does not exist" in answer.lower():
        return " (`lpstat -e` lists the queues)"
    return ""


def _windows(file: Path, copies: int, queue: str | None) -> PrintResult:
    try:
        for _copy in range(max(1, min(copies, MOST_COPIES))):
            os.startfile(file, "print")  # type: ignore[attr-defined, unused-ignore]  # noqa: S606
    except (OSError, AttributeError):
        return PrintResult(False, f"no installed program prints {file.suffix} files; the page is in {file}")
    which = "; that program chooses the printer" if queue else ""
    return PrintResult(True, f"handed to the program that prints {file.suffix} files{which}; the page is in {file}")


ASK_LONGEST_S = 5.0
"""for all questions together"""


def printer_state() -> tuple[bool, str, str]:
    """Return (whether a page would be queued, what is there, what to do). Never raises, takes 5 s at most."""
    as_files = "pages are saved as text files all the same"
    if sys.platform == "win32":
        return True, "pages go to the program that prints text files", ""
    if shutil.which("lp") is None:
        return False, "there is no lp command here", f"install a print system; {as_files}"
    if (lpstat := shutil.which("lpstat")) is None:
        return True, "lp is installed, but lpstat is missing", ""
    until = time.monotonic() + ASK_LONGEST_S
    running = _ask(until, lpstat, "-r")
    if "is running" not in running:
        why = f"the print service does not answer ({running or 'no answer'})"
        return False, why, f"restart the computer; {as_files}"
    if chosen := chosen_queue(None):
        known = _ask(until, lpstat, "-a", chosen)
        if "accepting" not in known or "not accepting" in known:
            return False, f"queue {harmless(chosen)} does not accept jobs: {known}", "correct LPDEST or PRINTER"
        return True, f"pages go to queue {harmless(chosen)}", ""
    default = _ask(until, lpstat, "-d")
    if "no system default" in default or not default:
        return False, "there is no default printer", f"choose one, or name it with --printer; {as_files}"
    return True, default, ""


def _ask(until: float, *command: str) -> str:
    """Return what lpstat prints; "" if it does not answer in time."""
    try:
        return run(command, None, until).output
    except OSError:
        return ""


@dataclass(frozen=True, slots=True)
class PagesOf:
    """Whose pages are saved in a data folder: a session's, or those of a name such as "wall"; and their time zone."""

    data: Path
    session_id: str
    zone: str | None

    @property
    def folder(self) -> Path:
        """Where they are saved."""
        return self.data / "pages"

    @property
    def sent_file(self) -> Path:
        """The list of what was sent to a printer."""
        return self.folder / "sent.jsonl"


def print_sheet(
    of: PagesOf, sheet: Sheet, now: datetime, queue: str | None = None, copies: int = 1, paper: str | None = None
) -> PrintResult:
    """Save a sheet as a file, send it, and record the sending. A sheet sent before says so on every page.

    If it cannot be saved in the data folder, it is saved in a temporary one. Raises StoreError or OSError if that
    fails too; then nothing was sent.
    """
    before = sent_before(of, sheet.name)
    marked = replace(sheet, copy=copy_words(sheet, before, now, of.zone)) if before else sheet
    try:
        file = keep_page(of, sheet.name, sheet_text(marked))
    except StoreError:
        # On a full disk, the printed page may be all that is left of the day.
        other = replace(of, data=Path(tempfile.mkdtemp(prefix="dyeday-")))
        file = keep_page(other, sheet.name, sheet_text(marked))
    done = send(file, f"{sheet.title}, {of.session_id}", queue, copies, paper)
    if not done.sent:
        return done
    try:
        note_sent(of, sheet.name, Sending(now, digest(sheet)))
    except StoreError as error:
        return PrintResult(True, f"{done.text}; {error}")
    return done


def save_sheet(of: PagesOf, sheet: Sheet, paper: str) -> str:
    """Save a sheet as text and as HTML; return a sentence that names both. Raises StoreError."""
    text = keep_page(of, sheet.name, sheet_text(sheet))
    html = keep_page(of, sheet.name, sheet_html(sheet, paper), "html")
    return f"saved as {text} and {html.name}"


def usual_paper(plan: Plan | None) -> str:
    """Return "Letter" if the plan uses US units, else "A4"."""
    return "Letter" if plan is not None and plan.session.units == UnitSystem.US else "A4"


def digest(sheet: Sheet) -> str:
    """Return the SHA-256 of a sheet's content, without the line below its title and the mark of a reprint."""
    text = sheet_text(replace(sheet, about="", copy=""))
    return hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()


def copy_words(sheet: Sheet, before: Sequence[Sending], now: datetime, zone: str | None) -> str:
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
class Sending:
    """One sending of a sheet to a printer; ``digest`` tells whether its content changed."""

    at: datetime
    digest: str


def keep_page(of: PagesOf, sheet: str, text: str, suffix: str = "txt") -> Path:
    """Save a page's text in the data folder; return its file. Raises StoreError."""
    make_folder(of.folder)
    name = re.sub(r"[^A-Za-z0-9.-]", "_", f"{of.session_id}-{sheet}").lstrip(".")[:120]
    file = of.folder / f"{name}.{suffix}"
    try:
        replace_file(file, text.encode("utf-8", "replace"))
    except OSError as error:
        raise StoreError(f"the page could not be saved: {reason(error)}", f"check {of.folder}") from None
    return file


def note_sent(of: PagesOf, sheet: str, sent: Sending) -> None:
    """Record that a sheet was sent to a printer. Raises StoreError."""
    make_folder(of.folder)
    path = of.sent_file
    row = json.dumps({"session": of.session_id, "sheet": sheet, "at": iso(sent.at), "sha256": sent.digest})
    try:
        with FileLock(path.with_suffix(".lock")):
            before = read_bytes(path, LARGEST_LIST).splitlines() if path.exists() else []
            replace_file(path, b"\n".join((*before, row.encode(), b"")))
    except OSError as error:
        raise StoreError(f"the sending could not be recorded: {reason(error)}", f"check {of.folder}") from None


def sent_before(of: PagesOf, sheet: str) -> list[Sending]:
    """Return the earlier sendings of a sheet, oldest first; unreadable lines are left out."""
    try:
        lines = read_bytes(of.sent_file, LARGEST_LIST).splitlines() if of.sent_file.exists() else []
    except StoreError:
        return []
    sheets = []
    for line in lines:
        try:
            row = json.loads(line)
            if (row["session"], row["sheet"]) == (of.session_id, sheet):
                sheets.append(Sending(parse_utc(row["at"]), str(row["sha256"])))
        except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
            continue
    return sheets
