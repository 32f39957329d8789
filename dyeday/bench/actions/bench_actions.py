"""What each recording key does: ask what is needed, store the events, say what was stored."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from dyeday.ahead.advising.next_step import in_unit, shared_step
from dyeday.bench.actions.advice_actions import AdviceActions
from dyeday.bench.actions.alarm_actions import AlarmActions
from dyeday.bench.actions.catch_up import CatchUpActions
from dyeday.bench.actions.close_actions import CloseActions
from dyeday.bench.actions.correct_actions import CorrectActions
from dyeday.bench.actions.flag_actions import FlagPages
from dyeday.bench.actions.hours_actions import HoursActions
from dyeday.bench.actions.kit_actions import KitActions
from dyeday.bench.actions.reading_actions import ReadingActions
from dyeday.bench.actions.recorder import Actions, Recorder, of_chosen
from dyeday.bench.actions.watch_actions import WatchActions
from dyeday.bench.forecast_worker import FAILED
from dyeday.bench.input.bench_keys import KEYS, Do
from dyeday.bench.live_session import EventDraft
from dyeday.bench.prompts.offer_drafts import drafts_for
from dyeday.bench.prompts.offer_prompt import OfferPrompt
from dyeday.bench.prompts.offers import OfferTaken, offer_for
from dyeday.bench.prompts.prompts import AskText, Choose, KeyChoice
from dyeday.bench.screens.far_screen import FarScreen
from dyeday.bench.screens.forecast_screen import ForecastScreen
from dyeday.bench.screens.help_screen import HelpScreen, cautions_text
from dyeday.bench.screens.log_screen import LogScreen
from dyeday.bench.screens.palette import Entry, Palette
from dyeday.bench.screens.text_screens import Reader
from dyeday.paper.local_time import clock_near, local
from dyeday.terms import STATES, Outcome, ReadingKind, State
from dyeday.text import LONGEST_NOTE, no_longer_than
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Event
from dyeday.track.events.event_text import batches_text, event_text, state_word, whose
from dyeday.track.events.movements import Load, Moved
from dyeday.track.events.remarks import Noted
from dyeday.track.events.rewriting import Redone, Undone
from dyeday.track.timestamp import length_text
from dyeday.track.typed_entries import minutes_ago

if TYPE_CHECKING:
    from dyeday.bench.actions.plan_actions import PlanActions


class BenchActions(Actions):
    """What keys ask and record, where it has no module of its own."""

    def advised(self) -> None:
        """Offer what the first line of what is next says; nothing is recorded before the offer is taken."""
        item = next(iter(self.screen.next_items()), None)
        if item is None:
            self.screen.say("nothing to do now")
        elif item.is_chore:
            AdviceActions(self.acts).chore_done()
        else:
            numbers = item.abouts
            batches = [self.keeper.day.batches[no] for no in numbers if no in self.keeper.day.batches]
            if batches:
                self.screen.choose(batches[0].no)
                self._go_on(batches, item.unit)
            else:
                KitActions(self.acts).done_with(numbers[0], return_takes=True)

    def go_on(self) -> None:
        """Offer the next step of the load, or of the chosen batch."""
        batches = self.acts.load()
        if batches:
            self._go_on(batches)

    def _go_on(self, batches: Sequence[BatchRecord], unit: str | None = None) -> None:
        """Offer the next step of a load, of one batch or of several that move together, in the advised ``unit``."""
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
        offer = offer_for(day, batches, in_unit(day, batches, step, unit, then), then)

        def taken(answer: OfferTaken) -> None:
            look = ReadingActions(self.acts).meaning(first, ReadingKind.EYE, answer.look) if answer.look else ""
            self.acts.record(*drafts_for(offer, answer), then=look)

        self.acts.ask(OfferPrompt(offer, self._earlier()), taken)

    def _earlier(self) -> str:
        """Return when the next entry happens, where that is not now."""
        ago_min, zone = self.keeper.minutes_ago, self.keeper.day.plan.session.zone
        if not ago_min:
            return ""
        at = clock_near(self.keeper.entry_at().utc, zone, self.keeper.now().utc)
        return f"at {at}, {length_text(ago_min)} ago"

    def move(self) -> None:
        """Ask into which state the load moves."""
        batches = self.acts.load()
        if not batches:
            return
        first, numbers = batches[0], batches_text([batch.no for batch in batches])
        choices = [
            KeyChoice(str(n), state.value, state_word(first, state))
            for n, state in enumerate(STATES)
            if state is not first.state or len(batches) > 1
        ]

        def to(word: str) -> None:
            state = State(word)
            if state is State.SCRAPPED:
                self.acts.ask(AskText(f"{numbers} scrapped: why?"), lambda why: self._moved(batches, state, why=why))
            elif state is State.DONE:
                kinds = [KeyChoice(outcome.value[0], outcome.value, outcome.value) for outcome in Outcome]
                ask = Choose(f"{numbers} done, sold as", kinds, return_takes=True)
                self.acts.ask(ask, lambda outcome: self._moved(batches, state, outcome=Outcome(outcome)))
            else:
                self._moved(batches, state)

        label = f"{numbers} {first.colourway.name}, now {state_word(first)}: move it to"
        self.acts.ask(Choose(label, choices), to)

    def _moved(
        self, batches: Sequence[BatchRecord], to: State, why: str | None = None, outcome: Outcome | None = None
    ) -> None:
        if len(batches) == 1:
            done = self.acts.record(EventDraft(Moved(to=to, why=why, outcome=outcome), batches[0].no))
            if done and to is State.SCRAPPED:
                CorrectActions(self.acts).dye_again(batches[0], batches[0].skeins)
        else:
            self.acts.record(
                EventDraft(Load(batches=tuple(batch.no for batch in batches), to=to, why=why, outcome=outcome))
            )

    @of_chosen
    def note(self, batch: BatchRecord) -> None:
        """Ask for a note on the chosen batch."""
        ask = AskText(f"Note on {batch.no}", understand=no_longer_than(LONGEST_NOTE), drafts=self.keeper.drafts)
        self.acts.ask(ask, lambda text: self.acts.record(EventDraft(Noted(note=text), batch.no)))

    def back_date(self) -> None:
        """Ask when the next entry happens."""

        def minutes(text: str) -> float:
            now = self.keeper.now()
            return minutes_ago(text, now, self.keeper.day.plan.session.zone, self.keeper.day.start_or(now))

        def keep(text: str) -> None:
            self.keeper.minutes_ago = minutes(text)
            self.screen.paint()
            self.screen.say(f"the next entry counts as {length_text(self.keeper.minutes_ago)} ago")

        label = "Next entry: how many minutes ago, or at what time"
        zone = self.keeper.day.plan.session.zone

        def said(text: str) -> str:
            ago = minutes(text)
            return f"{length_text(ago)} ago, {local(self.keeper.now().earlier(ago * 60).utc, zone):%A %H:%M}"

        self.acts.ask(AskText(label, understand=said), keep)

    def undo(self) -> None:
        """Undo the last entry, once that was confirmed."""
        events = self.keeper.last_entry()
        if not events:
            self.screen.say("nothing to undo")
            return
        ask = Choose(f"Undo: {self._words(events)}", [KeyChoice("z", "yes", "undo it")], return_takes=True)
        self.acts.ask(
            ask, lambda _yes: self.acts.record(*(EventDraft(Undone(target_id=event.id)) for event in events))
        )

    def redo(self) -> None:
        """Redo what was undone last, once that was confirmed."""
        events = self.keeper.last_undone()
        if not events:
            self.screen.say("nothing to redo")
            return
        ask = Choose(f"Redo: {self._words(events)}", [KeyChoice("y", "yes", "redo it")], return_takes=True)
        self.acts.ask(
            ask, lambda _yes: self.acts.record(*(EventDraft(Redone(target_id=event.id)) for event in events))
        )

    def _words(self, events: Sequence[Event]) -> str:
        return whose(events[0]) + ", ".join(event_text(event, self.keeper.day) for event in events)

    def palette(self) -> None:
        """Offer every action by its plain name."""
        entries = [Entry(k.action, k.word, k.shown_as or k.key, k.sentence) for k in KEYS if k.in_palette]
        self.acts.ask(Palette(entries), self.screen.do)

    def ahead(self) -> None:
        """Show the rest of the day, or say why there is no forecast."""
        app = self.screen.bench_app
        if app.outlook.forecast is None:
            if app.outlook.has_failed:
                self.screen.say(FAILED, wrong=True)
            else:
                self.screen.say("the forecast is not ready yet; try again in a moment")
            return
        self.screen.app.push_screen(
            ForecastScreen(self.keeper, lambda: app.outlook.forecast, self.acts.record, app.outlook.gains)
        )

    def far(self) -> None:
        """Show the far view."""
        self.screen.app.push_screen(
            FarScreen(
                self.keeper,
                self.screen.next_items,
                self.screen.silence,
                self.screen.muted_words,
                self.screen.finish_words,
            )
        )

    def log(self) -> None:
        """Show every entry, to void or correct."""
        edits = CorrectActions(self.acts)
        self.screen.app.push_screen(LogScreen(self.keeper, edits.void, edits.correct))

    def page(self) -> None:
        """Ask which sheet is shown."""
        # Every kind of sheet is loaded with it: none of them may make the first key of the day wait.
        from dyeday.bench.screens.sheets_screen import choose_sheet

        choose_sheet(self.screen, self.keeper, self.screen.chosen)


def _plan(acts: Recorder) -> PlanActions:
    from dyeday.bench.actions.plan_actions import PlanActions

    return PlanActions(acts)


ACTIONS: dict[Do, Callable[[Recorder], object]] = {
    Do.ADVISED: lambda acts: BenchActions(acts).advised(),
    Do.GO_ON: lambda acts: BenchActions(acts).go_on(),
    Do.READING: lambda acts: ReadingActions(acts).reading(),
    Do.MOVE: lambda acts: BenchActions(acts).move(),
    Do.HEAT: lambda acts: KitActions(acts).heat(),
    Do.ACID: lambda acts: KitActions(acts).acid(),
    Do.UNIT: lambda acts: KitActions(acts).unit(),
    Do.COVER: lambda acts: KitActions(acts).cover(),
    Do.KIT: lambda acts: KitActions(acts).kit(),
    Do.EDIT: lambda acts: CorrectActions(acts).edit(),
    Do.ORDER: lambda acts: CorrectActions(acts).order(),
    Do.TAKE_PLAN: lambda acts: _plan(acts).take_file(),
    Do.PLAN_ORDERS: lambda acts: _plan(acts).orders(),
    Do.NOTE: lambda acts: BenchActions(acts).note(),
    Do.BACK_DATE: lambda acts: BenchActions(acts).back_date(),
    Do.CATCH_UP: lambda acts: CatchUpActions(acts).catch_up(),
    Do.LEAVING: lambda acts: HoursActions(acts).leaving(),
    Do.HOURS: lambda acts: HoursActions(acts).change(),
    Do.LOG: lambda acts: BenchActions(acts).log(),
    Do.UNDO: lambda acts: BenchActions(acts).undo(),
    Do.REDO: lambda acts: BenchActions(acts).redo(),
    Do.SILENCE: lambda acts: AlarmActions(acts).silence(),
    Do.SNOOZE: lambda acts: AlarmActions(acts).snooze(),
    Do.FLAGS: lambda acts: FlagPages(acts).of_batch(),
    Do.ALL_FLAGS: lambda acts: FlagPages(acts).of_day(),
    Do.AHEAD: lambda acts: BenchActions(acts).ahead(),
    Do.CHORE_DONE: lambda acts: AdviceActions(acts).chore_done(),
    Do.NOT_NOW: lambda acts: AdviceActions(acts).not_now(),
    Do.INSTEAD: lambda acts: AdviceActions(acts).instead(),
    Do.FAR: lambda acts: BenchActions(acts).far(),
    Do.WATCH: lambda acts: WatchActions(acts).watch(),
    Do.LOCK_KEYS: lambda acts: acts.screen.bench_app.lock(),
    Do.OTHER_LOOK: lambda acts: acts.screen.bench_app.other_look(),
    Do.SOUND: lambda acts: AlarmActions(acts).sound(),
    Do.PAGE: lambda acts: BenchActions(acts).page(),
    Do.CAUTIONS: lambda acts: acts.screen.app.push_screen(Reader("Cautions", cautions_text())),
    Do.CLOSE_DAY: lambda acts: CloseActions(acts).close_day(),
    Do.PALETTE: lambda acts: BenchActions(acts).palette(),
    Do.HELP: lambda acts: acts.screen.app.push_screen(HelpScreen()),
    Do.LEAVE: lambda acts: CloseActions(acts).leave(),
}
"""what each key does, but those that choose a batch or leave the bench in the background"""
