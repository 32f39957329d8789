"""The bench's lines as styled text. Every state is a word or a sign; colour only stands beside it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest
from typing import NamedTuple

from rich.cells import cell_len
from rich.text import Span, Text

from dyeday.ahead.advising.next_up import NextUp
from dyeday.bench.live_session import LiveSession
from dyeday.bench.looks.themes import ColourDepth, LookStyles
from dyeday.bench.view.batch_row import Urgency, urgency_of_item
from dyeday.bench.view.bench_view import AlarmLine, BenchView
from dyeday.quick_dataclass import dataclass
from dyeday.text import clip, counted, harmless, pad
from dyeday.track.timestamp import local

NARROWEST = 40
"""columns below which a line says only what and which, and the bench shows only what is next"""
MOST_DO, LEAST_WHY = 48, 10
"""cells that what to do may take in a line of what is next, and below which its reason is left out"""


class Canvas(NamedTuple):
    """Room for ``height`` lines of ``width`` cells, the look they are drawn in and the colours the terminal shows."""

    width: int
    height: int
    look: LookStyles
    colours: ColourDepth = ColourDepth.ALL

    def of(self, width: int, height: int) -> Canvas:
        """Return a canvas of another size that looks the same."""
        return self._replace(width=width, height=height)


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the screen: its text, the colour it stands on, such as "#303030", and what stands behind it."""

    text: Text
    ground: str
    aside: Text | None = None

    @property
    def parts(self) -> tuple[Text | None, Text | None]:
        return self.text, self.aside

    @property
    def plain(self) -> str:
        return "".join(part.plain for part in self.parts if part is not None)


def line_of(*parts: tuple[str, str]) -> Text:
    """Return harmless words, each with its style, as one text; Rich's `assemble` takes three times as long."""
    spans, at = [], 0
    for words, style in parts:
        if style:
            spans.append(Span(at, at + len(words), style))
        at += len(words)
    return Text("".join(words for words, _ in parts), spans=spans)


def is_same(text: Text | None, other: Text | None) -> bool:
    """Return whether two texts look the same: Rich compares only their letters, not their colours."""
    if text is other or text is None or other is None:
        return text is other
    return text.plain == other.plain and text.spans == other.spans and text.style == other.style


def changed_parts(lines: Sequence[Line], before: Sequence[Line]) -> dict[int, list[int]]:
    """Return which parts of each changed line differ from ``before``, by line; 0 is its text, 1 what is aside."""
    changed = {}
    for y, (now, was) in enumerate(zip_longest(lines, before)):
        if now is was:
            continue
        parts = [0, 1]
        if now is not None and was is not None and now.ground == was.ground:
            parts = [n for n in parts if not is_same(now.parts[n], was.parts[n])]
        if parts:
            changed[y] = parts
    return changed


MOST_TITLE, LEAST_TITLE, BLANKS = 30, 10, 4
"""cells of the title that the corner leaves where it can, that it leaves at least, and blanks around both"""


def top_line(view: BenchView, width: int, notes: Sequence[str]) -> Text:
    """Return the title with ``notes`` at the left and the longest text of the corner that fits at the right.

    The title gives way in steps: it keeps `MOST_TITLE` cells if the corner then says more than its last text, else
    `LEAST_TITLE`; where it cannot have these, the corner stands alone.
    """
    every = (*view.corner, *view.corner_brief)

    def longest(texts: Sequence[str], title: int) -> str:
        return next((text for text in texts if title + BLANKS + cell_len(text) <= width), every[-1])

    right = longest(view.corner, min(MOST_TITLE, cell_len(view.title)))
    if right == every[-1]:
        right = longest(every, LEAST_TITLE)
    if LEAST_TITLE + BLANKS + cell_len(right) > width:
        right = next((text for text in every if cell_len(text) < width), right)
        return Text(clip(right, width).rjust(width))
    note = "".join(f" ({text})" for text in notes)
    room = max(LEAST_TITLE, width - cell_len(right) - 3)
    left = clip(view.title, max(1, room - cell_len(note))) + note
    gap = max(1, width - cell_len(left) - cell_len(right) - 2)
    return Text.assemble(" ", (left, "bold"), " " * gap, right, " ")


def shout_line(
    view: BenchView, width: int, look: LookStyles, lit: bool = True, silences: bool = True, why_at: int = 0
) -> Text:
    """Return the top line: an alarm to be silenced, else what to do first.

    ``silences`` is whether the key that silences an alarm is shown, where there is room; ``why_at`` the cell at which
    reasons begin.
    """
    if not view.lasting_alarms:
        first = view.next_up[0] if view.next_up else None
        return _first_line(first, width, look, why_at) if first is not None else Text("")
    alarm = view.alarms[0]
    wide = width >= NARROWEST
    keys = "  [a] silence" if wide and silences else ""
    more = f"  +{len(view.alarms) - 1} more" if len(view.alarms) > 1 and wide else ""
    room = width - len(keys) - len(more) - 5
    words = alarm.text if cell_len(alarm.text) <= room or cell_len(alarm.brief) > room else alarm.brief
    text = ("! " if lit else "  ") + pad(words, room)
    return Text("▌" + text + more + keys + "  ", style=look.alarm)


def past_line(alarm: AlarmLine, width: int, look: LookStyles, silences: bool) -> Text:
    """Return the quiet line of alarms that are past, with the key that clears them."""
    keys = "  [a] silence" if silences and width >= NARROWEST else ""
    return Text(f"   {pad(alarm.text, width - len(keys) - 5)}{keys}", style=look.quiet)


def _first_line(item: NextUp, width: int, look: LookStyles, why_at: int) -> Text:
    """Return what to do first, as prominent as one line can be."""
    urgency = urgency_of_item(item)
    style = urgency.style(look)
    about = f"{item.about}  " if item.about else ""
    line = Text.assemble(("▌" if urgency >= Urgency.OVER else " ", style), (f"{urgency.sign} ", style))
    words = f"{about}{item.do.upper() if urgency >= Urgency.OVER else item.do}"
    line.append(clip(words, width - 3), style=style if urgency >= Urgency.OVER else "bold")
    room = width - line.cell_len - 1
    if room >= LEAST_WHY + 2:
        why = _aside(clip(item.why, room - 2), room, why_at - line.cell_len)
        line.append(why, style=style if urgency >= Urgency.OVER else look.quiet)
    if urgency >= Urgency.OVER:
        line.append(" " * (width - line.cell_len), style=style)
    return line


def _aside(why: str, room: int, gap: int) -> str:
    """Return a reason after ``gap`` blanks, or at the end of its line where it is too long for so many."""
    return " " * max(2, min(room - cell_len(why), gap)) + why


def unsaved_words(live: LiveSession) -> str:
    """Return the banner's words while saving fails: since when, how many entries, why; else nothing."""
    if live.trouble is None:
        return ""
    count = len(live.unsaved)
    entries = counted(count, "entry", "entries") if count else "no entries"
    since = f"{local(live.trouble.since.utc, live.day.plan.session.zone):%H:%M}"
    return f"NOT SAVED since {since}: {entries} not on disk; {live.trouble.brief}"


def unsaved_line(words: str, width: int, look: LookStyles) -> Text:
    """Return the banner shown while saving fails."""
    return Text(" " + pad(f"! {words}", width - 2) + " ", style=look.alarm)


def reasons_at(items: Sequence[NextUp], about_cells: int) -> int:
    """Return the cell at which the reasons of lines of what is next begin, in one column."""
    return about_cells + 9 + max((min(MOST_DO, cell_len(harmless(item.do))) for item in items), default=0)


def next_line(item: NextUp, width: int, look: LookStyles, about_cells: int = 2, why_at: int = 0) -> Text:
    """Return one line of what is next: its sign, the batch or unit, what to do, and why, at ``why_at`` if it fits."""
    urgency = urgency_of_item(item)
    style = urgency.style(look)
    if width < NARROWEST:
        return Text(clip(f"{urgency.sign} {item.about} {item.do}", width), style=style)
    line = Text.assemble((f" {urgency.sign} ", style), (pad(item.about, about_cells) + "  ", "bold"))
    room = width - line.cell_len - 1
    do_cells = min(MOST_DO, cell_len(harmless(item.do)), room)
    why_cells = room - do_cells - 2
    if why_cells < LEAST_WHY:
        return line.append(clip(item.do, room))
    line.append(pad(item.do, do_cells))
    return line.append(_aside(clip(item.why, why_cells), why_cells + 2, why_at - line.cell_len), style=look.quiet)


def rule(title: str, width: int, look: LookStyles, right: str = "") -> Text:
    """Return a rule between two zones, with the title of the lower one and, where there is room, words at its end."""
    if right and cell_len(title) + cell_len(right) + 10 > width:
        right = ""
    title, end = f"{clip(title, max(1, width - 5))} ", f" {right} " if right else ""
    dashes = "─" * max(0, width - 3 - cell_len(title) - cell_len(end))
    return line_of(("── ", look.quiet), (title, "bold"), (dashes, look.quiet), (end, ""))


_SHOWN = {"escape": "esc"}
"""how a key is shown, where not by the name Textual has for it"""


def keys_line(keys: Sequence[tuple[str, str]], width: int) -> Text:
    """Return keys, each in brackets before its word: as many as fit, and the last, which leads on or back, always."""
    if not keys:
        return Text(" ")
    shown, cells = [keys[-1]], 1 + _key_cells(keys[-1])
    for n, key in enumerate(keys[:-1]):
        cells += _key_cells(key) + 2
        if cells > width:
            break
        shown.insert(n, key)
    parts = [((f"[{_SHOWN.get(name, name)}]", "bold"), (f" {word}  ", "")) for name, word in shown]
    line = line_of((" ", ""), *(part for both in parts for part in both))
    line.rstrip()
    return line


def _key_cells(key: tuple[str, str]) -> int:
    return cell_len(f"[{_SHOWN.get(key[0], key[0])}] {key[1]}")


CHOSEN = "▶"
"""in front of the chosen line of any list"""


def chosen_style(look: LookStyles, chosen: bool) -> str:
    """Return the style of a line of a list, which is the chosen one or not."""
    return f"bold {look.chosen}" if chosen else ""


def seen_of(count: int, chosen: int, room: int) -> range:
    """Return the places of a list of ``count`` that have room around the ``chosen`` one."""
    first = max(0, min(chosen - room // 2, count - room))
    return range(first, min(count, first + room))


def list_line(words: str, look: LookStyles, *, chosen: bool, style: str = "") -> Text:
    """Return a line of a list, the sign of the chosen one in front where it is that."""
    return Text(f"{CHOSEN if chosen else ' '}{words}", style=f"{chosen_style(look, chosen)}{style}".strip())


def side_by_side(lines: Sequence[Text], side: Sequence[str | Text], left: int, room: int, look: LookStyles) -> Text:
    """Return a list ``left`` cells wide with words beside it, ``room`` lines."""
    text = Text()
    for n in range(room):
        line = lines[n].copy() if n < len(lines) else Text("")
        line.pad_right(max(0, left - line.cell_len))
        text.append_text(line)
        text.append("│ ", style=look.quiet)
        text.append(side[n] if n < len(side) else "").append("\n")
    return text
