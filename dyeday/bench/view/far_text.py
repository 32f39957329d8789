"""The far view drawn for a terminal of any size: large where there is room, plain text where there is none."""

from __future__ import annotations

from math import pi, tan

from rich.cells import cell_len
from rich.text import Text

from dyeday.bench.looks.themes import Look
from dyeday.bench.view import glyphs
from dyeday.bench.view.attention import Wanted
from dyeday.bench.view.bench_lines import MARK
from dyeday.paper.layout.text_page import clip

ARC_20_MIN = 20 / 60 * pi / 180
"""Visual angle of characters that read well: 20 to 22 minutes of arc (ISO 9241-303, NUREG-0700)."""
FULL_ROWS, FULL_COLUMNS = 20, 60
"""rows and columns from which number, word and time stand one above the other"""
HALF_ROWS, HALF_COLUMNS = 9, 34
"""rows and columns from which letters drawn in half blocks have room; below there is only text"""


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
    return MARK[thing.urgency] if lit or not thing.unacknowledged else " "


def _names(thing: Wanted) -> tuple[str, str]:
    """Return what it is about, and shorter: the first of several and a sign that there are more."""
    return thing.about, thing.about.split("+")[0] + ("+" if "+" in thing.about else "")


def _full(things: list[Wanted], width: int, height: int, look: Look, lit: bool, screen_mm: float | None) -> Text:
    text = Text(no_wrap=True, overflow="crop")
    first = things[0]
    number = next((said for said in _names(first) if glyphs.width_large(said) + 14 <= width), "")
    shown = _mark(first, lit)
    # A chore of a lot has neither number nor mark: its word stands at the top then.
    headed = bool(number or first.urgency)
    for m, n in zip(glyphs.large(shown), glyphs.large(number), strict=True) if headed else ():
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
    used = (7 if headed else 0) + 1 + len(fitting) + (7 if digits else 0)
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
    """Return the two after the first, and the soonest clock where neither they nor ``shown`` are it.

    What would be told in the same words, as the dyes of two lots, is told once.
    """
    told = {_line(thing): thing for thing in reversed(things)}
    following = [thing for thing in things[1:] if told[_line(thing)] is thing][:2]
    soonest = _soonest(things[1:])
    more = [] if soonest is None or soonest is shown or soonest in following else [soonest]
    return [*following, *more][:room]


def _line(thing: Wanted) -> str:
    about = f"{thing.about}  " if thing.about else ""
    return f"{MARK[thing.urgency]} {about}{thing.word}  {thing.sense} {thing.digits}".rstrip()


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
