"""What each kind of event does to the day: one small function for each, in one table."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from typing import Any

from dyeday.craft.dye.depth_of_shade import wof_weighed_g
from dyeday.craft.yarn.drying_air import regain_in_air_pct
from dyeday.craft.yarn.fibres import regain_pct
from dyeday.plan.batches import take_shares
from dyeday.plan.model import Plan
from dyeday.plan.step_ids import ChoreId, StepId, stored_step
from dyeday.terms import (
    AdviceIs,
    AlarmIs,
    ChoreWhen,
    Cover,
    FlagId,
    ReadingKind,
    Serves,
    State,
    StepKind,
    UnitIs,
    Water,
)
from dyeday.track.day.batch_record import (
    BatchRecord,
    Reading,
    Resolved,
    UnitRecord,
    add_amounts,
    altered,
)
from dyeday.track.day.batch_split import split_batch
from dyeday.track.day.baths import AcidIn, left_empty, poured_away, water_kept, water_new, with_acid, with_batch
from dyeday.track.day.day_state import AlarmAct, ChoreDone, Day, Wish
from dyeday.track.day.load import parts_of_load
from dyeday.track.day.plan_changes import added, came_over, plan_changed, received
from dyeday.track.day.transitions import moved, passed, placed_in
from dyeday.track.events.event import Event
from dyeday.track.timestamp import Now

USUAL_NOT_NOW_MIN = 30.0
"""how long a step waved off is not proposed again; common practice, no source"""


def _with(day: Day, record: BatchRecord, event: Event | None = None) -> Day:
    if event is None:
        return altered(day, batches={**day.batches, record.no: record})
    was_in = day.batches[record.no].unit if record.no in day.batches else None
    day = altered(day, batches={**day.batches, record.no: altered(record, last_id=event.id)})
    if was_in == record.unit:
        return day
    if was_in is not None and not _inside(day, was_in):
        day = _change_unit(day, was_in, lambda unit: replace(unit, baths=left_empty(unit.baths, event.moment)))
    if record.unit is None:
        return day
    baths = partial(with_batch, batch_no=record.no, moment=event.moment)
    return _change_unit(day, record.unit, lambda unit: replace(unit, baths=baths(unit.baths)))


def _inside(day: Day, unit: str) -> list[str]:
    """Return the numbers of the batches in a unit."""
    return [batch.no for batch in day.batches.values() if batch.unit == unit and batch.state is not State.SPLIT]


def _of_batch(change: Callable[[Day, BatchRecord, Event], BatchRecord]) -> Callable[[Day, Event], Day]:
    """Make a change of one batch a change of the day; an event of an unknown or split batch changes nothing."""

    def apply(day: Day, event: Event) -> Day:
        record = day.batches.get(event.batch or "")
        if record is None or record.state == State.SPLIT:
            return day
        return _with(day, change(day, record, event), event)

    return apply


def _acid(day: Day, event: Event) -> Day:
    put = AcidIn(event.moment, float(event.data.get("acid_ml") or 0), float(event.data.get("acid_g") or 0))
    batch = day.batches.get(event.batch or "")
    if event.data.get("unit"):
        # Put into a unit's bath: every batch in it has it, whichever batch it was recorded with.
        day = _with_unit(
            day, event, lambda unit: replace(unit, acids=(*unit.acids, put), baths=with_acid(unit.baths, put))
        )
        return day if batch is None else _with(day, batch, event)
    if batch is None:
        return day
    put = replace(put, layer=batch.layer)
    return _with(day, altered(batch, acids=(*batch.acids, put)), event)


def _with_unit(day: Day, event: Event, change: Callable[[UnitRecord], UnitRecord]) -> Day:
    return _change_unit(day, str(event.data.get("unit") or ""), change)


def _change_unit(day: Day, name: str, change: Callable[[UnitRecord], UnitRecord]) -> Day:
    unit = day.units.get(name)
    if unit is None:
        return day
    return altered(day, units={**day.units, name: change(unit)})


def _unit(day: Day, event: Event) -> Day:
    what, moment = UnitIs(event.data["is"]), event.moment
    litres = [(moment, float(event.data["litres"]))] if event.data.get("litres") else []
    changes: Mapping[UnitIs, Callable[[UnitRecord], UnitRecord]] = {
        UnitIs.FILLED: lambda unit: replace(unit, filled=(*unit.filled, moment), litres=(*unit.litres, *litres)),
        UnitIs.EMPTIED: lambda unit: replace(
            unit, emptied=(*unit.emptied, moment), baths=poured_away(unit.baths, moment, _inside(day, unit.name))
        ),
        UnitIs.DOWN: lambda unit: replace(unit, downs=(*unit.downs, (moment, True))),
        UnitIs.UP: lambda unit: replace(unit, downs=(*unit.downs, (moment, False))),
    }
    return _with_unit(day, event, changes[what])


def _in_water(change: Callable[[Day, Event], Day]) -> Callable[[Day, Event], Day]:
    """Make the water new, or that of the load before, where a batch goes into a unit and its event says so."""

    def apply(day: Day, event: Event) -> Day:
        if "water" not in event.data:
            return change(day, event)
        water = Water(event.data["water"])
        return change(_with_unit(day, event, lambda unit: _watered(day, unit, water, event.moment)), event)

    return apply


def _watered(day: Day, unit: UnitRecord, water: Water, moment: Now) -> UnitRecord:
    if water is Water.KEPT:
        return replace(unit, baths=water_kept(unit.baths))
    baths = water_new(unit.baths, moment, _inside(day, unit.name))
    began = baths[-1].began
    return replace(unit, baths=baths, emptied=unit.emptied if began is None else (*unit.emptied, began))


def _load(day: Day, event: Event) -> Day:
    for part in parts_of_load(day, event):
        day = APPLY[part.kind](day, part)
    return day


def _read(day: Day, batch: BatchRecord, event: Event) -> BatchRecord:
    reading = Reading(
        event.moment,
        ReadingKind(event.data["reading"]),
        event.data["value"],
        event.data.get("where"),
        batch.state,
        batch.layer,
        event.id,
    )
    if reading.name == ReadingKind.WEIGHT_G and batch.state == State.WAITING:
        batch = altered(batch, weighed_wof_g=_weighed_g(day.plan, batch, float(reading.value)))
    return altered(batch, readings=(*batch.readings, reading))


def _weighed_g(plan: Plan, batch: BatchRecord, weighed_g: float) -> float:
    """Return a weight as it would be in standard air, where the air of the day is known."""
    if plan.air_humidity_pct is None:
        return weighed_g
    label = regain_pct(dict(batch.base.fibre))
    return wof_weighed_g(weighed_g, regain_in_air_pct(label, plan.air_humidity_pct), label)


def _used(day: Day, batch: BatchRecord, event: Event) -> BatchRecord:
    used, left = dict(event.data.get("used") or {}), dict(event.data.get("left_over") or {})
    powder, powder_left = used.pop("powder", None) or {}, left.pop("powder", None) or {}
    extra, extra_left = used.pop("extra", None) or {}, left.pop("extra", None) or {}
    return altered(
        batch,
        used_ml=add_amounts(batch.used_ml, used),
        powder_g=add_amounts(add_amounts(batch.powder_g, powder), _back(powder_left)),
        left_over_ml=add_amounts(batch.left_over_ml, left),
        recorded_layer=batch.layer if used or powder else batch.recorded_layer,
        extras=add_amounts(add_amounts(batch.extras, extra), _back(extra_left)),
    )


def _back(left: Mapping[str, float]) -> dict[str, float]:
    """Return what goes back as it was, and so was not used; solution left over stands in a bottle, and apart."""
    return {name: -amount for name, amount in left.items()}


def _counted(day: Day, batch: BatchRecord, event: Event) -> BatchRecord:
    skeins = int(event.data["skeins"])
    mine, _ = take_shares(batch.shares, skeins)
    more = skeins - sum(count for _, count in mine)
    if more > 0 and mine:
        mine = (*mine[:-1], (mine[-1][0], mine[-1][1] + more))
    return altered(batch, skeins=skeins, shares=mine, weighed_wof_g=None)


def _overdyed(day: Day, batch: BatchRecord, event: Event) -> BatchRecord:
    name = str(event.data["colourway"])
    colourway = next((item for item in day.plan.colourways if item.name == name), None)
    if colourway is None:
        return batch
    before = (*batch.overdyed_from, batch.colourway.name)
    return altered(batch, colourway=colourway, layer=1, overdyed_from=before, mix=f"{batch.mix} > {name}", lot="")


def _note(day: Day, event: Event) -> Day:
    note = (event.moment, str(event.data["note"]))
    batch = day.batches.get(event.batch or "")
    if batch is None:
        return altered(day, notes=(*day.notes, note))
    return _with(day, altered(batch, notes=(*batch.notes, note)), event)


def _resolved(day: Day, event: Event) -> Day:
    try:
        rule = FlagId(event.data["rule"])
    except ValueError:
        return day  # checked when it was entered; a file edited by hand must not stop the day
    entry = Resolved(rule, str(event.data["why"]), event.at)
    batch = day.batches.get(event.batch or "")
    if batch is None:
        return altered(day, resolved=(*day.resolved, entry)) if event.batch is None else day
    return _with(day, altered(batch, resolved=(*batch.resolved, entry)), event)


def _alarm(day: Day, event: Event) -> Day:
    name = str(event.data["alarm"])
    act = AlarmAct(event.moment, AlarmIs(event.data["is"]), float(event.data.get("minutes") or 0))
    acts = (*day.alarm_acts.get(name, ()), act)
    return altered(day, alarm_acts={**day.alarm_acts, name: acts})


def _carried(day: Day, event: Event) -> Day:
    """Put a batch of an earlier session in the place of the planned one, with its whole story."""
    planned = day.batches.get(event.batch or "")
    if planned is None or not event.data.get("record"):
        return day
    try:
        return _with(day, came_over(event.data, event, planned.tag), event)
    except (KeyError, TypeError, ValueError):
        return day  # checked when it was entered; a file edited by hand must not stop the day


def _covered(day: Day, batch: BatchRecord, event: Event) -> BatchRecord:
    cover = Cover(event.data["cover"])
    return altered(batch, cover=cover, covers=(*batch.covers, (event.moment, cover)))


def _advised(day: Day, event: Event) -> Day:
    data = event.data
    what = AdviceIs(data["is"])
    if what is AdviceIs.SERVES:
        return altered(day, serves=Serves(data["serves"])) if data.get("serves") else day
    chore, when, layer = str(data.get("chore") or ""), _when(data), int(data.get("layer") or 0)
    step = StepId(StepKind.CHORE, layer, chore=chore, when=when) if when else stored_step(str(data.get("step") or ""))
    about = event.batch or ChoreId(chore, when, str(data.get("lot") or ""))
    minutes = float(data.get("minutes") or USUAL_NOT_NOW_MIN)
    wish = Wish(event.moment, about, what, step, minutes)
    return altered(day, wishes=(*day.wishes, wish))


def _when(data: Mapping[str, Any]) -> ChoreWhen | None:
    """Return when a chore is done; None in entries of older versions, which do not say."""
    return ChoreWhen(data["when"]) if data.get("when") else None


def _chore_done(day: Day, event: Event) -> Day:
    data = event.data
    lot = str(data.get("lot") or "")
    done = ChoreDone(event.batch or "", str(data["chore"]), _when(data), int(data.get("layer") or 0), lot)
    return altered(day, chores=(*day.chores, done))


def _nothing(day: Day, event: Event) -> Day:
    return day


APPLY: dict[str, Callable[[Day, Event], Day]] = {
    "load": _load,
    "moved": _in_water(_of_batch(moved)),
    "pass": _of_batch(passed),
    "acid put in": _acid,
    "reading": _of_batch(_read),
    "used": _of_batch(_used),
    "unit": _unit,
    "placed": _in_water(
        _of_batch(lambda _day, batch, event: placed_in(batch, str(event.data["unit"]), event.moment))
    ),
    "split": split_batch,
    "counted": _of_batch(_counted),
    "tagged": _of_batch(lambda _day, batch, event: altered(batch, tag=str(event.data["tag"]))),
    "covered": _of_batch(_covered),
    "overdyed": _of_batch(_overdyed),
    "note": _note,
    "alarm": _alarm,
    "resolved": _resolved,
    "added": added,
    "received": received,
    "plan changed": plan_changed,
    "closed": lambda day, event: altered(day, closed=event.moment),
    "advice": _advised,
    "chore": _chore_done,
    "foreseen": _nothing,
    "struck": _nothing,
    "unstruck": _nothing,
    "corrected": _nothing,
    "clock stepped": _nothing,
    "guard on": _nothing,
    "guard off": _nothing,
    "carried": _carried,
}
