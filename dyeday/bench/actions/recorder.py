"""What every action uses: recording events with a message, the chosen batch, asking a question."""

from __future__ import annotations

from collections.abc import Callable, Coroutine, Sequence
from functools import wraps
from typing import Any, TypeVar

from dyeday.bench.host import MainStage
from dyeday.bench.input.batch_typing import BatchTyping
from dyeday.bench.input.bench_keys import READ_ONLY
from dyeday.bench.live_session import EventDraft, LiveSession
from dyeday.bench.plain_app import put_questions
from dyeday.bench.view.bench_view import new_batches
from dyeday.files.durable import StoreError
from dyeday.terms import FlagId
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.event_keys import EventError
from dyeday.track.flags import Flag, flag_words

T = TypeVar("T")
A = TypeVar("A", bound="Actions")
Known = tuple[str | None, FlagId]
"""(batch of a flag, None for the whole day; its rule)"""


class Recorder:
    """Records events through the bench's session, with a message on the main screen."""

    def __init__(self, screen: MainStage, live: LiveSession) -> None:
        self.screen = screen
        self.live = live

    def record(self, *drafts: EventDraft, then: str = "", approximate: bool = False) -> bool:
        """Record events and say so, with ``then`` behind it; return whether they count, even if only in memory.

        ``approximate`` means that their times were suggested, not seen. A read-only bench records none.
        """
        if self.live.read_only:
            self.screen.say(READ_ONLY, wrong=True)
            return False
        was_closed = self.live.day.closed is not None
        had = self.live.day.batches
        before = {(no, flag.rule) for flag in self.live.all_flags() for no in flag.batches or (None,)}
        try:
            stored = self.live.record(*drafts, approximate=approximate)
        except (EventError, StoreError, OSError) as error:
            why = error.strerror if isinstance(error, OSError) else error
            self.screen.say(f"not recorded: {why}", wrong=True)
            return False
        words = ", ".join(event.text(self.live.day) for event in stored)
        closed = " (after the day was closed)" if was_closed else ""
        batch = stored[0].whose if stored else ""
        self.screen.typing = BatchTyping()
        fresh = new_batches(self.live.day, had)
        if fresh:
            then += f": {fresh}"
            self.screen.chosen = next(no for no in self.live.day.batches if no not in had)
        flags = raised(self.live, before, stored[0].batches if stored else ())
        if flags:
            self.screen.message = (flags, True)
            self.screen.app.bell()
        else:
            word = "in memory, NOT SAVED yet" if self.live.unsaved else "recorded"
            self.screen.message = (f"{word}: {batch}{words}{then}{closed}", bool(self.live.unsaved))
        self.screen.paint()
        return True

    def batch(self) -> BatchRecord | None:
        """Return the chosen batch; show a message if there is none."""
        batch = self.live.day.batches.get(self.screen.chosen or "")
        if batch is None:
            self.screen.say("choose a batch first: type its number", wrong=True)
        return batch

    def load(self) -> list[BatchRecord]:
        """Return the batches that move together: those marked, else the chosen one; show a message if none."""
        batches = self.live.day.batches
        found = [batches[no] for no in self.screen.load if no in batches]
        if not found:
            self.screen.say("choose a batch first: type its number", wrong=True)
        return found

    def put_questions(self, asking: Coroutine[Any, Any, object]) -> None:
        """Put the questions of an action."""
        put_questions(self.screen.app, asking, lambda: self.screen.say("cancelled, nothing saved"))


def raised(live: LiveSession, before: set[Known], acted: Sequence[str]) -> str:
    """Return a message about open flags that were not there ``before``, those of the batches ``acted`` on first."""
    fresh = [flag for flag in live.all_flags() if flag.cleared is None and not _stood(live, flag, before)]
    if not fresh:
        return ""
    first = min(fresh, key=lambda flag: flag.batch not in acted)
    more = f" (+{len(fresh) - 1} more)" if len(fresh) > 1 else ""
    return f"{first.about or 'the day'} {flag_words(first.rule.value)}{more}: {first.why}. Do: {first.remedy}"


def _stood(live: LiveSession, flag: Flag, before: set[Known]) -> bool:
    """Return whether a flag stood before on all its batches, or on those they were split from."""
    batches, rule = live.day.batches, flag.rule
    return all(
        (no, rule) in before or ((one := batches.get(no or "")) is not None and (one.parent or "", rule) in before)
        for no in flag.batches or (None,)
    )


class Actions:
    """What some keys ask and do, recorded through ``recorder``."""

    def __init__(self, recorder: Recorder) -> None:
        self.recorder = recorder
        self.screen = recorder.screen
        self.live = recorder.live


def of_chosen(action: Callable[[A, BatchRecord], T]) -> Callable[[A], T | None]:
    """Make an action of `Actions` get the chosen batch; without one it only shows a message."""

    @wraps(action)
    def with_batch(self: A) -> T | None:
        batch = self.recorder.batch()
        return None if batch is None else action(self, batch)

    return with_batch
