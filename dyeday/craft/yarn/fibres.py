"""The fibres a yarn may hold: do they take up acid dye, do they felt, how much water do they keep.

By common practice, no source: protein fibres and nylon carry the amine groups that acid dyes bind to.
"""

from __future__ import annotations

from collections.abc import Mapping

from dyeday.craft.errors import RefusedError, not_negative
from dyeday.quick_dataclass import dataclass

FibreMix = Mapping[str, float]
"""Fibre name to its share of the dry weight in percent; the shares add to 100."""
ROUNDING_PCT = 1.0
"""How far labels may miss 100 % in all: a mix printed as 33 / 33 / 33 is still a whole yarn."""


@dataclass(frozen=True)
class Fibre:
    """One kind of fibre."""

    name: str
    dyeable: bool
    """It takes up acid dye."""
    felts: bool
    """Heat, wetness and movement mat it; a superwash finish stops that."""
    regain_pct: float
    """Water held in standard air (20 °C, 65 % RH), percent of the oven-dry weight."""
    bath_limit_c: float | None = None
    """Warmest bath that does it no harm; None where boiling does none."""


WOOL_BATH_C = 95.0
"""Warmest bath for wool that felts. Common practice, no source; published dyeing instructions stay at 82 to 93 °C
(180 to 200 °F). A dye that wants the boil is held at it and not stirred."""
HAIR_BATH_C = 90.0
"""The same for mohair, alpaca and other hair that felts. Common practice, no source."""
SILK_BATH_C = 88.0
"""Warmest bath for silk, which loses its lustre above. Common practice, no source; published dyeing instructions say
85 to 86 °C (185 °F)."""
FIBRES = {fibre.name: fibre for fibre in (
    # Regain: D1909 is ASTM D1909-13, commercial regain, as cited in a review table (Bioresources & Bioprocessing
    # 2020). Hair is taken as wool, being the same protein, bamboo and modal as viscose, which they are chemically:
    # common practice, no source.
    Fibre("wool", True, True, 13.6, WOOL_BATH_C),  # D1909
    Fibre("superwash wool", True, False, 13.6),  # D1909
    Fibre("merino", True, True, 13.6, WOOL_BATH_C),  # D1909
    Fibre("superwash merino", True, False, 13.6),  # D1909
    Fibre("nylon", True, False, 4.5),  # D1909, from memory
    Fibre("silk", True, False, 11.0, SILK_BATH_C),  # D1909
    Fibre("alpaca", True, True, 13.6, HAIR_BATH_C),  # as wool
    Fibre("mohair", True, True, 13.6, HAIR_BATH_C),  # as wool
    Fibre("cashmere", True, True, 13.6, HAIR_BATH_C),  # as wool
    Fibre("angora", True, True, 13.6, HAIR_BATH_C),  # as wool
    Fibre("camel", True, True, 13.6, HAIR_BATH_C),  # as wool
    Fibre("yak", True, True, 13.6, HAIR_BATH_C),  # as wool
    Fibre("llama", True, True, 13.6, HAIR_BATH_C),  # as wool
    Fibre("cotton", False, False, 8.5),  # D1909
    Fibre("linen", False, False, 12.0),  # D1909
    Fibre("hemp", False, False, 12.0),  # D1909
    Fibre("ramie", False, False, 7.6),  # D1909, from memory
    Fibre("viscose", False, False, 11.0),  # D1909, from memory
    Fibre("bamboo", False, False, 11.0),  # as viscose
    Fibre("modal", False, False, 11.0),  # as viscose
    Fibre("lyocell", False, False, 11.0),  # handbook, from memory
    Fibre("polyester", False, False, 0.4),  # D1909, from memory
    Fibre("acrylic", False, False, 1.5),  # D1909, from memory
    Fibre("elastane", False, False, 1.3),  # D1909, from memory
    Fibre("metallic", False, False, 0.0),  # common practice
)}  # fmt: skip
"""Every fibre known, by the name a plan gives it."""
_OTHER_NAMES = {
    "polyamide": "nylon", "superwash": "superwash wool", "lambswool": "wool", "kid mohair": "mohair",
    "baby alpaca": "alpaca", "suri alpaca": "alpaca", "extrafine merino": "merino", "mulberry silk": "silk",
    "tussah": "silk", "tussah silk": "silk", "flax": "linen", "rayon": "viscose", "spandex": "elastane",
}  # fmt: skip
_BREEDS = frozenset((
    "bfl", "bluefaced leicester", "blue faced leicester", "border leicester", "corriedale", "cheviot", "falkland",
    "gotland", "icelandic", "jacob", "masham", "polwarth", "rambouillet", "romney", "shetland", "targhee", "texel",
    "wensleydale", "teeswater", "leicester longwool", "swaledale", "finn", "norwegian", "cormo",
))  # fmt: skip
"""breeds of sheep whose fleece is sold by its name; all are wool (common practice, no source)"""


def find(name: str) -> Fibre | None:
    """Return the fibre of a name in any case and usual spelling; None where it is not known."""
    plain = " ".join(name.casefold().replace("-", " ").split())
    plain = _OTHER_NAMES.get(plain, plain)
    rest = plain.removeprefix("superwash ").removesuffix(" superwash").removesuffix(" wool")
    if plain not in FIBRES and rest in _BREEDS:
        plain = "superwash wool" if "superwash" in plain else "wool"
    return FIBRES.get(plain)


def dyeable_share(mix: FibreMix) -> float:
    """Return the share of a yarn's dry weight that takes acid dye, 0 to 1. Raises as `regain_pct`."""
    return sum(share for fibre, share in _shares(mix) if fibre.dyeable)


def felts(mix: FibreMix) -> bool:
    """Return whether any fibre of the mix felts; superwash wool does not. Raises as `regain_pct`."""
    return any(fibre.felts and share > 0 for fibre, share in _shares(mix))


def bath_limit_c(mix: FibreMix) -> tuple[float, str] | None:
    """Return the warmest harmless bath, °C, and its fibre; None if boiling does no harm. Raises as `regain_pct`."""
    limits = [(f.bath_limit_c, f.name) for f, share in _shares(mix) if f.bath_limit_c is not None and share > 0]
    return min(limits, default=None)


def regain_pct(mix: FibreMix) -> float:
    """Return the regain in standard air, percent of bone-dry. Raises RefusedError for other fibres or shares."""
    return sum(share * fibre.regain_pct for fibre, share in _shares(mix))


def _shares(mix: FibreMix) -> list[tuple[Fibre, float]]:
    shares = []
    for name, pct in mix.items():
        if (fibre := find(name)) is None:
            raise RefusedError(f"{name!r} is not a known fibre")
        shares.append((fibre, not_negative(pct, f"the share of {name} in %")))
    total_pct = sum(pct for _, pct in shares)
    if not abs(total_pct - 100) <= ROUNDING_PCT:
        raise RefusedError(f"the fibre shares add up to {total_pct:g} %; they must add up to 100 %")
    return [(fibre, pct / total_pct) for fibre, pct in shares]
