"""From a problem to its tables: what is possible at all, what can never bind, which tasks follow each other."""

from __future__ import annotations

from dyeday.ahead.kernel.compiled import BIG, DYE, HEAT_OFF, HEAT_ON, LAST, OPEN, OTHER, Tables, Take, Task
from dyeday.ahead.kernel.feasibility import circuits, draws_in, fits, past_steps, possible, units_for, windows
from dyeday.ahead.kernel.problem import Batch, Hold, Problem
from dyeday.ahead.kernel.sense import note_sense


def tabulate(problem: Problem) -> Tables:
    """Return the tables of a problem; batches that no unit can take are left out of them."""
    left_out, batches, down = possible(problem)
    amps, spare, others = circuits(problem)
    units = problem.units
    hands = [b.past[-1][1] for b in problem.batches if b.past and b.steps[len(b.past) - 1].attended]
    tables = Tables(
        problem=problem,
        now=max([problem.now, *hands]),
        stop=problem.stop,
        windows=windows(problem),
        batches=batches,
        left_out=left_out,
        free=[BIG if unit.name in down or unit.free_at is None else unit.free_at for unit in units],
        amps=amps,
        spare=spare,
        others=others,
        capacity=[(BIG if u.holds is None else u.holds, BIG if u.holds_mg is None else u.holds_mg) for u in units],
        # One pair of hands fills one after another: what may be joined within no time at all is never shared.
        roomy=[unit.shared and unit.join_within != 0 for unit in units],
        join_within=[BIG if unit.join_within is None else unit.join_within for unit in units],
        draws_until=[0] * len(units),
        stays=[[] for _ in units],
    )
    _left_lying(tables)
    _Filler(tables).fill()
    note_sense(tables)
    return tables


def _left_lying(tables: Tables) -> None:
    """Let batches that are left out keep the room they take in a unit, and the amps of their heat that is on."""
    units, out = tables.problem.units, {name for name, _ in tables.left_out}
    numbers = {unit.name: n for n, unit in enumerate(units)}
    for batch in tables.problem.batches:
        past = past_steps(batch) if batch.id in out else []
        for hold in batch.holds:
            unit = numbers.get(hold.unit or "", -1)
            if unit < 0 or hold.first >= len(past):
                continue
            stays = hold.last >= len(past)
            if stays:
                tables.alike.append(hold.alike)
                tables.held.append(-1)
            _lie(tables, batch, hold, past, unit, BIG if stays else tables.now, len(tables.held) - 1)


def _lie(
    tables: Tables, batch: Batch, hold: Hold, past: list[tuple[int, int]], unit: int, until: int, slot: int
) -> None:
    """Note that a batch lies in a unit until then, and its heat that is on there."""
    if until > tables.now:
        tables.stays[unit].append((past[hold.first][0], until, hold.room_of(batch), batch.weight_mg, slot))
    ends = (past[n][1] for n in range(hold.first, min(hold.last + hold.to_end, len(past))) if batch.steps[n].draws)
    tables.draws_until[unit] = max([tables.draws_until[unit], *ends])


class _Filler:
    """Fills the tables, batch by batch."""

    def __init__(self, tables: Tables) -> None:
        self.tables = tables
        self.problem = tables.problem
        self.down = {unit.name for n, unit in enumerate(self.problem.units) if tables.free[n] == BIG}
        self.numbers = {unit.name: n for n, unit in enumerate(self.problem.units)}
        self.task_at: list[dict[int, tuple[int, int]]] = []
        """of each batch: step → (task, offset)"""
        self.past = [past_steps(batch) for batch in tables.batches]
        self.idle_kinds = self._never_binding()

    def fill(self) -> None:
        batches = range(len(self.tables.batches))
        for b in batches:
            self._number(b)
        self.tables.first.append(len(self.tables.batch_of))
        self.outs: list[dict[int, int]] = [{} for _ in self.tables.batch_of]
        for b in batches:
            self._order(b)
        self._links()
        for b in batches:
            self._hold(b)
            self._spans(b)
        for u, stays in enumerate(self.tables.stays):
            if len(stays) > 1:
                self.tables.roomy[u] = True
                self.tables.free[u] = self.problem.units[u].free_at or 0
            elif stays and not self.tables.roomy[u]:
                self.tables.free[u] = max(self.tables.free[u], stays[0][1])
        self.awaited = {to for waits in self.tables.deadlines.values() for to, _ in waits}
        self.awaited |= {to for _, _, to, _ in self.tables.pending}
        self.tails = self._tails()
        for b in batches:
            self._finish(b)
        self.tables.opened = self._opened()
        self.tables.minutes = sum(task[0] for task in self.tables.tasks)
        alike: dict[tuple[object, ...], int] = {}
        for minutes, _, _, _, units, _, _, on, _, _, _, rare, _, _, dry in self.tables.tasks:
            key = (minutes, units, on, dry)
            self.tables.groups.append(-1 if rare else alike.setdefault(key, len(alike)))

    def _never_binding(self) -> set[str]:
        """Kinds that one pair of hands can never run short of: held within attended steps only, or roomy enough."""
        batches = self.tables.batches
        holds = [(b, n, h) for n, b in enumerate(batches) for h in b.holds]
        idle = set()
        for kind in {h.kind for _, _, h in holds}:
            of_kind = [(b, n, h) for b, n, h in holds if h.kind == kind]
            units = [u for u in self.problem.units if u.kind == kind]
            if any(u.free_at is None or u.free_at > self.tables.now or u.circuit for u in units):
                continue
            ahead = [(b, h) for b, n, h in of_kind if h.first >= len(self.past[n])]
            within = len(ahead) == len(of_kind) and all(
                h.first == h.last and h.to_end and b.steps[h.first].attended for b, h in ahead
            )
            one = len(units) == 1 and units[0].shared and units[0].join_within is None
            skeins = sum(h.room_of(b) for b, _, h in of_kind)
            mg = sum(b.weight_mg for b, _, h in of_kind)
            out = {name for name, _ in self.tables.left_out}
            clear = not any(h.kind == kind for b in self.problem.batches if b.id in out for h in b.holds)
            wide = (
                one
                and not any(h.whole for _, _, h in of_kind)
                and len({h.alike for _, _, h in of_kind}) == 1
                and fits(units[0], Hold(kind, 0, 0), Batch("", (), skeins=skeins, weight_mg=mg))
            )
            if clear and (within or wide):
                idle.add(kind)
        return idle

    def _number(self, b: int) -> None:
        """Give numbers to the tasks and the holds of a batch."""
        tables, batch = self.tables, self.tables.batches[b]
        begun, where = len(self.past[b]), {}
        tables.first.append(len(tables.batch_of))
        offset = 0
        for n in range(begun, len(batch.steps)):
            if batch.steps[n].attended:
                tables.batch_of.append(b)
                tables.steps.append([])
                offset = 0
            elif n == 0:
                raise ValueError(f"{batch.id}: the first step must be attended or have begun")
            task = len(tables.batch_of) - 1
            where[n] = (task, offset)
            tables.steps[task].append((n, offset))
            offset += batch.steps[n].minutes
        self.task_at.append(where)
        tables.slots.append(list(range(len(tables.held), len(tables.held) + len(batch.holds))))
        tables.held.extend([-1] * len(batch.holds))
        tables.alike.extend(hold.alike for hold in batch.holds)

    def _order(self, b: int) -> None:
        """Write down what waits for what within a batch."""
        tables, batch, where, past = self.tables, self.tables.batches[b], self.task_at[b], self.past[b]
        start = max(tables.now, batch.release, past[-1][1] if past else 0)
        count = tables.first[b + 1] - tables.first[b]
        tables.ready.extend([start] * count)
        tables.waits.extend([0] * count)
        for n, (task, offset) in where.items():
            step = batch.steps[n]
            following = where.get(n + 1)
            if following is not None and following[0] != task:
                self._out(task, following[0], offset + step.minutes)
            for lag in step.lags:
                if lag.most is not None:
                    tables.late_weights[task] = max(lag.weight, tables.late_weights.get(task, 1))
                if lag.after in where:
                    source, end = where[lag.after]
                    end += batch.steps[lag.after].minutes
                    if source != task:
                        self._out(source, task, end + lag.least - offset)
                        if lag.soft_most is not None:
                            tables.soft_mosts.append((source, task, end + lag.soft_most - offset))
                        if lag.most is not None:
                            tables.deadlines.setdefault(source, []).append((task, end + lag.most - offset))
                elif lag.after < len(past):
                    tables.ready[task] = max(tables.ready[task], past[lag.after][1] + lag.least - offset)
                    if lag.most is not None:
                        latest = past[lag.after][1] + lag.most - offset
                        tables.pending.append((latest, b, task, latest))

    def _out(self, source: int, task: int, offset: int) -> None:
        self.outs[source][task] = max(self.outs[source].get(task, 0), offset)

    def _links(self) -> None:
        index = {batch.id: n for n, batch in enumerate(self.tables.batches)}
        for link in self.problem.links:
            if link.of not in index or link.to not in index:
                continue
            before, after = index[link.of], index[link.to]
            if link.to_step not in self.task_at[after]:
                continue
            task, offset = self.task_at[after][link.to_step]
            if link.of_step in self.task_at[before]:
                source, end = self.task_at[before][link.of_step]
                end += self.tables.batches[before].steps[link.of_step].minutes
                self.tables.meets.setdefault(source, []).append((task, end + link.least - offset))
                self.tables.waits[task] += 1
            elif link.of_step < len(self.past[before]):
                end = self.past[before][link.of_step][1] + link.least - offset
                self.tables.ready[task] = max(self.tables.ready[task], end)

    def _opened(self) -> int:
        """Return the batch whose work the hands have put down unfinished."""
        begun = [(b, batch) for b, batch in enumerate(self.tables.batches) if self.past[b]]
        return next((b for b, batch in begun if batch.steps[len(self.past[b]) - 1].goes_on), -1)

    def _hold(self, b: int) -> None:
        """Write down what a batch takes and lets go, and what it holds already."""
        tables, batch, where, past = self.tables, self.tables.batches[b], self.task_at[b], self.past[b]
        for slot, hold in zip(tables.slots[b], batch.holds, strict=True):
            ends = self._end_of(b, hold)
            candidates = units_for(self.problem, batch, hold, self.down)
            begun = hold.first < len(past)
            if begun:
                tables.held[slot] = self.numbers.get(hold.unit or "", candidates[0] if candidates else -1)
            if hold.kind in self.idle_kinds:
                if not begun:
                    tables.held[slot] = candidates[0]
                continue
            taken_by = -1
            if begun:
                unit = tables.held[slot]
                if unit < 0:
                    continue
                _lie(tables, batch, hold, past, unit, ends[1] if ends[0] < 0 else BIG, slot)
            else:
                taken_by, offset = where[hold.first]
                auto = ends[1] if ends[0] == taken_by else BIG
                room, mg = hold.room_of(batch), batch.weight_mg
                take = Take(slot, offset, tuple(candidates), auto, room, mg, hold.whole)
                tables.takes.setdefault(taken_by, []).append(take)
            if ends[0] != taken_by:
                tables.releases.setdefault(ends[0], []).append((slot, ends[1]))
            for n in range(hold.first, hold.last + hold.to_end):
                if batch.steps[n].draws and n in where:
                    task, at = where[n]
                    tables.draws.setdefault(task, []).append((slot, at, at + batch.steps[n].minutes))

    def _spans(self, b: int) -> None:
        """Write down what may not run at any time."""
        for n, (task, at) in self.task_at[b].items():
            step = self.tables.batches[b].steps[n]
            if step.draws and (step.by_hand or self.problem.closed):
                self.tables.spans.setdefault(task, []).append((at, at + step.minutes, step.by_hand))

    def _end_of(self, b: int, hold: Hold) -> tuple[int, int]:
        """Return (task, offset) at which a hold ends; (-1, minute) where that is settled already."""
        batch, where, past = self.tables.batches[b], self.task_at[b], self.past[b]
        if hold.last in where:
            task, offset = where[hold.last]
            return task, offset + (batch.steps[hold.last].minutes if hold.to_end else 0)
        return -1, past[hold.last][1 if hold.to_end else 0]

    def _tails(self) -> list[int]:
        """Return the minutes from each task's start to the end of all that waits for it, at the earliest."""
        tables = self.tables
        tails = [0] * len(tables.batch_of)

        def of(task: int) -> int:
            if not tails[task]:
                batch = tables.batches[tables.batch_of[task]]
                tails[task] = batch.steps[tables.steps[task][0][0]].minutes
                after = [*self.outs[task].items(), *tables.meets.get(task, ())]
                tails[task] = max([tails[task], *(offset + of(to) for to, offset in after)])
            return tails[task]

        for task in reversed(range(len(tails))):
            of(task)
        return tails

    def _finish(self, b: int) -> None:
        """Put the tasks of a batch together, moving what is plain into the tuple that the inner loop reads."""
        tables, batch, where = self.tables, self.tables.batches[b], self.task_at[b]
        first, after = tables.first[b], tables.first[b + 1]
        attended = [n for n in range(len(batch.steps)) if batch.steps[n].attended]
        goal_step = batch.goal if batch.goal is not None else (attended[-1] if attended else -1)
        goal = where[goal_step][0] if batch.counts and goal_step in where else -1
        tables.goals += goal >= 0
        for task in range(first, after):
            n = tables.steps[task][0][0]
            tables.tasks.append(self._task(batch, task, task == goal))
            tables.brief.append(batch.steps[n].brief)
            tables.goes_on.append(self._still_to_come(batch, n))
        if after > first:
            tables.lasts.append((after - 1, batch.weight))
        tables.kinds.extend(self._kinds(b))
        if batch.shade_step in where:
            tables.ties[where[batch.shade_step][0]] = batch.shade

    @staticmethod
    def _still_to_come(batch: Batch, n: int) -> int:
        """Return the minutes of the same work behind a step."""
        minutes = 0
        while batch.steps[n].goes_on:
            n += 1
            minutes += batch.steps[n].minutes
        return minutes

    def _task(self, batch: Batch, task: int, goal: bool) -> Task:
        tables = self.tables
        takes, draws, releases = tables.takes.get(task, []), tables.draws.get(task, []), tables.releases.get(task, [])
        first = tables.steps[task][0][0]
        minutes = batch.steps[first].minutes
        begins = batch.steps[first].goes_on and not (first and batch.steps[first - 1].goes_on)
        rare = bool(tables.waits[task]) or task in tables.spans or begins
        units: tuple[int, ...] = ()
        slot, ends, on, off = -1, BIG, -1, -1
        take = takes[0] if len(takes) == 1 and [draw[0] for draw in draws] in ([], [takes[0].slot]) else None
        if take is not None and take.offset == 0 and not any(tables.roomy[u] for u in take.units):
            units, slot, ends = take.units, take.slot, take.ends
            on, off = draws[0][1:] if draws else (-1, -1)
            del tables.takes[task]
            tables.draws.pop(task, None)
        elif takes or draws:
            rare = True
        released, at = -1, 0
        writes = rare or task in tables.meets
        if len(releases) == 1 and not self._may_be_roomy(releases[0][0]):
            released, at = releases[0]
            del tables.releases[task]
        elif releases:
            writes = True
        dry = max((self._soon(task, to) for to, _ in tables.deadlines.get(task, ())), default=0)
        outs = tuple(self.outs[task].items())
        awaited = task in self.awaited
        return (
            minutes, self.tails[task], released, at, units, slot, ends, on, off, outs,
            int(goal), rare, writes, awaited, dry,
        )  # fmt: skip

    def _soon(self, task: int, to: int) -> int:
        """Return the least minutes from a task's start to the end of a later one, or of its heat that hands end."""
        needs = self.tables.batches[self.tables.batch_of[to]].steps[self.tables.steps[to][0][0]].minutes
        needs = max([needs, *(off for _, off, by_hand in self.tables.spans.get(to, ()) if by_hand)])
        return needs + max(offset for later, offset in self.outs[task].items() if later <= to)

    def _may_be_roomy(self, slot: int) -> bool:
        b = next(n for n, slots in enumerate(self.tables.slots) if slot in slots)
        if self.tables.held[slot] >= 0:
            return self.tables.roomy[self.tables.held[slot]]
        hold = self.tables.batches[b].holds[slot - self.tables.slots[b][0]]
        candidates = units_for(self.problem, self.tables.batches[b], hold, self.down)
        return any(self.tables.roomy[unit] for unit in candidates)

    def _kinds(self, b: int) -> list[int]:
        """Return what each task of a batch is to a policy; what only prepares is as what it prepares."""
        first, after = self.tables.first[b], self.tables.first[b + 1]
        kinds = [self._kind(b, task) for task in range(first, after)]
        if kinds and kinds[-1] == OTHER:
            kinds[-1] = OPEN if after - 1 in self.tables.meets else LAST
        for place in reversed(range(len(kinds) - 1)):
            if kinds[place] == OTHER and kinds[place + 1] != LAST:
                kinds[place] = OPEN if kinds[place + 1] == DYE else kinds[place + 1]
        return kinds

    def _kind(self, b: int, task: int) -> int:
        batch = self.tables.batches[b]
        steps = [n for n, _ in self.tables.steps[task]]
        if steps[0] and batch.steps[steps[0] - 1].goes_on:
            return DYE
        holds = [hold for hold in batch.holds if hold.kind not in self.idle_kinds]
        if any(hold.first in steps and draws_in(batch, hold) for hold in holds):
            return HEAT_ON
        ended = [hold for hold in holds if hold.last in steps and hold.first not in steps]
        if any(draws_in(batch, hold) for hold in ended):
            return HEAT_OFF
        return DYE if ended else OTHER
