"""The main screen from tick to tick: only rows whose text an event or the time changes are made again.

The minutes of forty clocks change at forty different seconds; making every row each second would be sixty times
the work.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from dyeday.ahead.advising.advice import advice
from dyeday.ahead.advising.next_up import AtBatch, Glance, NextUp, at_batch
from dyeday.bench.view.bench_view import BatchRow, BenchView, picture, row, shown_for_s
from dyeday.paper.local_time import local
from dyeday.quick_dataclass import dataclass
from dyeday.track.day.day_state import Day
from dyeday.track.flags import Flag
from dyeday.track.timers.alarm_states import Alarm, standing
from dyeday.track.timestamp import Now, elapsed_s

if TYPE_CHECKING:
    from dyeday.ahead.foreseen_steps import Forecast

MOST_NEXT = 9
STAND_S = 3.0
"""alarms are looked for this often where no event came; what is next as well, whose words tell minutes"""


@dataclass(frozen=True, slots=True)
class _KeptRow:
    """A row, when it was made and for how long it stays true."""

    row: BatchRow
    at: Now
    for_s: float
    flags: list[Flag]
    alarmed: bool


class ViewCache:
    """The latest picture and what it was made from. ``items`` is what is next, `MOST_NEXT` at most.

    ``rows_made`` counts rows that were worked out.
    """

    def __init__(self) -> None:
        self.rows_made = 0
        self._day: Day | None = None
        self._date: date | None = None
        self._looked: Now | None = None
        self._stand: list[Alarm] = []
        self.items: list[NextUp] = []
        self._found: Forecast | None = None
        self._rows: dict[str, _KeptRow] = {}
        self._shown: tuple[BatchRow, ...] = ()

    def picture(
        self, day: Day, now: Now, flags: dict[str, list[Flag]], most_next: int, found: Forecast | None
    ) -> BenchView:
        """Return the main screen of ``day`` at ``now``, with ``most_next`` lines of what is next.

        ``flags`` are by batch, the whole day's under ""; ``found`` is the latest forecast, where there is one.
        Alarms and what is next are up to `STAND_S` old; the rest is as at ``now``.
        """
        today = local(now.utc, day.plan.session.zone).date()
        if day is not self._day or today != self._date:
            self._day, self._date, self._looked = day, today, None
            self._rows = {}
        stale = self._looked is None or not 0 <= elapsed_s(self._looked, now) < STAND_S
        if stale:
            self._stand = standing(day, now)
        rows, turned, asked = self._made_rows(day, now, flags)
        if stale or turned or found is not self._found:
            self.items = advice(day, now, MOST_NEXT, found, Glance(self._stand, asked))
            self._found = found
        if stale:
            self._looked = now
        return picture(day, now, flags, self._stand, self.items[:most_next], rows, found)

    def _made_rows(
        self, day: Day, now: Now, flags: dict[str, list[Flag]]
    ) -> tuple[tuple[BatchRow, ...], bool, dict[str, AtBatch]]:
        """Return the rows, the very same ones where nothing changed, and whether one became more or less urgent.

        Then, by number, what was asked of the batches whose rows were made.
        """
        seen: dict[str, AtBatch] = {}
        alarmed = {no for alarm in self._stand if alarm.until is None for no in alarm.batches}
        changed = turned = False
        for batch in day.live:
            kept, mine = self._rows.get(batch.no), flags.get(batch.no, [])
            if (
                kept is not None
                and 0 <= elapsed_s(kept.at, now) < kept.for_s
                and kept.alarmed == (batch.no in alarmed)
                and kept.flags == mine
            ):
                continue
            at = seen[batch.no] = at_batch(day, batch, now)
            made = row(day, batch, at, now, mine, is_alarmed=batch.no in alarmed)
            self.rows_made += 1
            turned = turned or kept is None or kept.row.urgency != made.urgency
            changed = changed or kept is None or kept.row != made
            self._rows[batch.no] = _KeptRow(made, now, shown_for_s(at.clock), mine, batch.no in alarmed)
        if changed or len(self._shown) != len(day.live):
            self._shown = tuple(self._rows[batch.no].row for batch in day.live)
        return self._shown, turned, seen
