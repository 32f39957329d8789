"""The far view: what wants a hand next, readable from across the room; nothing else of the day."""

from __future__ import annotations

from dataclasses import dataclass
from math import tan

from rich.text import Text
from textual.app import ComposeResult
from textual.screen import Screen
from textual.widgets import Static

from dyeday.bench import glyphs
from dyeday.bench.keeper import Keeper
from dyeday.bench.lines import unsaved_words
from dyeday.bench.look import Look
from dyeday.bench.typed_ahead import TypedAhead
from dyeday.paper.page import clip
from dyeday.track.alarms import standing
from dyeday.track.clocks import Clock, clock_of, tank_clocks
from dyeday.track.day import Day
from dyeday.track.instant import Now
from dyeday.track.record import BatchRecord
from dyeday.track.told import state_word

ARC_20_MIN = 20 / 60 * 3.141592653589793 / 180
"""Visual angle of characters that read well: 20 to 22 minutes of arc (ISO 9241-303, NUREG-0700)."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What will want a hand: its batch or unit, its word, its time, its urgency (2 alarm, 1 due, 0 coming)."""

    about: str
    word: str
    left_s: float
    urgency: int
    unacknowledged: bool = False

    @property
    def digits(self) -> str:
        """Minutes left or over; in the last minute seconds, as 0:42."""
        length = abs(self.left_s)
        if 0 < self.left_s < 60:
            return f"0:{int(length):02d}"
        minutes = int(length // 60)
        return str(minutes) if minutes < 600 else f"{minutes // 60}:{minutes % 60:02d}"

    @property
    def sense(self) -> str:
        return "left" if self.left_s > 0 else "over"


def wanted(day: Day, now: Now) -> list[Wanted]:
    """Return what wants a hand, most urgent first: alarms, then what is longest due, then what comes soonest."""
    alarmed = {no: a for a in standing(day, now) if a.until is None for no in (a.batches or (str(a.unit),))}
    found = []
    for batch in day.live:
        clock = clock_of(day, batch, now)
        if clock is not None and clock.left_s is not None and not (clock.what == "dry" and clock.left_s > 0):
            found.append(_wanted(batch.no, _word(batch, clock), clock, alarmed.get(batch.no), now))
    found += [_wanted(str(c.unit), "tank", c, alarmed.get(c.unit), now) for c in tank_clocks(day, now)]
    return sorted(found, key=lambda w: (-w.urgency, w.left_s))


def _wanted(about: str, word: str, clock: Clock, alarm: object, now: Now) -> Wanted:
    left = clock.left_s or 0.0
    active = alarm is not None and alarm.state(now.utc) == "active"  # type: ignore[attr-defined]
    return Wanted(about, word, left, 2 if alarm is not None else int(left <= 0), active)


def _word(batch: BatchRecord, clock: Clock) -> str:
    """Return what to do when the time has come, in one word."""
    if clock.what in ("heat", "warm-up"):
        return "heat off"
    if clock.what == "soak":
        return batch.the_layer.word
    if clock.what == "cool":
        return "rinse" if batch.is_last_layer else batch.colourway.layers[batch.layer].word
    return {"rest": "heat on", "wait": "heat on", "dry": "dry"}.get(clock.what, state_word(batch))


def reading_m(screen_height_mm: float, rows: int) -> float:
    """Return from how many metres a digit of seven rows reads well: height / tan(20 minutes of arc)."""
    return screen_height_mm / rows * glyphs.ROWS / tan(ARC_20_MIN) / 1000


def far_text(
    things: list[Wanted],
    width: int,
    height: int,
    *,
    look: Look,
    lit: bool,
    screen_mm: float | None,
    unsaved: str = "",
) -> Text:
    """Return the far view for a terminal of ``width`` x ``height``. ``lit`` is whether the mark shows just now;
    ``unsaved`` stands at the foot while nothing can be saved."""
    text = Text(no_wrap=True, overflow="crop")
    if not things:
        text.append("\n\n")
        for line in glyphs.half("NO CLOCK"):
            text.append(f"  {line}\n", style="bold")
        text.append("\n  no clock runs; v goes back\n")
        return text
    first = things[0]
    mark = {2: "!", 1: "*", 0: " "}[first.urgency]
    style = {2: look.urgent, 1: look.due, 0: "bold"}[first.urgency]
    number = first.about if len(first.about) <= 3 else ""
    shown_mark = mark if lit or not first.unacknowledged else " "
    mark_rows, number_rows = glyphs.large(shown_mark), glyphs.large(number)
    for m, n in zip(mark_rows, number_rows, strict=True):
        text.append(" ")
        text.append(m, style=style if shown_mark.strip() else "")
        text.append("  ")
        text.append(n + "\n", style="bold")
    text.append("\n")
    words = first.word if number else f"{first.about} {first.word}"
    fitting = glyphs.half(words) if len(words) * 6 + 2 <= width else [words]
    for line in fitting:
        text.append(f"  {line}\n", style="bold")
    digits = first.digits
    sense = glyphs.half(first.sense)
    room = glyphs.width_large(digits) + 26 <= width
    for row, line in enumerate(glyphs.large(digits)):
        beside = f"  {sense[row - 3]}" if room and row >= 3 else ""
        text.append(f"  {line}{beside}\n", style="bold")
    used = 7 + 1 + len(fitting) + 7
    if used + 4 < height:
        text.append("\n")
        for other in things[1:3]:
            sign = {2: "!", 1: "*", 0: " "}[other.urgency]
            text.append(clip(f"  {sign} {other.about}  {other.word}  {other.sense} {other.digits}", width) + "\n")
    if unsaved:
        text.append(clip(f"  ! {unsaved}", width), style=look.urgent)
    else:
        text.append(clip("  " + _distance(screen_mm, height), width), style=look.quiet)
    return text


def _distance(screen_mm: float | None, height: int) -> str:
    if screen_mm is None:
        return "v goes back; with session.screen_height it says from how far it reads"
    return f"the digits read from {reading_m(screen_mm, height):.1f} m; v goes back"


class FarScreen(TypedAhead, Screen[None]):
    """The far view; the app's tick paints it, the app's blink moves its mark."""

    BINDINGS = [("v,escape,q", "back", "back"), ("g", "app.guard", "guard")]  # noqa: RUF012

    def __init__(self, keeper: Keeper) -> None:
        super().__init__()
        self.keeper = keeper
        self.lit = True
        self.said: Text | None = None

    def compose(self) -> ComposeResult:
        yield Static(id="far")

    def on_mount(self) -> None:
        self.paint()

    def on_resize(self) -> None:
        self.paint()

    def paint(self) -> None:
        if not self.query("#far"):
            return
        things = wanted(self.keeper.day, self.keeper.now())
        height = self.keeper.day.plan.session.screen_height_mm
        width, rows = self.app.size
        unsaved = unsaved_words(self.keeper)
        text = far_text(things, width, rows, look=self.look, lit=self.lit, screen_mm=height, unsaved=unsaved)
        if self.said is None or self.said != text or self.said.spans != text.spans:
            self.said = text
            self.query_one("#far", Static).update(text)

    def blink(self) -> None:
        self.lit = not self.lit
        self.paint()

    def action_back(self) -> None:
        self.dismiss(None)
