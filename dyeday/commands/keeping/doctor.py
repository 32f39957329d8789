"""`doctor`: problems of data folder, copies, clock, terminal and printer, and what to do about them."""

from __future__ import annotations

import locale
import os
import shutil
import sys
from argparse import Namespace
from collections.abc import Iterator

from dyeday.commands.common import print_json, say
from dyeday.commands.keeping.folder_health import Finding, health
from dyeday.paper.printing.sending import printer_state
from dyeday.store import clock
from dyeday.text import counted, harmless, wrap

SIGNS = {"well": " ", "note": "*", "wrong": "!"}
PROMISE = (
    "Every entry that the bench confirmed is on the disk: each file is replaced whole. Checksums detect damage.",
    "Several shells and one bench can write at the same time on one computer.",
    "Use a synced folder on one computer at a time. If an older version comes back while a bench is open, no entry "
    "is lost; otherwise `dyeday restore` brings back a newer copy.",
    "On a network drive, locks are only as reliable as its server. Eject a USB stick before you pull it out.",
)
WIDTH = 78


def doctor(args: Namespace) -> int:
    """Print the findings. Returns 1 with ``--strict`` if something is wrong."""
    prints, message, do = printer_state()
    printer = Finding("printer", "well" if prints else "note", message, do)
    findings = [*health(args.data, clock.now()), *_terminal(), printer]
    wrong = [finding for finding in findings if finding.state == "wrong"]
    if args.json:
        rows = [{"about": f.about, "state": f.state, "said": f.message, "do": f.do or None} for f in findings]
        print_json({"folder": str(args.data), "well": not wrong, "findings": rows})
    else:
        for finding in findings:
            say(f"{SIGNS[finding.state]} {finding.about}: {finding.message}")
            if finding.do:
                say(f"    do: {finding.do}")
        say("", *(line for sentence in PROMISE for line in wrap(sentence, WIDTH)), "")
        notes = sum(finding.state == "note" for finding in findings)
        say(f"{counted(len(wrong), 'problem')}, {counted(notes, 'note')}" if wrong or notes else "no problem found")
    return 1 if wrong and args.strict else 0


def _terminal() -> Iterator[Finding]:
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        yield Finding("terminal", "well", "this is not a terminal window: commands work, the bench does not")
        return
    term = os.environ.get("TERM", "")
    if sys.platform != "win32" and term in ("", "dumb"):
        message = f"this one (TERM={harmless(term)}) cannot place text"
        yield Finding("terminal", "wrong", message, "open another for the bench")
    width, height = shutil.get_terminal_size()
    if width < 80 or height < 24:
        yield Finding("terminal", "note", f"it is {width} x {height}", "make it 80 x 24 or larger for the bench")
    encoding = (sys.stdout.encoding or locale.getpreferredencoding(False)).lower().replace("-", "")
    if encoding != "utf8":
        yield Finding("terminal", "note", f"it uses {encoding}, not UTF-8", "set LANG or LC_ALL to a UTF-8 locale")
    yield Finding("terminal", "well", f"{width} x {height}, {_colours(term)}")


def _colours(term: str) -> str:
    if os.environ.get("NO_COLOR"):
        return "no colour, as NO_COLOR asks"
    if os.environ.get("COLORTERM", "") in ("truecolor", "24bit") or sys.platform == "win32":
        return "swatches in full colour"
    return "swatches in 256 colours" if "256" in term else "swatches in 16 colours; words and signs say all"
