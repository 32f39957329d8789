"""A swatch where no colour can be shown: its colour's name, and a letter for it."""

from __future__ import annotations

from collections.abc import Sequence
from colorsys import rgb_to_hls

LETTERS = {
    "red": "R", "orange": "O", "brown": "N", "yellow": "Y", "green": "G", "teal": "T", "blue": "B", "violet": "V",
    "pink": "P", "cream": "C", "black": "K", "grey": "E", "white": "W",
}  # fmt: skip
_HUES = ((15, "red"), (45, "orange"), (70, "yellow"), (160, "green"), (200, "teal"), (255, "blue"), (295, "violet"),
         (340, "pink"), (361, "red"))  # fmt: skip
"""(hue in degrees up to which, name)"""


def colour_word(swatch: str) -> str:
    """Return the plain name of "#rrggbb", one of `LETTERS`. The borders between names are ours."""
    red, green, blue = (int(swatch[n : n + 2], 16) / 255 for n in (1, 3, 5))
    hue, lightness, saturation = rgb_to_hls(red, green, blue)
    if lightness < 0.1:
        return "black"
    if lightness > 0.93:
        return "white"
    if saturation < 0.12:
        return "grey"
    if lightness > 0.8 and 20 <= hue * 360 < 70:
        return "cream"
    word = next(name for limit, name in _HUES if hue * 360 < limit)
    if word in ("orange", "yellow") and lightness < 0.4 and hue * 360 < 55:
        return "brown"
    if word == "red" and lightness > 0.65:
        return "pink"
    return word


def colour_words(swatches: Sequence[str]) -> str:
    """Return "yellow, blue": each colour once, in order."""
    return ", ".join(dict.fromkeys(colour_word(swatch) for swatch in swatches))
