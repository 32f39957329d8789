"""Heat into yarn, pots and steamers: minutes, kWh, how long a tank lasts; losses to the room are left out."""

from __future__ import annotations

from math import log10

from dyeday.craft.errors import RefusedError, between, not_negative, positive

WOOL_KJ_PER_KG_K = 1.36
"""Specific heat of dry wool (Morton and Hearle, Physical Properties of Textile Fibres, 2008, Table 6.1); nylon has
1.43 to 1.46, which is 2 % of a wet skein's heat at most."""
FIXING_C = 95.0
"""Where acid dye fixes well. Common practice, no source; wool at the boil is published."""
MICROWAVE_COUPLING = 0.6
"""Share of a microwave's rated output a small wet load takes. Common practice, no source."""
_WATER_KJ_PER_KG_K = (
    4.2190737, -3.3504111e-3, 1.2273965e-4, -2.668331e-6, 3.5052589e-8, -2.3903814e-10, 6.5886296e-13,
)  # fmt: skip
"""Powers of °C, fitted to IAPWS-IF97 at 101.325 kPa within 0.0003 from 0 to 100 °C."""
_LATENT_KJ_PER_KG = (2500.917, -2.3739615, 5.1165004e-4, -1.2141968e-5)
"""Powers of °C, fitted to IAPWS-IF97 within 0.02 from 0 to 100 °C."""


def water_kj_per_kg(from_c: float, to_c: float) -> float:
    """Return the heat that warms a kilogram of water, from 0 to 100 °C. Raises RefusedError out of that range."""
    return _heat_to(to_c) - _heat_to(from_c)


def latent_kj_per_kg(celsius: float) -> float:
    """Return water's heat of evaporation at 0 to 100 °C (IAPWS-IF97). Raises RefusedError out of that range."""
    temperature = between(celsius, 0, 100, "the temperature in °C")
    return sum(factor * temperature**power for power, factor in enumerate(_LATENT_KJ_PER_KG))


def boils_c(altitude_m: float) -> float:
    """Return where water boils at -500 to 5000 m above the sea, °C: what steam and a simmering pot can reach.

    Pressure of the standard atmosphere (ISO 2533:1975), and Antoine's equation for water from 1 to 100 °C,
    log₁₀ p/mmHg = 8.07131 − 1730.63 / (233.426 + T), both from memory; within 0.1 °C of IAPWS-IF97.
    Raises RefusedError where the altitude is out of range.
    """
    above_m = between(altitude_m, -500, 5000, "the altitude in m")
    mmhg = 760 * (1 - 2.25577e-5 * above_m) ** 5.25588
    return 1730.63 / (8.07131 - log10(mmhg)) - 233.426


def wet_yarn_kj(dry_g: float, water_g: float, from_c: float, to_c: float) -> float:
    """Return the kJ that warm wet yarn, its fibre as wool. Raises RefusedError out of 0-100 °C, or downward."""
    if to_c < from_c:
        raise RefusedError(f"{to_c:g} °C is cooler than {from_c:g} °C; heating goes upward")
    fibre = not_negative(dry_g, "the dry yarn in g") / 1000 * WOOL_KJ_PER_KG_K
    water = not_negative(water_g, "the water in g") / 1000 * water_kj_per_kg(from_c, to_c)
    return fibre * (to_c - from_c) + water


def microwave_min(
    dry_g: float,
    water_g: float,
    output_w: float,
    *,
    from_c: float = 20.0,
    to_c: float = FIXING_C,
    coupling: float = MICROWAVE_COUPLING,
) -> float:
    """Return the minutes until wet yarn is at fixing temperature in a microwave; holding it there comes on top.

    minutes = heat / (output × coupling); the power test of IEC 60705, 1000 g of water from 10 to 20 °C fully coupled,
    gives the rated ``output_w`` back, not the input. ``from_c`` is a room's (common practice, no source), ``to_c`` at
    most 100 °C, ``coupling`` above 0 to 1. Raises RefusedError where a value is out of its range.
    """
    coupled = between(positive(coupling, "the coupling"), 0, 1, "the coupling")
    return wet_yarn_kj(dry_g, water_g, from_c, to_c) * 1000 / (positive(output_w, "the output in W") * coupled) / 60


def energy_kwh(input_w: float, minutes: float) -> float:
    """Return the kWh that a nameplate input draws in so many minutes. Raises RefusedError if one is negative."""
    return not_negative(input_w, "the power in W") * not_negative(minutes, "the minutes") / 60 / 1000


def least_warm_up_min(power_w: float, water_l: float, *, from_c: float = 15.0, to_c: float = 100.0) -> float:
    """Return the minutes a steamer or pot needs to bring its water to heat; a litre is taken as a kilogram.

    ``from_c`` is a tap's (common practice, no source), ``to_c`` at most 100 °C. Raises RefusedError out of range.
    """
    return wet_yarn_kj(0, 1000 * water_l, from_c, to_c) * 1000 / positive(power_w, "the power in W") / 60


def evaporation_kg_h(power_w: float) -> float:
    """Return the steam, kg/h, that a power makes of boiling water. Raises RefusedError if it is not above 0."""
    return positive(power_w, "the power in W") / 1000 * 3600 / latent_kj_per_kg(100)


def tank_lasts_min(tank_l: float, power_w: float) -> float:
    """Return the minutes until a tank boils dry at full steam. Raises RefusedError if a value is not above 0."""
    return positive(tank_l, "the tank in L") / evaporation_kg_h(power_w) * 60


def _heat_to(celsius: float) -> float:
    temperature = between(celsius, 0, 100, "the temperature in °C")
    return sum(factor * temperature ** (power + 1) / (power + 1) for power, factor in enumerate(_WATER_KJ_PER_KG_K))
