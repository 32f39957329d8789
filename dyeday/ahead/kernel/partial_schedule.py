"""The state of a schedule at one place in its order: everything that the rest depends on."""

from __future__ import annotations

from dataclasses import dataclass

from dyeday.ahead.kernel.compiled import Stay, Tables, Wait
from dyeday.ahead.kernel.problem import Row


@dataclass(slots=True)
class PartialSchedule:
    """Everything the rest of the order depends on."""

    at: int
    now: int
    window: int
    late: int
    opened: int
    """batch whose work goes on, with nothing but what is brief before it; -1 where none"""
    done: int
    """batches rinsed by the stop"""
    worked: int
    """minutes of the hands so far, and of their breaks that are over"""
    next_task: list[int]
    ready: list[int]
    """earliest start of each task by what stands before it; 0 once it has started"""
    free: list[int]
    held: list[int]
    """unit in each slot now; -1 before and after"""
    draws_until: list[int]
    waits: list[int]
    stays: list[list[Stay]]
    pending: list[Wait]
    starts: list[int]
    units: list[int]
    """unit that each slot has, had or will have, as far as it is known"""

    def copy(self) -> PartialSchedule:
        """Return a copy that shares no list with it."""
        return self.resumed(self.starts, self.units)

    def resumed(self, starts: list[int], units: list[int]) -> PartialSchedule:
        """Return a copy with what became of the tasks and slots further on, too."""
        return PartialSchedule(
            self.at, self.now, self.window, self.late, self.opened, self.done, self.worked,
            self.next_task[:], self.ready[:],
            self.free[:], self.held[:], self.draws_until[:], self.waits[:], self.stays[:], self.pending[:],
            starts[:], units[:],
        )  # fmt: skip

    def remembered(self) -> PartialSchedule:
        """Return a copy to resume from, without the lists that `resumed` replaces."""
        return self.resumed([], [])

    def goes_on_like(self, other: PartialSchedule) -> bool:
        """Whether the rest of one and the same order comes out the same from both."""
        now = self.now
        return (
            now == other.now
            and self.done == other.done
            and self.late == other.late
            and self.opened == other.opened
            and self.window == other.window
            and _alike(self.free, other.free, now)
            and _alike(self.ready, other.ready, now)
            and self.held == other.held
            and _alike(self.draws_until, other.draws_until, now)
            and self.pending == other.pending
            and self.waits == other.waits
            and self.stays == other.stays
        )


def _alike(own: list[int], theirs: list[int], now: int) -> bool:
    """Whether two lists of moments differ in nothing that is still to come."""
    return own == theirs or all(a == b or (a <= now and b <= now) for a, b in zip(own, theirs, strict=True))


def beginning(tables: Tables) -> PartialSchedule:
    """Return the state before the first task."""
    return PartialSchedule(
        0, tables.now, 0, 0, tables.opened, 0, 0, tables.first[:-1], tables.ready[:], tables.free[:], tables.held[:],
        tables.draws_until[:], tables.waits[:], tables.stays[:], tables.pending[:], [0] * len(tables.tasks),
        tables.held[:],
    )  # fmt: skip


def rows_of(tables: Tables, state: PartialSchedule) -> list[Row]:
    """Return a row for every step that has not begun, in order of start."""
    rows = []
    for b, batch in enumerate(tables.batches):
        units: dict[int, str] = {}
        for slot, hold in zip(tables.slots[b], batch.holds, strict=True):
            if state.units[slot] >= 0:
                name = tables.problem.units[state.units[slot]].name
                units.update((n, name) for n in range(hold.first, hold.last + hold.to_end))
                units.setdefault(hold.last, name)
        for task in range(tables.first[b], tables.first[b + 1]):
            for n, offset in tables.steps[task]:
                step = batch.steps[n]
                start = state.starts[task] + offset
                end = start + step.minutes
                if not step.exact and not step.attended and task + 1 < tables.first[b + 1]:
                    following = next((o for m, o in tables.steps[task] if m == n + 1), None)
                    end = state.starts[task + 1] if following is None else end
                rows.append(Row(batch.id, step.id, units.get(n), start, end, step.attended))
    return sorted(rows, key=lambda row: (row.start, row.end))
