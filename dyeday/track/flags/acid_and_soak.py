"""Rules about acid and soak: acid missing, too weak (by pH or by dose) or far too strong, and a short soak."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import NamedTuple

from dyeday.craft.dye.measuring import figure
from dyeday.craft.errors import above, below
from dyeday.plan.doses import Dose, acid_of_layer, full_dose, ph_for_dyes, target_ph
from dyeday.plan.model import PUTTING_DYE_ON, Acid, Layer
from dyeday.terms import AcidPlace, DyeMethod, ReadingKind, State
from dyeday.track.day.batch_record import AcidIn, BatchRecord, Reading, Stay
from dyeday.track.day.bath_contents import (
    dye_bath,
    others_in_bath,
    place_in,
    soak_acids,
    soak_water_l,
    stay_acids,
    taken_before,
    yarn_of,
)
from dyeday.track.day.bath_readings import IN_BATH_MIN, highest_ph, last_ph, last_ph_reading
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import (
    DOING,
    heats_of,
    last_dyed,
    left_fix,
    readings_of,
    soak_needed_min,
    soaked_min,
    soaks_before,
)
from dyeday.track.flags.rule import TYPED_MIN, RaisedFlag, more_min, part_text
from dyeday.track.timestamp import Moment, length_text

MIST_AND_HEAT = "press a wet white cloth on it: if it colours, mist acid water, never pour, heat again"
DILUTE = "lift the yarn, replace a third of the bath with tap water, and read again"


def missed_acid_soak(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """Dye went on yarn whose layer has its acid in the soak: with no soak, or none with acid or a low enough pH."""
    for put_on in batch.painted:
        layer = batch.layer_of(put_on.layer)
        if not layer.own_acid_soak:
            continue
        soaks = soaks_before(batch, put_on.since, put_on.layer)
        if soaks and soak_acids(day, batch, put_on.since, put_on.layer):
            continue
        ph = last_ph(batch, soaks[0].since, put_on.since) if soaks else None
        if ph is not None and not above(ph, highest_ph(day.plan, layer)):
            continue
        soaked = soaked_min(batch, put_on.since, put_on.layer)
        what = f"soaked {length_text(soaked)} with no acid recorded" if soaks else "no soak before dye went on"
        needed = soak_needed_min(batch, day.plan)
        unless = "if you poured acid, record it (b, then i); else " if soaks else ""
        # After heat its soak cannot be made up for.
        if any(heat.ended(now) is not None for heat in heats_of(batch, put_on.layer, until=now)):
            following = put_on.layer + 1
            more = batch.layer == put_on.layer and not batch.is_last_layer
            to_come = more and not batch.layer_of(following).own_acid_soak
            mist = f"{unless}mist {_soaks_acid(day, batch, layer)} over it before layer {following}, never pour: "
            remedy = f"{mist}the heat of that fixes both" if to_come else MIST_AND_HEAT
        else:
            remedy = f"{unless}mist {_soaks_acid(day, batch, layer)} over the painted yarn, never pour it, "
            remedy += f"and read the pH; or wash it out and soak {length_text(needed)} in acid before dyeing again"
        yield RaisedFlag(put_on.since.utc, what, remedy, cause=soak_load_key(day, batch, soaks[-1]) if soaks else "")


def _soaks_acid(day: Day, batch: BatchRecord, layer: Layer) -> str:
    """Return what to mist for a soak that had no acid: its dose in little water; common practice, no source."""
    if (dose := acid_of_layer(day.plan, layer, batch.wof_g, batch.base)) is None:
        return "acid water"
    from dyeday.plan.amount_text import acid_amount_text  # loads `units`, which the bench starts without

    return f"{acid_amount_text(day.plan, dose.amount)} of {day.plan.acid.kind.value}, thinned with a little water,"


def soak_load_key(day: Day, batch: BatchRecord, soak: Stay) -> str:
    """Return the cause that the batches of one soaking load share; "" without a unit."""
    if (place := place_in(batch, soak)) is None:
        return ""
    places = (p for other in day.unsplit for p in other.placements if p.unit == place.unit)
    first = min([place.since.utc, *(p.since.utc for p in places if p.meets(place.since, place.until))])
    return f"{place.unit} {first}"


def no_acid(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """A layer whose acid is in the bath or the paint left its heat with none on record and no low enough pH."""
    for stay, left in left_fix(batch):
        layer = batch.layer_of(stay.layer)
        if layer.acid_in == AcidPlace.SOAK:
            continue
        dyed = last_dyed(batch, stay.layer, stay.since) or stay.since
        # Acid mixed into bath or paint before dye goes on counts: from when the stay before it began.
        since = next((one.since for one in reversed(batch.stays) if one.since.utc < dyed.utc), None)
        puts = (put for put in batch.acids if put.is_some and put.at.utc <= left.utc)
        own = any(since is None or since.utc <= put.at.utc for put in puts)
        fixed = Stay(State.FIX, stay.layer, since or batch.stays[0].since, left)
        if own or stay_acids(day, batch, fixed, left):
            continue
        ph = last_ph(batch, since, left)
        if ph is not None and not above(ph, highest_ph(day.plan, layer)):
            continue
        yield RaisedFlag(
            left.utc,
            f"no acid recorded in the {layer.acid_in.value} of layer {stay.layer}",
            f"read the pH of what is left; above {highest_ph(day.plan, layer):.1f} add acid to the bath "
            "(mist acid water on painted yarn) and heat again",
        )


def short_soak(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """Dye went on after less soak than the base needs; nothing where no soak is on record."""
    needed = soak_needed_min(batch, day.plan)
    for put_on in batch.painted:
        layer = batch.layer_of(put_on.layer)
        if (put_on.layer > 1 or batch.recipes_beneath) and not layer.own_acid_soak:
            continue
        if not soaks_before(batch, put_on.since, put_on.layer):
            continue
        soaked = soaked_min(batch, put_on.since, put_on.layer)
        if soaked <= needed - TYPED_MIN:
            acid, then = "acid " if layer.acid_in == AcidPlace.SOAK else "", DOING[PUTTING_DYE_ON[layer.how]]
            remedy = f"back into the {acid}soak for {more_min(needed - soaked)} min before {then}"
            if heats_of(batch, put_on.layer, until=now):
                remedy = "the dye may not have reached the core: open a ply once dry; pale inside, dye it over"
            yield RaisedFlag(put_on.since.utc, f"soaked {part_text(soaked, needed, 'min')}", remedy)


class _LayerAcid(NamedTuple):
    """The acid of a layer, and the water it is in: its soak, bath or paint."""

    layer: Layer
    since: Moment
    """when the yarn went in, or dye went on it"""
    until: Moment
    """when dye goes on yarn that was soaked in it, or the yarn leaves its heat"""
    acids: list[AcidIn]
    need: Dose | None
    taken: float
    """acid, mL or g, that loads before took out of it"""
    fraction: float = 1.0
    """the batch's part of the yarn in it; 1 in a bath, whose remedy is for all of it"""
    cause: str = ""

    def has(self, acid: Acid) -> float:
        """Return the acid in it for this load, mL or g."""
        return sum(put.amount_of(acid) for put in self.acids) - self.taken


def weak_acid(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """The last pH read after `IN_BATH_MIN` is too high, or none was read and too little of the dose is in."""
    for water in (*_soaks(day, batch, now), *_baths(day, batch, now)):
        read = last_ph_reading(batch, water.since.later(IN_BATH_MIN * 60), water.until)
        since = read.at if read is not None else water.until
        if (why := _weak(day, water, read)) and not _put_right(day, batch, water.layer, since, now, water.acids):
            remedy = _read_again(day, batch, water, read, now) or _remedy(day, batch, water, now)
            yield RaisedFlag(water.until.utc, f"{water.layer.acid_in.value}: {why}", remedy, cause=water.cause)
    yield from _high_after_heat(day, batch, now)


def _high_after_heat(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """Yield the first pH of each cooling of painted yarn that is too high."""
    for stay in batch.stays:
        layer, until = batch.layer_of(stay.layer), stay.until or now
        if stay.state is not State.COOL or layer.acid_in is not AcidPlace.SOAK or layer.how is DyeMethod.IMMERSED:
            continue
        read = (one for one in readings_of(batch, ReadingKind.PH) if stay.since.utc <= one.at.utc <= until.utc)
        whys = ((one.at.utc, _high(day, layer, one)) for one in read)
        found = next(((at, why) for at, why in whys if why), None)
        if found and not _put_right(day, batch, layer, Moment(found[0]), now):
            yield RaisedFlag(found[0], f"after the heat: {found[1]}", MIST_AND_HEAT)


def _put_right(
    day: Day, batch: BatchRecord, layer: Layer, since: Moment, now: Moment, acids: Iterable[AcidIn] = ()
) -> bool:
    """Return whether the last pH read ``since`` then is right, and no heat is needed after the acid for it."""
    later = (one for one in readings_of(batch, ReadingKind.PH) if since.utc < one.at.utc <= now.utc)
    read = [one for one in later if one.state in (State.PAINT, State.FIX, State.COOL)]
    if not read or above(float(read[-1].value), highest_ph(day.plan, layer)):
        return False
    puts = (put.at.utc for put in (*acids, *batch.acids) if put.is_some and put.at.utc <= read[-1].at.utc)
    acid_at = max((since.utc, *puts))
    heats = [heat for heat in batch.heats if heat.layer == read[-1].layer]
    ends = (heat.ended(now) for heat in heats)
    was_heated = any(end is not None and end.utc <= acid_at for end in ends)
    return not was_heated or any(heat.start.utc >= acid_at for heat in heats)


def acid_put_right(day: Day, batch: BatchRecord, since: datetime, now: Moment) -> bool:
    """Return whether a later pH settles that acid was too weak ``since`` then, in an earlier session."""
    puts = [put.at for put in batch.acids if put.is_some and put.at.utc <= since]
    return _put_right(day, batch, batch.current_layer, max(puts, default=batch.stays[0].since), now)


def _soaks(day: Day, batch: BatchRecord, now: Moment) -> Iterator[_LayerAcid]:
    missed = {raised.since for raised in missed_acid_soak(day, batch, now)}
    for put_on in batch.painted:
        layer = batch.layer_of(put_on.layer)
        soaks = soaks_before(batch, put_on.since, put_on.layer)
        if not layer.own_acid_soak or not soaks or put_on.since.utc in missed:
            continue
        others = others_in_bath(day, batch, soaks[-1])
        yield _LayerAcid(
            layer,
            soaks[0].since,
            put_on.since,
            soak_acids(day, batch, put_on.since, put_on.layer),
            full_dose(day.plan, soak_water_l(day, batch, soaks[-1], put_on.since), yarn_of(batch, *others), layer),
            sum(taken_before(day, batch, soak, put_on.since) for soak in soaks),
            batch.wof_g / (batch.wof_g + sum(other.wof_g for other in others)),
            soak_load_key(day, batch, soaks[-1]),
        )


def _baths(day: Day, batch: BatchRecord, now: Moment) -> Iterator[_LayerAcid]:
    missed = {raised.since for raised in no_acid(day, batch, now)}
    for stay, left in left_fix(batch):
        layer = batch.layer_of(stay.layer)
        if layer.acid_in == AcidPlace.SOAK or left.utc in missed:
            continue
        since = last_dyed(batch, stay.layer, stay.since) or stay.since
        dyed = Stay(State.FIX, stay.layer, since, left)
        bath = dye_bath(day, batch, dyed, left)
        need = full_dose(day.plan, bath.litres, bath.yarn, layer)
        yield _LayerAcid(layer, since, left, bath.acids, need, taken_before(day, batch, dyed, left))


def _weak(day: Day, water: _LayerAcid, read: Reading | None) -> str:
    """Return why the acid was too weak; empty if it was not, or if that is not known."""
    acid, need = day.plan.acid, water.need
    if read is not None:
        return _high(day, water.layer, read)
    # Another acid than the plan's may have gone in: its strength is not known.
    other = sum(put.amount_g if acid.is_liquid else put.amount_ml for put in water.acids)
    has = water.has(acid)
    if need is None or other > 0 or not below(has, need.amount * day.plan.rules.acid_share / 100):
        return ""
    in_g = f"{figure(has, 3)} of {figure(need.amount, 3)} g"
    of_need = part_text(has, need.amount, "mL") if acid.is_liquid else in_g
    after = ", after an earlier load used some" if water.taken > 0 else ""
    return f"acid {of_need} that {need.water_l:g} L of this water and the yarn in it need{after}"


def _high(day: Day, layer: Layer, read: Reading) -> str:
    """Return why a pH is too high for a layer; empty where it is not."""
    ph, limit = float(read.value), highest_ph(day.plan, layer)
    why = f"pH {ph:g}, target {target_ph(day.plan, layer):g}, at most {round(limit, 2):g}"
    return why if above(ph, limit) else ""


def _read_again(day: Day, batch: BatchRecord, water: _LayerAcid, read: Reading | None, now: Moment) -> str:
    """Return what to do if acid went in after a pH: read it again, or heat again if it is good by now; else ""."""
    own = [put for put in batch.acids if put not in water.acids and put.at.utc <= now.utc]
    later = [put for put in (*water.acids, *own) if read is not None and put.is_some and put.at.utc > read.at.utc]
    if not later:
        return ""
    again = last_ph_reading(batch, max(put.at for put in later), now)
    if again is not None and again is not read:
        good = not above(float(again.value), highest_ph(day.plan, water.layer))
        return f"pH {again.value:g} was read since: good, now heat again" if good else ""
    amounts = (sum(put.amount_ml for put in later), "mL"), (sum(put.amount_g for put in later), "g")
    more = " and ".join(f"{amount:g} {unit}" for amount, unit in amounts if amount)
    return f"read the pH again: {more} of acid went in after that reading"


def _remedy(day: Day, batch: BatchRecord, water: _LayerAcid, now: Moment) -> str:
    acid, layer = day.plan.acid, water.layer
    lacks = 0.0 if water.need is None else (water.need.amount - water.has(acid)) * water.fraction
    amount = f"{lacks:.0f} mL" if acid.is_liquid else f"{figure(lacks, 2)} g"
    more = f" {amount}" if lacks > 0 and amount != "0 mL" else ""
    if layer.how is DyeMethod.IMMERSED and layer.acid_in is not AcidPlace.SOAK:
        return f"stir in{more} more {acid.kind.value}, heat again, and read the pH before the heat ends"
    heated = (heat.start.utc >= water.until.utc and heat.ended(now) is not None for heat in batch.heats)
    if layer.acid_in is not AcidPlace.SOAK or any(heated):
        return MIST_AND_HEAT
    what = f"{more.strip()} more {acid.kind.value}, thinned with water," if more else "acid water"
    mist = f"mist {what} over the painted yarn, never pour it"
    if last_ph_reading(batch, water.since, now) is None:
        return f"read the pH of a drop squeezed out; above the target, {mist}"
    return f"{mist}, and read the pH before the heat ends"


def sour_bath(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """An immersed layer read more than `ph_low` below the pH its dyes need; a sour soak, cold, does no harm."""
    for reading in readings_of(batch, ReadingKind.PH):
        layer = batch.layer_of(reading.layer)
        if layer.how != DyeMethod.IMMERSED or reading.state == State.SOAK:
            continue
        if (needed_ph := ph_for_dyes(day.plan, layer)) is None:
            continue
        read, low = float(reading.value), min(needed_ph.low, needed_ph.high)
        if below(read, low - day.plan.rules.ph_low):
            yield RaisedFlag(
                reading.at.utc,
                f"pH {read:g} in the bath, its dyes need {low:g} and more",
                f"{DILUTE}; never put bicarbonate into a hot bath",
            )
