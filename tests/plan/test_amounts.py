"""How much dye and liquor a recipe wants, against published worked cases."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.plan.model import Colourway, Dye, FixStep, Layer, Section
from dyeday.plan.recipe import layer_dyes, planned_dyes
from dyeday.terms import DyeMethod, HeatKind
from tests.plan.plans import plan

STEAM = (FixStep(HeatKind.STEAM, 40),)


def amounts(dos_pct: float, solution_pct: float, wof_g: float) -> tuple[float, float]:
    """Return g of powder and mL of solution for one dye over the whole of so much yarn."""
    read = plan(
        {
            "dye.solution": str(solution_pct),
            "colourway.sections": f'[{{ share = 100, dyes = {{ "Peat" = {dos_pct} }} }}]',
        }
    )
    (one,) = planned_dyes(read.solution_pct, read.colourways[0], wof_g)
    assert one.solution_ml is not None
    return one.powder_g, one.solution_ml


WORKED = {
    "Venkatesh, VFSTR University lecture: 4 kg on 100 kg is a 4 % shade": (4, 1, 100_000, 4000, 400_000),
    "textile-calculation lab note, 2015: 5 g at 0.5 % from a 1 % stock": (0.5, 1, 5, 0.025, 2.5),
    "by the definitions: 100 g at 1 % from a 1 % stock": (1, 1, 100, 1, 100),
    "by the definitions: 450 g at 1.5 % from a 2 % stock": (1.5, 2, 450, 6.75, 337.5),
}


@pytest.mark.parametrize("case", WORKED)
def test_powder_and_solution_are_those_of_the_worked_case(case: str) -> None:
    """g dye = g fibre × DOS / 100, and mL solution = g dye × 100 / (% w/v)."""
    dos_pct, solution_pct, wof_g, powder_g, solution_ml = WORKED[case]

    assert amounts(dos_pct, solution_pct, wof_g) == pytest.approx((powder_g, solution_ml), rel=1e-9)


@pytest.mark.parametrize(
    ("liquor", "wof_g", "litres"),
    [
        ("10 L/kg", 50_000, 500),  # textileschool.com: 500 L for 50 kg is 10:1
        ("10 L/kg", 100_000, 1000),  # Venkatesh: 100 kg in 1000 L is 1:10
        ("40 L/kg", 1000, 40),  # by the definition
    ],
)
def test_the_liquor_of_an_immersed_layer_is_its_ratio_times_the_fibre(
    liquor: str, wof_g: float, litres: float
) -> None:
    """Liquor in L is kg of fibre times the ratio."""
    layer = plan({"colourway.how": '"immersed"', "colourway.liquor": f'"{liquor}"'}).colourways[0].layers[0]

    assert layer.liquor_ml(wof_g) == pytest.approx(litres * 1000)


def test_a_wool_dyeing_of_four_percent_at_one_to_forty_begins_at_a_gram_a_litre() -> None:
    """An engineering entrance paper of 2019, question 24; the answer by the definitions."""
    read = plan(
        {
            "colourway.how": '"immersed"',
            "colourway.liquor": '"40 L/kg"',
            "colourway.sections": '[{ dyes = { "Peat" = 4 } }]',
        }
    )
    layer = read.colourways[0].layers[0]

    (one,) = layer_dyes(read.solution_pct, layer, 1, 250)

    assert one.powder_g / (layer.liquor_ml(250) / 1000) == pytest.approx(1.0)


def test_a_painted_layer_makes_up_ninety_millilitres_for_each_hundred_grams() -> None:
    """The default liquor of a painted layer (common practice)."""
    assert plan().colourways[0].layers[0].liquor_ml(400) == pytest.approx(360)


def test_depth_is_of_the_section_and_not_of_the_skein() -> None:
    """60 % and 40 % of 200 g: 120 g at 0.5 % is 0.6 g, 80 g at 0.7 % is 0.56 g."""
    read = plan(
        {
            "colourway.sections": '[{ share = 60, dyes = { "Peat" = 0.5 } }, '
            '{ share = 40, dyes = { "Peat" = 0.7, "Rose" = 0.2 } }]'
        },
        '\n[[dye]]\nname = "Rose"\nsolution = 2\n',
    )

    found = planned_dyes(read.solution_pct, read.colourways[0], 200)

    assert [(one.dye, one.layer, one.section) for one in found] == [("Peat", 1, 1), ("Peat", 1, 2), ("Rose", 1, 2)]
    assert [one.powder_g for one in found] == pytest.approx([0.6, 0.56, 0.16])
    assert [one.solution_ml for one in found] == pytest.approx([60, 56, 8])


def test_powder_of_a_speckled_layer_is_shared_by_the_dyes_parts() -> None:
    """0.15 g per 100 g on 400 g is 0.6 g: three parts and one part are 0.45 g and 0.15 g, and no solution."""
    layer = Layer(
        DyeMethod.SPECKLED, (Section(100, None, (("Peat", 3), ("Rose", 1))),), STEAM, powder_g_per_100g=0.15
    )

    found = layer_dyes(plan().solution_pct, layer, 2, 400)

    assert [(one.dye, one.layer, one.section, one.solution_ml) for one in found] == [
        ("Peat", 2, 1, None),
        ("Rose", 2, 1, None),
    ]
    assert [one.powder_g for one in found] == pytest.approx([0.45, 0.15])


def test_layers_are_counted_from_one_in_their_order() -> None:
    """Every amount says which layer and section it is for."""
    one = Layer(DyeMethod.PAINTED, (Section(100, None, (("Peat", 1),)),), STEAM)
    two = Colourway("Moor", (one, one))

    assert [(a.layer, a.section) for a in planned_dyes(plan().solution_pct, two, 100)] == [(1, 1), (2, 1)]


def test_a_section_without_dyes_takes_none() -> None:
    """What stays white costs nothing."""
    layer = Layer(DyeMethod.PAINTED, (Section(50, None, ()), Section(50, None, (("Peat", 1),))), STEAM)

    assert [(one.section, one.powder_g) for one in layer_dyes(plan().solution_pct, layer, 1, 100)] == [(2, 0.5)]


def test_three_thirds_of_33_3_are_the_whole_skein() -> None:
    """Shares that add to 99.9 dye all of the yarn."""
    third = Section(33.3, None, (("Peat", 1),))
    layer = Layer(DyeMethod.PAINTED, (third, third, third), STEAM)

    assert sum(one.powder_g for one in layer_dyes(plan().solution_pct, layer, 1, 300)) == pytest.approx(3.0)


@given(
    st.lists(st.floats(1, 99), min_size=1, max_size=4),
    st.floats(0.01, 5),
    st.floats(1, 5000),
    st.floats(0.1, 10),
)
def test_one_depth_over_all_sections_is_that_depth_of_the_yarn(
    parts: list[float], dos_pct: float, wof_g: float, solution_pct: float
) -> None:
    """However a skein is divided, the powder is depth times fibre, and the solution holds exactly that."""
    shares = [100 * part / sum(parts) for part in parts]
    layer = Layer(DyeMethod.PAINTED, tuple(Section(share, None, (("Rose", dos_pct),)) for share in shares), STEAM)
    read = plan()
    read = type(read)(read.session, dyes=(Dye("Rose", solution_pct),))

    found = layer_dyes(read.solution_pct, layer, 1, wof_g)

    assert sum(one.powder_g for one in found) == pytest.approx(wof_g * dos_pct / 100)
    for one in found:
        assert one.solution_ml is not None
        assert one.solution_ml * solution_pct / 100 == pytest.approx(one.powder_g)
