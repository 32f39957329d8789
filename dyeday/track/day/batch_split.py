"""Splits a batch: the skeins, the history and the microwave pots of each part."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from dyeday.grouping import grouped
from dyeday.plan.batches import take_shares
from dyeday.plan.model import Plan, pots_of
from dyeday.quick_dataclass import altered
from dyeday.terms import KIT_TRAITS, State
from dyeday.track.day.batch_record import BatchRecord, Heat
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import at_heat_min, is_enough_heat
from dyeday.track.timestamp import Moment


def split_batch(day: Day, batch_no: str, into: Mapping[str, int], moment: Moment, event_id: str) -> Day:
    """Return the day with a batch split into parts by the event of that id; unchanged if it has no such batch.

    The first part keeps the tag, which is tied to one bundle. Pots took the skeins in the order of the parts.
    """
    parent = day.batches.get(batch_no)
    if parent is None or parent.state == State.SPLIT:
        return day
    batches = dict(day.batches)
    left = list(parent.shares)
    earlier_nos = (*parent.earlier_nos, (moment, parent.no))
    first = 0
    for no, skeins in into.items():
        shares, left = take_shares(left, skeins)
        part = altered(
            parent,
            no=no,
            skeins=skeins,
            lost=parent.lost * (first + skeins) // parent.skeins - parent.lost * first // parent.skeins,
            shares=shares,
            parent=parent.no,
            last_id=event_id,
            earlier_nos=earlier_nos,
            weighed_wof_g=None if parent.weighed_wof_g is None else parent.weighed_wof_g * skeins / parent.skeins,
            tag=parent.tag if first == 0 else "",
            heats=_own_heats(day.plan, parent, range(first, first + skeins), moment),
        )
        batches[no] = _out_of_the_microwave(day.plan, part, moment)
        first += skeins
    batches[parent.no] = altered(parent, state=State.SPLIT, split_into=tuple(into), last_id=event_id)
    return altered(day, batches=batches)


def _own_heats(plan: Plan, parent: BatchRecord, skeins: range, now: Moment) -> tuple[Heat, ...]:
    """Return the heats that ``skeins``, numbered through the whole batch from 0, have had."""
    own = [heat for heat in parent.heats if not _goes_in_pots(plan, parent, heat)]
    in_pots = [heat for heat in parent.heats if heat not in own]
    for heats in grouped(((heat.layer, heat.heat_no), heat) for heat in in_pots).values():
        own += _of_own_pots(plan, parent, heats, skeins, now)
    return tuple(heat for heat in parent.heats if heat in own)


def _goes_in_pots(plan: Plan, batch: BatchRecord, heat: Heat) -> bool:
    kit = plan.kit_of(heat.unit)
    return kit is not None and KIT_TRAITS[kit.kind].in_turn and pots_of(kit, batch.skeins, batch.base.skein_g) > 1


def _of_own_pots(plan: Plan, parent: BatchRecord, heats: Sequence[Heat], skeins: range, now: Moment) -> list[Heat]:
    """Return those of ``heats``, all of one number, that count for the part made of ``skeins``.

    Pots hold the skeins in order: 5 skeins in pots of 2 are skeins 0 and 1, 2 and 3, and 4. Split into 3 and 2, the
    first part lay in two pots and fills two: it has as many heats as it fills pots, and one less where one of its
    pots was not heated. Yarn heated twice comes to less harm than yarn not heated.
    """
    kit = plan.kit_of(heats[0].unit)
    holds = (kit.skeins_of(parent.base.skein_g) if kit is not None else None) or parent.skeins
    pots = pots_of(kit, parent.skeins, parent.base.skein_g)
    pot_min = parent.colourway.layer_of(heats[0].layer).heat_of(heats[0].heat_no).minutes
    rounds: list[dict[int, list[Heat]]] = [{}]  # the heats of each pot, once through all pots and again
    pot, had_min = 0, 0.0
    for heat in heats:
        rounds[-1].setdefault(pot, []).append(heat)
        had_min += at_heat_min(heat, now)
        if is_enough_heat(plan, had_min, pot_min):
            pot, had_min = pot + 1, 0.0
            if pot == pots:
                rounds.append({})
                pot = 0
    own_pots = sorted({n // holds for n in skeins})
    fills = pots_of(kit, len(skeins), parent.base.skein_g)
    own: list[Heat] = []
    for heated in rounds:
        had = [n for n in own_pots if n in heated and _counts_for(heated[n], n, holds, parent.skeins, skeins)]
        counted = had[-fills:] if had == own_pots else had[: fills - 1]
        own += [heat for n in counted for heat in heated[n]]
    return own


def _counts_for(heats: Sequence[Heat], pot: int, holds: int, total: int, skeins: range) -> bool:
    """Return whether a pot's heat counts for a part; while it is on, for the part that most of the pot belongs to."""
    inside = range(pot * holds, min(total, (pot + 1) * holds))
    own = len(set(inside) & set(skeins))
    is_most = own * 2 > len(inside) or (own * 2 == len(inside) and skeins[0] <= inside[0])
    return heats[-1].end is not None or is_most


def _out_of_the_microwave(plan: Plan, part: BatchRecord, now: Moment) -> BatchRecord:
    """Return a part without heat as out of the microwave, which holds one pot at a time."""
    kit = plan.kit_of(part.unit)
    if kit is None or not KIT_TRAITS[kit.kind].in_turn or part.open_heat is not None:
        return part
    return altered(part, placements=(*part.placements[:-1], altered(part.placements[-1], until=now)))
