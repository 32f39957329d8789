"""The session the bench works on: its file, its day and its clock, without anything of the screen.

Recording stores first and shows afterwards: what `record` returned from is on the disk.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from dyeday.store.drafts import Drafts
from dyeday.store.sessions import SessionFile
from dyeday.track.check import refuse
from dyeday.track.day import Day
from dyeday.track.events import Event, make
from dyeday.track.flags import Flag, flags_of_batch, flags_of_day
from dyeday.track.fold import fold, take, take_all
from dyeday.track.instant import Now

FLAGS_STALE_S = 20.0
"""Flags that time alone raises are looked for this often; any event has them looked for at once."""
MARKS = ("alarm", "struck", "unstruck", "guard on", "guard off", "clock stepped", "closed", "plan changed")
"""events that `z` passes over: they are not a step of a batch"""


@dataclass(frozen=True, slots=True)
class Draft:
    """An event about to be recorded: its kind, its batch, its keys."""

    kind: str
    batch: str | None
    data: dict[str, Any]


class Keeper:
    """One open session. ``clock`` and ``new_id`` come from the shell; ``watching`` records nothing."""

    def __init__(
        self, file: SessionFile, clock: Callable[[], Now], new_id: Callable[[], str], *, watching: bool = False
    ) -> None:
        self.file = file
        self.clock = clock
        self.new_id = new_id
        self.watching = watching
        self.day: Day = fold(file.plan, file.events)
        self.minutes_ago = 0.0
        self.own: set[str] = set()
        """ids of what this bench recorded"""
        self.drafts = Drafts(file.path)
        self._flags: dict[str, list[Flag]] = {}
        self._flags_at: float | None = None
        self._flags_day: Day | None = None

    def now(self) -> Now:
        return self.clock()

    def refresh(self) -> bool:
        """Take in what other shells recorded; tell whether there was anything. Raises StoreError."""
        before = len(self.file.events)
        if not self.file.refresh():
            return False
        fresh = self.file.events[before:]
        whole = self.file.events[:before] != self.day.events
        self.day = fold(self.file.plan, self.file.events) if whole else take_all(self.day, fresh)
        return True

    def record(self, *drafts: Draft) -> tuple[Event, ...]:
        """Store events, which happened ``minutes_ago`` where that was asked for.

        Raises EventError where they cannot be true, StoreError where they cannot be saved; then nothing changed.
        """
        # By the line of the day's latest event: a clock set back must not put this before what went before.
        now = self.day.steady(self.now())
        events = [
            make(d.kind, now, self.new_id, batch=d.batch, minutes_ago=self.minutes_ago, **d.data) for d in drafts
        ]

        def check(existing: object, fresh: object) -> None:
            self.refresh_day()
            day = self.day
            for event in events:
                refuse(day, event)
                day = take(day, event)

        stored = self.file.add(events, check)
        self.day = take_all(self.day, stored)
        self.own.update(event.id for event in stored)
        if any(draft.kind not in MARKS for draft in drafts):
            self.minutes_ago = 0.0
        return stored

    def refresh_day(self) -> None:
        """Bring the day up to the file's events."""
        have = len(self.day.events)
        if self.file.events[:have] == self.day.events:
            self.day = take_all(self.day, self.file.events[have:])
        else:
            self.day = fold(self.file.plan, self.file.events)

    def flags(self, now: Now) -> dict[str, list[Flag]]:
        """Return every batch's flags, the whole day's under "".

        They are worked out again only when the day changed, or when time may have raised some.
        """
        stamp = now.utc.timestamp()
        stale = self._flags_at is None or abs(stamp - self._flags_at) >= FLAGS_STALE_S
        if stale or self._flags_day is not self.day:
            self._flags = {batch.no: flags_of_batch(self.day, batch, now) for batch in self.day.live}
            self._flags[""] = flags_of_day(self.day, now)
            self._flags_at, self._flags_day = stamp, self.day
        return self._flags

    def last_own(self) -> Event | None:
        """Return the latest event that still counts and that `z` would strike."""
        for event in reversed(self.day.events):
            if event.id not in self.day.dead and event.kind not in MARKS:
                return event
        return None

    def last_struck(self) -> Event | None:
        """Return the event struck latest that is still struck."""
        for event in reversed(self.day.events):
            if event.kind == "struck" and event.id not in self.day.dead:
                target = self.day.event(str(event.data["strikes"]))
                if target is not None and target.id in self.day.dead:
                    return target
        return None
