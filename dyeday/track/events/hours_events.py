"""Events that change a running day's hours: its stop, breaks, absences, hands, and aim."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

from dyeday.plan.model import Spans
from dyeday.plan.writing.toml_values import plan_time
from dyeday.quick_dataclass import altered
from dyeday.terms import DayAim
from dyeday.text import brief
from dyeday.track import event_keys as check
from dyeday.track.day.day_state import Body, Day, Event
from dyeday.track.event_keys import EventError, key

DROPPED = "-"
"""the new span of a break or absence that is dropped"""
AIM_WORDS = {
    DayAim.BY_STOP: "most rinsed by stop",
    DayAim.TONIGHT: "all rinsed as early as possible",
    DayAim.HEAT_BY_STOP: "most through their heat by stop",
}
"""the screen's words for the aim of a day"""


def clock_min(text: object) -> int | None:
    """Return minutes from midnight of "20:00" or "01:30+1"; None where it is not a time."""
    from dyeday.plan.reading import table_reader  # knows units, which an open session does not need

    return table_reader.clock_min(text)


def _clock(name: str, value: Any) -> str:
    if clock_min(value) is None:
        raise EventError(f"{name} {brief(value)} is not a time", "write a time such as 20:00")
    return str(value).strip()


def _span(name: str, value: Any) -> str:
    if str(value).strip() == DROPPED:
        return DROPPED
    begin, dash, end = str(value).partition("-")
    first, last = clock_min(begin), clock_min(end)
    if not dash or first is None or last is None or last <= first:
        raise EventError(f"{name} {brief(value)} is not a span of time", "write two times such as 15:05-15:40")
    return f"{begin.strip()}-{end.strip()}"


def span_text(span: tuple[int, int]) -> str:
    """Return "18:30-20:00" of minutes from midnight, "23:30-01:00+1" past it: as it is typed."""
    return "-".join(map(plan_time, span))


def _minutes(span: str) -> tuple[int, int]:
    begin, _, end = span.partition("-")
    return clock_min(begin) or 0, clock_min(end) or 0


def _shown(text: str, day: Day | None) -> str:
    """Return a time or a span as screens show it: "23:15-Sat 09:00"."""
    if day is None or "+" not in text:
        return text
    date = day.plan.session.date
    parts = (part.split("+") for part in text.split("-"))
    return "-".join(f"{date + timedelta(days=int(later[0])):%a} {time}" if later else time for time, *later in parts)


class HoursChanged(Body):
    """The day's hours were changed."""

    NAME = "hours"
    KNOWN_BY = ("stop", "break", "out", "hands", "aim")
    ONE_OF = KNOWN_BY
    MISSING = "change"
    MATCH_ORDER = 3
    stop: str | None = key(_clock, default=None)
    break_: str | None = key(_span, name="break", default=None)
    """an additional break"""
    out: str | None = key(_span, default=None)
    """an additional absence: no hands, and no heat"""
    instead: str | None = key(_span, default=None)
    """the break or absence that is moved there, or dropped with "-"; None where one is added"""
    hands: int | None = key(check.number(1, 20, whole=True), default=None)
    """how many people work: for learned times and proposals; the forecast plans one pair of hands all the same"""
    aim: DayAim | None = key(check.term(DayAim), default=None)

    def apply(self, day: Day, event: Event) -> Day:
        session = day.plan.session
        session = replace(
            session,
            stop_min=session.stop_min if self.stop is None else clock_min(self.stop) or 0,
            breaks=self._moved(session.breaks, self.break_),
            out=self._moved(session.out, self.out),
            hands=self.hands or session.hands,
            aim=self.aim or session.aim,
        )
        changed = altered(day, plan=altered(day.plan, session=session))
        return changed if self.aim is None else altered(changed, chosen_aim=self.aim)

    def _moved(self, spans: Spans, to: str | None) -> Spans:
        if to is None:
            return spans
        was = _minutes(self.instead) if self.instead is not None else None
        others = tuple(span for span in spans if span != was)
        return others if to == DROPPED else (*others, _minutes(to))

    def refuse(self, day: Day, event: Event, *, typed: bool) -> None:
        stop = clock_min(self.stop) if self.stop is not None else None
        if stop is not None and stop <= day.plan.session.start_min:
            raise EventError(f"{self.stop} is not after the day's start", 'after midnight write "01:30+1"')
        if self.instead is None and DROPPED in (self.break_, self.out):
            raise EventError('"-" names no break or absence', 'add "instead": "15:05-15:40", the one that is dropped')
        if self.instead is not None and typed:
            session = day.plan.session
            spans, word = (session.breaks, "break") if self.break_ is not None else (session.out, "absence")
            if _minutes(self.instead) not in spans:
                known = ", ".join(span_text(span) for span in spans) or "none"
                raise EventError(f"there is no {word} {self.instead} to move", f"the day has {known}")

    def words(self, event: Event, day: Day | None) -> str:
        aim = AIM_WORDS[self.aim] if self.aim is not None else None
        new = {"stop": self.stop, "break": self.break_, "out": self.out, "hands": self.hands, "aim:": aim}
        changes = {word: f"{word} {_shown(str(value), day)}" for word, value in new.items() if value is not None}
        for word, name in (("break", "break"), ("out", "absence")):
            if self.instead is not None and word in changes:
                was = _shown(self.instead, day)
                changes[word] = f"no {name} {was}" if new[word] == DROPPED else f"{changes[word]} instead of {was}"
        return ", ".join(changes.values())
