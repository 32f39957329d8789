"""What goes along where an entry was another batch's: the rest of its movement, and what followed in it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dyeday.terms import HeatEdge, State
from dyeday.track.day.day_state import Day, Event
from dyeday.track.events.kit_events import AcidPutIn
from dyeday.track.events.measured import Measured
from dyeday.track.events.movements import Covered, Heated, Load, Moved, Placed
from dyeday.track.events.recording import entry_of
from dyeday.track.events.remarks import ChoreFinished, Noted
from dyeday.track.folding.fold import effective

OF_A_BATCH = (Load, Moved, Placed, Heated, Covered, AcidPutIn, Measured, Noted, ChoreFinished)
"""entries that may have been meant for another batch"""


def dependents(day: Day, event: Event, batch_no: str) -> list[Event]:
    """Return the entries about a batch that cannot be true where ``event`` was another's, in the order they happened.

    They are the others of the same movement, and what was recorded of the batch in the state that the movement
    brought it into. What is put into heat comes out of it again, so the way out of fix is among them.
    """
    about = [other for other in effective(day.events)[0] if batch_no in other.batches]
    entry = [n for n, other in enumerate(about) if entry_of(other.id) == entry_of(event.id)]
    into = next((state for n in entry if (state := _brought_into(about[n])) is not None), None)
    found = [about[n] for n in entry]
    for other in about[entry[-1] + 1 :] if entry and into is not None else ():
        leaves = _brought_into(other) not in (None, into)
        if not leaves or into is State.FIX:
            found.append(other)
        if leaves:
            break
    return [other for other in found if other.id != event.id and isinstance(other.body, OF_A_BATCH)]


def _brought_into(event: Event) -> State | None:
    """Return the state that an entry says its batches went into."""
    body = event.body
    if isinstance(body, (Moved, Load)) and body.to is not None:
        return body.to
    starts = isinstance(body, (Heated, Load)) and body.edge is HeatEdge.START
    return State.FIX if starts else None


def keys_for(event: Event, was: str, now: str) -> tuple[Mapping[str, Any] | None, str | None]:
    """Return the keys and the batch of the correction that has ``event`` be about one batch instead of another."""
    if not event.body.batches:
        return None, now
    keys: dict[str, Any] = {"batches": list(dict.fromkeys(now if no == was else no for no in event.body.batches))}
    if isinstance(event.body, Load) and isinstance(event.body.heat_no, Mapping):
        keys["pass"] = {(now if no == was else no): heat for no, heat in event.body.heat_no.items()}
    return keys, None
