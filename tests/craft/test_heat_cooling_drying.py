"""Heat, cooling and drying beyond the recorded figures."""

from __future__ import annotations

from math import exp

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.craft.errors import RefusedError
from dyeday.craft.yarn import cooling_curve as cooling
from dyeday.craft.yarn import drying_air as drying
from dyeday.craft.yarn import heat_into_yarn as heat


@given(dry_g=st.floats(1, 1000), water_g=st.floats(0, 3000), output_w=st.floats(200, 1500))
def test_more_water_never_heats_faster(dry_g: float, water_g: float, output_w: float) -> None:
    assert heat.microwave_min(dry_g, water_g, output_w) <= heat.microwave_min(dry_g, water_g + 50, output_w)


def test_energy_is_power_for_a_time() -> None:
    assert heat.energy_kwh(1500, 40) == pytest.approx(1.0)


def test_a_tank_lasts_as_long_as_its_water() -> None:
    # 1500 W boil away 2.393 kg/h (IAPWS-IF97).
    assert heat.tank_lasts_min(2, 1500) == pytest.approx(2 / 2.393 * 60, rel=0.001)


def test_a_unit_of_the_heat_of_evaporation_boils_away_a_gram_a_second() -> None:
    # IAPWS-IF97 at 100 °C: 2256.5 kJ/kg.
    assert heat.evaporation_kg_h(2256.5) == pytest.approx(3.6, rel=1e-4)


def test_a_litre_warms_up_as_a_kilogram_of_water_does() -> None:
    assert heat.least_warm_up_min(1000, 1) == pytest.approx(heat.water_kj_per_kg(15, 100) / 60, rel=1e-6)


@pytest.mark.parametrize(("from_c", "to_c"), [(60.0, 20.0), (-5.0, 50.0), (20.0, 120.0)])
def test_heating_that_cannot_be_is_refused(from_c: float, to_c: float) -> None:
    with pytest.raises(RefusedError):
        heat.wet_yarn_kj(100, 100, from_c, to_c)


@given(
    room_c=st.floats(5, 30),
    excess=st.floats(5, 70),
    rate=st.floats(0.003, 0.2),
    moments=st.lists(st.integers(0, 90), min_size=2, max_size=6, unique=True),
)
def test_a_fit_finds_the_curve_its_readings_came_from(
    room_c: float, excess: float, rate: float, moments: list[int]
) -> None:
    spread = [(float(at), room_c + excess * exp(-rate * at)) for at in moments]
    if min(read for _, read in spread) - room_c < 1e-3:
        return

    found = cooling.newton(spread, room_c)

    assert found.per_min == pytest.approx(rate, rel=1e-4)
    assert found.excess_c == pytest.approx(excess, rel=1e-4)


def test_what_has_cooled_needs_no_more_minutes() -> None:
    curve = cooling.newton([(0, 90), (10, 60)], 20)

    assert cooling.minutes_until(curve, 60, 40) == 0
    assert cooling.minutes_until(curve, 10, 40) == pytest.approx(curve.minute_of(40) - 10)


@pytest.mark.parametrize(
    "readings",
    [[], [(0.0, 90.0)], [(5.0, 90.0), (5.0, 80.0)], [(0.0, 60.0), (5.0, 90.0)], [(0.0, 90.0), (5.0, 15.0)]],
)
def test_readings_that_say_nothing_of_cooling_are_refused(readings: list[tuple[float, float]]) -> None:
    with pytest.raises(RefusedError):
        cooling.newton(readings, 20)


def test_a_bath_never_cools_below_its_room() -> None:
    with pytest.raises(RefusedError, match="never reaches 15"):
        cooling.newton([(0, 90), (10, 60)], 20).minute_of(15)


@given(air_c=st.floats(0, 60), humidity_pct=st.floats(0, 99))
def test_the_wet_bulb_lies_below_the_air_and_drier_air_lowers_it(air_c: float, humidity_pct: float) -> None:
    bulb_c = drying.wet_bulb_c(air_c, humidity_pct)

    assert drying.COLDEST_BULB_C < bulb_c <= air_c
    assert drying.wet_bulb_c(air_c, humidity_pct / 2) <= bulb_c + 1e-9


@pytest.mark.parametrize("air_c", [-0.1, 60.1, float("nan")])
def test_air_beyond_the_formulas_is_refused(air_c: float) -> None:
    with pytest.raises(RefusedError, match="air in °C"):
        drying.wet_bulb_c(air_c, 50)


@pytest.mark.parametrize(
    ("air_c", "humidity_pct", "bulb_c"),
    # CoolProp, humid air at 101.325 kPa; the frozen ones first.
    [
        (0, 20, -4.924),
        (0, 80, -1.159),
        (2, 50, -1.368),
        (5, 5, -2.738),
        (8, 5, -0.943),
        (22, 5, 7.783),
        (38, 5, 15.699),
    ],
)
def test_the_wet_bulb_is_that_of_humid_air_tables(air_c: float, humidity_pct: float, bulb_c: float) -> None:
    assert drying.wet_bulb_c(air_c, humidity_pct) == pytest.approx(bulb_c, abs=0.04)


@pytest.mark.parametrize(
    ("altitude_m", "boils_c"),
    # IAPWS-IF97 at the pressures of the standard atmosphere, ISO 2533.
    [(0, 99.97), (500, 98.31), (1000, 96.65), (1500, 94.98), (2000, 93.32), (3000, 89.98)],
)
def test_water_boils_cooler_higher_up(altitude_m: float, boils_c: float) -> None:
    assert heat.boils_c(altitude_m) == pytest.approx(boils_c, abs=0.06 if altitude_m else 0.03)


def test_cold_air_dries_slower_but_not_eight_times_slower() -> None:
    # CoolProp's wet bulbs: 15.80 °C in air of 20 °C and 65 %, −0.57 °C in air of 3 °C and 50 %.
    assert drying.time_ratio(3, 50, 20, 65) == pytest.approx(4.20 / (3 + 0.57), rel=0.02)


@pytest.mark.parametrize("airs", [(20, 100, 22, 50), (22, 50, 20, 100)])
def test_saturated_air_dries_nothing_and_is_refused_now_or_as_the_known_one(airs: tuple[float, ...]) -> None:
    with pytest.raises(RefusedError, match="takes up no water"):
        drying.time_ratio(*airs)


def test_dry_wool_is_heavier_in_damp_air_and_weighs_its_label_in_standard_air() -> None:
    wool = {"wool": 100.0}

    assert drying.dry_weight_g(100, 65, wool) == pytest.approx(100)
    assert drying.dry_weight_g(100, 50, wool) < 100 < drying.dry_weight_g(100, 80, wool) < 105
    assert drying.dry_weight_g(100, 0, wool) == pytest.approx(100 / 1.136)


@pytest.mark.parametrize(
    ("humidity_pct", "share"),
    # Merino by ASHRAE Fundamentals, from memory: 4.7 % at 10 %, 10.8 at 40, 12.8 at 50, 14.9 at 60, 19.9 at 80.
    [(0, 0), (10, 0.293), (25, 0.495), (40, 0.673), (45, 0.735), (50, 0.798), (60, 0.928), (80, 1.24), (100, 2.056)],
)
def test_the_regain_follows_merinos_curve(humidity_pct: float, share: float) -> None:
    assert drying.regain_in_air_pct(14, humidity_pct) == pytest.approx(14 * share, rel=0.003)


@given(low=st.floats(0, 100), high=st.floats(0, 100))
def test_damper_air_never_leaves_yarn_lighter(low: float, high: float) -> None:
    low, high = sorted((low, high))

    assert drying.regain_in_air_pct(14, low) <= drying.regain_in_air_pct(14, high)


def test_yarn_lighter_than_dry_is_refused() -> None:
    with pytest.raises(RefusedError, match="cannot weigh less"):
        drying.water_share(100, 90)
