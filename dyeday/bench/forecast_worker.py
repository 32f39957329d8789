"""The forecast in a thread, after each event and every minute, and recorded once an hour."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Protocol

from textual.app import App

from dyeday.bench.live_session import EventDraft, LiveSession
from dyeday.track.day.day_state import Day
from dyeday.track.timestamp import Moment

if TYPE_CHECKING:
    from dyeday.ahead.foreseen_steps import Forecast, Foresee
    from dyeday.ahead.what_if import Gain

FORECAST_FAILED = "Forecast failed. Entries are saved; your next entry tries again."
"""shown until a forecast succeeds; trying again each minute would fail the same way"""
NOT_READY = "the forecast is not ready yet; try again in a moment"

WhatIf = Callable[[Day, Moment, "Forecast", Callable[[], bool]], "Iterator[Gain]"]
"""computes what changes would gain, until its last argument returns False"""


class ForecastBoard(Protocol):
    """The screen that shows the forecast, and a message with whether it is about something wrong."""

    message: tuple[str, bool]

    def say(self, text: str, *, wrong: bool = False) -> None:
        """Show a message."""

    def paint(self) -> None:
        """Show the day as it is now."""


class ForecastWorker:
    """Asks ``foresee`` for the day's forecast in ``app``'s threads. ``forecasts`` counts how often it was asked."""

    def __init__(
        self, app: App[Any], live: LiveSession, board: ForecastBoard, foresee: Foresee | None, what_if: WhatIf | None
    ) -> None:
        self.app = app
        self.live = live
        self.board = board
        self.forecast: Forecast | None = None
        self.foresee = foresee
        self.is_awaited = foresee is not None
        """whether the first forecast is on its way"""
        self.what_if = what_if
        self.forecasts = 0
        self._failed: Day | None = None
        """the day whose forecast failed"""
        self._asked: tuple[Day, int] | None = None
        """the day last asked about, and at which minute"""

    @property
    def has_failed(self) -> bool:
        """Whether the latest forecast failed."""
        return self._failed is self.live.day

    @property
    def none_words(self) -> str:
        """Why there is no forecast of the day as it is now: the latest failed, or is on its way."""
        return FORECAST_FAILED if self.has_failed else NOT_READY

    def update(self, now: Moment) -> None:
        """Start a forecast if an event came or a minute has passed since the last; one at a time."""
        day, minute, before = self.live.day, int(now.utc.timestamp() // 60), self._asked
        if self.foresee is None or (before is not None and before[0] is day and before[1] == minute):
            return
        if self.has_failed or any(one.group == "ahead" and not one.is_finished for one in self.app.workers):
            return
        self._asked = (day, minute)
        self.forecasts += 1
        self.is_awaited = self.forecast is None
        self.app.run_worker(lambda: self._forecast(day, now), thread=True, group="ahead", exit_on_error=False)

    def _forecast(self, day: Day, now: Moment) -> None:
        assert self.foresee is not None  # noqa: S101 - asked by its caller
        try:
            forecast = self.foresee(day, now, self.forecast)
        except Exception:  # the bench goes on without a forecast, and says so
            self.app.call_from_thread(self._fail, day)
            return
        self.app.call_from_thread(self._found, forecast)

    def _fail(self, day: Day) -> None:
        self._failed = day
        self.forecast, self.is_awaited = None, False
        self.board.say(FORECAST_FAILED, wrong=True)
        self.board.paint()

    def _found(self, forecast: Forecast) -> None:
        self._failed = None
        if self.board.message[0] == FORECAST_FAILED:
            self.board.say("")
        self.forecast, self.is_awaited = forecast, False
        self._keep_on_record(forecast)
        if forecast.changed and not self.board.message[1]:
            self.board.say(forecast.changed)
        self.board.paint()

    def _keep_on_record(self, forecast: Forecast) -> None:
        """Record the forecast once an hour of a day under way, to measure its accuracy later."""
        from dyeday.ahead.accuracy import on_record, worth_recording

        live = self.live
        if not worth_recording(live.day, forecast) or live.read_only or live.trouble:
            return
        is_of_this = self._asked is not None and self._asked[0] is live.day
        live.record(EventDraft(on_record(forecast)))
        if is_of_this and self._asked is not None:
            # An entry about the forecast must not start another.
            self._asked = (live.day, self._asked[1])
            self.forecast = replace(forecast, day=live.day)

    def gains(self, day: Day, now: Moment, forecast: Forecast, wanted: Callable[[], bool]) -> Iterator[Gain]:
        """Yield what changes would bring, by the shell's function if given, else by the plan's minutes."""
        if self.what_if is not None:
            yield from self.what_if(day, now, forecast, wanted)
            return
        from dyeday.ahead.what_if import gains

        yield from gains(day, now, forecast, wanted=wanted)
