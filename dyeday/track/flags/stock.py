"""The rule about the shelf: the plan or the record needs more dye, acid or yarn than is on hand. It is of the day."""

from __future__ import annotations

from collections.abc import Iterator

from dyeday.plan.amounts import planned_dyes
from dyeday.plan.doses import layer_dose, soak_dose
from dyeday.track.day import Day
from dyeday.track.flags.rule import Raised
from dyeday.track.instant import Now


def short_stock(day: Day, now: Now) -> Iterator[Raised]:
    """More needed than is on hand; nothing where what is on hand is not known."""
    if not day.events:
        return
    since = min(event.at for event in day.events)
    short = list(shortages(day))
    if short:
        yield Raised(since, "; ".join(short), "dye fewer, weaken the depth, or fetch more before these are begun")


def shortages(day: Day) -> Iterator[str]:
    """Yield a sentence for every dye, for the acid and for every base that is short."""
    plan = day.plan
    for dye in plan.dyes:
        need = dye_needs_g(day).get(dye.name, 0.0)
        if dye.on_hand_g is not None and need > dye.on_hand_g + 1e-9:
            yield f"{dye.name}: {need:.1f} of {dye.on_hand_g:.1f} g on hand"
    need = acid_need(day)
    if plan.acid.on_hand is not None and need > plan.acid.on_hand + 1e-9:
        unit = "mL" if plan.acid.is_liquid else "g"
        yield f"{plan.acid.kind}: {need:.0f} of {plan.acid.on_hand:.0f} {unit} on hand"
    for base in plan.bases:
        pieces = sum(batch.skeins for batch in day.live if batch.base.name == base.name)
        if base.on_hand is not None and pieces > base.on_hand:
            yield f"{base.name}: {pieces} of {base.on_hand:g} pieces on hand"


def dye_needs_g(day: Day) -> dict[str, float]:
    """Return the powder each dye takes: as recorded where a batch recorded any, else by its recipe."""
    needs: dict[str, float] = {}
    for batch in day.live:
        recorded = {name: _grams(day, name, ml) for name, ml in batch.used_ml}
        for name, grams in batch.powder_g:
            recorded[name] = recorded.get(name, 0.0) + grams
        if not recorded:
            for planned in planned_dyes(day.plan, batch.colourway, batch.wof_g):
                recorded[planned.dye] = recorded.get(planned.dye, 0.0) + planned.powder_g
        for name, grams in recorded.items():
            needs[name] = needs.get(name, 0.0) + grams
    return needs


def _grams(day: Day, name: str, volume_ml: float) -> float:
    dye = day.plan.dye(name)
    return volume_ml * (dye.solution_pct if dye is not None else 1.0) / 100


def acid_need(day: Day) -> float:
    """Return the acid the day takes, mL or g: what was put in, and the dose for what was not begun yet."""
    plan = day.plan
    put = [a for batch in day.batches.values() for a in batch.acids]
    put += [a for unit in day.units.values() for a in unit.acids]
    total = sum(a.amount_ml if plan.acid.is_liquid else a.amount_g for a in put)
    for batch in day.live:
        first = batch.colourway.layers[0]
        if batch.state == "waiting" and first.acid_in == "soak":
            need = soak_dose(plan, batch.wof_g, batch.base)
            total += need.amount if need is not None else 0.0
        for number, layer in enumerate(batch.colourway.layers, 1):
            if layer.acid_in != "soak" and not any(p.layer == number for p in batch.painted):
                need = layer_dose(plan, layer, batch.wof_g, batch.base)
                total += need.amount if need is not None else 0.0
    return total
