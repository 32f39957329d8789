"""Drying: how this air compares with a known one, and what dry yarn weighs in it.

No published formula gives hours for a skein; a learned time is scaled. While yarn is wet through it dries in
proportion to how far its surface stays below the air: the wet-bulb depression.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from math import exp

from dyeday.craft.errors import RefusedError, between, not_negative, positive
from dyeday.craft.yarn import fibres
from dyeday.craft.yarn.heat_into_yarn import latent_kj_per_kg

AIR_KPA = 101.325
"""Standard atmosphere (ISO 2533)."""
COLDEST_BULB_C = -10.0
"""Colder than any wet bulb in air of 0 °C and more, by the balance over ice: dry air of 0 °C gives −6.3."""
GUESS_BELOW_C = 5.0
"""Below this a wet surface may freeze, and times seen in a warm room say little. Common practice, no source."""
STANDARD_HUMIDITY_PCT = 65.0
"""Humidity of the standard air that regains are stated for (20 °C, ISO 139)."""
MERINO_REGAIN = (
    (0.0, 0.0), (10.0, 4.7), (20.0, 7.0), (30.0, 8.9), (40.0, 10.8), (50.0, 12.8), (60.0, 14.9), (70.0, 17.2),
    (80.0, 19.9), (90.0, 23.4), (100.0, 33.0),
)  # fmt: skip
"""Humidity in % to the regain of a merino skein in %: ASHRAE Fundamentals, hygroscopic materials, and wool's
saturation at 100 %, all from memory. Only the shape is used, for every fibre."""


def saturation_kpa(celsius: float) -> float:
    """Return the vapour pressure, kPa, at 0-60 °C: 0.6108 exp(17.27 T / (T + 237.3)), FAO-56. Raises RefusedError."""
    air_c = between(celsius, 0, 60, "the air in °C")
    return 0.6108 * exp(17.27 * air_c / (air_c + 237.3))


def wet_bulb_c(air_c: float, humidity_pct: float) -> float:
    """Return the temperature a wet surface comes to in moving air, °C; below 0 it is frozen.

    The balances of ASHRAE Fundamentals, psychrometrics, over water and over ice, from memory; within 0.04 °C of
    CoolProp, which gives the frozen one too where both balance. Raises RefusedError outside 0-60 °C or 0-100 %.
    """
    humidity = between(humidity_pct, 0, 100, "the humidity in %") / 100
    moist = _mixing_ratio(humidity * saturation_kpa(air_c))
    frozen = _over_ice(air_c, 0.0) > moist
    saturation, low, high = (_over_ice, COLDEST_BULB_C, 0.0) if frozen else (_over_water, 0.0, air_c)
    for _ in range(50):
        bulb = (low + high) / 2
        if saturation(air_c, bulb) < moist:
            low = bulb
        else:
            high = bulb
    return (low + high) / 2


def time_ratio(air_c: float, humidity_pct: float, known_air_c: float, known_humidity_pct: float) -> float:
    """Return how many times as long drying takes as in a known air. Raises RefusedError if one dries nothing."""
    return _depression_c(known_air_c, known_humidity_pct) / _depression_c(air_c, humidity_pct)


def water_share(dry_g: float, spun_g: float) -> float:
    """Return the water to lose per gram of dry yarn. Raises RefusedError if spun-out yarn weighs less than dry."""
    if spun_g < positive(dry_g, "the dry yarn in g"):
        raise RefusedError(f"spun-out yarn of {spun_g:g} g cannot weigh less than dry, {dry_g:g} g")
    return (spun_g - dry_g) / dry_g


def conditioned_g(bone_dry_g: float, regain_pct: float) -> float:
    """Return the weight with its regain, g: bone-dry × (1 + regain / 100). Raises RefusedError if one is negative."""
    regain = not_negative(regain_pct, "the regain in %") / 100
    return not_negative(bone_dry_g, "the bone-dry yarn in g") * (1 + regain)


def regain_in_air_pct(standard_regain_pct: float, humidity_pct: float) -> float:
    """Return the regain at 0-100 % humidity from that in standard air, by merino's curve. Raises RefusedError."""
    at_standard = _merino_regain_pct(STANDARD_HUMIDITY_PCT)
    regain = not_negative(standard_regain_pct, "the regain in %")
    return regain * _merino_regain_pct(between(humidity_pct, 0, 100, "the humidity in %")) / at_standard


def dry_weight_g(label_g: float, humidity_pct: float, mix: Mapping[str, float]) -> float:
    """Return what yarn weighs, g, dry in air of 0-100 % humidity; ``label_g`` is in standard air, ``mix`` in percent.

    Raises RefusedError where a fibre is not known, the mix does not add to 100 %, or a value is out of its range.
    """
    standard = fibres.regain_pct(mix)
    bone_dry_g = not_negative(label_g, "the label's weight in g") / (1 + standard / 100)
    return conditioned_g(bone_dry_g, regain_in_air_pct(standard, humidity_pct))


def _depression_c(air_c: float, humidity_pct: float) -> float:
    """How far wet yarn stays below the air; below 0.01 °C it dries nothing (numerical choice)."""
    depression_c = air_c - wet_bulb_c(air_c, humidity_pct)
    if not depression_c > 0.01:
        raise RefusedError(f"air of {humidity_pct:g} % humidity takes up no water; warm the room or air it")
    return depression_c


def _over_water(air_c: float, bulb_c: float) -> float:
    """Vapour, kg per kg of dry air, that air holds when water in it comes to this wet bulb."""
    return _held(air_c - bulb_c, latent_kj_per_kg(bulb_c), saturation_kpa(bulb_c))


def _over_ice(air_c: float, bulb_c: float) -> float:
    """The same where the surface is frozen: heat of sublimation 2830 − 0.24 T kJ/kg (ASHRAE, from memory).

    Pressure over ice 0.61115 exp(22.452 T / (T + 272.55)), Sonntag 1990, from memory.
    """
    return _held(air_c - bulb_c, 2830 - 0.24 * bulb_c, 0.61115 * exp(22.452 * bulb_c / (272.55 + bulb_c)))


def _held(depression_c: float, latent_kj: float, vapour_kpa: float) -> float:
    """Vapour that a wet surface gives off by the air's heat: 1.006 kJ/kg K dry, 1.86 vapour (ASHRAE, from memory)."""
    given = latent_kj * _mixing_ratio(vapour_kpa) - 1.006 * depression_c
    return given / (latent_kj + 1.86 * depression_c)


def _mixing_ratio(vapour_kpa: float) -> float:
    """Vapour per dry air by weight: 0.621945 is the ratio of their molar masses (ASHRAE, from memory)."""
    return 0.621945 * vapour_kpa / (AIR_KPA - vapour_kpa)


def _merino_regain_pct(humidity_pct: float) -> float:
    for (dry, low), (damp, high) in pairwise(MERINO_REGAIN):
        if humidity_pct <= damp:
            return low + (high - low) * (humidity_pct - dry) / (damp - dry)
    return MERINO_REGAIN[-1][1]
