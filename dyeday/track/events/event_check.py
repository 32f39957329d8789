"""Whether an event can be true of a day: names that exist, numbers that add up, readings that can be.

The keys of an event by themselves are checked in `dyeday.track.events.event_schema`; here they meet the day.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Collection, Sequence

from dyeday.plan.limits import FIRST_YEAR, LAST_YEAR, LONGEST_NAME, is_of_these_days
from dyeday.plan.model import Plan
from dyeday.plan.reading.problems import near
from dyeday.terms import ReadingKind, RunEdge, State
from dyeday.track.day.batch_record import BatchRecord, Reading
from dyeday.track.day.bath_readings import exhausted_pct
from dyeday.track.day.day_state import Day
from dyeday.track.day.fold import REWRITING, fold, new_keys, replay
from dyeday.track.day.plan_changes import came_over, order_of
from dyeday.track.events.event import Event
from dyeday.track.events.event_schema import EventError, check_keys
from dyeday.track.timestamp import iso, parse_utc


def refuse_years(event: Event) -> None:
    """Raise EventError where a time of ``event`` is of a year that no command would take as a time.

    Not asked as a stored session is read: one that was written under other limits still opens.
    """
    times = [event.at, event.recorded_at]
    with contextlib.suppress(ValueError, TypeError, AttributeError):
        times += [parse_utc(event.data["at"])] if event.kind == "corrected" and "at" in event.data else []
    for moment in times:
        if not is_of_these_days(moment):
            raise EventError(
                f"{iso(moment)} is no time of these days", f"write a year from {FIRST_YEAR} to {LAST_YEAR}"
            )


def refuse_names(day: Day, event: Event) -> None:
    """Raise EventError where ``event`` names a batch or a unit that ``day`` never had."""
    if event.batch is not None and event.batch not in day.batches:
        once = {str(no) for e in day.events if e.kind == "split" for no in e.data["into"]}
        if event.batch not in once:
            raise EventError(f"there is no batch {event.batch!r}", near(event.batch, [b.no for b in day.live]))
    unit = event.data.get("unit")
    if unit is not None and unit not in day.plan.unit_names:
        raise EventError(f"no unit is called {unit!r}", near(str(unit), day.plan.unit_names))


def refuse(day: Day, event: Event, *, typed: bool = True) -> None:
    """Raise EventError where ``event`` cannot be true of ``day``.

    One that was not ``typed`` just now but comes with many others may end a heat that has ended already: lines
    of one minute stand in any order.
    """
    refuse_names(day, event)
    _refuse_of_earlier_session(day, event)
    batch = day.batches.get(event.batch) if event.batch is not None else None
    if batch is not None and batch.state == State.SPLIT and event.kind not in ("note", "resolved"):
        raise EventError(f"batch {batch.no} was split", f"name one of {', '.join(batch.split_into)}")
    if batch is not None:
        _refuse_of_batch(day, batch, event, typed)
    if event.kind in REWRITING:
        _refuse_rewriting(day, event)
    if event.kind == "added":
        _refuse_order(day, event)
    if event.kind == "carried" and event.data.get("record"):
        try:
            came_over(event.data, event, "")
        except (KeyError, TypeError, ValueError):
            raise EventError(
                "what it carries is no batch's record", "take it as `dyeday log --json` gave it"
            ) from None
    if event.kind == "resolved":
        from dyeday.track.flags import DAY_RULES, RULES

        known = RULES if event.batch is not None else DAY_RULES
        if event.data["rule"] not in {rule.value for rule in known}:
            about = "a batch" if event.batch is not None else "the whole day"
            raise EventError(
                f"{event.data['rule']!r} is no rule about {about}",
                near(str(event.data["rule"]), [rule.value for rule in known]),
            )


def _refuse_of_earlier_session(day: Day, event: Event) -> None:
    """Refuse what happened to a batch before it came here: its record came whole, and would hide it."""
    batch = day.batches.get(event.batch or "")
    came = batch.carried if batch is not None else None
    if came is not None and event.at < came.at.utc and event.kind not in (*REWRITING, "carried"):
        raise EventError(f"batch {event.batch} came over later than that", f"record it in session {came.session}")


def _refuse_of_batch(day: Day, batch: BatchRecord, event: Event, typed: bool) -> None:
    layers = len(batch.colourway.layers)
    if int(event.data.get("layer") or 1) > layers:
        raise EventError(f"{batch.colourway.name!r} has no layer {event.data['layer']}", f"it has {layers}")
    if event.kind == "pass" and int(event.data["pass"]) > len(batch.the_layer.heats):
        raise EventError(
            f"layer {batch.layer} of {batch.colourway.name!r} has no pass {event.data['pass']}",
            f"it has {len(batch.the_layer.heats)}",
        )
    if (
        event.kind == "pass"
        and event.data["run"] == RunEdge.END.value
        and batch.open_run is None
        and (typed or not batch.runs)
    ):
        raise EventError(f"no heat is on for batch {batch.no}", "start the pass first")
    if event.kind == "pass" and event.data["run"] == RunEdge.END.value and batch.open_run is not None:
        run = batch.open_run
        began = run.heat or run.start
        if event.at < began.utc:
            raise EventError(f"pass {run.pass_no} of batch {batch.no} began later than that", "give a later time")
    if event.kind == "used":
        _refuse_dyes(day, event)
    if event.kind == "overdyed" and event.data["colourway"] not in [c.name for c in day.plan.colourways]:
        known = near(str(event.data["colourway"]), [c.name for c in day.plan.colourways])
        raise EventError(f"no colourway is called {event.data['colourway']!r}", known)
    if event.kind == "split":
        into = event.data["into"]
        if sum(into.values()) != batch.skeins:
            raise EventError(
                f"batch {batch.no} has {batch.skeins} skeins, the parts have {sum(into.values())}",
                "make them add up, or record what was counted first",
            )
        taken = [no for no in into if no in day.batches]
        if taken:
            raise EventError(f"batch {taken[0]} exists already", "give the parts new letters")
    reading = ReadingKind(event.data["reading"]) if event.kind == "reading" else None
    if reading in (ReadingKind.JAR, ReadingKind.ABSORBANCE):
        read = Reading(event.moment, reading, event.data["value"], None, batch.state, batch.layer, event.id)
        try:
            exhausted_pct(batch, read)
        except (ValueError, ZeroDivisionError) as error:
            raise EventError(str(error), "read it again, or give first_l") from None


def _refuse_dyes(day: Day, event: Event) -> None:
    known = [dye.name for dye in day.plan.dyes]
    for amounts in (event.data.get("used") or {}, event.data.get("left_over") or {}):
        for name in (*(n for n in amounts if n not in ("powder", "extra")), *(amounts.get("powder") or {})):
            if name not in known:
                raise EventError(f"no dye is called {name!r}", near(str(name), known))
        extras = [extra.name for extra in day.plan.extras]
        for name in amounts.get("extra") or {}:
            if name not in extras:
                raise EventError(f"no extra is called {name!r}", near(str(name), extras))


def _refuse_rewriting(day: Day, event: Event) -> None:
    about = str(event.data.get("strikes") or event.data.get("corrects"))
    original = day.event(about)
    if original is None:
        raise EventError(f"no event has the id {about!r}", "see `dyeday log` for ids")
    if event.kind == "corrected":
        try:
            changed = original.corrected(new_keys(event, original))
        except (ValueError, TypeError, AttributeError):
            raise EventError("its time is none", 'write "at": "2026-03-14T09:05:00Z"') from None
        if changed == original:
            raise EventError("the correction changes nothing", "give the keys that were wrong")
        check_keys(changed.kind, changed.data)
        if changed.batch is not None and changed.batch not in day.batches:
            raise EventError(f"there is no batch {changed.batch!r}", near(changed.batch, day.batches))


def _refuse_order(day: Day, event: Event) -> None:
    try:
        order = order_of(event.data["order"])
    except (KeyError, TypeError, ValueError):
        raise EventError("the order cannot be read", 'give "item", "colourway", "base" and "skeins"') from None
    for name, known in (
        (order.colourway, [c.name for c in day.plan.colourways]),
        (order.base, [b.name for b in day.plan.bases]),
    ):
        if name not in known:
            raise EventError(f"{name!r} is not in the plan", near(name, known))
    for key, text in (("item", order.item), ("parcel", order.parcel)):
        if not isinstance(text, str) or len(text) > LONGEST_NAME:
            raise EventError(f"the order's {key} is not a text of at most {LONGEST_NAME} characters", "shorten it")
    if order.skeins < 1:
        raise EventError("an order has one skein or more", "give skeins")


def refuse_all(
    plan: Plan, existing: Sequence[Event], fresh: Sequence[Event], logged: Collection[str]
) -> dict[str, EventError]:
    """Return what cannot be true, by event id, of many events that come in at once, in any order.

    Each is held against the day as it was just before it happened. Those with an id in ``logged`` come from a
    log of ours, where later strikes may have taken away what they rest on: only their names are looked at.
    """
    complaints: dict[str, EventError] = {}
    new = {event.id for event in fresh}
    everything = (*existing, *fresh)
    whole = fold(plan, everything)

    def hold(day: Day, event: Event, check: Callable[[Day, Event], None]) -> None:
        try:
            check(day, event)
        except EventError as error:
            complaints[event.id] = error

    for event in fresh:
        if event.id in logged:
            hold(whole, event, refuse_names)
        elif event.kind in REWRITING:
            hold(whole, event, refuse)
        else:
            hold(whole, event, _refuse_of_earlier_session)
    for day, event in replay(plan, everything):
        if event.id in new and event.id not in logged:
            hold(day, event, lambda day, event: refuse(day, event, typed=False))
    return complaints
