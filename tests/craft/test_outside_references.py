"""Heat, air and colour against libraries that have nothing to do with us."""

from __future__ import annotations

import warnings
from math import log
from typing import Any

import pytest

from dyeday.craft.dye import colour_difference
from dyeday.craft.yarn import drying_air as drying
from dyeday.craft.yarn import heat_into_yarn as heat

pytestmark = pytest.mark.reference


def library(name: str) -> Any:
    """The library, or a skip; what it warns of on import is its own affair."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return pytest.importorskip(name)


@pytest.mark.parametrize("celsius", [1.0, 12.5, 33.0, 71.0, 88.0, 99.0])
def test_heat_of_water_agrees_with_iapws(celsius: float) -> None:
    iapws = library("iapws")
    liquid = iapws.IAPWS97(T=celsius + 273.15, P=0.101325)
    cold = iapws.IAPWS97(T=273.15 + 0.5, P=0.101325)
    boiling = [iapws.IAPWS97(T=celsius + 273.15, x=share).h for share in (0, 1)]

    slope = heat.water_kj_per_kg(celsius - 0.5, celsius + 0.5)
    assert slope == pytest.approx(liquid.cp, abs=0.0005)
    assert heat.water_kj_per_kg(0.5, celsius) == pytest.approx(liquid.h - cold.h, abs=0.05)
    assert heat.latent_kj_per_kg(celsius) == pytest.approx(boiling[1] - boiling[0], abs=0.05)


@pytest.mark.parametrize("air_c", [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 15.0, 22.0, 30.0, 38.0])
@pytest.mark.parametrize("humidity_pct", [5.0, 20.0, 50.0, 80.0, 95.0])
def test_the_wet_bulb_agrees_with_coolprop(air_c: float, humidity_pct: float) -> None:
    humid_air = library("CoolProp.HumidAirProp")
    # CoolProp has no wet bulb at its own freezing point to the last digit.
    theirs = humid_air.HAPropsSI("B", "T", air_c + 273.16, "P", 101325, "R", humidity_pct / 100) - 273.16

    assert drying.wet_bulb_c(air_c, humidity_pct) == pytest.approx(theirs, abs=0.04)


@pytest.mark.parametrize("air_c", [5.0, 15.0, 25.0, 35.0])
def test_saturation_pressure_agrees_with_iapws(air_c: float) -> None:
    theirs_kpa = 1000 * library("iapws").iapws97._PSat_T(air_c + 273.15)

    assert drying.saturation_kpa(air_c) == pytest.approx(theirs_kpa, rel=0.0015)


@pytest.mark.parametrize(
    ("altitude_m", "kpa"),
    # ISO 2533:1975, table of the standard atmosphere, from memory.
    [(0, 101.325), (500, 95.461), (1000, 89.876), (1500, 84.560), (2000, 79.501), (3000, 70.121)],
)
def test_where_water_boils_agrees_with_iapws_and_the_standard_atmosphere(altitude_m: float, kpa: float) -> None:
    theirs_c = library("iapws").iapws97._TSat_P(kpa / 1000) - 273.15

    assert heat.boils_c(altitude_m) == pytest.approx(theirs_c, abs=0.1)


@pytest.mark.parametrize("lighter", [0.0, -3.0, -9.0])
@pytest.mark.parametrize("redder", [0.0, 1.5, 7.0])
def test_a_stain_is_graded_from_colour_sciences_difference(lighter: float, redder: float) -> None:
    colour = library("colour")
    white, cloth = (94.0, 0.5, 3.0), (94.0 + lighter, 0.5 + redder, 3.0 - redder / 2)
    delta_e = float(colour.delta_E(white, cloth, method="CIE 1976"))
    # ISO 105-A04:1989, from memory.
    grey = delta_e - 0.4 * max(0.0, delta_e**2 - lighter**2) ** 0.5
    rating = min(5.0, 5 - 0.23 * grey if grey == 0 or 6.1 - 1.45 * log(grey) > 4 else 6.1 - 1.45 * log(grey))
    nearest = min(colour_difference.GRADES, key=lambda grade: abs(_value(grade) - rating))

    assert colour_difference.stain_grade(white, cloth) == nearest


def _value(grade: str) -> float:
    return sum(float(part) for part in grade.split("-")) / len(grade.split("-"))
