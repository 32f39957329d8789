"""From the state at the end of an order to the rows of a schedule, and back from rows to a state."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import replace

from dyeday.ahead.kernel.compiled import Tables
from dyeday.ahead.kernel.decode import decode
from dyeday.ahead.kernel.partial_schedule import PartialSchedule, beginning
from dyeday.ahead.kernel.problem import Row


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


def replayed(tables: Tables, rows: Sequence[Row]) -> tuple[list[int], PartialSchedule | None]:
    """Return the order of rows, other steps last, and the state in which no step starts sooner or in another unit."""
    at = {(row.batch, row.step): row for row in rows}
    again = copy(tables)
    again.ready, again.tasks, again.takes = tables.ready[:], tables.tasks[:], dict(tables.takes)
    numbers = {unit.name: n for n, unit in enumerate(tables.problem.units)}
    when: list[tuple[int, int, int]] = []
    for task, b in enumerate(tables.batch_of):
        steps = [at.get((tables.batches[b].id, tables.batches[b].steps[n].id)) for n, _ in tables.steps[task]]
        first = steps[0]
        if first is None:
            when.append((1 << 40, task, b))
            continue
        when.append((first.start, task, b))
        again.ready[task] = max(again.ready[task], first.start)
        units = {numbers[row.unit] for row in steps if row is not None and row.unit in numbers}
        plain = tables.tasks[task]
        same = tuple(unit for unit in plain[4] if unit in units)
        if same:
            again.tasks[task] = (*plain[:4], same, *plain[5:])
        if task in tables.takes:
            again.takes[task] = [
                replace(take, units=tuple(u for u in take.units if u in units) or take.units)
                for take in tables.takes[task]
            ]
    order = [b for _, _, b in sorted(when)]
    out = decode(again, order, beginning(again))
    return order, None if out is None else out.state
