"""A screen for terminals and locales that know ASCII only: every other sign becomes one of the same width."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from functools import lru_cache

from rich.cells import cell_len
from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter

_SIGNS = {
    "█": "#", "▀": "'", "▄": ".", "▌": "|", "▐": "|", "━": "-", "─": "-", "│": "|", "┃": "|", "▁": "_", "▔": "-",
    "…": ".", "·": ".", "×": "x", "°": "'", "↑": "^", "↓": "v", "←": "<", "→": ">", "≤": "<", "≥": ">", "–": "-",
    "—": "-", "−": "-", "‘": "'", "’": "'", "“": '"', "”": '"', "✓": "v", "▲": "^", "▼": "v", "±": "~", "µ": "u",
    "•": "*", "▶": ">", "▓": "%", "▒": ":", "⚑": "?", "┬": "+", "┴": "+", "├": "+", "┤": "+", "┼": "+",
}  # fmt: skip


def knows_ascii_only(environment: Mapping[str, str]) -> bool:
    """Return whether the locale of a POSIX ``environment`` lacks the signs we draw with; False if unnamed."""
    for name in ("LC_ALL", "LC_CTYPE", "LANG"):
        value = environment.get(name, "")
        # Python itself puts this there where it finds the C locale (PEP 538): it says nothing of the terminal.
        if value and (name, value) not in (("LC_CTYPE", "C.UTF-8"), ("LC_CTYPE", "C.utf8"), ("LC_CTYPE", "UTF-8")):
            return "utf8" not in value.lower().replace("-", "")
    return False


@lru_cache(4096)
def plain(text: str) -> str:
    """Return ``text`` in ASCII, as many cells wide: é as e, a block as #, what has no like as ?."""
    return text if text.isascii() else "".join(map(_plain_sign, text))


def _plain_sign(char: str) -> str:
    if char.isascii():
        return char
    width = cell_len(char)
    if char in _SIGNS:
        return _SIGNS[char]
    bare = [c for c in unicodedata.normalize("NFKD", char) if c.isascii() and c.isprintable()]
    return ("".join(bare[:width]) or "?" * width).ljust(width)[:width]


class PlainSigns(LineFilter):
    """Put in front of the terminal, it lets nothing but ASCII through."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """Return the segments with every sign beyond ASCII replaced."""
        return [Segment(plain(segment.text), segment.style, segment.control) for segment in segments]
