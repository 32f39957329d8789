"""Marks beside times on paper, for late, corrected and approximate entries, and their legend."""

from __future__ import annotations

from datetime import datetime

from dyeday.text import counted
from dyeday.track.day.batch_record import BatchRecord, Reading
from dyeday.track.day.carried import EntryChange
from dyeday.track.day.day_state import Body, Day, entry_of
from dyeday.track.events.movements import AcidPutIn, Heated, Load, Moved, Placed, UnitChanged
from dyeday.track.events.rewriting import Corrected, Undone
from dyeday.track.folding.fold import effective

LATE, CORRECTED, ABOUT = "~", "*", "≈"
SIGNS = {EntryChange.CORRECTED: CORRECTED, EntryChange.LATE: LATE, EntryChange.APPROXIMATE: ABOUT}
MEANS = {LATE: "recorded later than it happened", CORRECTED: "corrected afterwards", ABOUT: "time about"}
LOADED = (Moved, Placed, Heated, AcidPutIn, UnitChanged)
"""kinds of event that a load stands for and a mark is asked of"""


class EventMarks:
    """The marks of a day's entries, and the legend of those used so far."""

    def __init__(self, day: Day) -> None:
        alive = [event for event in day.events if event.id not in day.void_ids]
        corrected = {event.body.target_id for event in alive if isinstance(event.body, Corrected)}
        self.void_count = len({entry_of(event.body.target_id) for event in alive if isinstance(event.body, Undone)})
        self.used: set[str] = set()
        self._of_ids: dict[str, str] = {}
        self._of_moments: dict[tuple[type[Body] | None, datetime, str | None], str] = {}
        for batch in day.batches.values():
            for change in batch.carried.changes if batch.carried is not None else ():
                for about in (batch.no, None):
                    signs = self._of_moments.get((None, change.at, about), "") + SIGNS[change.what]
                    self._of_moments[(None, change.at, about)] = "".join(dict.fromkeys(signs))
        for event in effective(day.events)[0]:
            late = LATE if event.is_late else ""
            sign = (CORRECTED if event.id in corrected else "") + (ABOUT if event.is_approximate else late)
            if sign:
                self._of_ids[event.id] = sign
                # The fold keeps the moment of most entries, not their id.
                for kind in LOADED if isinstance(event.body, Load) else (type(event.body),):
                    for about in (*event.batches, None):
                        self._of_moments[(kind, event.at, about)] = sign

    def of(self, kind: type[Body], moment: datetime, batch: BatchRecord | None = None) -> str:
        """Return the mark of an entry about ``batch`` or what it was split from; about anything if None.

        Of an earlier session the kinds of entries are not known, only their moments.
        """
        names = (None,) if batch is None else (batch.no, *(no for _, no in batch.earlier_nos))
        signs = (self._of_moments.get((of, moment, name)) for name in names for of in (kind, None))
        return self._use(next((sign for sign in signs if sign), ""))

    def of_reading(self, batch: BatchRecord, reading: Reading) -> str:
        """Return the marks of a reading, "" where it has none."""
        here = self._of_ids.get(reading.event_id)
        return self._use(here) if here else self.of(Body, reading.at.utc, batch)

    def _use(self, sign: str) -> str:
        self.used.update(sign)
        return sign

    def legend(self) -> str:
        """Return what the marks used so far mean, and how many entries are void; "" for neither."""
        parts = [f"{sign} {meaning}" for sign, meaning in MEANS.items() if sign in self.used]
        if self.void_count:
            parts.append(f"{counted(self.void_count, 'entry', 'entries')} void, kept in the log")
        return "; ".join(parts)
