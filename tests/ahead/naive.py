"""The ways of working that people have without a forecast, as orders of the hands' tasks."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable

from dyeday.ahead.kernel.compiled import BIG, DYE, HEAT_OFF, HEAT_ON, OPEN, Tables
from dyeday.ahead.kernel.constraints import soonest_start
from dyeday.ahead.kernel.decode import decode
from dyeday.ahead.kernel.dispatching_rules import Policy, rule_of
from dyeday.ahead.kernel.list_schedule import play
from dyeday.ahead.kernel.partial_schedule import PartialSchedule, beginning

FINISH_FIRST = (1, 2, 3, 4, 0, 5)
"""rinse, unload, load, paint, soak"""


class Hands:
    """A dyer who does the earliest step among those of one stage."""

    def __init__(self, tables: Tables) -> None:
        self.tables, self.state, self.order = tables, beginning(tables), list[int]()

    def copy(self) -> Hands:
        other = Hands(self.tables)
        other.state, other.order = self.state.copy(), self.order[:]
        return other

    def soonest(self, batches: Iterable[int], kinds: Collection[int] | None = None) -> int | None:
        """Return the batch whose next task, of those kinds, can start first; None when there is none."""
        tables, state = self.tables, self.state
        found = [
            (soonest_start(tables, state, t), b)
            for b in batches
            if (t := state.next_task[b]) < tables.first[b + 1] and (kinds is None or tables.kinds[t] in kinds)
        ]
        start, b = min(found, default=(BIG, -1))
        return None if start >= BIG else b

    def do(self, batch: int) -> None:
        """Do a batch's next task."""
        self.order.append(batch)
        assert decode(self.tables, self.order, self.state) is not None

    def finish(self, batches: Iterable[int], kinds: Collection[int] | None = None) -> None:
        """Do all that those batches allow of those kinds."""
        mine = list(batches)
        while (b := self.soonest(mine, kinds)) is not None:
            self.do(b)


def single(tables: Tables) -> list[int]:
    """One batch right through before the next."""
    return [b for b in range(len(tables.batches)) for _ in range(tables.first[b + 1] - tables.first[b])]


def waves(tables: Tables) -> list[int]:
    """A tray-full of batches right through, then the next."""
    trays = max(1, sum(unit.kind == "tray" for unit in tables.problem.units))
    hands, count = Hands(tables), len(tables.batches)
    for first in range(0, count, trays):
        hands.finish(range(first, min(first + trays, count)))
    return hands.order


def stage_by_stage(tables: Tables) -> list[int]:
    """Soak and paint until all is painted or the next would let yarn dry out, fix those, go on; rinse at the end."""
    hands, everything = Hands(tables), range(len(tables.batches))
    while True:
        painted = 0
        while (b := hands.soonest(everything, (OPEN, DYE))) is not None:
            if tables.kinds[hands.state.next_task[b]] == DYE:
                trial = hands.copy()
                trial.do(b)
                trial.finish(everything, (HEAT_ON, HEAT_OFF))
                if painted and trial.state.late > hands.state.late:
                    break
                painted += 1
            hands.do(b)
        hands.finish(everything, (HEAT_ON, HEAT_OFF))
        if not painted:
            break
    hands.finish(everything)
    return hands.order


def first_come(tables: Tables) -> list[int]:
    """First come, first served; what was begun goes before what was not."""
    played = play(tables, rule_of(tables, Policy(FINISH_FIRST, "given", 0)).ranking(tables), 0)
    assert played is not None
    return played.order


WAYS: dict[str, Callable[[Tables], list[int]]] = {
    "stage by stage": stage_by_stage,
    "waves": waves,
    "single": single,
    "first come": first_come,
}


def outcome(tables: Tables, way: str) -> PartialSchedule:
    """Return how the day goes that way."""
    order = WAYS[way](tables)
    out = decode(tables, order, beginning(tables))
    assert out is not None
    return out.state
