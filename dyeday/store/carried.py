"""Sessions that went over into each other, opened one after the other."""

from __future__ import annotations

from dyeday.store.sessions import Sessions
from dyeday.track.day import Day
from dyeday.track.fold import fold

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
