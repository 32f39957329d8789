"""Splits a batch: the skeins, the history and the microwave dishes of each part."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from dyeday.grouping import grouped
from dyeday.plan.batches import take_shares
from dyeday.plan.model import Plan, dishes_of
from dyeday.quick_dataclass import altered, with_last
from dyeday.terms import KIT_TRAITS, State
from dyeday.track.day.batch_record import BatchRecord, Heat
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import at_heat_min, is_enough_heat
from dyeday.track.timestamp import Moment


def split_batch(day: Day, batch_no: str, into: Mapping[str, int], moment: Moment, event_id: str) -> Day:
    """Return the day with a batch split into parts (number to skeins); unchanged if it has no such batch to split.

    The first part keeps the tag, which is tied to one bundle. Orders and dishes have their skeins in the same order.
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
            acids=tuple(put.part(skeins / parent.skeins) for put in parent.acids),
            heats=_own_heats(day.plan, parent, range(first, first + skeins), moment),
        )
        kit = day.plan.kit_of(part.unit)
        if kit is not None and KIT_TRAITS[kit.kind].in_turn and part.open_heat is None:
            # The microwave holds one dish at a time: a part without heat is out of it.
            part = altered(part, placements=with_last(part.placements, until=moment))
        batches[no] = part
        first += skeins
    batches[parent.no] = altered(parent, state=State.SPLIT, split_into=tuple(into), last_id=event_id)
    return altered(day, batches=batches)


def _own_heats(plan: Plan, parent: BatchRecord, skeins: range, now: Moment) -> tuple[Heat, ...]:
    """Return the heats that ``skeins``, numbered through the whole batch from 0, have had."""
    in_dishes = []
    for heat in parent.heats:
        kit = plan.kit_of(heat.unit)
        takes_turns = kit is not None and KIT_TRAITS[kit.kind].in_turn
        if takes_turns and dishes_of(kit, parent.skeins, parent.base.skein_g) > 1:
            in_dishes.append(heat)
    by_no = grouped(((heat.layer, heat.heat_no), heat) for heat in in_dishes)
    own = [heat for heats in by_no.values() for heat in _of_own_dishes(plan, parent, heats, skeins, now)]
    return tuple(heat for heat in parent.heats if heat in own or heat not in in_dishes)


def _of_own_dishes(plan: Plan, parent: BatchRecord, heats: Sequence[Heat], skeins: range, now: Moment) -> list[Heat]:
    """Return those of ``heats``, all of one number, that count for the part made of ``skeins``.

    Dishes hold the skeins in order: 5 skeins in dishes of 2 are skeins 0 and 1, 2 and 3, and 4. Split into 3 and 2,
    the second part, skeins 3 and 4, lay in two dishes and fills one. If all dishes that it lay in were heated, as
    many count as it fills, the last ones. If one was not, one dish fewer counts: yarn heated twice comes to less harm
    than yarn not heated.
    """
    kit = plan.kit_of(heats[0].unit)
    holds = (kit.skeins_of(parent.base.skein_g) if kit is not None else None) or parent.skeins
    dishes = dishes_of(kit, parent.skeins, parent.base.skein_g)
    dish_min = parent.layer_of(heats[0].layer).heat_of(heats[0].heat_no).minutes
    rounds: list[dict[int, list[Heat]]] = [{}]  # the heats of each dish, once through all dishes and again
    dish, had_min = 0, 0.0
    for heat in heats:
        rounds[-1].setdefault(dish, []).append(heat)
        had_min += at_heat_min(heat, now)
        if is_enough_heat(plan, had_min, dish_min):
            dish, had_min = dish + 1, 0.0
            if dish == dishes:
                rounds.append({})
                dish = 0
    own_dishes = sorted({n // holds for n in skeins})
    fills = dishes_of(kit, len(skeins), parent.base.skein_g)
    own: list[Heat] = []
    for heated in rounds:
        had = [n for n in own_dishes if n in heated and _counts_for(heated[n], n, holds, parent.skeins, skeins)]
        counted = had[-fills:] if had == own_dishes else had[: fills - 1]
        own += [heat for n in counted for heat in heated[n]]
    return own


def _counts_for(heats: Sequence[Heat], dish: int, holds: int, total: int, skeins: range) -> bool:
    """Return whether the heat of a dish counts for a part: once ended, or if the part has most of the dish."""
    inside = range(dish * holds, min(total, (dish + 1) * holds))
    own = len(set(inside) & set(skeins))
    is_most = own * 2 > len(inside) or (own * 2 == len(inside) and skeins[0] <= inside[0])
    return heats[-1].end is not None or is_most
