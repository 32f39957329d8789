"""The day changed on the bench: leaving now, the stop, a break, out of the house, hands, kit, aim; each an entry."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from functools import partial

from dyeday.ahead.problem_parts.hours import FULL_DAY, clock_text, next_min, plan_min
from dyeday.bench.actions.effect_actions import EffectActions
from dyeday.bench.actions.kit_actions import NO_KIT
from dyeday.bench.live_session import EventDraft
from dyeday.bench.plain_app import ask
from dyeday.bench.prompts.prompts import AskText, Choose, KeyChoice, numbered, pick
from dyeday.plan.model import Spans
from dyeday.plan.writing.toml_values import plan_time
from dyeday.terms import UnitEvent
from dyeday.text import batches_text, brief
from dyeday.track.day.day_state import make
from dyeday.track.day.progress import units_on
from dyeday.track.day.waiting_time import lies_open
from dyeday.track.event_keys import EventError
from dyeday.track.events.hours_events import AIM_WORDS, DROPPED, HoursChanged, clock_min, span_text
from dyeday.track.events.movements import UnitChanged
from dyeday.track.timestamp import length_text, whole_min

SPAN_SAMPLE = "such as 15:05-15:40"
NEAR_MIN = 30
"""leaving so many minutes before a planned absence, or in it, counts as that absence"""


class HoursActions(EffectActions):
    """The questions about the day's hours."""

    async def leaving(self) -> None:
        """Say at once what is on, and ask until when the house is empty; offer the plan's time if it is near."""
        start = self._now_min()
        planned = min((span for span in self.live.day.plan.session.out if span[1] > start), default=None)
        back = planned[1] if planned else start + 60
        is_near = planned is not None and planned[0] - start <= NEAR_MIN
        sample = f"{clock_text(back % FULL_DAY)} or 40 min"
        await self._typed(
            f"{self.on_now()}. {self._open_now()}When will you be back, such as {sample}",
            lambda text: HoursChanged(out=span_text((start, _back(text, start)))),
            offered=clock_text(back % FULL_DAY) if is_near else "",
            at_once=True,
        )

    def _now_min(self) -> int:
        return plan_min(self.live.day.plan, self.live.now().utc)

    def on_now(self) -> str:
        """Return every unit that is on, with its batches and its time left; "Nothing is on" if none is."""
        now = self.live.now()
        units = []
        for on in units_on(self.live.day, now):
            left_s = (on.until.utc - now.utc).total_seconds()
            left = f"{length_text(whole_min(abs(left_s)))} {'left' if left_s > 0 else 'over'}"
            units.append(f"{on.unit} ({', '.join(on.batches)}, {left})")
        return f"STILL ON: {'; '.join(units)}. Turn it off before you leave" if units else "Nothing is on"

    def _open_now(self) -> str:
        """Return "05 is painted and open: wrap it first. "; "" where no painted yarn lies open."""
        day, now = self.live.day, self.live.now()
        if not (numbers := [batch.no for batch in day.unfinished if lies_open(day, batch, now)]):
            return ""
        are, it = ("is", "it") if len(numbers) == 1 else ("are", "them")
        return f"{batches_text(numbers)} {are} painted and open: wrap {it} first. "

    async def change(self) -> None:
        """Ask which part of the day changes."""
        hours = self.live.day.plan.session
        since = max(self._now_min(), hours.start_min)
        stop = partial(
            self._typed,
            "You stop at",
            lambda text: HoursChanged(stop=plan_time(_coming(text, since))),
            offered=plan_time(hours.stop_min) if hours.stop_min > since else "",
        )
        pause = partial(self._span, "A break", hours.breaks, lambda to, was: HoursChanged(break_=to, instead=was))
        out = partial(self._span, "Out of the house", hours.out, lambda to, was: HoursChanged(out=to, instead=was))
        people = "How many people work (the forecast plans for one)"
        choices: list[KeyChoice[Callable[[], Awaitable[None]]]] = [
            KeyChoice("s", stop, "when you stop"),
            KeyChoice("b", pause, "a break"),
            KeyChoice("o", out, "out of the house"),
            KeyChoice("h", partial(self._typed, people, _hands, offered=str(hours.hands)), "how many people"),
            KeyChoice("k", self._kit, "a unit that broke down or works again"),
            KeyChoice("a", self._aim, "the day's aim"),
        ]
        change = await ask(Choose("The day: change", choices))
        await change()

    async def _aim(self) -> None:
        aim = await ask(Choose("The day's aim", numbered(AIM_WORDS, AIM_WORDS.__getitem__)))
        self.confirm_with_effect(HoursChanged(aim=aim))

    async def _span(self, label: str, spans: Spans, change: Callable[[str, str | None], HoursChanged]) -> None:
        """Ask which of ``spans`` still ahead moves, if there are several, and for its new start or span."""
        now_min = self._now_min()
        ahead = {span_text(span): span for span in sorted(spans) if span[1] > now_min}
        choices = [*numbered(ahead, "move {}".format), KeyChoice("n", "new", "one more")]
        word = await ask(Choose(label, choices, enter_accepts=True)) if ahead else "new"
        if word in ahead:
            begin = f"{label} {word}: new start, or {SPAN_SAMPLE}, or {DROPPED} to drop it"
            await self._typed(begin, lambda text: change(_moved_span(text, ahead[word], now_min), word))
        else:
            await self._typed(f"{label}, {SPAN_SAMPLE}", lambda text: change(_span_typed(text, now_min), None))

    async def _kit(self) -> None:
        day = self.live.day
        if not (names := day.plan.unit_names):
            self.screen.say(NO_KIT, wrong=True)
            return
        unit = await pick("Which unit broke down or works again", names)
        what = UnitEvent.UP if day.units[unit].is_down else UnitEvent.DOWN
        self.confirm_with_effect(UnitChanged(unit=unit, what=what))

    async def _typed(
        self, label: str, change: Callable[[str], HoursChanged], *, offered: str = "", at_once: bool = False
    ) -> None:
        """Ask for a time or a count, and show its effect before it is recorded, unless it is recorded ``at_once``."""
        effects: dict[str, str] = {}

        def body_of(text: str) -> HoursChanged:
            body = change(text).checked()
            body.refuse(self.live.day, make(body, self.live.now(), str), typed=True)
            return body

        def understood(text: str) -> str:
            body = body_of(text)
            words = self.words(body)
            if words not in effects:
                effects[words] = ""
                self.compute_effect(body, lambda gain: tell(words, gain))
            return f"{words}: {effects[words]}" if effects[words] else words

        def tell(words: str, gain: str) -> None:
            effects[words] = gain
            question.say_again()

        question = AskText(label, offered, understood)
        body = body_of(await ask(question))
        if at_once or effects[self.words(body)]:
            self.screen.record(EventDraft(body))
        else:
            self.confirm_with_effect(body)


def _clock_text(text: str) -> str:
    """Return "15:40" of what was typed, "1540" or "15.40" too."""
    digits = text.strip().replace(".", ":")
    return f"{digits[:2]}:{digits[2:]}" if digits.isdigit() and len(digits) == 4 else digits


def _coming(text: str, since: int) -> int:
    """Return the minute of the plan (`plan_min`) that was typed: the next after ``since`` when the clock shows it.

    A time with its own day, "14:00+1", is taken literally. Raises EventError.
    """
    if (typed := clock_min(_clock_text(text))) is None:
        raise EventError(f"{brief(text)} is not a time", "type a time such as 14:20")
    return typed if "+" in text else next_min(typed, since)


def _back(text: str, start: int) -> int:
    """Return the minute of the plan that was typed, as a time or as minutes after ``start``: 40, or 120 min."""
    minutes = text.strip().lower().removesuffix("min").strip()
    is_length = minutes.isdecimal() and len(minutes) <= (2 if minutes == text.strip() else 3)
    return start + int(minutes) if is_length else _coming(text, start)


def _span_typed(text: str, now_min: int) -> str:
    """Return the span typed, the next one that ends after ``now_min``, a minute of the plan."""
    begin, dash, end = text.partition("-")
    if not (begin.strip() and dash) or "+" in text:
        return f"{_clock_text(begin)}{dash}{_clock_text(end)}"
    until = _coming(end, max(now_min, 0))
    return span_text((_coming(begin, until - FULL_DAY - 1), until))


def _moved_span(text: str, was: tuple[int, int], now_min: int) -> str:
    """Return the span typed; a time alone is its new start: its end stays, or its length if that is over by then."""
    if "-" in text:
        return _span_typed(text, now_min)
    begin = _coming(text, was[0] // FULL_DAY * FULL_DAY - 1)
    return span_text((begin, was[1] if begin < was[1] else begin + was[1] - was[0]))


def _hands(text: str) -> HoursChanged:
    if not text.strip().isdigit():
        raise EventError("that is not a count", "type a number from 1 to 20")
    return HoursChanged(hands=int(text))
