"""What every action uses: events stored and said, the chosen batch, a question put."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from textual.screen import Screen

from dyeday.bench.actions.raised_flags import known_flags, raised
from dyeday.bench.host import MainStage
from dyeday.bench.input.bench_keys import WATCHING
from dyeday.bench.live_session import EventDraft, LiveSession
from dyeday.files.durable import StoreError
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.entries.field_checks import EventError
from dyeday.track.events.event_text import event_text, new_batches, whose

T = TypeVar("T")


class Recorder:
    """Records what actions say, through the bench's session, and tells the main screen."""

    def __init__(self, screen: MainStage, keeper: LiveSession) -> None:
        self.screen = screen
        self.keeper = keeper

    def record(self, *drafts: EventDraft, then: str = "", about: bool = False) -> bool:
        """Store events and say so; tell whether they are on record. A bench that only watches stores none."""
        if self.keeper.watching:
            self.screen.say(WATCHING, wrong=True)
            return False
        was_closed = self.keeper.day.closed is not None
        had = self.keeper.day.batches
        before = known_flags(self.keeper)
        try:
            stored = self.keeper.record(*drafts, about=about)
        except (EventError, StoreError) as error:
            self.screen.say(f"not recorded: {error}", wrong=True)
            return False
        except OSError as error:
            self.screen.say(f"not recorded: {error.strerror}", wrong=True)
            return False
        said = ", ".join(event_text(event, self.keeper.day) for event in stored)
        closed = " (after the day was closed)" if was_closed else ""
        batch = whose(stored[0]) if stored else ""
        self.screen.typing.clear()
        fresh = new_batches(self.keeper.day, had)
        if fresh:
            then += f": {fresh}"
            self.screen.chosen = next(no for no in self.keeper.day.batches if no not in had)
        flags = raised(self.keeper, before, stored[0].batches if stored else ())
        if flags:
            self.screen.said = (flags, True)
            self.screen.app.bell()
        else:
            word = "in memory, NOT SAVED yet" if self.keeper.unsaved else "recorded"
            self.screen.said = (f"{word}: {batch}{said}{then}{closed}", bool(self.keeper.unsaved))
        self.screen.paint()
        return True

    def batch(self) -> BatchRecord | None:
        """Return the chosen batch; say so where none is chosen."""
        found = self.keeper.day.batches.get(self.screen.chosen or "")
        if found is None:
            self.screen.say("choose a batch first: type its number", wrong=True)
        return found

    def load(self) -> list[BatchRecord]:
        """Return the batches that move together: those marked, else the chosen one; say so where there are none."""
        batches = self.keeper.day.batches
        found = [batches[no] for no in self.screen.load if no in batches]
        if not found:
            self.screen.say("choose a batch first: type its number", wrong=True)
        return found

    def ask(self, screen: Screen[T | None], done: Callable[[T], object]) -> None:
        """Put a question and call ``done`` with its answer, unless it was left."""

        def answered(answer: T | None) -> None:
            if answer is None:
                self.screen.say("cancelled, nothing saved")
            else:
                done(answer)

        self.screen.app.push_screen(screen, answered)
