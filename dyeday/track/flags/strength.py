"""The rule about too little acid: what was read, or what was put in against what the water alone needs."""

from __future__ import annotations

from collections.abc import Iterator

from dyeday.plan.amounts import liquor_ml
from dyeday.plan.doses import SOAK_L_PER_KG, Dose, dose
from dyeday.track.bath import last_ph, ph_limit
from dyeday.track.day import Day
from dyeday.track.flags.rule import Raised, of
from dyeday.track.flags.soaking import missed_acid_soak, no_acid
from dyeday.track.instant import Now
from dyeday.track.progress import left_fix, soak_acids, soaks_before, stay_acids
from dyeday.track.record import AcidIn, BatchRecord, Stay


def weak_acid(day: Day, batch: BatchRecord, now: Now) -> Iterator[Raised]:
    """The pH read above the target by more than the limit; not read, less acid than a share of the water's need."""
    yield from _soaks(day, batch, now)
    yield from _baths(day, batch, now)


def _soaks(day: Day, batch: BatchRecord, now: Now) -> Iterator[Raised]:
    missed = {raised.since for raised in missed_acid_soak(day, batch, now)}
    for put_on in batch.painted:
        layer = batch.layer_of(put_on.layer)
        soaks = soaks_before(batch, put_on.since, put_on.layer)
        if layer.acid_in != "soak" or not layer.new_soak or not soaks or put_on.since.utc in missed:
            continue
        ph = last_ph(batch, soaks[0].since, put_on.since)
        acids = soak_acids(day, batch, put_on.since, put_on.layer)
        water_l = soak_water_l(day, batch, soaks[-1], put_on.since)
        why = _weak(day, ph, acids, dose(day.plan, water_l))
        if why:
            yield Raised(put_on.since.utc, f"soak: {why}", _remedy(day, acids, water_l, ph, painted=True))


def _baths(day: Day, batch: BatchRecord, now: Now) -> Iterator[Raised]:
    missed = {raised.since for raised in no_acid(day, batch, now)}
    for stay, left in left_fix(batch):
        layer = batch.layer_of(stay.layer)
        if layer.acid_in == "soak" or left.utc in missed:
            continue
        since = next((p.since for p in reversed(batch.painted) if p.layer == stay.layer), stay.since)
        ph = last_ph(batch, since, left)
        own = [put for put in batch.acids if put.layer == stay.layer and put.at.utc <= left.utc]
        shared = stay_acids(day, batch, Stay("fix", stay.layer, since, left), left)
        water_l = liquor_ml(layer, batch.wof_g) / 1000
        why = _weak(day, ph, [*own, *shared], dose(day.plan, water_l))
        if why:
            painted = layer.how != "immersed"
            yield Raised(left.utc, f"{layer.acid_in}: {why}", _remedy(day, own, water_l, ph, painted=painted))


def soak_water_l(day: Day, batch: BatchRecord, soak: Stay, now: Now) -> float:
    """Return the bath of a soak: as recorded when its unit was filled, else 10 L/kg of all the yarn in it."""
    place = next(
        (
            p
            for p in reversed(batch.placements)
            if p.since.utc <= (soak.until or now).utc and (p.until is None or p.until.utc > soak.since.utc)
        ),
        None,
    )
    if place is None:
        return batch.wof_g / 1000 * SOAK_L_PER_KG
    unit = day.units.get(place.unit)
    litres = [] if unit is None else [litres for at, litres in unit.litres if at.utc <= (soak.until or now).utc]
    if litres:
        return litres[-1]
    begin = soak.since.utc
    together = [
        other.wof_g
        for other in day.live
        if other.no != batch.no
        and any(
            p.unit == place.unit and p.since.utc <= begin and (p.until is None or p.until.utc > begin)
            for p in other.placements
        )
    ]
    return (batch.wof_g + sum(together)) / 1000 * SOAK_L_PER_KG


def _weak(day: Day, ph: float | None, acids: list[AcidIn], need: Dose | None) -> str:
    if ph is not None:
        limit = ph_limit(day.plan)
        return f"pH {ph:g}, wanted {day.plan.acid.target_ph:g} and at most {limit:.1f}" if ph > limit + 1e-9 else ""
    if need is None or need.amount <= 0:
        return ""
    liquid = day.plan.acid.is_liquid
    put = sum(a.amount_ml if liquid else a.amount_g for a in acids)
    other = sum(a.amount_g if liquid else a.amount_ml for a in acids)
    if other > 0:
        return ""  # another acid than the plan's went in: its strength is not known
    if put < need.amount * day.plan.rules.acid_share / 100 - 1e-9:
        unit = "mL" if liquid else "g"
        return f"acid {of(put, need.amount, unit)} that {need.water_l:g} L of this water needs alone"
    return ""


def _remedy(day: Day, acids: list[AcidIn], water_l: float, ph: float | None, *, painted: bool) -> str:
    liquid = day.plan.acid.is_liquid
    need = dose(day.plan, water_l)
    put = sum(a.amount_ml if liquid else a.amount_g for a in acids)
    more = "" if need is None or need.amount <= put else f" {need.amount - put:.0f} {'mL' if liquid else 'g'}"
    how = "mist" if painted else "stir in"
    tail = " over the painted yarn, never pour it" if painted else ""
    return f"{how}{more} more {day.plan.acid.kind}{tail}, and read the pH before the heat ends"
