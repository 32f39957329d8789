"""What stands between a page and the printer, asked without printing anything."""

from __future__ import annotations

import shutil
import sys
import time

from dyeday.paper.printing.printer import chosen_queue
from dyeday.paper.printing.programs import run
from dyeday.text import harmless

LONGEST_S = 5.0
"""for all that is asked together"""


def printer_state() -> tuple[bool, str, str]:
    """Return (whether a page would be queued, what there is, what to do). Never raises, never waits over 5 s."""
    kept = "pages are kept as text files all the same"
    if sys.platform == "win32":
        return True, "pages go to the program that prints text files", ""
    if shutil.which("lp") is None:
        return False, "there is no lp command here", f"install a print system; {kept}"
    lpstat = shutil.which("lpstat")
    if lpstat is None:
        return True, "lp is installed, but lpstat is missing", ""
    until = time.monotonic() + LONGEST_S
    running = _ask(until, lpstat, "-r")
    # Its exit status is 0 either way.
    if "is running" not in running:
        return False, f"no print scheduler answers ({running or 'without a word'})", f"start it; {kept}"
    chosen = chosen_queue(None)
    if chosen:
        known = _ask(until, lpstat, "-a", chosen)
        if "accepting" not in known or "not accepting" in known:
            return False, f"queue {harmless(chosen)} does not accept jobs: {known}", "correct LPDEST or PRINTER"
        return True, f"pages go to queue {harmless(chosen)}", ""
    default = _ask(until, lpstat, "-d")
    if "no system default" in default or not default:
        return False, "there is no default printer", f"choose one, or name it with --printer; {kept}"
    return True, default, ""


def _ask(until: float, *command: str) -> str:
    """Return what lpstat says, nothing where it does not answer in time."""
    try:
        return run(command, None, until).said
    except OSError:
        return ""
