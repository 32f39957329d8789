"""The stored events that some batches of a day depend on, to read a lot without the rest of a long day."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from dyeday.track.day.day_state import Body
from dyeday.track.events.event_json import KINDS
from dyeday.track.events.rewriting import Corrected, Rewriting
from dyeday.track.events.session_events import CarriedOver, Closed, OrderAdded, PlanChanged

Row = Mapping[str, Any]
_ACID = {"acid_ml", "acid_g"}
_OF_ALL = (OrderAdded, PlanChanged, CarriedOver)
"""events that may renumber batches or bring units"""


def related_rows(rows: Sequence[Row], batches: Collection[str]) -> Sequence[Row]:
    """Return the rows, JSON objects in the order of recording, that the records of ``batches`` depend on.

    These are the rows about the batches, about those they were split from or mistaken for, about those ever with one
    of them in a unit that acid was put into, about no batch or another row, and all from the close on. Of a day that
    is open or has one of `_OF_ALL`, all. The day folded from them has the same ``batches``, acids and end.
    """
    kinds = [KINDS.get(row.get("event", "")) for row in rows]
    if None in kinds or Closed not in kinds or any(kind in _OF_ALL for kind in kinds):
        return rows
    every = list(zip(rows, kinds, _named(rows, kinds), strict=True))
    splits = [nos for row, _, nos in every if "into" in row]
    kin = _with_kin(set(batches), splits)
    # Units that acid was put into; all units where a correction may have moved it.
    moved = any(kind is Corrected and row.keys() & {"unit", *_ACID} for row, kind, _ in every)
    dosed = {row["unit"] for row in rows if "unit" in row and (moved or row.keys() & _ACID)}
    units = dosed & {row["unit"] for row, _, nos in every if "unit" in row and nos & kin}
    beside = {no for row, _, nos in every if row.get("unit") in units for no in nos}
    near = _with_kin(kin | beside, splits)
    corrected = {row["corrects"] for row, kind, _ in every if kind is Corrected}
    closed = min("" if row["id"] in corrected else _minute(row) for row, kind, _ in every if kind is Closed)
    return [
        row
        for row, kind, nos in every
        if not nos
        or nos & near
        or _minute(row) >= closed
        or row["id"] in corrected  # its time, perhaps
        or (kind is not None and issubclass(kind, Rewriting))
    ]


def _named(rows: Sequence[Row], kinds: Sequence[type[Body] | None]) -> list[set[str]]:
    """Return the batches that each row is about, with those that a correction names."""
    named = [
        {*row.get("batches", ()), *row.get("into", ()), *(() if row.get("batch") is None else (row["batch"],))}
        for row in rows
    ]
    place = {row["id"]: n for n, row in enumerate(rows)} if Corrected in kinds else {}
    for row, kind, nos in zip(rows, kinds, named, strict=True):
        if kind is Corrected and row["corrects"] in place:
            corrected = named[place[row["corrects"]]]
            corrected |= nos
            nos |= corrected  # a unit that the correction names is theirs
    return named


def _minute(row: Row) -> str:
    return str(row["at"])[:16]


def _with_kin(batches: set[str], splits: Sequence[set[str]]) -> set[str]:
    """Return batches with all they were split from and into; each of ``splits`` is a batch and its parts."""
    kin, before = batches, -1
    while len(kin) > before:
        before = len(kin)
        kin = kin.union(*(nos for nos in splits if nos & kin))
    return kin
