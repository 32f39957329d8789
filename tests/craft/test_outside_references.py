"""Heat, air and colour against libraries that have nothing to do with us."""

from __future__ import annotations

import warnings
from typing import Any

import pytest

from dyeday.craft import colour_difference, drying, heat

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

    assert heat.water_kj_per_kg_k(celsius) == pytest.approx(liquid.cp, abs=0.0005)
    assert heat.water_kj_per_kg(0.5, celsius) == pytest.approx(liquid.h - cold.h, abs=0.05)
    assert heat.latent_kj_per_kg(celsius) == pytest.approx(boiling[1] - boiling[0], abs=0.05)


@pytest.mark.parametrize("air_c", [8.0, 15.0, 22.0, 30.0, 38.0])
@pytest.mark.parametrize("humidity_pct", [25.0, 50.0, 80.0, 95.0])
def test_the_wet_bulb_agrees_with_coolprop(air_c: float, humidity_pct: float) -> None:
    humid_air = library("CoolProp.HumidAirProp")
    theirs = humid_air.HAPropsSI("B", "T", air_c + 273.15, "P", 101325, "R", humidity_pct / 100) - 273.15

    assert drying.wet_bulb_c(air_c, humidity_pct) == pytest.approx(theirs, abs=0.1)


@pytest.mark.parametrize("air_c", [5.0, 15.0, 25.0, 35.0])
def test_saturation_pressure_agrees_with_iapws(air_c: float) -> None:
    theirs_kpa = 1000 * library("iapws").iapws97._PSat_T(air_c + 273.15)

    assert drying.saturation_kpa(air_c) == pytest.approx(theirs_kpa, rel=0.0015)


COLOURS = [
    ((50.0, 2.5, 0.0), (50.0, 0.0, -2.5)),
    ((61.4, -0.7, 0.6), (61.9, -3.0, 1.9)),
    ((22.7, 20.1, -46.7), (23.0, 15.0, -42.6)),
    ((90.9, -0.5, 1.4), (91.1, 0.4, -0.1)),
    ((35.0, 60.0, 5.0), (37.0, 58.0, -6.0)),
    ((50.0, 30.0, 10.0), (50.0, -30.0, -10.0)),
    ((70.0, 0.0, 0.0), (71.0, 0.0, 0.0)),
]


@pytest.mark.parametrize(("one", "other"), COLOURS)
def test_colour_differences_agree_with_colour_science(
    one: colour_difference.Lab, other: colour_difference.Lab
) -> None:
    colour = library("colour")

    assert colour_difference.delta_e_76(one, other) == pytest.approx(colour.delta_E(one, other, method="CIE 1976"))
    assert colour_difference.delta_e_2000(one, other) == pytest.approx(
        colour.delta_E(one, other, method="CIE 2000"), abs=1e-6
    )
