"""The main screen: shows the day, chooses a batch, and hands every key that records to `bench_actions`."""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine, Sequence
from typing import Any

from textual.app import ComposeResult
from textual.events import Key

from dyeday.bench.host import BenchHost
from dyeday.bench.input.batch_typing import JOINS, BatchChoice, BatchTyping
from dyeday.bench.input.bench_keys import COMMAND_KEYS, DONE_BY, READ_ONLY, RECORDING, SMEAR_S, Do
from dyeday.bench.live_session import EventDraft, LiveSession
from dyeday.bench.plain_app import TypedAhead, put_questions
from dyeday.bench.view.batch_row import BatchRow
from dyeday.bench.view.bench_layout import LOWEST, NARROWEST, Layout, Scene, StatusAndKeys
from dyeday.bench.view.bench_view import BenchView, ViewCache, new_batches
from dyeday.bench.widgets.board import Board, Canvas
from dyeday.files.durable import StoreError
from dyeday.text import counted, harmless
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.event_keys import EventError
from dyeday.track.events.batch_changes import Counted, Overdyed, orders_short
from dyeday.track.timestamp import Moment, length_text, local

MOST_KEYS = 6


class BenchScreen(TypedAhead[None]):
    """The bench. ``chosen`` is the number of the batch that keys speak of."""

    BLANK = True
    """the board covers all of it"""

    def __init__(self, live: LiveSession, app: BenchHost) -> None:
        super().__init__()
        self.bench_app = app
        self.live = live
        self.chosen: str | None = None
        self.typing = BatchTyping()
        self.board = Board(id="board")
        self.view_cache = ViewCache()
        self.zones = Layout()
        self.shown: BenchView | None = None
        """the view painted last"""
        self.smear_s = SMEAR_S
        self.asked_about: frozenset[str] = frozenset()
        """batches and units of heats that a question takes for switched off: they raise no alarm meanwhile"""
        self.message = ("", False)
        """the message, and whether it is about something wrong"""
        self._put_as: tuple[object, ...] = ()

    def compose(self) -> ComposeResult:
        yield self.board

    def on_mount(self) -> None:
        self.say(self._hint())

    async def on_key(self, event: Key) -> None:
        """Act at once: as a binding, a key would act only after the next one was dispatched."""
        char = event.character or ""
        action, typed = DONE_BY.get(event.key), self._typed(char)
        if typed is None and action is None and not char.isdecimal():
            self._unknown(event)
            return
        event.stop()
        event.prevent_default()
        if typed is not None or action is None:
            self._take(typed) if typed is not None else self.type_digit(char)
            return
        if event.key in COMMAND_KEYS:
            # Long enough to see whether a glove is coming down on the key beside it as well.
            await asyncio.sleep(self.smear_s)
            if self.bench_app.is_smeared(event):
                return
        self.do(action)

    def _unknown(self, event: Key) -> None:
        """Say that an unknown key does nothing: silence would be mistaken for a recorded entry."""
        char = event.character or ""
        if len(char) == 1 and char.isupper():
            self.say(f"{char} does nothing; ? lists the keys. Caps Lock on?", wrong=True)
        elif char.isprintable() and char:
            self.say(f"{harmless(char)} does nothing; ? lists the keys", wrong=True)

    def _typed(self, char: str) -> BatchChoice | None:
        """Return what a key that types batches chose; None where it does not type any."""
        if char and char in JOINS:
            return self.typing.join(self.live.day, self.chosen, char)
        return self.typing.letter(self.live.day, char)

    def type_digit(self, digit: str) -> None:
        """Choose a batch by a digit, or begin to."""
        self._take(self.typing.digit(self.live.day, digit))

    def _take(self, typed: BatchChoice) -> None:
        if typed.batch is not None:
            self.chosen = typed.batch
        self.say(typed.words, wrong=typed.wrong)

    def on_resize(self) -> None:
        # Textual tells of a size at the start as well, twice.
        if self._shows() != self._put_as:
            self.paint()

    def on_screen_resume(self) -> None:
        if self.is_current and self._shows() != self._put_as:
            self.paint()

    def _hint(self) -> str:
        plan = self.live.day.plan.session
        today = local(self.live.now().utc, plan.zone).date()
        if self.live.read_only:
            return "open in another window: read-only"
        if self.live.day.closed is not None:
            return "this day is closed"
        if plan.date != today and not self.live.day.events:
            hours = ": the hours of its next day apply" if plan.date < today else ""
            return f"this plan is for {plan.date:%a %d %b %Y}, and today is {today:%a %d %b}{hours}"
        return "type a batch number, then Space for its next step"

    def paint(self) -> None:
        """Show the day as it is now; only changed lines are drawn again."""
        if not self.is_mounted:
            return
        now = self.live.now()
        flags = self.live.flags(now)
        outlook = self.bench_app.outlook
        awaited, but = outlook.is_awaited, self.asked_about
        self.shown = self.view_cache.view(self.live.day, now, flags, outlook.forecast, is_awaited=awaited, but=but)
        self._choose_one(self.shown)
        width, height = self.size
        if width < NARROWEST or height < LOWEST:
            self.message = (f"make this window {NARROWEST} x {LOWEST} or larger for the batches", False)
        elif self.zones.tiny:
            self.message = (self._hint(), False)
        self._put(now)

    def _notes(self, shown: BenchView) -> list[str]:
        """Return what the first line says behind the day's name, as long as it holds."""
        ago_min, app = self.live.minutes_ago, self.bench_app
        notes = (
            "CLOSED" if shown.closed else "",
            "read-only" if self.live.read_only else "",
            "plan changed: P" if app.plan_watch.is_changed else "",
            "phone page on" if app.phone_page.page is not None else "",
            self.muted_words() if app.sounds.muted is not None else "",
            f"next entry {length_text(ago_min)} ago" if ago_min else "",
        )
        return [note for note in notes if note]

    def muted_words(self) -> str:
        """Return until when nothing sounds, nothing where it does."""
        until = self.bench_app.sounds.muted_until(self.live.now())
        return f"muted until {self.live.time_text(until.utc)}" if until else ""

    @property
    def is_behind(self) -> bool:
        """Whether a forecast is on its way: the first, or one after an entry."""
        outlook = self.bench_app.outlook
        return outlook.is_awaited or (outlook.forecast is not None and outlook.forecast.day is not self.live.day)

    def nothing_words(self) -> str:
        """Return the message if nothing is next; how to end the day if all yarn only dries."""
        day = self.live.day
        drying = len(day.unfinished)
        if day.closed is not None:
            return "the day is closed: q leaves; dyeday carry NEW.toml plans what is left"
        if self.is_behind:
            return "working out what to do first"
        if self.live.read_only or not all(batch.only_dries for batch in day.unfinished):
            return "nothing to do now"
        hang = counted(drying, "batch hangs", "batches hang") + " to dry" if drying else "nothing to do"
        return f"{hang}; x closes the day"

    def _put(self, now: Moment) -> None:
        """Put the lines on the board, but not under a screen that covers it: Textual would draw all of that again."""
        if not self.is_mounted or self.shown is None:
            return
        if self.app.screen is not self and not self.app.screen.is_modal:
            return
        text, wrong = self.message
        row = next((row for row in self.shown.rows if row.no == self.chosen), None)
        app = self.bench_app
        status = StatusAndKeys(
            chosen=self.chosen,
            marked=self.typing.marked,
            chosen_words=f"{row.no}: {row.last or 'nothing yet'}" if row is not None else "",
            message=text,
            wrong=wrong,
            notes=self._notes(self.shown),
            keys=self._keys(self.shown, row),
            nothing=self.nothing_words(),
            unsaved=self.live.unsaved_words if self.live.trouble is not None else "",
            lit=self.lit,
            silences=not self.live.read_only and app.a_silences,
        )
        day, canvas = self.live.day, Canvas(*self.size, app.look, app.colours)
        scene = Scene(self.shown, status, day, now, app.outlook.forecast, self.live.flags(now), canvas)
        lines = self.zones.lines(scene)
        self._put_as = self._shows()
        self.board.show(lines, app.look.ink)

    def _shows(self) -> tuple[object, ...]:
        """Return what the lines are made from: if it is unchanged, so are they."""
        second, app = int(self.live.now().utc.timestamp()), self.bench_app
        return (
            *(self.live.day, second, self.message, self.chosen, self.typing.marked),
            *(self.size, app.look.name, app.a_silences, app.outlook.forecast),
        )

    def _keys(self, shown: BenchView, row: BatchRow | None) -> list[tuple[str, str]]:
        """Return the keys that make sense now, six at most, the most useful first; ``row`` is the chosen batch's."""
        keys: list[tuple[str, str]] = []
        if shown.alarms and not self.live.read_only:
            keys.append(("a", "silence"))
        if row is not None and not self.live.read_only:
            if row.next_step and not shown.closed:
                keys.append(("space", "go on"))
            # Where the first thing advised, beside what is urgent, is a chore: nothing else records it.
            if next((item.is_chore for item in shown.next_up if not item.is_urgent), False):
                keys.append(("C", "chore done"))
            if row.warms_up:
                keys.append(("h", "at heat"))
            keys.append(("r", "reading"))
        keys.append(("f", "flags"))
        keys += [] if self.live.read_only or self.live.last_step is None else [("z", "undo")]
        keys += [("p", "sheets"), ("y", "ahead")]
        return [*keys[: MOST_KEYS - 1], ("?", "keys")]

    def _choose_one(self, shown: BenchView) -> None:
        """Choose another batch if the chosen one was undone or split: its first part, else the next to work on."""
        numbers = [row.no for row in shown.rows]
        if self.chosen not in numbers:
            whole = self.live.day.batches.get(self.chosen or "")
            parts = whole.split_into if whole is not None else ()
            wanted = (*parts, *(about for item in shown.next_up for about in item.abouts), *numbers)
            self.chosen = next((no for no in wanted if no in numbers), None)

    def say(self, text: str, *, wrong: bool = False) -> None:
        """Show a sentence in the message lines; f shows all of a long one."""
        self.message = (text, wrong)
        self._put(self.live.now())

    def chosen_batch(self) -> BatchRecord | None:
        """Return the chosen batch; show a message if there is none."""
        return next(iter(self._among([self.chosen or ""])), None)

    def chosen_load(self) -> list[BatchRecord]:
        """Return the batches that move together: those marked, else the chosen one; show a message if none."""
        return self._among(self.typing.marked or [self.chosen or ""])

    def _among(self, numbers: Sequence[str]) -> list[BatchRecord]:
        batches, wrong = self.live.day.batches, self.typing.wrong
        if not (found := [batches[no] for no in numbers if no in batches and not wrong]):
            self.say(f"nothing done: {wrong}" if wrong else "choose a batch first: type its number", wrong=True)
        return found

    def put_questions(self, asking: Coroutine[Any, Any, object]) -> None:
        put_questions(self.app, asking, lambda: self.say("cancelled, nothing saved"))

    def record(
        self, *drafts: EventDraft, then: str = "", at: Moment | None = None, approximate: bool = False
    ) -> bool:
        """Record events and say so, with ``then`` behind it; return whether they count, even if only in memory.

        ``at`` and ``approximate`` as in `LiveSession.record`. A read-only bench records none.
        """
        if self.live.read_only:
            self.say(READ_ONLY, wrong=True)
            return False
        was_closed = self.live.day.closed is not None
        had = self.live.day.batches
        before = self.live.known_flags()
        try:
            stored = self.live.record(*drafts, at=at, approximate=approximate)
        except (EventError, StoreError, OSError) as error:
            why = error.strerror if isinstance(error, OSError) else error
            self.say(f"not recorded: {why}", wrong=True)
            return False
        words = ", ".join(event.text(self.live.day) for event in stored)
        if any(isinstance(event.body, Counted | Overdyed) for event in stored):
            words += orders_short(self.live.day, stored)
        closed = " (after the day was closed)" if was_closed else ""
        batch = stored[0].whose if stored else ""
        self.typing = BatchTyping()
        if fresh := new_batches(self.live.day, had):
            then += f": {fresh}"
            self.chosen = next(no for no in self.live.day.batches if no not in had)
        if flags := self.live.raised_since(before, stored[0].batches if stored else ()):
            self.message = (flags, True)
            self.app.bell()
        else:
            word = "in memory, NOT SAVED yet" if self.live.unsaved else "recorded"
            self.message = (f"{word}: {batch}{words}{then}{closed}", bool(self.live.unsaved))
        self.paint()
        return True

    def blinked(self) -> bool:
        if self.shown is not None:
            self._put(self.live.now())
        return True

    def silence(self) -> None:
        """Silence an alarm, from any screen; not in a read-only bench."""
        self.paint()
        if not self.live.read_only:
            self.do(Do.SILENCE)

    def choose(self, batch_no: str | None) -> None:
        self.chosen = batch_no
        self._put(self.live.now())

    def _choose_by(self, step: int) -> None:
        numbers = [row.no for row in self.shown.rows] if self.shown else []
        if numbers:
            place = numbers.index(self.chosen) if self.chosen in numbers else 0
            self.typing = BatchTyping()
            self.choose(numbers[max(0, min(len(numbers) - 1, place + step))])

    def do(self, action: Do) -> None:
        """Do what a key does."""
        if action is Do.UP or action is Do.DOWN:
            self._choose_by(-1 if action is Do.UP else 1)
        elif action is Do.UNMARK:
            self.typing = BatchTyping()
            self.say(self._hint())
        elif action is Do.SUSPEND:
            self.app.action_suspend_process()
        elif action in RECORDING and self.live.read_only:
            self.say(READ_ONLY, wrong=True)
        else:
            if (typed := self.typing.end(self.live.day)) is not None:  # a whole number, 9 for 09
                self._take(typed)
            asking = self.bench_app.act(action)
            if isinstance(asking, Coroutine):
                self.put_questions(asking)
