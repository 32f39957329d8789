"""Sessions that went over into each other, opened one after the other."""

from __future__ import annotations

from collections.abc import Collection

from dyeday.files.durable import StoreError
from dyeday.store.sessions import Sessions
from dyeday.track.day.day_state import Day
from dyeday.track.events.session_events import CarriedOver
from dyeday.track.folding.fold import effective, fold

LONGEST_CHAIN = 60
"""sessions carried into each other that are looked back at"""


def earlier_days(kept: Sessions, day: Day, seen: set[str]) -> list[tuple[str, Day]]:
    """Return the sessions whose batches were carried into ``day``, and those before them, oldest first."""
    names = {b.carried.session for b in day.batches.values() if b.carried is not None} - seen
    found: list[tuple[str, Day]] = []
    for name in sorted(names):
        if len(seen) >= LONGEST_CHAIN or name not in kept.ids():
            continue
        seen.add(name)
        file = kept.open(name)
        before = fold(file.plan, file.events)
        found += [*earlier_days(kept, before, seen), (name, before)]
    return found


def went_over(kept: Sessions, sources: Collection[str], into: str = "") -> dict[tuple[str, str], str]:
    """Return where batches of the sessions ``sources`` went on: by session and batch, the newest "session/batch".

    Coming over ``into`` that session itself is passed over; so is a session that cannot be read.
    """
    found: dict[tuple[str, str], str] = {}
    first = min((source[:10] for source in sources), default="")
    for name in reversed(kept.ids()):
        if not first or name[:10] < first or name == into:
            continue
        try:
            events = effective(kept.open(name).events)[0]
        except StoreError:
            continue
        for event in events:
            body = event.body
            if isinstance(body, CarriedOver) and body.source and body.source in sources:
                found[body.source, str(body.was)] = f"{name}/{event.batch}"
    return found
