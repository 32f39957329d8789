"""Yarn numbers: how thick, how long, how many pieces.

tex is grams in 1000 m (ISO 1144), Nm metres in a gram, den 9 tex; the worsted count NeK is hanks of 560 yd in a
pound. All are definitions.
"""

from __future__ import annotations

from dyeday.craft.refusal import not_negative, positive

M_PER_YARD = 0.9144
"""International yard, exact."""

G_PER_POUND = 453.59237
"""International pound, exact."""

YARDS_PER_WORSTED_HANK = 560
"""Length of one worsted hank, yd."""


def tex(length_m: float, weight_g: float) -> float:
    """Give grams in 1000 m from a label's length and weight.

    Raises:
        RefusedError: length or weight is not above 0.
    """
    return positive(weight_g, "the weight in g") / positive(length_m, "the length in m") * 1000


def metric_count(yarn_tex: float) -> float:
    """Give Nm, metres in a gram.

    Raises:
        RefusedError: the tex is not above 0.
    """
    return 1000 / positive(yarn_tex, "the tex")


def tex_of_metric_count(count: float, plies: int = 1) -> float:
    """Give the tex of the whole yarn from Nm of one ply: Nm 80/2 is 12.5 tex twice.

    Raises:
        RefusedError: count or plies are not above 0.
    """
    return 1000 / positive(count, "the count Nm") * positive(plies, "the number of plies")


def denier(yarn_tex: float) -> float:
    """Give grams in 9000 m.

    Raises:
        RefusedError: the tex is not above 0.
    """
    return 9 * positive(yarn_tex, "the tex")


def worsted_count(yarn_tex: float) -> float:
    """Give NeK, worsted hanks in a pound: 885.8 / tex.

    Raises:
        RefusedError: the tex is not above 0.
    """
    return yards_per_pound(yarn_tex) / YARDS_PER_WORSTED_HANK


def yards_per_pound(yarn_tex: float) -> float:
    """Give yards in a pound.

    Raises:
        RefusedError: the tex is not above 0.
    """
    return yards(metric_count(yarn_tex) * G_PER_POUND)


def m_per_100g(yarn_tex: float) -> float:
    """Give metres in 100 g, as labels print it.

    Raises:
        RefusedError: the tex is not above 0.
    """
    return 100 * metric_count(yarn_tex)


def yards(length_m: float) -> float:
    """Give yards from metres.

    Raises:
        RefusedError: the length is negative.
    """
    return not_negative(length_m, "the length in m") / M_PER_YARD


def length_m(weight_g: float, label_m: float, label_g: float) -> float:
    """Give the metres in so much yarn: a lot, a mini or a blank by weight.

    Args:
        weight_g: of the lot or piece, g.
        label_m: the label's length, m.
        label_g: the label's weight, g.

    Raises:
        RefusedError: the weight is negative, or a label figure not above 0.
    """
    return not_negative(weight_g, "the weight in g") * 1000 / tex(label_m, label_g)


def pieces(lot_g: float, piece_g: float) -> int:
    """Give how many whole minis, blanks or skeins of one weight a lot makes.

    Raises:
        RefusedError: the lot is negative or a piece not above 0.
    """
    # 300 g of 0.1 g pieces must be 3000, not 2999 by the last binary digit.
    return int(not_negative(lot_g, "the lot in g") / positive(piece_g, "one piece in g") + 1e-9)
