"""The rule about too little acid: what was read, or what was left in the bath against its full dose."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from enum import IntEnum

from dyeday.craft.dye.measuring import figure
from dyeday.craft.water.acid_on_fibre import LEAST_OF_UPPER
from dyeday.plan.amounts import liquor_ml
from dyeday.plan.doses import Dose, as_wool_g, dose, soak_l, target_ph
from dyeday.plan.model import Layer
from dyeday.terms import AcidPlace, How, State
from dyeday.track.day.batch_record import BatchRecord, Placement, Reading, Stay
from dyeday.track.day.bath_readings import last_ph_reading, ph_limit
from dyeday.track.day.baths import AcidIn, Bath
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import baths_of_stay, left_fix, soak_acids, soaks_before, stay_acids
from dyeday.track.flags.rule import Raised, of
from dyeday.track.flags.soaking import missed_acid_soak, no_acid
from dyeday.track.timestamp import Now


def weak_acid(day: Day, batch: BatchRecord, now: Now) -> Iterator[Raised]:
    """The pH read above the target by more than the limit; not read, less acid than a share of the full dose."""
    yield from _soaks(day, batch, now)
    yield from _baths(day, batch, now)


def _soaks(day: Day, batch: BatchRecord, now: Now) -> Iterator[Raised]:
    missed = {raised.since for raised in missed_acid_soak(day, batch, now)}
    for put_on in batch.painted:
        layer = batch.layer_of(put_on.layer)
        soaks = soaks_before(batch, put_on.since, put_on.layer)
        if layer.acid_in != AcidPlace.SOAK or not layer.new_soak or not soaks or put_on.since.utc in missed:
            continue
        read = last_ph_reading(batch, soaks[0].since, put_on.since)
        others = _others_in_soak(day, batch, soaks[-1])
        acids = [
            *soak_acids(day, batch, put_on.since, put_on.layer),
            *_theirs(batch, others, soaks[-1], put_on.since),
        ]
        fibre_g = sum(as_wool_g(day.plan, one.wof_g, one.base, layer) for one in (batch, *others))
        need = dose(day.plan, soak_water_l(day, batch, soaks[-1], put_on.since), fibre_g, layer)
        gone = sum(taken_before(day, batch, soak, put_on.since) for soak in soaks)
        why = _weak(day, layer, read, acids, need, gone)
        if why:
            share = batch.wof_g / (batch.wof_g + sum(other.wof_g for other in others))
            again = _read_again(day, batch, layer, read, acids, now)
            seen = last_ph_reading(batch, soaks[0].since, now) is not None
            remedy = again or _remedy(day, acids, need, share, gone, squeeze=not seen, painted=True)
            yield Raised(put_on.since.utc, f"soak: {why}", remedy)


def _baths(day: Day, batch: BatchRecord, now: Now) -> Iterator[Raised]:
    missed = {raised.since for raised in no_acid(day, batch, now)}
    for stay, left in left_fix(batch):
        layer = batch.layer_of(stay.layer)
        if layer.acid_in == AcidPlace.SOAK or left.utc in missed:
            continue
        since = next((p.since for p in reversed(batch.painted) if p.layer == stay.layer), stay.since)
        read = last_ph_reading(batch, since, left)
        dyed = Stay(State.FIX, stay.layer, since, left)
        own = [put for put in batch.acids if put.layer == stay.layer and put.at.utc <= left.utc]
        place = _place_in(batch, dyed) if layer.how == How.IMMERSED else None
        others = _sharing(day, batch, place.unit, since, left) if place is not None else []
        acids = [*own, *stay_acids(day, batch, dyed, left), *_theirs(batch, others, dyed, left)]
        litres = recorded_l(day, place.unit, since, left) if place is not None else None
        if litres is None:
            litres = liquor_ml(layer, batch.wof_g) / 1000
            litres += sum(liquor_ml(other.the_layer, other.wof_g) / 1000 for other in others)
        fibre_g = sum(as_wool_g(day.plan, one.wof_g, one.base, layer) for one in (batch, *others))
        need = dose(day.plan, litres, fibre_g, layer)
        gone = taken_before(day, batch, dyed, left)
        why = _weak(day, layer, read, acids, need, gone)
        if why:
            painted = layer.how != How.IMMERSED
            again = _read_again(day, batch, layer, read, acids, now)
            seen = last_ph_reading(batch, since, now) is not None
            remedy = again or _remedy(day, acids, need, 1.0, gone, squeeze=not seen, painted=painted)
            yield Raised(left.utc, f"{layer.acid_in.value}: {why}", remedy)


def taken_before(day: Day, batch: BatchRecord, stay: Stay, until: Now) -> float:
    """Return the acid, mL or g, that loads before a batch took out of the baths it was in: with fibre and liquor.

    The lower estimate, kinder to the dyer: half of what the fibre may take at most (`LEAST_OF_UPPER`), and the liquor
    that the yarn carried away (`CARRIED_L_PER_KG`) with its share of what was left. 0 in new water.
    """
    gone = 0.0
    for bath, end in baths_of_stay(day, batch, stay, until):
        put_in = sum(put.amount_of(day.plan.acid) for put in bath.acids_by(end))
        gone += put_in - left_for(day, bath, batch, end)[1]
    return gone


def left_for(day: Day, bath: Bath, batch: BatchRecord | None, until: Now) -> tuple[float, float]:
    """Return (L, acid in mL or g) in a bath by ``until`` for a batch, or (None) for the load after the last.

    What came after those before it had left is all there; of what was there before, they took their part. The water
    is that of a soak, topped up for each load.
    """
    line = day.line_of(batch) if batch is not None else ()
    came = next((at.utc for no, at in bath.loads if no in line), until.utc)
    changes: list[tuple[datetime, _Change, float, BatchRecord | None]] = [
        (put.at.utc, _Change.ACID, put.amount_of(day.plan.acid), None) for put in bath.acids_by(until)
    ]
    for no, at in bath.loads:
        for other in day.live:
            left = _gone_from(other, at)
            if no in day.line_of(other) and at.utc < came and (left is None or left.utc > at.utc):
                changes.append((at.utc, _Change.COMES, 0.0, other))
                changes += [(left.utc, _Change.LEAVES, 0.0, other)] if left is not None and left.utc <= came else []
    litres = acid = inside_g = takes = 0.0  # takes: with the fibre of what is inside
    for _, change, amount, other_or_none in sorted(changes, key=lambda one: one[:2]):
        acid += amount
        if other_or_none is None:
            continue
        took = _fibre_took(day, other_or_none)
        if change is _Change.COMES:
            inside_g, takes = inside_g + other_or_none.wof_g, takes + took
            litres = max(litres, soak_l(inside_g))
        else:
            carried_l = CARRIED_L_PER_KG * other_or_none.wof_g / 1000
            acid = max(0.0, acid - took - max(0.0, acid - takes) * carried_l / litres)
            inside_g, takes, litres = inside_g - other_or_none.wof_g, takes - took, litres - carried_l
    return litres, acid


class _Change(IntEnum):
    """What happens to a bath, in the order in which it does at one moment."""

    LEAVES = 0
    ACID = 1
    COMES = 2


def _gone_from(batch: BatchRecord, came: Now) -> Now | None:
    """Return when a batch left the unit it was in at ``came``; None while it is there."""
    unit: str | None = None
    end: Now | None = came
    for place in batch.placements:
        covers = place.since.utc <= came.utc and (place.until is None or place.until.utc > came.utc)
        if (unit is None and covers) or (unit == place.unit and end is not None and place.since.utc == end.utc):
            unit, end = place.unit, place.until
    return end


def kept_bath(day: Day, unit: str, batch: BatchRecord, layer: Layer, now: Now) -> tuple[float, float, float] | None:
    """Return (L left, L to top up, acid to add in mL or g) were the water of a unit's last bath kept for a batch.

    None where there is no such bath: nothing was in it yet, it was poured away, or yarn is in the unit.
    """
    record = day.units.get(unit)
    if record is None or len(record.baths) < 2 or record.baths[-1].loads or record.baths[-2].poured_away:
        return None
    left_l, acid = left_for(day, record.baths[-2], None, now)
    want_l = max(left_l, soak_l(batch.wof_g))
    need = dose(day.plan, want_l, as_wool_g(day.plan, batch.wof_g, batch.base, layer), layer)
    if need is None:
        return None
    return left_l, want_l - left_l, max(0.0, need.amount - acid)


def _fibre_took(day: Day, batch: BatchRecord) -> float:
    layer = batch.the_layer
    need = dose(day.plan, 1.0, as_wool_g(day.plan, batch.wof_g, batch.base, layer), layer)
    return need.fibre_most * LEAST_OF_UPPER if need is not None else 0.0


CARRIED_L_PER_KG = 1.25
"""that soaked yarn carries away, hand-squeezed 1.0 to 1.5 L/kg; common practice, no source"""


def soak_water_l(day: Day, batch: BatchRecord, soak: Stay, now: Now) -> float:
    """Return the bath of a soak: as recorded when its unit was filled, else 10 L/kg of all the yarn in it."""
    place = _place_in(batch, soak)
    litres = recorded_l(day, place.unit, soak.since, soak.until or now) if place is not None else None
    if litres is not None:
        return litres
    together = [batch, *_others_in_soak(day, batch, soak)]
    return soak_l(sum(one.wof_g for one in together))


def recorded_l(day: Day, unit: str, since: Now, until: Now) -> float | None:
    """Return the litres a unit was last filled with by ``until``, None where that was not said.

    A bath poured away by ``since`` is no longer there.
    """
    record = day.units.get(unit)
    if record is None:
        return None
    emptied = max((e.utc for e in record.emptied if e.utc <= since.utc), default=None)
    litres = [
        filled for at, filled in record.litres if at.utc <= until.utc and (emptied is None or at.utc >= emptied)
    ]
    return litres[-1] if litres else None


def _sharing(day: Day, batch: BatchRecord, unit: str, since: Now, until: Now | None) -> list[BatchRecord]:
    """Return the other batches in a unit from ``since`` to ``until``, at its fullest moment."""
    inside = [
        (other, place)
        for other in day.live
        if other.no != batch.no
        for place in other.placements
        if place.unit == unit
        and (until is None or place.since.utc < until.utc)
        and (place.until is None or place.until.utc > since.utc)
    ]
    moments = [since.utc, *(place.since.utc for _, place in inside if place.since.utc > since.utc)]
    return max(
        (
            [o for o, p in inside if p.since.utc <= moment and (p.until is None or p.until.utc > moment)]
            for moment in moments
        ),
        key=lambda together: sum(other.wof_g for other in together),
    )


def _others_in_soak(day: Day, batch: BatchRecord, soak: Stay) -> list[BatchRecord]:
    place = _place_in(batch, soak)
    if place is None:
        return []
    return _sharing(day, batch, place.unit, max(place.since, soak.since, key=lambda m: m.utc), soak.until)


def _place_in(batch: BatchRecord, stay: Stay) -> Placement | None:
    """Return the last place a batch had during a stay; the one it went to at its end is not of it."""
    return next(
        (
            place
            for place in reversed(batch.placements)
            if (stay.until is None or place.since.utc < stay.until.utc or place.since.utc <= stay.since.utc)
            and (place.until is None or place.until.utc > stay.since.utc)
        ),
        None,
    )


def _theirs(batch: BatchRecord, others: list[BatchRecord], stay: Stay, until: Now) -> list[AcidIn]:
    """Return the acid recorded with the batches that shared a bath: it is in the same water.

    Parts of one batch carry the same past, which counts once.
    """
    mine = set(batch.acids)
    return [
        put
        for other in others
        for put in other.acids
        if put.any
        and stay.since.utc <= put.at.utc <= until.utc
        and not (other.parent is not None and other.parent == batch.parent and put in mine)
    ]


def _weak(day: Day, layer: Layer, read: Reading | None, acids: list[AcidIn], need: Dose | None, gone: float) -> str:
    if read is not None:
        ph = float(read.value)
        limit = ph_limit(day.plan, layer)
        wanted = f"wanted {target_ph(day.plan, layer):g} and at most {round(limit, 2):g}"
        return f"pH {ph:g}, {wanted}" if ph > limit + 1e-9 else ""
    if need is None or need.amount <= 0:
        return ""
    liquid = day.plan.acid.is_liquid
    put = sum(one.amount_of(day.plan.acid) for one in acids) - gone
    other = sum(a.amount_g if liquid else a.amount_ml for a in acids)
    if other > 0:
        return ""  # another acid than the plan's went in: its strength is not known
    if put < need.amount * day.plan.rules.acid_share / 100 - 1e-9:
        numbers = of(put, need.amount, "mL") if liquid else f"{figure(put, 3)} of {figure(need.amount, 3)} g"
        kept = ", after what the load before took" if gone > 0 else ""
        return f"acid {numbers} that {need.water_l:g} L of this water and the fibre in it want{kept}"
    return ""


def _read_again(
    day: Day, batch: BatchRecord, layer: Layer, read: Reading | None, acids: list[AcidIn], now: Now
) -> str:
    """Return the remedy where acid went in after the pH was read: nobody knows what it is since, so it is read.

    Empty where none did, or where a later reading says that it was not enough.
    """
    if read is None:
        return ""
    own = [put for put in batch.acids if put not in acids and put.at.utc <= now.utc]
    later = [put for put in (*acids, *own) if put.any and put.at.utc > read.at.utc]
    if not later:
        return ""
    again = last_ph_reading(batch, max((put.at for put in later), key=lambda at: at.utc), now)
    if again is not None and again is not read:
        good = float(again.value) <= ph_limit(day.plan, layer) + 1e-9
        return f"pH {again.value:g} was read since: good, resolve it with that" if good else ""
    amounts = [sum(put.amount_ml for put in later), sum(put.amount_g for put in later)]
    more = " and ".join(f"{amount:g} {of}" for amount, of in zip(amounts, ("mL", "g"), strict=True) if amount)
    return f"read the pH again: {more} of acid went in after that reading"


def _remedy(
    day: Day, acids: list[AcidIn], need: Dose | None, share: float, gone: float, *, squeeze: bool, painted: bool
) -> str:
    """Return what to do; ``share`` is the batch's part of the yarn in the bath, ``squeeze`` where no pH was read."""
    liquid = day.plan.acid.is_liquid
    put = sum(one.amount_of(day.plan.acid) for one in acids) - gone
    lacks = 0.0 if need is None else (need.amount - put) * share
    amount = f"{lacks:.0f} mL" if liquid else f"{figure(lacks, 2)} g"
    more = f" {amount}" if lacks > 0 and amount != "0 mL" else ""
    kind = day.plan.acid.kind.value
    if not painted:
        return f"stir in{more} more {kind}, and read the pH before the heat ends"
    mist = f"mist{more} more {kind} over the painted yarn, never pour it"
    if squeeze:
        return f"read the pH of a drop squeezed out; above the target, {mist}"
    return f"{mist}, and read the pH before the heat ends"
