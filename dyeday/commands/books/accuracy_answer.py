"""How past forecasts were kept, read off the closed days: what `ahead` and `times` tell."""

from __future__ import annotations

import contextlib
from argparse import Namespace

from dyeday.ahead.accuracy import Kept, Promise, promise_of
from dyeday.commands.common import sessions
from dyeday.store.durable import StoreError
from dyeday.track.day.fold import fold

DAYS_BACK = 30
"""closed days looked back on for how often a forecast was kept"""


def kept_data(kept: Kept | None) -> dict[str, object] | None:
    """Return how forecasts were kept as JSON-able data."""
    return None if kept is None else {"days": kept.days, "by_late": kept.by_late, "error_min": kept.error_min}


def promises_of(args: Namespace) -> list[Promise]:
    """Return what the first forecast of each past day said and how the day ended, newest days first."""
    kept = sessions(args)
    closed = [listed.id for listed in kept.listed() if listed.closed]
    found: list[Promise] = []
    for session_id in closed[:DAYS_BACK]:
        # A past day that cannot be read is no reason to foresee nothing of today.
        with contextlib.suppress(StoreError):
            file = kept.open(session_id)
            promise = promise_of(fold(file.plan, file.events))
            found += [] if promise is None else [promise]
    return found
