"""Chores that are no step of one batch on its way: those of a lot, of the day, of its end, and of yarn that is dry.

What waits for yarn still drying is another day's work and prolongs no evening.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime
from math import ceil

from dyeday.ahead.problem import Batch, Link, Step
from dyeday.plan.model import Plan
from dyeday.terms import ChorePer, ChoreWhen, State
from dyeday.track.day import Day
from dyeday.track.instant import Now

BEFORE = (ChoreWhen.BEFORE_SOAK, ChoreWhen.BEFORE_PAINT)


def chores_of(plan: Plan, day: Day, batches: list[Batch], links: list[Link]) -> Iterable[Batch]:
    """Yield the chores of a lot and of the day, and link them to what they come before or after."""
    records = {record.no: record for record in day.live}
    for chore in plan.chores:
        if chore.per not in (ChorePer.LOT, ChorePer.DAY) or chore.when in (ChoreWhen.END_OF_DAY, ChoreWhen.AFTER_DRY):
            continue
        groups: dict[str, list[Batch]] = {}
        for batch in batches:
            if batch.name in records:
                groups.setdefault(records[batch.name].mix if chore.per == ChorePer.LOT else "", []).append(batch)
        for mix, members in groups.items():
            places = [(b, _place_of(b, chore.when)) for b in members]
            waiting = [(b, place) for b, place in places if place is not None and place >= len(b.past)]
            if not waiting or (chore.when in BEFORE and len(waiting) < len(members)):
                continue  # begun already, so the chore was done
            # By the lot's first batch, done or not: the name must not change while the day goes on.
            first = min(record.no for record in records.values() if chore.per == ChorePer.DAY or record.mix == mix)
            name = f"{chore.name} {first}" if chore.per == ChorePer.LOT else chore.name
            if ("", name) in day.chores:
                continue
            for batch, place in waiting:
                if chore.when in BEFORE:
                    links.append(Link(name, 0, batch.name, place))
                else:
                    links.append(Link(batch.name, place, name, 0))
            yield Batch(name=name, steps=(Step(chore.name, max(1, ceil(chore.minutes))),), counts=False)


def _place_of(batch: Batch, when: ChoreWhen) -> int | None:
    """Return the step of a batch that a chore comes before or after."""
    starts = {
        ChoreWhen.BEFORE_SOAK: ("soak load",),
        ChoreWhen.BEFORE_PAINT: ("paint", "speckle", "dye"),
        ChoreWhen.AFTER_PAINT: ("paint", "speckle", "dye"),
        ChoreWhen.AFTER_COOL: ("rinse",),
        ChoreWhen.AFTER_RINSE: ("rinse",),
        ChoreWhen.AFTER_DRY: ("dry",),
    }[when]
    return next((n for n, step in enumerate(batch.steps) if step.name.startswith(starts)), None)


def end_of_day_min(plan: Plan) -> int:
    """Return the minutes of the chores that end the day."""
    return sum(ceil(chore.minutes) for chore in plan.chores if chore.when == ChoreWhen.END_OF_DAY)


def after_dry(day: Day, now: Now, minute: Callable[[datetime], int]) -> Iterable[Batch]:
    """Yield the chores of yarn that is dry, or will be before the session's stop: re-skeining, packing."""
    chores = [
        chore
        for chore in day.plan.chores
        if chore.when == ChoreWhen.AFTER_DRY and chore.per in (ChorePer.BATCH, ChorePer.SKEIN)
    ]
    for record in day.live:
        if record.state != State.DRY or record.state_since is None or not chores:
            continue
        dry_at = minute(record.state_since.utc) + ceil(record.colourway.dry_h * 60)
        if dry_at <= max(day.plan.session.stop_min, minute(now.utc)):
            steps = tuple(
                Step(chore.name, max(1, ceil(chore.minutes * (record.skeins if chore.per == ChorePer.SKEIN else 1))))
                for chore in chores
            )
            yield Batch(name=record.no, steps=steps, release=dry_at, counts=False)
