"""What each recording key does: ask what is needed, store the events, say what was stored."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from textual.screen import Screen

from dyeday.ahead.advising.next_step import shared_step
from dyeday.bench.actions.advice_actions import Wishes
from dyeday.bench.actions.alarm_actions import Alarming
from dyeday.bench.actions.close_actions import Ending
from dyeday.bench.actions.correct_actions import Edits
from dyeday.bench.actions.flag_actions import Doubting
from dyeday.bench.actions.kit_actions import Kitting
from dyeday.bench.actions.reading_actions import Reads
from dyeday.bench.forecast_worker import FAILED
from dyeday.bench.input.bench_keys import KEYS, WATCHING
from dyeday.bench.live_session import Draft, Keeper
from dyeday.bench.prompts.advance_prompt import GoOn
from dyeday.bench.prompts.offer_drafts import drafts_for
from dyeday.bench.prompts.offers import Taken, offer_for
from dyeday.bench.prompts.prompts import AskText, Choice, Choose
from dyeday.bench.screens.far_screen import FarScreen
from dyeday.bench.screens.forecast_screen import RestOfDay
from dyeday.bench.screens.help_screen import HelpScreen, cautions_text
from dyeday.bench.screens.log_screen import LogScreen
from dyeday.bench.screens.palette import Entry, Palette
from dyeday.bench.screens.text_screens import Reader
from dyeday.files.durable import StoreError
from dyeday.paper.local_time import clock_near, local
from dyeday.plan.limits import LONGEST_NOTE, no_longer_than
from dyeday.terms import STATES, Outcome, ReadingKind, State
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Event
from dyeday.track.entries.field_checks import EventError
from dyeday.track.events.event_text import batches_text, event_text, new_batches, state_word, whose
from dyeday.track.events.movements import Load, Moved
from dyeday.track.events.remarks import Noted
from dyeday.track.events.rewriting import Redone, Undone
from dyeday.track.timestamp import whole_min
from dyeday.track.typed_readings import minutes_ago

if TYPE_CHECKING:
    from dyeday.bench.actions.hours_actions import Hours
    from dyeday.bench.screens.main_screen import BenchScreen

T = TypeVar("T")


class Acts:
    """The actions of the main screen's keys; each is found by the name the key table gives it."""

    def __init__(self, screen: BenchScreen, keeper: Keeper) -> None:
        self.screen = screen
        self.keeper = keeper

    def record(self, *drafts: Draft, then: str = "", about: bool = False) -> bool:
        """Store events and say so; tell whether they are on record. A bench that only watches stores none."""
        if self.keeper.watching:
            self.screen.say(WATCHING, wrong=True)
            return False
        was_closed = self.keeper.day.closed is not None
        had = self.keeper.day.batches
        doubting = Doubting(self)
        before = doubting.known()
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
        self.screen.paint()
        fresh = new_batches(self.keeper.day, had)
        if fresh:
            then += f": {fresh}"
            self.screen.choose(next(no for no in self.keeper.day.batches if no not in had))
        raised = doubting.raised(before, stored[0].batches if stored else ())
        if raised:
            self.screen.say(raised, wrong=True)
            self.screen.app.bell()
        else:
            word = "in memory, NOT SAVED yet" if self.keeper.unsaved else "recorded"
            self.screen.say(f"{word}: {batch}{said}{then}{closed}", wrong=bool(self.keeper.unsaved))
        return True

    def batch(self) -> BatchRecord | None:
        """Return the chosen batch; say so where none is chosen."""
        found = self.keeper.day.batches.get(self.screen.chosen or "")
        if found is None:
            self.screen.say("no batch is chosen; type its number", wrong=True)
        return found

    def load(self) -> list[BatchRecord]:
        """Return the batches that move together: those marked, else the chosen one; say so where there are none."""
        batches = self.keeper.day.batches
        found = [batches[no] for no in self.screen.load if no in batches]
        if not found:
            self.screen.say("no batch is chosen; type its number", wrong=True)
        return found

    def ask(self, screen: Screen[T | None], done: Callable[[T], object]) -> None:
        """Put a question and call ``done`` with its answer, unless it was left."""

        def answered(answer: T | None) -> None:
            if answer is None:
                self.screen.say("cancelled, nothing saved")
            else:
                done(answer)

        self.screen.app.push_screen(screen, answered)

    def advised(self) -> None:
        """Offer what the first line of what is next says; nothing is recorded before the offer is taken."""
        item = next(iter(self.screen.next_items()), None)
        if item is None:
            self.screen.say("nothing for hands")
        elif item.is_chore:
            self.chore_done()
        else:
            numbers = item.about.split("+")
            batches = [self.keeper.day.batches[no] for no in numbers if no in self.keeper.day.batches]
            if batches:
                self.screen.choose(batches[0].no)
                self._go_on(batches)
            else:
                Kitting(self).done_with(numbers[0], return_takes=True)

    def go_on(self) -> None:
        batches = self.load()
        if batches:
            self._go_on(batches)

    def _go_on(self, batches: Sequence[BatchRecord]) -> None:
        """Offer the next step of a load: of one batch, or of several that move together."""
        then, day = self.keeper.entry_at(), self.keeper.day_at_entry([batch.no for batch in batches])
        batches = [day.batches[batch.no] for batch in batches]
        first = batches[0]
        try:
            step = shared_step(day, batches, then)
        except ValueError as error:
            self.screen.say(str(error), wrong=True)
            return
        if step is None:
            self.screen.say(f"{first.no} is {state_word(first)}: there is no next step; m moves it to another state")
            return
        offer = offer_for(day, batches, step, then)

        def taken(answer: Taken) -> None:
            look = Reads(self).meaning(first, ReadingKind.EYE, answer.look) if answer.look else ""
            self.record(*drafts_for(offer, answer), then=look)

        self.ask(GoOn(offer, self._earlier()), taken)

    def _earlier(self) -> str:
        """Return when the next entry happens, where that is not now."""
        ago_min, zone = self.keeper.minutes_ago, self.keeper.day.plan.session.zone
        if not ago_min:
            return ""
        at = clock_near(self.keeper.entry_at().utc, zone, self.keeper.now().utc)
        return f"at {at}, {whole_min(ago_min * 60)} min ago"

    def move(self) -> None:
        batches = self.load()
        if not batches:
            return
        first, numbers = batches[0], batches_text([batch.no for batch in batches])
        choices = [
            Choice(str(n), state.value, state_word(first, state))
            for n, state in enumerate(STATES)
            if state is not first.state or len(batches) > 1
        ]

        def to(word: str) -> None:
            state = State(word)
            if state is State.SCRAPPED:
                self.ask(AskText(f"{numbers} scrapped: why?"), lambda why: self._moved(batches, state, why=why))
            elif state is State.DONE:
                kinds = [Choice(outcome.value[0], outcome.value, outcome.value) for outcome in Outcome]
                ask = Choose(f"{numbers} done, sold as", kinds, return_takes=True)
                self.ask(ask, lambda outcome: self._moved(batches, state, outcome=Outcome(outcome)))
            else:
                self._moved(batches, state)

        label = f"{numbers} {first.colourway.name}, now {state_word(first)}: move it to"
        self.ask(Choose(label, choices), to)

    def _moved(
        self, batches: Sequence[BatchRecord], to: State, why: str | None = None, outcome: Outcome | None = None
    ) -> None:
        if len(batches) == 1:
            self.record(Draft(Moved(to=to, why=why, outcome=outcome), batches[0].no))
        else:
            self.record(Draft(Load(batches=tuple(batch.no for batch in batches), to=to, why=why, outcome=outcome)))

    def heat(self) -> None:
        Kitting(self).heat()

    def acid(self) -> None:
        Kitting(self).acid()

    def unit(self) -> None:
        Kitting(self).unit()

    def cover(self) -> None:
        Kitting(self).cover()

    def kit(self) -> None:
        Kitting(self).kit()

    def note(self) -> None:
        batch = self.batch()
        if batch is None:
            return

        ask = AskText(f"Note on {batch.no}", understand=no_longer_than(LONGEST_NOTE), drafts=self.keeper.drafts)
        self.ask(ask, lambda text: self.record(Draft(Noted(note=text), batch.no)))

    def back_date(self) -> None:
        def minutes(text: str) -> float:
            now = self.keeper.now()
            return minutes_ago(text, now, self.keeper.day.plan.session.zone, self.keeper.day.began(now))

        def keep(text: str) -> None:
            self.keeper.minutes_ago = minutes(text)
            self.screen.paint()
            self.screen.say(f"the next entry counts as {whole_min(self.keeper.minutes_ago * 60)} min ago")

        label = "Next entry: how many minutes ago, or at what time"
        zone = self.keeper.day.plan.session.zone

        def said(text: str) -> str:
            ago = minutes(text)
            return f"{whole_min(ago * 60)} min ago, {local(self.keeper.now().earlier(ago * 60).utc, zone):%A %H:%M}"

        self.ask(AskText(label, understand=said), keep)

    def catch_up(self) -> None:
        from dyeday.bench.actions.catch_up_actions import CatchingUp

        CatchingUp(self).catch_up()

    def leaving(self) -> None:
        self._hours().leaving()

    def hours(self) -> None:
        self._hours().change()

    def _hours(self) -> Hours:
        from dyeday.bench.actions.hours_actions import Hours

        return Hours(self)

    def reading(self) -> None:
        batch = self.batch()
        if batch is not None:
            Reads(self).reading(batch)

    def undo(self) -> None:
        events = self.keeper.last_entry()
        if not events:
            self.screen.say("nothing to undo")
            return
        ask = Choose(f"Undo: {self._words(events)}", [Choice("z", "yes", "undo it")], return_takes=True)
        self.ask(ask, lambda _yes: self.record(*(Draft(Undone(strikes=event.id)) for event in events)))

    def redo(self) -> None:
        events = self.keeper.last_undone()
        if not events:
            self.screen.say("nothing was undone")
            return
        ask = Choose(f"Redo: {self._words(events)}", [Choice("y", "yes", "redo it")], return_takes=True)
        self.ask(ask, lambda _yes: self.record(*(Draft(Redone(strikes=event.id)) for event in events)))

    def _words(self, events: Sequence[Event]) -> str:
        return whose(events[0]) + ", ".join(event_text(event, self.keeper.day) for event in events)

    def acknowledge(self) -> None:
        Alarming(self).acknowledge()

    def shelve(self) -> None:
        Alarming(self).shelve()

    def palette(self) -> None:
        """Offer every action by its plain name."""
        entries = [Entry(k.action, k.word, k.shown_as or k.key, k.sentence) for k in KEYS if k.in_palette]
        self.ask(Palette(entries), lambda action: getattr(self.screen, f"action_{action}")())

    def flags(self) -> None:
        Doubting(self).of_batch()

    def all_flags(self) -> None:
        Doubting(self).of_day()

    def ahead(self) -> None:
        app = self.screen.bench_app
        if app.found is None:
            if app.outlook.has_failed:
                self.screen.say(FAILED, wrong=True)
            else:
                self.screen.say("the forecast is not ready yet; try again in a moment")
            return
        self.screen.app.push_screen(RestOfDay(self.keeper, lambda: app.found, self.record, app.outlook.gains))

    def chore_done(self) -> None:
        Wishes(self).chore_done()

    def not_now(self) -> None:
        Wishes(self).not_now()

    def instead(self) -> None:
        Wishes(self).instead()

    def far(self) -> None:
        self.screen.app.push_screen(
            FarScreen(self.keeper, self.screen.next_items, self.screen.silence, self.screen.muted_words)
        )

    def watch(self) -> None:
        from dyeday.bench.actions.watch_actions import Watching

        Watching(self).watch()

    def lock_keys(self) -> None:
        self.screen.bench_app.lock()

    def other_look(self) -> None:
        self.screen.bench_app.other_look()

    def sound(self) -> None:
        Alarming(self).sound()

    def edit(self) -> None:
        batch = self.batch()
        if batch is not None:
            Edits(self).edit(batch)

    def order(self) -> None:
        Edits(self).order()

    def plan_orders(self) -> None:
        """The orders of the plan file this day was begun from."""
        from dyeday.bench.screens.plan_desk import desk_of
        from dyeday.bench.screens.plan_orders import PlanScreen
        from dyeday.plan.orders.order_editor import DraftError

        file = self.keeper.file
        try:
            desk = desk_of(Path(file.about.source), file.path.parent.parent, self.keeper.now, self.keeper)
        except DraftError as error:
            self.screen.say(f"{error}; o takes a rush order", wrong=True)
            return
        self.screen.app.push_screen(PlanScreen(desk, self.screen.bench_app.outlook.foresee, self.screen.paint))

    def log(self) -> None:
        edits = Edits(self)
        self.screen.app.push_screen(LogScreen(self.keeper, edits.void, edits.correct))

    def page(self) -> None:
        # Every kind of sheet is loaded with it: none of them may make the first key of the day wait.
        from dyeday.bench.screens.sheets_screen import choose_sheet

        choose_sheet(self.screen, self.keeper, self.screen.chosen)

    def cautions(self) -> None:
        self.screen.app.push_screen(Reader("Cautions", cautions_text()))

    def help(self) -> None:
        self.screen.app.push_screen(HelpScreen())

    def close_day(self) -> None:
        Ending(self).close_day()

    def leave(self) -> None:
        Ending(self).leave()
