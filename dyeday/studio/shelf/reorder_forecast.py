"""How long what is on the shelf will last, by what past weeks took, and what to reorder."""

from __future__ import annotations

from datetime import datetime, timedelta

from dyeday.quick_dataclass import dataclass
from dyeday.studio.shelf.movements import HARDLY, Shelf, ShelfItem
from dyeday.terms import StockKind

PAST_WEEKS = 8
LEAD_DAYS = 14.0
"""how long an order takes to come, where nobody says; common practice, no source"""


@dataclass(frozen=True, slots=True)
class ReorderForecast:
    """How long a thing will last by what past weeks took. ``days_left`` is None where nothing was used."""

    item: ShelfItem
    per_week: float
    days_left: float | None
    reorder: bool
    in_bottles: float = 0.0
    """g of a dye that stands in bottles"""


def outlook(
    shelf: Shelf, now: datetime, *, weeks: float = PAST_WEEKS, lead_days: float = LEAD_DAYS
) -> list[ReorderForecast]:
    """Return each thing with its weekly use over the past ``weeks`` and whether to reorder now.

    The use is over the weeks there is a record of, one at least. A dye in bottles is still there to be used.
    Reordering is due when what is left will not outlast ``lead_days``, or there is none.
    """
    since = now - timedelta(weeks=weeks)
    found = []
    for item in shelf.items:
        used = sum(amount for at, amount in item.used if since < at <= now)
        span = weeks
        if item.first_at is not None:
            span = min(weeks, max(1.0, (now - item.first_at).total_seconds() / 604_800))
        per_week = max(0.0, used) / span
        wet = sum(bottle.powder_g for bottle in shelf.bottles_of(item.name)) if item.thing is StockKind.DYE else 0.0
        left = None if item.amount is None else max(0.0, item.amount) + wet
        days = left / per_week * 7 if left is not None and per_week > HARDLY else None
        empty = left is not None and left <= HARDLY
        found.append(ReorderForecast(item, per_week, days, empty or (days is not None and days <= lead_days), wet))
    return found
