"""What to do next, for every screen: what is urgent first, then the forecast's next steps with reasons."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from dyeday.ahead.advising.next_step import rinsed_before
from dyeday.ahead.advising.next_up import (
    FILL,
    Glance,
    NextUp,
    Rank,
    fill_in_mid_heat,
    next_up,
    with_fill_lines,
    without_forecast,
)
from dyeday.ahead.advising.still_to_do import changed_since, chores_under_way, soaks_from, to_do, with_ready_seen
from dyeday.plan.step_ids import ChoreId
from dyeday.terms import State, StepKind, WarningKind
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import units_on
from dyeday.track.flags.circuits import overload_with
from dyeday.track.timers.timers import doing_text
from dyeday.track.timestamp import Moment

if TYPE_CHECKING:
    from dyeday.ahead.foreseen_steps import Forecast, Planned, Warned

DAY_CAN_END = "the day can end: x closes it"
NO_HURRY = (
    WarningKind.WILL_NOT_FIT,
    WarningKind.OVERNIGHT,
    WarningKind.CIRCUIT_FULL,
    WarningKind.FLAG_FIRST,
    WarningKind.DUE_LATE,
)
"""warnings that no step of the next minutes prevents, or whose step says it itself"""


def advice(day: Day, now: Moment, most: int, forecast: Forecast | None, seen: Glance | None = None) -> list[NextUp]:
    """Return up to ``most`` things to do next: what is urgent, then the forecast's next steps with their reasons.

    What cannot be done yet comes behind all that is urgent, or behind the first line if nothing is. Heat that is on
    in an empty house comes before all, any other urgent warning last, if there is room. A batch or unit with entries
    since the forecast is named only if it is due, or by the day's own next step. ``seen`` has known values.
    """
    if forecast is None or not forecast.steps:
        return without_forecast(day, now, most, seen)
    loads = [step for step in forecast.next_steps if step.kind is StepKind.LOAD]
    plain = next_up(day, now, seen, {load.batch: load.unit for load in reversed(loads) if load.unit is not None})
    waits = [item for item in plain if item.rank is Rank.CANNOT]
    from dyeday.ahead.advising.reasons import do_text, timed_reason

    # Rested yarn whose heat fits only later is offered for then; after the stop, not as ready now.
    not_yet = {load.batch: load.start for load in loads if load.start > now.later(60).utc}
    later = [item for item in plain if item.rank is Rank.HOLDS_KIT and item.heat_no and item.about in not_yet]
    urgent = [item for item in plain if item.is_urgent and item not in later]
    ready = [item for item in plain if item not in later or not_yet[item.about] < forecast.stop]
    marks = {about: item.mark for item in ready for about in item.abouts}
    chosen: dict[tuple[str, int | None], str | None] = {
        (about, item.heat_no): item.unit for item in plain if item.heat_no for about in item.abouts
    }
    changed = changed_since(forecast.day, day)
    coming = with_ready_seen(_not_named(day, forecast, [*urgent, *waits], plain, changed), marks, most)
    ends = [] if urgent or changed else list(_day_can_end(day, forecast, coming))
    planned: list[NextUp] = []
    waiting: list[NextUp] = []
    for step in coming:
        if fill := fill_in_mid_heat(day, step, forecast.at, for_end=forecast.for_end):
            planned += [] if any(fill.about in one.abouts for one in (*urgent, *planned)) else [fill]
            continue
        heat_no = (step.heat_no or 1) if step.kind is StepKind.LOAD else None
        # Enter offers a unit whose tank lasts before the forecast's, whose tank does not.
        unit = chosen.get((step.batch, heat_no), step.unit)
        do, because = do_text(replace(step, unit=unit)), timed_reason(replace(step, unit=unit), forecast, day)
        # What is due keeps its mark, also where the forecast puts other work first.
        mark = "" if step.is_chore else marks.get(step.batch, "")
        line = NextUp(step.batch, do, because, Rank.FORESEEN, mark, step.is_chore, unit, heat_no, begin=step.start)
        # The sink is free once what is in it hangs, which no step of the forecast says.
        first = rinsed_before(day, day.batches[step.batch]) if step.kind is StepKind.RINSE else []
        planned += [one for one in plain if {*first} & {*one.abouts} and one not in (*urgent, *planned)]
        # What its circuit has no room for yet goes behind what can be done.
        is_full = heat_no is not None and overload_with(day, unit, now)
        (waiting if is_full else planned).append(line)
    dried = [replace(item, mark="") for item in plain if item.rank is Rank.DRIED]
    due = [one for one in plain if one.mark and one.rank is not Rank.DRIED and changed & {*one.abouts}]
    said = {about for one in (*urgent, *waits, *planned, *waiting) for about in one.abouts}
    due = [one for one in due if not said & {*one.abouts}]
    items = list(with_fill_lines(day, [*urgent, *ends, *planned, *due, *waiting, *dried], now))
    by_hand = any(batch.state in (State.PAINT, State.RINSE) for batch in day.unsplit)
    hands_free = not by_hand and all(step.start > now.later(60).utc for step in coming)
    if not urgent and not ends and hands_free:
        # A unit that is off need not wait for its load.
        items.sort(key=lambda item: item.word != FILL or item.begin is not None)
    warned = most_urgent(forecast.warned, now.utc)
    many_urgent = sum(item.is_urgent for item in items)
    at = max(1, many_urgent)
    items = [*items[:at], *waits, *items[at:]]
    if warned is not None and warned.kind is WarningKind.LEFT_ALONE and warned.at <= now.utc:
        heating = next((on.batches for on in units_on(day, now) if on.unit == warned.about), (warned.about,))
        return [NextUp("+".join(heating), warned.do, warned.text, Rank.HARM, "*", word="off"), *items][:most]
    if warned is None or many_urgent >= most or most < 2:
        return items[:most]
    return [*items[: most - 1], NextUp(warned.about, warned.do or "look", warned.text, Rank.WARNING)]


def _day_can_end(day: Day, forecast: Forecast, coming: Sequence[Planned]) -> Iterator[NextUp]:
    """Yield that the day can end, and what is in paint, fix or cool, if no work is left for it and nothing is on."""
    coming = coming or [step for step in forecast.next_steps if step.start >= forecast.stop]
    if forecast.for_end or not coming or coming[0].start < forecast.stop or units_on(day, forecast.at):
        return
    waiting = sorted(
        (batch for batch in day.unfinished if batch.state in (State.PAINT, State.FIX, State.COOL)),
        key=lambda batch: batch.state is State.COOL,
    )
    lies = [
        f"{batch.no} {doing_text(day, batch, forecast.at)}"
        if batch.state is not State.PAINT
        else f"{batch.no} painted? Space, then 0: no heat yet"
        for batch in waiting
    ]
    lift_out = [warned.do for warned in forecast.warned if warned.kind is WarningKind.OVERNIGHT and warned.do]
    why = "; ".join([f"nothing until {day.time_text(coming[0].start)}", *lies, *lift_out])
    yield NextUp("", DAY_CAN_END, why, Rank.FORESEEN)


def _not_named(
    day: Day, forecast: Forecast, urgent: Sequence[NextUp], plain: Sequence[NextUp], changed: set[str]
) -> list[Planned]:
    """Return the chores under way, and the next step of all without an urgent line.

    Of a batch or unit in ``changed``, by entries since the forecast, only chores, and what is in ``plain`` too, the
    day's own next steps. No soak that is too early.
    """
    steps = list(chores_under_way(day, forecast))
    named: set[str | ChoreId] = {*(about for item in urgent for about in item.abouts), *(s.owner for s in steps)}
    from dyeday.ahead.advising.reasons import do_text

    true = {(about, item.do) for item in plain for about in item.abouts}
    for step in forecast.next_steps:
        if step.owner not in named and to_do(step, day):
            named.add(step.owner)
            is_true = step.is_chore or not changed & {step.batch, step.unit} or (step.batch, do_text(step)) in true
            if is_true and soaks_from(step, forecast) is None:
                steps.append(step)
    return steps


def advised_steps(day: Day, now: Moment, most: int, forecast: Forecast | None) -> list[Planned]:
    """Return up to ``most`` next steps of the forecast, as `advice` orders them, without what is urgent or waits."""
    if forecast is None:
        return []
    plain = next_up(day, now)
    named = [item for item in plain if item.is_urgent or item.rank is Rank.CANNOT]
    steps = _not_named(day, forecast, named, plain, changed_since(forecast.day, day))[:most]
    return sorted(steps, key=lambda step: step.kind is StepKind.LOAD and overload_with(day, step.unit, now) != "")


def most_urgent(shown: Iterable[Warned], now_utc: datetime) -> Warned | None:
    """Return the warning to act on first: the soonest up to an hour from now, without `NO_HURRY`, if there is one."""
    soon = [warned for warned in shown if warned.kind not in NO_HURRY and warned.at <= now_utc + timedelta(hours=1)]
    return min(soon, key=lambda warned: warned.at, default=None)
