"""The picture's lines as styled text. Every state is a word or a sign; colour only stands beside it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from rich.cells import cell_len
from rich.text import Text

from dyeday.ahead.advising.next_up import NextUp
from dyeday.bench.live_session import Keeper
from dyeday.bench.looks.swatches import LETTERS, colour_word
from dyeday.bench.looks.themes import Look
from dyeday.bench.view.bench_view import Picture, Row
from dyeday.bench.view.list_columns import Column
from dyeday.paper.layout.text_page import clip, pad
from dyeday.paper.local_time import local
from dyeday.text import harmless

NARROW = 40
"""columns below which a line says only what and which"""
MARK = {0: " ", 1: "*", 2: "!"}
MOST_DO, LEAST_WHY = 48, 10
"""cells that what to do may take in a line of what is next, and below which its reason is left out"""


def top_line(picture: Picture, width: int, notes: Sequence[str]) -> Text:
    right = next((said for said in picture.corner if cell_len(said) + 14 <= width), picture.corner[-1])
    if width < cell_len(right) + 14:
        right = next((said for said in picture.corner if cell_len(said) < width), right)
        return Text(clip(right, width).rjust(width))
    note = "".join(f" ({said})" for said in notes)
    room = max(10, width - cell_len(right) - 3)
    left = clip(picture.title, max(1, room - cell_len(note))) + note
    gap = max(1, width - cell_len(left) - cell_len(right) - 2)
    return Text.assemble(" ", (left, "bold"), " " * gap, right, " ")


def alarm_line(picture: Picture, width: int, look: Look, lit: bool = True, watching: bool = False) -> Text:
    """Return the banner that stands while an alarm is not acknowledged; a blank line where none does.

    Its key is shown where there is room, and where the bench is not ``watching`` only.
    """
    if not picture.alarms:
        return Text("")
    wide = width >= NARROW
    more = f" +{len(picture.alarms) - 1} more" if len(picture.alarms) > 1 and wide else ""
    keys = " [a]" if wide and not watching else ""
    text = ("! " if lit else "  ") + clip(picture.alarms[0].text, width - len(keys) - len(more) - 4) + more + keys
    return Text(" " + pad(text, width - 2) + " ", style=look.alarm)


def unsaved_words(keeper: Keeper) -> str:
    """Return the banner's words while nothing can be saved: since when, how much is at stake, why; else nothing."""
    if keeper.trouble is None:
        return ""
    count = len(keeper.unsaved)
    entries = "1 entry" if count == 1 else f"{count or 'no'} entries"
    since = f"{local(keeper.trouble.since.utc, keeper.day.plan.session.zone):%H:%M}"
    return f"NOT SAVED since {since}: {entries} in memory alone; {keeper.trouble.brief}"


def unsaved_line(words: str, width: int, look: Look) -> Text:
    """Return the banner that stands while nothing can be saved."""
    return Text(" " + pad(clip(f"! {words}", width - 2), width - 2) + " ", style=look.alarm)


def next_line(
    item: NextUp | None, place: int, width: int, look: Look, about_cells: int = 2, nothing: str = "nothing for hands"
) -> Text:
    """Return one line of what is next: the mark, the batch or unit, what to do, and why."""
    if width < NARROW:
        said = f"{item.mark or ' '} {item.about} {item.do}" if item is not None else nothing
        style = {"!": look.urgent, "*": look.due}.get(item.mark, "") if item is not None else look.quiet
        return Text(clip(said, width), style=style)
    lead = "Next " if place == 0 else "then "
    if item is None:
        return Text(f" {lead}" + (nothing if place == 0 else ""), style=look.quiet)
    style = {"!": look.alarm, "*": look.due}.get(item.mark, "")
    line = Text.assemble(
        (f" {lead}", look.quiet),
        (f"{item.mark or ' '} ", style),
        (pad(item.about, about_cells) + "  ", "bold"),
    )
    room = width - line.cell_len - 1
    do_cells = min(MOST_DO, cell_len(harmless(item.do)), room)
    why_cells = room - do_cells - 1
    if why_cells < LEAST_WHY:
        return line.append(clip(item.do, room))
    why = clip(item.why, why_cells)
    line.append(pad(item.do, min(MOST_DO, room - cell_len(why) - 1)) + " ")
    return line.append(why, style=look.quiet)


def header_line(columns: Sequence[Column]) -> Text:
    return Text("  " + " ".join(pad(column.title, column.cells) for column in columns), style="underline")


def keys_line(keys: Sequence[tuple[str, str]], width: int) -> Text:
    """Return keys, each in brackets before its word: as many as fit, and the last, which leads on or back, always."""
    line = Text(" ")
    if not keys:
        return line
    shown, cells = [keys[-1]], 1 + _key_cells(keys[-1])
    for n, key in enumerate(keys[:-1]):
        cells += _key_cells(key) + 2
        if cells > width:
            break
        shown.insert(n, key)
    for name, word in shown:
        line.append(f"[{name}]", style="bold")
        line.append(f" {word}  ")
    line.rstrip()
    return line


def _key_cells(key: tuple[str, str]) -> int:
    return cell_len(f"[{key[0]}] {key[1]}")


def scroll_bar(first: int, room: int, rows: int) -> list[str]:
    """Return the sign at the end of each of ``room`` lines that show ``rows`` from ``first``; none where all are."""
    if rows <= room:
        return []
    thumb = max(1, room * room // rows)
    top = round((room - thumb) * first / (rows - room))
    return ["┃" if top <= y < top + thumb else "│" for y in range(room)]


def row_line(row: Row, columns: Sequence[Column], chosen: bool, look: Look, colour: bool = True) -> Text:
    """Return one batch's line; the chosen one has a sign in front and stands in reverse.

    Without ``colour`` the swatch is a letter for each colour: greys would say something untrue.
    """
    line = Text(">" if chosen else " ", style="bold" if chosen else "")
    line.append(MARK[row.urgency], style=look.alarm if row.urgency == 2 else (look.due if row.urgency == 1 else ""))
    for n, column in enumerate(columns):
        if n:
            line.append(" ")
        if column.key == "swatch":
            for shade, cells in groupby(row.swatch):
                sign = " " if colour else LETTERS[colour_word(shade)]
                line.append(sign * len(list(cells)), style=f"on {shade}" if colour else "")
            line.append(" " * (column.cells - len(row.swatch)))
            continue
        line.append(pad(str(getattr(row, column.key)), column.cells), style=_style(row, column.key, look))
    if chosen:
        line.stylize("reverse", 2, 2 + columns[0].cells)
    return line


def _style(row: Row, key: str, look: Look) -> str:
    if row.over:
        return look.quiet
    if key in ("time", "state") and row.urgency:
        return look.urgent if row.urgency == 2 else look.due
    if key in ("flags", "flag_words"):
        return look.doubt
    if key == "last":
        return look.quiet
    return "bold" if key == "no" else ""
