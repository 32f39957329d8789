"""Lines on pages: at most 60 lines of 76 cells of a fixed font, blocks kept together, "page n of m" on each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from rich.cells import cell_len

from dyeday.quick_dataclass import dataclass
from dyeday.text import clip, pad

WIDTH = 76
LINES = 60
GOES_ON = " (continued)"
LEAST_LINES_BEFORE_BREAK = 6
"""lines at a page's end in which a breakable block may start"""


@dataclass(frozen=True, slots=True)
class TextBlock:
    """Lines under a heading, which is printed when its section starts or continues on a page.

    Where it must be broken, that is before one of the lines ``breaks`` (indices) if one fits, else anywhere. The rest
    goes on below ``again``.
    """

    lines: tuple[str, ...]
    heading: str = ""
    breaks: tuple[int, ...] = ()
    again: tuple[str, ...] = ()
    new_page: bool = False
    breakable: bool = False
    """whether it may start at the end of a page and be broken there"""
    apart: bool = False
    """a blank line stands before it"""


def paginate(
    title: Sequence[str], blocks: Iterable[TextBlock], lines: int = LINES, *, underlined: bool = True
) -> list[str]:
    """Return the pages as texts. ``title`` heads each page; its last line ends with the page number.

    A block moves to the next page as a whole unless it is longer than a page, or ``breakable``.
    """
    body_room = lines - len(title) - 1
    pages: list[list[str]] = [[]]
    heading = ""
    for block in blocks:
        if block.new_page and pages[-1]:
            pages.append([])
        left = block
        while True:
            page = pages[-1]
            headed = _headed(block, heading, not page, underlined)
            if block.apart and page and not headed:
                headed = [""]
            room = body_room - len(page) - len(headed)
            if len(left.lines) <= room:
                page.extend((*headed, *left.lines))
                heading = block.heading
                break
            if page and not (block.breakable and room >= LEAST_LINES_BEFORE_BREAK):
                pages.append([])
                continue
            part, left = _cut(left, room)
            page.extend((*headed, *part))
            heading = block.heading
            pages.append([])
    total = len(pages)
    return ["\n".join([*_numbered(title, n, total), "", *page]) + "\n" for n, page in enumerate(pages, 1)]


def _cut(block: TextBlock, room: int) -> tuple[tuple[str, ...], TextBlock]:
    """Return the lines of a block that fit into ``room``, and the rest as a block."""
    least = len(block.again) + 1 if block.lines[: len(block.again)] == block.again else 1
    place = max((at for at in block.breaks if least <= at <= room), default=max(room, 1))
    again = block.again[: max(0, room - 2)]
    moved = tuple(at - place + len(again) for at in block.breaks if at > place)
    return block.lines[:place], replace(block, lines=(*again, *block.lines[place:]), breaks=moved)


def _headed(block: TextBlock, current: str, top: bool, underlined: bool) -> list[str]:
    if not block.heading or (block.heading == current and not top):
        return []
    more = GOES_ON if block.heading == current else ""
    blank = [] if top else [""]
    head = clip(block.heading, WIDTH - len(more)) + more
    return [*blank, head, *(["-" * cell_len(head)] if underlined else [])]


def _numbered(title: Sequence[str], page: int, pages: int) -> list[str]:
    number = f"page {page} of {pages}"
    return [*title[:-1], pad(title[-1], WIDTH - len(number) - 1) + " " + number]
