"""Climbs: from one order by short moves, from one rule by small changes; and what "worse" means for each question."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from random import Random
from typing import Protocol

from dyeday.ahead.kernel.compiled import BIG, DYE, HEAT_OFF, HEAT_ON, LAST, OPEN, OTHER, Tables
from dyeday.ahead.kernel.decode import EVERY, Known, Limits, decode
from dyeday.ahead.kernel.dispatching_rules import Policy, Rule
from dyeday.ahead.kernel.list_schedule import Played, Ranking, play
from dyeday.ahead.kernel.moves import Slack, propose
from dyeday.ahead.kernel.partial_schedule import PartialSchedule, beginning
from dyeday.ahead.kernel.problem import Value
from dyeday.ahead.kernel.sense import senseless

Worth = tuple[int, int, int]
"""(minutes too late, batches missed, end and what makes no sense in minutes of it); smaller is better"""
TURNS = 0.1
"""share of moves that only change which of several units a task prefers, where circuits bind"""


@dataclass(slots=True)
class Budget:
    """How much may still be tried: a number of evaluations, or until ``spent`` says so, or both."""

    evaluations: int | None
    spent: Callable[[], bool] | None = None
    least: int = 0
    """evaluations before ``spent`` counts; it is asked, so that it may pause the search"""
    used: int = 0

    def over(self) -> bool:
        """Return whether the evaluations are used up, or ``spent`` says so."""
        if self.evaluations is not None and self.used >= self.evaluations:
            return True
        spent = self.spent is not None and self.spent()
        return spent and self.used >= self.least


class Aim(Protocol):
    """What a schedule is worth, and where decoding may stop because it cannot be worth as much."""

    def value(self, state: PartialSchedule) -> Worth:
        """Return what the schedule that ended in ``state`` is worth."""

    def limits(self, value: Worth) -> Limits:
        """Return the limits beyond which a schedule is worth less than ``value``."""

    def bounds(self, value: Worth) -> bool:
        """Whether a schedule as good must end its last task as early."""
        ...

    def enough(self, value: Worth) -> bool:
        """Whether no schedule can be worth more to the question, so that the climb may stop."""


class AtEnd(Aim):
    """The last attended step as early as possible."""

    def __init__(self, tables: Tables) -> None:
        self.tables = tables

    def value(self, state: PartialSchedule) -> Worth:
        return (state.late, 0, state.now + senseless(self.tables, state))

    def limits(self, value: Worth) -> Limits:
        if value[0]:
            return Limits()
        return Limits(end=value[2], idle=value[2] - self.tables.work(value[2]))

    def bounds(self, value: Worth) -> bool:
        return not value[0]

    def enough(self, value: Worth) -> bool:
        return False


class ByStop(Aim):
    """Most batches rinsed by the stop, then the earliest end after the next day opens."""

    def __init__(self, tables: Tables) -> None:
        self.tables, self.next_day = tables, tables.problem.next_day

    def value(self, state: PartialSchedule) -> Worth:
        return (
            state.late,
            self.tables.goals - state.done,
            max(0, state.now - self.next_day) + senseless(self.tables, state),
        )

    def limits(self, value: Worth) -> Limits:
        late, missed, end = value
        if late:
            return Limits(count=True)
        return Limits(end + self.next_day, self.tables.goals - missed, count=True)

    def bounds(self, value: Worth) -> bool:
        return False

    def enough(self, value: Worth) -> bool:
        return value == (0, 0, 0)


def valued(aim: Aim, tables: Tables, state: PartialSchedule) -> Value:
    """Return what a schedule is worth to one of both questions, its end apart from what makes no sense in it."""
    late, missed, end = aim.value(state)
    beside = senseless(tables, state)
    return Value(late, missed, end - beside, beside)


class FirstFew(Aim):
    """The first ``wanted`` batches rinsed as early as possible; the others do not count."""

    def __init__(self, tables: Tables, wanted: int, stop: int) -> None:
        self.tables, self.wanted, self.stop = tables, wanted, stop

    def value(self, state: PartialSchedule) -> Worth:
        return (state.late, max(0, self.wanted - state.done), state.now)

    def limits(self, value: Worth) -> Limits:
        return Limits(wanted=self.wanted, last_start=BIG if value[0] or value[1] else value[2])

    def bounds(self, value: Worth) -> bool:
        return not value[0] and not value[1]

    def enough(self, value: Worth) -> bool:
        return value[0] == 0 and value[1] == 0 and value[2] <= self.stop


def climb(
    tables: Tables,
    order: list[int],
    aim: Aim,
    rng: Random,
    budget: Budget,
    patience: int,
    keep: Callable[[list[int], PartialSchedule], bool] | None = None,
) -> tuple[list[int], PartialSchedule | None]:
    """Return the order and state when ``patience`` moves brought nothing, the aim is met or the budget spent."""
    order = order[:]
    begin = beginning(tables)
    budget.used += 1
    out = decode(tables, order, begin.copy(), aim.limits((1, 0, 0)), save=True)
    if out is None:
        return order, None
    state = out.state
    value = aim.value(state)
    if keep is not None:
        keep(order, state)
    limits = aim.limits(value)
    slack = Slack(tables)
    slack.follow(order, state, state.now)
    never = [BIG] * len(tables.tasks)
    known = Known([begin, *out.saved], state, never, never)
    if aim.bounds(value):
        known.latest, known.loose = slack.latest, slack.loose
    choices = [n for n, task in enumerate(tables.tasks) if any(tables.others[unit] for unit in task[4][1:])]
    idle = 0
    while idle < patience and not aim.enough(value) and not budget.over():
        idle += 1
        turned = -1
        if choices and rng.random() < TURNS:
            turned = choices[int(rng.random() * len(choices))]
            other, changed = order[:], _place(tables, order, turned)
            upto, lenience = changed + 1, 0
            _turn(tables, turned)
        else:
            proposed = propose(rng, order, slack, state)
            if proposed is None:
                continue
            other, changed, upto, lenience = proposed
        out = None
        if changed < state.at:
            budget.used += 1
            place = changed // EVERY
            begin = known.saved[place].resumed(state.starts, state.units)
            out = decode(tables, other, begin, limits, True, known, upto, lenience)
        if out is None or (reached := aim.value(out.state)) > value:
            if turned >= 0:
                _turn(tables, turned)
            continue
        order, state = other, out.state
        end = place + 1 + len(out.saved) if out.same_from < BIG else None
        known.saved[place + 1 : end] = out.saved
        known.state = state
        slack.follow(order, state, state.now, out.same_from)
        if reached < value:
            idle, value = 0, reached
            limits = aim.limits(value)
        if aim.bounds(value):
            known.latest, known.loose = slack.latest, slack.loose
        if keep is not None:
            keep(order, state)
    return order, state


def _turn(tables: Tables, task: int) -> None:
    """Let a task prefer its units the other way round, where several are to be had equally soon."""
    plain = tables.tasks[task]
    tables.tasks[task] = (*plain[:4], plain[4][::-1], *plain[5:])


def _place(tables: Tables, order: list[int], task: int) -> int:
    """Return where in ``order`` a task stands."""
    b = tables.batch_of[task]
    at = -1
    for _ in range(task - tables.first[b] + 1):
        at = order.index(b, at + 1)
    return at


SWITCH = 0.1
"""share of changes that concern the policy rather than one batch"""
WHOLE, PART = 0.5, 0.8
"""share of the other changes that move all tasks of a batch; and up to where, those of one stage; beyond, one task"""
WAITS = (0, 0, 3, 5, 8)
OVERS = (BIG, BIG, 0, 2, 5)
FARTHEST = 1 << 16
"""the most that one change moves a key: without it keys double at each change, beyond what a float holds"""
STAGES = {OPEN: 0, DYE: 0, HEAT_ON: 1, HEAT_OFF: 1, OTHER: 1, LAST: 2}


def vary(rng: Random, tables: Tables, rule: Rule, policies: Sequence[Policy]) -> tuple[Rule, Sequence[int]]:
    """Return a rule near another, and the tasks whose keys differ; no tasks where all may go differently."""
    draw = rng.random
    if draw() < SWITCH:
        kind = draw()
        if kind < 0.4:
            policy = policies[int(draw() * len(policies))]
            return Rule(policy.ranks, policy.wait, policy.over, rule.keys), []
        if kind < 0.7:
            wait, over = WAITS[int(draw() * len(WAITS))], OVERS[int(draw() * len(OVERS))]
            return Rule(rule.ranks, wait, over, rule.keys), []
        ranks = list(rule.ranks)
        one, other = int(draw() * 5), int(draw() * 5)
        ranks[one], ranks[other] = ranks[other], ranks[one]
        return Rule(tuple(ranks), rule.wait, rule.over, rule.keys), []
    b = int(draw() * len(tables.batches))
    tasks: Sequence[int] = range(tables.first[b], tables.first[b + 1])
    if not tasks:
        return rule, []
    part = draw()
    if part > PART:
        tasks = [tasks[int(draw() * len(tasks))]]
    elif part > WHOLE:
        stage = STAGES[tables.kinds[tasks[int(draw() * len(tasks))]]]
        tasks = [t for t in tasks if STAGES[tables.kinds[t]] == stage]
    step = 1 + int(draw() ** 2 * _spread(rule))
    return _shifted(rule, tasks, -step if draw() < 0.5 else step)


def _spread(rule: Rule) -> int:
    return min(max(rule.keys) - min(rule.keys) + 1, FARTHEST)


def _shifted(rule: Rule, tasks: Sequence[int], step: int) -> tuple[Rule, Sequence[int]]:
    """Return a rule by which some tasks go so much later, and those tasks."""
    keys = rule.keys[:]
    for t in tasks:
        keys[t] += step
    return Rule(rule.ranks, rule.wait, rule.over, keys), tasks


def _first_and_last(tables: Tables, rule: Rule) -> Iterator[tuple[int, Sequence[int]]]:
    """Yield which way some batches that belong together go, before (-1) or behind (1) all others, and their tasks."""
    leads = list(range(len(tables.batches)))
    for tasks, _, _ in tables.near:
        for t in tasks:
            leads[tables.batch_of[t]] = tables.batch_of[tasks[0]]
    groups: dict[int, list[int]] = {}
    for t, b in enumerate(tables.batch_of):
        groups.setdefault(leads[b], []).append(t)
    whole = sorted(groups.values(), key=lambda tasks: rule.keys[tasks[0]])
    yield from ((-1, tasks) for tasks in reversed(whole))
    yield from ((1, tasks) for tasks in whole)


def same_until(tables: Tables, played: Played, before: Ranking, after: Ranking, changed: Sequence[int]) -> int:
    """Return for how many places a day goes the same way when the numbers of some tasks of one batch change."""
    order = played.order
    b = tables.batch_of[changed[0]]
    place = [n for n, other in enumerate(order) if other == b]
    begun = tables.first[b]
    first = len(order)
    numbers: list[int] = []
    for t in changed:
        if t - begun >= len(place):
            continue
        entered, left = (place[t - begun - 1] + 1 if t > begun else 0), place[t - begun]
        if after[t] < before[t]:
            if not numbers:
                numbers = [before[task] for task in tables.tasks_in(order)]
            number = after[t]
            left = next((n for n in range(entered, left) if numbers[n] > number), left)
        first = min(first, left)
    return first


def climb_by(
    tables: Tables,
    rule: Rule,
    policies: Sequence[Policy],
    aim: Aim,
    rng: Random,
    budget: Budget,
    patience: int,
    keep: Callable[[Played], None],
) -> Rule:
    """Return the rule when ``patience`` changes brought nothing, the aim is met or the budget spent."""
    ranking = rule.ranking(tables)
    budget.used += 1
    limits = aim.limits((1, 0, 0))
    known = play(tables, ranking, rule.wait, rule.over, limits=limits)
    value: Worth = (BIG, BIG, BIG) if known is None else aim.value(known.state)
    if known is not None:
        keep(known)
        limits = aim.limits(value)
    idle, moves = 0, _first_and_last(tables, rule)
    while idle < patience and not aim.enough(value) and not budget.over():
        idle += 1
        sign, whole = next(moves, (0, ()))
        other, changed = _shifted(rule, whole, sign * _spread(rule)) if sign else vary(rng, tables, rule, policies)
        numbers = other.ranking(tables)
        budget.used += 1
        like = known if changed and tables.batch_of[changed[0]] == tables.batch_of[changed[-1]] else None
        same = same_until(tables, like, ranking, numbers, changed) if like is not None else 0
        if like is not None and same >= len(like.order):
            continue
        played = play(tables, numbers, other.wait, other.over, (), limits, like, same)
        if played is None or (reached := aim.value(played.state)) > value:
            continue
        rule, ranking, known = other, numbers, played
        if reached < value:
            idle, value = 0, reached
            limits = aim.limits(value)
        keep(played)
    return rule
