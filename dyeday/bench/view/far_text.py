"""The far view for a terminal of any size: large where there is room, else plain text."""

from __future__ import annotations

from dataclasses import replace
from math import ceil, pi, tan

from rich.cells import cell_len
from rich.text import Text

from dyeday.bench.looks.themes import LookStyles
from dyeday.bench.view import glyphs
from dyeday.bench.view.attention import Attention, TimeSense
from dyeday.bench.widgets.board import Canvas
from dyeday.quick_dataclass import dataclass
from dyeday.text import clip, wrap

ARC_20_MIN = 20 / 60 * pi / 180
"""Visual angle of characters that read well: 20 to 22 minutes of arc (ISO 9241-303, NUREG-0700)."""
FULL_ROWS, FULL_COLUMNS = 20, 60
"""rows and columns from which number, word and time stand one above the other"""
NEXT_ROWS, LEAST_NEXT_ROWS, COMMON_ROWS = 4, 2, 23
"""lines kept for what comes next, however large the first; fewer below a terminal of 24, less its first line"""
MARK_COLUMNS = 8
MOST_NUMBER = 4
"""characters of a batch's number that stand beside the minutes; a longer name stands with the words"""
HALF_LEAST_ROWS, HALF_LEAST_COLUMNS = 9, 34
"""rows and columns from which letters drawn in half blocks have room; below there is only text"""


MOST_SCALE = 12
"""columns a dot at most"""


def reading_m(screen_height_mm: float, rows: int, scale: int = 2) -> float:
    """Return from how many metres characters of ``scale`` read well: height / tan(20 minutes of arc).

    ``rows`` is the terminal's height; a character is 3.5 rows high at scale 1, as digits are 7 at scale 2.
    """
    return screen_height_mm / rows * glyphs.ROWS * scale / 2 / tan(ARC_20_MIN) / 1000


@dataclass(frozen=True, slots=True)
class FarStatus:
    """What the far view shows beside the things that need attention."""

    lit: bool
    screen_mm: float | None
    unsaved: str = ""
    """at the foot while nothing can be saved"""
    silences: bool = False
    """whether a key would silence an alarm"""
    note: str = ""
    """what happened meanwhile, at the foot"""
    clock: str = ""
    finish: str = ""
    """this and the clock are the first line, where there is room"""


def far_text(things: list[Attention], canvas: Canvas, status: FarStatus) -> Text:
    """Return the far view of the things that need attention, the most urgent first."""
    width, height, look, _ = canvas
    foot = f"! {status.unsaved}" if status.unsaved else status.note
    text = Text(no_wrap=True, overflow="crop")
    if height > FULL_ROWS and width >= FULL_COLUMNS:
        room = width - cell_len(status.clock) - 4
        text.append(f" {status.clock}  {clip(status.finish, room).rjust(room)}\n", style=look.quiet)
    rows = height - text.plain.count("\n") - (bool(foot) and height > 1)
    # The part of the screen's height that these rows have.
    rows_mm = status.screen_mm * rows / height if status.screen_mm is not None and not status.unsaved else None
    text.append_text(_large(things, canvas.of(width, rows), replace(status, screen_mm=rows_mm)))
    if foot and height > 1:
        text.append("\n" * (height - 1 - text.plain.count("\n")))
        text.append(clip(f"  {foot}", width), style=look.urgent if status.unsaved else look.quiet)
    return text


def _large(things: list[Attention], canvas: Canvas, status: FarStatus) -> Text:
    """Return the view in letters as large as the canvas has room for."""
    width, height, _, _ = canvas
    if not things:
        text = Text("\n" * min(2, height // 4), no_wrap=True, overflow="crop")
        for line in glyphs.drawn("NOTHING", 1) if width >= 50 and height >= 8 else ():
            text.append(f"  {line}\n", style="bold")
        text.append(clip("  nothing to do, no timers running; v goes back", width))
        return text
    if height >= FULL_ROWS and width >= FULL_COLUMNS:
        return _Full(things, canvas).text(status)
    if height >= HALF_LEAST_ROWS and width >= HALF_LEAST_COLUMNS:
        return _half(things, canvas, status.lit)
    return _tiny(things, canvas, status.lit)


def _style(thing: Attention, look: LookStyles) -> str:
    return thing.urgency.style(look) or "bold"


def _mark(thing: Attention, lit: bool) -> str:
    return thing.urgency.sign if lit or not thing.unsilenced else " "


def _names(thing: Attention) -> tuple[str, str]:
    """Return what it is about, and shorter: the first of several and a sign that there are more."""
    return thing.about, thing.about.split("+")[0] + ("+" if "+" in thing.about else "")


class _Full:
    """The view where there is room: number and time side by side, what to do and where below, then what is next."""

    def __init__(self, things: list[Attention], canvas: Canvas) -> None:
        first = self.first = things[0]
        self.things = things
        self.width, self.height, self.look, _ = canvas
        height = self.height
        self.next_rows = NEXT_ROWS if height >= COMMON_ROWS else LEAST_NEXT_ROWS
        self.timed = first if first.sense is not None else _soonest(things[1:])
        short = next((name for name in _names(first) if len(name) <= MOST_NUMBER), "")
        for self.number, self.sense_scale in ((short, 1), (short, 0), ("", 1), ("", 0)):
            word = _first_word(first) if self.number else f"{first.about} {_first_word(first)}".strip()
            self.words = [word, *([first.unit] if first.unit and first.unit != first.about else [])]
            self.scale = next((n for n in range(MOST_SCALE, 1, -1) if self._fits(n)), 1)
            if self.scale > 1:
                break
        room = height - 3 - glyphs.height(self.scale) - self.next_rows
        scales = (n for n in range(self.scale - 1, 0, -1) if self._has_width_for_words(n))
        self.word_scale = next((n for n in scales if self._words_rows(n) <= room), 0)

    def _fits(self, scale: int) -> bool:
        """Return whether the digits fit beside the number, with room below for words that read from 4 m."""
        from_4_m = ceil(self.height / COMMON_ROWS)
        least = self._words_rows(from_4_m if self._has_width_for_words(from_4_m) else 1)
        rows = glyphs.height(scale) + least + 3 + self.next_rows
        return self._head_width(scale) <= self.width and rows <= self.height

    def _head_width(self, scale: int) -> int:
        timed = self.timed
        digits = timed.digits if timed is not None else ""
        parts = [part for part in (self.number, digits) if part]
        beside = [self._before(), max(self._sense(), key=len)]
        words = sum(2 + (glyphs.width(word, 1) if self.sense_scale else len(word)) for word in beside if word)
        gaps = (scale + 1) * (len(parts) - 1)
        return MARK_COLUMNS + sum(glyphs.width(part, scale) for part in parts) + gaps + words

    def _before(self) -> str:
        """Return what stands before the digits: "for 20 min" of what has no time set."""
        return TimeSense.SO_FAR.value if self.timed is not None and self.timed.sense is TimeSense.SO_FAR else ""

    def _sense(self) -> tuple[str, str]:
        """Return what stands behind the digits, in two lines: a time that is another's says whose."""
        if (timed := self.timed) is None:
            return "", ""
        sense = "" if timed.sense is None else timed.sense.value
        if timed is self.first:
            return ("", timed.time_unit) if self._before() else (timed.time_unit, sense)
        return timed.about if timed.sense is TimeSense.LEFT else f"{timed.about} {sense}", timed.time_unit

    def _words_rows(self, scale: int) -> int:
        return len(self._word_lines(scale)) * (glyphs.height(scale) + glyphs.blank_rows_below(scale))

    def _has_width_for_words(self, scale: int) -> bool:
        """Return whether each line of the words has room; at scale 1 one that has none becomes plain text."""
        return scale == 1 or all(glyphs.width(line, scale) + 2 <= self.width for line in self._word_lines(scale))

    def _word_lines(self, scale: int) -> list[str]:
        joined = " ".join(self.words)
        return [joined] if glyphs.width(joined, scale) + 2 <= self.width else self.words

    def text(self, status: FarStatus) -> Text:
        text = Text(no_wrap=True, overflow="crop")
        self._head(text, status.lit)
        for line in self._word_lines(self.word_scale or 1):
            fits = self.word_scale and glyphs.width(line, self.word_scale) + 2 <= self.width
            rows = glyphs.drawn(line, self.word_scale) if fits else [clip(line, self.width - 2)]
            for row in [*rows, *([""] * glyphs.blank_rows_below(self.word_scale) if fits else [])]:
                text.append(f"  {row}\n", style="bold")
        text.append("─" * self.width + "\n", style=self.look.quiet)
        room = self.height - text.plain.count("\n") - 1
        following = _after(self.things, room, self.timed)
        large = self._large(following[0], room) if following else []
        for row in [*large, *(_line(thing) for thing in following[bool(large) :])][:room]:
            text.append(clip(f"  {row}", self.width) + "\n")
        keys = f"{'[a] silence   ' if status.silences else ''}[v] back"
        far = "screen_height in the plan shows how far it reads"
        if status.screen_mm is not None:
            far = f"digits readable from about {reading_m(status.screen_mm, self.height, self.scale):.0f} m"
        text.append(clip(f"  {keys}   {far}", self.width), style=self.look.quiet)
        return text

    def _head(self, text: Text, lit: bool) -> None:
        """Put the mark, the number and the minutes side by side, and what the minutes are in half height."""
        digits = self.timed.digits if self.timed is not None else ""
        # Two words of half height need the blank row as well.
        rows = glyphs.height(self.scale) + glyphs.blank_rows_below(self.scale)
        if not digits and not self.number and not self.first.urgency:
            return
        shown = _mark(self.first, lit)
        mark = [*glyphs.drawn(shown, 1), *([" " * 5] * rows)]
        number, minutes = (
            [*glyphs.drawn(part, self.scale), " " * glyphs.width(part, self.scale)] for part in (self.number, digits)
        )
        before, behind = (self._beside(words, rows) for words in (("", self._before()), self._sense()))
        # Number and minutes must not read as one figure.
        wider = max(0, min(2 * self.scale, self.width - self._head_width(self.scale)))
        gap = "│".center(self.scale + 1 + wider) if self.number and self.timed is not None else ""
        for row in range(rows):
            text.append(f" {mark[row]}", style=_style(self.first, self.look) if shown.strip() else "")
            text.append(f"  {number[row]}", style="bold")
            text.append(f"{gap}{before[row]}")
            text.append(minutes[row], style="bold" if self.timed is self.first else "")
            text.append(f"  {behind[row]}".rstrip() + "\n")

    def _beside(self, words: tuple[str, str], rows: int) -> list[str]:
        """Return two words in half height, or as text, at the foot of ``rows``; nothing without a time."""
        if self.timed is None:
            return [""] * rows
        lines = [line for word in words for line in (glyphs.drawn(word, 1) if self.sense_scale else [word])]
        width = max(len(line) for line in lines)
        return [line.ljust(width + 2 * bool(width)) for line in [*([""] * (rows - len(lines))), *lines][-rows:]]

    def _large(self, thing: Attention, room: int) -> list[str]:
        """Return all of a thing, its time too, in letters at most half as large as the words; [] without room."""
        when = thing.begins or thing.in_words
        said = " ".join(filter(None, (thing.about, thing.word.removeprefix("heat "), when, thing.unit)))
        for scale in range(max(1, self.word_scale // 2) if when else 0, 0, -1):
            lines = wrap(said, ((self.width - 2) // scale + 1) // (glyphs.COLUMNS + 1))
            below = glyphs.blank_rows_below(scale)
            if len(lines) * (glyphs.height(scale) + below) <= room:
                return [row for line in lines for row in (*glyphs.drawn(line, scale), *[""] * below)]
        return []


def _soonest(things: list[Attention]) -> Attention | None:
    """Return what is over or ends first; how long something has been ready is nothing to be in time for."""
    timed = [thing for thing in things if thing.left_s is not None and thing.sense is not TimeSense.READY]
    return min(timed, key=lambda thing: thing.left_s or 0.0, default=None)


def _after(things: list[Attention], room: int, shown: Attention | None = None) -> list[Attention]:
    """Return ``room`` things after the first, alike ones once; the last is the soonest timer if nothing shows it."""
    by_line = {_line(thing): thing for thing in reversed(things)}
    following = [thing for thing in things[1:] if by_line[_line(thing)] is thing]
    soonest = _soonest(things[1:])
    if soonest is not None and soonest is not shown and soonest not in following[:room]:
        following[max(0, room - 1) :] = [soonest]
    return following[: max(0, room)]


def _line(thing: Attention) -> str:
    said = thing.listed or "  ".join(filter(None, (thing.word, thing.unit, thing.in_words)))
    return "  ".join(filter(None, (f"{thing.urgency.sign} {thing.about}".rstrip(), said)))


def _first_word(thing: Attention) -> str:
    """Return what to do, and when if that is not now: "off 14:26"."""
    return f"{thing.word.removeprefix('heat ')} {thing.begins}" if thing.begins else thing.word


def _half(things: list[Attention], canvas: Canvas, lit: bool) -> Text:
    """Return the view in letters four rows high: number and time side by side, the word below."""
    width, height, look, _ = canvas
    text = Text(no_wrap=True, overflow="crop")
    first = things[0]
    number = next((name for name in _names(first) if (len(name) + len(first.digits) + 3) * 6 <= width), "")
    blocks = [glyphs.drawn(part, 1) for part in (number, first.digits) if part]
    for row, mark in enumerate(glyphs.drawn(_mark(first, lit), 1)):
        text.append(f" {mark}", style=_style(first, look) if mark.strip() else "")
        text.append("  " + " │  ".join(block[row] for block in blocks) + "\n", style="bold")
    words = _first_word(first) if number else f"{first.about} {_first_word(first)}".strip()
    lines = glyphs.drawn(words, 1) if len(words) * 6 <= width else [clip(words, width - 2)]
    text.append("".join(f" {line}\n" for line in lines), style="bold")
    said = "" if first.sense is None else first.sense.value
    in_words = first.sense in (TimeSense.SO_FAR, TimeSense.READY)
    time = first.in_words if in_words else f"{first.time_unit} {said}".strip()
    text.append(clip(f" {time or 'next'}; v goes back", width), style=look.quiet)
    return text.append("".join("\n" + clip(f" {_line(other)}", width) for other in _after(things, height - 9)))


def _tiny(things: list[Attention], canvas: Canvas, lit: bool) -> Text:
    """Return the view in plain text: the first thing on three lines, then one a line."""
    width, height, look, _ = canvas
    text = Text(no_wrap=True, overflow="crop")
    first = things[0]
    text.append(_mark(first, lit), style=_style(first, look))
    lines = [f" {first.about}", _first_word(first), first.in_words]
    if height < 3:
        lines = [f" {first.about} {first.time} {_first_word(first)}", ""]
    more = [_line(other).strip() for other in things[1:]]
    text.append(clip(lines[0], max(1, width - 1)), style="bold")
    below = [*(line for line in lines[1:] if line), *more][: max(0, height - 1)]
    return text.append("".join("\n" + clip(line, width) for line in below))
