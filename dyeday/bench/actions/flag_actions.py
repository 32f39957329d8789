"""Flags: a message for those an entry raised, the page of all, and how each is cleared."""

from __future__ import annotations

from dyeday.bench.actions.recorder import Actions, of_chosen
from dyeday.bench.input.key_forwarding import ask
from dyeday.bench.live_session import EventDraft
from dyeday.bench.prompts.prompts import AskText, Choose, KeyChoice, numbered
from dyeday.bench.screens.text_screens import BatchPage, ClearingPage, FlagsPage
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.events.remarks import FlagCleared
from dyeday.track.flags import USUAL_REASONS, Flag, flag_words


class FlagPages(Actions):
    """The pages and questions of flags, shown and recorded through `Recorder`."""

    @of_chosen
    def of_batch(self, batch: BatchRecord) -> None:
        """Show the chosen batch: its flags, which a digit clears, and its history."""
        self.screen.app.push_screen(BatchPage(self.keeper, self._clear, batch.no))

    def of_day(self) -> None:
        """Show every open flag of the day, to read; a flag about the whole day is cleared here."""
        self.screen.app.push_screen(FlagsPage(self.keeper, self._clear))

    def _clear(self, page: ClearingPage, flag: Flag) -> None:
        self.acts.begin(self._because(page, flag))

    async def _because(self, page: ClearingPage, flag: Flag) -> None:
        question = f"{flag.batch or 'The day'}: clear {flag_words(flag.rule.value)!r}, because"
        choices = numbered(USUAL_REASONS)
        choices.append(KeyChoice("0", "", "a reason of your own"))
        why = await ask(Choose(question, choices)) or await ask(AskText(question))
        cleared = FlagCleared(rule=flag.rule.value, why=why)
        self.acts.record(*(EventDraft(cleared, no) for no in self._touched(flag)))
        page.show()

    def _touched(self, flag: Flag) -> tuple[str | None, ...]:
        """Return every batch that the cause of an open flag touches; None stands for the whole day."""
        flags = self.keeper.all_flags()
        same = (f for f in flags if f.rule is flag.rule and f.cleared is None and flag.batch in f.batches)
        return next((f.batches for f in same), (flag.batch,))
