"""The dye, acid, extras and yarn a batch used in its session: recorded amounts, else the recipe's.

The record of a part has its parent's past, that of a carried batch its earlier session's; neither is counted twice.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import datetime

from dyeday.grouping import grouped
from dyeday.plan.doses import acid_of_layer, poured_in_all
from dyeday.plan.model import Extra
from dyeday.plan.recipe import layer_dyes
from dyeday.quick_dataclass import dataclass
from dyeday.terms import ExtraPer, State
from dyeday.track.day.batch_record import AcidIn, BatchRecord
from dyeday.track.day.bath_contents import acids_had
from dyeday.track.day.carried import Carried
from dyeday.track.day.day_state import Day

IDLE = (State.WAITING, State.SET_ASIDE, State.SCRAPPED)
"""yarn that was in no other state was never wetted"""


@dataclass(frozen=True, slots=True)
class Consumed:
    """One dye in one batch."""

    dye: str
    solution_ml: float
    powder_g: float
    """put on dry"""
    recorded: bool
    """whether the dyer entered it; else it is by the recipe"""
    left_ml: float = 0.0
    """left over of what was poured; ``solution_ml`` is without it"""

    def grams(self, strength_pct: float) -> float:
        """Return the powder on the yarn, in g, with its solution at this strength."""
        return self.powder_g + self.solution_ml * strength_pct / 100


def _before(day: Day, batch: BatchRecord) -> BatchRecord | Carried | None:
    """Return what a batch's record began with, its parent's or an earlier session's; None if it began empty."""
    return day.batches.get(batch.parent or "") or batch.carried


def _added(day: Day, batch: BatchRecord, field: str) -> dict[str, float]:
    """Return what this batch itself added in this session to the amounts in a field of its record, by name."""
    earlier: dict[str, float] = dict(getattr(_before(day, batch), field, ()))
    added = {name: amount - earlier.get(name, 0.0) for name, amount in getattr(batch, field)}
    return {name: amount for name, amount in added.items() if amount}


def recorded_in_all(day: Day, batch: BatchRecord, field: str) -> dict[str, float]:
    """Return the amounts in a field of a record, by name, with earlier sessions' and its share of its parent's."""
    amounts: dict[str, float] = dict(getattr(batch, field))
    if (parent := day.batches.get(batch.parent or "")) is None:
        return amounts
    before: dict[str, float] = dict(getattr(parent, field))
    shared = recorded_in_all(day, parent, field)
    part = _part_of(day, batch, parent)
    return {name: ml - before.get(name, 0.0) + shared.get(name, 0.0) * part for name, ml in amounts.items()}


def solution_in_all_ml(day: Day, batch: BatchRecord) -> dict[str, float]:
    """Return the mL of solution of each dye on a batch, with earlier sessions' and its share of its parent's."""
    on_it = defaultdict(float, recorded_in_all(day, batch, "used_ml"))
    for name, ml in recorded_in_all(day, batch, "left_over_ml").items():
        on_it[name] -= ml
    for dye in by_recipe(day, batch, in_all=True):
        on_it[dye.dye] += dye.solution_ml
    return on_it


def dyes_consumed(day: Day, batch: BatchRecord) -> list[Consumed]:
    """Return the dye a batch itself used in this session: as recorded less what was left over, else by recipe.

    An entry covers the layers put on up to it. By its recipe a layer counts once, even if it was put on again.
    """
    used, left, powder = (_added(day, batch, field) for field in ("used_ml", "left_over_ml", "powder_g"))
    recorded = [
        Consumed(name, used.get(name, 0.0) - left.get(name, 0.0), powder.get(name, 0.0), True, left.get(name, 0.0))
        for name in dict.fromkeys((*used, *left, *powder))
    ]
    return [*(dye for dye in recorded if dye.solution_ml or dye.powder_g or dye.left_ml), *by_recipe(day, batch)]


def dye_needs_g(day: Day) -> dict[str, tuple[float, float]]:
    """Return (as solution, as powder) the g of each dye that the session takes: used, and still to come."""
    solution_ml, powder_g = defaultdict[str, float](float), defaultdict[str, float](float)
    for batch in day.batches.values():
        for dye in (*dyes_consumed(day, batch), *dyes_to_come(day, batch)):
            solution_ml[dye.dye] += dye.solution_ml
            powder_g[dye.dye] += dye.powder_g
    return {name: (ml * day.plan.solution_pct(name) / 100, powder_g[name]) for name, ml in solution_ml.items()}


def layers_recorded(batch: BatchRecord) -> int:
    """Return up to which layer of its present colourway a batch's dye was recorded; 0 where none was."""
    if batch.recorded_layer or batch.beneath or not (batch.used_ml or batch.powder_g):
        return batch.recorded_layer
    # Batches carried from sessions of older versions lack the layer: what they have on was recorded.
    return max((put_on.layer for put_on in batch.painted), default=1)


def by_recipe(day: Day, batch: BatchRecord, *, in_all: bool = False) -> Iterator[Consumed]:
    """Yield the dye of layers put on but not recorded, in this session or ``in_all``; of a split batch none."""
    if batch.state is State.SPLIT:
        return
    first = 0
    beneath = ((times, recorded) for _, times, recorded in batch.beneath)
    for times, recorded in (*beneath, (len(batch.painted), layers_recorded(batch))):
        put_on = [one for one in batch.painted[first : first + times] if in_all or batch.is_of_session(one.since.utc)]
        first += times
        layers = sorted({one.layer for one in put_on if one.layer > recorded})
        yield from _of_layers(day, batch, layers, batch.dyed_g)


def dyes_to_come(day: Day, batch: BatchRecord) -> Iterator[Consumed]:
    """Yield the dye that the layers still to be dyed take by their recipe."""
    dyed = {put_on.layer for put_on in batch.painted_since_overdye}
    numbers = range(layers_recorded(batch) + 1, len(batch.colourway.layers) + 1) if batch.is_unfinished else ()
    yield from _of_layers(day, batch, [n for n in numbers if n not in dyed], batch.wof_g)


def _of_layers(day: Day, batch: BatchRecord, numbers: Iterable[int], wof_g: float) -> tuple[Consumed, ...]:
    """Return the dye of layers by their recipe, cached in the plan: every entry asks."""
    layers, plan = tuple(map(batch.layer_of, numbers)), day.plan
    if (layers, wof_g) not in plan.worked_out:
        sums: dict[str, list[float]] = {}
        for number, layer in enumerate(layers, 1):
            for planned in layer_dyes(plan.solution_pct, layer, number, wof_g):
                ml = planned.solution_ml
                sums.setdefault(planned.dye, [0.0, 0.0])[ml is None] += planned.powder_g if ml is None else ml
        made = tuple(Consumed(name, ml, grams, False) for name, (ml, grams) in sums.items())
        plan.worked_out[layers, wof_g] = made
    of_each: tuple[Consumed, ...] = plan.worked_out[layers, wof_g]
    return of_each


def acids_consumed(day: Day, batch: BatchRecord) -> list[AcidIn]:
    """Return the acid put in for a batch itself in this session, not into a unit's bath."""
    earlier = _before(day, batch)
    had = 0 if earlier is None else (earlier.acid_count if isinstance(earlier, Carried) else len(earlier.acids))
    return [put for put in batch.acids[had:] if put.is_some]


def acids_put_in(day: Day) -> list[AcidIn]:
    """Return the acid put in during this session, for batches and into the baths of units."""
    into_units = [put for unit in day.units.values() for put in unit.acids if put.is_some]
    return [*into_units, *(put for batch in day.batches.values() for put in acids_consumed(day, batch))]


def acid_by_plan(day: Day, batch: BatchRecord) -> float:
    """Return the acid by the plan, mL or g, of the layers put on in this session; 0 if a batch has any on record."""
    if batch.state == State.SPLIT or acids_had(day, batch):
        return 0.0
    here = {put_on.layer for put_on in batch.painted_since_overdye if batch.is_of_session(put_on.since.utc)}
    doses = ((layer, acid_of_layer(day.plan, layer, batch.dyed_g, batch.base)) for layer in map(batch.layer_of, here))
    return sum(poured_in_all(day.plan, layer, dose.amount) for layer, dose in doses if dose is not None)


def extra_recorded(day: Day, extra: Extra) -> dict[str, float]:
    """Return how much of an extra was recorded in this session, by batch, as the plan measures it; without zeros."""
    recorded = {no: _added(day, batch, "extras").get(extra.name, 0.0) for no, batch in day.batches.items()}
    return {no: amount for no, amount in recorded.items() if amount}


def extra_by_plan(day: Day, extra: Extra, batches: Iterable[BatchRecord]) -> dict[str, float]:
    """Return what ``batches`` take of an extra by the plan, by batch, as it measures it.

    Those with any on record, also from before a split, take none. Parts of a batch that was split wet share what is
    per batch, by skeins. What is per day or lot is shared by weight of fibre; an amount recorded for one batch of the
    day or lot replaces it.
    """
    recorded = extra_recorded(day, extra)
    silent = [batch for batch in batches if not recorded.keys() & day.lineage(batch)]
    if extra.per not in (ExtraPer.DAY, ExtraPer.LOT):
        return {batch.no: extra.amount * _times(day, extra, batch) for batch in silent}
    if recorded and extra.per is ExtraPer.DAY:
        return {}
    mixes = {day.batches[no].planned_mix for no in recorded}
    rest = (batch for batch in silent if batch.planned_mix not in mixes)
    together = grouped((batch.planned_mix if extra.per == ExtraPer.LOT else "", batch) for batch in rest)
    shared = ((batch, sum(one.wof_g for one in group)) for group in together.values() for batch in group)
    return {batch.no: extra.amount * batch.wof_g / whole_g for batch, whole_g in shared}


def _times(day: Day, extra: Extra, batch: BatchRecord) -> float:
    if extra.per is not ExtraPer.BATCH:
        return float(batch.dyed_skeins) if extra.per is ExtraPer.SKEIN else batch.dyed_g / 100
    parent = day.batches.get(batch.parent or "")
    if parent is None or not _begun(parent):
        return 1.0
    return _times(day, extra, parent) * _part_of(day, batch, parent)


def _part_of(day: Day, batch: BatchRecord, parent: BatchRecord) -> float:
    """Return the share of a split batch's skeins that a part has."""
    return batch.dyed_skeins / sum(day.batches[no].dyed_skeins for no in parent.split_into)


def wetted_here(batch: BatchRecord) -> bool:
    """Return whether a batch's yarn was first wetted in this session; not for a split batch itself."""
    return batch.state != State.SPLIT and bool(_begun(batch)) and not wetted_before(batch)


def wetted_at(batch: BatchRecord) -> datetime | None:
    """Return when a batch's yarn was first wetted or dyed; None before."""
    return min(_begun(batch), default=None)


def wetted_before(batch: BatchRecord) -> bool:
    """Return whether a batch's yarn was first wetted in an earlier session."""
    return not all(batch.is_of_session(at) for at in _begun(batch))


def _begun(batch: BatchRecord) -> list[datetime]:
    return [stay.since.utc for stay in batch.stays if stay.state not in IDLE]
