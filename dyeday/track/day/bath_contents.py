"""What a bath holds for a batch, and what it lacks of a full dose: for offers and flags, so that they agree."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from enum import IntEnum
from itertools import chain
from typing import NamedTuple

from dyeday.craft.errors import above
from dyeday.plan.doses import Dose, acid_parts, fibre_takes_least, full_dose, in_parts, soak_l, to_pour
from dyeday.plan.model import Base, Layer
from dyeday.quick_dataclass import dataclass
from dyeday.terms import DyeMethod, State, Water
from dyeday.track.day.batch_record import AcidIn, BatchRecord, Placement, Stay
from dyeday.track.day.bath_readings import highest_ph, last_ph
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import last_dyed, soaks_before, soaks_count_from
from dyeday.track.day.transitions import left_bath
from dyeday.track.day.unit_record import Bath
from dyeday.track.timestamp import NO_END, Moment, minutes

CARRIED_L_PER_KG = 1.25
"""that soaked yarn carries away, hand-squeezed 1.0 to 1.5 L/kg; common practice, no source"""
ACID_PART_MIN = 10.0
"""between the parts of a pot's acid once it simmers; common practice, no source"""
SMALL_SHARE = 0.05
"""share of a full dose; if less is lacking, none is offered"""


def yarn_of(*batches: BatchRecord) -> list[tuple[float, Base]]:
    """Return (weight in g, base) of each batch, the yarn of a bath for `full_dose`."""
    return [(batch.wof_g, batch.base) for batch in batches]


def own_bath_l(batch: BatchRecord, state: State, layer: Layer) -> float:
    """Return the water in L of a batch alone: of its soak while it waits or soaks, else the liquor of ``layer``."""
    if state in (State.WAITING, State.SOAK):
        return soak_l(batch.wof_g)
    return layer.liquor_ml(batch.wof_g) / 1000


def bath_l(day: Day, batch: BatchRecord, others: Sequence[BatchRecord], stay: Stay, until: Moment) -> float:
    """Return the water in L that a batch and ``others`` were in during a stay: of paint, the liquor of each.

    A bath is as recorded at its fill, else what each of them wants, but at least what kept water had left.
    """
    own_layer = batch.layer_of(stay.layer)
    end = stay.until or until
    wants = own_bath_l(batch, stay.state, own_layer)
    wants += sum(own_bath_l(one, stay.state, _layer_in(one, stay.state, end)) for one in others)
    if stay.state is not State.SOAK and own_layer.how is not DyeMethod.IMMERSED:
        return wants
    place = place_in(batch, stay)
    if place is not None and (litres := recorded_l(day, place.unit, stay.since, end)) is not None:
        return litres
    left_l = [left_for(day, bath, batch, end).litres for bath, end in baths_of_stay(day, batch, stay, until)]
    return max([wants, *left_l])


def soak_acids(day: Day, batch: BatchRecord, before: Moment, layer: int) -> list[AcidIn]:
    """Return the acid that a batch's soaks for ``layer`` had by ``before``.

    It is what was put in for the batch, into the baths it soaked in, and for others in its last soak.
    """
    start = soaks_count_from(batch, before, layer)
    since = (put for put in batch.acids if start is None or put.at.utc >= start.utc)
    own = [put for put in since if put.is_some and put.at.utc <= before.utc]
    soaks = soaks_before(batch, before, layer)
    into_baths = (put for soak in soaks for put in stay_acids(day, batch, soak, before))
    theirs = (their_acids(day, batch, others_in_bath(day, batch, soak), soak, before) for soak in soaks[-1:])
    return [*own, *into_baths, *chain(*theirs)]


def stay_acids(day: Day, batch: BatchRecord, stay: Stay, now: Moment) -> list[AcidIn]:
    """Return the acid put into the baths that a batch was in during a stay, by its end; for earlier loads too."""
    return [put for bath, end in baths_of_stay(day, batch, stay, now) for put in bath.acids_by(end)]


def baths_of_stay(day: Day, batch: BatchRecord, stay: Stay, now: Moment) -> list[tuple[Bath, Moment]]:
    """Return (bath, until when) of the baths a batch was in during a stay, in order."""
    until, line = stay.until or now, day.lineage(batch)
    baths: dict[tuple[str, int], tuple[Bath, Moment]] = {}
    for place in batch.placements:
        record = day.units.get(place.unit)
        end = min(place.until or until, until)
        begins_with_it = place.since.utc == stay.since.utc
        within = place.since.utc < until.utc and end.utc > stay.since.utc
        if record is None or not (begins_with_it or within):
            continue
        begin = max(place.since, stay.since)
        baths |= {
            (place.unit, bath.number): (bath, end)
            for bath in record.baths
            if any(no in line for no, _ in bath.entered)
            and (bath.ended is None or bath.ended.utc >= begin.utc)
            and (bath.began is None or bath.began.utc <= end.utc)
        }
    return list(baths.values())


def in_bath_now(day: Day, unit: str | None, now: Moment) -> BathContents:
    """Return what a unit's bath holds for the batches in it or, where none is, for those that come next."""
    if (record := day.units.get(unit or "")) is None:
        return BathContents(0.0, 0.0)
    bath = record.baths[-1]
    with_batches = _own_acids(day, day.in_unit(record.name), [bath], NO_END)
    litres, acid = left_for(day, bath, None, now)
    return BathContents(litres, acid + sum(put.amount_of(day.plan.acid) for put in with_batches))


def _own_acids(day: Day, batches: Iterable[BatchRecord], baths: Iterable[Bath], since: Moment) -> list[AcidIn]:
    """Return what is in `BatchRecord.acids` ``since`` then, or since the batches came into ``baths``, if earlier."""
    came = {no: at for bath in baths for no, at in bath.entered}
    puts: list[AcidIn] = []
    for batch in batches:
        begin = min([since, *(came[no] for no in day.lineage(batch) if no in came)])
        puts += (put for put in batch.acids if put.is_some and begin.utc <= put.at.utc)
    return puts


def soak_water_l(day: Day, batch: BatchRecord, soak: Stay, now: Moment) -> float:
    """Return the water in L of a soak, of all the yarn in it."""
    return bath_l(day, batch, others_in_bath(day, batch, soak), soak, now)


def recorded_l(day: Day, unit: str, since: Moment, until: Moment) -> float | None:
    """Return the litres recorded of a unit's last fill by ``until``; None if it was poured away by ``since``."""
    if (record := day.units.get(unit)) is None:
        return None
    poured = [at.utc for at in record.poured_away_at if at.utc <= since.utc]
    litres = [filled for at, filled in record.litres if at.utc <= until.utc and all(at.utc >= end for end in poured)]
    return litres[-1] if litres else None


def taken_before(day: Day, batch: BatchRecord, stay: Stay, until: Moment) -> float:
    """Return the acid, mL or g, that earlier loads took out of the baths a batch was in; 0 in new water.

    The lower estimate, kinder to the dyer: their fibre took the least that `fibre_takes_least` has, and their yarn
    carried liquor away (`CARRIED_L_PER_KG`).
    """
    gone = 0.0
    for bath, end in baths_of_stay(day, batch, stay, until):
        put_in = sum(put.amount_of(day.plan.acid) for put in bath.acids_by(end))
        gone += put_in - left_for(day, bath, batch, end).acid
    return gone


class _Change(IntEnum):
    """What happens to a bath, in its order within one moment."""

    LEAVES = 0
    ACID = 1
    COMES = 2


class BathContents(NamedTuple):
    """What a bath holds: water in L, acid in mL or g."""

    litres: float
    acid: float


class _BatchIn(NamedTuple):
    own_l: float
    """water it has when alone"""
    fibre_takes: float
    """acid, mL or g"""
    carried_l: float
    """water that its yarn takes out"""


def left_for(day: Day, bath: Bath, batch: BatchRecord | None, until: Moment) -> BathContents:
    """Return what is in a bath by ``until`` for a batch; None: for the batches in it or, without any, the next load.

    Loads that left before took acid out with their fibre and the liquor they carried away. The water is topped up to
    what each load wants (`own_bath_l`).
    """
    line = day.lineage(batch) if batch is not None else ()
    came = next((at.utc for no, at in bath.entered if no in line), until.utc)
    changes: list[tuple[datetime, _Change, _BatchIn | float]] = [
        (put.at.utc, _Change.ACID, put.amount_of(day.plan.acid)) for put in bath.acids_by(until)
    ]
    for no, at in bath.entered:
        for other in day.unsplit if at.utc < came else ():
            left = _gone_from(other, at)
            if no in day.lineage(other) and (left is None or left.utc > at.utc):
                stay = other.stay_at(at.utc)
                layer = other.layer_of(stay.layer if stay else 1)
                takes = fibre_takes_least(day.plan, other.wof_g, other.base, layer)
                own_l = own_bath_l(other, stay.state if stay else State.WAITING, layer)
                inside = _BatchIn(own_l, takes, CARRIED_L_PER_KG * other.wof_g / 1000)
                changes.append((at.utc, _Change.COMES, inside))
                changes += [(left.utc, _Change.LEAVES, inside)] if left is not None and left.utc <= came else []
    litres = acid = inside_l = inside_take = 0.0  # inside_…: of the batches in it
    for _, change, what in sorted(changes, key=lambda one: one[:2]):
        if not isinstance(what, _BatchIn):
            acid += what
        elif change is _Change.COMES:
            inside_l, inside_take = inside_l + what.own_l, inside_take + what.fibre_takes
            litres = max(litres, inside_l)
        else:
            # Painted yarn brings no more than it carries away again, and specks of powder bring no water.
            carried = min(1.0, what.carried_l / litres) if litres > 0 else 0.0
            acid = max(0.0, acid - what.fibre_takes - max(0.0, acid - inside_take) * carried)
            inside_l, inside_take = inside_l - what.own_l, inside_take - what.fibre_takes
            litres -= carried * litres
    return BathContents(litres, acid)


def acids_had(day: Day, batch: BatchRecord, *, shares: bool = False) -> list[AcidIn]:
    """Return the acid a batch had, in order: put in for it, put into its baths, and left in kept baths it came into.

    Acid put into a bath is all a batch's own, however many were in it; with ``shares``, its share by weight.
    """
    had = list(batch.acids)
    seen = set[int]()  # baths and doses, told apart by identity: two doses of one minute may be equal
    line = day.lineage(batch)
    for stay in (stay for stay in batch.stays if stay.state in (State.SOAK, State.PAINT, State.FIX)):
        share = 1.0
        if shares:
            share = batch.wof_g / sum(one.wof_g for one in (batch, *others_in_bath(day, batch, stay)))
        for bath, end in baths_of_stay(day, batch, stay, NO_END):
            came = next(at for no, at in bath.entered if no in line)
            is_kept = any(no not in line and at.utc < came.utc for no, at in bath.entered)
            earlier = [put for put in bath.acids_by(came) if is_kept and put.at.utc < came.utc]
            if earlier and id(bath) not in seen:
                with_it = sum(put.amount_of(day.plan.acid) for put in bath.acids_by(came) if put not in earlier)
                left = max(0.0, left_for(day, bath, batch, came).acid - with_it)
                ml, grams = (left, 0.0) if day.plan.acid.is_liquid else (0.0, left)
                had.append(AcidIn(came, ml, grams, stay.layer, kept=True).part(share))
            seen.add(id(bath))
            for put in bath.acids_by(end):
                if put not in earlier and id(put) not in seen:
                    seen.add(id(put))
                    had.append(replace(put, layer=stay.layer).part(share))
    return sorted(had, key=lambda put: (put.at.utc, not put.kept))


def _layer_in(batch: BatchRecord, state: State, end: Moment) -> Layer:
    """Return the layer in which a batch was last in a state before ``end``; its present one if it was not."""
    stays = (stay for stay in reversed(batch.stays) if stay.state is state and stay.since.utc < end.utc)
    return next((batch.layer_of(stay.layer) for stay in stays), batch.current_layer)


def _gone_from(batch: BatchRecord, came: Moment) -> Moment | None:
    """Return when a batch left the unit it was in at ``came``, or ``came`` if in none; None while it is there."""
    unit: str | None = None
    end: Moment | None = came
    for place in batch.placements:
        goes_on = unit == place.unit and end is not None and place.since.utc == end.utc
        if goes_on or (unit is None and place.holds(came.utc)):
            unit, end = place.unit, place.until
    return end


@dataclass(frozen=True, slots=True)
class AcidOffer:
    """What is offered for a load into a unit: water in L, acid in mL or g."""

    left_l: float
    """of kept water; 0 for new water"""
    top_up_l: float
    need: Dose | None
    """the full dose of the whole bath"""
    amount_in_it: float
    """acid in the bath for this load"""
    amount_now: float
    """to put in now, rounded to what the jug or the scale shows"""
    amount_later: float
    """to put in when it simmers"""


def left_in(day: Day, unit: str | None, now: Moment) -> BathContents:
    """Return what the last load left in a unit; nothing where that was poured away or another load is in it."""
    record = day.units.get(unit or "")
    bath = None if record is None else left_bath(record.baths)
    return BathContents(0.0, 0.0) if bath is None else left_for(day, bath, None, now)


def acid_offer(
    day: Day,
    batch: BatchRecord,
    to: State,
    unit: str | None,
    now: Moment,
    water: Water = Water.NEW,
    layer_no: int | None = None,
    together: Sequence[BatchRecord] = (),
) -> AcidOffer:
    """Return what to offer when a batch, and those ``together`` with it, go into a soak or dye (``to``).

    Kept water is topped up to what the load wants. Acid counts that others in the unit have had, and that was put in
    for this load. Without ``layer_no`` it is the batch's present layer.
    """
    layer = batch.layer_of(layer_no or batch.layer)
    numbers = {batch.no, *(other.no for other in together)}
    inside = [other for other in day.in_unit(unit) if other.no not in numbers] if unit else []
    others = [*(other for other in together if other.no != batch.no), *inside]
    wants_l = sum(own_bath_l(one, to, layer if one is batch else one.current_layer) for one in (batch, *others))
    left_l, has = left_in(day, unit if water is Water.KEPT else None, now)
    if unit is not None and (layer.how is DyeMethod.IMMERSED or to is State.SOAK):
        there, recorded = in_bath_now(day, unit, now), recorded_l(day, unit, now, now)
        wants_l = max(wants_l, there.litres) if recorded is None else recorded
        has += there.acid
    need = full_dose(day.plan, max(wants_l, left_l), yarn_of(batch, *others), layer)
    lacks = need.amount - has if need is not None and need.amount - has > SMALL_SHARE * need.amount else 0.0
    first, later = in_parts(day.plan, layer, lacks)
    return AcidOffer(left_l, max(0.0, wants_l - left_l) if left_l else 0.0, need, has, first, later)


def part_due(day: Day, batch: BatchRecord, now: Moment) -> float:
    """Return the acid, mL or g, to put into the simmering pot of a batch now; 0 if it lacks none.

    The second part goes in as the simmer begins, further ones every `ACID_PART_MIN`; a pH low enough asks for none.
    """
    heat = batch.open_heat
    if heat is None or heat.unit is None or not heat.is_on(now) or now.utc < heat.at_heat_since.utc:
        return 0.0
    by_now = 2 + minutes(heat.at_heat_since, now) // ACID_PART_MIN
    lacking = parts_lacking(day, batch, batch.layer, now).items()
    return max((amount for part, amount in lacking if part <= by_now), default=0.0)


def parts_lacking(day: Day, batch: BatchRecord, layer_no: int, now: Moment) -> dict[int, float]:
    """Return the parts of a pot's acid, from the 2nd, that its bath lacks, each with all mL or g lacking by then."""
    layer, since = batch.layer_of(layer_no), last_dyed(batch, layer_no)
    parts = acid_parts(day.plan, layer)
    stay = Stay(State.FIX, layer_no, since or now, None)
    read = last_ph(batch, stay.since, now)
    if parts < 2 or (read is not None and not above(read, highest_ph(day.plan, layer))):
        return {}
    bath = dye_bath(day, batch, stay, now)
    if (need := full_dose(day.plan, bath.litres, bath.yarn, layer)) is None:
        return {}
    has = sum(put.amount_of(day.plan.acid) for put in bath.acids) - taken_before(day, batch, stay, now)
    whole = to_pour(day.plan, need.amount)
    lacking = (n for n in range(2, parts + 1) if need.amount * n / parts - has > SMALL_SHARE * need.amount)
    return {n: to_pour(day.plan, whole * n / parts - has) for n in lacking}


class DyeBath(NamedTuple):
    """The bath or paint of a layer: its water, the acid in it, and (weight in g, base) of all the yarn in it."""

    litres: float
    acids: list[AcidIn]
    yarn: list[tuple[float, Base]]


def dye_bath(day: Day, batch: BatchRecord, stay: Stay, until: Moment) -> DyeBath:
    """Return the bath that a batch is in by ``until``, for a stay made up of its layer's paint and fix."""
    is_immersed = batch.layer_of(stay.layer).how is DyeMethod.IMMERSED
    others = others_in_bath(day, batch, stay) if is_immersed else []
    own = [put for put in batch.acids if put.layer == stay.layer and put.at.utc <= until.utc]
    acids = [*own, *stay_acids(day, batch, stay, until), *their_acids(day, batch, others, stay, until)]
    return DyeBath(bath_l(day, batch, others, stay, until), acids, yarn_of(batch, *others))


def their_acids(day: Day, batch: BatchRecord, others: list[BatchRecord], stay: Stay, until: Moment) -> list[AcidIn]:
    """Return the own acid of the ``others`` that shared a bath: it is in the same water."""
    baths = (bath for bath, _ in baths_of_stay(day, batch, stay, until))
    return [put for put in _own_acids(day, others, baths, stay.since) if put.at.utc <= until.utc]


def others_in_bath(day: Day, batch: BatchRecord, stay: Stay) -> list[BatchRecord]:
    """Return the batches beside ``batch`` in the last unit it was in during a stay, at its fullest moment."""
    if (own := place_in(batch, stay)) is None:
        return []
    since = max(own.since, stay.since)
    until = min((end for end in (own.until, stay.until) if end is not None), default=None)
    others = (other for other in day.unsplit if other.no != batch.no)
    places = ((other, place) for other in others for place in other.placements if place.unit == own.unit)
    inside = [(other, place) for other, place in places if place.meets(since, until)]
    moments = [since.utc, *(place.since.utc for _, place in inside if place.since.utc > since.utc)]
    loads = ([other for other, place in inside if place.holds(moment)] for moment in moments)
    return max(loads, key=lambda together: sum(other.wof_g for other in together))


def place_in(batch: BatchRecord, stay: Stay) -> Placement | None:
    """Return the last placement of a batch during a stay, not the one it went to at its end."""
    for place in reversed(batch.placements):
        came = stay.until is None or place.since.utc < stay.until.utc or place.since.utc <= stay.since.utc
        if came and (place.until is None or place.until.utc > stay.since.utc):
            return place
    return None
