"""What the commands share: refusing with a message, choosing a session, answering as text or JSON."""

from __future__ import annotations

import re
import shutil
import sys
import time
from argparse import Namespace
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from pathlib import Path
from typing import TextIO

from dyeday.files import safe_read
from dyeday.files.durable import StoreError
from dyeday.files.out_files import put_output
from dyeday.files.places import data_folder
from dyeday.quick_dataclass import dataclass
from dyeday.store import clock
from dyeday.store.records.catching_up import catch_up
from dyeday.store.session_file import Check, SessionFile
from dyeday.store.sessions import Sessions
from dyeday.text import FIRST_YEAR, LAST_YEAR, harmless, is_of_these_days, json_text
from dyeday.track.day.day_state import Day, Event
from dyeday.track.folding.fold import fold, until
from dyeday.track.timestamp import ChangedClockError, Now, StillToComeError, last_time, named_instant, parse_utc


class Refusal(Exception):  # noqa: N818 - a person is refused something, nothing failed
    """Something a person can mend: lines for stderr, exit status 1."""

    def __init__(self, *lines: str) -> None:
        super().__init__("\n".join(lines))
        self.lines = lines


class UsageError(Exception):
    """A command called in a way that says nothing: exit status 2."""


@dataclass(frozen=True, slots=True)
class Opened:
    """A session and its day, as at ``now``."""

    file: SessionFile
    day: Day
    now: Now


def sessions(args: Namespace) -> Sessions:
    """Return the sessions of the data folder that ``--data`` or the environment names."""
    return Sessions(data_folder(args.data))


def finish_what_is_owed(args: Namespace) -> None:
    """Have the records take in what a pulled plug, a full disk or a restored copy left, and tell of it on stderr.

    Records that cannot be read or written stop no command: it is told.
    """
    try:
        catch_up(data_folder(args.data), lambda said: complain([said]))
    except StoreError as error:
        complain([str(error)])


def copy_records(args: Namespace) -> None:
    """Copy the records, which now have what was typed just now and is nowhere else; tell where that fails."""
    from dyeday.store.records.copies import records_of

    try:
        records_of(data_folder(args.data)).back_up(clock.now().utc)
    except StoreError as error:
        complain([f"it is saved, but a copy could not be made: {error}"])


def tell_of_copy(file: SessionFile) -> None:
    """Tell where a session was saved and its copy could not be made."""
    complain(filter(None, [file.without_copy]))


def record(file: SessionFile, events: Sequence[Event], check: Check | None = None) -> tuple[Event, ...]:
    """Store events and return the new ones; have the records take in a day that is closed, and tell of trouble.

    Raises StoreError, or what ``check`` raises; then none is stored.
    """
    fresh = file.add(events, check)
    tell_of_copy(file)
    if fresh and file.is_closed:
        from dyeday.store.records.taking_in import take_in

        complain(filter(None, [take_in(file).trouble]))
    return fresh


def choose(args: Namespace, *, reading: bool) -> SessionFile:
    """Return the session asked for: ``--session``, else the newest unfinished, else (reading) the newest.

    Raises Refusal or StoreError.
    """
    kept = sessions(args)
    if args.session:
        return kept.open(args.session)
    found = kept.newest(unfinished=True) or (kept.newest(unfinished=False) if reading else None)
    if found is None:
        raise Refusal(
            f"no {'' if reading else 'unfinished '}session in {kept.folder.parent}; "
            "start one with `dyeday begin PLAN`, or try `dyeday demo`"
        )
    return found


def opened(args: Namespace, *, reading: bool) -> Opened:
    """Return the chosen session with its day, at ``--as-of`` where that was asked."""
    file = choose(args, reading=reading)
    day = fold(file.plan, file.events)
    now = clock.now()
    asked = getattr(args, "as_of", None)
    if asked:
        moment = typed_time(asked, day.plan.session.zone, now, past_only=False)
        return Opened(file, until(day, moment), Now(moment))
    if day.ended is not None:
        return Opened(file, day, day.ended)
    return Opened(file, day, now)


def typed_time(
    text: str, zone: str | None, now: Now, *, past_only: bool = True, begun: datetime | None = None
) -> datetime:
    """Return the instant a person means by "14:05" (the latest such time not after now) or an ISO date and time.

    Without an offset it is in the session's zone, and "02:30A" and "02:30B" are the first and the second where clocks
    are put back over it. Raises Refusal where it is none, in the future, or of no year from
    2000 to 2100; with ``begun``, the day's first entry, also where `last_time` says that it is still to come.
    """
    said = text.strip()
    letter = said[-1:].upper() if said[-1:].upper() in ("A", "B") else ""
    bare = said[:-1] if letter else said
    try:
        if len(bare) <= 5 and ":" in bare:
            hour, minute = (int(part) for part in bare.split(":"))
            return last_time(hour, minute, zone, now, begun, letter)
        parsed = datetime.fromisoformat(bare)
        if parsed.tzinfo is None and is_of_these_days(parsed):
            moment = named_instant(parsed, letter, zone)
        elif is_of_these_days(parsed):
            moment = parse_utc(said)
    except (StillToComeError, ChangedClockError) as error:
        raise Refusal(str(error)) from None
    except ValueError:
        raise Refusal(f"{harmless(text)!r} is not a time; write 14:05 or 2026-03-14T14:05") from None
    if not is_of_these_days(parsed):
        raise Refusal(f"{harmless(text)} is out of range; year must be {FIRST_YEAR}–{LAST_YEAR}")
    if past_only and moment > now.utc:
        raise Refusal(f"{harmless(text)} is in the future; write a past time")
    return moment


def read_text(path: Path, otherwise: str | None = None) -> str:
    """Return a plain file's text; "-" is what is piped in. Raises Refusal where it is no text of ``otherwise`` or
    UTF-8, too large, or no plain file."""
    try:
        if str(path) == "-":
            return safe_read.read_stream(sys.stdin.buffer, "-", otherwise=otherwise)
        return safe_read.read_text(path, otherwise=otherwise)
    except StoreError as error:
        raise Refusal(str(error)) from None


def put_table(args: Namespace, text: str) -> None:
    """Write a table for a spreadsheet into the file ``--csv`` names, - for stdout. Raises StoreError."""
    if args.csv == "-":
        sys.stdout.write(text)
    else:
        put_output(Path(args.csv), text, data_folder(args.data), overwrite=args.overwrite)


MOST_SHOWN = 20
"""lines that are told of what is wrong with one file"""


def first_of(lines: Iterable[str], most: int = MOST_SHOWN) -> list[str]:
    """Return the first ``most`` of what is wrong, and how many more there are."""
    every = list(lines)
    left = len(every) - most
    return every if left <= 0 else [*every[:most], f"and {left} more like these" if left > 1 else "and 1 more"]


def lasting(seconds: float) -> Callable[[], bool]:
    """Return a function that says whether ``seconds`` from now are over."""
    until = time.monotonic() + seconds
    return lambda: time.monotonic() > until


def answer(data: object) -> None:
    """Print JSON for a script."""
    print(json_text(data, indent=1))  # noqa: T201


def say(*lines: str) -> None:
    """Print lines for a person, none of which can steer the terminal, and which break at words in a window."""
    for line in lines:
        for part in line.split("\n"):
            print(*_fitted(harmless(part), sys.stdout), sep="\n")  # noqa: T201


def complain(lines: Iterable[str]) -> None:
    """Print lines to stderr, harmless and fitted to the window."""
    for line in lines:
        print(*_fitted(harmless(line), sys.stderr), sep="\n", file=sys.stderr)  # noqa: T201


def window_width(stream: TextIO) -> int | None:
    """Return the columns of the window that ``stream`` goes to, 40 at least; None where it goes elsewhere."""
    return max(40, shutil.get_terminal_size().columns) if stream.isatty() else None


def _fitted(line: str, stream: TextIO) -> list[str]:
    """Return a line as a window has room for it; whole where it goes into a file or another program.

    A command in backticks and a long path stay in one piece, so that they can be copied.
    """
    width = window_width(stream)
    if width is None or len(line) <= width:
        return [line]
    import textwrap  # only lines too long for a window want it

    whole = re.sub(r"`[^`]*`", lambda command: command[0].replace(" ", _KEPT), line)
    indent = " " * (len(line) - len(line.lstrip()) + 4)
    broken = textwrap.wrap(
        whole,
        width,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
        replace_whitespace=False,
    )
    return [part.replace(_KEPT, " ") for part in broken]


_KEPT = "\ue000"
"""stands for a blank at which no line is broken"""
