"""Keys about the advice: *not now*, *this one first*, a chore is done; all are entries, so a restart keeps them."""

from __future__ import annotations

from datetime import datetime

from dyeday.ahead.advising.advice import advised_steps
from dyeday.ahead.advising.next_up import next_up
from dyeday.ahead.advising.reasons import chore_text, do_text
from dyeday.ahead.advising.still_to_do import chore_of
from dyeday.bench.actions import Actions, of_chosen
from dyeday.bench.live_session import EventDraft
from dyeday.bench.plain_app import ask
from dyeday.bench.prompts.prompts import Choose, KeyChoice
from dyeday.bench.view.bench_view import MOST_NEXT_SHOWN
from dyeday.terms import AdviceAction, ChoreWhen, StepKind, TimerKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.events.movements import ChoreBegun, ChoreFinished, OfChore
from dyeday.track.events.remarks import USUAL_NOT_NOW_MIN, AdviceWished
from dyeday.track.timers.timers import timer_of
from dyeday.track.timestamp import Moment

HOLDING = (TimerKind.SOAK, TimerKind.COOL, TimerKind.REST, TimerKind.HEAT, TimerKind.WARM_UP)
"""timers before whose end hands can do nothing with the batch"""
WORTH_WAITING_S = 5 * 60
"""a step that cannot start within this is not put first: hands would wait for it"""


class AdviceActions(Actions):
    """The questions of advice."""

    async def not_now(self) -> None:
        """Put off the first advised step; the end of a heat cannot be put off."""
        outlook, now, day = self.screen.bench_app.outlook, self.live.now(), self.live.day
        steps = (
            s
            for s in advised_steps(day, now, MOST_NEXT_SHOWN, outlook.forecast)
            if day.chore_begun(s.batch, chore_of(s)) is None
        )
        if (step := next(steps, None)) is None:
            is_known = outlook.forecast is not None and not self.screen.is_behind
            words = "nothing to put off now" if is_known else outlook.none_words
            self.screen.say(words, wrong=outlook.has_failed)
            return
        if step.kind is StepKind.UNLOAD:
            self.screen.say(f"{step.batch}: this heat ends at its time; press a to silence an alarm")
            return
        minutes, do = USUAL_NOT_NOW_MIN, do_text(step)
        wish = AdviceWished(what=AdviceAction.NOT_NOW, step=step.id.text, minutes=minutes, **step.chore_data)
        then = f"; {do} comes back at {self.live.time_text(now.later(minutes * 60).utc)}"
        draft = EventDraft(wish, step.batch or None)
        urgent = ", ".join(dict.fromkeys(item.about for item in next_up(day, now) if item.is_urgent))
        passed = f"{urgent} cannot wait: overdue, or in the way in a unit. " if urgent else ""
        await self._ask(f"{passed}Not now: {step.batch} {do}", f"put it off by {minutes:g} min", draft, then)

    async def _ask(self, label: str, words: str, draft: EventDraft, then: str = "") -> None:
        """Ask first: these actions are capital letters, and with Caps Lock on the small one was meant."""
        await ask(Choose(label, [KeyChoice("y", "yes", words)], enter_accepts=True))
        self.screen.record(draft, then=then)

    async def chore_done(self) -> None:
        """Record the first chore on the list as done or begun, as Enter on its row does."""
        now, day, forecast = self.live.now(), self.live.day, self.screen.bench_app.outlook.forecast
        steps = advised_steps(day, now, MOST_NEXT_SHOWN, forecast)
        if forecast is None or (step := next((step for step in steps if step.is_chore), None)) is None:
            self.screen.say("no chore is on the list")
            return
        bodies: list[KeyChoice[type[OfChore]]] = [KeyChoice("y", ChoreFinished, "done")]
        # What ends the day is not in the schedule that a beginning would change.
        if step.id.when is not ChoreWhen.END_OF_DAY and day.chore_begun(step.batch, chore_of(step)) is None:
            bodies.append(KeyChoice("b", ChoreBegun, "started, not done"))
        done = f"done {self.live.earlier_text}".rstrip()
        body = await ask(Choose(f"{chore_text(step, forecast)}: {done}?", bodies, enter_accepts=True))
        self.screen.record(EventDraft(body(**step.chore_data), step.batch or None))

    @of_chosen
    async def instead(self, batch: BatchRecord) -> None:
        """Put the next step of the chosen batch first, if it can begin soon."""
        outlook = self.screen.bench_app.outlook
        forecast = outlook.forecast
        step = next((s for s in forecast.next_steps if s.batch == batch.no), None) if forecast is not None else None
        if step is None:
            none = f"{batch.no} has no step that can go first" if forecast is not None else outlook.none_words
            self.screen.say(none, wrong=True)
            return
        ready = _ready_at(self.live.day, batch, self.live.now())
        if ready is not None:
            until = self.live.time_text(ready)
            self.screen.say(f"{batch.no} should wait until {until}", wrong=True)
            return
        wish = AdviceWished(what=AdviceAction.THIS_FIRST, step=step.id.text, **step.chore_data)
        await self._ask(f"{batch.no} first: {do_text(step)}", "put it first", EventDraft(wish, batch.no))


def _ready_at(day: Day, batch: BatchRecord, now: Moment) -> datetime | None:
    """Return when a batch can go on, if its timer holds it longer than `WORTH_WAITING_S`; else None."""
    timer = timer_of(day, batch, now)
    if timer is None or timer.kind not in HOLDING or (timer.left_s or 0.0) <= WORTH_WAITING_S:
        return None
    return timer.due_at(now)
