"""How much of the dye left the bath for the fibre, in percent of the first, by what is seen or measured.

A reading that would mean less than nothing or more than everything is refused: it was typed or measured wrongly.
"""

from __future__ import annotations

from collections.abc import Sequence

from dyeday.craft.errors import RefusedError, above, between, not_negative, positive

BY_EYE = {"clear": (95.0, 100.0), "tinted": (80.0, 95.0), "coloured": (0.0, 80.0)}
"""What a look at the bath says, as a range in percent. Common practice, no source."""


def by_eye(word: str) -> tuple[float, float]:
    """Return the range of exhaustion, percent, that a word of `BY_EYE` stands for. Raises RefusedError."""
    try:
        return BY_EYE[word.strip().casefold()]
    except KeyError:
        raise RefusedError(f"{word!r} does not describe a bath; use one of {', '.join(BY_EYE)}") from None


def jar_match(n: float, left_l: float, first_l: float) -> float:
    """Return the exhaustion, percent, from a jar of first bath thinned until it matches what is left.

    The match is 1:n, one part of first bath in n parts in all, so what is left is 1/n as strong:
    exhaustion = 1 − left_l / (n · first_l), in litres, the same mass balance as `absorbance`.
    Raises RefusedError where n is below 1, a volume not above 0, or more dye would be left than was put in.
    """
    if positive(n, "the match, parts in all,") < 1:
        raise RefusedError(f"a match of 1:{n:g} is darker than the first bath; the number must be 1 or more")
    return _exhausted_pct(positive(left_l, "what is left, L,") / positive(first_l, "the first bath, L,") / n)


def absorbance(first: float, first_l: float, left: float, left_l: float) -> float:
    """Return the exhaustion, percent, from the absorbance of the first bath and of what is left.

    exhaustion = (A0·V0 − At·Vt) / (A0·V0), the published (C0 − Ct)/C0 with the volumes kept, because liquid boils
    away; linear (Beer-Lambert). An absorbance read on a thinned sample is first multiplied by its dilution. Raises
    RefusedError where ``left`` is below 0, another value not above 0, or more dye would be left than at first.
    """
    strength = not_negative(left, "the absorbance left") / positive(first, "the first absorbance")
    volume = positive(left_l, "what is left, L,") / positive(first_l, "the first bath, L,")
    return _exhausted_pct(strength * volume)


def expected_of_mix(dyes: Sequence[tuple[float, float]]) -> float:
    """Return the exhaustion of several dyes, %, from (weight, own %). Raises RefusedError out of range or for 0 g."""
    total = sum(not_negative(weight, "a dye's weight") for weight, _ in dyes)
    if not total > 0:
        raise RefusedError("every dye weighs 0; at least one must weigh more than 0")
    expected = sum(weight / total * between(pct, 0, 100, "an expected exhaustion, %,") for weight, pct in dyes)
    return min(100.0, expected)


def remedy(
    ph_high: bool | None,
    heat_short: bool | None,
    painted: bool,
    *,
    too_deep: bool,
    most_ph: float,
    heat_min: float = 0,
) -> str:
    """Return what a dyer does about dye left in the bath, by what was read. Common practice, no source.

    ``ph_high``, above ``most_ph``, and ``heat_short`` are None if not known. Nothing may be poured over ``painted``
    yarn; a section that is ``too_deep`` holds more dye than fibre takes up.
    More heat is for ``heat_min`` minutes, 0 if not known.
    """
    acid = "mist acid water over the yarn (never pour it)" if painted else "stir more acid into the bath"
    acid = f"{acid}, then heat again{f' for {heat_min:g} min' if heat_min else ''}"
    more = f"{heat_min:g} min more heat" if heat_min else "more heat"
    heat = f"give it {more}, wrapped and wet" if painted else f"give the bath {more}"
    rinse_out = "there is more dye than the fibre can hold: rinse it out" if too_deep else "rinse it out"
    after_ph = rinse_out if heat_short is False and too_deep else heat
    if ph_high is None:
        of = " of a drop squeezed out" if painted else ""
        return f"read the pH{of}: above {most_ph:.1f}, {acid}; else {after_ph}"
    if ph_high:
        return f"the pH is too high: {acid}"
    if heat_short is False and too_deep:
        return f"pH and heat were right: {rinse_out}"
    right = "pH and heat were right, and the fibre can hold this depth" if heat_short is False else "the pH is right"
    return f"{right}: {heat}; if colour is still left, {rinse_out}"


def _exhausted_pct(left_share: float) -> float:
    # A bath that took up nothing gives 1 but for the last digit of the division.
    if above(left_share, 1):
        what = f"{100 * left_share:.0f} % of the dye would still be in the bath, more than was put in"
        raise RefusedError(f"{what}; check the volumes and the match")
    return 100 * (1 - min(1.0, left_share))
