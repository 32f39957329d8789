"""How late each task of a decoded order could start without making its end later."""

from __future__ import annotations

from collections.abc import Sequence

from dyeday.ahead.kernel.compiled import BIG, Tables
from dyeday.ahead.kernel.decode import State

EACH = 16
"""tasks between two remembered places"""

Mark = tuple[list[int], list[int], int, int]


class Slack:
    """Of one order after another: the latest start of each task were order and units kept.

    Exact for hands, batches, windows and units; of circuits only pairs that never run together are seen.
    """

    def __init__(self, tables: Tables) -> None:
        self.tables = tables
        self.latest = [BIG] * len(tables.tasks)
        """BIG for tasks beyond the end of the order"""
        self.loose = self.latest
        """without what the tasks behind it in the order need of the hands"""
        self.sequence: list[int] = []
        """task at each place"""
        self.marks: dict[int, Mark] = {}

    def follow(self, order: Sequence[int], state: State, end: int, upto: int = BIG) -> None:
        """Take over another order that ends in ``state``, for all to be over by ``end``.

        Behind place ``upto`` nothing has changed since the last time, ``end`` neither.
        """
        tables = self.tables
        self.sequence = tables.tasks_in(order[: state.at])
        place = -(-upto // EACH) * EACH
        if place in self.marks and place < state.at:
            mark = self.marks[place]
            self._backwards(state, place, mark[0][:], mark[1][:], mark[2], mark[3])
        else:
            many = len(tables.free)
            self.marks = {}
            self.latest = [BIG] * len(tables.tasks)
            self.loose = self.latest[:]
            self._backwards(state, state.at, [BIG] * many, [BIG] * many, end, len(tables.windows) - 1)

    def _backwards(
        self, state: State, place: int, following: list[int], current: list[int], after: int, window: int
    ) -> None:
        """Go back from ``place``. Of each unit, ``following`` is the latest moment at which it must be free again and
        ``current`` the one at which it must begin to draw; ``after`` is the latest start of the task behind.
        """
        tables, sequence, latest, units = self.tables, self.sequence, self.latest, state.units
        loose = self.loose
        tasks, others, spare, amps = tables.tasks, tables.others, tables.spare, tables.amps
        opens, closes = tables.windows[window]
        while place:
            place -= 1
            t = sequence[place]
            minutes, _, released, released_at, takes, slot, ends, on, off, outs, _, _, _, _, _ = tasks[t]
            limit = BIG
            for to, offset in outs:
                x = latest[to] - offset
                if x < limit:
                    limit = x
            if released >= 0:
                x = following[units[released]] - released_at
                if x < limit:
                    limit = x
            if takes:
                unit = units[slot]
                if ends < BIG:
                    x = following[unit] - ends
                    if x < limit:
                        limit = x
                if on >= 0 and others[unit]:
                    for v in others[unit]:
                        if amps[v] > spare[unit]:
                            x = current[v] - off
                            if x < limit:
                                limit = x
            loose[t] = limit
            if after - minutes < limit:
                limit = after - minutes
            while limit < opens and window:
                window -= 1
                opens, closes = tables.windows[window]
            if limit + minutes > closes:
                limit = closes - minutes
            latest[t] = after = limit
            if takes:
                following[unit] = limit
                if on >= 0:
                    current[unit] = limit + on
            if not place % EACH:
                self.marks[place] = (following[:], current[:], after, window)

    def minutes(self, place: int) -> int:
        """Return the minutes of the task at a place; 0 beyond the end of the order."""
        return self.tables.tasks[self.sequence[place]][0] if place < len(self.sequence) else 0

    def block(self, starts: Sequence[int], place: int) -> tuple[int, int]:
        """Return the first and last place of the tasks around one that follow each other without a pause."""
        tasks, sequence = self.tables.tasks, self.sequence
        first = last = place
        while first:
            before = sequence[first - 1]
            if starts[before] + tasks[before][0] != starts[sequence[first]]:
                break
            first -= 1
        t = sequence[last]
        while last + 1 < len(sequence):
            end = starts[t] + tasks[t][0]
            t = sequence[last + 1]
            if starts[t] != end:
                break
            last += 1
        return first, last
