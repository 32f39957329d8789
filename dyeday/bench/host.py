"""The app as the main screen and the actions of its keys use it."""

from __future__ import annotations

from collections.abc import Callable

from textual import events

from dyeday.bench.forecast_worker import ForecastWorker
from dyeday.bench.input.bench_keys import Do
from dyeday.bench.live_session import LiveSession, PlanWatch
from dyeday.bench.looks.sounds import Sounds
from dyeday.bench.plain_app import PlainApp
from dyeday.bench.watch_link import PhonePage


class BenchHost(PlainApp[None], inherit_bindings=False):
    """The bench's app as its parts see it."""

    act: Callable[[Do], object]
    """does what a key does; a coroutine if it asks"""
    live: LiveSession
    outlook: ForecastWorker
    phone_page: PhonePage
    plan_watch: PlanWatch
    sounds: Sounds
    is_demo: bool
    """whether it is the demo, deleted when the bench is left"""
    lit: bool
    """whether the one mark that blinks shows just now"""

    is_smeared: Callable[[events.Key], bool]
    """tells whether a command key that passed was half of a smear, or the keys were locked since"""
    tick: Callable[[], None]
    """does now what is done every second"""
    lock: Callable[[], None]
    other_look: Callable[[], None]
    """changes between the dark and the bright look"""
    tell_meanwhile: Callable[[str, list[str]], bool]
    """shows lines under a heading on a page that the next key closes; tells whether it is shown"""

    @property
    def a_silences(self) -> bool:
        """Whether the key `a` silences an alarm on the screen that is seen."""
        raise NotImplementedError
