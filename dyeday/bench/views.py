"""The screen of the rest of the day, made from its forecast."""

from __future__ import annotations

from dyeday.ahead.forecast import Forecast
from dyeday.bench.keeper import Keeper
from dyeday.bench.pages import Reader, lines_text
from dyeday.paper.timetable import chart_lines, table_lines, verdict_lines


def rest_of_day(keeper: Keeper, found: Forecast, width: int) -> Reader:
    """Return the forecast's screen: both answers, the chart, the timetable."""
    zone = keeper.day.plan.session.zone
    chart, table = chart_lines(found, zone, width), table_lines(found, zone, width)
    lines = [*verdict_lines(found, zone), "", *chart, "", *table]
    return Reader("The rest of the day, down scrolls", lines_text(lines))
