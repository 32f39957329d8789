"""Letters and digits drawn large: a 5 x 7 dot matrix, as ISO 9241-3 asks of numerals at least.

At ``scale`` one dot is so many columns by so many half rows. Large is scale 2, a digit of seven rows by ten columns;
half is scale 1, a letter of four rows by five columns, the last half row empty.
"""

from __future__ import annotations

_DOTS = {
    "0": "01110 10001 10001 10001 10001 10001 01110", "1": "00100 01100 00100 00100 00100 00100 01110",
    "2": "01110 10001 00001 00110 01000 10000 11111", "3": "11111 00010 00100 00010 00001 10001 01110",
    "4": "00010 00110 01010 10010 11111 00010 00010", "5": "11111 10000 11110 00001 00001 10001 01110",
    "6": "00110 01000 10000 11110 10001 10001 01110", "7": "11111 00001 00010 00100 01000 01000 01000",
    "8": "01110 10001 10001 01110 10001 10001 01110", "9": "01110 10001 10001 01111 00001 00010 01100",
    ":": "00000 00100 00100 00000 00100 00100 00000", " ": "00000 00000 00000 00000 00000 00000 00000",
    "+": "00000 00100 00100 11111 00100 00100 00000",
    "-": "00000 00000 00000 11111 00000 00000 00000", "!": "00100 00100 00100 00100 00100 00000 00100",
    "•": "00000 00000 01110 01110 01110 00000 00000", "*": "00000 10101 01110 11111 01110 10101 00000",
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
ROWS, COLUMNS = 7, 5
"""dots of a character"""
_BLOCKS = {"11": "█", "10": "▀", "01": "▄", "00": " "}
BLANK = "00000 00000 00000 00000 00000 00000 00000"


def drawn(text: str, scale: int) -> list[str]:
    """Return ``text`` in rows of block characters, ``scale`` columns between characters."""
    dots = [[*_DOTS.get(char.upper(), BLANK).split(), BLANK[:5]] for char in text]
    rows = []
    for row in range(height(scale)):
        top, low = 2 * row // scale, (2 * row + 1) // scale
        pairs = (zip(matrix[top], matrix[min(low, ROWS)], strict=True) for matrix in dots)
        rows.append(
            (" " * scale).join("".join(_BLOCKS[one + other] * scale for one, other in pair) for pair in pairs)
        )
    return rows


def height(scale: int) -> int:
    """Return the rows that a line of this scale takes."""
    return (ROWS * scale + 1) // 2


def blank_rows_below(scale: int) -> int:
    """Return the blank rows that part a line from the next: at an odd scale its own last half row is blank."""
    return 1 - scale % 2


def width(text: str, scale: int) -> int:
    """Return the columns that ``text`` takes at this scale."""
    return scale * (len(text) * COLUMNS + max(0, len(text) - 1))
