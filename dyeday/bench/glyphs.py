"""Letters and digits drawn large: a 5 x 7 dot matrix, as ISO 9241-3 asks of numerals at least.

Large: one dot is one row and two columns, so a digit is seven rows by ten columns. Half: one dot is half a row and
one column, so a letter is four rows by five columns.
"""

from __future__ import annotations

from collections.abc import Sequence

_DOTS = {
    "0": "01110 10001 10011 10101 11001 10001 01110", "1": "00100 01100 00100 00100 00100 00100 01110",
    "2": "01110 10001 00001 00110 01000 10000 11111", "3": "11111 00010 00100 00010 00001 10001 01110",
    "4": "00010 00110 01010 10010 11111 00010 00010", "5": "11111 10000 11110 00001 00001 10001 01110",
    "6": "00110 01000 10000 11110 10001 10001 01110", "7": "11111 00001 00010 00100 01000 01000 01000",
    "8": "01110 10001 10001 01110 10001 10001 01110", "9": "01110 10001 10001 01111 00001 00010 01100",
    ":": "00000 00100 00100 00000 00100 00100 00000", " ": "00000 00000 00000 00000 00000 00000 00000",
    "+": "00000 00100 00100 11111 00100 00100 00000",
    "-": "00000 00000 00000 11111 00000 00000 00000", "!": "00100 00100 00100 00100 00100 00000 00100",
    "*": "00000 10101 01110 11111 01110 10101 00000",
    "A": "01110 10001 10001 11111 10001 10001 10001", "B": "11110 10001 10001 11110 10001 10001 11110",
    "C": "01110 10001 10000 10000 10000 10001 01110", "D": "11110 10001 10001 10001 10001 10001 11110",
    "E": "11111 10000 10000 11110 10000 10000 11111", "F": "11111 10000 10000 11110 10000 10000 10000",
    "G": "01110 10001 10000 10111 10001 10001 01110", "H": "10001 10001 10001 11111 10001 10001 10001",
    "I": "01110 00100 00100 00100 00100 00100 01110", "J": "00111 00010 00010 00010 00010 10010 01100",
    "K": "10001 10010 10100 11000 10100 10010 10001", "L": "10000 10000 10000 10000 10000 10000 11111",
    "M": "10001 11011 10101 10101 10001 10001 10001", "N": "10001 11001 10101 10011 10001 10001 10001",
    "O": "01110 10001 10001 10001 10001 10001 01110", "P": "11110 10001 10001 11110 10000 10000 10000",
    "Q": "01110 10001 10001 10001 10101 10010 01101", "R": "11110 10001 10001 11110 10100 10010 10001",
    "S": "01111 10000 10000 01110 00001 00001 11110", "T": "11111 00100 00100 00100 00100 00100 00100",
    "U": "10001 10001 10001 10001 10001 10001 01110", "V": "10001 10001 10001 10001 10001 01010 00100",
    "W": "10001 10001 10001 10101 10101 11011 10001", "X": "10001 10001 01010 00100 01010 10001 10001",
    "Y": "10001 10001 01010 00100 00100 00100 00100", "Z": "11111 00001 00010 00100 01000 10000 11111",
}  # fmt: skip
ROWS, LARGE_COLUMNS = 7, 10
HALF_ROWS, HALF_COLUMNS = 4, 5
BLANK = "00000 00000 00000 00000 00000 00000 00000"


def _matrix(char: str) -> list[str]:
    return _DOTS.get(char.upper(), BLANK).split()


def large(text: str, gap: int = 2) -> list[str]:
    """Return ``text`` as seven rows, each character ten columns wide with ``gap`` columns between."""
    drawn = [_matrix(char) for char in text]
    return [
        (" " * gap).join("".join("██" if dot == "1" else "  " for dot in matrix[row]) for matrix in drawn)
        for row in range(ROWS)
    ]


def half(text: str, gap: int = 1) -> list[str]:
    """Return ``text`` as four rows of half blocks, each character five columns wide."""
    drawn = [[*_matrix(char), "00000"] for char in text]
    rows = []
    for row in range(0, 8, 2):
        parts = []
        for matrix in drawn:
            pairs = zip(matrix[row], matrix[row + 1], strict=True)
            parts.append("".join({"11": "█", "10": "▀", "01": "▄", "00": " "}[top + low] for top, low in pairs))
        rows.append((" " * gap).join(parts))
    return rows


def width_large(text: str, gap: int = 2) -> int:
    return len(text) * LARGE_COLUMNS + max(0, len(text) - 1) * gap


def beside(blocks: Sequence[Sequence[str]], gap: int = 4) -> list[str]:
    """Return blocks of equally many rows side by side."""
    return [(" " * gap).join(parts) for parts in zip(*blocks, strict=True)]
