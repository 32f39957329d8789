"""Colours as an eye compares them: CIELAB from sRGB, and what is written readably on a colour.

Formulas: sRGB by IEC 61966-2-1, CIELAB by CIE 15:2004 for the white D65 and 2°, contrast by WCAG 2.
"""

from __future__ import annotations

from functools import lru_cache
from math import dist

Lab = tuple[float, float, float]
"""CIELAB L*, a*, b*."""
_TO_XYZ = ((0.4124, 0.3576, 0.1805), (0.2126, 0.7152, 0.0722), (0.0193, 0.1192, 0.9505))
"""linear sRGB to CIE XYZ, IEC 61966-2-1"""
_WHITE = (0.95047, 1.0, 1.08883)
"""D65, 2° observer"""


def _linear(colour: str) -> tuple[float, float, float]:
    parts = (int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5))
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return red, green, blue


@lru_cache(1024)
def lab_of(colour: str) -> Lab:
    """Return the CIELAB values of "#rrggbb"."""
    linear = _linear(colour)
    parts = []
    for row, white in zip(_TO_XYZ, _WHITE, strict=True):
        share = sum(factor * part for factor, part in zip(row, linear, strict=True)) / white
        parts.append(share ** (1 / 3) if share > (6 / 29) ** 3 else share / (3 * (6 / 29) ** 2) + 4 / 29)
    x, y, z = parts
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def difference(one: str, other: str) -> float:
    """Return ΔE*ab (CIE 1976) between two colours "#rrggbb"."""
    return dist(lab_of(one), lab_of(other))


def luminance(colour: str) -> float:
    """Return the relative luminance of "#rrggbb", 0 for black to 1 for white (WCAG 2)."""
    red, green, blue = _linear(colour)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


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
