"""What needs attention, for the far view: a batch or a unit, a word, a time and an urgency."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from dyeday.ahead.advising.next_step import next_step
from dyeday.ahead.advising.next_up import NextUp, open_before_rinse, pressing_timer
from dyeday.bench.view.batch_row import DAYS_FROM_MIN, HOURS_FROM_MIN, Urgency, urgency_of_item, urgency_of_timer
from dyeday.quick_dataclass import dataclass
from dyeday.terms import AlarmState, HeatEdge, State, Term, TimerKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import state_word
from dyeday.track.timers.alarm_states import standing
from dyeday.track.timers.timers import Timer, tank_timers, timer_of
from dyeday.track.timestamp import Moment, whole_min

NEXT_WORDS = {State.DRY: "hang up", State.DONE: "take down", State.SET_ASIDE: "set aside"}
"""moves whose word is not the state's own"""


class TimeSense(Term):
    """What a time says; the values are the words beside it."""

    LEFT = "left"
    SAFE = "safe"
    """left, of painted yarn under its cover"""
    READY = "ready"
    OVER = "over"
    """and waiting does harm"""
    SO_FAR = "for"


@dataclass(frozen=True, slots=True)
class Attention:
    """What needs attention: its batch or unit, its word, its time, its urgency.

    ``left_s`` is negative once its time is up, None where nothing is timed; then ``so_far_s`` may be how long
    it has lasted.
    """

    about: str
    word: str
    left_s: float | None
    urgency: Urgency
    unsilenced: bool = False
    so_far_s: float | None = None
    unit: str = ""
    to_come: TimeSense = TimeSense.LEFT
    """what its time says until it is up: LEFT or SAFE"""
    begins: str = ""
    """the time of day from which it is to do; empty for now"""
    listed: str = ""
    """what the list of what is next says of it: what to do and why"""

    @property
    def digits(self) -> str:
        """The time left, over or so far in whole numbers of its `time_unit`; empty if untimed, or ready just now."""
        return self._figure[0]

    @property
    def time_unit(self) -> str:
        """The unit behind the digits: "s" in the last minute, "min", "h" from `HOURS_FROM_MIN`, "d"; else empty."""
        return self._figure[1]

    @property
    def _figure(self) -> tuple[str, str]:
        length_s = self.so_far_s if self.left_s is None else self.left_s
        if length_s is None:
            return "", ""
        if self.left_s is not None and 0 < length_s < 60:
            return str(int(length_s)), "s"
        minutes = whole_min(length_s)
        if not minutes and self.sense is TimeSense.READY:
            return "", ""
        if minutes < HOURS_FROM_MIN:
            return str(minutes), "min"
        return (str(minutes // 60), "h") if minutes < DAYS_FROM_MIN else (str(minutes // 1440), "d")

    @property
    def time(self) -> str:
        """The digits with their unit, such as "114 min"."""
        return f"{self.digits} {self.time_unit}".strip()

    @property
    def sense(self) -> TimeSense | None:
        """What the digits say; None without a time."""
        if self.left_s is None:
            return None if self.so_far_s is None else TimeSense.SO_FAR
        if self.left_s > 0:
            return self.to_come
        return TimeSense.OVER if self.urgency >= Urgency.OVER else TimeSense.READY

    @property
    def in_words(self) -> str:
        """The time with what it says: "12 min left", "3 min over", "ready 114 min ago", "for 20 min", "safe 23 h"."""
        if (sense := self.sense) is None:
            return ""
        if not self.digits:
            return f"{sense.value} now"
        if sense in (TimeSense.READY, TimeSense.SO_FAR, TimeSense.SAFE):
            return f"{sense.value} {self.time}{' ago' if sense is TimeSense.READY else ''}"
        return f"{self.time} {sense.value}"


def needing_attention(day: Day, now: Moment, items: Sequence[NextUp]) -> list[Attention]:
    """Return what needs attention in the order of ``items``, the bench's next lines, then timers, soonest first."""
    lasting = [alarm for alarm in standing(day, now) if alarm.lasts]
    active = {no for a in lasting if a.state(now.utc) == AlarmState.ACTIVE for no in (a.batches or (str(a.unit),))}
    tanks = {str(timer.unit): timer for timer in tank_timers(day, now)}
    in_order: list[Attention] = []
    for item in items:
        first = item.abouts[0]
        # No timer of the batch is about its chore.
        batch = day.batches.get(first) if not item.is_chore else None
        timer = tanks.get(first) if batch is None else pressing_timer(day, batch, now)
        word, unit = item.word, item.unit or (batch.unit if batch is not None else None) or ""
        if not word and batch is None:
            word = _tank_word(timer) if timer is not None else item.do
        elif not word and batch is not None:
            sees_flag = bool(open_before_rinse(day, batch, now))
            word, unit = ("see flag", "") if sees_flag else (_next_word(day, batch, now, item.do), unit)
        unsilenced = bool(active.intersection(item.abouts)) and not item.is_chore
        thing = _attention(item.about, word, timer, urgency_of_item(item), unsilenced, unit)
        begins = day.time_text(item.begin) if item.begin is not None and item.begin > now.later(60).utc else ""
        in_order.append(replace(thing, begins=begins, listed=f"{item.do}  {item.why}".rstrip()))
    named = {about for thing in in_order for about in thing.about.split("+")}
    running = []
    for batch in day.unsplit:
        timer = timer_of(day, batch, now)
        if batch.no not in named and timer is not None and timer.left_s is not None and timer.kind != TimerKind.DRY:
            word = _next_word(day, batch, now, state_word(batch))
            urgency = urgency_of_timer(timer, batch.no in active)
            running.append(_attention(batch.no, word, timer, urgency, batch.no in active, batch.unit or ""))
    for unit, timer in tanks.items():
        if unit not in named:
            urgency = urgency_of_timer(timer, unit in active)
            running.append(_attention(unit, _tank_word(timer), timer, urgency, unit in active))
    return [*in_order, *sorted(running, key=lambda w: w.left_s or 0.0)]


def _tank_word(timer: Timer) -> str:
    """Return what to do about a tank first, once it is low; filling it hot would spit and crack it."""
    return "heat off" if timer.is_due else "tank"


def _attention(
    about: str, word: str, timer: Timer | None, urgency: Urgency, unsilenced: bool, unit: str = ""
) -> Attention:
    left_s = timer.left_s if timer is not None else None
    so_far_s = timer.elapsed_s if timer is not None and left_s is None else None
    to_come = TimeSense.SAFE if timer is not None and timer.kind is TimerKind.WAIT else TimeSense.LEFT
    return Attention(about, word, left_s, urgency, unsilenced, so_far_s, unit, to_come)


def _next_word(day: Day, batch: BatchRecord, now: Moment, do: str) -> str:
    if (step := next_step(day, batch, now)) is None:
        return do
    if step.acid:
        return "acid"
    if step.stays_on:
        return "lift out"
    if step.edge is not None and step.to is not State.PAINT:
        return {HeatEdge.END: "heat off", HeatEdge.START: "heat on"}.get(step.edge, do)
    if step.to == State.PAINT:
        return state_word(batch, State.PAINT, step.layer)
    return NEXT_WORDS.get(step.to, step.to.value) if step.to is not None else do
