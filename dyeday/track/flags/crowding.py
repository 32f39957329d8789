"""Rules about room: more in one unit, or on one rack, than it holds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime

from dyeday.craft.errors import above
from dyeday.plan.batches import pegs_taken, soaks_in_several
from dyeday.plan.model import Kit
from dyeday.quick_dataclass import altered
from dyeday.terms import KIT_TRAITS, KitKind
from dyeday.track.day.batch_record import BatchRecord, Placement
from dyeday.track.day.day_state import Day
from dyeday.track.flags.rule import RaisedFlag, distinct_numbers
from dyeday.track.timestamp import Moment


def over_full(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """A unit held more skeins, or more grams, than it should while this batch was in it.

    Raised again when one more goes in.
    """
    for place in batch.placements:
        kit = day.plan.kit_of(place.unit)
        if kit is None or KIT_TRAITS[kit.kind].hangs:
            continue
        others = _others(day, batch, place, now)
        starts = {place.since.utc, *(t.since.utc for _, t in others if t.since.utc >= place.since.utc)}
        heats = KIT_TRAITS[kit.kind].heat is not None
        remedy = "move one out, and heat what was on top again" if heats else "move one out"
        yield from _crowded(kit, batch, place, others, sorted(starts), remedy)


def crowded_rack(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """A rack held more skeins than it should when this batch was hung there; those before it raise nothing."""
    for place in batch.placements:
        kit = day.plan.kit_of(place.unit)
        if kit is not None and KIT_TRAITS[kit.kind].hangs:
            others = _others(day, batch, place, now)
            yield from _crowded(kit, batch, place, others, [place.since.utc], "move one out; it dries more slowly")


Others = list[tuple[BatchRecord, Placement]]


def _others(day: Day, batch: BatchRecord, place: Placement, now: Moment) -> Others:
    end = now.later(1)
    others = (other for other in day.unsplit if other.no != batch.no)
    in_unit = ((other, theirs) for other in others for theirs in other.placements if theirs.unit == place.unit)
    until = place.until or end
    return [(o, p) for o, p in in_unit if p.since < until and place.since < (p.until or end)]


def _crowded(
    kit: Kit, batch: BatchRecord, place: Placement, others: Others, moments: list[datetime], remedy: str
) -> Iterator[RaisedFlag]:
    flagged_nos: set[str] = set()
    for moment in moments:
        inside = [batch, *(other for other, theirs in others if theirs.holds(moment))]
        if KIT_TRAITS[kit.kind].in_turn:
            inside = [one for one in inside if not _rests(one, place.unit, moment)]
        inside = _together_at(inside, moment)
        why, nos = over_room(kit, inside), {one.no for one in inside}
        if why and not nos <= flagged_nos:
            flagged_nos = nos
            text = f"{place.unit}: {why} ({' + '.join(sorted(nos))})"
            yield RaisedFlag(moment, text, remedy, cause=f"{text} {moment}")


def _together_at(batches: Sequence[BatchRecord], moment: datetime) -> list[BatchRecord]:
    """Return ``batches`` with those that were one batch at ``moment`` joined into it."""
    whole: dict[str, BatchRecord] = {}
    for batch in batches:
        no = batch.no_at(moment)
        one = whole.get(no)
        if one is None:
            whole[no] = altered(batch, no=no)
            continue
        weighed = [b.weighed_wof_g for b in (one, batch) if b.weighed_wof_g is not None]
        weight = sum(weighed) if len(weighed) == 2 else None
        whole[no] = altered(one, skeins=one.skeins + batch.skeins, weighed_wof_g=weight)
    return list(whole.values())


def _rests(batch: BatchRecord, unit: str, moment: datetime) -> bool:
    """Return whether a batch has had its burst in a microwave: what rests lets the next one in."""
    heats = [heat for heat in batch.heats if heat.unit == unit and heat.start.utc <= moment]
    return bool(heats) and all(heat.end is not None and heat.end.utc <= moment for heat in heats)


def over_room(kit: Kit, inside: list[BatchRecord]) -> str:
    """Return "6 skeins, room for 4" or "700 g, room for 600 g" where a unit of ``kit`` holds too much.

    A batch larger than a microwave goes through it pot by pot, and one that is immersed afterwards soaks in several
    trays: it counts as one unit's fill.
    """

    def in_parts(batch: BatchRecord) -> bool:
        in_trays = kit.kind is KitKind.TRAY and soaks_in_several(batch.colourway)
        return KIT_TRAITS[kit.kind].in_turn or in_trays

    if kit.holds_skeins is not None:
        if KIT_TRAITS[kit.kind].hangs:
            pegs = sum(pegs_taken(b.base, b.skeins) for b in inside)
            return f"{pegs} skeins, room for {kit.holds_skeins}" if pegs > kit.holds_skeins else ""
        room = kit.holds_skeins
        counts = [room if b.skeins > room and in_parts(b) else b.skeins for b in inside]
        return f"{sum(counts)} skeins, room for {room}" if sum(counts) > room else ""
    if kit.holds_g is None:
        return ""
    limit = kit.holds_g
    weights = [limit if b.wof_g > limit and in_parts(b) else b.wof_g for b in inside]
    held, most = distinct_numbers(sum(weights), limit)
    return f"{held} g, room for {most} g" if above(sum(weights), limit) else ""
