"""The sums a day's page shows and `summary --json` answers: amounts, states, doubts; from the day alone."""

from __future__ import annotations

from dataclasses import dataclass

from dyeday.plan.amounts import planned_dyes
from dyeday.track.day import Day
from dyeday.track.flags import Flag, flags_of
from dyeday.track.instant import Now
from dyeday.track.record import AcidIn, BatchRecord


@dataclass(frozen=True, slots=True)
class DyeUse:
    """One dye over the day: recorded as used, and by the recipe for batches that recorded nothing."""

    dye: str
    used_ml: float
    powder_g: float
    by_recipe_ml: float
    by_recipe_g: float


@dataclass(frozen=True, slots=True)
class Tally:
    flags: tuple[Flag, ...]
    unfinished: tuple[BatchRecord, ...]
    done: tuple[BatchRecord, ...]
    dyes: tuple[DyeUse, ...]
    acid_ml: float
    acid_g: float
    skeins_done: int
    skeins: int

    @property
    def open_flags(self) -> tuple[Flag, ...]:
        return tuple(flag for flag in self.flags if flag.resolved is None)


def tally(day: Day, now: Now) -> Tally:
    """Return the day's sums as at ``now``."""
    live = [batch for batch in day.live if batch.state != "scrapped"]
    unfinished = tuple(batch for batch in live if batch.state != "done")
    puts = [put for batch in day.batches.values() if batch.parent is None for put in batch.acids]
    puts += [put for batch in day.batches.values() if batch.parent for put in _own_acids(day, batch)]
    puts += [put for unit in day.units.values() for put in unit.acids]
    return Tally(
        flags=tuple(flags_of(day, now)),
        unfinished=unfinished,
        done=tuple(batch for batch in live if batch.state == "done"),
        dyes=tuple(_dyes(day)),
        acid_ml=sum(put.amount_ml for put in puts),
        acid_g=sum(put.amount_g for put in puts),
        skeins_done=sum(batch.skeins for batch in live if batch.state == "done"),
        skeins=sum(batch.skeins for batch in live),
    )


def _own_acids(day: Day, part: BatchRecord) -> list[AcidIn]:
    """A part of a split batch carries its parent's past: only what came after is its own."""
    parent = day.batches[part.parent or ""]
    return list(part.acids[len(parent.acids) :])


def _dyes(day: Day) -> list[DyeUse]:
    sums: dict[str, list[float]] = {}

    def add(dye: str, place: int, amount: float) -> None:
        sums.setdefault(dye, [0.0, 0.0, 0.0, 0.0])[place] += amount

    for batch in day.batches.values():
        parent = day.batches.get(batch.parent or "")
        for place, mine, theirs in (
            (0, batch.used_ml, parent.used_ml if parent else ()),
            (1, batch.powder_g, parent.powder_g if parent else ()),
            (0, _less(batch.left_over_ml), _less(parent.left_over_ml) if parent else ()),
        ):
            before = dict(theirs)
            for dye, amount in mine:
                add(dye, place, amount - before.get(dye, 0.0))
        if batch.state != "split" and not batch.used_ml and not batch.powder_g and batch.painted:
            put_on = {painted.layer for painted in batch.painted}
            for planned in planned_dyes(day.plan, batch.colourway, batch.wof_g):
                if planned.layer in put_on:
                    add(planned.dye, 2, planned.solution_ml or 0.0)
                    add(planned.dye, 3, planned.powder_g)
    return [DyeUse(dye, *amounts) for dye, amounts in sums.items() if any(amounts)]


def _less(amounts: tuple[tuple[str, float], ...]) -> tuple[tuple[str, float], ...]:
    return tuple((name, -amount) for name, amount in amounts)
