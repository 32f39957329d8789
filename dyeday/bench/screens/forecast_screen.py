"""The rest of the day on a screen of its own: both answers, what is next, warnings, the chart, what would change it.

It follows the app's latest forecast. What would change it is worked out in a thread while other keys go on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from rich.cells import cell_len
from rich.text import Text
from textual.binding import Binding
from textual.widgets import Static

from dyeday.ahead.forecast import TONIGHT, Forecast
from dyeday.ahead.what_if import Gain
from dyeday.bench.input.key_forwarding import AsItIs
from dyeday.bench.live_session import Draft, Keeper
from dyeday.bench.looks.themes import Look
from dyeday.bench.screens.text_screens import Reader
from dyeday.paper.layout.text_page import wrap
from dyeday.paper.sheets.day_chart import HEAT, NOW, chart_lines
from dyeday.paper.sheets.forecast_lines import (
    deadline_lines,
    gain_lines,
    next_lines,
    serving_line,
    table_lines,
    verdict_lines,
    warning_lines,
)
from dyeday.terms import AdviceIs, Serves
from dyeday.text import harmless
from dyeday.track.day.day_state import Day
from dyeday.track.events.event_text import SERVES_WORDS
from dyeday.track.events.remarks import AdviceWished
from dyeday.track.timestamp import Now

OTHER = {
    Serves.TONIGHT: Serves.BY_STOP,
    Serves.BY_STOP: Serves.TONIGHT,
    Serves.HEAT_BY_STOP: Serves.TONIGHT,
}
"""the two questions in words, as the lines of the forecast have them"""


class RestOfDay(AsItIs, Reader):
    """The forecast's screen. ``fetch`` gives the latest forecast, ``record`` stores an entry and says so."""

    BINDINGS = [  # noqa: RUF012
        Binding("escape,q,y", "back", "back"),
        Binding("w", "what_if", "what if"),
        Binding("s", "serve", "the other question"),
    ]

    def __init__(
        self,
        keeper: Keeper,
        fetch: Callable[[], Forecast | None],
        record: Callable[[Draft], object],
        gains: Callable[[Day, Now, Forecast, Callable[[], bool]], Iterator[Gain]],
    ) -> None:
        super().__init__("The rest of the day", Text(""))
        self.keeper = keeper
        self.fetch = fetch
        self.record = record
        self.gains = gains
        self.shown: tuple[Forecast, int, int] | None = None
        self.gained: list[Gain] = []
        self.asked = False
        self.working = False

    def foot(self) -> list[tuple[str, str]]:
        other = [] if self.keeper.watching else [("s", f"rather {SERVES_WORDS[OTHER[self.keeper.day.question]]}")]
        return [("w", "what if"), *other]

    def show(self) -> None:
        """Show the latest forecast; nothing is drawn again where nothing changed."""
        found = self.fetch()
        width = self.size.width - 3
        if found is None or not self.query("#reader-text"):
            return
        stamp = (found, width, len(self.gained) + self.working)
        if self.shown is not None and self.shown[0] is found and self.shown[1:] == stamp[1:]:
            return
        if self.shown is not None and self.shown[0] is not found:
            self.query_one(".heading", Static).update(Text(f" {self.heading}", style="bold"))
        self.shown = stamp
        text = rest_text(self.keeper.day, found, max(20, width), self.look, self._gain_lines(width))
        self.query_one("#reader-text", Static).update(text)

    def _gain_lines(self, width: int) -> list[str]:
        if not self.asked:
            return []
        lines = ["what if", *gain_lines(self.gained, width)]
        return [*lines, "  still working it out"] if self.working else lines

    def action_what_if(self) -> None:
        """Work out, beside the keys, what one more unit, an hour, and leaving out each batch would bring."""
        found = self.fetch()
        if found is None or self.working:
            return
        self.asked, self.working, self.gained = True, True, []
        day, now = self.keeper.day, self.keeper.now()
        self.app.run_worker(lambda: self._work(day, now, found), thread=True, group="what-if", exit_on_error=False)
        self.show()

    def _work(self, day: Day, now: Now, found: Forecast) -> None:
        for gain in self.gains(day, now, found, lambda: self.is_running and self.app.is_running):
            self.app.call_from_thread(self._gain, gain)
        self.app.call_from_thread(self._worked)

    def _gain(self, gain: Gain) -> None:
        self.gained.append(gain)
        self.show()

    def _worked(self) -> None:
        self.working = False
        self.show()

    def action_serve(self) -> None:
        """Let the advice serve the other question, for this session."""
        if not self.keeper.watching:
            other = OTHER[self.keeper.day.question]
            self.record(Draft(AdviceWished(what=AdviceIs.SERVES, serves=other)))
            self.query_one(".heading", Static).update(
                Text(f" The rest of the day: from the next forecast on for {SERVES_WORDS[other]}", style="bold")
            )
            self.show_foot()


def rest_text(day: Day, found: Forecast, width: int, look: Look, gained: list[str]) -> Text:
    """Return all that the screen says, with colour beside the words and signs."""
    zone = day.plan.session.zone
    text = Text()
    _add(text, verdict_lines(found, zone), width)
    _add(text, [serving_line(found, day)], width, look.quiet)
    if found.serving == TONIGHT and day.question != Serves.TONIGHT:
        _add(text, ["all fits, so the earliest end answers both questions"], width, look.quiet)
    _add(text, gained, width)
    _add(text, next_lines(found, day, width), width, "bold", before=True)
    _add(text, warning_lines(found, width), width, look.doubt, before=True)
    text.append("\n")
    for line in chart_lines(found, day, width):
        text.append(" ")
        text.append_text(_chart_line(line, look))
        text.append("\n")
    _add(text, deadline_lines(found, zone, width), width, before=True)
    _add(text, table_lines(found, day, width), width, before=True)
    return text


def _add(text: Text, lines: list[str], width: int, style: str = "", *, before: bool = False) -> None:
    if lines and before:
        text.append("\n")
    for line in lines:
        fits = cell_len(harmless(line)) <= width
        for part in [harmless(line)] if fits else wrap(line, width, "  ", ""):
            text.append(f" {part}\n", style=style)


def _chart_line(line: str, look: Look) -> Text:
    """Return a row of the chart: heat and the now-line stand out, all else is as it is."""
    row = Text()
    for sign in harmless(line):
        row.append(sign, style={HEAT: look.due, NOW: look.urgent}.get(sign, ""))
    return row
