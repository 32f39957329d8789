"""Events that change no yarn: notes, alarms, flags, advice, forecasts."""

from __future__ import annotations

from datetime import datetime

from dyeday.plan.reading.problems import similar
from dyeday.plan.step_ids import ChoreId, StepId, stored_step
from dyeday.quick_dataclass import altered
from dyeday.terms import FLAGS_OF_DAY, AdviceAction, AlarmAction, AlarmKind, DayAim, FlagId, StepKind
from dyeday.text import brief
from dyeday.track import event_keys as check
from dyeday.track.day.batch_record import ClearedFlag
from dyeday.track.day.day_state import MOST_SNOOZE_MIN, AdviceWish, AlarmAct, Body, Day, Event
from dyeday.track.day.transitions import with_record
from dyeday.track.event_keys import EventError, key
from dyeday.track.events.hours_events import AIM_WORDS
from dyeday.track.events.movements import OfChore
from dyeday.track.timestamp import length_text

USUAL_NOT_NOW_MIN = 30.0
"""how long *not now* keeps a step from being proposed; common practice, no source"""
ALARM_WORDS = {
    AlarmAction.SILENCED: "silenced",
    AlarmAction.SNOOZED: "snoozed",
    AlarmAction.UNSNOOZED: "no longer snoozed",
}


class Noted(Body):
    """A note on a batch, or on the day."""

    NAME = "note"
    WORDS = "note: {note}"
    KNOWN_BY = ("note",)
    note: str = key(check.text)

    def apply(self, day: Day, event: Event) -> Day:
        note = (event.moment, self.note)
        if (batch := day.batches.get(event.batch or "")) is None:
            return altered(day, notes=(*day.notes, note))
        return with_record(day, altered(batch, notes=(*batch.notes, note)), event)


class AlarmHandled(Body):
    """An alarm was silenced or snoozed, or is no longer snoozed."""

    NAME = "alarm"
    KNOWN_BY = ("alarm",)
    IS_TIMED = False
    alarm: str = key(check.text)
    what: AlarmAction = key(check.term(AlarmAction), name="is")
    minutes: float | None = key(check.number(0, MOST_SNOOZE_MIN), default=None)

    def apply(self, day: Day, event: Event) -> Day:
        act = AlarmAct(event.moment, self.what, float(self.minutes or 0))
        acts = (*day.alarm_acts.get(self.alarm, ()), act)
        return altered(day, alarm_acts={**day.alarm_acts, self.alarm: acts})

    def words(self, event: Event, day: Day | None) -> str:
        kind, _, about = self.alarm.partition("-")
        about = about.rsplit("-", 1)[0] if kind == AlarmKind.TANK.value else about.split("-")[0]
        snoozed = f" {length_text(self.minutes)}" if self.minutes else ""
        return f"{about} {kind} alarm {ALARM_WORDS[self.what]}{snoozed}"


class FlagCleared(Body):
    """A flag of a batch or of the day was cleared, with its reason."""

    NAME = "resolved"
    WORDS = "{rule} cleared"
    KNOWN_BY = ("rule",)
    rule: str = key(check.text)
    """an id of a flag, as text: a file of another version still opens"""
    why: str = key(check.text)

    def apply(self, day: Day, event: Event) -> Day:
        try:
            entry = ClearedFlag(FlagId(self.rule), self.why, event.at)
        except ValueError:
            return day  # checked when it was entered; a file edited by hand must not stop the day
        if (batch := day.batches.get(event.batch or "")) is None:
            return altered(day, cleared=(*day.cleared, entry)) if event.batch is None else day
        return with_record(day, altered(batch, cleared=(*batch.cleared, entry)), event)

    def refuse(self, day: Day, event: Event, *, typed: bool) -> None:
        known = [flag.value for flag in FlagId if (flag in FLAGS_OF_DAY) == (event.batch is None)]
        if self.rule not in known:
            about = "a batch" if event.batch is not None else "the whole day"
            raise EventError(f"{brief(self.rule)} is not a flag of {about}", similar(self.rule, known))


class AdviceWished(OfChore):
    """What the dyer chose: a step not now, or a step first; in older sessions also an aim."""

    NAME = "advice"
    ONE_OF = ("step", "serves")
    MISSING = "step"
    what: AdviceAction = key(check.term(AdviceAction), name="is")
    step: str | None = key(check.text, default=None)
    minutes: float | None = key(check.number(1, 1440), default=None)
    serves: DayAim | None = key(check.term(DayAim), default=None)

    def apply(self, day: Day, event: Event) -> Day:
        if self.what is AdviceAction.SERVES:
            return day if self.serves is None else altered(day, chosen_aim=self.serves)
        chore, layer = self.chore or "", self.layer or 0
        if self.when is not None:
            step = StepId(StepKind.CHORE, layer, chore=chore, when=self.when)
        else:
            step = stored_step(self.step or "")
        about = event.batch or ChoreId(chore, self.when, self.first_of_lot or "")
        wish = AdviceWish(event.moment, about, self.what, step, float(self.minutes or USUAL_NOT_NOW_MIN))
        return altered(day, wishes=(*day.wishes, wish))

    def words(self, event: Event, day: Day | None) -> str:
        if self.what is AdviceAction.SERVES:
            return f"aim: {AIM_WORDS[self.serves] if self.serves is not None else ''}"
        step = self.chore_words if self.chore else stored_step(self.step or "").words
        if self.what is AdviceAction.THIS_FIRST:
            return f"this one first: {step}"
        wait = f" for {length_text(self.minutes)}" if self.minutes else ""
        return f"not now{wait}: {step}"


class Foreseen(Body):
    """A forecast, to compare with what came."""

    NAME = "foreseen"
    WORDS = "forecast recorded"
    IS_TIMED = False
    IS_SHOWN = False
    finish: datetime = key(check.instant, name="hands_off")
    """when the last work ends, the chores of the day's end too, if all is rinsed as early as possible"""
    late: datetime = key(check.instant)
    """nine days in ten end by then"""
    late_scale: float | None = key(check.number(0, 100), default=None)
    """the studio's own factor that is in ``late``; None for 1"""
    rinsed: int | None = key(check.number(0, 100_000, whole=True), default=None)
    """batches rinsed by the stop, or through their heat if that is the aim"""
    of: int | None = key(check.number(0, 100_000, whole=True), default=None)
    """batches in all"""
