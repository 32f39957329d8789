"""The road to the printer: `lp` told what to print, and nothing more promised than that it was queued."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from dyeday.plain import harmless

LONGEST_S = 10.0


@dataclass(frozen=True, slots=True)
class Printed:
    """How a printing went: ``sent`` to a queue or not, and a sentence that says so."""

    sent: bool
    text: str


def send(file: Path, title: str, queue: str | None = None) -> Printed:
    """Send a text file to a printer's queue: ``queue``, else LPDEST, else PRINTER, else the default.

    Never raises and never takes longer than ten seconds; where nothing could be sent, the file stays.
    """
    if sys.platform == "win32":
        return _windows(file)
    lp = shutil.which("lp")
    if lp is None:
        return Printed(False, f"there is no lp command here to print with; the page is in {file}")
    chosen = queue or os.environ.get("LPDEST") or os.environ.get("PRINTER")
    command = [lp, *(["-d", chosen] if chosen else []), "-t", harmless(title)]
    try:
        with file.open("rb") as page:
            done = subprocess.run(  # noqa: S603
                command, stdin=page, capture_output=True, timeout=LONGEST_S, check=False
            )
    except subprocess.TimeoutExpired:
        return Printed(False, f"lp did not answer within {LONGEST_S:.0f} s; the page is in {file}")
    except OSError as error:
        return Printed(False, f"lp could not be run ({error.strerror}); the page is in {file}")
    said = harmless((done.stdout + b" " + done.stderr).decode("utf-8", "replace")).strip()[:200]
    if done.returncode != 0:
        return Printed(False, f"lp refused: {said or 'without a word'}; the page is in {file}")
    job = re.search(r"request id is (\S+)-(\d+)", said)
    if job:
        return Printed(True, f"sent to queue {job[1]} as job {job[2]}")
    return Printed(True, f"sent to {'queue ' + chosen if chosen else 'the default queue'}")


def _windows(file: Path) -> Printed:
    try:
        os.startfile(file, "print")  # type: ignore[attr-defined, unused-ignore]  # noqa: S606
    except (OSError, AttributeError):
        return Printed(False, f"no program here prints text files; the page is in {file}")
    return Printed(True, f"handed to the program that prints {file.suffix} files; the page is in {file}")
