"""The best order of the hands' tasks that a budget allows: policies, the order of batches, then short moves."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import partial
from itertools import chain, islice, repeat, takewhile
from random import Random

from dyeday.ahead.kernel.best_so_far import LINKED, BestSoFar
from dyeday.ahead.kernel.compile_problem import tabulate
from dyeday.ahead.kernel.compiled import BIG, Tables, without_stop
from dyeday.ahead.kernel.decode import replayed
from dyeday.ahead.kernel.dispatching_rules import (
    FOR_COUNT,
    FOR_END,
    TO_FINISH,
    Rule,
    batch_order,
    one_at_a_time,
    rule_of,
)
from dyeday.ahead.kernel.feasibility import without
from dyeday.ahead.kernel.hill_climb import Aim, AtEnd, Budget, ByStop, FirstFew, Worth, climb, climb_by, valued, vary
from dyeday.ahead.kernel.list_schedule import Played, drawn, play, stuck, traits_of
from dyeday.ahead.kernel.moves import at_most, justified, kick, whole
from dyeday.ahead.kernel.partial_schedule import PartialSchedule, rows_of
from dyeday.ahead.kernel.problem import Problem, Row, Solution
from dyeday.ahead.kernel.sense import dyed_later, linked

END, COUNT = 1, 2
"""objectives: the last attended step as early as possible; most batches rinsed by the stop, then the earliest end"""
NEVER = "another batch keeps the kit it needs"
"""why batches are left out that wait for kit held by each other"""
FEW = 300
"""evaluations when no budget is given"""
PATIENCE, SOON = 15, 6
"""moves without success, for each task, before a new beginning: from the best order the first time, and else"""
PLAYS = 3
"""changes of the rule without success, for each batch, before the search over single tasks"""
KICK, FAR_KICK = 3, 6
"""moves that are not judged, at a new beginning near the best; and for objective 2"""
FIRST = 3
"""policies played for a first answer to objective 2, before the stop alone is looked at"""
RULES = 200
"""evaluations of a new day before the first climb by moves, unless something is late"""
SHAKES = 4
"""objective 2: changes of a rule that are not judged, before the next climb"""
SECOND = 0.3
"""objective 2: share of climbs towards one batch more after which an earlier end is tried instead"""
MENDS_LEAST = 80
"""evaluations in which what makes no sense may be mended, however short the look"""
MENDS = 4
"""evaluations of the search for each in which what makes no sense may be mended; what dries out, in all of them"""
AGAIN = 0.4
"""share of rules no better than the best one after which the best order is climbed from again"""


def solve(
    problem: Problem,
    objective: int,
    seed: int = 0,
    evaluations: int | None = None,
    spent: Callable[[], bool] | None = None,
    warm: Sequence[Row] | None = None,
    least: int = 0,
) -> Solution:
    """Return the best schedule found before ``evaluations`` are used up or ``spent()`` is true.

    ``spent`` is not asked before ``least`` evaluations. ``warm`` is an earlier answer: the new one is at least as
    good while those rows are possible.
    """
    evaluations = FEW if evaluations is None and spent is None else evaluations
    tables = tabulate(problem)
    search = _Search(tables, objective, Random(seed), Budget(evaluations, spent, least))  # noqa: S311 - no secret
    search.run(warm)
    search.settle()
    left_out = tables.left_out
    if search.best_state is None:
        names = {tables.batches[b].id for b in stuck(tables) or range(len(tables.batches))}
        rest = without(problem, names | {name for name, _ in left_out})
        solution = solve(rest, objective, seed, evaluations, spent, warm, least)
        never = tuple((name, NEVER) for name in (batch.id for batch in tables.batches) if name in names)
        return replace(solution, left_out=(*left_out, *never, *solution.left_out))
    value = valued(search.aim, tables, search.best_state)
    return Solution(tuple(rows_of(tables, search.best_state)), value, search.budget.used, left_out)


class _Search(BestSoFar):
    """One search under way."""

    def __init__(self, tables: Tables, objective: int, rng: Random, budget: Budget) -> None:
        aim: Aim = AtEnd(tables) if objective == END else ByStop(tables)
        super().__init__(tables, aim, rng, budget, FOR_END if objective == END else FOR_COUNT)
        self.objective = objective
        near = partial(drawn, rng, tables, traits_of(tables))
        self.draws: tuple[Callable[[Rule], Rule], ...] = (lambda _: near(), near)
        """how a rule is drawn, far from a known one and near it"""

    def run(self, warm: Sequence[Row] | None) -> None:
        if warm:
            self.keep(*replayed(self.tables, warm))
        rule = self._best_start(draw=self.objective == END and not warm)
        if self.best_state is None or self.best[0]:
            order = one_at_a_time(self.tables, batch_order(self.tables, "left"))
            self.decode(order)
        if self.best_state is None or not self.tables.tasks or len(self.tables.batches) < 2:
            return
        if self.objective == END:
            self._to_the_end(rule, 0 if warm else RULES)
        else:
            self._count()

    def settle(self) -> None:
        """Let what could start while hands idle go ahead, where that costs nothing, and mend what makes no sense."""
        if self.best_state is None:
            return
        self.play(self.tables.places(self.best_order))
        self.begin_sooner()
        linked_evaluations = min(LINKED, self.budget.used)
        self.mend(max(MENDS_LEAST, self.budget.used // (1 if self.best[0] else MENDS)))
        self._search_linked(linked_evaluations)
        self.climb_linked(linked_evaluations // 2)
        self.mend(MENDS_LEAST)
        self.put_off_chores()

    def _search_linked(self, evaluations: int) -> None:
        """Search again from the first rules on, with the link that may mend most."""
        state = self.best_state
        for tables in islice(() if state is None else linked(self.tables, state), 1):
            other = _Search(tables, self.objective, self.rng, Budget(evaluations, self.budget.spent, evaluations))
            other.run(None)
            self.keep(other.best_order, other.best_state)
            self.budget.used += other.budget.used

    def _best_start(self, *, draw: bool) -> Rule:
        """Play the policies, then perhaps rules drawn at random, half of them near the best; return the best."""
        policies = iter(FOR_END)
        if self.objective == COUNT:
            policies = chain(FOR_COUNT[:FIRST], takewhile(lambda _: self.best_state is None or self.best[0], FOR_END))
        draws = chain.from_iterable(repeat(rule, len(self.tables.batches)) for rule in self.draws if draw)
        first: Iterable[Rule | Callable[[Rule], Rule]] = (rule_of(self.tables, policy) for policy in policies)
        return self._best_of(chain(first, draws), rule_of(self.tables, self.policies[0]))

    def _best_of(self, rules: Iterable[Rule | Callable[[Rule], Rule]], best: Rule) -> Rule:
        """Play rules, some of them made from the best of those before; return the best, or ``best`` if none ends."""
        worth: Worth = (BIG, 0, 0)
        for rule in rules:
            best, worth = self._better_of(rule if isinstance(rule, Rule) else rule(best), best, worth)
            if self.budget.over():
                break
        return best

    def _better_of(self, rule: Rule, best: Rule, worth: Worth) -> tuple[Rule, Worth]:
        """Play a rule; return it where it is better than the best one, and what that is worth."""
        self.budget.used += 1
        limits = self.aim.limits(worth)
        played = play(self.tables, rule.ranking(self.tables), rule.wait, rule.over, limits=limits)
        if played is None:
            return best, worth
        self.keep(played.order, played.state)
        value = self.aim.value(played.state)
        if value[0] and (self.best[0] or value[2] < self.best[2]):
            self._dye_later(played.order, played.state)
        return (rule, value) if value < worth else (best, worth)

    def _dye_later(self, order: list[int], state: PartialSchedule) -> tuple[list[int], PartialSchedule]:
        """Dye what waits too long just before its heat, as long as less is late for it; return what was reached."""
        while state.late:
            later = dyed_later(self.tables, order, state)
            found = self.decode(later)
            if found is None or found.late >= state.late:
                break
            order, state = later, found
        return order, state

    def _by_rules(self, rule: Rule) -> tuple[Worth, Rule, list[int]]:
        """Climb by rules; return what was reached."""
        last: deque[Played] = deque(maxlen=1)
        tries = PLAYS * len(self.tables.batches)
        rule = climb_by(self.tables, rule, self.policies, self.aim, self.rng, self.budget, tries, last.append)
        if not last:
            return (BIG, 0, 0), rule, []
        self.keep_day(last[-1])
        order, state = self._dye_later(last[-1].order, last[-1].state)
        return self.aim.value(state), rule, self._justify(order, state)

    def _justify(self, order: list[int], state: PartialSchedule) -> list[int]:
        """Return the order reached by putting what has time to spare behind what has not, while that helps."""
        value = self.aim.value(state)
        while True:
            other = justified(self.tables, order, state)
            found = self.decode(other)
            if found is None or (reached := self.aim.value(found)) > value:
                return order
            if reached == value:
                return other
            order, state, value = other, found, reached

    def _to_the_end(self, rule: Rule, alone: int) -> None:
        """Climb by rules from one beginning after another, and by moves from those that are the best so far.

        How good an order by rule is tells how good moves can make it (a correlation of 0.8 to 0.9 on large days of
        the public make), and a rule is climbed in a quarter of the time: moves are kept for the few worth them.
        """
        value, rule, order = self._by_rules_alone(rule, alone)
        best, best_value, exhausted = rule, value, False
        while not self.budget.over():
            if order and value <= best_value:
                best_value, best, before = value, rule, self.best
                self._climb(self.best_order if self.best[0] < value[0] else order, SOON)
                exhausted = exhausted and self.best == before
            elif self.rng.random() < AGAIN:
                if exhausted:
                    self._climb(kick(self.rng, self.best_order, KICK), SOON)
                else:
                    self._climb(self.best_order, PATIENCE)
                exhausted = True
            value, rule, order = self._by_rules(self._new_rule(best))

    def _by_rules_alone(self, rule: Rule, until: int) -> tuple[Worth, Rule, list[int]]:
        """Climb by rules until so many evaluations are used; return the best that was reached."""
        best = self._by_rules(rule)
        while self.budget.used < until and not self.best[0] and not self.budget.over():
            reached = self._by_rules(self._new_rule(best[1]))
            if reached[2] and reached[0] <= best[0]:
                best = reached
        return best

    def _new_rule(self, best: Rule) -> Rule:
        """Return another rule to climb from: the best of some drawn, all near the best one or none of them."""
        return self._best_of(repeat(self.rng.choice(self.draws), len(self.tables.batches)), best)

    def _climb(self, order: list[int], patience: int) -> None:
        climb(self.tables, order, self.aim, self.rng, self.budget, patience * len(order), self.keep)

    @property
    def _done(self) -> int:
        return self.tables.goals - self.best[1]

    def _count(self) -> None:
        """Objective 2: get one batch more done by the stop, again and again; between that, the earliest end."""
        relaxed = without_stop(self.tables)
        if self.best[0]:
            self._climb(self.best_order, SOON)
        rule, polished = self._best_rule(relaxed), False
        while not self.budget.over():
            done = self._done
            if done < self.tables.goals:
                rule, order = self._one_more_by_rules(relaxed, rule, done + 1)
                if self._done > done:
                    continue
                if order:
                    self._one_more(relaxed, order, done + 1)
                if self._done > done:
                    continue
                if self.rng.random() >= SECOND:
                    for _ in range(SHAKES):
                        rule, _ = vary(self.rng, relaxed, rule, self.policies)
                    continue
            near = kick(self.rng, self.best_order, FAR_KICK) if polished else self.best_order
            self._climb(near, PATIENCE)
            polished = True

    def _best_rule(self, relaxed: Tables) -> Rule:
        """Return the policy that rinses one batch more than the best so far soonest."""
        aim = FirstFew(relaxed, min(self._done + 1, relaxed.goals), self.tables.stop)
        best, best_worth = rule_of(relaxed, self.policies[0]), (BIG, BIG, BIG)
        for policy in self.policies:
            if self.budget.over():
                break
            self.budget.used += 1
            rule = rule_of(relaxed, policy)
            played = play(relaxed, rule.ranking(relaxed), rule.wait, rule.over, (), aim.limits((1, 0, 0)))
            if played is not None and aim.value(played.state) < best_worth:
                best, best_worth = rule, aim.value(played.state)
        return best

    def _one_more_by_rules(self, relaxed: Tables, rule: Rule, wanted: int) -> tuple[Rule, list[int]]:
        """Climb by rules towards ``wanted`` batches rinsed by the stop; return the rule and the order reached."""
        aim = FirstFew(relaxed, wanted, self.tables.stop)
        last: deque[Played] = deque(maxlen=1)
        tries = PLAYS * len(self.tables.batches)
        rule = climb_by(relaxed, rule, self.policies, aim, self.rng, self.budget, tries, last.append)
        if last and aim.enough(aim.value(last[-1].state)):
            self._complete(last[-1].order, last[-1].state)
        return rule, whole(self.tables, last[-1].order) if last else []

    def _one_more(self, relaxed: Tables, order: list[int], wanted: int) -> None:
        """Climb towards ``wanted`` batches rinsed by the stop, as if evening never came."""
        aim = FirstFew(relaxed, wanted, self.tables.stop)
        reached, state = climb(relaxed, order, aim, self.rng, self.budget, PATIENCE * len(order))
        if state is not None and aim.enough(aim.value(state)):
            self._complete(reached[: state.at], state)

    def _complete(self, lead: list[int], state: PartialSchedule) -> None:
        """Follow ``lead`` except for yarn that would be left painted, then let some policies go on from there."""
        first, keep = self.tables.first, [BIG] * len(self.tables.batches)
        untouched, done = keep[:], self._done
        for _, b, to, _ in state.pending:
            for task in range(first[b], to):
                if any(later == to for later, _ in self.tables.deadlines.get(task, ())):
                    keep[b], untouched[b] = task - first[b], 0
        for sure in (lead, at_most(lead, keep), at_most(lead, untouched)):
            for policy in TO_FINISH:
                self.budget.used += 1
                ranking = rule_of(self.tables, policy).ranking(self.tables)
                played = play(self.tables, ranking, policy.wait, policy.over, sure)
                if played is not None:
                    self.keep(played.order, played.state)
            # Policies may paint more than can be heated in time on the days that follow.
            if self._done == done or self.best[0]:
                self.decode(whole(self.tables, sure))
            if self._done > done:
                return
