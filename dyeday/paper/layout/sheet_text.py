"""A sheet as plain text: pages of at most 60 lines of 76 cells, blocks kept together, "page n of m" on each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import zip_longest

from rich.cells import cell_len, chop_cells

from dyeday.paper.layout.sheet import Block, Cards, DrawnLines, Paragraph, Part, Sheet, Table
from dyeday.quick_dataclass import dataclass
from dyeday.text import clip, harmless, pad, wrap

WIDTH = 76
LINES = 60
GOES_ON = " (continued)"
LEAST_LINES_BEFORE_BREAK = 6
"""lines at a page's end in which a breakable block may start"""
STEP = 3
"""columns of one level"""
GAP = 1
CARD = 35
MOST_TITLE = 3
"""lines of a title; a longer one is clipped"""


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


def text_pages(sheet: Sheet, lines: int = LINES) -> list[str]:
    """Return a sheet's pages as texts, each line ended by a line feed."""
    head = wrap(sheet.title, WIDTH)
    if len(head) > MOST_TITLE:
        head = [*head[: MOST_TITLE - 1], clip(" ".join(head[MOST_TITLE - 1 :]), WIDTH)]
    title = [*head, *([clip(sheet.copy, WIDTH)] if sheet.copy else []), sheet.about]
    return paginate(title, map(_block, sheet.blocks), lines, underlined=not sheet.dense)


def sheet_text(sheet: Sheet) -> str:
    """Return a sheet as one text, pages parted by form feeds."""
    return "\f".join(text_pages(sheet))


def sheet_lines(sheet: Sheet) -> list[str]:
    """Return a sheet's lines for the screen, a blank one where a page ends."""
    return sheet_text(sheet).replace("\f", "\n").splitlines()


def _block(together: Block) -> TextBlock:
    lines: list[str] = []
    breaks: list[int] = []
    for part in together.parts:
        for piece in _pieces(part):
            breaks.append(len(lines))
            lines += piece
    first = together.parts[0] if together.parts else None
    again: tuple[str, ...] = ()
    if isinstance(first, Paragraph) and first.strong:
        again = (clip(harmless(first.text), WIDTH - len(GOES_ON)) + GOES_ON,)
    elif isinstance(first, Table) and any(column.head for column in first.columns):
        again = tuple(next(_rows(first)))
    kept = together.new_page, together.breakable, together.apart
    return TextBlock(tuple(lines), harmless(together.heading), tuple(breaks[1:]), again, *kept)


def _pieces(part: Part) -> Iterator[list[str]]:
    """Yield the lines of a part in unbreakable pieces: a paragraph, a row, a row of cards."""
    if isinstance(part, Paragraph):
        yield _words(part)
    elif isinstance(part, Table):
        yield from _rows(part)
    elif isinstance(part, DrawnLines):
        yield [clip(line, WIDTH) for line in part.lines]
    else:
        yield from _cards(part)


def _words(words: Paragraph) -> list[str]:
    begin = " " * (STEP * words.level)
    if not words.lead:
        return wrap(words.text, WIDTH, indent=begin + " " * STEP, first=begin)
    first = begin + clip(words.lead, WIDTH // 2) + " "
    return wrap(words.text, WIDTH, indent=" " * cell_len(first), first=first)


def _rows(table: Table) -> Iterator[list[str]]:
    taken = sum(column.cells for column in table.columns) + GAP * (len(table.columns) - 1)
    widths = [column.cells or WIDTH - taken for column in table.columns]
    if any(column.head for column in table.columns):
        yield _row(table, [column.head for column in table.columns], widths)
    yield from (_row(table, row, widths) for row in table.rows)


def _row(table: Table, cells: list[str] | tuple[str, ...], widths: list[int]) -> list[str]:
    # A character two cells wide does not fit into a column of one.
    wrapped = [
        [part for line in wrap(text, width) for part in chop_cells(line, width) or [line]]
        for text, width in zip(cells, widths, strict=True)
    ]
    lines = []
    for texts in zip_longest(*wrapped, fillvalue=""):
        line = ""
        for column, text, width in zip(table.columns, texts, widths, strict=True):
            blank = " " * (width - cell_len(text))
            line += (blank + text if column.right else text + blank) + " " * GAP
        lines.append(line.rstrip())
    return lines


def _cards(cards: Cards) -> Iterator[list[str]]:
    edge = "+" + "-" * CARD + "+"
    for n in range(0, len(cards.cards), 2):
        pair = [[line for text in card.lines for line in wrap(text, CARD - 2)] for card in cards.cards[n : n + 2]]
        texts = zip_longest(*pair, fillvalue="")
        lines = [" ".join(f"| {pad(text, CARD - 2)} |" for text in beside) for beside in texts]
        edges = " ".join(edge for _ in pair)
        yield [edges, *lines, edges]
