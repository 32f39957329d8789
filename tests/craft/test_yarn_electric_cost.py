"""Lengths, circuits and money."""

from __future__ import annotations

import pytest

from dyeday.craft import colour_difference, cost, electric, yarn
from dyeday.craft.refusal import RefusedError


def test_a_mini_is_a_length_by_its_weight() -> None:
    assert yarn.length_m(20, 420, 100) == pytest.approx(84)


def test_a_lot_makes_whole_pieces_only() -> None:
    assert yarn.pieces(590, 100) == 5
    assert yarn.pieces(300, 0.1) == 3000


def test_a_circuit_says_each_limit_it_passes_with_numbers_and_defers() -> None:
    load = electric.circuit_load({"steamer": 1500, "microwave": 1250}, 120, 20, lead_amps=15, continuous_share=0.8)

    assert load.amps == pytest.approx(22.92, abs=0.01)
    assert load.share == pytest.approx(1.146, abs=0.001)
    assert [line.split(", ")[1] for line in load.exceeds] == [
        "the circuit",
        "the lead",
        "80 % of the circuit for long loads",
    ]
    assert "licensed electrician" in load.defer
    assert "local codes" in load.defer


def test_a_circuit_within_its_limits_passes_none() -> None:
    assert electric.circuit_load({"steamer": 1500}, 230, 32, lead_amps=13, continuous_share=0.8).exceeds == ()
    assert electric.circuit_load({}, 230, 32).amps == 0


@pytest.mark.parametrize(("volts", "amps"), [(0, 13), (230, 0), (-230, 13)])
def test_a_circuit_without_volts_or_amps_is_refused(volts: float, amps: float) -> None:
    with pytest.raises(RefusedError):
        electric.circuit_load({"steamer": 1500}, volts, amps)


def test_a_lots_cost_is_the_sum_of_the_lines_it_shows() -> None:
    lot = cost.lot_cost(
        6,
        yarn_price_per_skein=8.5,
        dyes={"red": (6.0, 0.4), "blue": (3.0, 0.5)},
        acid_amount=120,
        acid_price=0.002,
        energy_kwh=1.5,
        energy_price_per_kwh=0.3,
        hands_h=2,
        hands_price_per_h=20,
    )

    assert [line.what for line in lot.lines] == ["yarn", "red", "blue", "acid", "energy", "hands"]
    assert lot.lot == pytest.approx(51 + 2.4 + 1.5 + 0.24 + 0.45 + 40)
    assert lot.skein * 6 == pytest.approx(lot.lot)
    assert sum(lot.by_skein(line) for line in lot.lines) == pytest.approx(lot.skein)


def test_a_cost_without_skeins_or_with_a_negative_price_is_refused() -> None:
    with pytest.raises(RefusedError):
        cost.lot_cost(0)
    with pytest.raises(RefusedError, match="price of yarn"):
        cost.lot_cost(1, yarn_price_per_skein=-1)


def test_grades_compare_as_numbers_and_strange_ones_are_refused() -> None:
    assert colour_difference.grade_value("4-5") == 4.5
    assert colour_difference.grade_value("1") == 1
    with pytest.raises(RefusedError, match="4-5"):
        colour_difference.grade_value("6")
