"""Rules about the soak: its acid before dye went on, and its minutes."""

from __future__ import annotations

from collections.abc import Iterator

from dyeday.craft.errors import above
from dyeday.terms import AcidPlace, DyeMethod, State
from dyeday.track.day.batch_record import BatchRecord, Stay
from dyeday.track.day.bath_contents import place_in
from dyeday.track.day.bath_readings import last_ph, ph_limit
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import (
    heats_of,
    last_dyed,
    left_fix,
    soak_acids,
    soak_needed_min,
    soaked_min,
    soaks_before,
    stay_acids,
)
from dyeday.track.flags.rule import TYPED_MIN, RaisedFlag, more_min, part_text
from dyeday.track.timestamp import Moment, length_text

_PUTTING = {DyeMethod.PAINTED: "painting", DyeMethod.SPECKLED: "speckling", DyeMethod.IMMERSED: "dyeing"}


def missed_acid_soak(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """Dye went on yarn whose layer has its acid in the soak, without a soak or without acid in it."""
    for put_on in batch.painted:
        layer = batch.layer_of(put_on.layer)
        if not layer.own_acid_soak:
            continue
        soaks = soaks_before(batch, put_on.since, put_on.layer)
        if soaks and soak_acids(day, batch, put_on.since, put_on.layer):
            continue
        ph = last_ph(batch, soaks[0].since, put_on.since) if soaks else None
        if ph is not None and not above(ph, ph_limit(day.plan, layer)):
            continue
        soaked = soaked_min(batch, put_on.since, put_on.layer)
        what = f"soaked {length_text(soaked)} with no acid recorded" if soaks else "no soak before dye went on"
        needed = soak_needed_min(batch, day.plan)
        if _is_heated(batch, put_on.layer, now):
            remedy = "press a wet white cloth on it: clean, the dye is on; coloured, mist acid over the yarn, never "
            remedy += "pour it, and heat it again"
        else:
            remedy = "mist acid over the painted yarn, never pour it, and read the pH; or wash it out and "
            remedy += f"soak {length_text(needed)} in acid before dyeing again"
        yield RaisedFlag(put_on.since.utc, what, remedy, cause=soak_load_key(day, batch, soaks[-1]) if soaks else "")


def _is_heated(batch: BatchRecord, layer: int, now: Moment) -> bool:
    """Return whether a layer has been at heat since its dye went on: then its soak cannot be made up for."""
    return any(heat.ended(now) is not None for heat in heats_of(batch, layer, until=now))


def soak_load_key(day: Day, batch: BatchRecord, soak: Stay) -> str:
    """Return a key that the batches of one soaking load share, the cause of their flag: what one lacked, all lacked.

    "" where it soaked in no unit.
    """
    place = place_in(batch, soak)
    if place is None:
        return ""
    places = (p for other in day.unsplit for p in other.placements if p.unit == place.unit)
    first = min([place.since.utc, *(p.since.utc for p in places if p.meets(place.since, place.until))])
    return f"{place.unit} {first}"


def no_acid(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """A layer whose acid is in the bath or the paint left its heat with none recorded."""
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
        if ph is not None and not above(ph, ph_limit(day.plan, layer)):
            continue
        yield RaisedFlag(
            left.utc,
            f"no acid recorded in the {layer.acid_in.value} of layer {stay.layer}",
            "read the pH of what is left; above "
            f"{ph_limit(day.plan, layer):.1f} add acid to the bath (mist it on painted yarn) and heat again",
        )


def short_soak(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """Less soak than the base needs when dye went on."""
    needed = soak_needed_min(batch, day.plan)
    for put_on in batch.painted:
        layer = batch.layer_of(put_on.layer)
        if (put_on.layer > 1 or batch.recipes_beneath) and not layer.own_acid_soak:
            continue
        if not soaks_before(batch, put_on.since, put_on.layer):
            continue
        soaked = soaked_min(batch, put_on.since, put_on.layer)
        if soaked <= needed - TYPED_MIN:
            acid = "acid " if layer.acid_in == AcidPlace.SOAK else ""
            remedy = f"back into the {acid}soak for {more_min(needed - soaked)} min before {_PUTTING[layer.how]}"
            if list(heats_of(batch, put_on.layer, until=now)):
                remedy = "the dye may not have reached the core: open a ply once dry; pale inside, dye it over"
            yield RaisedFlag(put_on.since.utc, f"soaked {part_text(soaked, needed, 'min')}", remedy)
