"""Rules about how strong the acid was: too weak, by pH or by dose, and far too strong."""

from __future__ import annotations

from collections.abc import Iterator

from dyeday.craft.dye.measuring import figure
from dyeday.craft.errors import above, below
from dyeday.plan.doses import Dose, full_dose, ph_for_dyes, target_ph
from dyeday.plan.model import Layer
from dyeday.terms import AcidPlace, DyeMethod, ReadingKind, State
from dyeday.track.day.batch_record import BatchRecord, Reading, Stay
from dyeday.track.day.bath_contents import (
    bath_l,
    others_in_soak,
    place_in,
    sharing,
    soak_water_l,
    taken_before,
    yarn_of,
)
from dyeday.track.day.bath_readings import last_ph_reading, ph_limit
from dyeday.track.day.baths import AcidIn
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import left_fix, readings_of, soak_acids, soaks_before, stay_acids
from dyeday.track.flags.rule import RaisedFlag, of
from dyeday.track.flags.soaking import missed_acid_soak, no_acid
from dyeday.track.timestamp import Now


def weak_acid(day: Day, batch: BatchRecord, now: Now) -> Iterator[RaisedFlag]:
    """The pH read above the target by more than the limit; not read, less acid than a share of the full dose."""
    yield from _soaks(day, batch, now)
    yield from _baths(day, batch, now)


def _soaks(day: Day, batch: BatchRecord, now: Now) -> Iterator[RaisedFlag]:
    missed = {raised.since for raised in missed_acid_soak(day, batch, now)}
    for put_on in batch.painted:
        layer = batch.layer_of(put_on.layer)
        soaks = soaks_before(batch, put_on.since, put_on.layer)
        if layer.acid_in != AcidPlace.SOAK or not layer.new_soak or not soaks or put_on.since.utc in missed:
            continue
        read = last_ph_reading(batch, soaks[0].since, put_on.since)
        others = others_in_soak(day, batch, soaks[-1])
        acids = [
            *soak_acids(day, batch, put_on.since, put_on.layer),
            *_theirs(batch, others, soaks[-1], put_on.since),
        ]
        need = full_dose(day.plan, soak_water_l(day, batch, soaks[-1], put_on.since), yarn_of(batch, *others), layer)
        gone = sum(taken_before(day, batch, soak, put_on.since) for soak in soaks)
        why = _weak(day, layer, read, acids, need, gone)
        if why:
            share = batch.wof_g / (batch.wof_g + sum(other.wof_g for other in others))
            again = _read_again(day, batch, layer, read, acids, now)
            seen = last_ph_reading(batch, soaks[0].since, now) is not None
            remedy = again or _remedy(day, acids, need, share, gone, squeeze=not seen, painted=True)
            yield RaisedFlag(put_on.since.utc, f"soak: {why}", remedy)


def _baths(day: Day, batch: BatchRecord, now: Now) -> Iterator[RaisedFlag]:
    missed = {raised.since for raised in no_acid(day, batch, now)}
    for stay, left in left_fix(batch):
        layer = batch.layer_of(stay.layer)
        if layer.acid_in == AcidPlace.SOAK or left.utc in missed:
            continue
        since = next((p.since for p in reversed(batch.painted) if p.layer == stay.layer), stay.since)
        read = last_ph_reading(batch, since, left)
        dyed = Stay(State.FIX, stay.layer, since, left)
        own = [put for put in batch.acids if put.layer == stay.layer and put.at.utc <= left.utc]
        place = place_in(batch, dyed) if layer.how == DyeMethod.IMMERSED else None
        others = sharing(day, batch, place.unit, since, left) if place is not None else []
        acids = [*own, *stay_acids(day, batch, dyed, left), *_theirs(batch, others, dyed, left)]
        need = full_dose(day.plan, bath_l(day, batch, others, dyed, left), yarn_of(batch, *others), layer)
        gone = taken_before(day, batch, dyed, left)
        why = _weak(day, layer, read, acids, need, gone)
        if why:
            painted = layer.how != DyeMethod.IMMERSED
            again = _read_again(day, batch, layer, read, acids, now)
            seen = last_ph_reading(batch, since, now) is not None
            remedy = again or _remedy(day, acids, need, 1.0, gone, squeeze=not seen, painted=painted)
            yield RaisedFlag(left.utc, f"{layer.acid_in.value}: {why}", remedy)


def _theirs(batch: BatchRecord, others: list[BatchRecord], stay: Stay, until: Now) -> list[AcidIn]:
    """Return the acid recorded with the batches that shared a bath: it is in the same water.

    Parts of one batch carry the same past, which counts once.
    """
    mine = set(batch.acids)
    return [
        put
        for other in others
        for put in other.acids
        if put.is_some
        and stay.since.utc <= put.at.utc <= until.utc
        and not (other.parent is not None and other.parent == batch.parent and put in mine)
    ]


def _weak(day: Day, layer: Layer, read: Reading | None, acids: list[AcidIn], need: Dose | None, gone: float) -> str:
    if read is not None:
        ph = float(read.value)
        limit = ph_limit(day.plan, layer)
        wanted = f"target {target_ph(day.plan, layer):g}, at most {round(limit, 2):g}"
        return f"pH {ph:g}, {wanted}" if above(ph, limit) else ""
    if need is None:
        return ""
    liquid = day.plan.acid.is_liquid
    put = sum(one.amount_of(day.plan.acid) for one in acids) - gone
    other = sum(a.amount_g if liquid else a.amount_ml for a in acids)
    if other > 0:
        return ""  # another acid than the plan's went in: its strength is not known
    if below(put, need.amount * day.plan.rules.acid_share / 100):
        numbers = of(put, need.amount, "mL") if liquid else f"{figure(put, 3)} of {figure(need.amount, 3)} g"
        kept = ", after what the load before took" if gone > 0 else ""
        return f"acid {numbers} that {need.water_l:g} L of this water and the fibre in it want{kept}"
    return ""


def _read_again(
    day: Day, batch: BatchRecord, layer: Layer, read: Reading | None, acids: list[AcidIn], now: Now
) -> str:
    """Return the remedy where acid went in after the pH was read: it is not known since, so read it.

    Empty where none did, or where a later reading says that it was not enough.
    """
    if read is None:
        return ""
    own = [put for put in batch.acids if put not in acids and put.at.utc <= now.utc]
    later = [put for put in (*acids, *own) if put.is_some and put.at.utc > read.at.utc]
    if not later:
        return ""
    again = last_ph_reading(batch, max((put.at for put in later), key=lambda at: at.utc), now)
    if again is not None and again is not read:
        good = not above(float(again.value), ph_limit(day.plan, layer))
        return f"pH {again.value:g} was read since: good, clear the flag with that" if good else ""
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


def sour_bath(day: Day, batch: BatchRecord, now: Now) -> Iterator[RaisedFlag]:
    """An immersed layer whose dyes' range is known, read below it by more than `ph_low`; soaks harm no wool."""
    for reading in readings_of(batch, ReadingKind.PH):
        layer = batch.layer_of(reading.layer)
        if layer.how != DyeMethod.IMMERSED or reading.state == State.SOAK:
            continue
        wished = ph_for_dyes(day.plan, layer)
        if wished is None:
            continue
        read, low = float(reading.value), min(wished.low, wished.high)
        if below(read, low - day.plan.rules.ph_low):
            yield RaisedFlag(
                reading.at.utc,
                f"pH {read:g} in the bath, its dyes need {low:g} and more",
                "lift the yarn, replace a third of the bath with tap water, and read again; "
                "never put bicarbonate into a hot bath",
            )
