"""A day folded from its events, one event at a time.

An event in its turn is folded by itself. A late one, an undo, a redo or a correction folds the whole day again,
which keeps units and batches agreed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime

from dyeday.plan.model import Plan
from dyeday.quick_dataclass import altered
from dyeday.track.day.batch_record import UnitRecord
from dyeday.track.day.day_state import Day, Event
from dyeday.track.day.plan_changes import fresh_batch
from dyeday.track.day.transitions import heat_timed_out
from dyeday.track.events.rewriting import Corrected, Redone, Rewriting, Undoing
from dyeday.track.timestamp import Now


def begin(plan: Plan) -> Day:
    """Return the day of ``plan`` before anything happened."""
    batches = {batch.no: fresh_batch(plan, batch) for batch in plan.batches}
    broken = {name for kit in plan.kit for name in kit.down}
    units = {name: UnitRecord(name, came_down=name in broken) for name in plan.unit_names}
    return Day(plan=plan, batches=batches, units=units, first_plan=plan)


def take(day: Day, event: Event) -> Day:
    """Return the day with one more event, recorded after all it has."""
    return take_all(day, (event,))


def take_all(day: Day, events: Sequence[Event]) -> Day:
    """Return the day with several more events; as many single folds as will do, else one fold of the whole."""
    last = day.last_at
    for event in events:
        if isinstance(event.body, Rewriting) or (last is not None and event.at < last):
            return fold(day.first_plan or day.plan, (*day.events, *events))
        last = event.at
    return _applied(altered(day, events=(*day.events, *events)), events) if events else day


def fold(plan: Plan, events: Iterable[Event]) -> Day:
    """Return the day that ``events``, in their order of recording, make of ``plan``."""
    recorded = tuple(events)
    counting, void_ids = effective(recorded)
    return _applied(altered(begin(plan), events=recorded, void_ids=void_ids), counting)


def replay(plan: Plan, events: Iterable[Event]) -> Iterator[tuple[Day, Event]]:
    """Yield each event that counts with the day as it was just before it."""
    recorded = tuple(events)
    counting, void_ids = effective(recorded)
    day = altered(begin(plan), events=recorded, void_ids=void_ids)
    for event in counting:
        yield day, event
        day = _applied(day, (event,))


def until(day: Day, moment: datetime) -> Day:
    """Return the day as it was at ``moment``: with the events that had happened by then, whenever recorded.

    What was made void or corrected later is so here too.
    """
    happened = {event.id for event in effective(day.events)[0] if event.at <= moment}
    return fold(
        day.first_plan or day.plan, (e for e in day.events if isinstance(e.body, Rewriting) or e.id in happened)
    )


def effective(recorded: Sequence[Event]) -> tuple[list[Event], frozenset[str]]:
    """Return the events that count, corrected, in the order they happened, and the ids of those that do not.

    The latest undo or redo of an event that itself counts decides whether it counts: so from the newest event back.
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
    counting = []
    for event in recorded:
        if event.id not in void_ids and not isinstance(event.body, Rewriting):
            for correction in reversed(corrections.get(event.id, ())):
                event = _corrected(event, correction)
            counting.append(event)
    return sorted(counting, key=lambda event: event.at), frozenset(void_ids)


def current(day: Day, event: Event) -> Event:
    """Return an event of ``day`` as the corrections of it that count have made it."""
    for other in day.events:
        body = other.body
        if isinstance(body, Corrected) and body.target_id == event.id and other.id not in day.void_ids:
            event = _corrected(event, other)
    return event


def _corrected(event: Event, correction: Event) -> Event:
    if not isinstance(correction.body, Corrected):
        return event
    try:
        return event.corrected(correction.body.new_keys(correction, event))
    except (ValueError, TypeError):
        return event  # checked when it was entered; a file edited by hand must not stop the day


def _with_heat_over(day: Day, moment: Now) -> Day:
    """Return the day in which what switches itself off has done so by ``moment``."""
    over = {
        batch.no: ended
        for batch in day.batches.values()
        if batch.heats and batch.heats[-1].end is None and (ended := heat_timed_out(batch, moment)) is not batch
    }
    return altered(day, batches={**day.batches, **over}) if over else day


def _applied(day: Day, events: Sequence[Event]) -> Day:
    """Return the day with what events, in the order they happened, say done to it."""
    last = events[-1].at if events else day.last_at
    for event in events:
        day = event.body.apply(_with_heat_over(day, event.moment), event)
    return altered(day, last_at=last)
