"""The screens that only show: the rest of the day and the end-of-day page, made from the keeper's day."""

from __future__ import annotations

from dyeday.ahead.forecast import Forecast
from dyeday.bench.keeper import Keeper
from dyeday.bench.pages import Reader, SheetPage, lines_text
from dyeday.paper.page import as_text
from dyeday.paper.printer import send
from dyeday.paper.summary import summary_pages
from dyeday.paper.timetable import chart_lines, table_lines, verdict_lines
from dyeday.store.durable import StoreError
from dyeday.store.pages import keep_page


def rest_of_day(keeper: Keeper, found: Forecast, width: int) -> Reader:
    """Return the forecast's screen: both answers, the chart, the timetable."""
    zone = keeper.day.plan.session.zone
    chart, table = chart_lines(found, zone, width), table_lines(found, zone, width)
    lines = [*verdict_lines(found, zone), "", *chart, "", *table]
    return Reader("The rest of the day, ↓ scrolls", lines_text(lines))


def end_of_day(keeper: Keeper) -> SheetPage:
    """Return the page's screen; printing keeps the page as a file first, then says how it went."""
    session_id = keeper.file.about.id
    pages = summary_pages(keeper.day, session_id, keeper.now())

    def print_it() -> str:
        try:
            file = keep_page(keeper.file.path.parent.parent, session_id, "summary", as_text(pages))
        except StoreError as error:
            return str(error)
        return send(file, f"Day's end {session_id}").text

    return SheetPage(pages, print_it)
