"""`look-back`: a season in figures, from the lot book."""

from __future__ import annotations

import re
from argparse import Namespace
from calendar import monthrange
from dataclasses import asdict
from datetime import date, timedelta
from typing import Any

from dyeday.commands.common import Refusal, print_json, put_table, say
from dyeday.paper.sheets.season_chart import season_lines, season_rows
from dyeday.store import clock
from dyeday.store.records.lots import LotBook
from dyeday.studio.lots.season import Season, season
from dyeday.text import brief, csv_text

_DAY = re.compile(r"^(\d{4})(?:-(\d{2})(?:-(\d{2}))?)?$")


def look_back(args: Namespace) -> None:
    """Print the figures of a span of days, by default the last year. Raises Refusal."""
    last = _day("--to", args.to, end=True) if args.to else clock.now().utc.astimezone().date()
    first = _day("--from", args.from_, end=False) if args.from_ else _year_before(last)
    if first > last:
        raise Refusal(f"--from {first} is after {last}; give the earlier day first")
    figures = season(LotBook(args.data).season(first, last), first, last)
    if args.csv:
        put_table(args, csv_text(season_rows(figures)))
    if args.json:
        print_json(season_data(figures))
    elif args.csv != "-":
        say(*season_lines(figures))


def season_data(season: Season) -> dict[str, Any]:
    """Return a season as JSON-able data; the deepest band has no upper end."""
    data = asdict(season)
    data["first"], data["last"] = season.first.isoformat(), season.last.isoformat()
    data["alarms_per_hour"] = season.alarms_per_hour
    for one in data["exhausted"]:
        low, high = one.pop("band")
        one["depth_from_pct"], one["depth_to_pct"] = low, None if high == float("inf") else high
    for month, row in zip(season.months, data["months"], strict=True):
        row["alarms_per_hour"] = month.alarms_per_hour
    return data


def _day(option: str, text: str, *, end: bool) -> date:
    """Return the day of "2026-03-14"; of "2026-03" or "2026" the first, or with ``end`` the last."""
    match = _DAY.match(text.strip())
    try:
        if match is None:
            raise ValueError(text)
        year = int(match[1])
        month = int(match[2]) if match[2] else (12 if end else 1)
        day = int(match[3]) if match[3] else (monthrange(year, month)[1] if end else 1)
        return date(year, month, day)
    except ValueError:
        raise Refusal(f"{option} {brief(text)} is not a day; write 2026-03-14, 2026-03 or 2026") from None


def _year_before(last: date) -> date:
    """Return the first day of the twelve months that end on ``last``."""
    tomorrow = last + timedelta(days=1)
    year, month = tomorrow.year - 1, tomorrow.month
    return date(year, month, min(tomorrow.day, monthrange(year, month)[1]))  # 29 February
