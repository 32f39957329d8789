"""Changes whose effect on the forecast is shown before they are recorded: of hours, of orders, of the plan file."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from dyeday.ahead.brought import brought_text
from dyeday.bench.actions import Actions
from dyeday.bench.live_session import EventDraft
from dyeday.bench.plain_app import ask
from dyeday.bench.prompts.prompts import Choose, KeyChoice
from dyeday.track.day.day_state import Body, make
from dyeday.track.folding.fold import take


class EffectActions(Actions):
    """The question whether a change with its effect is accepted."""

    def confirm_with_effect(
        self,
        body: Body,
        words: str = "",
        accepted: Callable[[], object] | None = None,
        above: Sequence[str] = (),
        others: Sequence[KeyChoice[Callable[[], object]]] = (),
    ) -> None:
        """Show a change's effect below ``above``, then record it or call ``accepted``; ``others`` add answers."""
        words, accept = words or self.words(body), accepted or (lambda: self.screen.record(EventDraft(body)))

        async def confirm(gain: str) -> None:
            choices: list[KeyChoice[Callable[[], object]]] = [
                KeyChoice("y", accept, "add it" if others else "change it"),
                *others,
                KeyChoice("n", lambda: None, "cancel"),
            ]
            (await ask(Choose(f"{words}: {gain}", choices, enter_accepts=True, above=above)))()

        if self.compute_effect(body, lambda gain: self.screen.put_questions(confirm(gain))):
            self.screen.say(f"{words}: working out the effect")
        else:
            self.screen.put_questions(confirm("the forecast is not worked out yet"))

    def words(self, body: Body) -> str:
        """Return a change in words."""
        return make(body, self.live.now(), str).text(self.live.day)

    def compute_effect(self, body: Body, then: Callable[[str], object]) -> bool:
        """Call ``then`` with the effect of a change, worked out in a thread; return whether that can be done."""
        app, day, now = self.screen.bench_app, self.live.day, self.live.now()
        before, foresee = app.outlook.forecast, app.outlook.foresee
        if before is None or foresee is None:
            return False
        event = make(body, now, lambda: "asked")

        def work() -> None:
            try:
                gain = brought_text(before, foresee(take(day, event), now, before), self.live.time_text)
            except Exception:  # the change can be made without its effect
                gain = "the effect could not be worked out; you can still change it"
            app.call_from_thread(then, gain)

        app.run_worker(work, thread=True, group="effect", exit_on_error=False)
        return True
