"""The sums of a day for its page and `summary --json`: amounts, states, flags."""

from __future__ import annotations

from dyeday.quick_dataclass import dataclass
from dyeday.terms import State
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.consumption import acids_put_in, dyes_consumed
from dyeday.track.day.day_state import Day
from dyeday.track.flags import Flag, flags_of
from dyeday.track.timestamp import Moment


@dataclass(frozen=True, slots=True)
class DyeUse:
    """A dye over the day: recorded amounts, and the recipe's for batches without a record."""

    dye: str
    used_ml: float
    powder_g: float
    by_recipe_ml: float
    by_recipe_g: float


@dataclass(frozen=True, slots=True)
class Tally:
    """The sums of a day at one moment; scrapped batches are in neither ``done``, ``unfinished`` nor the skeins.

    Skeins count with what was done to them on earlier days; dyed are those with the dye of their last layer on.
    """

    flags: tuple[Flag, ...]
    unfinished: tuple[BatchRecord, ...]
    done: tuple[BatchRecord, ...]
    dyes: tuple[DyeUse, ...]
    acid_ml: float
    acid_g: float
    skeins_dyed: int
    skeins_rinsed: int
    skeins_done: int
    skeins: int

    @property
    def open_flags(self) -> tuple[Flag, ...]:
        return tuple(flag for flag in self.flags if flag.cleared is None)


def tally(day: Day, now: Moment) -> Tally:
    """Return the day's sums as at ``now``."""
    live = [batch for batch in day.unsplit if batch.state != State.SCRAPPED]
    done = [batch for batch in live if batch.state == State.DONE]
    rinsed = [batch for batch in live if batch.working_state in (State.DRY, State.DONE)]
    dyed = [b for b in live if b in rinsed or any(one.layer >= len(b.colourway.layers) for one in b.painted)]
    puts = acids_put_in(day)
    skeins_dyed, skeins_rinsed, skeins_done, skeins = (sum(b.skeins for b in of) for of in (dyed, rinsed, done, live))
    return Tally(
        flags=tuple(flags_of(day, now)),
        unfinished=day.unfinished,
        done=tuple(done),
        dyes=tuple(_dyes(day)),
        acid_ml=sum(put.amount_ml for put in puts),
        acid_g=sum(put.amount_g for put in puts),
        skeins_dyed=skeins_dyed,
        skeins_rinsed=skeins_rinsed,
        skeins_done=skeins_done,
        skeins=skeins,
    )


def _dyes(day: Day) -> list[DyeUse]:
    sums: dict[str, list[float]] = {}
    for batch in day.batches.values():
        for used in dyes_consumed(day, batch):
            of_dye = sums.setdefault(used.dye, [0.0, 0.0, 0.0, 0.0])
            if used.recorded:
                of_dye[0] += used.solution_ml
                of_dye[1] += used.powder_g
            else:
                of_dye[2] += used.solution_ml
                of_dye[3] += used.grams(day.plan.solution_pct(used.dye))
    return [DyeUse(dye, *amounts) for dye, amounts in sums.items() if any(amounts)]
