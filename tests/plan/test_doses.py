"""Acid for a plan's water, against values recorded from USGS PHREEQC (minteq.v4.dat through phreeqpython 1.6.2)."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.craft.water.acid_dose import with_acid
from dyeday.craft.water.acids import acid as craft_acid
from dyeday.craft.water.alkalinity import raw_water
from dyeday.craft.water.bath_chemistry import of_raw_water
from dyeday.plan.doses import (
    acid_parts,
    as_wool_g,
    correction,
    dose,
    layer_dose,
    soak_dose,
    to_pour,
    water_known,
    why_no_dose,
)
from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.reading.problems import PlanError
from dyeday.plan.writing.plan_text import plan_text
from tests.plan.plans import plan


def water(
    alkalinity: float | None = 200, hardness: float | None = 0, kind: str = "vinegar", ph: float = 4.5, **more: str
) -> Plan:
    """Return the small plan with this water at 20 °C, this acid and this target."""
    changes: dict[str, str | None] = {
        "water.temperature": "20",
        "acid.kind": f'"{kind}"',
        "acid.target_ph": str(ph),
        **{key.replace("__", "."): value for key, value in more.items()},
    }
    if alkalinity is not None:
        changes["water.alkalinity"] = str(alkalinity)
    if hardness is not None:
        changes["water.hardness"] = str(hardness)
    return plan(changes)


def amount(read: Plan, litres: float = 1.0) -> float:
    found = dose(read, litres)
    assert found is not None
    return found.amount


# PHREEQC 3 with minteq.v4.dat, closed, 20 °C, raw pH 7.8: (alkalinity, target, mL of 5 % vinegar per L)
VINEGAR = [
    (20, 4.0, 3.94), (20, 4.5, 1.41), (20, 5.0, 0.73),
    (100, 4.0, 16.15), (100, 4.5, 6.53), (100, 5.0, 3.56),
    (200, 4.0, 31.00), (200, 4.5, 12.79), (200, 5.0, 7.05),
    (300, 4.0, 45.58), (300, 4.5, 18.96), (300, 5.0, 10.50),
]  # fmt: skip


@pytest.mark.parametrize(("alkalinity", "ph", "ml"), VINEGAR)
def test_vinegar_for_a_plans_water_is_phreeqcs(alkalinity: float, ph: float, ml: float) -> None:
    """Twelve waters without calcium within 1.5 %."""
    assert amount(water(alkalinity, ph=ph)) == pytest.approx(ml, rel=0.015)


@pytest.mark.parametrize(
    ("alkalinity", "hardness", "grams", "tolerance"),
    [(200, 0, 0.5487, 0.015), (200, 200, 0.4274, 0.03), (100, 0, 0.2810, 0.015), (100, 100, 0.2321, 0.03)],
)
def test_citric_for_a_plans_water_is_phreeqcs(
    alkalinity: float, hardness: float, grams: float, tolerance: float
) -> None:
    """Calcium lets citric acid work harder; where it is in the water the dose is a fifth smaller."""
    assert amount(water(alkalinity, hardness, "citric")) == pytest.approx(grams, rel=tolerance)


def test_only_alkalinity_known_takes_as_much_hardness() -> None:
    """The citric dose is then that of water with calcium."""
    assert amount(water(200, None, "citric")) == pytest.approx(0.4274, rel=0.03)


def test_only_hardness_known_stands_in_for_alkalinity_and_says_so() -> None:
    """An upper guess, in words."""
    found = dose(water(None, 200), 1)
    assert found is not None
    assert found.amount == pytest.approx(amount(water(200, 200)))
    assert any("stands in for alkalinity" in note for note in found.notes)
    known = dose(water(200, 200), 1)
    assert known is not None
    assert not any("stands in for alkalinity" in note for note in known.notes)


def test_monohydrate_weighs_more_than_anhydrous_by_its_water() -> None:
    """210.138 / 192.124 = 1.0938 by molar masses."""
    ratio = amount(water(kind="citric monohydrate")) / amount(water(kind="citric"))
    assert ratio == pytest.approx(1.0938, rel=1e-4)


def test_a_citric_solution_is_poured_and_holds_the_same_acid() -> None:
    """50 % w/v: half a gram in a millilitre, so twice the anhydrous grams in mL, its own water apart."""
    found = dose(water(kind="citric solution", acid__strength="50"), 1)
    assert found is not None
    assert found.liquid
    assert found.acid_g is None
    assert found.acid_ml == pytest.approx(2 * amount(water(kind="citric")), rel=0.005)


def test_stronger_vinegar_takes_less() -> None:
    """10 % vinegar: half the volume, a little less for the water that is not poured in with it."""
    strong, usual = amount(water(acid__strength="10")), amount(water())
    assert 0.49 * usual < strong < 0.5 * usual


@pytest.mark.parametrize(("kind", "liquid"), [("vinegar", True), ("citric", False)])
def test_a_dose_is_in_millilitres_or_in_grams_and_not_in_both(kind: str, liquid: bool) -> None:
    """One of the two is None."""
    found = dose(water(kind=kind), 3)
    assert found is not None
    assert (found.acid_ml, found.acid_g) == ((found.amount, None) if liquid else (None, found.amount))
    assert found.water_l == 3
    assert found.ph == pytest.approx(4.5)


@given(st.floats(0.01, 500), st.sampled_from(["vinegar", "citric"]))
def test_twice_the_water_is_twice_the_acid(litres: float, kind: str) -> None:
    """The dose is per litre."""
    read = WATERS[kind]
    assert amount(read, 2 * litres) == pytest.approx(2 * amount(read, litres))
    assert amount(read, litres) == pytest.approx(litres * amount(read))


WATERS = {kind: water(kind=kind) for kind in ("vinegar", "citric")}


@pytest.mark.parametrize(("kind", "amount"), [("vinegar", 80.0), ("citric", 4.0)])
def test_of_unknown_water_the_usual_dose_goes_by_weight_and_that_is_said(kind: str, amount: float) -> None:
    """1 % of the yarn's weight as pure acid, 20 mL of 5 % vinegar per 100 g (common practice); no chemistry."""
    read = plan({"acid.kind": f'"{kind}"'})
    assert not water_known(read.water)
    assert dose(read, 3) is None
    usual = soak_dose(read, 400, read.bases[0])
    assert usual is not None
    assert usual.amount == pytest.approx(amount)
    assert usual.ph is None
    assert any("[water] alkalinity =" in note for note in usual.notes)
    assert correction(read, 3, 40, 5.5) is None
    assert "[water] alkalinity" in why_no_dose(read)


@pytest.mark.parametrize(
    ("kind", "own", "amount"),
    [
        ("vinegar", "20 mL per 100 g", 80.0),
        ("vinegar", "2 % WOF", 160.0),
        ("vinegar", "15 mL/L", 60.0),
        ("citric", "1.5 g / 100 g", 6.0),
        ("citric", "2 % WOF", 8.0),
    ],
)
def test_a_dyers_own_dose_stands_instead_of_the_worked_out_one(kind: str, own: str, amount: float) -> None:
    """For 400 g in 4 L, whatever the water; it is written back as it was read."""
    read = water(kind=kind, acid__dose=f'"{own}"')
    found = soak_dose(read, 400, read.bases[0])
    assert found is not None
    assert found.amount == pytest.approx(amount)
    assert (found.ph, why_no_dose(read)) == (None, "")
    assert read_plan(plan_text(read)).acid == read.acid


@pytest.mark.parametrize("wrong", ['"20 mL"', '"20"', '"a lot per 100 g"', '"20 mL per batch"', '"200 % WOF"', "20"])
def test_a_dose_that_does_not_say_per_what_is_a_problem_of_its_line(wrong: str) -> None:
    """With what would be right."""
    with pytest.raises(PlanError) as error:
        plan({"acid.dose": wrong})
    (problem,) = error.value.problems
    assert "dose" in str(problem)


def test_alkalinity_of_zero_is_known_water() -> None:
    """Zero is not unknown: rain water takes a little acid to pH 4.5."""
    read = water(0)
    assert water_known(read.water)
    assert why_no_dose(read) == ""
    assert 0 < amount(read) < 0.5


@pytest.mark.parametrize("litres", [0.0, -1.0])
def test_without_water_there_is_no_dose(litres: float) -> None:
    """Nothing to bring to a pH."""
    assert dose(water(), litres) is None
    assert correction(water(), litres, 10, 5.5) is None


@pytest.mark.parametrize(("ph", "says"), [(8.5, "any pH below"), (2.0, "at most it reaches pH")])
def test_a_target_that_cannot_be_reached_is_refused_with_what_can(ph: float, says: str) -> None:
    """No dose, and the way out in words."""
    read = water()
    read = replace(read, acid=replace(read.acid, target_ph=ph))
    assert dose(read, 3) is None
    assert says in why_no_dose(read)


# Wool at pH 4.5 in 3.8 mmol/L of acetate: 0.82 θ mmol/g, (θ / (1 - θ))² = [H⁺] [A⁻] 10^4.6 (from memory), which is
# 0.053 mmol/g; nylon's amine ends 0.05, silk 0.3 of wool (from memory). 0.355 of acetic acid (pKa 4.76) has given its
# proton there, and 5 % w/v has 0.833 mmol in a mL: 0.179 mL for a gram of wool, of which half is in the dose.
HALF_OF_WOOL_ML_PER_G = 0.179 / 2
HALF_OF_SOCK_ML_PER_G = HALF_OF_WOOL_ML_PER_G * (0.75 + 0.25 * 0.05 / 0.053)


def test_a_soak_is_ten_litres_to_the_kilogram() -> None:
    """450 g soak in 4.5 L (common practice): 4.5 times the dose of a litre, and half of what the fibre may take."""
    read = water()
    found = soak_dose(read, 450, read.bases[0])
    assert found is not None
    assert found.water_l == pytest.approx(4.5)
    assert found.water_amount == pytest.approx(4.5 * 12.79, rel=0.015)
    assert found.amount == pytest.approx(4.5 * 12.79 + 450 * HALF_OF_SOCK_ML_PER_G, rel=0.025)


def test_a_layers_liquor_is_dosed_by_its_volume() -> None:
    """Painted: 90 mL per 100 g, 0.36 L for 400 g. Immersed at 20 L/kg: 8 L. The fibre's half is of 400 g in both."""
    read = water()
    painted = layer_dose(read, read.colourways[0].layers[0], 400, read.bases[0])
    immersed = water(colourway__how='"immersed"')
    bath = layer_dose(immersed, immersed.colourways[0].layers[0], 400, immersed.bases[0])
    assert painted is not None
    assert bath is not None
    assert (painted.water_l, bath.water_l) == pytest.approx((0.36, 8.0))
    for found in (painted, bath):
        assert found.water_amount == pytest.approx(found.water_l * 12.79, rel=0.015)
        assert found.fibre_amount == pytest.approx(400 * HALF_OF_SOCK_ML_PER_G, rel=0.05)


def test_half_of_what_the_fibre_may_take_is_in_the_dose() -> None:
    """The water's amount is the same with yarn in it or without."""
    read = water()
    with_yarn, without = dose(read, 4, 400), dose(read, 4)
    assert with_yarn is not None
    assert without is not None
    assert without.amount == pytest.approx(without.water_amount)
    assert with_yarn.water_amount == pytest.approx(without.amount)
    assert with_yarn.amount == pytest.approx(without.amount + with_yarn.fibre_most / 2)
    # 60 mmol for 1 kg of wool at pH 4.5 in 5 mM anions is of the size of 20 mL for 100 g, within a factor of two.
    assert 40 < with_yarn.fibre_most < 160


@pytest.mark.parametrize(
    ("fibre", "of_wool"),
    [
        ("wool = 50, cotton = 50", 0.5),
        ("silk = 100", 0.3),
        ("nylon = 100", 0.05 / 0.053),
        ("mohair = 100", 1.0),
        ("mohair = 72, silk = 28", 0.72 + 0.28 * 0.3),
    ],
)
def test_a_fibre_takes_its_own_share_of_what_wool_takes(fibre: str, of_wool: float) -> None:
    """Nylon's amine ends 0.05 mmol/g beside wool's 0.053, silk 0.3 of wool (from memory); cotton stays white."""
    wool, other = water(base__fibre="{ wool = 100 }"), water(base__fibre=f"{{ {fibre} }}")
    of_it, as_wool = soak_dose(other, 400, other.bases[0]), soak_dose(wool, 400, wool.bases[0])
    assert of_it is not None
    assert as_wool is not None
    assert of_it.fibre_amount == pytest.approx(as_wool.fibre_amount * of_wool, rel=0.03)
    assert of_it.water_amount == pytest.approx(as_wool.water_amount)


@pytest.mark.parametrize("ph", [3.0, 3.5, 4.0])
def test_nylon_takes_no_more_than_its_amine_ends_in_a_sourer_bath(ph: float) -> None:
    """Wool goes on taking acid as the pH falls; nylon has 0.05 mmol/g and no more (from memory)."""
    nylon, wool = (water(base__fibre=f"{{ {name} = 100 }}", ph=ph) for name in ("nylon", "wool"))
    assert as_wool_g(nylon, 100, nylon.bases[0]) < 0.7 * as_wool_g(wool, 100, wool.bases[0])


@pytest.mark.parametrize(
    ("fibre", "grams", "litres", "poured_ml"),
    [
        ('"superwash wool" = 75, nylon = 25', 400, 4, 80),
        ('"superwash wool" = 75, nylon = 25', 300, 3, 60),
        ("mohair = 72, silk = 28", 200, 2, 40),
        ("wool = 100", 500, 10, 155),
        ('"superwash wool" = 75, nylon = 25', 400, 8, 125),
    ],
)
def test_the_dose_of_a_days_bath_to_the_jug(fibre: str, grams: float, litres: float, poured_ml: float) -> None:
    """180 mg/L, target 4.5, 5 % vinegar, a jug of 5 mL: about 1 % of acetic acid on the fibre (common practice)."""
    read = water(180, 180, base__fibre=f"{{ {fibre} }}", jug__resolution="5")
    found = dose(read, litres, as_wool_g(read, grams, read.bases[0]))
    assert found is not None
    assert to_pour(read, found.amount) == poured_ml


@given(st.floats(0, 2000), st.sampled_from([0.5, 1.0, 5.0, 25.0]))
def test_what_is_poured_is_never_less_than_the_dose_and_at_most_a_step_more(amount_ml: float, jug_ml: float) -> None:
    """Upwards, and never to nothing; less than a thousandth of a mL is nothing."""
    poured = to_pour(replace(WATERS["vinegar"], jug_ml=jug_ml), amount_ml)
    step = jug_ml if poured / jug_ml == pytest.approx(round(poured / jug_ml)) else 0.1 if amount_ml < 5 else 0.5
    assert poured / step == pytest.approx(round(poured / step))
    assert amount_ml - 0.001 <= poured < amount_ml + step + 1e-6


@pytest.mark.parametrize(
    ("amount_ml", "poured_ml"), [(1.84, 1.9), (3.9, 3.9), (4.0, 5), (6.1, 6.5), (8.0, 10), (12.2, 15), (63, 65)]
)
def test_a_small_dose_is_not_rounded_up_to_far_more_acid(amount_ml: float, poured_ml: float) -> None:
    """With a jug read to 5 mL: up to a quarter more is the jug's next mark, beyond that a pipette's."""
    assert to_pour(replace(WATERS["vinegar"], jug_ml=5.0), amount_ml) == pytest.approx(poured_ml)


@given(st.floats(0.5, 12), st.floats(0, 1), st.sampled_from(["vinegar", "citric"]))
def test_after_a_reading_that_is_what_was_computed_the_rest_of_the_dose_is_added(
    litres: float, share: float, kind: str
) -> None:
    """Part of the dose put in and its own pH read: what is added makes the dose whole."""
    read = WATERS[kind]
    whole = amount(read, litres)
    put_in = whole * share
    mine = craft_acid(read.acid.kind, read.acid.strength_pct)
    bath = with_acid(of_raw_water(litres, raw_water(200, 0, temperature_c=20)), mine, put_in)
    more = correction(read, litres, put_in, bath.ph)
    assert more is not None
    assert put_in + more.amount == pytest.approx(whole, rel=0.005, abs=0.001)


def test_a_higher_reading_than_computed_asks_for_more() -> None:
    """The yarn took acid: the whole dose is in and pH 5.2 is read."""
    read = water()
    whole = amount(read, 4)
    a_little, more = correction(read, 4, whole, 4.8), correction(read, 4, whole, 5.2)
    assert a_little is not None
    assert more is not None
    assert 0 < a_little.amount < more.amount
    assert more.ph == pytest.approx(4.5)


def test_a_reading_at_or_below_the_target_asks_for_nothing() -> None:
    """Nothing is taken out again."""
    for read_ph in (4.5, 4.0):
        found = correction(water(), 4, 60, read_ph)
        assert found is not None
        assert found.amount == 0


@pytest.mark.parametrize(
    ("how", "acid_in", "asked", "parts"),
    [
        ("immersed", "bath", None, 2),
        ("immersed", "bath", 3, 3),
        ("immersed", "soak", 3, 1),
        ("painted", "soak", 3, 1),
    ],
)
def test_a_pot_gets_its_acid_in_parts_and_a_soak_all_of_it_at_once(
    how: str, acid_in: str, asked: int | None, parts: int
) -> None:
    """So that the dye strikes evenly; two parts where the plan asks for no other number (common practice)."""
    changes: dict[str, str | None] = {"colourway.how": f'"{how}"', "colourway.acid_in": f'"{acid_in}"'}
    if asked is not None:
        changes["acid.parts"] = str(asked)
    read = plan(changes)
    assert acid_parts(read, read.colourways[0].layers[0]) == parts
