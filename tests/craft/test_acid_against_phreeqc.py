"""The acid dose against PHREEQC with the same constants (engine: USGS, through phreeqpython)."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest

from dyeday.craft.water import alkalinity as water
from dyeday.craft.water.acid_dose import dose_for, with_acid
from dyeday.craft.water.acids import AcidKind, acid
from dyeday.craft.water.bath_chemistry import of_raw_water

if TYPE_CHECKING:
    from tests.craft.conftest import Phreeqc

pytestmark = pytest.mark.reference

BOTTLES = {"acetic": acid(AcidKind.VINEGAR, 5), "citric": acid(AcidKind.CITRIC)}


@pytest.mark.parametrize("celsius", [5.0, 15.0, 27.0, 40.0])
@pytest.mark.parametrize("alkalinity", [8.0, 75.0, 240.0, 400.0])
@pytest.mark.parametrize("name", list(BOTTLES))
@pytest.mark.parametrize(("calcium_share", "tolerance"), [(0.0, 0.003), (0.5, 0.03), (1.0, 0.03)])
def test_a_dose_agrees_with_phreeqc(
    phreeqc: Callable[[float], Phreeqc],
    celsius: float,
    alkalinity: float,
    name: str,
    calcium_share: float,
    tolerance: float,
) -> None:
    engine, bottle = phreeqc(celsius), BOTTLES[name]
    theirs, ours = (
        engine.water(alkalinity, calcium_share * alkalinity),
        water.raw_water(alkalinity, calcium_share * alkalinity, temperature_c=celsius),
    )
    for target in (3.8, 4.4, 5.0, 5.5):
        dose = dose_for(1.0, ours, target, bottle)

        assert dose.amount * bottle.mol_per_unit == pytest.approx(engine.mol_for(theirs, name, target), rel=tolerance)


@pytest.mark.parametrize(("name", "amounts"), [("acetic", (1.0, 10.0, 40.0)), ("citric", (0.05, 0.4, 1.5))])
@pytest.mark.parametrize("alkalinity", [20.0, 130.0, 310.0])
def test_the_ph_a_dose_reaches_agrees_with_phreeqc(
    phreeqc: Callable[[float], Phreeqc], name: str, amounts: tuple[float, ...], alkalinity: float
) -> None:
    engine, bottle = phreeqc(20.0), BOTTLES[name]
    theirs = engine.water(alkalinity)
    ours = of_raw_water(1.0, water.raw_water(alkalinity, 0, temperature_c=20.0))
    for amount in amounts:
        reached = engine.ph_after(theirs, name, amount * bottle.mol_per_unit)

        # Near pH 6 a bath is barely buffered and a hundredth is what the two activity models differ by.
        assert with_acid(ours, bottle, amount).ph == pytest.approx(reached, abs=0.01)


@pytest.mark.parametrize("raw_ph", [7.0, 7.8, 8.3])
def test_raw_water_of_another_ph_agrees_with_phreeqc(phreeqc: Callable[[float], Phreeqc], raw_ph: float) -> None:
    engine = phreeqc(20.0)
    raw = water.raw_water(200.0, 0.0, temperature_c=20.0, ph=raw_ph)

    dose = dose_for(1.0, raw, 4.7, BOTTLES["acetic"])

    wanted = engine.mol_for(engine.water(200.0, ph=raw_ph), "acetic", 4.7)
    assert dose.amount * BOTTLES["acetic"].mol_per_unit == pytest.approx(wanted, rel=0.003)
