"""The system's printer: its state, and pages sent to its queue with `lp`, which confirms no more than queueing."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import sys
import time
from pathlib import Path

from dyeday.paper.printing.programs import run
from dyeday.quick_dataclass import dataclass
from dyeday.text import harmless

LONGEST_S = 10.0
LONGEST_TITLE = 100
MOST_COPIES = 99
MEDIA = {"A4": "iso_a4_210x297mm", "Letter": "na_letter_8.5x11in"}
"""names of paper sizes (PWG 5101.1)"""


@dataclass(frozen=True, slots=True)
class Printed:
    """The result of printing: whether it was ``sent`` to a queue, and a sentence that says so."""

    sent: bool
    text: str


def chosen_queue(asked: str | None) -> str | None:
    """Return the queue to print to: the one asked for, else LPDEST, else PRINTER, else None for the default."""
    return asked or os.environ.get("LPDEST") or os.environ.get("PRINTER") or None


def send(file: Path, title: str, queue: str | None = None, copies: int = 1, paper: str | None = None) -> Printed:
    """Send a text file to a printer's queue: ``queue``, else LPDEST, else PRINTER, else the default.

    ``paper`` is A4 or Letter; None uses the queue's default.

    Never raises, and takes ten seconds at most. The file stays, and the sentence names it.
    """
    if sys.platform == "win32":
        return _windows(file, copies, queue)
    lp = shutil.which("lp")
    if lp is None:
        return Printed(False, f"no lp command is installed; the page is in {file}")
    chosen = chosen_queue(queue)
    command = [
        lp,
        *(["-d", chosen] if chosen else []),
        *(["-n", str(max(1, min(copies, MOST_COPIES)))] if copies != 1 else []),
        *(["-o", f"media={MEDIA[paper]}"] if paper else []),
        "-t",
        harmless(title)[:LONGEST_TITLE],
    ]
    until = time.monotonic() + LONGEST_S
    try:
        answer = run(command, file, until)
    except OSError as error:
        return Printed(False, f"lp could not be run ({error.strerror}); the page is in {file}")
    where = f"queue {harmless(chosen)}" if chosen else "the default queue"
    if answer.endless:
        return Printed(False, f"lp did not stop writing and was ended; the page is in {file}")
    if answer.status is None:
        return Printed(False, f"lp did not answer within {LONGEST_S:.0f} s; the page is in {file}")
    if answer.status != 0:
        # Every message begins with this.
        why = re.sub(r"^\S*lp: (Error - )?", "", answer.output).rstrip(".") or "no reason given"
        return Printed(False, f"lp refused: {why}{_advice(answer.output, until)}; the page is in {file}")
    job = re.search(r"request id is (\S+)-(\d+)", answer.output)
    if job:
        return Printed(True, f"sent to queue {job[1]} as job {job[2]}")
    return Printed(True, f"sent to {where}; lp gave no job number")


def _advice(answer: str, until: float) -> str:
    """Return what to do after a refusal, or "". lp gives the same message for no queue and no scheduler."""
    lpstat = shutil.which("lpstat")
    if lpstat is not None and until - time.monotonic() > 0.1:
        with contextlib.suppress(OSError):
            if "not running" in run([lpstat, "-r"], None, until).output:
                return " (the print system is not running: start it, and print again)"
    if "no default" in answer.lower():
        return " (name a queue with --printer, LPDEST or PRINTER; `lpstat -e` lists them)"
    if "does not exist" in answer.lower():
        return " (`lpstat -e` lists the queues)"
    return ""


def _windows(file: Path, copies: int, queue: str | None) -> Printed:
    try:
        for _copy in range(max(1, min(copies, MOST_COPIES))):
            os.startfile(file, "print")  # type: ignore[attr-defined, unused-ignore]  # noqa: S606
    except (OSError, AttributeError):
        return Printed(False, f"no installed program prints {file.suffix} files; the page is in {file}")
    which = "; that program chooses the printer" if queue else ""
    return Printed(True, f"handed to the program that prints {file.suffix} files{which}; the page is in {file}")


ASK_LONGEST_S = 5.0
"""for all questions together"""


def printer_state() -> tuple[bool, str, str]:
    """Return (whether a page would be queued, what is there, what to do). Never raises, takes 5 s at most."""
    as_files = "pages are saved as text files all the same"
    if sys.platform == "win32":
        return True, "pages go to the program that prints text files", ""
    if shutil.which("lp") is None:
        return False, "there is no lp command here", f"install a print system; {as_files}"
    lpstat = shutil.which("lpstat")
    if lpstat is None:
        return True, "lp is installed, but lpstat is missing", ""
    until = time.monotonic() + ASK_LONGEST_S
    running = _ask(until, lpstat, "-r")
    if "is running" not in running:
        return False, f"no print scheduler answers ({running or 'no answer'})", f"start it; {as_files}"
    chosen = chosen_queue(None)
    if chosen:
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
