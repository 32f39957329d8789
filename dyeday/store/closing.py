"""What follows from a day being closed: the books take it in, step by step, in one place for shell and bench.

`SessionFile.add` comes here whenever a day that is closed got an entry: its closing, or something recorded later.
Every step must do the same again without harm, for a pulled plug may stop it anywhere and later entries repeat it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from dyeday.plan.model import Plan
from dyeday.store.durable import StoreError, reason
from dyeday.track.day import Day
from dyeday.track.events import Event
from dyeday.track.fold import fold
from dyeday.track.instant import Now


@dataclass(frozen=True, slots=True)
class ClosedDay:
    """A closed day as a step is given it: the data folder, the session's id, the day, and when it ended."""

    data: Path
    session_id: str
    day: Day
    now: Now


Step = Callable[[ClosedDay], Iterable[str]]
"""Takes a closed day into one book; gives what to tell the person, a line each. Raises StoreError or OSError."""

ON_CLOSE: tuple[tuple[str, Step], ...] = ()
"""(what the step is about, the step) in their order. The lot book is last: its line for the day says all is done."""


@dataclass(frozen=True, slots=True)
class Settled:
    """What the steps had to tell, and what stopped them, if anything did."""

    told: tuple[str, ...] = ()
    trouble: str = ""


def settle(data: Path, session_id: str, plan: Plan, events: Iterable[Event]) -> Settled:
    """Take a closed day into every book. A step that fails stops those after it and is told, never raised:
    what was closed is closed, and the next look at the lot book tries again.
    """
    day = fold(plan, events)
    if day.closed is None:
        return Settled()
    closed = ClosedDay(data, session_id, day, ended_at(day))
    told: list[str] = []
    for about, step in ON_CLOSE:
        try:
            told += step(closed)
        except (StoreError, OSError) as error:
            said = str(error) if isinstance(error, StoreError) else reason(error)
            return Settled(tuple(told), f"the day is closed, but {about} could not take it in: {said}")
    return Settled(tuple(told))


def ended_at(day: Day) -> Now:
    """Return the moment a closed day is looked back from: its close, or the last thing recorded of it."""
    assert day.closed is not None  # noqa: S101 - only closed days come here
    last = day.last_at or day.closed.utc
    return Now(max(last, day.closed.utc), day.closed.boot_s, day.closed.boot_id)
