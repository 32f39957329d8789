"""Whether a schedule can be done as it stands: written from what the problem means, apart from the engine."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from dyeday.ahead.kernel.problem import Batch, Hold, Id, Problem, Row, Unit

Span = tuple[int, int]


@dataclass(frozen=True)
class Stay:
    """One batch in one unit."""

    unit: Unit
    start: int
    end: float
    batch: Batch
    hold: Hold


class Day:
    """The times of every step of every batch, begun or scheduled."""

    def __init__(self, problem: Problem, rows: Sequence[Row], left_out: Iterable[Id] = ()) -> None:
        self.problem = problem
        self.out = set(left_out)
        self.batches = [batch for batch in problem.batches if batch.id not in self.out]
        self.units = {unit.name: unit for unit in problem.units}
        self.rows: dict[tuple[Id, int], Row] = {}
        self.begun: dict[Id, int] = {}
        self.times: dict[tuple[Id, int], Span] = {}
        self.unknown: list[str] = []
        unplaced = list(rows)
        for batch in problem.batches:
            past = list(batch.past)
            while past and len(past) < len(batch.steps) and not batch.steps[len(past)].attended:
                past.append((past[-1][1], past[-1][1] + batch.steps[len(past)].minutes))
            self.begun[batch.id] = len(past)
            self.times.update({(batch.id, n): span for n, span in enumerate(past)})
            for n in range(len(past), len(batch.steps)):
                found = [row for row in unplaced if (row.batch, row.step) == (batch.id, batch.steps[n].id)]
                if found:
                    unplaced.remove(found[0])
                    self.rows[batch.id, n] = found[0]
                    self.times[batch.id, n] = (found[0].start, found[0].end)
        self.unknown = [f"unknown row {row.batch}.{row.step}" for row in unplaced]


def violations(problem: Problem, rows: Sequence[Row], left_out: Iterable[Id] = ()) -> list[str]:
    """Return everything that is wrong, exceeded longest waits included."""
    day = Day(problem, rows, left_out)
    missing = [
        f"missing row {batch.id}.{batch.steps[n].id}"
        for batch in day.batches
        for n in range(len(batch.steps))
        if (batch.id, n) not in day.times
    ]
    if missing:
        return missing + day.unknown
    return [
        *day.unknown,
        *_steps(day),
        *_hands(day),
        *_put_down(day),
        *_waits(day),
        *_heats(day),
        *_kit(day),
        *_amps(day),
    ]


def too_late(problem: Problem, rows: Sequence[Row], left_out: Iterable[Id] = ()) -> int:
    """Return the minutes, weighted, by which longest waits are exceeded, in sum, by steps still ahead."""
    day = Day(problem, rows, left_out)
    return sum(late * weight for late, weight, _ in _exceeded(day))


def end_of_hands(problem: Problem, rows: Sequence[Row]) -> int:
    """Return when the last attended step ends, those running already included."""
    running = [b.past[-1][1] for b in problem.batches if b.past and b.steps[len(b.past) - 1].attended]
    return max([problem.now, *running, *(row.end for row in rows if row.attended)])


def rinsed_by(problem: Problem, rows: Sequence[Row], minute: int) -> int:
    """Return how many batches reach their goal by ``minute``, of those that had not begun it."""
    day = Day(problem, rows)
    count = 0
    for batch in problem.batches:
        attended = [n for n, step in enumerate(batch.steps) if step.attended]
        goal = batch.goal if batch.goal is not None else attended[-1]
        if batch.counts and (batch.id, goal) in day.rows:
            count += day.rows[batch.id, goal].end <= minute
    return count


def _steps(day: Day) -> Iterator[str]:
    for batch in day.batches:
        for n, step in enumerate(batch.steps):
            row = day.rows.get((batch.id, n))
            if row is None:
                continue
            name = f"{batch.id}.{step.id}"
            lasts = row.end - row.start
            if lasts != step.minutes and (step.attended or step.exact or lasts < step.minutes):
                yield f"{name}: lasts {lasts}, must be {step.minutes}"
            if row.attended != step.attended:
                yield f"{name}: attended is wrong"
            if row.start < max(day.problem.now, batch.release) and n >= len(batch.past) and step.attended:
                yield f"{name}: starts before it may"
            if n:
                before = day.times[batch.id, n - 1][1]
                if row.start < before:
                    yield f"{name}: starts before the step ahead of it ends"
                if not step.attended and row.start != before:
                    yield f"{name}: does not start at once"
            for lag in step.lags:
                if row.start < day.times[batch.id, lag.after][1] + lag.least:
                    yield f"{name}: starts too soon after {batch.steps[lag.after].id}"
    for link in day.problem.links:
        to, of = (link.to, link.to_step), (link.of, link.of_step)
        if to in day.rows and of in day.times and day.rows[to].start < day.times[of][1] + link.least:
            yield f"{link.to}: starts before {link.of} allows"


def _exceeded(day: Day) -> Iterator[tuple[int, int, str]]:
    """Yield (minutes, what each counts, text) of every longest wait that is exceeded."""
    for batch in day.batches:
        for n, step in enumerate(batch.steps):
            for lag in step.lags:
                row = day.rows.get((batch.id, n))
                if row is not None and lag.most is not None:
                    late = row.start - day.times[batch.id, lag.after][1] - lag.most
                    if late > 0:
                        yield late, lag.weight, f"{batch.id}.{step.id}: waited {late} min too long"


def _waits(day: Day) -> Iterator[str]:
    for _, _, text in _exceeded(day):
        yield text


def _hands(day: Day) -> Iterator[str]:
    busy: list[tuple[int, int, str]] = []
    for batch in day.batches:
        for n, step in enumerate(batch.steps):
            if step.attended and (batch.id, n) in day.times:
                start, end = day.times[batch.id, n]
                if (batch.id, n) in day.rows:
                    busy.append((start, end, f"{batch.id}.{step.id}"))
                    if not any(a <= start and (z is None or end <= z) for a, z in _windows(day.problem)):
                        yield f"{batch.id}.{step.id}: {start} to {end} is outside the hands' windows"
                elif end > day.problem.now:
                    busy.append((start, end, f"{batch.id}.{step.id}"))
    busy.sort()
    for (_, end, first), (start, _, second) in pairwise(busy):
        if start < end:
            yield f"hands at {first} and {second} at once"


def _put_down(day: Day) -> Iterator[str]:
    """Yield what is done between two parts of work that goes on and is not brief, of hands' rows that are ahead."""
    numbers = {batch.id: batch for batch in day.batches}
    ahead = sorted((row.start, of, n) for (of, n), row in day.rows.items() if numbers[of].steps[n].attended)
    for (_, of, n), (_, after, then) in pairwise(ahead):
        step, following = numbers[of].steps[n], numbers[after].steps[then]
        if step.goes_on and after != of and not following.brief:
            yield f"{of}.{step.id}: put down for {after}.{following.id}"


def _heats(day: Day) -> Iterator[str]:
    """Yield heat that runs in an empty house, or that hands end while they are away."""
    windows = _windows(day.problem)
    for batch in day.batches:
        for step, row in ((step, day.rows.get((batch.id, n))) for n, step in enumerate(batch.steps) if step.draws):
            if row is None:
                continue
            if any(row.start < back and row.end > out for out, back in day.problem.closed):
                yield f"{batch.id}.{step.id}: runs while the house is empty"
            if step.by_hand and not any(a <= row.end and (z is None or row.end <= z) for a, z in windows):
                yield f"{batch.id}.{step.id}: ends at {row.end}, when hands are away"


def _windows(problem: Problem) -> list[tuple[int, int | None]]:
    last_start, last_end = problem.windows[-1]
    after = [] if last_end is None else [(max(last_start + 1440, last_end), None)]
    return sorted([*problem.windows, *problem.heat_ends, *after])


def _stays(day: Day) -> Iterator[Stay | str]:
    """Every stretch of a batch in a unit that is not over yet; a text where that is not known."""
    for batch in day.problem.batches:
        for hold in batch.holds:
            begun = hold.first < day.begun[batch.id]
            if batch.id in day.out and not begun:
                continue
            if begun:
                name = hold.unit
            else:
                units = {row.unit for n in range(hold.first, hold.last + 1) if (row := day.rows[batch.id, n]).unit}
                mine = {u for u in units if u in day.units and day.units[u].kind == hold.kind}
                if len(mine) != 1:
                    yield f"{batch.id}: is in {sorted(mine)} for its {hold.kind}"
                    continue
                name = mine.pop()
                if hold.unit is not None and name != hold.unit:
                    yield f"{batch.id}: is in {name}, is tied to {hold.unit}"
            if name is None or name not in day.units:
                continue
            end: float
            if (batch.id, hold.last) in day.times:
                end = day.times[batch.id, hold.last][1 if hold.to_end else 0]
            else:
                end = float("inf")
            if end > day.problem.now:
                yield Stay(day.units[name], day.times[batch.id, hold.first][0], end, batch, hold)


def _kit(day: Day) -> Iterator[str]:
    stays: list[Stay] = []
    for stay in _stays(day):
        if isinstance(stay, str):
            yield stay
        else:
            stays.append(stay)
    for stay in stays:
        unit, name = stay.unit, f"{stay.batch.id} in {stay.unit.name}"
        if stay.hold.first < day.begun[stay.batch.id]:
            continue
        if unit.free_at is None or stay.start < unit.free_at:
            yield f"{name}: the unit is down"
        if not stay.hold.whole and unit.holds is not None and stay.batch.skeins > unit.holds:
            yield f"{name}: {stay.batch.skeins} skeins do not fit"
        if not stay.hold.whole and unit.holds_mg is not None and stay.batch.weight_mg > unit.holds_mg:
            yield f"{name}: {stay.batch.weight_mg} mg do not fit"
        inside = [s for s in stays if s is not stay and s.unit.name == unit.name and s.start <= stay.start < s.end]
        inside = [s for s in inside if s.end > s.start and stay.end > stay.start]
        if not inside:
            continue
        if not unit.shared or stay.hold.whole or any(s.hold.whole for s in inside):
            yield f"{name}: {inside[0].batch.id} is in it"
        if any(s.hold.alike != stay.hold.alike for s in inside):
            yield f"{name}: {inside[0].batch.id}, which is in it, is of another kind"
        if unit.holds is not None and stay.batch.skeins + sum(s.batch.skeins for s in inside) > unit.holds:
            yield f"{name}: no room for its skeins beside the others"
        if (
            unit.holds_mg is not None
            and stay.batch.weight_mg + sum(s.batch.weight_mg for s in inside) > unit.holds_mg
        ):
            yield f"{name}: no room for its weight beside the others"
        if unit.join_within is not None and stay.start - min(s.start for s in inside) > unit.join_within:
            yield f"{name}: joins too late"


def _amps(day: Day) -> Iterator[str]:
    runs: list[tuple[int, int, Unit]] = []
    stays = [stay for stay in _stays(day) if isinstance(stay, Stay)]
    for stay in stays:
        for n in range(stay.hold.first, stay.hold.last + stay.hold.to_end):
            if stay.batch.steps[n].draws and (stay.batch.id, n) in day.times:
                runs.append((*day.times[stay.batch.id, n], stay.unit))
    for circuit in day.problem.circuits:
        on = [run for run in runs if run[2].circuit == circuit.name]
        for start, _, _ in on:
            if start < day.problem.now:
                continue
            units = {unit.name: unit.milliamps for a, z, unit in on if a <= start < z}
            if sum(units.values()) > circuit.milliamps:
                yield f"circuit {circuit.name}: {sum(units.values())} mA at {start}, limit {circuit.milliamps}"
