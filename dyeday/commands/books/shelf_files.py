"""The shelf as CSV, and its movements as CSV and JSON that can be imported again."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import fields
from typing import Any

from dyeday.commands.common import Refusal
from dyeday.plan.reading.problems import similar
from dyeday.plan.serialize import from_plain, to_plain
from dyeday.studio.shelf.movements import Move, ReorderForecast, Shelf
from dyeday.terms import MoveKind, StockKind
from dyeday.text import brief, csv_original, csv_text, harmless, strict_json

_USUAL = {field.name: field.default for field in fields(Move)}
COLUMNS = tuple(_USUAL)
_NUMBERS = ("amount", "strength_pct", "powder_g")


def shelf_csv(shelf: Shelf, seen: list[ReorderForecast]) -> str:
    """Return the shelf, one thing a row, bottles after their dyes."""
    rows: list[list[object]] = [
        ["thing", "name", "amount", "unit", "per week", "days left", "reorder", "lot", "strength %", "made"]
    ]
    for each in seen:
        item = each.item
        days = "" if each.days_left is None else round(each.days_left, 1)
        amount = "" if item.amount is None else item.amount
        reorder = "yes" if each.reorder else ""
        rows.append([item.thing.value, item.name, amount, item.unit, each.per_week, days, reorder, item.lot, "", ""])
        for bottle in shelf.bottles_of(item.name) if item.thing is StockKind.DYE else ():
            about = (bottle.powder_lot, bottle.strength_pct, bottle.made.isoformat())
            rows.append([StockKind.BOTTLE.value, bottle.name, bottle.left_ml, "mL", "", "", "", *about])
    return csv_text(rows)


def moves_csv(moves: list[Move]) -> str:
    """Return movements, one a row, with every column; `moves_in` reads them."""
    rows = ({**to_plain(move), "planned": "yes" if move.planned else ""} for move in moves)
    return csv_text([COLUMNS, *([row[name] for name in COLUMNS] for row in rows)])


def moves_in(text: str, name: str) -> list[Move]:
    """Return the movements in a text: a JSON list, or CSV as `moves_csv` gives it. Raises Refusal, file:line: …"""
    if text.lstrip()[:1] in ("[", "{"):
        try:
            rows = strict_json(text)
        except (ValueError, RecursionError) as error:
            right = "`dyeday shelf --moves --json` shows how"
            raise Refusal(f"{name}: this is not JSON ({harmless(error)}); {right}") from None
        numbered = list(enumerate(rows if isinstance(rows, list) else [rows], 1))
        return [_move(row, f"{name}: movement {n}") for n, row in numbered]
    reader = csv.reader(io.StringIO(text))
    try:
        rows = [(reader.line_num, row) for row in reader]
    except csv.Error as error:
        right = "`dyeday shelf --moves --csv FILE` shows how"
        raise Refusal(f"{name}:{reader.line_num}: this is not a row of a table ({error}); {right}") from None
    head = rows[0][1] if rows else []
    wrong = [column for column in head if column not in COLUMNS]
    if wrong or "kind" not in head:
        what = f"no column {brief(wrong[0])}" if wrong else "no column 'kind'"
        raise Refusal(f"{name}:1: {what}; {similar(wrong[0] if wrong else 'kind', COLUMNS)}")
    placed = ((f"{name}:{line}", dict(zip(head, row, strict=False))) for line, row in rows[1:] if any(row))
    return [_move(_from_cells(cells, place), place) for place, cells in placed]


def _from_cells(row: dict[str, str], place: str) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for column, cell in row.items():
        text = csv_original(cell)
        if column in _NUMBERS:
            if text:
                try:
                    out[column] = float(text)
                except ValueError:
                    what = f"{column} {brief(text)} is not a number"
                    raise Refusal(f"{place}: {what}; write a number such as 12.5") from None
        elif column == "planned":
            out[column] = text.strip().casefold() in ("yes", "true", "1")
        elif column != "made" or text:
            out[column] = text
    return out


def _move(row: Any, place: str) -> Move:
    kinds, things = ([each.value for each in terms] for terms in (MoveKind, StockKind))
    if isinstance(row, dict) and "kind" in row:
        undone = row["kind"] == MoveKind.UNDONE.value
        for word, known in ((row["kind"], kinds), *([] if undone else [(row.get("thing", ""), things)])):
            if word not in known:
                right = similar(str(word), known)
                raise Refusal(f"{place}: {brief(word)} is not a movement of the shelf; {right}")
        row = {**row, "thing": None} if undone else row
    try:
        move = from_plain(Move, row)
    except (TypeError, ValueError, KeyError) as error:
        what = f"{place}: this is not a movement ({harmless(error)})"
        raise Refusal(f"{what}; `dyeday shelf --moves` shows some") from None
    if not move.id or move.at.tzinfo is None or not abs(move.amount) <= 1e9:
        raise Refusal(f"{place}: the id, the time with its zone, or the amount is missing")
    if not all(math.isfinite(number) for number in (move.strength_pct or 0.0, move.powder_g)):
        raise Refusal(f"{place}: a strength or an amount of powder is infinite; write a number such as 2.0")
    if any(harmless(value) != value for value in row_of(move).values() if isinstance(value, str)):
        raise Refusal(f"{place}: a name in it contains control characters; delete them")
    return move


def row_of(move: Move) -> dict[str, Any]:
    """Return a movement as JSON-able data, without default values."""
    return {key: value for key, value in to_plain(move).items() if getattr(move, key) != _USUAL[key]}
