"""What a command needs to open a screen: a fit terminal, forecasts, sounds, the page for phones."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterator
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from dyeday.commands.common import Refusal
from dyeday.files.durable import StoreError

if TYPE_CHECKING:
    from dyeday.ahead.forecast import Forecast
    from dyeday.ahead.late_case import StudioTimes
    from dyeday.ahead.what_if import Gain
    from dyeday.bench.input.idle_gate import IdleGate
    from dyeday.bench.watch_link import WatchPage
    from dyeday.files.places import SoundPrograms
    from dyeday.track.day.day_state import Day
    from dyeday.track.timestamp import Moment


def can_show() -> bool:
    """Return whether there is a terminal that can position text."""
    return sys.stdin.isatty() and sys.stdout.isatty() and os.environ.get("TERM") not in ("dumb", "")


def must_have_screen(otherwise: str) -> None:
    """Raise Refusal if there is no terminal that can position text; ``otherwise`` says what to do."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise Refusal(f"the bench needs a terminal; {otherwise}")
    if not can_show():
        raise Refusal(f"this terminal (TERM={os.environ['TERM']}) cannot position text; {otherwise}")


def ascii_only() -> bool:
    """Return whether the terminal's locale has ASCII only."""
    from dyeday.bench.looks.ascii_signs import knows_ascii_only

    return os.name == "posix" and knows_ascii_only(os.environ)


SWITCH_S = 0.0005
AHEAD_S = 0.05
"""of search for each of the forecast's two answers, after an event"""
MINUTE_S = 0.02
"""after a quiet minute"""
FIRST_S = 3.0
"""limit for a bench's first forecast, which is counted: so screen and paper say the same"""
SETTLING_S = 0.05
"""after a quiet minute, as long as the forecast still improves"""


class BenchForecasts:
    """Forecasts for a bench in pauses between keys, with the learned times, read once."""

    def __init__(self, data: Path, quiet: IdleGate) -> None:
        self.data, self.quiet = data, quiet
        self._seen: Day | None = None
        self._settling = True

    @cached_property
    def own(self) -> StudioTimes:
        """The studio's learned times and late scale."""
        from dyeday.commands.studio_records import studio_times

        return studio_times(self.data)

    def forecast(self, day: Day, now: Moment, before: Forecast | None) -> Forecast:
        """Return the forecast after as much search as the constants above give."""
        from dyeday.ahead.forecast import forecast
        from dyeday.commands.studio_records import EVALUATIONS

        fresh, self._seen = day is not self._seen, day
        minute_s = SETTLING_S if self._settling else MINUTE_S
        seconds = FIRST_S if before is None else AHEAD_S if fresh else minute_s
        budget = lambda: self.quiet.lasting(seconds)  # noqa: E731 - a word long
        counted = EVALUATIONS if before is None else None
        answer = forecast(day, now, evaluations=counted, budget=budget, before=before, own=self.own)
        self._settling = before is None or fresh or answer.finish < before.finish
        return answer

    def what_if(self, day: Day, now: Moment, forecast: Forecast, wanted: Callable[[], bool]) -> Iterator[Gain]:
        """Yield what each change gains, with pauses while keys are pressed, until ``wanted`` returns False."""
        from dyeday.ahead.what_if import gains

        def still() -> bool:
            self.quiet.wait()
            return wanted()

        return gains(day, now, forecast, learned=self.own.learned, wanted=still)


def sound_programs() -> tuple[SoundPrograms, str]:
    """Return this computer's sound programs, and the error if they cannot be read."""
    from dyeday.files.places import SoundPrograms, read_sounds

    try:
        return read_sounds(), ""
    except StoreError as error:
        return SoundPrograms(), f"only the bell sounds: {error}"


def open_page(network: bool, address: str = "", port: int = 0) -> WatchPage:
    """Start serving the page, see `OpenPage`; only then the server is loaded."""
    from dyeday.watch.serving import opened

    return opened(network, address, port)
