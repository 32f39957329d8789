"""What to reorder, for the page of the day."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from dyeday.craft.dye.measuring import figure
from dyeday.files.durable import StoreError
from dyeday.store.records.shelf import ShelfRecords
from dyeday.studio.shelf.movements import outlook
from dyeday.text import counted


def to_reorder(data: Path, now: datetime) -> list[str]:
    """Return a line for each thing on the shelf to reorder; the error as one line if it cannot be read."""
    try:
        seen = outlook(ShelfRecords(data).shelf(), now)
    except StoreError as error:
        return [f"the shelf cannot be read: {error}"]
    lines = []
    for each in seen:
        if each.reorder:
            left = f"{figure(max(0.0, each.item.amount or 0.0))} {each.item.unit} left"
            rate = f", {figure(each.per_week, 3)} {each.item.unit} a week" if each.per_week else ""
            days = f", {counted(round(each.days_left), 'day')}" if each.days_left else ""
            lines.append(f"{each.item.name}: {left}{rate}{days}")
    return lines
