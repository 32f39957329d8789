"""The Textual app of the bench: one tick for everything, one blink while an alarm is not silenced."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from textual import events

from dyeday.bench.forecast_worker import ForecastWorker, WhatIf
from dyeday.bench.input.batch_typing import BatchTyping
from dyeday.bench.input.bench_keys import Do
from dyeday.bench.input.idle_gate import IdleGate
from dyeday.bench.key_door import ASLEEP_S, KeyDoor
from dyeday.bench.live_session import EventDraft, LiveSession, PlanWatch
from dyeday.bench.looks.sounds import Sounds
from dyeday.bench.looks.themes import look_of
from dyeday.bench.plain_app import TypedAhead
from dyeday.bench.view.bench_view import new_batches
from dyeday.bench.watch_link import OpenPage, PhonePage
from dyeday.files.places import SoundPrograms
from dyeday.track.events.session_events import ClockStepped, clock_set_text
from dyeday.track.timestamp import STEP_S, Moment, elapsed_s, length_text

if TYPE_CHECKING:
    from dyeday.ahead.foreseen_steps import Foresee

TICK_S, BLINK_S = 1.0, 0.25
"""A mark on for 0.25 s and off for 0.25 s blinks at 2 Hz (NUREG-0700: 2 to 3 a second where there is one rate)."""
PAUSE_S = 2.0
"""after so many seconds without a key, slow work is done"""
SILENT = SoundPrograms()
"""the terminal's bell alone"""
LEISURE_S = 0.3
"""delay after the first frame, before what the keys will need is loaded"""


class BenchApp(KeyDoor, inherit_bindings=False):
    """The bench on one session. ``ring`` sounds once, ``key_time`` tells when a key came; tests give their own."""

    def __init__(
        self,
        live: LiveSession,
        ring: Callable[[], None] | None = None,
        key_time: Callable[[events.Event], float] = lambda event: event.time,
        foresee: Foresee | None = None,
        ascii_only: bool = False,
        after_start: Callable[[], None] = lambda: None,
        quiet: IdleGate | None = None,
        what_if: WhatIf | None = None,
        is_demo: bool = False,
        sounds: SoundPrograms = SILENT,
        open_page: OpenPage | None = None,
    ) -> None:
        super().__init__(live, key_time, quiet or IdleGate(), ascii_only=ascii_only)
        self.sounds = Sounds(ring or self.bell, sounds, live.day, self.last_key, self.set_timer)
        self.after_start = after_start
        self.is_demo = is_demo
        self.outlook = ForecastWorker(self, live, self.bench, foresee, what_if)
        self.phone_page = PhonePage(open_page)
        self.plan_watch = PlanWatch(live)
        self.blinking = False
        self.lit = True

    def on_mount(self) -> None:
        self.set_interval(TICK_S, self.tick)
        self.blinker = self.set_interval(BLINK_S, lambda: self._blink(not self.lit), pause=True)
        self.set_timer(LEISURE_S, self.at_leisure)
        self.app_resume_signal.subscribe(self, lambda _app: self.tick())

    def at_leisure(self) -> None:
        """After the first frame: load and work out what keys will need, and do what start-up left for later."""
        import dyeday.bench.actions.bench_actions  # noqa: F401
        from dyeday.track.flags.room_and_stock import shortages

        list(shortages(self.live.day))
        self.after_start()

    def act(self, action: Do) -> object:
        from dyeday.bench.actions.bench_actions import ACTIONS

        return ACTIONS[action](self.bench)

    def tick(self) -> None:
        """Read what other shells wrote, sound what is due, and paint. Never raises on user-caused errors."""
        now = self.live.now()
        self._mind_the_clock(now)
        before = self.live.day.batches
        self.live.refresh()
        if before is not self.live.day.batches and (fresh := new_batches(self.live.day, before)):
            self.bench.say(f"an order came in: {fresh}")  # by another shell; it may stand below the fold
        if self.live.notice:
            self.bench.say(self.live.notice)
            self.live.notice = ""
        if self.live.take_over():
            self.bench.say("the other window was closed: this one records now")
        if elapsed_s(self.last_key, now) > PAUSE_S:
            self.live.file.storage.copy_if_due()
            if not self.live.read_only and self.live.day.closed is None and (change := self.plan_watch.check()):
                self.bench.say(change)
        self.outlook.update(now)
        self.sounds.listen(self.live.day, now, self.bench.asked_about)
        if self.sounds.failed:
            self.bench.say(self.sounds.failed, wrong=True)
            self.sounds.failed = ""
        self.bench.paint()
        if failed := self.phone_page.tick(self.live, now, self.bench.view_cache.items, self.outlook.forecast):
            self.bench.say(failed, wrong=True)
        self._blink_if_wanted()
        for screen in self.screen_stack:
            if isinstance(screen, TypedAhead):
                screen.ticked()

    def _mind_the_clock(self, now: Moment) -> None:
        """Record that the wall clock was set; after a sleep, show what came due in it."""
        before, self.last_tick = self.last_tick, now
        passed = elapsed_s(before, now)
        stepped = (now.utc - before.utc).total_seconds() - passed
        same_boot = before.boot_id is not None and before.boot_id == now.boot_id
        if same_boot and abs(stepped) > STEP_S and not self.live.read_only:
            self.bench.record(EventDraft(ClockStepped(seconds=round(stepped, 1))))
            self.bench.say(f"{clock_set_text(stepped)}; timers are not affected")
        if passed > ASLEEP_S:
            self.last_key = now
            self._leave_question()
            from dyeday.bench.screens.far_screen import FarScreen

            if isinstance(self.screen, FarScreen):
                self.screen.note = f"asleep {length_text(passed / 60)}"
                return
            self.tell_since(before, f"Asleep for {length_text(passed / 60)}")

    def _leave_question(self) -> None:
        """Close a question that a key answers: the first line may be about another batch by now."""
        from dyeday.bench.prompts.prompts import Question, TypedQuestion

        self.bench.typing = BatchTyping()
        if isinstance(self.screen, Question) and not isinstance(self.screen, TypedQuestion):
            self.screen.dismiss(None)
            words = "the question was closed during the sleep, nothing recorded: ask again"
            self.call_later(self.bench.call_later, self.bench.say, words)  # after what every question left says

    def _blink_if_wanted(self) -> None:
        wanted = bool(self.bench.shown and self.bench.shown.lasting_alarms)
        if wanted == self.blinking:
            return
        self.blinking = wanted
        if wanted:
            self.blinker.resume()
        else:
            self.blinker.pause()
            self._blink(True)

    def _blink(self, lit: bool) -> None:
        """Show or hide the one mark that blinks, on the screen that is seen."""
        if lit == self.lit:
            return
        self.lit = lit
        if not (isinstance(self.screen, TypedAhead) and self.screen.blinked()):
            self.bench.blinked()

    def tell_since(self, since: Moment, heading: str) -> bool:
        """Show what happened since a moment, if anything did; return whether it is shown."""
        from dyeday.bench.prompts.proposals import last_entry_at, proposals
        from dyeday.bench.screens.text_screens import Meanwhile, meanwhile_lines

        page, day, now = self.screen, self.live.day, self.live.now()
        if not meanwhile_lines(day, since.utc, now, self.live.own):
            return False
        if isinstance(page, Meanwhile) and page.since is not None:
            heading = f"{page.since_heading}, then {heading[0].lower()}{heading[1:]}"
            since = page.since
        last = last_entry_at(day)
        may_catch_up = last is not None and not self.live.read_only and proposals(day, last, now)
        hint = ["  B lists what you probably did: Enter records it"] if may_catch_up else []

        def lines() -> list[str]:
            return [*meanwhile_lines(self.live.day, since.utc, self.live.now(), self.live.own), *hint]

        return self._tell(heading, lines, since)

    def tell_meanwhile(self, heading: str, lines: Sequence[str]) -> bool:
        """Show ``lines``, if any, on a page the next key closes; return whether it is shown."""
        return bool(lines) and self._tell(heading, lambda: lines)

    def _tell(self, heading: str, lines: Callable[[], Sequence[str]], since: Moment | None = None) -> bool:
        """Not while the keys are locked: no key would reach the page, and unlocking shows all of it."""
        if self.key_watch.locked:
            return False
        from dyeday.bench.screens.text_screens import Meanwhile

        if isinstance(self.screen, Meanwhile):
            self.screen.tell(heading, lines, since)
        else:
            page = Meanwhile()
            page.tell(heading, lines, since)
            self.push_screen(page, lambda _answer: self._closed_by(page.closed_by))
        return True

    def _closed_by(self, key: str) -> None:
        """Go on after the page of what happened: type a digit; of any other key say that it did nothing else."""
        if key.isdecimal() and len(self.screen_stack) <= 2:
            self.bench.type_digit(key)
        else:
            self.bench.say("that key only closed the page: press it again")

    def other_look(self) -> None:
        """Change between the dark and the bright look; without colour there is one only."""
        self.show_look(look_of(self.colours, self.look))
        self.bench.paint()
