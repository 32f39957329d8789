"""The luminance of a screen's colours, and the fastness grade of a stained cloth from colours a meter reads.

The grey scales are steps of CIELAB ΔE*ab, not of ΔE2000. Do not take colours from a telephone's picture.
"""

from __future__ import annotations

from math import hypot, log

from dyeday.craft.errors import between, round_up

Lab = tuple[float, float, float]
"""CIELAB L*, a*, b*."""
GRADES = ("5", "4-5", "4", "3-4", "3", "2-3", "2", "1-2", "1")
"""Best to worst (ISO 105-A03)."""
MOST_AB = 200.0
"""Beyond any a* or b* of a real colour. Common practice, no source."""


def stain_grade(white: Lab, cloth: Lab) -> str:
    """Return the staining grade of a cloth by instrument: ISO 105-A04:1989, formulas and limits from memory.

    ΔE_GS = ΔE − 0.4 √(ΔE² − ΔL²); the rating is 6.1 − 1.45 ln ΔE_GS where that is 4 or less, else 5 − 0.23 ΔE_GS.
    The standard's table puts 4.75 and more at 5, 4.25 to 4.74 at 4-5, and so on: the rating in two decimals, a half
    step up at its middle.
    ``white`` is the cloth before, ``cloth`` the same pressed on the wet yarn and dried. Raises RefusedError where a
    colour cannot be.
    """
    d_l, d_a, d_b = (after - before for before, after in zip(_real(white), _real(cloth), strict=True))
    in_colour = hypot(d_a, d_b)  # the same as √(ΔE² − ΔL²)
    difference = hypot(d_l, in_colour) - 0.4 * in_colour
    small_difference = 5 - 0.23 * difference
    large_difference = 6.1 - 1.45 * log(difference) if difference > 0 else small_difference
    rating = large_difference if large_difference <= 4 else small_difference
    half_steps_down = round_up(2 * (5 - round(rating, 2)) - 0.5)
    return GRADES[max(0, min(len(GRADES) - 1, half_steps_down))]


def _real(colour: Lab) -> Lab:
    between(colour[0], 0, 100, "L*")
    for value in colour[1:]:
        between(value, -MOST_AB, MOST_AB, "a* or b*")
    return colour


def linear_rgb(colour: str) -> tuple[float, float, float]:
    """Return linear red, green and blue, 0 to 1, of an sRGB colour "#rrggbb": IEC 61966-2-1:1999, from memory."""
    parts = (int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5))
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return red, green, blue


def luminance(colour: str) -> float:
    """Return the relative luminance of "#rrggbb", 0 (black) to 1: ITU-R BT.709, as in WCAG 2.1, from memory."""
    red, green, blue = linear_rgb(colour)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
