"""Depth of shade: from the weight of fibre to powder, solution and water.

WOF is the dry weight of fibre, DOS the dye in percent of it, a solution's strength % w/v: grams in 100 mL.
g dye = g fibre × DOS / 100 and mL solution = g dye × 100 / strength are definitions; the worked cases of Venkatesh
(VFSTR University) and of published textile calculation pages agree.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from dyeday.craft.refusal import RefusedError, between, not_negative, positive

PINCH_G = 0.05
"""What one pinch of dye powder weighs. Common practice, no source: weigh ten of yours once."""

SHARES_MAY_MISS_PCT = 0.5
"""How far section shares may miss 100 % in all. Common practice, no source."""


class NoRoomError(RefusedError):
    """More solution than the liquor it must fit in."""


@dataclass(frozen=True)
class Section:
    """A part of the yarn with its own colour."""

    share_pct: float
    """Of the layer's fibre weight."""
    dyes_dos_pct: Mapping[str, float]
    """Dye to its depth in percent of this section's fibre."""


@dataclass(frozen=True)
class DyeNeed:
    """One dye for one section."""

    section: int
    """Counted from 1."""
    dye: str
    powder_g: float
    solution_ml: float | None
    """None where the dye's solution strength was not given."""


def wof_counted_g(pieces: int, piece_g: float) -> float:
    """Give the weight of fibre, g, by counting pieces of one label weight.

    Raises:
        RefusedError: fewer than one piece, or a piece weighs nothing.
    """
    return positive(pieces, "the number of pieces") * positive(piece_g, "the weight of one piece in g")


def wof_weighed_g(weighed_g: float, regain_here_pct: float, regain_label_pct: float) -> float:
    """Give the weight of fibre, g, of yarn weighed in this air, as its label would have it.

    Args:
        weighed_g: what the scale says, g.
        regain_here_pct: water the fibre holds in this air, percent of bone-dry (`drying.regain_in_air_pct`).
        regain_label_pct: the same in standard air (`fibres.regain_pct`).

    Raises:
        RefusedError: the weight is not above 0, or a regain is negative.
    """
    here = 1 + not_negative(regain_here_pct, "the regain here in %") / 100
    return positive(weighed_g, "the yarn's weight in g") / here * (1 + regain_label_pct / 100)


def powder_g(wof_g: float, dos_pct: float) -> float:
    """Give the dye powder, g, for a depth of shade on so much fibre.

    Raises:
        RefusedError: the weight is negative, or the depth outside 0-100 %.
    """
    return not_negative(wof_g, "the weight of fibre in g") * between(dos_pct, 0, 100, "the depth of shade in %") / 100


def solution_ml(dye_g: float, strength_pct: float) -> float:
    """Give the mL of solution that hold so much dye.

    Raises:
        RefusedError: the dye is negative or the strength outside 0-100 % w/v.
    """
    strength = between(positive(strength_pct, "the solution's strength in %"), 0, 100, "the solution's strength in %")
    return not_negative(dye_g, "the dye in g") * 100 / strength


def depth_pct(dye_g: float, wof_g: float) -> float:
    """Give the depth of shade, % of fibre, that so much dye makes.

    Raises:
        RefusedError: the dye is negative or the fibre weighs nothing.
    """
    return not_negative(dye_g, "the dye in g") / positive(wof_g, "the weight of fibre in g") * 100


def liquor_l(wof_g: float, liquor_l_per_kg: float) -> float:
    """Give the bath, L, at a liquor ratio in litres to a kilogram of fibre.

    Raises:
        RefusedError: a value is not above 0.
    """
    return positive(wof_g, "the weight of fibre in g") / 1000 * positive(liquor_l_per_kg, "the liquor in L/kg")


def needs(wof_g: float, sections: Sequence[Section], strengths_pct: Mapping[str, float]) -> tuple[DyeNeed, ...]:
    """Give powder and solution for every dye of every section of one layer.

    Args:
        wof_g: dry fibre of the layer, g.
        sections: their shares add to 100 %.
        strengths_pct: dye to the % w/v its solution is made at; a dye left out is used as powder.

    Raises:
        RefusedError: the shares do not add up, or a value is out of its range.
    """
    total_pct = sum(section.share_pct for section in sections)
    if not abs(total_pct - 100) <= SHARES_MAY_MISS_PCT:
        raise RefusedError(f"the sections' shares add to {total_pct:g} %; they must add to 100 %")
    found = []
    for number, section in enumerate(sections, start=1):
        section_g = wof_g * not_negative(section.share_pct, "a section's share in %") / total_pct
        for dye, dos_pct in section.dyes_dos_pct.items():
            dye_g = powder_g(section_g, dos_pct)
            strength = strengths_pct.get(dye)
            found.append(DyeNeed(number, dye, dye_g, None if strength is None else solution_ml(dye_g, strength)))
    return tuple(found)


def make_up_ml(liquor_ml: float, solutions_ml: float, acid_ml: float = 0.0) -> float:
    """Give the water, mL, that makes solutions and acid up to the liquor wanted.

    Raises:
        NoRoomError: they are more than the liquor; the message says how much stronger the solutions must be.
    """
    room_ml = not_negative(liquor_ml, "the liquor in mL") - not_negative(acid_ml, "the acid in mL")
    if not_negative(solutions_ml, "the solutions in mL") > room_ml:
        stronger = f"{solutions_ml / room_ml:.2g} times as strong" if room_ml > 0 else "left out"
        raise NoRoomError(
            f"{solutions_ml:.0f} mL of solution do not fit in {liquor_ml:.0f} mL of liquor; "
            f"make the solutions {stronger} or take more liquor"
        )
    return room_ml - solutions_ml


def speckle_powder_g(wof_g: float, g_per_100g: float) -> float:
    """Give the dye powder, g, for speckles at so many g to 100 g of fibre.

    Raises:
        RefusedError: a value is negative.
    """
    return not_negative(wof_g, "the weight of fibre in g") / 100 * not_negative(g_per_100g, "the powder in g/100 g")


def pinches(dye_g: float, pinch_g: float = PINCH_G) -> float:
    """Give how many pinches so much powder is, to the half pinch.

    Raises:
        RefusedError: the powder is negative or a pinch weighs nothing.
    """
    return round(2 * not_negative(dye_g, "the powder in g") / positive(pinch_g, "a pinch in g")) / 2
