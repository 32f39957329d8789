"""The best day that a search has found, what is left of its budget, and the changes that make the day sensible."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from itertools import chain, islice
from random import Random

from dyeday.ahead.kernel.compiled import BIG, OTHER, Tables
from dyeday.ahead.kernel.decode import decode
from dyeday.ahead.kernel.dispatching_rules import Policy, Rule
from dyeday.ahead.kernel.hill_climb import Aim, Budget, climb_by
from dyeday.ahead.kernel.list_schedule import Played, play
from dyeday.ahead.kernel.partial_schedule import PartialSchedule, beginning
from dyeday.ahead.kernel.sense import linked, mended, put_off, tie, together

IDLE_MIN = 5
"""minutes for which hands are not left idle at the beginning where anything can be done in them"""
LINKED = 160
"""evaluations at most of a second search, in which what is apart waits for each other; no more than the first used"""


class BestSoFar:
    """The best day found, changed where that costs nothing and a dyer would rather have it so."""

    def __init__(self, tables: Tables, aim: Aim, rng: Random, budget: Budget, policies: Sequence[Policy]) -> None:
        self.tables, self.aim, self.rng, self.budget, self.policies = tables, aim, rng, budget, policies
        self.best = (BIG, BIG, BIG)
        self.best_tie = 0
        self.best_order: list[int] = []
        self.best_state: PartialSchedule | None = None

    def play(self, numbers: list[int], lead: Sequence[int] = ()) -> None:
        """Play the day in which hands take the smallest number first, once ``lead`` is done."""
        self.budget.used += 1
        if (played := play(self.tables, numbers, 0, lead=lead)) is not None:
            self.keep_day(played)

    def keep_day(self, day: Played) -> None:
        self.keep(day.order, day.state)

    def keep(self, order: list[int], state: PartialSchedule | None) -> bool:
        """Remember a schedule if it is better than the best; among equals, if ties speak for it."""
        if state is None:
            return False
        value = self.aim.value(state)
        if value > self.best:
            return False
        worth = tie(self.tables, state)
        if value == self.best and worth >= self.best_tie:
            return False
        better = value < self.best
        self.best, self.best_tie, self.best_order, self.best_state = value, worth, order[:], state
        return better

    def decode(self, order: list[int]) -> PartialSchedule | None:
        self.budget.used += 1
        out = decode(self.tables, order, beginning(self.tables))
        state = None if out is None else out.state
        self.keep(order, state)
        return state

    def begin_sooner(self) -> None:
        """Give idle hands what fits before the first task: to begin everything sooner may make the end later."""
        free, lead = self.tables.windows[0][0], 0
        while self.best_state is not None and lead < len(self.best_order):
            start = self.best_state.starts[self.tables.tasks_in(self.best_order)[lead]]
            if start - free < IDLE_MIN or not self._fill(lead, start - free, start):
                return
            filled = self.tables.tasks_in(self.best_order)[lead]
            free, lead = self.best_state.starts[filled] + self.tables.tasks[filled][0], lead + 1

    def _fill(self, lead: int, minutes: int, until: int) -> bool:
        """Let a task of so many minutes at most, over by ``until``, go before place ``lead``, if there is one."""
        for b in dict.fromkeys(self.best_order[lead + 1 :]):
            order = self.best_order[:]
            order.insert(lead, order.pop(order.index(b, lead)))
            task = self.tables.tasks_in(order)[lead]
            lasts = self.tables.tasks[task][0]
            if b == self.best_order[lead] or lasts > minutes:
                continue
            self.budget.used += 1
            out = decode(self.tables, order, beginning(self.tables))
            if out is None or self.aim.value(out.state) > self.best or out.state.starts[task] + lasts > until:
                continue
            self.best, self.best_order, self.best_state = self.aim.value(out.state), order, out.state
            return True
        return False

    def mend(self, evaluations: int) -> None:
        """Make moves aimed at what no dyer would do; after each that mends something, go on with the next.

        To begin with the first again would spend the evaluations on what has just failed.
        """
        until, failed = self.budget.used + evaluations, 0
        while (before := self.best_state) is not None:
            plays = (partial(self.play, *played) for played in together(self.tables, self.best_order, before))
            moves = (partial(self.decode, order) for order in mended(self.tables, self.best_order, before))
            numbered = enumerate(chain[Callable[[], object]](plays, moves))
            skipped = [*islice(numbered, failed)]
            for n, attempt in chain(numbered, skipped):
                if self.budget.used >= until:
                    return
                attempt()
                if self.best_state is not before:
                    failed = n
                    break
            else:
                return

    def climb_linked(self, evaluations: int) -> None:
        """Climb by rules from the best order, with each link in turn."""
        state, budget = self.best_state, Budget(evaluations)
        for tables in () if state is None else linked(self.tables, state):
            rule = Rule((0,) * (OTHER + 1), 0, BIG, self.tables.places(self.best_order))
            climb_by(tables, rule, self.policies, self.aim, self.rng, budget, LINKED, self.keep_day)
        self.budget.used += budget.used

    def put_off_chores(self) -> None:
        """Put chores that begin soon off until they are needed, where that costs nothing."""
        for chore, others in self.tables.chores:
            if self.best_state is None:
                return
            for order in put_off(self.tables, self.best_order, self.best_state.starts[chore], chore, others):
                self.decode(order)
