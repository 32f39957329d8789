"""What the main screen and the actions of its keys use of the app."""

from __future__ import annotations

from collections.abc import Callable, Coroutine, Sequence
from typing import Any

from textual import events

from dyeday.bench.forecast_worker import ForecastWorker
from dyeday.bench.input.batch_typing import BatchTyping
from dyeday.bench.input.bench_keys import Do
from dyeday.bench.live_session import EventDraft, LiveSession, PlanWatch
from dyeday.bench.looks.sounds import Sounds
from dyeday.bench.plain_app import PlainApp, TypedAhead, put_questions
from dyeday.bench.view.bench_view import BenchView, ViewCache
from dyeday.bench.watch_link import PhonePage
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.timestamp import Moment


class BenchHost(PlainApp[None], inherit_bindings=False):
    """The bench's app as its parts see it."""

    live: LiveSession
    outlook: ForecastWorker
    phone_page: PhonePage
    """the page for phones, while it is on"""
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
    """locks the keys"""
    other_look: Callable[[], None]
    """changes between the dark and the bright look"""
    tell_meanwhile: Callable[[str, list[str]], bool]
    """shows lines under a heading on a page that the next key closes; tells whether it is shown"""

    @property
    def a_silences(self) -> bool:
        """Whether the key `a` silences an alarm on the screen that is seen."""
        raise NotImplementedError


class MainStage(TypedAhead[None]):
    """The main screen as actions see it."""

    bench_app: BenchHost
    """the app this screen is shown by"""
    live: LiveSession
    view_cache: ViewCache
    """the cache of the view and what is next"""
    chosen: str | None
    """the number of the batch that keys speak of"""
    typing: BatchTyping
    shown: BenchView | None
    """the view painted last"""
    message: tuple[str, bool]
    """the message, and whether it is about something wrong"""
    paint: Callable[[], None]
    """shows the day as it is now"""
    choose: Callable[[str | None], None]
    """chooses a batch"""
    do: Callable[[Do], None]
    """does what a key does"""
    silence: Callable[[], None]
    """silences an alarm, from any screen; not in a read-only bench"""
    nothing_words: Callable[[], str]
    """returns what stands where nothing is next"""
    muted_words: Callable[[], str]
    """returns until when the sound is muted; empty where it is not"""

    @property
    def load(self) -> tuple[str, ...]:
        """The numbers of the batches that keys speak of: those marked, else the chosen one."""
        return self.typing.marked or (() if self.chosen is None else (self.chosen,))

    def say(self, text: str, *, wrong: bool = False) -> None:
        """Show a message."""
        raise NotImplementedError

    def record(
        self, *drafts: EventDraft, then: str = "", at: Moment | None = None, approximate: bool = False
    ) -> bool:
        """Record events and say so, with ``then`` behind it; return whether they count, even if only in memory.

        ``at`` and ``approximate`` as in `LiveSession.record`. A read-only bench records none.
        """
        raise NotImplementedError

    def chosen_batch(self) -> BatchRecord | None:
        """Return the chosen batch; show a message if there is none."""
        return next(iter(self._among((self.chosen or "",))), None)

    def chosen_load(self) -> list[BatchRecord]:
        """Return the batches that move together: those marked, else the chosen one; show a message if none."""
        return self._among(self.load)

    def _among(self, numbers: Sequence[str]) -> list[BatchRecord]:
        batches, wrong = self.live.day.batches, self.typing.wrong
        if not (found := [batches[no] for no in numbers if no in batches and not wrong]):
            self.say(f"nothing done: {wrong}" if wrong else "choose a batch first: type its number", wrong=True)
        return found

    def put_questions(self, asking: Coroutine[Any, Any, object]) -> None:
        """Put the questions of an action."""
        put_questions(self.app, asking, lambda: self.say("cancelled, nothing saved"))
