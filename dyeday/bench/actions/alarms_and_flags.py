"""Alarms, silenced or snoozed one by one, past ones with one key; pages of flags, and how each is cleared."""

from __future__ import annotations

from dyeday.bench.actions import Actions, of_chosen
from dyeday.bench.live_session import EventDraft
from dyeday.bench.looks.sounds import MOST_MUTED_MIN
from dyeday.bench.plain_app import ask
from dyeday.bench.prompts.prompts import AskText, Choose, KeyChoice, numbered
from dyeday.bench.screens.text_screens import BatchPage, ClearingPage, FlagsPage
from dyeday.terms import AlarmAction
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import MOST_SNOOZE_MIN
from dyeday.track.events.remarks import ALARM_WORDS, AlarmHandled, FlagCleared
from dyeday.track.flags import USUAL_REASONS, Flag, flag_words
from dyeday.track.timers.alarm_states import USUAL_SNOOZE_MIN

_MUTES_MIN = ("5", "15", f"{MOST_MUTED_MIN:g}")
_SNOOZES_MIN = (f"{USUAL_SNOOZE_MIN:g}", "10", f"{MOST_SNOOZE_MIN:g}")
_TESTED = "the bell has sounded; if you heard nothing, set a program with `dyeday sound`"


class AlarmActions(Actions):
    """The questions about alarms and flags, and the pages of flags."""

    async def silence(self) -> None:
        """Silence one alarm; with several, ask which."""
        await self._alarm(AlarmAction.SILENCED)

    async def sound(self) -> None:
        """Test the sound, or mute it; a mark is shown while it is muted."""
        sounds = self.screen.bench_app.sounds
        choices = [KeyChoice("t", "test", "test it"), *numbered(_MUTES_MIN, "mute it for {} min".format)]
        choices += [KeyChoice("0", "0", "sound again")] if sounds.muted_until(self.live.now()) is not None else []
        what = await ask(Choose("Sound", choices, enter_accepts=True))
        if what == "test":
            sounds.sound(self.live.now())
            self.screen.say(_TESTED)
        else:
            sounds.mute(self.live.now(), float(what))
            self.screen.say(f"{self.screen.muted_words() or 'sound is on'}; alarms still show")

    async def snooze(self) -> None:
        """Ask for how long an alarm is snoozed, and with several which."""
        if not (self.screen.shown and self.screen.shown.snoozable):
            self.screen.say("no alarm to snooze")
            return
        lengths = numbered(_SNOOZES_MIN, "{} min".format)
        length_min = await ask(Choose("Snooze it for", lengths, enter_accepts=True))
        await self._alarm(AlarmAction.SNOOZED, float(length_min))

    async def _alarm(self, what: AlarmAction, minutes: float | None = None) -> None:
        """Silence or snooze one line of the list: an alarm that lasts, or all past ones together."""
        shown = self.screen.shown
        lines = () if shown is None else (shown.snoozable if what is AlarmAction.SNOOZED else shown.alarms)
        if not lines:
            self.screen.say("no alarm is sounding")
            return
        ids = lines[0].ids
        if len(lines) > 1:
            choices = numbered(lines, lambda line: line.text)
            ids = (await ask(Choose(f"Which alarm is {ALARM_WORDS[what]}", choices, enter_accepts=True))).ids
        self.screen.record(*(EventDraft(AlarmHandled(alarm=name, what=what, minutes=minutes)) for name in ids))

    @of_chosen
    def flags_of_batch(self, batch: BatchRecord) -> None:
        """Show the chosen batch: its flags, which a digit clears, and its history."""
        self.screen.app.push_screen(BatchPage(self.live, self._clear, batch.no))

    def flags_of_day(self) -> None:
        """Show every open flag of the day; those about the whole day are cleared here."""
        self.screen.app.push_screen(FlagsPage(self.live, self._clear))

    def _clear(self, page: ClearingPage, flag: Flag) -> None:
        self.screen.put_questions(self._because(page, flag))

    async def _because(self, page: ClearingPage, flag: Flag) -> None:
        alike = (f for f in self.live.all_flags() if f.rule is flag.rule and f.cleared is None)
        batches = next((f.batches for f in alike if flag.batch in f.batches), flag.batches)  # all that it is about
        question = f"{'+'.join(batches) or 'The day'}: clear {flag_words(flag.rule.value)!r}, because"
        choices = [*numbered(USUAL_REASONS), KeyChoice("0", "", "a reason of your own")]
        why = await ask(Choose(question, choices)) or await ask(AskText(question))
        cleared = FlagCleared(rule=flag.rule.value, why=why)
        self.screen.record(*(EventDraft(cleared, no) for no in batches or (None,)))
        page.show()
