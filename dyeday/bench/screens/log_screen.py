"""Every entry of the day, one a line: the chosen one is made void, made valid, or corrected, with a reason."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from typing import Any

from rich.text import Text
from textual.app import ComposeResult
from textual.widgets import Static

from dyeday.bench.looks.themes import LookStyles
from dyeday.bench.main_screen import BenchScreen
from dyeday.bench.plain_app import DrawnEachSecond
from dyeday.bench.widgets.board import list_line, seen_of, side_by_side
from dyeday.bench.widgets.one_line import Foot, Message
from dyeday.text import pad, wrap
from dyeday.track.day.day_state import Day, Event
from dyeday.track.day.progress import state_word
from dyeday.track.events.rewriting import Corrected
from dyeday.track.timestamp import time_text_on

WIDE = 120
"""cells from which the chosen entry stands in full beside the list"""
MOST_SAID = 2
"""lines of a message"""
Asking = Callable[[Event], Coroutine[Any, Any, None]]
CHOOSE, BACK = ("up down", "choose"), ("escape", "back")


class LogScreen(DrawnEachSecond[None]):
    """The log, newest at the foot. ``void`` and ``correct`` ask about the chosen event; the bench's messages show."""

    BINDINGS = [  # noqa: RUF012
        ("escape,q,l", "back", "back"),
        ("up", "move(-1)", "up"),
        ("down", "move(1)", "down"),
        ("pageup", "move(-15)", "page up"),
        ("pagedown", "move(15)", "page down"),
        ("z", "give('void')", "void"),
        ("c", "give('correct')", "correct"),
    ]

    def __init__(self, bench: BenchScreen, void: Asking, correct: Asking) -> None:
        super().__init__()
        self.bench, self.live, self.void, self.correct = bench, bench.live, void, correct
        self._said = self._said_before = bench.message
        self._shown: Day | None = None
        events = self._events()
        self._chosen_id = events[-1].id if events else ""

    def _events(self) -> list[Event]:
        return sorted(self.live.day.shown_events, key=lambda event: event.at)

    def _place(self, events: list[Event]) -> int:
        """Return the place of the chosen entry, which a late earlier one does not change."""
        return next((n for n, event in enumerate(events) if event.id == self._chosen_id), len(events) - 1)

    def compose(self) -> ComposeResult:
        yield Static(Text(" Every entry of the day", style="bold"), classes="heading")
        yield Static(id="log-lines")
        yield Message(MOST_SAID)
        yield Foot()

    def on_screen_resume(self) -> None:
        self.show()

    def ticked(self) -> None:
        if self._shown is not self.live.day or self._said is not self.bench.message:
            self.show()

    def show(self) -> None:
        """Show the entries around the chosen one, as the day is now."""
        if not self.query(Foot):
            return
        self._shown, self._said, message = self.live.day, self.bench.message, self.query_one(Message)
        words, is_wrong = self._said
        message.display = self._said is not self._said_before and words != ""
        message.say(words, style=self.look.flag_style if is_wrong else "")
        room, width = max(1, self.app.size.height - 3 - MOST_SAID * message.display), self.app.size.width
        events = self._events()
        place = self._place(events)
        if width >= WIDE and events:
            left = width * 3 // 5
            lines = log_lines(self.live.day, events, place, room, left, self.look)
            side = log_detail(self.live.day, events[place], width - left - 3)
            text = side_by_side(lines, side, left, room, self.look)
        else:
            text = Text("\n").join(log_lines(self.live.day, events, place, room, width, self.look))
        self.query_one("#log-lines", Static).update(text)
        self.query_one(Foot).show(self._keys(events[place] if events else None))

    def _keys(self, chosen: Event | None) -> list[tuple[str, str]]:
        if chosen is None:
            return [BACK]
        if self.live.read_only:
            return [CHOOSE, BACK]
        verb = "redo" if chosen.id in self.live.day.void_ids else "void"
        return [CHOOSE, ("z", verb), ("c", "correct"), BACK]

    def action_move(self, step: int) -> None:
        if events := self._events():
            self._chosen_id = events[max(0, min(len(events) - 1, self._place(events) + step))].id
        self.show()

    def action_give(self, to: str) -> None:
        """Void or correct the chosen entry; not on a read-only bench."""
        events = self._events()
        if events and not self.live.read_only:
            self.bench.put_questions((self.void if to == "void" else self.correct)(events[self._place(events)]))


def log_lines(day: Day, events: list[Event], place: int, room: int, width: int, look: LookStyles) -> list[Text]:
    """Return as many entries around the chosen one as there is room for."""
    if not events:
        return [Text(" nothing is on record yet")]
    corrected = {e.body.target_id for e in events if isinstance(e.body, Corrected) and e.id not in day.void_ids}
    start = events[0].at
    lines = []
    for n in seen_of(len(events), place, room):
        event = events[n]
        dead = event.id in day.void_ids
        marks = (("void", dead), ("recorded late", event.is_late), ("corrected", event.id in corrected))
        notes = [word for word, holds in marks if holds]
        when = time_text_on(event.at, day.plan.session.zone, start)
        line = f"{when:7} {event.whose}{event.text(day)}" + (f"  ({', '.join(notes)})" if notes else "")
        style = " strike" if dead else ""
        lines.append(list_line(pad(line, width - 2), look, chosen=n == place, style=style))
    return lines


def log_detail(day: Day, event: Event, width: int) -> list[str]:
    """Return all that is known of one entry: when it happened and was recorded, its batches, what became of it."""
    zone = day.plan.session.zone
    when, recorded = (time_text_on(at, zone, event.at) for at in (event.at, event.recorded_at))
    late = ", late" if event.is_late else ""
    lines = [f"{when} {event.whose}{event.text(day)}", "", f"recorded at {recorded}{late}"]
    for no in event.batches:
        if (batch := day.batches.get(no)) is not None:
            lines.append(f"{no} {batch.colourway.name} on {batch.base.name}, now {state_word(batch)}")
    for other in day.events:
        body = other.body
        if isinstance(body, Corrected) and body.target_id == event.id and other.id not in day.void_ids:
            lines.append(f"corrected at {time_text_on(other.recorded_at, zone, event.at)}: {other.text(day)}")
    if event.id in day.void_ids:
        lines.append("void: does not count, but stays readable here")
    return [part for line in lines for part in (wrap(line, width, "  ", "") or [""])]
