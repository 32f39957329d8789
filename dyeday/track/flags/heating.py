"""Rules about heat: did painted yarn dry out waiting for it, and was the heat long enough."""

from __future__ import annotations

from collections.abc import Iterator

from dyeday.plan.model import FixStep
from dyeday.terms import STEADY_HEATS, HeatKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import heat_min_of_each_pot, left_fix
from dyeday.track.day.waiting_time import wait_limit, waited_by_cover, waits
from dyeday.track.flags.rule import RaisedFlag, more_min, of
from dyeday.track.timestamp import SECOND_MIN, Now


def dried_out(day: Day, batch: BatchRecord, now: Now) -> Iterator[RaisedFlag]:
    """Painted and not in heat for longer than its cover allows."""
    for wait in waits(batch):
        limit = wait_limit(batch, wait, day.plan, now)
        if limit is None:
            continue
        parts = waited_by_cover(batch, wait, now)
        said = ", then ".join(
            f"{cover.value} {of(length, day.plan.rules.cover_min(cover), 'min')}" for cover, length in parts
        )
        yield RaisedFlag(
            limit.utc,
            f"painted and not in heat: {said}",
            "mist it with acid water until it is damp again, wrap it, and fix it now; look for pale dry tips",
        )


def short_fix(day: Day, batch: BatchRecord, now: Now) -> Iterator[RaisedFlag]:
    """Less heat in all than the deepest section of a layer needs, when the batch left fix.

    Which heat gave the minutes, and in which unit, is one: bursts cut short before a full steaming are nothing.
    """
    for stay, left in left_fix(batch):
        layer = batch.layer_of(stay.layer)
        heats = range(1, len(layer.heats) + 1)
        planned = sum(heat.minutes for heat in layer.heats)
        steady = any(heat.how in STEADY_HEATS for heat in layer.heats)
        needed = (day.plan.dye_minimum_min(layer) if steady else 0.0) or planned
        had = sum(heat_min_of_each_pot(day.plan, batch, stay.layer, heat_no, left) for heat_no in heats)
        if had < needed * day.plan.rules.fix_share / 100 - SECOND_MIN:
            whose = "its deepest section needs" if steady else "the recipe asks for"
            more = f"{_how(layer.heats).value} for {more_min(needed - had)} min at heat"
            yield RaisedFlag(left.utc, f"in all {of(had, needed, 'min')} at heat that {whose}", f"fix again: {more}")


def _how(heats: tuple[FixStep, ...]) -> HeatKind:
    hows = [heat.how for heat in heats]
    return next((how for how in STEADY_HEATS if how in hows), hows[-1])
