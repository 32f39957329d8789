"""What the commands share: refusals, choosing a session, answering as text or JSON."""

from __future__ import annotations

import contextlib
import re
import shutil
import sys
import time
from argparse import Namespace
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

from dyeday.files import safe_read
from dyeday.files.durable import StoreError
from dyeday.files.out_files import put_output
from dyeday.quick_dataclass import dataclass
from dyeday.store import clock
from dyeday.store.records.sync import sync_records
from dyeday.store.session_file import Check, SessionFile
from dyeday.store.sessions import Sessions
from dyeday.text import FIRST_YEAR, LAST_YEAR, brief, harmless, is_of_these_days, json_text
from dyeday.track.day.day_state import Day, Event
from dyeday.track.folding.fold import fold, until
from dyeday.track.timestamp import ChangedClockError, Moment, StillToComeError, last_time, named_instant, parse_utc

if TYPE_CHECKING:
    from dyeday.units import Kind


class Refusal(Exception):  # noqa: N818 - nothing failed
    """A problem a person can solve: lines for stderr, exit status 1."""

    def __init__(self, *lines: str) -> None:
        super().__init__("\n".join(lines))
        self.lines = lines


class UsageError(Exception):
    """Options that do not go together: exit status 2."""


RETRY_S = 60.0
"""the same words typed again within this time are a retry, not a second event"""


@dataclass(frozen=True, slots=True)
class Opened:
    """A session and its day, as at ``now``."""

    file: SessionFile
    day: Day
    now: Moment


def sessions(args: Namespace) -> Sessions:
    """Return the sessions of the data folder that ``--data`` or the environment names."""
    return Sessions(args.data)


def update_records(args: Namespace) -> None:
    """Add to the records what they lack, and report it on stderr; a failure does not stop the command."""
    try:
        sync_records(args.data, lambda line: report([line]))
    except StoreError as error:
        report([str(error)])


def copy_records(args: Namespace) -> None:
    """Copy the records after a change that is stored nowhere else; report a failure on stderr."""
    from dyeday.store.records.copies import records_of

    try:
        records_of(args.data).back_up(clock.now().utc)
    except StoreError as error:
        report([f"saved, but a copy could not be made: {error}"])


def report_missing_copy(file: SessionFile) -> None:
    """Report on stderr that a session was saved but its copy could not be made."""
    report(filter(None, [file.without_copy]))


def record(file: SessionFile, events: Sequence[Event], check: Check | None = None) -> tuple[Event, ...]:
    """Store events and return the new ones, updating a closed day's records. Raises StoreError or as ``check``."""
    fresh = file.add(events, check)
    report_missing_copy(file)
    if fresh and file.is_closed:
        from dyeday.store.records.taking_in import take_in

        report(filter(None, [take_in(file).trouble]))
    return fresh


def choose(args: Namespace, *, reading: bool) -> SessionFile:
    """Return ``--session``, else the newest unfinished, else (reading) the newest. Raises Refusal or StoreError."""
    stored = sessions(args)
    if args.session:
        return stored.open(args.session)
    session = stored.newest(unfinished=True) or (stored.newest(unfinished=False) if reading else None)
    if session is None:
        what = f"no {'' if reading else 'unfinished '}session in {stored.folder.parent}"
        raise Refusal(f"{what}; start one with `dyeday begin PLAN`, or try `dyeday demo`")
    return session


def opened(args: Namespace, *, reading: bool) -> Opened:
    """Return the chosen session with its day, at ``--as-of`` where that was asked."""
    file = choose(args, reading=reading)
    day = fold(file.plan, file.events)
    now = clock.now()
    if asked := getattr(args, "as_of", None):
        moment = typed_time(asked, day.plan.session.zone, now, past_only=False)
        return Opened(file, until(day, moment), Moment(moment))
    return Opened(file, day, day.ended or day.on_day_clock(now))


def typed_time(
    text: str, zone: str | None, now: Moment, *, past_only: bool = True, begun: datetime | None = None
) -> datetime:
    """Return the instant of "14:05" (the latest such time not after now) or of an ISO date and time.

    Without an offset it is in the session's zone; "02:30A" and "02:30B" are the first and the second time clocks show
    02:30. Raises Refusal if it is not a time, lies in the future or outside the years 2000 to 2100; with ``begun``,
    the day's first entry, also where `last_time` finds that it is still to come.
    """
    typed = text.strip()
    letter = typed[-1:].upper() if typed[-1:].upper() in ("A", "B") else ""
    bare = typed[:-1] if letter else typed
    try:
        if len(bare) <= 5 and ":" in bare:
            hour, minute = (int(part) for part in bare.split(":"))
            return last_time(hour, minute, zone, now, begun, letter)
        parsed = datetime.fromisoformat(bare)
        if parsed.tzinfo is None and is_of_these_days(parsed):
            moment = named_instant(parsed, letter, zone)
        elif is_of_these_days(parsed):
            moment = parse_utc(typed)
    except (StillToComeError, ChangedClockError) as error:
        raise Refusal(str(error)) from None
    except ValueError:
        raise Refusal(f"{brief(text)} is not a time; write 14:05 or 2026-03-14T14:05") from None
    if not is_of_these_days(parsed):
        raise Refusal(f"{harmless(text)} is out of range; year must be {FIRST_YEAR}–{LAST_YEAR}")
    if past_only and moment > now.utc:
        raise Refusal(f"{harmless(text)} is in the future; write a past time")
    return moment


def read_text(path: Path, most: int = safe_read.LARGEST_TEXT) -> str:
    """Return a plain file's text of at most so many bytes; "-" reads stdin. Raises StoreError."""
    if str(path) == "-":
        return safe_read.read_stream(sys.stdin.buffer, "-", most)
    return safe_read.read_text(path, most)


def put_table(args: Namespace, text: str) -> None:
    """Write a table for a spreadsheet into the file ``--csv`` names, - for stdout. Raises StoreError."""
    if args.csv == "-":
        sys.stdout.write(text)
    else:
        put_output(Path(args.csv), text, args.data, overwrite=args.overwrite)


MOST_SHOWN = 20
"""problems shown of one file"""


def first_lines(lines: Iterable[str]) -> list[str]:
    """Return the first `MOST_SHOWN` lines, and how many more there are."""
    every = list(lines)
    left = len(every) - MOST_SHOWN
    return every if left <= 0 else [*every[:MOST_SHOWN], f"and {left} more like these" if left > 1 else "and 1 more"]


@contextlib.contextmanager
def refusing(path: Path, *more: str) -> Iterator[None]:
    """Raise Refusal for all that is wrong with the text of ``path``, each with its line, and then ``more``."""
    from dyeday.plan.reading.problems import PlanError
    from dyeday.plan.writing.text_edit import EditError

    try:
        yield
    except PlanError as error:
        raise Refusal(*first_lines(f"{path}:{problem}" for problem in error.problems), *more) from None
    except EditError as error:
        raise Refusal(f"{path}: {error}") from None


def typed_amount(option: str, typed: str, kind: Kind, low: float = 0.0, high: float = 1e6) -> float:
    """Return a typed quantity in the unit of its ``kind``. Raises Refusal, which begins with the ``option``."""
    from dyeday import units

    try:
        return units.read(typed, kind, low=low, high=high)
    except units.QuantityError as error:
        raise Refusal(f"{option}: {error}") from None


def time_limit(seconds: float) -> Callable[[], bool]:
    """Return a function that is True once ``seconds`` have passed since this call."""
    until = time.monotonic() + seconds
    return lambda: time.monotonic() > until


def fields_of(thing: object, names: str) -> dict[str, Any]:
    """Return some fields by name, for JSON; ``names`` are separated by blanks."""
    return {name: getattr(thing, name) for name in names.split()}


def print_json(data: object) -> None:
    """Print JSON for a script."""
    print(json_text(data, indent=1))  # noqa: T201


def report_import(args: Namespace, taken: int, already: int) -> None:
    """Say how many rows of a file were imported, and how many were there before."""
    if args.json:
        print_json({"taken": taken, "already_there": already})
    else:
        say(f"{taken} imported, {already} already there")


def say(*lines: str) -> None:
    """Print lines to stdout, without control characters and wrapped at words in a window."""
    for line in lines:
        for part in line.split("\n"):
            print(*_fitted(harmless(part), sys.stdout), sep="\n")  # noqa: T201


def report(lines: Iterable[str]) -> None:
    """Print lines to stderr in the same way."""
    for line in lines:
        print(*_fitted(harmless(line), sys.stderr), sep="\n", file=sys.stderr)  # noqa: T201


def window_width(stream: TextIO) -> int | None:
    """Return the columns of the window behind ``stream``, at least 40; None for a file or a pipe."""
    return max(40, shutil.get_terminal_size().columns) if stream.isatty() else None


def _fitted(line: str, stream: TextIO) -> list[str]:
    """Return a line wrapped for a window, whole for a file or a pipe; commands and long paths stay in one piece."""
    if (width := window_width(stream)) is None or len(line) <= width:
        return [line]
    import textwrap

    whole = re.sub(r"`[^`]*`", lambda command: command[0].replace(" ", _KEPT), line)
    indent = " " * (len(line) - len(line.lstrip()) + 4)
    whole_words: Any = {"break_long_words": False, "break_on_hyphens": False, "replace_whitespace": False}
    broken = textwrap.wrap(whole, width, subsequent_indent=indent, **whole_words)
    return [part.replace(_KEPT, " ") for part in broken]


_KEPT = "\ue000"
"""stands for a blank that must not be broken at"""
