"""The far view: what wants a hand next, readable from across the room; the bench's next lines and nothing else."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import tan

from rich.cells import cell_len
from rich.text import Text
from textual.app import ComposeResult
from textual.screen import Screen

from dyeday.ahead.next_up import SOON_DRY_S, NextUp
from dyeday.ahead.steps import next_step
from dyeday.bench import glyphs
from dyeday.bench.board import Board, Line
from dyeday.bench.keeper import Keeper
from dyeday.bench.lines import unsaved_words
from dyeday.bench.look import Look
from dyeday.bench.typed_ahead import TypedAhead
from dyeday.paper.page import clip
from dyeday.track.alarms import standing
from dyeday.track.clocks import Clock, clock_of, clocks_of, tank_clocks
from dyeday.track.day import Day
from dyeday.track.instant import Now, elapsed_s, whole_min
from dyeday.track.record import BatchRecord
from dyeday.track.told import state_word

ARC_20_MIN = 20 / 60 * 3.141592653589793 / 180
"""Visual angle of characters that read well: 20 to 22 minutes of arc (ISO 9241-303, NUREG-0700)."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What will want a hand: its batch or unit, its word, its time, its urgency (2 alarm, 1 due, 0 coming).

    ``left_s`` is negative once its time is over, None where nothing is timed; then ``so_far_s`` may tell how long
    it has been so.
    """

    about: str
    word: str
    left_s: float | None
    urgency: int
    unacknowledged: bool = False
    so_far_s: float | None = None

    @property
    def digits(self) -> str:
        """Minutes left, over or so far; in the last minute seconds, as 0:42; empty where nothing is timed."""
        if self.left_s is not None and 0 < self.left_s < 60:
            return f"0:{int(self.left_s):02d}"
        length = self.so_far_s if self.left_s is None else self.left_s
        if length is None:
            return ""
        minutes = whole_min(length)
        if minutes < 600:
            return str(minutes)
        return f"{minutes // 60}:{minutes % 60:02d}" if minutes < 6000 else f"{minutes // 1440}d"

    @property
    def sense(self) -> str:
        if self.left_s is None:
            return "" if self.so_far_s is None else "for"
        return "left" if self.left_s > 0 else "over"


def wanted(day: Day, now: Now, items: Sequence[NextUp]) -> list[Wanted]:
    """Return what wants a hand in the order of ``items``, the bench's next lines; then what is still running.

    The running clocks follow soonest first. Yarn that dries is not waited for here.
    """
    stand = [alarm for alarm in standing(day, now) if alarm.until is None]
    active = {no for a in stand if a.state(now.utc) == "active" for no in (a.batches or (str(a.unit),))}
    tanks = {str(clock.unit): clock for clock in tank_clocks(day, now)}
    found: list[Wanted] = []
    for item in items:
        first = item.about.split("+")[0]
        if item.is_chore:
            # No clock of the batch is about its chore.
            found.append(_wanted(item.about, item.do, None, 0, False))
            continue
        batch = day.batches.get(first)
        clock = tanks.get(first) if batch is None else _clock(day, batch, now)
        word = ("tank" if first in tanks else item.do) if batch is None else _next_word(day, batch, now, item.do)
        urgency = {"!": 2, "*": 1}.get(item.mark, 0)
        unacknowledged = bool(active & set(item.about.split("+")))
        found.append(_wanted(item.about, word, clock, urgency, unacknowledged))
    named = {about for thing in found for about in thing.about.split("+")}
    running = []
    for batch in day.live:
        clock = clock_of(day, batch, now)
        if batch.no not in named and clock is not None and clock.left_s is not None and clock.what != "dry":
            running.append(_wanted(batch.no, _word(batch, clock), clock, int(clock.is_due), batch.no in active))
    for unit, clock in tanks.items():
        if unit not in named:
            running.append(_wanted(unit, "tank", clock, int(clock.is_due), unit in active))
    return [*found, *sorted(running, key=lambda w: w.left_s or 0.0)]


def _clock(day: Day, batch: BatchRecord, now: Now) -> Clock | None:
    """Return the clock a next line speaks of: yarn about to dry out goes before all else, as there."""
    clocks = list(clocks_of(day, batch, now))
    drying = [c for c in clocks if c.what == "wait" and c.left_s is not None and c.left_s < SOON_DRY_S]
    return next(iter([*drying, *clocks]), None)


def _wanted(about: str, word: str, clock: Clock | None, urgency: int, unacknowledged: bool) -> Wanted:
    if clock is None:
        return Wanted(about, word, None, urgency, unacknowledged)
    so_far = clock.elapsed_s if clock.left_s is None else None
    return Wanted(about, word, clock.left_s, urgency, unacknowledged, so_far)


def _next_word(day: Day, batch: BatchRecord, now: Now, do: str) -> str:
    """Return what hands do next with a batch, in a word or two."""
    step = next_step(day, batch, now)
    if do.startswith("move out of"):
        return "move out"
    if step is None:
        return do
    if step.run is not None:
        return {"end": "heat off", "start": "heat on"}.get(step.run, do)
    if step.to == "paint":
        return batch.layer_of(step.layer or batch.layer).word
    return {"dry": "hang up", "done": "take down", "set-aside": "set aside"}.get(str(step.to), str(step.to))


def _word(batch: BatchRecord, clock: Clock) -> str:
    """Return what to do when a running clock's time has come, in one word."""
    if clock.what in ("heat", "warm-up"):
        return "heat off"
    if clock.what == "soak":
        return batch.the_layer.word
    if clock.what == "cool":
        return "rinse" if batch.is_last_layer else batch.colourway.layers[batch.layer].word
    return {"rest": "heat on", "wait": "heat on"}.get(clock.what, state_word(batch))


def reading_m(screen_height_mm: float, rows: int) -> float:
    """Return from how many metres a digit of seven rows reads well: height / tan(20 minutes of arc)."""
    return screen_height_mm / rows * glyphs.ROWS / tan(ARC_20_MIN) / 1000


NEAR_S, LOOK_S = 70.0, 3.0
"""with no clock as near to its time as this, looking every few seconds will do"""
MARKS = {2: "!", 1: "*", 0: " "}
FULL_ROWS, FULL_COLUMNS = 20, 60
"""rows and columns from which number, word and time stand one above the other"""
HALF_ROWS, HALF_COLUMNS = 9, 34
"""rows and columns from which letters drawn in half blocks have room; below there is only text"""


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
    if unsaved and height > 1:
        text = _drawn(things, width, height - 1, look, lit, None)
        text.append("\n" * (height - 1 - text.plain.count("\n")))
        text.append(clip(f"  ! {unsaved}", width), style=look.urgent)
        return text
    return _drawn(things, width, height, look, lit, screen_mm)


def _drawn(things: list[Wanted], width: int, height: int, look: Look, lit: bool, screen_mm: float | None) -> Text:
    if not things:
        drawn = "NOTHING" if width >= 50 and height >= 8 else ""
        text = Text("\n" * min(2, height // 4), no_wrap=True, overflow="crop")
        for line in glyphs.half(drawn) if drawn else ():
            text.append(f"  {line}\n", style="bold")
        text.append(clip("  nothing for hands, no clock runs; v goes back", width))
        return text
    if height >= FULL_ROWS and width >= FULL_COLUMNS:
        return _full(things, width, height, look, lit, screen_mm)
    if height >= HALF_ROWS and width >= HALF_COLUMNS:
        return _half(things, width, height, look, lit)
    return _tiny(things, width, height, look, lit)


def _style(thing: Wanted, look: Look) -> str:
    return {2: look.urgent, 1: look.due, 0: "bold"}[thing.urgency]


def _mark(thing: Wanted, lit: bool) -> str:
    return MARKS[thing.urgency] if lit or not thing.unacknowledged else " "


def _names(thing: Wanted) -> tuple[str, str]:
    """Return what it is about, and shorter: the first of several and a sign that there are more."""
    return thing.about, thing.about.split("+")[0] + ("+" if "+" in thing.about else "")


def _full(things: list[Wanted], width: int, height: int, look: Look, lit: bool, screen_mm: float | None) -> Text:
    text = Text(no_wrap=True, overflow="crop")
    first = things[0]
    number = next((said for said in _names(first) if glyphs.width_large(said) + 14 <= width), "")
    shown = _mark(first, lit)
    for m, n in zip(glyphs.large(shown), glyphs.large(number), strict=True):
        text.append(" ")
        text.append(m, style=_style(first, look) if shown.strip() else "")
        text.append("  ")
        text.append(n + "\n", style="bold")
    text.append("\n")
    words = first.word if number else f"{first.about} {first.word}".strip()
    fitting = glyphs.half(words) if len(words) * 6 + 2 <= width else [clip(words, width - 2)]
    for line in fitting:
        text.append(f"  {line}\n", style="bold")
    timed = first if first.digits else _soonest(things[1:])
    digits = timed.digits if timed is not None else ""
    whose = timed.about if timed is not None and timed is not first else ""
    # A time that is another's than the first thing's says whose, in front.
    before, sense = glyphs.half(whose), glyphs.half(timed.sense if timed is not None else "")
    room = glyphs.width_large(digits) + 26 + 6 * len(whose) <= width
    for row, line in enumerate(glyphs.large(digits) if digits else ()):
        half = row - 3
        front = "" if not whose else (f"{before[half]}  " if row >= 3 else " " * (cell_len(before[0]) + 2))
        behind = f"  {sense[half]}" if room and row >= 3 else ""
        text.append(f"  {front}{line}{behind}\n", style="bold" if not whose else "")
    used = 7 + 1 + len(fitting) + (7 if digits else 0)
    if used + 4 <= height:
        text.append("\n")
        for other in _after(things, min(3, height - used - 2), timed):
            text.append(clip(f"  {_line(other)}", width) + "\n")
    text.append(clip("  " + _distance(screen_mm, height), width), style=look.quiet)
    return text


def _soonest(things: list[Wanted]) -> Wanted | None:
    """Return what comes soonest of what is timed."""
    timed = [thing for thing in things if thing.left_s is not None]
    return min(timed, key=lambda thing: thing.left_s or 0.0, default=None)


def _after(things: list[Wanted], room: int, shown: Wanted | None = None) -> list[Wanted]:
    """Return the two after the first, and the soonest clock where neither they nor ``shown`` are it."""
    soonest = _soonest(things[1:])
    more = [] if soonest is None or soonest is shown or soonest in things[1:3] else [soonest]
    return [*things[1:3], *more][:room]


def _line(thing: Wanted) -> str:
    about = f"{thing.about}  " if thing.about else ""
    return f"{MARKS[thing.urgency]} {about}{thing.word}  {thing.sense} {thing.digits}".rstrip()


def _half(things: list[Wanted], width: int, height: int, look: Look, lit: bool) -> Text:
    """Return the view in letters four rows high: number and time side by side, the word below."""
    text = Text(no_wrap=True, overflow="crop")
    first = things[0]
    number = next((said for said in _names(first) if (len(said) + len(first.digits) + 3) * 6 <= width), "")
    blocks = [glyphs.half(part) for part in (number, first.digits) if part]
    for row, mark in enumerate(glyphs.half(_mark(first, lit))):
        text.append(f" {mark}", style=_style(first, look) if mark.strip() else "")
        text.append("  " + "    ".join(block[row] for block in blocks) + "\n", style="bold")
    words = first.word if number else f"{first.about} {first.word}".strip()
    for line in glyphs.half(words) if len(words) * 6 <= width else [clip(words, width - 2)]:
        text.append(f" {line}\n", style="bold")
    text.append(clip(f" {first.sense or 'next'}; v goes back", width), style=look.quiet)
    for other in _after(things, height - 9):
        text.append("\n" + clip(f" {_line(other)}", width))
    return text


def _tiny(things: list[Wanted], width: int, height: int, look: Look, lit: bool) -> Text:
    """Return the view in plain text: the first thing on three lines, then one a line."""
    text = Text(no_wrap=True, overflow="crop")
    first = things[0]
    text.append(_mark(first, lit), style=_style(first, look))
    lines = [f" {first.about}", first.word, f"{first.sense} {first.digits}".strip()]
    if height < 3:
        lines = [f" {first.about} {first.digits} {first.word}", ""]
    more = [_line(other).strip() for other in things[1:]]
    text.append(clip(lines[0], max(1, width - 1)), style="bold")
    for line in [*(line for line in lines[1:] if line), *more][: max(0, height - 1)]:
        text.append("\n" + clip(line, width))
    return text


def _distance(screen_mm: float | None, height: int) -> str:
    if screen_mm is None:
        return "v goes back; with session.screen_height it says from how far it reads"
    return f"the digits read from {reading_m(screen_mm, height):.1f} m; v goes back"


class FarScreen(TypedAhead, Screen[None]):
    """The far view; the app's tick paints it, the app's blink moves its mark."""

    BINDINGS = [("v,escape,q", "back", "back"), ("g", "app.guard", "guard")]  # noqa: RUF012

    def __init__(self, keeper: Keeper, items: Callable[[], Sequence[NextUp]]) -> None:
        """``items`` gives the bench's next lines as they are now."""
        super().__init__()
        self.keeper = keeper
        self.items = items
        self.lit = True
        self.board = Board(id="far")
        self._looked: tuple[Day, Now] | None = None

    def compose(self) -> ComposeResult:
        yield self.board

    def on_mount(self) -> None:
        self.paint()

    def on_resize(self) -> None:
        self.paint()

    def paint(self) -> None:
        """Show what wants a hand as it is now; only lines that say something else are drawn again."""
        if not self.is_mounted:
            return
        day, now = self.keeper.day, self.keeper.now()
        things = wanted(day, now, self.items())
        soonest = min((abs(thing.left_s) for thing in things if thing.left_s is not None), default=NEAR_S)
        self._looked = (day, now) if soonest >= NEAR_S and not self.keeper.trouble else None
        height = self.keeper.day.plan.session.screen_height_mm
        width, rows = self.app.size
        unsaved = unsaved_words(self.keeper)
        text = far_text(things, width, rows, look=self.look, lit=self.lit, screen_mm=height, unsaved=unsaved)
        self.board.show([Line(line, self.look.ground) for line in text.split("\n")[:rows]], self.look.ink)

    def ticked(self) -> None:
        before = self._looked
        same = before is not None and before[0] is self.keeper.day
        if before is None or not same or not 0 <= elapsed_s(before[1], self.keeper.now()) < LOOK_S:
            self.paint()

    def blinked(self, lit: bool) -> bool:
        if lit != self.lit:
            self.lit = lit
            self.paint()
        return True

    def action_back(self) -> None:
        self.dismiss(None)
