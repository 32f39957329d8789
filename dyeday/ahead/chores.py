"""Chores that are no step of one batch on its way: those of a lot, of the day, of its end, and of yarn that is dry.

What waits for yarn still drying is another day's work and prolongs no evening.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime
from math import ceil

from dyeday.ahead.problem import Batch, Link, Step
from dyeday.plan.model import Plan
from dyeday.track.day import Day
from dyeday.track.instant import Now


def chores_of(plan: Plan, day: Day, batches: list[Batch], links: list[Link]) -> Iterable[Batch]:
    """Yield the chores of a lot and of the day, and link them to what they come before or after."""
    records = {record.no: record for record in day.live}
    for chore in plan.chores:
        if chore.per not in ("lot", "day") or chore.when in ("end of day", "after dry"):
            continue
        groups: dict[str, list[Batch]] = {}
        for batch in batches:
            if batch.name in records:
                groups.setdefault(records[batch.name].mix if chore.per == "lot" else "", []).append(batch)
        for mix, members in groups.items():
            places = [(b, _place_of(b, chore.when)) for b in members]
            waiting = [(b, place) for b, place in places if place is not None and place >= len(b.past)]
            if not waiting or (chore.when.startswith("before") and len(waiting) < len(members)):
                continue  # begun already, so the chore was done
            # By the lot's first batch, done or not: the name must not change while the day goes on.
            first = min(record.no for record in records.values() if chore.per == "day" or record.mix == mix)
            name = f"{chore.name} {first}" if chore.per == "lot" else chore.name
            if ("", name) in day.chores:
                continue
            for batch, place in waiting:
                if chore.when.startswith("before"):
                    links.append(Link(name, 0, batch.name, place))
                else:
                    links.append(Link(batch.name, place, name, 0))
            yield Batch(name=name, steps=(Step(chore.name, max(1, ceil(chore.minutes))),), counts=False)


def _place_of(batch: Batch, when: str) -> int | None:
    """Return the step of a batch that a chore comes before or after."""
    starts = {
        "before soak": ("soak load",),
        "before paint": ("paint", "speckle", "dye"),
        "after paint": ("paint", "speckle", "dye"),
        "after cool": ("rinse",),
        "after rinse": ("rinse",),
        "after dry": ("dry",),
    }[when]
    return next((n for n, step in enumerate(batch.steps) if step.name.startswith(starts)), None)


def end_of_day_min(plan: Plan) -> int:
    """Return the minutes of the chores that end the day."""
    return sum(ceil(chore.minutes) for chore in plan.chores if chore.when == "end of day")


def after_dry(day: Day, now: Now, minute: Callable[[datetime], int]) -> Iterable[Batch]:
    """Yield the chores of yarn that is dry, or will be before the session's stop: re-skeining, packing."""
    chores = [chore for chore in day.plan.chores if chore.when == "after dry" and chore.per in ("batch", "skein")]
    for record in day.live:
        if record.state != "dry" or record.state_since is None or not chores:
            continue
        dry_at = minute(record.state_since.utc) + ceil(record.colourway.dry_h * 60)
        if dry_at <= max(day.plan.session.stop_min, minute(now.utc)):
            steps = tuple(
                Step(chore.name, max(1, ceil(chore.minutes * (record.skeins if chore.per == "skein" else 1))))
                for chore in chores
            )
            yield Batch(name=record.no, steps=steps, release=dry_at, counts=False)
