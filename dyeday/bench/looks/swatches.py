"""Swatches: in colour as far as a terminal has it, else by their colours' names and a letter for each.

Colours are compared as an eye does, by CIELAB for the white D65 and 2° as Textual has it; contrast by WCAG 2.
"""

from __future__ import annotations

from collections.abc import Sequence
from colorsys import rgb_to_hls
from functools import lru_cache
from math import dist

from rich.color import Color, ColorSystem
from textual.color import Color as TextualColor
from textual.color import rgb_to_lab

from dyeday.bench.looks.themes import ColourDepth
from dyeday.craft.dye.colour_difference import Lab, luminance

LETTERS = {
    "red": "R", "orange": "O", "brown": "N", "yellow": "Y", "green": "G", "teal": "T", "blue": "B", "violet": "V",
    "pink": "P", "cream": "C", "black": "K", "grey": "E", "white": "W",
}  # fmt: skip
_HUES = ((15, "red"), (45, "orange"), (70, "yellow"), (160, "green"), (200, "teal"), (255, "blue"), (295, "violet"),
         (340, "pink"), (361, "red"))  # fmt: skip
"""(hue in degrees up to which, name)"""
MOST_OFF = 10.0
"""ΔE*ab from which a shown colour counts as another, and the swatch has a letter; common practice, no source"""


@lru_cache(1024)
def lab_of(colour: str) -> Lab:
    """Return the CIELAB values of "#rrggbb"."""
    return rgb_to_lab(TextualColor.parse(colour))


def difference(one: str, other: str) -> float:
    """Return ΔE*ab (CIE 1976) between two colours "#rrggbb"."""
    return dist(lab_of(one), lab_of(other))


def contrast(one: str, other: str) -> float:
    """Return the contrast of two colours, 1 to 21 (WCAG 2)."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def ink_on(colour: str) -> str:
    """Return black or white, whichever reads better on "#rrggbb"."""
    return max(("#000000", "#ffffff"), key=lambda ink: contrast(ink, colour))


def mixed(one: str, other: str, part: float) -> str:
    """Return "#rrggbb" with ``part``, 0 to 1, of ``other`` in it, in sRGB."""
    pairs = ((int(one[n : n + 2], 16), int(other[n : n + 2], 16)) for n in (1, 3, 5))
    return "#" + "".join(f"{round(a + (b - a) * part):02x}" for a, b in pairs)


def colour_word(swatch: str) -> str:
    """Return the plain name of "#rrggbb", one of `LETTERS`. The borders between names have no source."""
    red, green, blue = (int(swatch[n : n + 2], 16) / 255 for n in (1, 3, 5))
    hue, lightness, saturation = rgb_to_hls(red, green, blue)
    if lightness < 0.1:
        return "black"
    if lightness > 0.93:
        return "white"
    if saturation < 0.15:
        return "grey"
    if lightness > 0.8 and 20 <= hue * 360 < 70:
        return "cream"
    word = next(name for limit, name in _HUES if hue * 360 < limit)
    if word in ("orange", "yellow") and lightness < 0.4 and hue * 360 < 55:
        return "brown"
    if word == "red" and lightness > 0.65:
        return "pink"
    return "violet" if word == "pink" and lightness < 0.35 else word


def colour_words(swatches: Sequence[str]) -> str:
    """Return "yellow, blue": each colour once, in order."""
    return ", ".join(dict.fromkeys(colour_word(swatch) for swatch in swatches))


@lru_cache(1024)
def in_palette(swatch: str) -> tuple[str, float]:
    """Return the one of the 256 colours that looks nearest to "#rrggbb", and its distance as ΔE*ab."""
    best = min(_palette(), key=lambda colour: difference(swatch, colour))
    return best, difference(swatch, best)


@lru_cache(1)
def _palette() -> tuple[str, ...]:
    """Return the 256 colours but the first sixteen, which differ between terminals, and those Rich would change."""
    colours = []
    for number in range(16, 256):
        triplet = Color.from_ansi(number).get_truecolor()
        if Color.from_triplet(triplet).downgrade(ColorSystem.EIGHT_BIT).number == number:
            colours.append(triplet.hex)
    return tuple(colours)


@lru_cache(4096)
def cell_of(swatch: str, colours: ColourDepth) -> tuple[str, str]:
    """Return the sign and the style of one cell of a swatch "#rrggbb": its colour, its letter, or both."""
    if colours in (ColourDepth.SIXTEEN, ColourDepth.NONE):
        return LETTERS[colour_word(swatch)], ""
    shown, off = in_palette(swatch) if colours is ColourDepth.PALETTE else (swatch, 0.0)
    return (LETTERS[colour_word(swatch)] if off > MOST_OFF else " "), f"{ink_on(shown)} on {shown}"
