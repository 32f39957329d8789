"""The entry point: the `dyeday` command, its options and its exit codes.

0 done or answered, 1 a problem in the input or the world (each on its own line on stderr), 2 wrong usage,
130 interrupted. What a command needs is imported when that command runs, so that `--help` is quick.
"""

from __future__ import annotations

import argparse
import codecs
import gc
import importlib
import io
import os
import sys
from collections.abc import Sequence

from dyeday.commands.usage import parsed

WITHOUT_RECORDS = ("screens.start_screens", "screens.open_bench", "papers.acid_answer", "usage")
"""modules that answer without the records: the bench looks at them behind its first frame"""
WITHOUT_FOLDER = ("demo", "acid", "help")
"""commands that work where there is no data folder"""


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command and return its exit status."""
    _open_what_is_shut()
    # What a command loads, it keeps to its end: looking for garbage meanwhile is a tenth of its time.
    collects = gc.isenabled()
    gc.disable()
    _say_in_any_encoding()
    try:
        return _answer(argv)
    except OSError as error:
        return _unwritten(error)
    finally:
        if collects:
            gc.enable()


def _say_in_any_encoding() -> None:
    """Write what a terminal or a pipe cannot encode as ``\\u00e9``, which JSON reads back."""
    codecs.register_error("as-json", _as_json)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="as-json")


def _as_json(error: UnicodeError) -> tuple[str, int]:
    assert isinstance(error, UnicodeEncodeError)  # noqa: S101 - nothing is read by it
    units = error.object[error.start : error.end].encode("utf-16-be", "surrogatepass")
    escapes = (f"\\u{units[n] << 8 | units[n + 1]:04x}" for n in range(0, len(units), 2))
    return "".join(escapes), error.end


def _open_what_is_shut() -> None:
    """Reopen standard streams that the caller closed on the null device."""
    for name, how in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            setattr(sys, name, os.fdopen(os.open(os.devnull, os.O_RDWR), how, encoding="utf-8"))


def _answer(argv: Sequence[str] | None) -> int:
    args, runs = parsed(argv)
    for name in ("data", "session"):
        if not hasattr(args, name):
            setattr(args, name, None)
    from dyeday.commands.common import Refusal, UsageError, report
    from dyeday.files.durable import StoreError

    try:
        status = _run(args, runs)
        sys.stdout.flush()
        return status
    except UsageError as error:
        args.usage.refuse(str(error))
        return 2
    except (Refusal, StoreError) as error:
        report(error.lines if isinstance(error, Refusal) else [str(error)])
        return 1
    except KeyboardInterrupt:
        return 130


def _unwritten(error: OSError) -> int:
    """Report that the output could not be written, silently on a broken pipe; return the exit status."""
    from dyeday.commands.common import report

    seen_enough = isinstance(error, BrokenPipeError)
    if not seen_enough:
        from dyeday.files.durable import SAVED, reason

        done = f"; what it did is saved ({', '.join(SAVED)}), do not do it again" if SAVED else ""
        if error.filename is not None:
            report([f"{error.filename}: {reason(error)}{done or '; check its name and its folder'}"])
            return 1
        report([f"the answer could not be written: {reason(error)}{done}"])
    # What is left unwritten cannot be written at exit either.
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return 0 if seen_enough else 1


def _run(args: argparse.Namespace, runs: dict[str, str]) -> int:
    """Import the module of the command asked for, and run it; return its exit status, 0 where it gives none."""
    from dyeday.commands.common import update_records
    from dyeday.files.durable import SAVED
    from dyeday.files.places import data_folder

    if args.command not in WITHOUT_FOLDER:
        args.data = data_folder(args.data)
    module, function = runs.get(args.command, "screens.start_screens:bench").split(":")
    if module not in WITHOUT_RECORDS:
        update_records(args)
        SAVED.clear()  # of what this command does, not of what it found to finish
    status: int | None = getattr(importlib.import_module(f"dyeday.commands.{module}"), function)(args)
    return status or 0
