"""Heat that is switched off early: you leave before its end, or its tank is low by then."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from itertools import pairwise
from math import ceil, inf

from dyeday.ahead.problem_parts.hours import elapsed_min, midnight, minute
from dyeday.ahead.problem_parts.session_days import windows_of, work_ends_text, work_stop_min
from dyeday.plan.model import Plan
from dyeday.quick_dataclass import dataclass
from dyeday.terms import KIT_TRAITS
from dyeday.track.day.batch_record import BatchRecord, Heat
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import REHEAT_MIN, heat_due_at, heat_had_min, heat_in_all_min, is_enough_heat
from dyeday.track.timers.timers import OFF_WITHIN_MIN, tank_fills
from dyeday.track.timestamp import Moment, time_text_from

STAYS_MIN = 60
"""how long past the day's work you wait at home for heat that is on. Common practice, no source"""


@dataclass(frozen=True, slots=True)
class OffEarly:
    """When heat that is on is switched off early, and why."""

    at: int
    """minutes from the plan's midnight"""
    hands_min: int
    """minutes that hands have for it then"""
    had_min: float
    """minutes at heat by then, with those the same heat had before it broke off"""
    needed_min: float
    is_enough: bool
    """whether ``had_min`` is enough; else it is switched on again later"""
    fills: bool
    """whether its tank must be filled before it is switched on again"""
    why: str
    for_tank: bool
    """whether ``why`` is its tank, which is filled in mid-heat"""

    @property
    def text(self) -> str:
        """Return "your break is at 12:30; 20 of 30 min by then, 10 more after it"."""
        lacks = f"{ceil(self.needed_min - self.had_min)} more {'with a filled tank' if self.fills else 'after it'}"
        had = f"{int(self.had_min)} of {self.needed_min:g} min by then"
        return f"{self.why}; {had}, {'enough' if self.is_enough else lacks}"


def heat_end_min(plan: Plan, batch: BatchRecord, heat: Heat) -> int:
    """Return the minute, from the plan's midnight, in which heat that is on has its minutes, as clocks show it."""
    return minute(plan, heat_due_at(plan, batch, heat).utc)


def off_early(day: Day, batch: BatchRecord, now: Moment, hands_min: int, *, for_end: bool) -> OffEarly | None:
    """Return when hands, who take ``hands_min`` for it, end the heat of a batch early; None where they need not.

    Heat is not on in an empty house or beyond its tank's reserve. Heat that hands must end does not end while they
    are away, except up to `OFF_WITHIN_MIN` before they are back from a break, or `STAYS_MIN` after the day's work. A
    microwave's is not ended early. ``for_end`` is as for `windows_of`.
    """
    plan, heat = day.plan, batch.open_heat
    kit = plan.kit_of(heat.unit) if heat is not None else None
    if heat is None or kit is None or KIT_TRAITS[kit.kind].in_turn:
        return None
    now_min, end = minute(plan, now.utc), heat_end_min(plan, batch, heat)
    needed = heat_in_all_min(plan, batch, heat.layer, heat.heat_no)
    ways = []
    for closes, why in _hands_leave(plan, now, end, hands_min, by_hand=not kit.switches_off, for_end=for_end):
        ways.append((max(now_min, closes - hands_min), closes, why))
    tank = [fill.low_after_min - fill.run_min for fill in tank_fills(day, str(heat.unit), now)]
    low, tank_min = "", max(0.0, tank[-1]) if tank else inf
    if now_min + tank_min < end:
        at = int(now_min + tank_min)
        low = f"the tank of {heat.unit} is low at {_time_text(plan, at)}"
        ways.append((at, at + hands_min, low))
    if end <= now_min or not ways:
        return None
    at, until, why = min(ways)
    had = heat_had_min(batch, heat.layer, heat.heat_no, now.later(60 * (at - now_min)))
    warm_min = min(kit.warm_up_min, REHEAT_MIN) if why == low else kit.warm_up_min
    fills = tank_min - (at - now_min) < needed - had + warm_min
    enough, hands_min = is_enough_heat(plan, had, needed), min(hands_min, until - at)
    return OffEarly(at, hands_min, had, needed, enough, fills, why, for_tank=why == low)


def _hands_leave(
    plan: Plan, now: Moment, end: int, hands_min: int, *, by_hand: bool, for_end: bool
) -> Iterator[tuple[int, str]]:
    """Yield when you leave, and why, if heat until ``end`` must not be on or end while you are away."""
    now_min, stop = minute(plan, now.utc), _stop_min(plan, now)
    windows = windows_of(plan, now.utc, for_end=for_end)
    absences = [elapsed_min(plan, out) for out, _ in plan.session.out]
    for (_, closes), (opens, _) in pairwise(windows):
        if closes is None or not now_min < closes < end + hands_min:
            continue
        out = next((out for out in absences if closes <= out < opens), None)
        late = not closes <= end <= closes + STAYS_MIN if closes >= stop else end + OFF_WITHIN_MIN < opens
        if (out is not None and out < end) or (by_hand and late):
            why = "you leave" if out is not None else work_ends_text(plan) if closes >= stop else "your break is"
            # Behind the stop you are at home until you leave.
            at = out if out is not None and stop <= closes and out <= closes + STAYS_MIN else closes
            yield at, f"{why} at {_time_text(plan, at)}"


def _stop_min(plan: Plan, now: Moment) -> int:
    return elapsed_min(plan, work_stop_min(plan, now.utc))


def _time_text(plan: Plan, at: int) -> str:
    return time_text_from(midnight(plan) + timedelta(minutes=at), plan.session.zone, plan.session.date)
