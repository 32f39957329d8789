"""The rest of the day on a screen of its own: both answers, what is next, warnings, the chart, what if."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from enum import Enum
from itertools import zip_longest

from rich.cells import cell_len
from rich.text import Text
from textual.binding import Binding
from textual.containers import VerticalScroll
from textual.widgets import Static

from dyeday.ahead.forecast import Forecast
from dyeday.ahead.what_if import Gain
from dyeday.bench.forecast_worker import ForecastWorker
from dyeday.bench.live_session import LiveSession
from dyeday.bench.looks.themes import ColourDepth, LookStyles
from dyeday.bench.plain_app import DrawnEachSecond
from dyeday.bench.screens.text_screens import WIDE, Reader
from dyeday.bench.view.time_line import axis_parts, bars_at, time_line
from dyeday.bench.widgets.board import Canvas, rule
from dyeday.paper.sheets.day_chart import stretches
from dyeday.paper.sheets.forecast_lines import (
    deadline_lines,
    gain_lines,
    next_lines,
    serving_line,
    table_lines,
    verdict_lines,
    warning_lines,
)
from dyeday.terms import DayAim
from dyeday.text import clip, harmless, pad, wrap
from dyeday.track.day.day_state import Day
from dyeday.track.events.hours_events import AIM_WORDS, HoursChanged
from dyeday.track.timestamp import Moment, time_text_near

MOST_KIT, MARGIN = 16, 15
"""lines of the kit at most, and cells of a line that are not of its time"""


class Page(Enum):
    """What the screen shows below both answers, with the words of its title."""

    KIT = "Kit"
    TIMETABLE = "Timetable"
    LATEST = "Last chances"
    WHAT_IF = "What if"


class ForecastScreen(DrawnEachSecond[None], Reader):
    """The forecast's screen. ``outlook`` has the latest forecast, ``confirm`` asks about a change of the day."""

    BINDINGS = [  # noqa: RUF012
        Binding("escape,q,y", "back", "back"),
        Binding("left", "point(-1)", "earlier", show=False),
        Binding("right", "point(1)", "later", show=False),
        Binding("t", "page('TIMETABLE')", "timetable"),
        Binding("l", "page('LATEST')", "last chances"),
        Binding("w", "what_if", "what if"),
        Binding("s", "change_aim", "the other aim"),
    ]

    def __init__(self, live: LiveSession, outlook: ForecastWorker, confirm: Callable[[HoursChanged], object]) -> None:
        super().__init__("The rest of the day")
        self.live = live
        self.outlook = outlook
        self.confirm = confirm
        self.aim = live.day.aim
        """as it is shown"""
        self.shown: tuple[Forecast, tuple[object, ...]] | None = None
        """what is drawn: the forecast, and how"""
        self.gained: list[Gain] = []
        self.asked = False
        self.working = self.failed = False
        self.page = Page.KIT
        self.pointed: datetime | None = None

    def foot(self) -> list[tuple[str, str]]:
        other = [] if self.live.read_only else [("s", "aim")]
        return [("t", "timetable"), ("l", "last chances"), ("w", "what if"), *other]

    @property
    def _other_aim(self) -> DayAim:
        return DayAim.BY_STOP if self.live.day.aim is DayAim.TONIGHT else DayAim.TONIGHT

    def show(self) -> None:
        """Show the latest forecast; nothing is drawn again where nothing changed."""
        forecast = self.outlook.forecast
        width = self.size.width - 3
        if forecast is None or not self.query("#reader-text"):
            return
        canvas = Canvas(max(20, width), MOST_KIT, self.look, getattr(self.app, "colours", ColourDepth.ALL))
        how = (canvas, len(self.gained), self.working, self.failed, self.page, self.pointed)
        if self.shown is not None and self.shown[0] is forecast and self.shown[1] == how:
            return
        if self.shown is not None and self.shown[0] is not forecast:
            self.head()
        self.shown = (forecast, how)
        gained = self._gain_lines(width)
        text = rest_text(self.live.day, forecast, canvas, gained, page=self.page, pointed=self.pointed)
        self.query_one("#reader-text", Static).update(text)

    def _gain_lines(self, width: int) -> list[str]:
        if not self.asked:
            return []
        lines = gain_lines(self.gained, width)
        if self.failed:
            return [*lines, "  What-if failed; w tries again."]
        return [*lines, "  still working it out"] if self.working else lines

    def action_page(self, name: str) -> None:
        """Show a page, or go back to the first one from it."""
        self.page = Page.KIT if self.page is Page[name] else Page[name]
        self.show()
        self.query_one("#reader", VerticalScroll).scroll_home(animate=False)

    def action_point(self, cells: int) -> None:
        """Point at another moment of the time line, and list what is on then."""
        forecast = self.outlook.forecast
        if forecast is not None and self.page is Page.KIT:
            self.pointed = moved(self.live.day, forecast, max(20, self.size.width - 3), self.pointed, cells)
            self.show()

    def action_back(self) -> None:
        """Leave a page for the first one, the first one for the bench."""
        if self.page is not Page.KIT or self.pointed is not None:
            self.page, self.pointed = Page.KIT, None
            self.show()
        else:
            self.dismiss(None)

    def action_what_if(self) -> None:
        """Work out, beside the keys, what one more unit, an hour, and leaving out each batch would bring."""
        forecast = self.outlook.forecast
        if self.asked:
            self.action_page(Page.WHAT_IF.name)
        if forecast is None or self.working or (self.asked and self.page is not Page.WHAT_IF):
            return
        self.page = Page.WHAT_IF
        self.asked, self.working, self.failed, self.gained = True, True, False, []
        day, now = self.live.day, self.live.now()
        self.app.run_worker(lambda: self._work(day, now, forecast), thread=True, group="what-if", exit_on_error=False)
        self.show()

    def _work(self, day: Day, now: Moment, forecast: Forecast) -> None:
        failed = False
        try:
            for gain in self.outlook.gains(day, now, forecast, lambda: self.is_running and self.app.is_running):
                self.app.call_from_thread(self._gain, gain)
        except Exception:  # the bench goes on without a what-if, and says so
            failed = True
        self.app.call_from_thread(self._worked, failed)

    def _gain(self, gain: Gain) -> None:
        self.gained.append(gain)
        self.show()

    def _worked(self, failed: bool) -> None:
        self.working, self.failed = False, failed
        self.show()

    def action_change_aim(self) -> None:
        """Ask whether the day changes to the other aim, once it is known what that brings."""
        if not self.live.read_only:
            self.head(f"Working out what another aim brings: {AIM_WORDS[self._other_aim]}")
            self.confirm(HoursChanged(aim=self._other_aim))

    def on_screen_resume(self) -> None:
        is_changed, self.aim = self.aim is not self.live.day.aim, self.live.day.aim
        self.head(f"Aim changed: {AIM_WORDS[self.aim]}. The next forecast follows" if is_changed else "")


def rest_text(
    day: Day,
    forecast: Forecast,
    canvas: Canvas,
    gained: list[str],
    *,
    page: Page = Page.KIT,
    pointed: datetime | None = None,
) -> Text:
    """Return one page, the first with the others below it where it is wide; bars at ``pointed`` are listed."""
    width, _, look, _ = canvas
    zone = day.plan.session.zone
    text = Text()
    _add(text, verdict_lines(forecast, zone), width)
    _add(text, [serving_line(forecast, day)], width, look.quiet)
    table, latest = table_lines(forecast, day, width), deadline_lines(forecast, day, width)
    parts = {Page.TIMETABLE: table, Page.LATEST: latest, Page.WHAT_IF: gained}
    if page is not Page.KIT:
        _titled(text, page.value, parts[page] or ["nothing to show"], width, look)
        return text
    kit = time_line(day, forecast, forecast.at.utc, canvas, pointed)
    text.append_text(Text("\n").join([*kit, Text("")]))
    if pointed is not None:
        _add(text, _pointed_lines(day, forecast, pointed, width), width, "bold")
    if warned := warning_lines(forecast, width - 1):
        _titled(text, "What could go wrong", [line.removeprefix("~ ") for line in warned], width, look)
    _titled(text, "Next", next_lines(forecast, day, width), width, look)
    if width >= WIDE:
        left = [f" {line}" for line in table]
        cells = min(width * 2 // 3, max(width // 2, 2 + max(map(cell_len, left), default=0)))
        right = [*deadline_lines(forecast, day, width - cells - 1), *([""] if gained else []), *gained]
        text.append_text(rule(Page.TIMETABLE.value, cells, look))
        text.append_text(rule(Page.LATEST.value, width - cells, look)).append("\n")
        for one, other in zip_longest(left, right, fillvalue=""):
            text.append(f"{pad(clip(one, cells - 1), cells)}{clip(other, width - cells)}\n")
        return text
    for each, lines in parts.items():
        if lines:
            _titled(text, each.value, lines, width, look)
    return text


def _pointed_lines(day: Day, forecast: Forecast, pointed: datetime, width: int) -> list[str]:
    zone = day.plan.session.zone
    drawn = axis_parts(day, stretches(day, forecast, forecast.at.utc), forecast.at.utc, width - MARGIN)
    lines = bars_at(day, drawn[0].stretch.bars, pointed, drawn[0].slot_min, zone)
    at = time_text_near(pointed, zone, forecast.at.utc)
    return [f"at {at}", *(f"  {line}" for line in lines or ["nothing is on"])]


def moved(day: Day, forecast: Forecast, width: int, pointed: datetime | None, cells: int) -> datetime:
    """Return the moment some cells of the line of time further on, or back; from now where none is pointed at."""
    drawn = axis_parts(day, stretches(day, forecast, forecast.at.utc), forecast.at.utc, width - MARGIN)
    starts = [part.at(cell) for part in drawn for cell in range(part.cells)]
    at = pointed if pointed is not None else forecast.at.utc
    here = max((n for n, start in enumerate(starts) if start <= at), default=0)
    return starts[max(0, min(len(starts) - 1, here + cells))]


def _titled(text: Text, title: str, lines: Sequence[str], width: int, look: LookStyles) -> None:
    text.append_text(rule(title, width, look)).append("\n")
    _add(text, lines, width)


def _add(text: Text, lines: Sequence[str], width: int, style: str = "") -> None:
    for line in lines:
        fits = cell_len(harmless(line)) <= width - 1
        for part in [harmless(line)] if fits else wrap(line, width - 1, "  ", ""):
            text.append(f" {part}\n", style=style)
