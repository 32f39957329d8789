"""What hands do in a step, and why it is next: what it waits for, or what waits for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import takewhile

from dyeday.ahead.advising.next_step import rinsed_before
from dyeday.ahead.advising.next_up import flag_first
from dyeday.ahead.advising.still_to_do import chore_of, soaks_from, to_do
from dyeday.ahead.foreseen_steps import Forecast, Planned
from dyeday.ahead.problem_parts.hours import absence_met, no_hands_met
from dyeday.ahead.problem_parts.off_early import off_early
from dyeday.plan.step_ids import owner_text
from dyeday.terms import State, StepKind, TimerKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import state_word
from dyeday.track.events.remarks import AdviceWished
from dyeday.track.events.rewriting import Rewriting
from dyeday.track.flags.circuits import overload_with
from dyeday.track.timers.timers import timer_of, timers_of
from dyeday.track.timestamp import Moment, length_text, minutes

SOON = timedelta(minutes=15)
"""what follows a step within this is the reason for it; of painting, heat within twice this"""
AT_ONCE = timedelta(minutes=1)
"""the reason of a step that begins within this has no time"""
_PAST = {StepKind.PAINT: "painted", StepKind.SPECKLE: "speckled", StepKind.DYE: "dyed"}


def do_text(step: Planned) -> str:
    """Return what hands do in a step: "into the soak in tray 1", "heat on in steamer 2"."""
    unit = f" in {step.unit}" if step.unit else ""
    match step.kind:
        case StepKind.SOAK_LOAD | StepKind.SOAK:
            return f"into the soak{unit}"
        case StepKind.LOAD:
            return f"heat on{unit}"
        case StepKind.UNLOAD:
            return f"heat off {step.unit or ''}".rstrip()
        case StepKind.CHORE:
            return step.id.chore
    return step.id.words if step.id.part else step.kind.value


def reason(step: Planned, forecast: Forecast, day: Day) -> str:
    """Return the reason for an attended step of a forecast."""
    steps = forecast.steps
    own = [other for other in steps if other.owner == step.owner and other is not step]
    # Heat may be on before a chore is done: then neither the load nor that heat is still to come.
    left = (other for other in own if other.start >= step.end and other.kind is not StepKind.HEAT)
    after = next((other for other in left if to_do(other, day)), None)
    dyed = next((other for other in own if other.kind.puts_dye_on and other.start >= step.end), None)
    if (begun := day.chore_begun(step.batch, chore_of(step))) is not None:
        return f"begun {day.time_text(begun.utc)}: C when it is done"
    batch = day.batches.get(step.batch)
    if step.kind.puts_dye_on:
        return (flag_first(day, batch, forecast.at) if batch else "") or _of_dye(step, own, day)
    if step.kind is StepKind.SOAK_LOAD:
        return f"to be {_PAST[dyed.kind]} at {day.time_text(dyed.start)}" if dyed else "not started yet"
    if step.kind is StepKind.LOAD:
        return (flag_first(day, batch, forecast.at) if batch else "") or _of_load(step, own, forecast, day)
    if step.kind is StepKind.UNLOAD:
        if early := _early(step, own, forecast, day):
            return early
        loads = (s for s in steps if s.unit == step.unit and s.kind is StepKind.LOAD)
        following = next((s for s in loads if s.start >= step.end), None)
        if following is not None and following.start - step.end <= SOON:
            return f"{following.batch} goes into {step.unit} next"
        ends = _heat_over(step, own, forecast, day)
        if step.start <= forecast.at.utc + AT_ONCE:
            return f"its heat {'ends' if ends > forecast.at.utc else 'ended'} at {day.time_text(ends)}"
        # Its line begins with a time already.
        over_min = minutes(Moment(ends.replace(second=0, microsecond=0)), Moment(step.start))
        return f"{length_text(over_min)} after its heat ends" if over_min >= 1 else "its heat ends"
    if step.kind is StepKind.RINSE and batch is not None:
        if step.start <= forecast.at.utc + AT_ONCE and (before := rinsed_before(day, batch)):
            return f"once {_named(before)} {'is' if len(before) == 1 else 'are'} rinsed"
        return flag_first(day, batch, forecast.at) or _cool(step, batch, forecast, day)
    if not step.batch:
        return _of_chore(step, forecast)
    if fits := _fits_before(step, forecast, day):
        return fits
    if after is not None:
        if (since := soaks_from(after, forecast)) is not None:
            return f"not into the soak before {day.time_text(since)}"
        is_late = after.start > step.end + SOON
        word = after.state.value if after.state else after.id.chore
        if after.attended:
            word = do_text(replace(after, unit=None) if is_late else _where_free(after, day))
        return f"then at {day.time_text(after.start)} {word}" if is_late else f"then {word}"
    return "next in the day's order"


def _fits_before(chore: Planned, forecast: Forecast, day: Day) -> str:
    """Return that a chore of now fits in before hands must be at a heater, where the rinse of cool yarn does not."""
    now, heaters = forecast.at.utc, (StepKind.LOAD, StepKind.UNLOAD)
    heater = next((step for step in forecast.next_steps if step.start >= chore.end), None)
    if chore.start > now + AT_ONCE or heater is None or heater.kind not in heaters:
        return ""
    for rinse in (step for step in forecast.next_steps if step.kind is StepKind.RINSE and to_do(step, day)):
        timer = timer_of(day, day.batches[rinse.batch], forecast.at)
        is_cool = timer is not None and timer.kind is TimerKind.COOL and timer.is_due
        if is_cool and now + timedelta(minutes=rinse.minutes) > heater.start:
            return f"fits before {day.time_text(heater.start)}, rinsing {rinse.batch} does not"
    return ""


def _where_free(step: Planned, day: Day) -> Planned:
    """Return a later step without its unit where other yarn is still in that."""
    others = [batch.no for batch in day.in_unit(step.unit or "") if batch.no != step.batch]
    return replace(step, unit=None) if others else step


def _cool(rinse: Planned, batch: BatchRecord, forecast: Forecast, day: Day) -> str:
    """Return that yarn is cool, and since or from when if its rinse comes later."""
    at = forecast.at
    timer = timer_of(day, batch, at)
    due = timer.due_at(at) if timer is not None and timer.kind is TimerKind.COOL else None
    if due is None or rinse.start < max(due, at.utc) + AT_ONCE:
        return "it is cool"
    return f"cool {'since' if due <= at.utc else 'from'} {day.time_text(due)}"


def _of_chore(step: Planned, forecast: Forecast) -> str:
    """Return what waits for a chore of a lot or of the day, or what it waits for, or that it ends the day."""
    before, after = _before_and_after(step, forecast)
    if before:
        return f"{_named(before)} wait{'s' if len(before) == 1 else ''} for it"
    return f"after {_named(after)}" if after else "it ends the day"


def chore_text(step: Planned, forecast: Forecast) -> str:
    """Return a chore with its batches, if any: "09 tie and count", "mix liquor for 01, 02", "wipe down"."""
    before, after = _before_and_after(step, forecast)
    of_lot = f" for {_named(before or after)}" if not step.batch and (before or after) else ""
    return f"{step.batch} {step.id.chore}{of_lot}".strip()


def _before_and_after(step: Planned, forecast: Forecast) -> tuple[list[str], list[str]]:
    """Return the batches that wait for a chore, and those that it waits for."""
    links = forecast.problem.links
    before = [owner_text(link.to) for link in links if link.of == step.owner]
    return before, [owner_text(link.of) for link in links if link.to == step.owner]


def _named(batches: Sequence[str]) -> str:
    """Return "05, 06" or "01, 02, 03, 04 and 5 more"."""
    more = len(batches) - 4
    return ", ".join(batches[:4]) + (f" and {more} more" if more > 0 else "")


def _of_dye(step: Planned, own: Sequence[Planned], day: Day) -> str:
    load = next((other for other in own if other.kind is StepKind.LOAD and other.start >= step.end), None)
    stretches = [step, *(s for s in own if s.kind is step.kind and s.layer == step.layer and s.start >= step.end)]
    takes = f"takes {length_text(sum(s.minutes for s in stretches))}"
    if load is None or load.unit is None or load.start - step.end > 2 * SOON:
        return takes if load is None else f"{takes}; its heat comes at {day.time_text(load.start)}"
    return f"{takes}, then into {load.unit}"


def _of_load(step: Planned, own: Sequence[Planned], forecast: Forecast, day: Day) -> str:
    heat = next((other for other in own if other.kind is StepKind.HEAT and other.start >= step.end), None)
    if heat is None:
        return f"then {step.unit or 'it'} runs"
    is_next = step.start <= forecast.at.utc + AT_ONCE
    if is_next and forecast.at.utc < heat.start and overload_with(day, step.unit, forecast.at):
        kit = day.plan.kit_of(step.unit)
        return f"not before {day.time_text(heat.start)}, {kit.circuit if kit else step.unit} is full until then"
    return f"it heats until {day.time_text(step.end + (heat.end - heat.start))}"


def _early(step: Planned, own: Sequence[Planned], forecast: Forecast, day: Day) -> str:
    """Return why heat that is on goes off early; empty if it does not."""
    batch = day.batches.get(step.batch)
    if batch is None or any(s.kind in (StepKind.UNLOAD, StepKind.HEAT) and s.start < step.start for s in own):
        return ""
    early = off_early(day, batch, forecast.at, step.minutes, for_end=forecast.for_end)
    return early.text if early is not None else ""


def _heat_over(step: Planned, own: Sequence[Planned], forecast: Forecast, day: Day) -> datetime:
    """Return when the heat of an unloading is over; hands may come later."""
    ends = [other.end for other in own if other.kind is StepKind.HEAT and other.end <= step.start]
    if not ends and step.batch in day.batches:
        timers = timers_of(day, day.batches[step.batch], forecast.at)
        heating = (c.due_at(forecast.at) for c in timers if c.kind in (TimerKind.HEAT, TimerKind.WARM_UP))
        ends = [due for due in heating if due is not None]
    return max(ends, default=step.start)


def timed_reason(step: Planned, forecast: Forecast, day: Day) -> str:
    """Return `reason` or the break that a step is put behind, after the time of a step that is still to come."""
    because, at = reason(step, forecast, day), forecast.at
    batch = day.batches.get(step.batch)
    if batch is not None and step.kind is StepKind.LOAD:
        rest = timer_of(day, batch, at)
        if rest is not None and rest.kind is TimerKind.REST and (rest.left_s or 0.0) >= 60:
            rested = max(step.start, at.later((rest.left_s or 0.0) + 59).utc)
            return f"{day.time_text(rested)}: rested; {because}"
    if step.start <= at.utc + AT_ONCE:
        return because
    return f"{day.time_text(step.start)}: {_pause_before(step, forecast, day) or because}"


def _pause_before(step: Planned, forecast: Forecast, day: Day) -> str:
    """Return that a step is too long for the time that hands have before a break or absence; "" if it is not that."""
    pause, batch = no_hands_met(day.plan, step.start - timedelta(seconds=1)), day.batches.get(step.batch)
    if pause is None or pause[1] != step.start or (batch is not None and flag_first(day, batch, forecast.at)):
        return ""
    timer = timer_of(day, batch, forecast.at) if batch is not None else None
    begin, due = pause[0], timer.due_at(forecast.at) if timer is not None else None
    busy = (other.end for other in forecast.steps if other.attended and other.end <= begin)
    free = max([forecast.at.utc, *busy, *filter(None, [due])])
    if not timedelta(0) < begin - free < step.end - step.start:
        return ""
    what = "you leave" if absence_met(day.plan, begin, step.start) else "your break is"
    return f"takes {length_text(step.minutes)}, and {what} at {day.time_text(begin)}"


def with_change_reason(forecast: Forecast, before: Forecast | None, gain: str, day: Day) -> Forecast:
    """Return the forecast, with a sentence in ``changed`` on why its next step differs from that of ``before``.

    There is none without a ``gain``, nor after an undo, redo or correction: the day of ``before`` no longer counts.
    """
    if before is None or not gain:
        return forecast
    since = [*takewhile(lambda event: event.recorded_at >= before.at.utc, reversed(day.events))]
    if any(isinstance(event.body, Rewriting) for event in since):
        return forecast
    first = next((s for s in forecast.next_steps if to_do(s, day) and soaks_from(s, forecast) is None), None)
    ahead = {s.key for s in forecast.steps}
    was = next((s for s in before.next_steps if (s.key in ahead and to_do(s, day)) or _gone(s, day)), None)
    if first is None or was is None or was.key == first.key:
        return forecast
    wished = "as you asked" if any(isinstance(event.body, AdviceWished) for event in since) else ""
    because = _gone(was, day) or wished or gain
    text = f"advice changed: {first.batch} {do_text(first)}".replace("  ", " ")
    return replace(forecast, changed=f"{text}; {because}")


def _gone(step: Planned, day: Day) -> str:
    """Return what made a step impossible: its unit broke down, or its batch is set aside or scrapped; "" else."""
    if step.unit is not None and step.unit in day.units and day.units[step.unit].is_down:
        return f"{step.unit} is down"
    batch = day.batches.get(step.batch)
    if batch is not None and batch.state in (State.SET_ASIDE, State.SCRAPPED):
        return f"{batch.no} is {state_word(batch)}"
    return ""
