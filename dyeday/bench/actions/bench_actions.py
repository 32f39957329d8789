"""`ACTIONS`, the table of what each key does, and the actions that have no module of their own."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from dyeday.bench.actions import Actions, of_chosen
from dyeday.bench.actions.advice_actions import AdviceActions
from dyeday.bench.actions.alarms_and_flags import AlarmActions
from dyeday.bench.actions.catch_up import catch_up
from dyeday.bench.actions.close_actions import CloseActions
from dyeday.bench.actions.correct_actions import CorrectActions
from dyeday.bench.actions.effect_actions import EffectActions
from dyeday.bench.actions.hours_actions import HoursActions
from dyeday.bench.actions.kit_actions import KitActions
from dyeday.bench.actions.reading_actions import ReadingActions
from dyeday.bench.actions.watch_actions import WatchActions
from dyeday.bench.input.bench_keys import KEYS, Do
from dyeday.bench.live_session import EventDraft
from dyeday.bench.main_screen import BenchScreen
from dyeday.bench.plain_app import ask
from dyeday.bench.prompts.offering import offer_step
from dyeday.bench.prompts.prompts import AskText, Choose, KeyChoice, ask_value
from dyeday.bench.screens.far_screen import FarScreen
from dyeday.bench.screens.forecast_screen import ForecastScreen
from dyeday.bench.screens.help_screen import HelpScreen, cautions_text
from dyeday.bench.screens.log_screen import LogScreen
from dyeday.bench.screens.palette import Palette
from dyeday.bench.screens.text_screens import Reader
from dyeday.terms import STATES, Outcome, State
from dyeday.text import LONGEST_NOTE, batches_text, no_longer_than
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Event
from dyeday.track.day.progress import state_word, whereabouts
from dyeday.track.events.movements import Load, Moved
from dyeday.track.events.remarks import Noted
from dyeday.track.events.rewriting import Redone, Undone
from dyeday.track.timestamp import SECOND_IN_MIN, Moment, length_text, local, minutes

if TYPE_CHECKING:
    from dyeday.bench.actions.plan_actions import PlanActions


class BenchActions(Actions):
    """Keys whose action has no module of its own."""

    async def advised(self) -> None:
        """Offer the step on the first line; nothing is recorded until the offer is accepted."""
        if (item := next(iter(self.screen.view_cache.items), None)) is None:
            self.screen.say(self.screen.nothing_words())
        elif not item.about and not item.is_chore:
            self.screen.say(f"{item.do}; {item.why}")
        elif item.is_chore:
            await AdviceActions(self.screen).chore_done()
        elif batches := [self.live.day.batches[no] for no in item.abouts if no in self.live.day.batches]:
            self.screen.choose(batches[0].no)
            if item.reads is not None:
                await ReadingActions(self.screen).read(batches[0], item.reads)
            else:
                await offer_step(self.screen, batches, item.unit)
        else:
            await KitActions(self.screen).what_happened(item.abouts[0])

    async def move(self) -> None:
        """Ask into which state the load moves."""
        if not (batches := self.screen.chosen_load()):
            return
        first, numbers = self.live.at_entry(batches[0])[1], batches_text([batch.no for batch in batches])
        others = ((n, s) for n, s in enumerate(STATES) if s is not first.state or len(batches) > 1)
        choices = [KeyChoice(str(n), state, state_word(first, state)) for n, state in others]
        label = f"{numbers} {first.colourway.name}, {whereabouts(first)}: move it to"
        to = await ask(Choose(label, choices))
        why = outcome = None
        if to is State.SCRAPPED:
            why = await ask(AskText(f"{numbers} scrapped: why?"))
        elif to is State.DONE:
            kinds = [KeyChoice(kind.value[0], kind, kind.value) for kind in Outcome]
            outcome = await ask(Choose(f"{numbers} done, sold as", kinds, enter_accepts=True))
        if len(batches) > 1:
            load = Load(batches=tuple(batch.no for batch in batches), to=to, why=why, outcome=outcome)
            self.screen.record(EventDraft(load))
        elif self.screen.record(EventDraft(Moved(to=to, why=why, outcome=outcome), first.no)) and why is not None:
            await CorrectActions(self.screen).dye_again(first, first.skeins)

    @of_chosen
    async def note(self, batch: BatchRecord) -> None:
        """Ask for a note on the chosen batch."""
        understand, half_typed = no_longer_than(LONGEST_NOTE), self.live.half_typed
        note = await ask(AskText(f"Note on {batch.no}", understand=understand, half_typed=half_typed))
        self.screen.record(EventDraft(Noted(note=note), batch.no))

    async def back_date(self) -> None:
        """Ask when the next entry happened."""
        zone = self.live.day.plan.session.zone

        def words(then: Moment) -> str:
            return f"{length_text(minutes(then, self.live.now()))} ago, {local(then.utc, zone):%A %H:%M}"

        label = "Next entry: how many minutes ago, or at what time"
        then = await ask_value(label, self.live.typed_moment, words)
        self.live.earlier = then if minutes(then, self.live.now()) >= SECOND_IN_MIN else None
        self.screen.paint()
        self.screen.say(f"the next entry counts as {length_text(self.live.minutes_ago)} ago")

    async def undo(self) -> None:
        """Undo the last entry, once that was confirmed."""
        await self._rewrite("undo", "z", self.live.last_entry(), Undone)

    async def redo(self) -> None:
        """Redo what was undone last, once that was confirmed."""
        await self._rewrite("redo", "y", self.live.last_undone(), Redone)

    async def _rewrite(
        self, verb: str, key: str, events: Sequence[Event], rewriting: type[Undone] | type[Redone]
    ) -> None:
        if not events:
            self.screen.say(f"nothing to {verb}")
            return
        words = events[0].whose + ", ".join(event.text(self.live.day) for event in events)
        choices = [KeyChoice(key, "yes", f"{verb} it")]
        await ask(Choose(f"{verb.capitalize()}: {words}", choices, enter_accepts=True))
        self.screen.record(*(EventDraft(rewriting(target_id=event.id)) for event in events))

    async def palette(self) -> None:
        """Offer every action by its plain name."""
        self.screen.do(await ask(Palette([key for key in KEYS if key.in_palette])))

    def ahead(self) -> None:
        """Show the rest of the day, or say why there is no forecast."""
        outlook = self.screen.bench_app.outlook
        if outlook.forecast is None:
            self.screen.say(outlook.none_words, wrong=outlook.has_failed)
            return
        confirm = EffectActions(self.screen).confirm_with_effect
        self.screen.app.push_screen(ForecastScreen(self.live, outlook, confirm))

    def far(self) -> None:
        """Show the far view."""
        self.screen.app.push_screen(FarScreen(self.screen))

    def log(self) -> None:
        """Show every entry, to void or correct."""
        edits = CorrectActions(self.screen)
        self.screen.app.push_screen(LogScreen(self.screen, edits.void, edits.correct))

    async def page(self) -> None:
        """Ask which sheet is shown."""
        # Every kind of sheet is loaded with it: none of them may make the first key of the day wait.
        from dyeday.bench.screens.sheets_screen import choose_sheet

        await choose_sheet(self.screen)


def _plan(screen: BenchScreen) -> PlanActions:
    from dyeday.bench.actions.plan_actions import PlanActions

    return PlanActions(screen)


ACTIONS: dict[Do, Callable[[BenchScreen], object]] = {
    Do.ADVISED: lambda screen: BenchActions(screen).advised(),
    Do.GO_ON: lambda screen: offer_step(screen, screen.chosen_load()),
    Do.READING: lambda screen: ReadingActions(screen).reading(),
    Do.MOVE: lambda screen: BenchActions(screen).move(),
    Do.HEAT: lambda screen: KitActions(screen).heat(),
    Do.ACID: lambda screen: KitActions(screen).acid(),
    Do.UNIT: lambda screen: KitActions(screen).unit(),
    Do.COVER: lambda screen: KitActions(screen).cover(),
    Do.KIT: lambda screen: KitActions(screen).kit(),
    Do.EDIT: lambda screen: CorrectActions(screen).edit(),
    Do.ORDER: lambda screen: CorrectActions(screen).order(),
    Do.TAKE_PLAN: lambda screen: _plan(screen).take_file(),
    Do.PLAN_ORDERS: lambda screen: _plan(screen).orders(),
    Do.NOTE: lambda screen: BenchActions(screen).note(),
    Do.BACK_DATE: lambda screen: BenchActions(screen).back_date(),
    Do.CATCH_UP: catch_up,
    Do.LEAVING: lambda screen: HoursActions(screen).leaving(),
    Do.HOURS: lambda screen: HoursActions(screen).change(),
    Do.LOG: lambda screen: BenchActions(screen).log(),
    Do.UNDO: lambda screen: BenchActions(screen).undo(),
    Do.REDO: lambda screen: BenchActions(screen).redo(),
    Do.SILENCE: lambda screen: AlarmActions(screen).silence(),
    Do.SNOOZE: lambda screen: AlarmActions(screen).snooze(),
    Do.FLAGS: lambda screen: AlarmActions(screen).flags_of_batch(),
    Do.ALL_FLAGS: lambda screen: AlarmActions(screen).flags_of_day(),
    Do.AHEAD: lambda screen: BenchActions(screen).ahead(),
    Do.CHORE_DONE: lambda screen: AdviceActions(screen).chore_done(),
    Do.NOT_NOW: lambda screen: AdviceActions(screen).not_now(),
    Do.INSTEAD: lambda screen: AdviceActions(screen).instead(),
    Do.FAR: lambda screen: BenchActions(screen).far(),
    Do.WATCH: lambda screen: WatchActions(screen).watch(),
    Do.LOCK_KEYS: lambda screen: screen.bench_app.lock(),
    Do.OTHER_LOOK: lambda screen: screen.bench_app.other_look(),
    Do.SOUND: lambda screen: AlarmActions(screen).sound(),
    Do.PAGE: lambda screen: BenchActions(screen).page(),
    Do.CAUTIONS: lambda screen: screen.app.push_screen(Reader("Cautions", cautions_text())),
    Do.CLOSE_DAY: lambda screen: CloseActions(screen).close_day(),
    Do.PALETTE: lambda screen: BenchActions(screen).palette(),
    Do.HELP: lambda screen: screen.app.push_screen(HelpScreen()),
    Do.LEAVE: lambda screen: CloseActions(screen).leave(),
}
"""what each key does, a coroutine if it asks; the keys that the main screen handles itself are not listed"""
