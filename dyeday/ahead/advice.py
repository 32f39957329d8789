"""What hands do next, as every screen says it: what is urgent first, then the forecast's next steps with reasons."""

from __future__ import annotations

from dyeday.ahead.next_up import NextUp, next_up
from dyeday.ahead.planned import Forecast, Planned
from dyeday.ahead.reasons import do_text, why
from dyeday.track.day import Day
from dyeday.track.instant import Now

URGENT_RANK = 5
"""what is due and harms, or holds up the kit, goes before any plan"""


def advice(day: Day, now: Now, most: int, found: Forecast | None) -> list[NextUp]:
    """Return what hands do next: what is urgent, then the forecast's next steps with their reasons."""
    plain = next_up(day, now, 50)
    if found is None or not found.steps:
        return plain[:most]
    urgent = [item for item in plain if item.rank <= URGENT_RANK]
    named = {about for item in urgent for about in item.about.split("+")}
    planned = []
    for step in found.next_steps:
        if step.batch in named or not to_do(step, day, now):
            continue
        named.add(step.batch)
        about = step.batch if step.batch in day.batches else "--"
        planned.append(NextUp(about, do_text(step), why(step, found, day), 30))
        if len(planned) >= most:
            break
    return [*urgent, *planned][:most]


def to_do(step: Planned, day: Day, now: Now) -> bool:
    """Tell whether an attended step is still to be done: not of a batch that is over, nor what hands are at."""
    batch = day.batches.get(step.batch)
    if batch is None:
        return True
    at_it = step.start <= now.utc and batch.state in ("paint", "rinse") and step.step == batch.state
    return batch.is_live and not at_it


def advised_step(day: Day, now: Now, found: Forecast | None) -> Planned | None:
    """Return the step that the forecast would have hands do first; None where it has none."""
    if found is None:
        return None
    return next((step for step in found.next_steps if to_do(step, day, now)), None)
