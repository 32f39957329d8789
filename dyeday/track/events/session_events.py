"""Events of the whole session: orders, deliveries, a changed plan, carried batches, its close, clock and key lock."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from typing import Any

from dyeday.plan.model import Plan
from dyeday.plan.serialize import to_plain
from dyeday.quick_dataclass import altered
from dyeday.terms import StockKind
from dyeday.text import LONGEST_NAME, brief
from dyeday.track import event_keys as check
from dyeday.track.day import plan_changes
from dyeday.track.day.day_state import Body, Day, Event
from dyeday.track.day.transitions import with_record
from dyeday.track.event_keys import EventError, key, others
from dyeday.track.timestamp import length_text

_DRY_YARN = "dry yarn"


class OrderAdded(Body):
    """A rush order, or skeins lost that are dyed again, as spares of their order."""

    NAME = "added"
    KNOWN_BY = ("order",)
    order: Mapping[str, Any] = key(check.table)

    def apply(self, day: Day, event: Event) -> Day:
        with suppress(KeyError, TypeError, ValueError):  # of a file edited by hand: it must not stop the day
            return plan_changes.with_order(day, plan_changes.order_of(self.order), event.at)
        return day

    def refuse(self, day: Day, event: Event, *, typed: bool) -> None:
        try:
            order = plan_changes.order_of(self.order)
        except (KeyError, TypeError, ValueError):
            raise EventError("the order cannot be read", 'give "item", "colourway", "base" and "skeins"') from None
        check.known("the plan has no colourway", order.colourway, [each.name for each in day.plan.colourways])
        check.known("the plan has no base", order.base, [each.name for each in day.plan.bases])
        for what, text in (("item", order.item), ("parcel", order.parcel)):
            if not isinstance(text, str) or len(text) > LONGEST_NAME:
                why = f"is not a text of at most {LONGEST_NAME} characters"
                raise EventError(f"the order's {what} {why}", "shorten it")
        if order.skeins < 0 or order.skeins + order.spare < 1:
            raise EventError("an order has one skein or more", "give skeins")

    def words(self, event: Event, day: Day | None) -> str:
        return f"order added: {self.order.get('item', '')}"


class PlanChanged(Body):
    """The plan was changed."""

    NAME = "plan changed"
    WORDS = "the plan was changed"
    KNOWN_BY = ("plan",)
    IS_TIMED = False
    plan: Mapping[str, Any] = key(check.table)
    renews: str | None = key(check.word(_DRY_YARN), default=None)
    """what has the plan's recipe though it has entries; None in older sessions, which keep theirs"""
    more: Mapping[str, Any] | None = others(default=None)

    def refuse(self, day: Day, event: Event, *, typed: bool) -> None:
        if plan_changes.plan_of(self.plan) is None:
            raise EventError("the plan cannot be read", 'give "plan" as `dyeday log --json` prints it')

    def apply(self, day: Day, event: Event) -> Day:
        plan = plan_changes.plan_of(self.plan)
        return day if plan is None else plan_changes.with_plan(day, plan, renews_dry=self.renews is not None)


def plan_taken(frozen: Plan, day: Day) -> Plan:
    """Return the plan that the day read last from its file: ``frozen`` at its start, or a changed one since."""
    alive = (event.body for event in reversed(day.events) if event.id not in day.void_ids)
    taken = (plan_changes.plan_of(body.plan) for body in alive if isinstance(body, PlanChanged))
    return next(filter(None, taken), frozen)


def plan_changed(frozen: Plan, day: Day, plan: Plan, source: str) -> PlanChanged:
    """Return the event that gives a day the plan in its file; hours changed meanwhile stay."""
    edited = plan_changes.keeping_hours(day, plan_taken(frozen, day), plan)
    return PlanChanged(plan=to_plain(edited), renews=_DRY_YARN, more={"source": source})


def _minutes_ran(key: str, value: Any) -> dict[str, float]:
    minutes = check.number(0, 1e6)
    ran_min = check.clean(key, check.table(key, value))
    return {unit: minutes(f"{key} of {brief(unit)}", ran) for unit, ran in ran_min.items()}


class CarriedOver(Body):
    """A batch of an earlier session came in the place of a planned one, with its history."""

    NAME = "carried"
    KNOWN_BY = ("record",)
    IS_OF_DAY = False
    source: str | None = key(check.text, name="from", default=None)
    was: str | None = key(check.text, default=None)
    record: Mapping[str, Any] | None = key(check.clean, default=None)
    flags: Sequence[Any] | None = key(check.clean, name="doubts", default=None)
    changes: Sequence[Any] | None = key(check.clean, default=None)
    tanks: Mapping[str, float] | None = key(_minutes_ran, default=None)
    more: Mapping[str, Any] | None = others(default=None)

    def apply(self, day: Day, event: Event) -> Day:
        if event.batch not in day.batches or not self.record:
            return day
        try:
            day = with_record(day, plan_changes.came_over(self.to_json(), event, day), event)
        except (KeyError, TypeError, ValueError):
            return day  # checked when it was entered; a file edited by hand must not stop the day
        ran = {unit: ran_min for unit, ran_min in (self.tanks or {}).items() if unit in day.units}
        units = {unit: altered(day.units[unit], ran_before_min=ran_min) for unit, ran_min in ran.items()}
        return altered(day, units={**day.units, **units})

    def refuse(self, day: Day, event: Event, *, typed: bool) -> None:
        try:
            if self.record:
                plan_changes.came_over(self.to_json(), event, day)
        except (KeyError, TypeError, ValueError):
            right = "use it as `dyeday log --json` printed it"
            raise EventError("what it carries is not a batch's record", right) from None

    def words(self, event: Event, day: Day | None) -> str:
        return f"carried over from {self.source}, batch {self.was} there" if self.source else self.NAME


class Received(Body):
    """A delivery came."""

    NAME = "received"
    KNOWN_BY = ("thing",)
    IS_TIMED = False
    thing: StockKind = key(check.term(kind for kind in StockKind if kind is not StockKind.BOTTLE))
    name: str = key(check.name)
    amount: float = key(check.number(0, 1e7))
    measure: str | None = key(check.text, default=None)

    def apply(self, day: Day, event: Event) -> Day:
        return plan_changes.with_delivery(day, self.thing, self.name, float(self.amount))

    def words(self, event: Event, day: Day | None) -> str:
        return f"received: {self.amount:g} {self.measure or 'more'} of {self.name}"


class _OfSession(Body):
    """The base of events of the session itself. Keys of other versions are kept."""

    IS_TIMED = False
    more: Mapping[str, Any] | None = others(default=None)


class Closed(_OfSession):
    """The session was closed."""

    NAME = "closed"

    def apply(self, day: Day, event: Event) -> Day:
        return altered(day, closed=event.moment)


class ClockStepped(_OfSession):
    """The computer's clock was set."""

    NAME = "clock stepped"
    seconds: float | None = key(check.number(-1e10, 1e10), default=None)

    def words(self, event: Event, day: Day | None) -> str:
        return clock_set_text(self.seconds or 0.0)


def clock_set_text(seconds: float) -> str:
    """Return "the clock was set 1 h back" for -3600 s."""
    by = f"{abs(seconds):.0f} s" if abs(seconds) < 60 else length_text(round(abs(seconds) / 60))
    return f"the clock was set {by} {'forward' if seconds > 0 else 'back'}"


class KeyLockOn(_OfSession):
    """The keys were locked."""

    NAME = "guard on"
    WORDS = "keys locked"


class KeyLockOff(_OfSession):
    """The keys were unlocked."""

    NAME = "guard off"
    WORDS = "keys unlocked"
