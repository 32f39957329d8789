"""Small changes of a rule, and from which choice on a day played by it can turn out differently."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from random import Random

from dyeday.ahead.kernel.compiled import BIG, DYE, HEAT_OFF, HEAT_ON, LAST, OPEN, OTHER, Tables
from dyeday.ahead.kernel.dispatching_rules import Policy, Rule
from dyeday.ahead.kernel.hill_climb import Aim, Budget, Worth
from dyeday.ahead.kernel.list_schedule import Played, Ranking, play

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
    """Yield which way each batch goes and its tasks: in front of all others (-1), from the last; behind them (1).

    Batches of which something belongs together go together.
    """
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


def climb_rules(
    tables: Tables,
    rule: Rule,
    policies: Sequence[Policy],
    aim: Aim,
    rng: Random,
    budget: Budget,
    patience: int,
    keep: Callable[[Played], None],
) -> Rule:
    """Return the rule reached when ``patience`` changes brought nothing, the aim is met or the budget spent.

    Each batch is put in front of all others first, then behind them; what is changed after that is drawn at random.
    ``keep`` is shown every day that is not worse than the one before.
    """
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
