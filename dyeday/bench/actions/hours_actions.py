"""The day's hours changed on the bench: leaving now until, the stop, a break, out of the house, hands, its aim.

Each is an entry, taken once its gain or loss was shown.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from dyeday.bench.live_session import EventDraft
from dyeday.bench.prompts.prompts import AskText, Choose, KeyChoice
from dyeday.paper.local_time import clock_near, local
from dyeday.terms import DayAim
from dyeday.track.entries.field_checks import EventError
from dyeday.track.events.hours_events import AIM_WORDS, HoursChanged
from dyeday.track.events.recording import make
from dyeday.track.folding.fold import take
from dyeday.track.timers.clocks import clock_of
from dyeday.track.timestamp import length_text, whole_min

if TYPE_CHECKING:
    from dyeday.ahead.foreseen_steps import Forecast
    from dyeday.bench.actions.recorder import Recorder

SPAN_SAMPLE = "such as 15:05-15:40"
FAILED = "working out what it brings failed; you can change it all the same"


class HoursActions:
    """The questions about the day's hours, asked and recorded through `Recorder`."""

    def __init__(self, acts: Recorder) -> None:
        self.acts = acts
        self.keeper = acts.keeper

    def leaving(self) -> None:
        """Say at once what is on, and ask until when nobody is in the house."""
        now = self.keeper.now()
        start = f"{local(now.utc, self.keeper.day.plan.session.zone):%H:%M}"

        def change(text: str) -> HoursChanged:
            return HoursChanged(out=f"{start}-{_clock_text(text)}").checked()

        ask = AskText(
            f"{self.on_now()}. You are leaving; back at (such as 14:20)",
            understand=lambda text: f"out {change(text).out}",
        )
        self.acts.ask(ask, lambda text: self.acts.record(EventDraft(change(text))))

    def on_now(self) -> str:
        """Return every unit that is on, with its batches and the time it has left; "Nothing is on" where none is."""
        day, now = self.keeper.day, self.keeper.now()
        units: dict[str, list[str]] = {}
        for batch in day.live:
            heat = batch.open_heat
            if batch.is_live and heat is not None and heat.is_on(now):
                clock = clock_of(day, batch, now)
                left_s = clock.left_s if clock is not None and clock.left_s is not None else 0.0
                left = length_text(whole_min(abs(left_s)))
                units.setdefault(heat.unit or "heat", []).append(
                    f"{batch.no}, {left} {'left' if left_s > 0 else 'over'}"
                )
        if not units:
            return "Nothing is on"
        on = "; ".join(f"{unit} ({'; '.join(inside)})" for unit, inside in units.items())
        return f"STILL ON: {on}. Turn it off before you leave"

    def change(self) -> None:
        """Ask what of the day's hours changes."""
        choices = [
            KeyChoice("s", "stop", "when you stop"),
            KeyChoice("b", "break", "a break"),
            KeyChoice("o", "out", "out of the house"),
            KeyChoice("h", "hands", "how many hands"),
            KeyChoice("a", "aim", "the aim: rinsed tonight, rinsed or heated by stop"),
        ]
        asks: dict[str, Callable[[], None]] = {
            "stop": lambda: self._typed("You stop at", lambda text: HoursChanged(stop=_clock_text(text))),
            "break": lambda: self._typed(f"A break, {SPAN_SAMPLE}", lambda text: HoursChanged(break_=text)),
            "out": lambda: self._typed(f"Out of the house, {SPAN_SAMPLE}", lambda text: HoursChanged(out=text)),
            "hands": lambda: self._typed("How many people", _hands),
            "aim": self._aim,
        }
        self.acts.ask(Choose("The day's hours: change", choices), lambda what: asks[what]())

    def _aim(self) -> None:
        choices = [KeyChoice(str(n), serves.value, words) for n, (serves, words) in enumerate(AIM_WORDS.items(), 1)]
        ask = Choose("The day's aim", choices)
        self.acts.ask(ask, lambda word: self._shown(HoursChanged(aim=DayAim(word))))

    def _typed(self, label: str, change: Callable[[str], HoursChanged]) -> None:
        def understood(text: str) -> str:
            body = change(text).checked()
            body.refuse(self.keeper.day, make(body, self.keeper.now(), str), typed=True)
            return body.words(make(body, self.keeper.now(), str), None)

        self.acts.ask(AskText(label, understand=understood), lambda text: self._shown(change(text).checked()))

    def _shown(self, body: HoursChanged) -> None:
        """Work out what the change brings, and take it once that was seen."""
        app, day, now = self.acts.screen.bench_app, self.keeper.day, self.keeper.now()
        before, foresee = app.outlook.found, app.outlook.foresee
        event = make(body, now, lambda: "asked")
        words = body.words(event, day)

        def ask(gain: str) -> None:
            choices = [KeyChoice("y", "yes", "change it"), KeyChoice("n", "", "cancel")]

            def answered(yes: str) -> None:
                if yes:
                    self.acts.record(EventDraft(body))

            self.acts.ask(Choose(f"{words}: {gain}", choices, return_takes=True), answered)

        if foresee is None or before is None:
            ask("the forecast is not worked out yet")
            return
        self.acts.screen.say(f"{words}: working out what it brings")

        def work() -> None:
            try:
                gain = self._gain(before, foresee(take(day, event), now, before))
            except Exception:  # whatever went wrong in it, the change can be made
                gain = FAILED
            app.call_from_thread(ask, gain)

        app.run_worker(work, thread=True, group="hours", exit_on_error=False)

    def _gain(self, before: Forecast, after: Forecast) -> str:
        zone, now = self.keeper.day.plan.session.zone, self.keeper.now().utc
        ends = [clock_near(found.hands_off, zone, now) for found in (before, after)]
        word = "through their heat" if after.counts_heat else "rinsed"
        return f"finish {ends[1]} (was {ends[0]}), {after.rinsed} {word} by the stop (was {before.rinsed})"


def _clock_text(text: str) -> str:
    """Return "15:40" of what was typed, "1540" or "15.40" too."""
    digits = text.strip().replace(".", ":")
    return f"{digits[:2]}:{digits[2:]}" if digits.isdigit() and len(digits) == 4 else digits


def _hands(text: str) -> HoursChanged:
    if not text.strip().isdigit():
        raise EventError("that is not a count", "type a number from 1 to 20")
    return HoursChanged(hands=int(text))
