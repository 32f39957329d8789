"""How much a thing wants a hand: calm, ready, over, or alarming; its sign, and its style in a look."""

from __future__ import annotations

from enum import IntEnum

from dyeday.ahead.advising.next_up import NextUp
from dyeday.bench.looks.themes import LookStyles
from dyeday.terms import ClockKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.timers.clocks import Clock

HARM_RANK = 2
"""what is next up to this rank is about one of them"""


class Urgency(IntEnum):
    """How much a thing wants a hand; a greater one comes first."""

    CALM = 0
    READY = 1
    """its time has come, and it takes no harm by waiting"""
    OVER = 2
    """past its time and coming to harm"""
    ALARM = 3

    sign: str
    """a space, "•" or "!": one cell"""

    def __init__(self, value: int) -> None:
        self.sign = " •!!"[value]

    def style(self, look: LookStyles) -> str:
        """Return its Rich style in ``look``; empty for calm."""
        return ("", look.due, look.urgent, look.urgent)[self]


def of_clock(clock: Clock | None, batch: BatchRecord | None, alarmed: bool) -> Urgency:
    """Return how urgent a clock is; ``batch`` is whose it is, where it is of one."""
    if alarmed:
        return Urgency.ALARM
    if clock is None or not clock.calls_hands:
        return Urgency.CALM
    heat = batch.open_heat if batch is not None else None
    off_by_itself = clock.what is ClockKind.HEAT and heat is not None and heat.own_end is not None
    return Urgency.OVER if clock.harms and not off_by_itself else Urgency.READY


def of_item(item: NextUp) -> Urgency:
    """Return how urgent one thing to do is."""
    if item.mark == "!":
        return Urgency.ALARM
    if item.mark != "*":
        return Urgency.CALM
    return Urgency.OVER if item.rank <= HARM_RANK else Urgency.READY
