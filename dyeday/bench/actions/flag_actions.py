"""What is done about doubts: those an entry raised are told at once, all are read on pages, each is resolved."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from dyeday.bench.live_session import Draft
from dyeday.bench.prompts.prompts import AskText, Choice, Choose
from dyeday.bench.screens.text_screens import BatchPage, FlagsPage, Resolving
from dyeday.terms import FlagId
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.events.remarks import FlagResolved
from dyeday.track.flags import USUAL_REASONS, Flag, one_for_each_cause
from dyeday.track.timestamp import Now

if TYPE_CHECKING:
    from dyeday.bench.actions.bench_actions import Acts

Known = tuple[str | None, FlagId]
"""the batch of a doubt, None for the whole day, and its rule"""


class Doubting:
    """The pages and questions of doubts, shown and recorded through `Acts`."""

    def __init__(self, acts: Acts) -> None:
        self.acts = acts
        self.keeper = acts.keeper

    def _all(self) -> list[Flag]:
        by_batch = self.keeper.flags(self.keeper.now())
        return one_for_each_cause(flag for flags in by_batch.values() for flag in flags)

    def known(self) -> set[Known]:
        """Return the doubts there are now, resolved ones too."""
        return {(flag.batch, flag.rule) for flag in self._all()}

    def raised(self, before: set[Known], acted: Sequence[str]) -> str:
        """Return what to say of open doubts that were not there ``before``, one of the batches ``acted`` on first."""
        fresh = [flag for flag in self._all() if flag.resolved is None and not self._stood(flag, before)]
        if not fresh:
            return ""
        first = min(fresh, key=lambda flag: flag.batch not in acted)
        more = f" (+{len(fresh) - 1} more)" if len(fresh) > 1 else ""
        return f"{first.about or 'the day'} {first.rule.value}{more}: {first.why}. Do: {first.remedy}"

    def _stood(self, flag: Flag, before: set[Known]) -> bool:
        """Tell whether a doubt stood before, under this number or that of the batch it was split from."""
        record = self.keeper.day.batches.get(flag.batch or "")
        parent = record.parent if record is not None else None
        return (flag.batch, flag.rule) in before or (parent is not None and (parent, flag.rule) in before)

    def of_batch(self) -> None:
        """Show the chosen batch: its doubts, which a digit resolves, and its story."""
        batch = self.acts.batch()
        if batch is None:
            return

        def look() -> tuple[Day, BatchRecord, list[Flag], Now] | None:
            now = self.keeper.now()
            current = self.keeper.day.batches.get(batch.no)
            if current is None:
                return None
            return self.keeper.day, current, self.keeper.flags(now).get(batch.no, []), now

        self.acts.screen.app.push_screen(BatchPage(look, self._resolving))

    @property
    def _resolving(self) -> Callable[[Resolving, Flag], None] | None:
        return None if self.keeper.watching else self._resolve

    def _resolve(self, page: Resolving, flag: Flag) -> None:
        choices = [Choice(str(n), reason, reason) for n, reason in enumerate(USUAL_REASONS, 1)]
        choices.append(Choice("0", "", "a reason of your own"))

        def because(reason: str) -> None:
            if reason:
                store(reason)
            else:
                self.acts.ask(AskText(f"{flag.batch or 'The day'}: {flag.rule.value} is cleared because"), store)

        def store(why: str) -> None:
            cleared = FlagResolved(rule=flag.rule.value, why=why)
            self.acts.record(*(Draft(cleared, no) for no in self._touched(flag)))
            page.show()

        self.acts.ask(Choose(f"{flag.batch or 'The day'}: {flag.rule.value} is cleared", choices), because)

    def _touched(self, flag: Flag) -> tuple[str | None, ...]:
        """Return every batch that the one cause of an open flag touches; None stands for the whole day."""
        same = (f for f in self._all() if f.rule is flag.rule and f.resolved is None and flag.batch in f.batches)
        return next((f.batches for f in same), (flag.batch,))

    def of_day(self) -> None:
        """Show every open doubt of the day, to read; a doubt about the whole day is resolved here."""

        def fetch() -> list[Flag]:
            return [flag for flag in self._all() if flag.resolved is None]

        self.acts.screen.app.push_screen(FlagsPage(fetch, self._resolving))
