"""A sheet as one HTML file without links, to be printed from a browser on A4 or Letter."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from dyeday.paper.layout.label_page import PAPERS, LabelGrid, grid_of, label_style, type_pt
from dyeday.paper.layout.sheet import BOX, Card, Cards, DrawnLines, Paragraph, Part, Sheet, Table
from dyeday.text import harmless, html_text, with_units

NO_BREAK = "\u00a0"
_COLOUR = re.compile(r"#[0-9a-fA-F]{6}")

_PAGE = """
@page { size: %(paper)s; margin: %(margin)s;
  @bottom-left { content: %(foot)s; font: 8pt sans-serif; color: #333; }
  @bottom-right { content: "page " counter(page) " of " counter(pages); font: 8pt sans-serif; color: #333; } }
"""


def sheet_html(sheet: Sheet, paper: str = "A4") -> str:
    """Return a sheet as an HTML page; ``paper`` is one of `PAPERS`."""
    foot = ", ".join(text for text in (sheet.copy, sheet.title, sheet.about) if text)
    margin = "11mm 14mm 14mm" if sheet.dense else "12mm 14mm 14mm"
    style = _PAGE % {"paper": PAPERS[paper].css, "margin": margin, "foot": _css_string(foot[:110])}
    style += Path(__file__).with_name("sheet.css").read_text(encoding="utf-8")
    cards = [card for block in sheet.blocks for part in block.parts if isinstance(part, Cards) for card in part.cards]
    body = _blocks(sheet)
    if cards:
        grid = grid_of(paper, sheet.label_size)
        style, body = style + label_style(grid), label_pages(cards, grid)
    kind = f' class="{html_text(sheet.name)}{" dense" if sheet.dense else ""}"'
    copy = f'<p class="copy">{html_text(sheet.copy)}</p>' if sheet.copy else ""
    about = f'<p class="about">{html_text(sheet.about)}</p>'
    return html_page(sheet.title, style, [about, *body], after_title=copy, of_body=kind)


def html_page(title: str, style: str, body: Iterable[str], *, after_title: str = "", of_body: str = "") -> str:
    """Return a page with a title and ``body``, HTML; ``of_body`` has the attributes of the body element."""
    shown = html_text(title)
    return "\n".join(
        [
            "<!DOCTYPE html>",
            '<html lang="en"><head><meta charset="utf-8">',
            # Nothing is fetched, whatever a name contains.
            "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">",
            '<meta name="viewport" content="width=device-width">',
            f"<title>{shown}</title>",
            f"<style>{style}</style></head><body{of_body}>",
            f"<h1>{shown}</h1>{after_title}",
            *body,
            "</body></html>",
            "",
        ]
    )


def _blocks(sheet: Sheet) -> Iterator[str]:
    heading = ""
    for block in sheet.blocks:
        headed = f"<h2>{html_text(block.heading)}</h2>" if block.heading and block.heading != heading else ""
        heading = block.heading
        kinds = ["breakable" if block.breakable else "together"]
        more = (("new-page", block.new_page), ("apart", block.apart), ("slip", block.slip))
        kinds += [kind for kind, holds in more if holds]
        yield f'<div class="{" ".join(kinds)}">{headed}{"".join(map(_part, block.parts))}</div>'


def _part(part: Part) -> str:
    if isinstance(part, Paragraph):
        return _words(part)
    if isinstance(part, Table):
        return _table(part)
    if isinstance(part, DrawnLines):
        return f"<pre>{chr(10).join(html_text(line) for line in part.lines)}</pre>"
    return ""  # `label_pages` lays out labels


def _words(words: Paragraph) -> str:
    may_be = (("strong", words.strong), (f"in{min(words.level, 3)}", words.level), ("led", words.lead))
    kinds = [kind for kind, holds in may_be if holds]
    kind = f' class="{" ".join(kinds)}"' if kinds else ""
    html_words = _swatch(words.swatches) + _unbroken(words.text)
    if words.lead:
        html_words = f'<span class="lead">{_escaped(words.lead)}</span> <span>{html_words}</span>'
    return f"<p{kind}>{html_words}</p>"


def _escaped(text: str) -> str:
    return _unbroken(text).replace(BOX, f'<span class="box">{BOX}</span>')


def _unbroken(text: str) -> str:
    """Return text for the page in which no line ends between a number and its unit."""
    return " ".join(word.replace(" ", NO_BREAK) for word in with_units(html_text(text).split()))


def _table(table: Table) -> str:
    kinds = (" ".join(kind for kind in ("right", "large", "whole") if getattr(c, kind)) for c in table.columns)
    sides = [f' class="{kind}"' if kind else "" for kind in kinds]
    head = ""
    if any(column.head for column in table.columns):
        heads = zip(table.columns, sides, strict=True)
        cells = "".join(f"<th{side}>{html_text(column.head)}</th>" for column, side in heads)
        head = f"<thead><tr>{cells}</tr></thead>"
    rows = []
    for n, row in enumerate(table.rows):
        colour = table.swatches[n] if n < len(table.swatches) else None
        shown = [f"<td{side}>{_escaped(text)}</td>" for text, side in zip(row, sides, strict=True)]
        if colour:
            at = table.swatch_column
            shown[at] = f"<td{sides[at]}>{_swatch(((colour, 100.0),))}{_escaped(row[at])}</td>"
        frame = ' class="framed"' if n in table.framed else ""
        rows.append(f"<tr{frame}>{''.join(shown)}</tr>")
    ruled = ' class="ruled"' if table.ruled else ""
    return f"<table{ruled}>{head}<tbody>{''.join(rows)}</tbody></table>"


def _swatch(swatches: tuple[tuple[str, float], ...]) -> str:
    """Return painted strips as wide as their shares; invalid colours are left out."""
    strips = ((colour, share) for colour, share in swatches if _COLOUR.fullmatch(colour))
    parts = "".join(f'<i style="background:{colour};width:{share:.1f}%"></i>' for colour, share in strips)
    return f'<span class="swatch" aria-hidden="true">{parts}</span>' if parts else ""


def label_pages(cards: Sequence[Card], grid: LabelGrid) -> Iterator[str]:
    """Yield each page of labels, filled row by row."""
    room = grid.columns * grid.rows
    for n in range(0, len(cards), room):
        yield f'<div class="cards">{"".join(_card(card, grid) for card in cards[n : n + room])}</div>'


def _card(card: Card, grid: LabelGrid) -> str:
    lines = []
    for n, line in enumerate(card.lines):
        kind = ' class="strong"' if n in card.strong else ""
        swatch = _swatch(card.swatches) if n == card.strong[0] else ""
        lines.append(f"<p{kind}>{swatch}{_unbroken(line)}</p>")
    return f'<div class="card" style="font-size:{type_pt(card, grid):g}pt">{"".join(lines)}</div>'


def _css_string(text: str) -> str:
    """Return text as a CSS string; all but ASCII letters, digits and blanks is escaped."""
    escaped = "".join(c if c.isascii() and (c.isalnum() or c == " ") else f"\\{ord(c):x} " for c in harmless(text))
    return f'"{escaped}"'
