"""The bench put together for a terminal of any size: the lines of its zones from the top down, as many as fit.

At 120 columns the chosen batch has a pane beside the list; at 35 rows the kit stands along a line of time below it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field
from typing import TYPE_CHECKING

from rich.cells import cell_len
from rich.text import Text

from dyeday.ahead.advising.next_up import NextUp
from dyeday.bench.looks.themes import LookStyles
from dyeday.bench.view.batch_list import BatchList, KeptLines, tally
from dyeday.bench.view.batch_row import Urgency, urgency_of_item
from dyeday.bench.view.bench_view import MOST_NEXT_SHOWN, AlarmLine, BenchView
from dyeday.bench.widgets.board import CHOSEN, Canvas, Line, is_same, keys_line, rule
from dyeday.quick_dataclass import dataclass
from dyeday.text import clip, harmless, pad, wrap
from dyeday.track.day.day_state import Day
from dyeday.track.flags import Flag
from dyeday.track.timestamp import Moment

if TYPE_CHECKING:
    from dyeday.ahead.foreseen_steps import Forecast, Warned

NARROWEST = 40
"""columns below which a line says only what and which, and the bench shows only what is next"""
MOST_DO, LEAST_WHY = 48, 10
"""cells that what to do may take in a line of what is next, and below which its reason is left out"""
LOWEST = 12
WIDE, TALL = 120, 35
"""columns from which there is a pane, rows from which there is a line of time"""
FIXED = 4
"""least number of lines between the first and the messages: the alarm, two rules, the list's head"""
LEAST_NEXT = 2
LEAST_KIT = 6
BLANK = Text("")
MOST_ABOUT = 11
"""cells that the batches or the unit of a line of what is next may take on a terminal of 80"""
MOST_TITLE, LEAST_TITLE, BLANKS = 30, 10, 4
"""cells of the title that the corner leaves where it can, that it leaves at least, and blanks around both"""


@dataclass(frozen=True, slots=True)
class StatusAndKeys:
    """What the bench says beside its view of the day."""

    chosen: str | None
    marked: tuple[str, ...]
    """the batches of a load that move together; none where it is the chosen one alone"""
    chosen_words: str
    """the chosen batch's last entry and its next"""
    message: str
    wrong: bool
    notes: Sequence[str]
    """what stands behind the day's name: read-only, muted, backdated"""
    keys: Sequence[tuple[str, str]]
    """(key, its word), those that make sense now"""
    nothing: str
    """shown if nothing is left to do"""
    unsaved: str
    """the banner while nothing can be saved; "" while all is"""
    lit: bool
    silences: bool
    """whether the key that silences an alarm is shown"""


@dataclass(frozen=True, slots=True)
class Scene:
    """All that the lines are made from; ``flags`` are by batch."""

    view: BenchView
    status: StatusAndKeys
    day: Day
    now: Moment
    forecast: Forecast | None
    flags: dict[str, list[Flag]]
    canvas: Canvas


@dataclass(slots=True)
class Layout:
    """Puts the zones together; unchanged ones are not made again."""

    tiny: bool = False
    _list: BatchList = field(default_factory=BatchList)
    _ruled: list[tuple[Text, Line]] = field(default_factory=list)
    """(a line of the list, the same with the pane's beside it)"""
    _ruled_for: tuple[int, str] = (0, "")
    """cells and look"""
    _kept: KeptLines = field(default_factory=KeptLines)

    def lines(self, scene: Scene) -> list[Line]:
        """Return as many lines as the terminal has."""
        view, status = scene.view, scene.status
        width, height, look, _ = scene.canvas
        self.tiny = width < NARROWEST or height < LOWEST
        title = (view.title, view.corner, view.corner_brief, status.notes, width, look.name)
        top = self._kept.of("top", title, lambda: [Line(top_line(view, width, status.notes), look.band)])
        if status.unsaved:
            unsaved = Text(f" {pad(f'! {status.unsaved}', width - 2)} ", style=look.alarm)
            top = [*top, Line(unsaved, look.ground)]
        keys = (status.keys, width, look.name)
        foot = [
            *(Line(line, look.band) for line in self._messages(status, width, look)),
            *self._kept.of("keys", keys, lambda: [Line(keys_line(status.keys, width), look.band)]),
        ]
        if self.tiny:
            foot = foot[: max(0, height - len(top) - LEAST_NEXT)]
        room = height - len(top) - len(foot)
        if self.tiny:
            middle = [Line(line, look.ground) for line in self._small(scene, room)]
        else:
            middle = self._zones(scene, room)
        middle += [Line(Text(""), look.ground)] * (room - len(middle))
        return [*top, *middle[: max(0, room)], *foot][:height]

    def _messages(self, status: StatusAndKeys, width: int, look: LookStyles) -> list[Text]:
        """Return the two lines of messages; the upper one tells of the chosen batch where the message is short."""
        room = max(20, width - 2)
        lines = wrap(status.message, room)
        if len(lines) > 2:
            lines = [lines[0], clip(" ".join(lines[1:]), room - 13) + " (f shows all)"]
        message = [Text(f" {line}", style=look.flag_style if status.wrong else "") for line in lines]
        if len(message) > 1 or self.tiny:
            return [*message, Text("")][:2]
        about = f" {CHOSEN} {clip(status.chosen_words, width - 4)}" if status.chosen_words else ""
        return [Text(about, style=look.quiet), *message, Text("")][:2]

    @staticmethod
    def _small(scene: Scene, room: int) -> list[Text]:
        view, status, width, look = scene.view, scene.status, scene.canvas.width, scene.canvas.look
        items = view.next_up
        alarm = [alarm_line(view, width, look, status.lit, status.silences)] if view.lasting_alarms else []
        past = [past_line(view.past_alarms, width, look, status.silences)] if view.past_alarms is not None else []
        lines = [next_line(item, width, look) for item in items[: max(1, room - len(alarm) - len(past))]]
        return [*alarm, *(lines or [Text(f" {status.nothing}", style=look.quiet)]), *past]

    def _zones(self, scene: Scene, room: int) -> list[Line]:
        view, status, forecast = scene.view, scene.status, scene.forecast
        width, height, look, _ = canvas = scene.canvas
        rows = view.rows
        pane = min(60, width // 3) if width >= WIDE else 0
        left = width - pane - 1 if pane else width
        # The kit has what the list leaves, a quarter of the screen where it is long.
        kit_room = max(height // 4, min(height // 2, room - FIXED - LEAST_NEXT - len(rows))) if height >= TALL else 0
        kit = self._kit_lines(scene, kit_room, left)
        room -= len(kit) + FIXED
        next_room = max(min(LEAST_NEXT, max(1, room - 3)), min(MOST_NEXT_SHOWN, room - len(rows)))
        rows_room = max(1, room - next_room)
        shown = (view.next_up, view.alarms, status.lit, status.silences, status.nothing)
        coming = self._kept.of(
            "now", (*shown, width, left, next_room, look.name), lambda: _now_lines(scene, left, next_room)
        )
        above, coming = (coming[:1], coming[1:]) if _alarm_is_apart(view) else ([], coming)
        enter = "[enter] does the first" if view.next_up else ""
        list_lines = self._list.lines(rows, status.chosen, status.marked, canvas.of(left, rows_room))
        spare = rows_room + 1 - len(list_lines)
        warned = forecast.warned if forecast is not None else ()
        wrong = self._kept.of(
            "wrong", (warned, left, spare, look.name), lambda: _wrong_lines(warned, left, spare, look)
        )
        title = self._kept.of(
            "title",
            (rows, view.open_flags, left, look.name),
            lambda: [rule("Batches", left, look, tally(rows, view.open_flags))],
        )
        lines = [*coming, *title, *list_lines, *([BLANK] * (spare - len(wrong))), *wrong]
        if not pane:
            every = [*above, rule("Next", width, look, enter), *lines]
            return [*(Line(line, look.ground) for line in every), *kit]
        batch = scene.day.batches.get(status.chosen or "")
        row = next((row for row in rows if row.no == status.chosen), None)
        pane_texts: list[Text] = []
        head = rule("Next", left, look, enter).append("┬", style=look.quiet)
        if batch is None or row is None:
            head.append("─" * pane, style=look.quiet)
        else:
            from dyeday.bench.view.batch_pane import pane_lines

            minute, flags = int(scene.now.utc.timestamp() // 60), scene.flags.get(batch.no, [])
            on = canvas.of(pane - 2, len(lines))
            pane_texts = self._kept.of(
                "pane",
                (batch, row, forecast, minute, flags, on),
                lambda: pane_lines(scene.day, row, flags, scene.now, forecast, on),
            )
            head.append_text(rule(f"{CHOSEN} {batch.no} {batch.colourway.name} on {batch.base.name}", pane, look))
        top = [Line(line, look.ground) for line in (*above, head)]
        return [*top, *self._with_pane(lines, pane_texts, left, look), *kit]

    def _with_pane(self, lines: list[Text], pane: list[Text], left: int, look: LookStyles) -> list[Line]:
        """Return lines ``left`` cells wide with those of the pane behind them; kept where they are the same."""
        before = self._ruled if self._ruled_for == (left, look.name) else []
        self._ruled, self._ruled_for = [], (left, look.name)
        for n, text in enumerate(lines):
            beside = pane[n] if n < len(pane) else None
            of, line = before[n] if n < len(before) else (None, None)
            if line is None or of is not text:
                ruled = text.copy()
                ruled.pad_right(max(0, left - ruled.cell_len))
                ruled.append("┤ " if ruled.plain.startswith("── ") else "│ ", style=look.quiet)
                line = Line(ruled, look.ground, beside)
            elif not is_same(beside, line.aside):
                line = Line(line.text, look.ground, beside)
            self._ruled.append((text, line))
        return [line for _, line in self._ruled]

    def _kit_lines(self, scene: Scene, most: int, left: int) -> list[Line]:
        """Return at most so many lines of the kit; the rule of the pane behind cell ``left`` ends on the first."""
        if most < LEAST_KIT:
            return []
        day, forecast, now = scene.day, scene.forecast, scene.now.utc
        canvas = scene.canvas.of(scene.canvas.width, most)

        def made() -> list[Line]:
            from dyeday.bench.view.time_line import time_line

            lines = time_line(day, forecast, now, canvas)
            if lines and lines[0].plain[left : left + 1] == "─":
                lines[0].plain = lines[0].plain[:left] + "┴" + lines[0].plain[left + 1 :]
            return [Line(line, canvas.look.ground) for line in lines]

        return self._kept.of("kit", (day, forecast, int(now.timestamp() // 60), canvas, left), made)


def _now_lines(scene: Scene, left: int, next_room: int) -> list[Text]:
    """Return the alarm line, then ``next_room`` lines of what is next, ``left`` cells wide."""
    view, status, width, look = scene.view, scene.status, scene.canvas.width, scene.canvas.look
    alarm_is_apart = _alarm_is_apart(view)
    items = (view.next_up if alarm_is_apart else view.next_up[1:])[:next_room]
    every = (*items, *view.next_up[:1])
    about = min(max((cell_len(item.about) for item in every), default=2), max(MOST_ABOUT, left // 6))
    do_cells = (min(MOST_DO, cell_len(harmless(item.do))) for item in every)
    why_at = about + 9 + max(do_cells, default=0)  # one column for all reasons
    first = alarm_line(view, width if alarm_is_apart else left, look, status.lit, status.silences, about, why_at)
    if not view.lasting_alarms and not view.next_up:
        first = Text(f"   {status.nothing}", style=look.quiet)
    coming = [next_line(item, left, look, about, why_at) for item in items]
    if view.past_alarms is not None:
        past = past_line(view.past_alarms, left, look, status.silences)
        return [first, *coming[: next_room - 1], *([BLANK] * (next_room - 1 - len(coming))), past]
    return [first, *coming, *([BLANK] * (next_room - len(coming)))]


def _wrong_lines(warned: Sequence[Warned], width: int, room: int, look: LookStyles) -> list[Text]:
    """Return what could go wrong, if the list leaves three lines or more."""
    if not warned or room < 3:
        return []
    lines = [line for one in warned for line in wrap(str(one), width - 2, "  ", "")]
    if len(lines) > room - 2:
        lines = [clip(str(one), width - 2) for one in warned]
    return [rule("What could go wrong", width, look), *(Text(f" {line}") for line in lines[: room - 2])]


def _alarm_is_apart(view: BenchView) -> bool:
    """Return whether the top alarm is apart from the first next step, which is what Enter does."""
    if not view.lasting_alarms or not view.next_up:
        return bool(view.lasting_alarms)
    first = view.next_up[0]
    return first.mark != "!" or not view.alarms[0].about.issuperset(first.abouts)


def top_line(view: BenchView, width: int, notes: Sequence[str]) -> Text:
    """Return the title with ``notes`` at the left and the longest text of the corner that fits at the right.

    The title is shortened in steps: it keeps `MOST_TITLE` cells if the corner then says more than its last text, else
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


def alarm_line(
    view: BenchView, width: int, look: LookStyles, lit: bool, silences: bool, about_cells: int = 0, why_at: int = 0
) -> Text:
    """Return the line of the first alarm that lasts, else of what to do first, its reason from ``why_at`` on."""
    if not view.lasting_alarms:
        first = view.next_up[0] if view.next_up else None
        return _first_line(first, width, look, about_cells, why_at) if first is not None else Text("")
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


def _first_line(item: NextUp, width: int, look: LookStyles, about_cells: int, why_at: int) -> Text:
    """Return what to do first, as prominent as one line can be."""
    urgency = urgency_of_item(item)
    style = urgency.style(look)
    about = f"{item.about.ljust(about_cells)}  " if item.about else ""
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
