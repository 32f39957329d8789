"""A sheet as plain text: pages of at most 60 lines of 76 columns."""

from __future__ import annotations

from collections.abc import Iterator

from rich.cells import cell_len, chop_cells

from dyeday.paper.layout.sheet import Block, Cards, DrawnLines, Paragraph, Part, Sheet, Table
from dyeday.paper.layout.text_page import GOES_ON, LINES, WIDTH, TextBlock, paginate
from dyeday.text import clip, harmless, pad, wrap

STEP = 3
"""columns of one level"""
GAP = 1
CARD = 35
MOST_TITLE = 3
"""lines of a title; a longer one is clipped"""


def text_pages(sheet: Sheet, lines: int = LINES) -> list[str]:
    """Return a sheet's pages as texts, each line ended by a line feed."""
    head = wrap(sheet.title, WIDTH)
    if len(head) > MOST_TITLE:
        head = [*head[: MOST_TITLE - 1], clip(" ".join(head[MOST_TITLE - 1 :]), WIDTH)]
    title = [*head, *([clip(sheet.copy, WIDTH)] if sheet.copy else []), sheet.about]
    return paginate(title, (_block(together) for together in sheet.blocks), lines, underlined=not sheet.dense)


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
    for row in table.rows:
        yield _row(table, row, widths)


def _row(table: Table, cells: list[str] | tuple[str, ...], widths: list[int]) -> list[str]:
    wrapped = [_wrapped(text, width) for text, width in zip(cells, widths, strict=True)]
    lines = []
    for n in range(max(len(lines_of) for lines_of in wrapped)):
        line = ""
        for column, lines_of, width in zip(table.columns, wrapped, widths, strict=True):
            text = lines_of[n] if n < len(lines_of) else ""
            blank = " " * (width - cell_len(text))
            line += (blank + text if column.right else text + blank) + " " * GAP
        lines.append(line.rstrip())
    return lines


def _wrapped(text: str, width: int) -> list[str]:
    out: list[str] = []
    for line in wrap(text, width):
        # A character two cells wide does not fit into a column of one.
        out += chop_cells(line, width) if cell_len(line) > width else [line]
    return out


def _cards(cards: Cards) -> Iterator[list[str]]:
    edge = "+" + "-" * CARD + "+"
    for n in range(0, len(cards.cards), 2):
        pair = [[line for text in card.lines for line in wrap(text, CARD - 2)] for card in cards.cards[n : n + 2]]
        height = max(len(card) for card in pair)
        lines = [" ".join(edge for _ in pair)]
        for at in range(height):
            lines.append(" ".join(f"| {pad(card[at] if at < len(card) else '', CARD - 2)} |" for card in pair))
        lines.append(lines[0])
        yield lines
