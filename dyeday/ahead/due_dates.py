"""Orders that are due before their yarn is dry."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from dyeday.ahead.foreseen_steps import Forecast, Warned
from dyeday.ahead.problem_parts.hours import FULL_DAY, elapsed_min
from dyeday.terms import StepKind, WarningKind
from dyeday.track.day.day_state import Day
from dyeday.track.timers.timers import timer_of
from dyeday.track.timestamp import local


def due_minutes(day: Day) -> dict[str, int]:
    """Return the minute of the plan at which the day ends that each batch is due on, by number; undated ones lack."""
    plan, due = day.plan, dict[str, int]()
    for order in plan.orders:
        if order.due is not None:
            end = elapsed_min(plan, FULL_DAY * ((order.due - plan.session.date).days + 1))
            own = (batch.no for batch in day.unsplit if order.key in batch.order_keys)
            due.update((no, min(end, due.get(no, end))) for no in own)
    return due


def due_late(forecast: Forecast, day: Day) -> Iterator[Warned]:
    """Yield each order that is due on a day before the last of its yarn is foreseen to be dry."""
    zone, dry_at = day.plan.session.zone, _dry_at(forecast, day)
    for order in day.plan.orders:
        own = (batch.no for batch in day.unsplit if order.key in batch.order_keys)
        dry = max((dry_at[no] for no in own if no in dry_at), default=None)
        if order.due is not None and dry is not None and local(dry, zone).date() > order.due:
            text = f"{order.item} is due {order.due:%a %d %b}: its yarn is dry {local(dry, zone):%a %d %b}"
            yield Warned(WarningKind.DUE_LATE, order.item, dry, text)


def _dry_at(forecast: Forecast, day: Day) -> dict[str, datetime]:
    """Return when each batch is dry, by number, as far as that is foreseen."""
    hang = ((batch.no, timer_of(day, batch, forecast.at)) for batch in day.unsplit if batch.only_dries)
    now = {no: forecast.at.utc + timedelta(seconds=timer.left_s) for no, timer in hang if timer and timer.left_s}
    return now | {step.batch: step.end for step in forecast.steps if step.kind is StepKind.DRY and step.batch}
