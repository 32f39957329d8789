"""How far two colours lie apart, and the fastness grades read from it.

The grey scales of ISO 105-A02 and A03 are steps of CIELAB ΔE*ab, not of ΔE2000. By eye, ask for the grade; do not
reckon it from a telephone's picture.
"""

from __future__ import annotations

from math import atan2, cos, degrees, exp, hypot, log, radians, sin, sqrt

from dyeday.craft.refusal import RefusedError, not_negative

Lab = tuple[float, float, float]
"""CIELAB L*, a*, b*."""

GRADES = ("5", "4-5", "4", "3-4", "3", "2-3", "2", "1-2", "1")
"""Best to worst."""

CHANGE_DELTA_E = (0.0, 0.8, 1.7, 2.5, 3.4, 4.8, 6.8, 9.6, 13.6)
"""ΔE*ab of each step of the grey scale for change: ISO 105-A02:1993 preview (OCR)."""

STAINING_DELTA_E = (0.0, 2.2, 4.3, 6.0, 8.5, 12.0, 16.9, 24.0, 34.1)
"""ΔE*ab of each step of the grey scale for staining: ISO 105-A03:1993, from memory; each agrees with the ISO
105-A04 formula within 0.02 grade."""


def delta_e_76(one: Lab, other: Lab) -> float:
    """Give CIELAB ΔE*ab, the straight distance."""
    return sqrt(sum((a - b) ** 2 for a, b in zip(one, other, strict=True)))


def delta_e_2000(one: Lab, other: Lab) -> float:
    """Give CIEDE2000, weights 1: Sharma, Wu and Dalal, Color Res. Appl. 30 (2005) 21, equations 2-22."""
    (l1, a1, b1), (l2, a2, b2) = one, other
    mean_c7 = ((hypot(a1, b1) + hypot(a2, b2)) / 2) ** 7
    stretch = 1.5 - 0.5 * sqrt(mean_c7 / (mean_c7 + 25**7))
    a1, a2 = a1 * stretch, a2 * stretch
    c1, c2 = hypot(a1, b1), hypot(a2, b2)
    h1, h2 = _hue(a1, b1), _hue(a2, b2)

    turn = h2 - h1 if c1 * c2 else 0.0
    turn -= 360 * round(turn / 360) if abs(turn) > 180 else 0
    hue_step = 2 * sqrt(c1 * c2) * sin(radians(turn / 2))
    mean_h = (h1 + h2) / 2 if c1 * c2 else h1 + h2
    if c1 * c2 and abs(h1 - h2) > 180:
        mean_h += 180 if h1 + h2 < 360 else -180

    mean_l, mean_c = (l1 + l2) / 2, (c1 + c2) / 2
    t = 1 - 0.17 * cos(radians(mean_h - 30)) + 0.24 * cos(radians(2 * mean_h))
    t += 0.32 * cos(radians(3 * mean_h + 6)) - 0.20 * cos(radians(4 * mean_h - 63))
    light = (l2 - l1) / (1 + 0.015 * (mean_l - 50) ** 2 / sqrt(20 + (mean_l - 50) ** 2))
    chroma = (c2 - c1) / (1 + 0.045 * mean_c)
    hue = hue_step / (1 + 0.015 * mean_c * t)
    bend = 2 * sqrt(mean_c**7 / (mean_c**7 + 25**7)) * sin(radians(60 * exp(-(((mean_h - 275) / 25) ** 2))))
    return sqrt(light**2 + chroma**2 + hue**2 - bend * chroma * hue)


def change_grade(delta_e: float) -> str:
    """Give the nearest grade of the grey scale for change (ISO 105-A02).

    Raises:
        RefusedError: the difference is negative.
    """
    return _nearest(delta_e, CHANGE_DELTA_E)


def staining_grade(delta_e: float) -> str:
    """Give the nearest grade of the grey scale for staining (ISO 105-A03).

    Raises:
        RefusedError: the difference is negative.
    """
    return _nearest(delta_e, STAINING_DELTA_E)


def grey_scale_difference(white: Lab, cloth: Lab) -> float:
    """Give ΔE_GS = ΔE − 0.4 √(ΔE² − ΔL²) of a stained cloth: ISO 105-A04:1989, from memory."""
    delta_e, delta_l = delta_e_76(white, cloth), white[0] - cloth[0]
    return delta_e - 0.4 * sqrt(max(0.0, delta_e**2 - delta_l**2))


def staining_rating(delta_e_gs: float) -> float:
    """Give the staining rating SSR, at most 5: 6.1 − 1.45 ln ΔE_GS where that is 4 or less, else 5 − 0.23 ΔE_GS.

    ISO 105-A04:1989, from memory.

    Raises:
        RefusedError: the difference is negative.
    """
    difference = not_negative(delta_e_gs, "the grey scale difference")
    near = 5 - 0.23 * difference
    if difference <= 0:
        return near
    far = 6.1 - 1.45 * log(difference)
    return far if far <= 4 else near


def rating_grade(rating: float) -> str:
    """Give the grade in half steps nearest to a rating of 1 to 5."""
    return GRADES[max(0, min(8, round(2 * (5 - rating))))]


def grade_value(grade: str) -> float:
    """Give a grade as a number, "4-5" as 4.5, so that grades compare.

    Raises:
        RefusedError: it is no grade.
    """
    if grade not in GRADES:
        raise RefusedError(f"{grade!r} is no fastness grade; it must be one of {', '.join(GRADES)}")
    return 5 - GRADES.index(grade) / 2


def _hue(a: float, b: float) -> float:
    return degrees(atan2(b, a)) % 360 if a or b else 0.0


def _nearest(delta_e: float, steps: tuple[float, ...]) -> str:
    difference = not_negative(delta_e, "the colour difference")
    return GRADES[min(range(len(steps)), key=lambda i: abs(steps[i] - difference))]
