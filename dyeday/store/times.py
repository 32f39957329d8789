"""What work really took in past sessions, kept small, and the studio's own times once they were taken over.

Written when a day closes, so that nothing has to be opened again to know it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dyeday.plan.serialize import from_plain, to_plain
from dyeday.store.durable import StoreError, make_folder, reason
from dyeday.store.lock import FileLock
from dyeday.store.sealed import Kind, Tables
from dyeday.store.storage import DurableStorage
from dyeday.text import counted
from dyeday.track.durations.learned_times import Learned
from dyeday.track.durations.observed_durations import Taken, taken

if TYPE_CHECKING:
    from dyeday.store.closing import ClosedDay

NEWEST = 150
"""observations kept of each kind of work: older ones say how it was, not how it is"""

Seen = tuple[str, Taken]
"""(session, what was seen in it)"""


def _seen(tables: Tables) -> list[Seen]:
    return [(str(row["session"]), from_plain(Taken, row)) for row in tables["seen"].values()]


def _own(tables: Tables) -> dict[str, Learned]:
    return {kind: from_plain(Learned, row) for kind, row in tables["own"].items()}


def _made(tables: Tables) -> tuple[list[Seen], dict[str, Learned]]:
    return _seen(tables), _own(tables)


def _holds(tables: Tables) -> str:
    seen, own = _made(tables)
    of = counted(len({session for session, _ in seen}), "session")
    return f"{counted(len(seen), 'stretch', 'stretches')} of work timed in {of}, {len(own)} taken over"


TIMES = Kind("times", 1, check=_made, holds=_holds, derived=True)


class TimesFile:
    """The observations of a data folder, oldest first, and the times the forecast goes by."""

    def __init__(self, data: Path) -> None:
        self.data = data
        self.path = data / "times.json"
        self._storage = DurableStorage(self.path, TIMES)

    def _tables(self) -> Tables:
        return self._storage.read() or {"seen": {}, "own": {}}

    def seen(self) -> list[Seen]:
        return _seen(self._tables())

    def own(self) -> dict[str, Learned]:
        """Return the studio's own times as they were taken over; empty until they were."""
        return _own(self._tables())

    def take_over(self, own: dict[str, Learned]) -> None:
        """Go by these times from now on; none is the plan's again. Raises StoreError."""
        self._change(lambda tables: {**tables, "own": {kind: to_plain(each) for kind, each in own.items()}})

    def see(self, session: str, observations: Iterable[Taken]) -> None:
        """Put a session's observations in the place of those it had; the oldest beyond `NEWEST` of a kind go."""
        fresh = [(session, one) for one in observations]

        def change(tables: Tables) -> Tables:
            return {**tables, "seen": _rows([*(s for s in _seen(tables) if s[0] != session), *fresh])}

        self._change(change)

    def see_anew(self, sessions: Iterable[Seen]) -> None:
        """Put these observations, oldest session first, in the place of all there were."""
        fresh = list(sessions)
        self._change(lambda tables: {**tables, "seen": _rows(fresh)})

    def _change(self, change: Callable[[Tables], Tables]) -> None:
        make_folder(self.data)
        try:
            with FileLock(self.path.with_suffix(".lock")):
                before = self._tables()
                after = change(before)
                if after != before:
                    self._storage.write(after)
        except OSError as error:
            raise StoreError(f"the times could not be saved: {reason(error)}", f"look at {self.data}") from None


def _rows(seen: list[Seen]) -> dict[str, dict[str, Any]]:
    counts: dict[str, int] = {}
    kept: list[Seen] = []
    for session, one in sorted(seen, key=lambda pair: _order(pair[0]), reverse=True):
        counts[one.kind] = counts.get(one.kind, 0) + 1
        if counts[one.kind] <= NEWEST:
            kept.append((session, one))
    return {str(n): {"session": session, **to_plain(one)} for n, (session, one) in enumerate(reversed(kept), 1)}


def _order(session: str) -> tuple[str, int]:
    """Return what sorts sessions by date and number."""
    date, _, number = session.rpartition("-")
    return date, int(number) if number.isdecimal() else 0


def note_times(closed: ClosedDay) -> list[str]:
    """Keep what a closed day's work took."""
    TimesFile(closed.data).see(closed.session_id, taken(closed.day))
    return []
