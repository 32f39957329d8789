"""What to reorder, for the page of the day, and what is in stock, in words."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from dyeday.craft.dye.measuring import figure
from dyeday.files.durable import StoreError
from dyeday.store.records.shelf import ShelfRecords
from dyeday.studio.shelf.movements import ReorderForecast, outlook
from dyeday.text import counted

YEAR_DAYS = 365


def to_reorder(data: Path, now_utc: datetime) -> list[str]:
    """Return a line for each thing on the shelf to reorder; the error as one line if it cannot be read."""
    try:
        seen = outlook(ShelfRecords(data).shelf(), now_utc)
    except StoreError as error:
        return [f"the shelf cannot be read: {error}"]
    return [f"{each.item.name}: {stock_text(each)}" for each in seen if each.reorder]


def stock_text(each: ReorderForecast) -> str:
    """Return a thing's stock and use, and how long it lasts: "20 g, 80 g a week (from 1 day only), 2 days left"."""
    item = each.item
    if item.amount is None:
        left = "never counted"
    elif item.amount < -0.05:
        left = f"{figure(-item.amount)} {item.unit} more used than was in stock: count it"
    else:
        left = f"{figure(max(0.0, item.amount))} {item.unit}"
    guess = f" (from {counted(each.known_days, 'day')} only)" if each.known_days < 7 else ""
    rate = f", {figure(each.per_week, 3)} {item.unit} a week{guess}" if each.per_week else ""
    if each.days_left is None:
        return f"{left}{each.bottles_text}{rate}"
    lasts = counted(round(each.days_left), "day") if each.days_left < YEAR_DAYS else "over a year"
    return f"{left}{each.bottles_text}{rate}, {lasts} left{each.lead_text}"
