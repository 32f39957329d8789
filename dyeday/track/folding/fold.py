"""A day folded from its events, one event at a time.

`begin` and `take` are all that changes a day. An event in its turn is folded by itself; a late, struck,
unstruck or correcting one folds the day again from its events, which is what keeps units and batches agreed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime

from dyeday.plan.model import Plan
from dyeday.quick_dataclass import altered
from dyeday.track.day.batch_record import UnitRecord
from dyeday.track.day.day_state import Day, Event
from dyeday.track.day.plan_changes import fresh_batch
from dyeday.track.day.transitions import ended_by_itself
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
    alive, dead = effective(recorded)
    return _applied(altered(begin(plan), events=recorded, dead=dead), alive)


def replay(plan: Plan, events: Iterable[Event]) -> Iterator[tuple[Day, Event]]:
    """Yield each event that counts with the day as it was just before it."""
    recorded = tuple(events)
    alive, dead = effective(recorded)
    day = altered(begin(plan), events=recorded, dead=dead)
    for event in alive:
        yield day, event
        day = _applied(day, (event,))


def until(day: Day, moment: datetime) -> Day:
    """Return the day as it was at ``moment``: with the events that had happened by then, whenever recorded.

    What was made void or corrected later is so here too.
    """
    alive, _ = effective(day.events)
    happened = {event.id for event in alive if event.at <= moment}
    return fold(
        day.first_plan or day.plan, (e for e in day.events if isinstance(e.body, Rewriting) or e.id in happened)
    )


def effective(recorded: Sequence[Event]) -> tuple[list[Event], frozenset[str]]:
    """Return the events that count, corrected, in the order they happened, and the ids of those that do not.

    Whether an event counts is decided by the latest undo or redo of it that itself counts, so it is
    worked out from the newest event back.
    """
    verdict: dict[str, bool] = {}
    corrections: dict[str, list[Event]] = {}
    dead: set[str] = set()
    for event in reversed(recorded):
        if not verdict.get(event.id, True):
            dead.add(event.id)
            continue
        if isinstance(event.body, Undoing):
            verdict.setdefault(event.body.strikes, isinstance(event.body, Redone))
        elif isinstance(event.body, Corrected):
            corrections.setdefault(event.body.corrects, []).append(event)
    alive = []
    for place, event in enumerate(recorded):
        if event.id in dead or isinstance(event.body, Rewriting):
            continue
        for correction in reversed(corrections.get(event.id, ())):
            event = _corrected(event, correction)
        alive.append((event.at, place, event))
    alive.sort(key=lambda item: item[:2])
    return [event for _, _, event in alive], frozenset(dead)


def current(day: Day, event: Event) -> Event:
    """Return an event of ``day`` as the corrections of it that count have made it."""
    for other in day.events:
        if isinstance(other.body, Corrected) and other.body.corrects == event.id and other.id not in day.dead:
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
        if batch.heats and batch.heats[-1].end is None and (ended := ended_by_itself(batch, moment)) is not batch
    }
    return altered(day, batches={**day.batches, **over}) if over else day


def _applied(day: Day, events: Sequence[Event]) -> Day:
    """Return the day with what events, in the order they happened, say done to it."""
    if not events:
        return day
    folds, last = day.folds + len(events), events[-1].at
    for event in events:
        day = event.body.apply(_with_heat_over(day, event.moment), event)
    return altered(day, last_at=last, folds=folds)
