"""Rules about heat: too late, too little, too much, unattended, and a tank that ran low."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from dyeday.craft.yarn.heat_into_yarn import microwave_min
from dyeday.plan.model import Plan
from dyeday.terms import KIT_OF_HEAT, KIT_TRAITS, STEADY_HEATS, AlarmKind
from dyeday.track.day.batch_record import BatchRecord, Heat
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import (
    at_heat_min,
    dishes_to_heat,
    heat_due_min,
    heat_in_all_min,
    heat_was_enough,
    heats_of,
    is_enough_heat,
    layer_had_and_needs_min,
    left_fix,
    rounds_of,
)
from dyeday.track.day.waiting_time import absences, wait_used_up_at, waited_by_cover, waits
from dyeday.track.flags.rule import TYPED_MIN, RaisedFlag, more_min, part_text
from dyeday.track.timers.alarm_states import alarms_of_batch, alarms_of_tanks, is_one_cause
from dyeday.track.timers.timers import fill_lasts_min, tank_fills
from dyeday.track.timestamp import SECOND_IN_MIN, Moment, length_text, min_figure, minutes

_DRIED_OUT = (
    ("painted", "mist it with acid water until it is damp again, wrap it, and fix it now; look for pale dry tips"),
    ("speckled", "fix it now; look for specks that ran"),
)
_BROKEN_OFF = (
    "mist it with acid water until it is damp again, wrap it, and steam it in another unit, "
    "or over boiling water in a covered pot, for the {} min it lacks"
)
_ALONE_REMEDY = "look at its water, and for scorched or felted yarn; turn heat off before you leave"
_OVERDUE_REMEDY = "turn the heat off, open with care, and look for scorched or felted yarn"


def dried_out(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """Painted, perhaps with its heat broken off, and not in heat for longer than its cover or its specks allow."""
    for wait in waits(day, batch):
        if (limit := wait_used_up_at(batch, wait, day.plan, now)) is None:
            continue
        parts = waited_by_cover(batch, wait, now)
        allowed = ((cover, length, day.plan.rules.wait_min(cover, specks=wait.specks)) for cover, length in parts)
        waited = ", then ".join(f"{cover.value} {part_text(had, most, 'min')}" for cover, had, most in allowed)
        how, remedy = _DRIED_OUT[wait.specks]
        if begun := heats_of(batch, wait.layer, until=wait.since):
            how = "unfixed"
            had, needed = layer_had_and_needs_min(day.plan, batch, wait.layer, wait.since)
            is_off = not heat_was_enough(day.plan, batch, wait.layer, begun[-1].heat_no, wait.since)
            if is_off and needed > had and batch.planned_heat(begun[-1]).how in STEADY_HEATS:
                remedy = _BROKEN_OFF.format(more_min(needed - had))
        yield RaisedFlag(limit.utc, f"{how} and not in heat: {waited}", remedy)


def short_fix(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """A batch left fix with too few of the minutes at heat that its layer needs, in any unit."""
    for stay, left in left_fix(batch):
        layer = batch.layer_of(stay.layer)
        had, needed = layer_had_and_needs_min(day.plan, batch, stay.layer, left)
        if not is_enough_heat(day.plan, had, needed):
            steady = any(heat.how in STEADY_HEATS for heat in layer.heats)
            whose = "its deepest section needs" if steady else "the recipe asks for"
            how = next((h for h in STEADY_HEATS if any(heat.how is h for heat in layer.heats)), layer.heats[-1].how)
            remedy = f"fix again: {how.value} for {more_min(needed - had)} min at heat"
            yield RaisedFlag(left.utc, f"{part_text(had, needed, 'min')} at heat that {whose}", remedy)


def overdue(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """The alarm of a heat past its time was active for ``rules.overdue``; a tank that it ran low has its own flag."""
    limit = day.plan.rules.overdue
    for alarm in alarms_of_batch(day, batch, now):
        since = alarm.when_active_for(limit, now.utc) if alarm.kind is AlarmKind.HEAT else None
        if since is None or any(is_one_cause(alarm, low) for low in alarms_of_tanks(day, now)):
            continue
        stood = length_text(alarm.active_min(now.utc))
        why = f"alarm of {day.time_text(alarm.since)} not answered for {stood}: {alarm.text}"
        yield RaisedFlag(since, why, _OVERDUE_REMEDY, cause=f"{alarm.unit} {alarm.since}")


def boil_dry(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """A unit heated this batch on a fill that was down to its reserve."""
    for unit in dict.fromkeys(heat.unit for heat in batch.heats if heat.unit):
        if (lasts_min := fill_lasts_min(day.plan.kit_of(unit))) is None:
            continue
        for fill in tank_fills(day, unit, now):
            if (since := fill.when_low(spare_min=SECOND_IN_MIN)) is None:
                continue
            own = (heat for heat in batch.heats if heat.unit == unit and (heat.end or now).utc > since)
            if starts := [heat.start.utc for heat in own if heat.start.utc < fill.spans[-1][1]]:
                ran = f"{unit} ran {part_text(fill.run_min, lasts_min, 'min')} that one fill lasts"
                off = "heat off at the wall, let it cool before you fill it; " if batch.unit == unit else ""
                yield RaisedFlag(
                    max(since, min(starts)),
                    f"{ran}, {day.plan.rules.reserve:g} % of it reserve",
                    f"{off}look at film and yarn for scorch",
                    unit,
                    f"{unit} {fill.fill_no}",
                )


def left_alone(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """Heat begun before you left the house, or in that minute, was still on a minute later."""
    for heat in batch.heats:
        off = (heat.ended(now) or now).utc
        for out, back in absences(day.plan):
            alone_min = (min(off, back) - out).total_seconds() / 60
            if heat.start.utc < out + timedelta(minutes=TYPED_MIN) and alone_min > TYPED_MIN:
                unit = heat.unit or "heat"
                why = f"{unit} was on for {length_text(alone_min)} while you were out, from {day.time_text(out)}"
                yield RaisedFlag(out + timedelta(minutes=TYPED_MIN), why, _ALONE_REMEDY, cause=f"{unit} {out}")


def scorch_risk(day: Day, batch: BatchRecord, now: Moment) -> Iterator[RaisedFlag]:
    """A microwave burst much longer than the load needs, or too soon after the one before."""
    for heat in batch.heats:
        layer = batch.layer_of(heat.layer)
        how = layer.heat_of(heat.heat_no).how
        if heat.heat_no > len(layer.heats) or not KIT_TRAITS[KIT_OF_HEAT[how]].scorches:
            continue
        # Dishes in turn may be one entry.
        dishes, _ = dishes_to_heat(heat_due_min(day.plan, batch, heat), batch.planned_heat(heat).minutes)
        had, needs = at_heat_min(heat, now), dishes * _load_needs_min(day.plan, batch, heat)
        limit = needs * day.plan.rules.scorch_factor
        if had > limit + SECOND_IN_MIN:
            since = heat.at_heat_since.later(limit * 60).utc
            burst = f"{min_figure(had)} min" if had < 100 else length_text(had)
            why = f"{burst} in the microwave, the load needs {min_figure(needs)} min"
            yield RaisedFlag(since, why, "feel for dry or browned strands, wet it well, and shorten the burst")
        rest, gap = layer.rest_before(heat.heat_no), _gap(batch, heat)
        if (earlier := _repeated(day.plan, batch, heat, now)) is not None:
            rest = rest or layer.rest_before(heat.heat_no + 1)
            gap = minutes(earlier.end or heat.start, heat.start)
        if rest > 0 and gap is not None and gap <= rest - TYPED_MIN:
            why = f"microwaved again after a rest of {part_text(gap, rest, 'min')}"
            yield RaisedFlag(
                heat.start.utc, why, "let it stand so that the heat spreads, and look for scorched strands"
            )


def _load_needs_min(plan: Plan, batch: BatchRecord, heat: Heat) -> float:
    """Return the minutes one dish needs: the recipe's burst, or less if so small a load is hot sooner."""
    planned = batch.planned_heat(heat).minutes
    kit = plan.kit_of(heat.unit)
    if kit is None or kit.output_w is None:
        return planned
    dry_g = min(batch.skeins, kit.skeins_of(batch.base.skein_g) or batch.skeins) * batch.base.skein_g
    liquor_g = batch.layer_of(heat.layer).liquor_ml(dry_g)
    return min(planned, microwave_min(dry_g, dry_g + liquor_g, kit.output_w))


def _repeated(plan: Plan, batch: BatchRecord, heat: Heat, now: Moment) -> Heat | None:
    """Return the burst that ``heat`` repeats for its dish; None where it is the first or completes one broken off."""
    again = heats_of(batch, heat.layer, heat.heat_no, until=heat.start)
    needed_min = heat_in_all_min(plan, batch, heat.layer, heat.heat_no, heat.unit)
    *earlier, own = (heats for heats in rounds_of(plan, again, needed_min, now) if heats)
    if earlier:
        return earlier[-1][min(len(own), len(earlier[-1])) - 1]
    dishes = round(needed_min / batch.planned_heat(heat).minutes)
    exceeds = len(own) > dishes and at_heat_min(heat, now) > heat_due_min(plan, batch, heat) + SECOND_IN_MIN
    return own[-1 - dishes] if exceeds else None


def _gap(batch: BatchRecord, heat: Heat) -> float | None:
    """Return the minutes since the same dish's heat before this one ended; None without one, or without its end."""
    before = [r for r in heats_of(batch, heat.layer, until=heat.start) if r.heat_no == heat.heat_no - 1]
    dish = len(heats_of(batch, heat.layer, heat.heat_no, until=heat.start)) - 1
    if not before or dish < 0:
        return None
    earlier = before[min(dish, len(before) - 1)]
    return minutes(earlier.end, heat.start) if earlier.end is not None else None
