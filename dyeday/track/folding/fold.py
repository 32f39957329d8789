"""A day built from its events, and whether an event can be true of a day."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from functools import reduce
from typing import Any

from dyeday.grouping import grouped
from dyeday.plan.model import Plan
from dyeday.plan.reading.problems import similar
from dyeday.quick_dataclass import altered
from dyeday.terms import HeatEdge, State
from dyeday.text import FIRST_YEAR, LAST_YEAR, brief, is_of_these_days
from dyeday.track.day.day_state import Day, Event, entry_of
from dyeday.track.day.plan_changes import fresh_batch, unit_records
from dyeday.track.day.transitions import heat_timed_out
from dyeday.track.event_keys import EventError, known
from dyeday.track.events.batch_changes import Counted, DyeUsed, Split, Tagged
from dyeday.track.events.measured import Measured
from dyeday.track.events.movements import AcidPutIn, ChoreBegun, ChoreFinished, Covered, Heated, Load, Moved, Placed
from dyeday.track.events.remarks import FlagCleared, Noted
from dyeday.track.events.rewriting import Corrected, Redone, Rewriting, Undoing
from dyeday.track.events.session_events import CarriedOver
from dyeday.track.timestamp import Moment, iso, parse_utc

MAY_BE_ANOTHERS = (
    Load, Moved, Placed, Heated, Covered, AcidPutIn, DyeUsed, Measured, Counted, Tagged, Noted, ChoreBegun,
    ChoreFinished,
)  # fmt: skip
"""entries that can be corrected to another batch: not a split or an overdye, on which later entries depend"""


def begin(plan: Plan) -> Day:
    """Return the day of ``plan`` before anything happened."""
    batches = {batch.no: fresh_batch(plan, batch) for batch in plan.batches}
    return Day(
        plan=plan, batches=batches, units=unit_records(plan, {}), first_plan=plan, planned_out=plan.session.out
    )


def take(day: Day, event: Event) -> Day:
    """Return the day with one more event, recorded after all that it has."""
    return take_all(day, (event,))


def take_all(day: Day, events: Sequence[Event]) -> Day:
    """Return the day with more events, added if they happened last and rewrite none, else all folded again."""
    last = day.last_at
    for event in events:
        if isinstance(event.body, Rewriting) or (last is not None and event.at < last):
            return fold(day.first_plan or day.plan, (*day.events, *events))
        last = event.at
    return _applied(altered(day, events=(*day.events, *events)), events) if events else day


def fold(plan: Plan, events: Iterable[Event]) -> Day:
    """Return the day that ``events``, in the order of recording, make of ``plan``."""
    recorded = tuple(events)
    counting, void_ids = effective(recorded)
    return _applied(altered(begin(plan), events=recorded, void_ids=void_ids), counting)


def replay(plan: Plan, events: Iterable[Event]) -> Iterator[tuple[Day, Event]]:
    """Yield each event that counts, in the order they happened, with the day just before it."""
    recorded = tuple(events)
    counting, void_ids = effective(recorded)
    day = altered(begin(plan), events=recorded, void_ids=void_ids)
    for event in counting:
        yield day, event
        day = _applied(day, (event,))


def until(day: Day, moment: datetime) -> Day:
    """Return the day of what had happened by ``moment``, whenever it was recorded, as corrected since."""
    happened = {event.id for event in effective(day.events)[0] if event.at <= moment}
    kept = (e for e in day.events if isinstance(e.body, Rewriting) or e.id in happened)
    return fold(day.first_plan or day.plan, kept)


def looked_back_at(day: Day, moment: datetime) -> Day:
    """Return the day as it was at ``moment`` (`until`), with what went into its units since as ``arrivals``."""
    came = ((place.unit, batch) for batch in day.unsplit for place in batch.placements if place.since.utc > moment)
    arrivals = {unit: tuple(batches) for unit, batches in grouped(came).items()}
    return altered(until(day, moment), arrivals=arrivals)


def effective(recorded: Sequence[Event]) -> tuple[list[Event], frozenset[str]]:
    """Return the events that count, corrected, in the order they happened, and the ids of those that do not.

    The latest undo or redo of an event decides, of those that count themselves: so from the newest event back.
    """
    counts: dict[str, bool] = {}
    corrections: dict[str, list[Event]] = {}
    void_ids: set[str] = set()
    for event in reversed(recorded):
        if not counts.get(event.id, True):
            void_ids.add(event.id)
        elif isinstance(event.body, Undoing):
            counts.setdefault(event.body.target_id, isinstance(event.body, Redone))
        elif isinstance(event.body, Corrected):
            corrections.setdefault(event.body.target_id, []).append(event)
    alive = (event for event in recorded if event.id not in void_ids and not isinstance(event.body, Rewriting))
    counting = [reduce(_corrected, reversed(corrections.get(event.id, ())), event) for event in alive]
    return sorted(counting, key=lambda event: event.at), frozenset(void_ids)


def current(day: Day, event: Event) -> Event:
    """Return an event of ``day`` with its corrections that count."""
    corrections = (e for e in day.events if isinstance(e.body, Corrected) and e.body.target_id == event.id)
    return reduce(_corrected, (e for e in corrections if e.id not in day.void_ids), event)


def _corrected(event: Event, correction: Event) -> Event:
    if not isinstance(correction.body, Corrected):
        return event
    try:
        return event.corrected(correction.body.new_keys(correction, event))
    except (ValueError, TypeError):
        return event  # checked when it was entered; a file edited by hand must not stop the day


def _with_heat_over(day: Day, moment: Moment) -> Day:
    """Return the day in which what switches itself off has done so by ``moment``."""
    on = (batch for batch in day.batches.values() if batch.heats and batch.heats[-1].end is None)
    over = {batch.no: ended for batch in on if (ended := heat_timed_out(batch, moment)) is not batch}
    return altered(day, batches={**day.batches, **over}) if over else day


def _applied(day: Day, events: Sequence[Event]) -> Day:
    """Return the day with events applied, which are in the order they happened."""
    steps = (event.at for event in events if event.body.IS_TIMED and event.body.IS_OF_DAY)
    first, last = day.first_at or next(steps, None), events[-1].at if events else day.last_at
    for event in events:
        day = event.body.apply(_with_heat_over(day, event.moment), event)
    return altered(day, first_at=first, last_at=last)


def refuse_years(event: Event) -> None:
    """Raise EventError where a new event has a time in a year that no command accepts."""
    times = [event.at, event.recorded_at]
    with contextlib.suppress(KeyError, ValueError, TypeError, AttributeError):
        if isinstance(event.body, Corrected) and event.body.keys:
            times.append(parse_utc(event.body.keys["at"]))
    for moment in times:
        if not is_of_these_days(moment):
            raise EventError(f"{iso(moment)} is out of range", f"year must be {FIRST_YEAR}–{LAST_YEAR}")


def refuse_names(day: Day, event: Event) -> None:
    """Raise EventError where ``event`` names a batch or a unit that ``day`` lacks, parts of undone splits apart."""
    for no in event.batches:
        if no not in day.batches and not any(isinstance(e.body, Split) and no in e.body.into for e in day.events):
            raise EventError(f"there is no batch {brief(no)}", similar(no, [b.no for b in day.unsplit]))
    if event.body.unit is not None:
        known("the kit has no unit", event.body.unit, day.plan.unit_names)


def refuse(day: Day, event: Event, *, typed: bool = True) -> None:
    """Raise EventError where ``event`` cannot be true of ``day``; ``typed`` is as in `Body.refuse`."""
    refuse_names(day, event)
    if isinstance(event.body, Load):
        for part in event.body.parts(day, event):
            refuse(day, part, typed=typed)
            day = part.body.apply(day, part)
        return
    _refuse_of_earlier_session(day, event)
    if (batch := day.batches.get(event.batch or "")) is not None:
        if batch.state is State.SPLIT and not isinstance(event.body, (Noted, FlagCleared)):
            raise EventError(f"batch {batch.no} was split", f"name one of {', '.join(batch.split_into)}")
        layers = len(batch.colourway.layers)
        if (event.body.layer or 1) > layers:
            raise EventError(f"{batch.colourway.name!r} has no layer {event.body.layer}", f"it has {layers}")
    event.body.refuse(day, event, typed=typed)


def _refuse_of_earlier_session(day: Day, event: Event) -> None:
    """Refuse an event from before its batch was carried here: the record came complete."""
    if isinstance(event.body, (Rewriting, CarriedOver)):
        return
    for no in event.batches:
        came = day.batches[no].carried if no in day.batches else None
        if came is not None and event.at < came.at.utc:
            raise EventError(f"batch {no} was carried here later", f"record it in session {came.session}")


def refuse_all(
    plan: Plan, existing: Sequence[Event], fresh: Sequence[Event], logged: Collection[str]
) -> dict[str, EventError]:
    """Return what cannot be true, by event id, of events that come in at once, in any order.

    Each is held against the day just before it happened, a correction or undo against the whole day. Of those in
    ``logged``, from dyeday's own log, only names are checked: a later undo may have removed what they depend on.
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
        whole_check = refuse if isinstance(event.body, Rewriting) else _refuse_of_earlier_session
        hold(whole, event, refuse_names if event.id in logged else whole_check)
    for day, event in replay(plan, everything):
        if event.id in new and event.id not in logged:
            hold(day, event, lambda day, event: refuse(day, event, typed=False))
    return complaints


def dependents(day: Day, event: Event, batch_no: str) -> list[Event]:
    """Return the entries about a batch that are another's if ``event`` is, in the order they happened.

    They are the others of the same entry, and those in the state it led to; for a move into fix, the way out too.
    """
    about = [other for other in effective(day.events)[0] if batch_no in other.batches]
    entry = [n for n, other in enumerate(about) if entry_of(other.id) == entry_of(event.id)]
    into = next((state for n in entry if (state := _brought_into(about[n])) is not None), None)
    followers = [about[n] for n in entry]
    for other in about[entry[-1] + 1 :] if entry and into is not None else ():
        leaves = _brought_into(other) not in (None, into)
        if not leaves or into is State.FIX:
            followers.append(other)
        if leaves:
            break
    return [other for other in followers if other.id != event.id and isinstance(other.body, MAY_BE_ANOTHERS)]


def _brought_into(event: Event) -> State | None:
    """Return the state that an entry moves its batches into, if any."""
    body = event.body
    if isinstance(body, (Moved, Load)) and body.to is not None:
        return body.to
    starts = isinstance(body, (Heated, Load)) and body.edge is HeatEdge.START
    return State.FIX if starts else None


def keys_for(event: Event, wrong: str, right: str) -> tuple[Mapping[str, Any] | None, str | None]:
    """Return (keys, batch) of the correction that makes ``event`` one of batch ``right`` in place of ``wrong``."""
    if not event.body.batches:
        return None, right
    keys: dict[str, Any] = {"batches": list(dict.fromkeys(right if no == wrong else no for no in event.body.batches))}
    if isinstance(event.body, Load) and isinstance(event.body.heat_no, Mapping):
        keys["pass"] = {(right if no == wrong else no): heat for no, heat in event.body.heat_no.items()}
    return keys, None
