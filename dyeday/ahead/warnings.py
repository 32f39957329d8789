"""What will go wrong unless you act: flag rules (`ASKED`) applied to the day that the forecast foresees.

What no rule covers is read from its steps: what does not fit, is late, waits for its circuit, stays overnight. A
mix that is too small, an open flag and heat on while you are out, which the forecast has off by then, are read from
the day as it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta

from dyeday.ahead.advising.hindrances import cannot_be_finished, too_late_alone
from dyeday.ahead.advising.next_up import flag_tasks
from dyeday.ahead.deadlines import Deadline, deadlines, heat_text
from dyeday.ahead.due_dates import due_late
from dyeday.ahead.foreseen_steps import Forecast, Planned, Warned
from dyeday.ahead.problem_parts.fill_steps import with_fills
from dyeday.ahead.problem_parts.hours import absence_met
from dyeday.ahead.problem_parts.session_days import day_number, morning_of
from dyeday.ahead.what_if import bottleneck
from dyeday.plan.model import Kit
from dyeday.terms import KIT_TRAITS, FlagId, HeatEdge, State, StepKind, UnitEvent, WarningKind
from dyeday.text import batches_text
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Body, Day, Event
from dyeday.track.day.progress import heat_due_at, units_on
from dyeday.track.events.movements import Heated, Moved, UnitChanged
from dyeday.track.flags import RULES
from dyeday.track.flags.circuits import draw_of, of_circuit
from dyeday.track.flags.room_and_stock import SHORT_MIX_REMEDY, over_room, short_mixes
from dyeday.track.folding.fold import take_all
from dyeday.track.timestamp import Moment

_Entry = tuple[datetime, int, str | None, Body]
"""when, rank within the minute, batch, what happened"""
Fill = tuple[datetime, str]
"""(when, unit) a tank is filled"""
ASKED = {FlagId.DRIED_OUT: "heat it before then, or wrap it well", FlagId.OVERLOADED_CIRCUIT: "run them in turn"}
"""rules applied to the foreseen day, and the remedy; `_tanks` asks that of tanks fill by fill"""
TIGHT_MIN = 15
"""most slack of a step that has a warning, and least wait for a circuit that has one"""
MOST_FILLS = 30
"""most fills added to those of the forecast"""
MOST_REASONS = 3
"""most reasons that a warning gives why batches would be too late even alone"""


def foreseen(day: Day, steps: Sequence[Planned], now_utc: datetime, fills: Iterable[Fill] = ()) -> Day:
    """Return the day after ``steps`` and ``fills``, what should have happened earlier put at ``now_utc``."""
    return take_all(day, events_of(day, steps, now_utc, fills))


def events_of(day: Day, steps: Sequence[Planned], now_utc: datetime, fills: Iterable[Fill] = ()) -> list[Event]:
    """Return the events that ``steps`` of batches and ``fills`` would make, in order; no chores, acid or readings."""
    entries: list[_Entry] = [(at, 0, None, UnitChanged(unit=unit, what=UnitEvent.FILLED)) for at, unit in fills]
    off_for_now = {step.batch for step in steps if step.kind is StepKind.UNLOAD and step.id.part}
    for step in steps:
        if step.batch in day.batches:
            off_before = step.batch in off_for_now and not step.id.part
            entries += _of_step(step, day.batches[step.batch], day, off_before=off_before)
    entries.sort(key=lambda item: (item[0], item[1]))
    begin = max(now_utc, day.last_at or now_utc)
    timed = ((max(moment, begin), batch, body) for moment, _, batch, body in entries)
    return [Event(f"foreseen-{n}", body, at, at, batch) for n, (at, batch, body) in enumerate(timed)]


def _of_step(step: Planned, batch: BatchRecord, day: Day, *, off_before: bool) -> Iterator[_Entry]:
    """Yield the events of a step; ``off_before`` if heat goes off for a while before it."""
    unit, layer, heat = step.unit, step.layer, step.heat_no or 1
    if step.kind is StepKind.SOAK_LOAD:
        yield step.end, 2, step.batch, Moved(to=State.SOAK, layer=layer, unit=unit)
    elif step.kind.puts_dye_on:
        # As dye goes on, yarn leaves the tray it soaked in; dyed in a pot, it goes into that.
        into = unit if step.kind is StepKind.DYE else None
        if not step.id.part and batch.state is not State.PAINT:
            yield step.start, 3, step.batch, Moved(to=State.PAINT, layer=layer, unit=into)
        if not step.put_down:
            yield step.end, 1, step.batch, Moved(to=State.FIX, layer=layer, unit=into)
    elif step.kind is StepKind.HEAT:
        yield step.start, 4, step.batch, Heated(heat_no=heat, edge=HeatEdge.START, unit=unit)
        # At the prompt you switch it off in time, though the yarn may be taken out later.
        yield step.end, 1, step.batch, Heated(heat_no=heat, edge=HeatEdge.END)
    elif step.kind is StepKind.UNLOAD:
        on = batch.open_heat
        is_on = on is not None and (on.layer, on.heat_no) == (step.id.layer, heat) and not off_before
        due = heat_due_at(day.plan, batch, on).utc if on and is_on else step.start
        yield min(due, step.start), 1, step.batch, Heated(heat_no=heat, edge=HeatEdge.END)
        if heat == len(batch.layer_of(step.id.layer).heats) and not step.id.part:
            yield step.end, 0, step.batch, Moved(to=State.COOL)
    elif step.kind is StepKind.RINSE:
        yield step.start, 3, step.batch, Moved(to=State.RINSE, unit=unit)
    elif step.kind is StepKind.DRY:
        yield step.start, 2, step.batch, Moved(to=State.DRY, unit=unit)


def warnings(forecast: Forecast, day: Day) -> list[Warned]:
    """Return the warnings, soonest first."""
    filled, tanks = _tanks(forecast, day)
    after = foreseen(day, forecast.steps, forecast.at.utc, filled)
    all_warned = [
        *_of_rules(forecast, after),
        *tanks,
        *_circuits(forecast, day),
        *_fit(forecast, day),
        *_tight(forecast, day),
        *(
            Warned(WarningKind.SHORT_MIX, mix.batches[0], forecast.at.utc, str(mix), SHORT_MIX_REMEDY)
            for mix in short_mixes(day)
        ),
        *_left_alone(forecast, day),
        *_flags_first(forecast, day),
        *_overnight(forecast, day),
        *due_late(forecast, day),
    ]
    return sorted(all_warned, key=lambda warned: warned.at)


def _end(forecast: Forecast) -> Moment:
    return Moment(max([forecast.at.utc, *(step.end for step in forecast.steps)]) + timedelta(minutes=1))


def _of_rules(forecast: Forecast, after: Day) -> Iterator[Warned]:
    """Yield what the rules raise on the foreseen day after now."""
    end = _end(forecast)
    seen: set[tuple[FlagId, str]] = set()
    for rule in ASKED:
        for batch in after.unsplit:
            for raised in RULES[rule].find(after, batch, end):
                cause = raised.cause or f"{batch.no} {raised.why}"
                if raised.since <= forecast.at.utc or (rule, cause) in seen:
                    continue
                seen.add((rule, cause))
                at = after.time_text(raised.since)
                text = f"{batch.no} {RULES[rule].short} at {at} ({raised.why})"
                yield Warned(WarningKind(rule.value), batch.no, raised.since, text, ASKED[rule])


def _tanks(forecast: Forecast, day: Day) -> tuple[list[Fill], list[Warned]]:
    """Return when tanks are filled, and a warning of each fill that the forecast lacks, or that is not enough."""
    tanks = (step for step in with_fills(day.plan, forecast.steps) if step.kind is StepKind.FILL)
    fills: list[Fill] = [(step.end, step.unit or "") for step in tanks]
    most = len(fills) + MOST_FILLS
    all_warned: list[Warned] = []
    too_long: set[str] = set()
    end = _end(forecast)
    heats = [step for step in forecast.steps if step.kind is StepKind.HEAT and step.batch in day.batches]
    while len(fills) < most:
        low = _first_low(foreseen(day, forecast.steps, forecast.at.utc, fills), forecast.at.utc, end, heats)
        if low is None:
            break
        heat, since = low
        unit = str(heat.unit)
        opens = _opens(heat, forecast.steps)
        load = opens - timedelta(seconds=1)
        text = f"{unit} is low by {day.time_text(since)}, during the heat of {heat.batch}"
        if (load, unit) not in fills:
            fills.append((load, unit))
            all_warned.append(Warned(WarningKind.BOIL_DRY, unit, opens, text, f"fill it at {day.time_text(opens)}"))
            continue
        heats.remove(heat)
        all_warned = [warned for warned in all_warned if (warned.about, warned.at) != (unit, opens)]
        kit = day.plan.kit_of(unit)
        if kit is not None and kit.name not in too_long:
            too_long.add(kit.name)
            do = f"top it up by {day.time_text(since)}, switched off, with boiling water"
            all_warned.append(Warned(WarningKind.BOIL_DRY, unit, since, f"{text}; one fill does not last", do))
    return fills, all_warned


def _opens(heat: Planned, steps: Iterable[Planned]) -> datetime:
    """Return when the unit of a heat goes on: with that heat, or with the first of those that it joins in a load."""
    opens = heat.start
    heats = (step for step in steps if step.kind is StepKind.HEAT and step.unit == heat.unit)
    for other in sorted(heats, key=lambda step: step.start, reverse=True):
        if other.start < opens < other.end:
            opens = other.start
    return opens


def _first_low(after: Day, now_utc: datetime, end: Moment, heats: list[Planned]) -> tuple[Planned, datetime] | None:
    """Return the foreseen heat in which a tank is low first, and when."""
    rule = RULES[FlagId.BOIL_DRY]
    raised = ((b.no, one) for b in after.unsplit for one in rule.find(after, b, end) if one.since > now_utc)
    own = ((heat, one.since) for no, one in raised for heat in heats if (heat.batch, heat.unit) == (no, one.unit))
    lows = (low for low in own if low[0].start <= low[1] < low[0].end)
    return min(lows, key=lambda low: low[1], default=None)


def _circuits(forecast: Forecast, day: Day) -> Iterator[Warned]:
    """Yield each load that could be heated `TIGHT_MIN` earlier or more if its circuit had room."""
    loads = [step for step in forecast.steps if step.kind is StepKind.LOAD and step.unit is not None]
    heats = [step for step in forecast.steps if step.kind is StepKind.HEAT and step.unit is not None]
    for circuit in day.plan.circuits:
        for load in loads:
            # Its previous step has ended, and so has what was in its unit.
            before = (s for s in forecast.steps if s.end <= load.start and s is not load)
            own = (s.end for s in before if s.unit == load.unit or (s.batch == load.batch and s.attended))
            ready = max([forecast.at.utc, *own])
            others = [heat for heat in heats if heat.start < load.end and heat.end > ready and heat.unit != load.unit]
            moments = sorted([ready, *(heat.end for heat in others)])
            on_at = {at: {heat.unit for heat in others if heat.start <= at < heat.end} for at in moments}
            room = (at for at in moments if not draw_of(day.plan, circuit, [load.unit, *on_at[at]]).exceeds)
            # From then on it waits for hands.
            free = min(next(room, load.end), load.end)
            if free - ready < timedelta(minutes=TIGHT_MIN) or not of_circuit(day.plan, circuit, [load.unit]):
                continue
            on = of_circuit(day.plan, circuit, (heat.unit for heat in others if heat.start < free))
            full = f"circuit {circuit.name} is full with {' and '.join(sorted(on))} on"
            text = f"{full}: {load.batch} cannot have heat in {load.unit} before {day.time_text(free)}"
            yield Warned(WarningKind.CIRCUIT_FULL, circuit.name, ready, text)


def _fit(forecast: Forecast, day: Day) -> Iterator[Warned]:
    for batches, text in cannot_be_finished(forecast):
        yield Warned(WarningKind.LEFT_OUT, ", ".join(batches), forecast.at.utc, text)
    if late := forecast.left_over:
        stop = day.time_text(forecast.stop)
        alone = too_late_alone(day, forecast, late)
        neck = bottleneck(forecast, day)
        others = [no for no in late if not any(no in batches for batches, _ in alone)]
        waits = [f"no time for {batches_text(others)}, busiest: {neck.name}"] if neck is not None and others else []
        waits += _no_room_to_hang(forecast, day, late)
        why = "; ".join([*(why for _, why in alone[:MOST_REASONS]), *waits]) or "there is no time left for it"
        ends = forecast.tomorrow_finish
        text = f"{batches_text(late)} {'is' if len(late) == 1 else 'are'} not {forecast.counted_as} by {stop} ({why})"
        do = f"rinsed by {day.time_text(ends)}" if ends is not None else "left for another day"
        yield Warned(WarningKind.WILL_NOT_FIT, ", ".join(late), forecast.stop, text, do)


def _no_room_to_hang(forecast: Forecast, day: Day, late: Sequence[str]) -> Iterator[str]:
    """Yield which late batches, cooled by the stop, find no room on a rack, and until when."""
    by_stop = [step for step in forecast.steps if step.start < forecast.stop]
    after = foreseen(day, by_stop, forecast.at.utc)
    waiting = [no for no in late if after.batches[no].state is State.COOL and not _has_room(after, after.batches[no])]
    hung = [step.start for step in forecast.steps if step.batch in waiting and step.kind is StepKind.DRY]
    if waiting and hung:
        names = " and ".join(_racks(day))
        room = f"no room on {names} for {batches_text(waiting)} until {day.time_text(min(hung))}"
        yield f"{room}, so hang some elsewhere"


def _racks(day: Day) -> dict[str, Kit]:
    return {unit: kit for kit in day.plan.kit if KIT_TRAITS[kit.kind].hangs for unit in kit.unit_names}


def _has_room(day: Day, batch: BatchRecord) -> bool:
    """Return whether some rack has room for a batch, or the plan has none."""
    racks = _racks(day)
    return not racks or any(not over_room(kit, [*day.in_unit(unit), batch]) for unit, kit in racks.items())


def _left_alone(forecast: Forecast, day: Day) -> Iterator[Warned]:
    """Yield each unit that is on and would still be when you are out of the house."""
    for on in units_on(day, forecast.at):
        if (absence := absence_met(day.plan, forecast.at.utc, on.until.utc)) is not None:
            out, back = (day.time_text(moment) for moment in absence)
            until = f"{on.unit} ({'+'.join(on.batches)}) is on until {day.time_text(on.until.utc)}"
            text = f"{until}, and you are out of the house from {out} to {back}"
            at = max(absence[0], forecast.at.utc)
            before = f" before {out}" if absence[0] >= at else ""
            yield Warned(WarningKind.LEFT_ALONE, on.unit, at, text, f"turn it off{before}, or stay")


def _flags_first(forecast: Forecast, day: Day) -> Iterator[Warned]:
    """Yield each flag to see to before the next step of cooled yarn."""
    for batch in day.unfinished:
        step = next((step for step in forecast.steps if step.batch == batch.no and step.attended), None)
        if step is None:
            continue
        for text, remedy in flag_tasks(day, batch, forecast.at):
            yield Warned(WarningKind.FLAG_FIRST, batch.no, step.start, text, remedy)


def _tight(forecast: Forecast, day: Day) -> Iterator[Warned]:
    """Yield of each batch the load, into heat or the soak, with the least slack, if that is `TIGHT_MIN` at most."""
    tight: dict[str, Deadline] = {}
    for latest in deadlines(forecast):
        slack, before = latest.slack_min, tight.get(latest.batch)
        is_load = latest.step.kind in (StepKind.LOAD, StepKind.SOAK_LOAD)
        if slack is None or not (is_load and 0 <= slack <= TIGHT_MIN):
            continue
        if before is None or slack < (before.slack_min or 0):
            tight[latest.batch] = latest
    through = "through its heat" if forecast.counts_heat else "rinsed"
    for latest in tight.values():
        is_heat = latest.step.kind is StepKind.LOAD
        step = heat_text(day.batches.get(latest.batch), latest.step, "on") if is_heat else "into the soak"
        layer = f"layer {latest.step.layer} " if latest.step.layer > 1 else ""
        last, stop = (day.time_text(at) for at in (latest.by, forecast.stop))
        text = f"{latest.batch}: {layer}{step} by {last}, to be {through} by {stop}"
        yield Warned(WarningKind.LATEST_START, latest.batch, latest.at, text)


def _overnight(forecast: Forecast, day: Day) -> Iterator[Warned]:
    """Yield units, but racks and microwaves, that hold yarn as the next day begins, and yarn that lies painted."""
    morning = morning_of(day.plan, day_number(day.plan, forecast.at.utc) + 1)
    if forecast.at.utc >= morning:
        return
    tonight = [step for step in forecast.steps if step.start < morning]
    after = foreseen(day, tonight, forecast.at.utc)
    for kit in day.plan.kit:
        traits = KIT_TRAITS[kit.kind]
        for unit in kit.unit_names if not (traits.hangs or traits.in_turn) else ():
            inside = [batch for batch in after.in_unit(unit) if batch.state not in (State.RINSE, State.DRY)]
            if inside:
                numbers = batches_text([batch.no for batch in inside])
                stay = "stays" if len(inside) == 1 else "stay"
                nos = {batch.no for batch in inside}
                work = (s.start for s in forecast.steps if s.batch in nos and s.attended and s.start >= morning)
                until = day.time_text(min(work, default=morning))
                text = f"{numbers} {stay} in {unit} overnight, until {until}"
                yield Warned(WarningKind.OVERNIGHT, unit, morning, text, _lift_out(after, inside))
    for no, batch in after.batches.items():
        heats = (s.end for s in forecast.steps if s.batch == no and s.kind is StepKind.LOAD and s.start >= morning)
        if batch.state is State.FIX and batch.unit is None and (heat_at := min(heats, default=None)) is not None:
            text = f"{no} lies painted overnight, until its heat at {day.time_text(heat_at)}"
            yield Warned(WarningKind.OVERNIGHT, no, morning, text, f"keep it {batch.current_layer.cover.value}")


def _lift_out(after: Day, inside: Sequence[BatchRecord]) -> str:
    """Return what to do with cooled yarn that stays in its unit as the racks are full; "" if it does not."""
    cool = [batch for batch in inside if batch.state is State.COOL]
    if not cool or _has_room(after, cool[0]):
        return ""
    names, numbers = " and ".join(_racks(after)), batches_text([batch.no for batch in cool])
    return f"no room on {names}: lift {numbers} out once cool, wet yarn may wait in a bucket"
