"""The weigh-out: worked by hand, and what must hold for every plan."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.paper.layout.sheet_text import sheet_text
from dyeday.paper.sheets.weigh_out_sheet import weigh_sheet
from dyeday.plan.amount_text import dose_text
from dyeday.plan.doses import acid_of_layer
from dyeday.plan.model import Batch, Colourway, Dye, FixStep, Layer, Plan, Section
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.recipe import WASTE_PCT
from dyeday.plan.weigh_out import BatchWeighed, DyeTotal, section_waters_ml, weigh_batch, weigh_out
from dyeday.plan.weigh_out_warnings import warnings
from dyeday.terms import DyeMethod, HeatKind
from tests.fakes import HEAVY_DAY, SHORT_DAY
from tests.plan.plans import plan

STEAM = (FixStep(HeatKind.STEAM, 40),)
WATER: dict[str, str | None] = {"water.alkalinity": "200", "water.hardness": "0", "water.temperature": "20"}


def one_dye(
    dos: float, solution: float, skein: float, skeins: int, more: dict[str, str | None] | None = None, dye: str = ""
) -> Plan:
    """Return a plan of one order in one dye; ``dye`` are more lines of that dye."""
    return plan(
        {
            "dye.solution": f"{solution}\n{dye}",
            "base.skein": str(skein),
            "order.skeins": str(skeins),
            "colourway.sections": f'[{{ share = 100, dyes = {{ "Peat" = {dos} }} }}]',
            **(more or {}),
        }
    )


def the_batch(read: Plan) -> BatchWeighed:
    (one,) = weigh_out(read).batches
    return one


def the_total(read: Plan) -> DyeTotal:
    (one,) = weigh_out(read).dyes
    return one


@pytest.mark.parametrize(
    ("dos", "solution", "skein", "skeins", "grams", "ml"),
    [(1, 1, 100, 1, 1.0, 100.0), (1.5, 2, 150, 3, 6.75, 337.5)],
)
def test_powder_and_solution_are_those_worked_by_hand(
    dos: float, solution: float, skein: float, skeins: int, grams: float, ml: float
) -> None:
    """By the definitions: 100 g at 1 % of a 1 % solution, and 450 g at 1.5 % of a 2 % solution."""
    read = one_dye(dos, solution, skein, skeins)
    one = the_batch(read)
    (dye,) = one.dyes
    assert one.wof_g == skein * skeins
    assert (dye.powder_g, dye.solution_ml) == pytest.approx((grams, ml))
    total = the_total(read)
    assert (total.powder_g, total.solution_ml) == pytest.approx((grams, ml))


def test_soak_liquor_and_the_water_that_makes_it_up_worked_by_hand() -> None:
    """400 g: 4 L of soak; 360 mL of liquor, of it 200 mL of 1 % solution (2 g, 0.5 % of 400 g) and 160 mL water."""
    one = the_batch(one_dye(0.5, 1, 100, 4))
    (liquor,) = one.liquors
    assert one.soak_l == pytest.approx(4)
    assert (one.liquor_ml, liquor.solutions_ml, liquor.water_ml) == pytest.approx((360, 200, 160))
    assert liquor.dose is None


HALF_OF_FIBRE_ML_PER_G = 0.177 / 2
"""of sock yarn in vinegar of pH 4.5, worked in `tests/plan/test_doses.py`; the formula is from memory"""


def test_acid_in_the_soak_is_for_its_water_and_half_of_what_the_fibre_may_take() -> None:
    """4 L at 200 mg/L: four times PHREEQC's 12.79 mL (minteq.v4.dat); and 400 g of yarn."""
    weighed = weigh_out(one_dye(0.5, 1, 100, 4, WATER))
    ((_, soak),) = weighed.batches[0].acid_soaks
    assert soak is not None
    assert soak.water_amount == pytest.approx(4 * 12.79, rel=0.015)
    assert weighed.acid == pytest.approx(4 * 12.79 + 400 * HALF_OF_FIBRE_ML_PER_G, rel=0.025)
    assert weighed.liquid
    assert weighed.doses_known


def test_acid_in_the_bath_is_for_liquor_and_fibre_and_takes_its_place_in_it() -> None:
    """Immersed at 20 L/kg: 8 L, no acid in the soak; water, solution and acid make the 8 L."""
    one = the_batch(one_dye(0.5, 1, 100, 4, {**WATER, "colourway.how": '"immersed"'}))
    (liquor,) = one.liquors
    assert one.acid_soaks == ()
    assert liquor.dose is not None
    assert liquor.dose.acid_ml == pytest.approx(8 * 12.79 + 400 * HALF_OF_FIBRE_ML_PER_G, rel=0.025)
    assert liquor.water_ml + liquor.solutions_ml + liquor.dose.amount == pytest.approx(8000)


TWICE = """
[[colourway]]
name = "Twice"
[[colourway.layer]]
fix = ["steam 40 min"]
sections = [{{ dyes = {{ Peat = 1 }} }}]
[[colourway.layer]]
{second}
fix = ["steam 40 min"]
sections = [{{ dyes = {{ Peat = 1 }} }}]
"""
"""two layers in one dye; ``second`` are more keys of the second"""


def test_two_layers_with_acid_soaks_of_their_own_take_acid_twice() -> None:
    """A second layer that says acid_in = "soak" soaks again; one that says nothing does not."""
    once, twice = (
        plan({**WATER, "order.colourway": '"Twice"'}, TWICE.format(second=second))
        for second in ("", 'acid_in = "soak"')
    )
    assert [[layer for layer, _ in the_batch(each).acid_soaks] for each in (once, twice)] == [[1], [1, 2]]
    assert weigh_out(twice).acid == pytest.approx(2 * weigh_out(once).acid)


def test_each_acid_soak_has_the_dose_of_its_own_layer() -> None:
    """Layer 2 wants a lower pH: its soak takes more acid, as `acid_of_layer` says, also once layer 1 has its dye."""
    read = plan({**WATER, "order.colourway": '"Twice"'}, TWICE.format(second='acid_in = "soak"\ntarget_ph = 3.5'))
    (batch,), base = read.batches, read.bases[0]
    doses = (acid_of_layer(read, layer, 400, base) for layer in read.colourways[-1].layers)
    own = [dose for dose in doses if dose is not None]
    assert the_batch(read).doses == own
    assert own[1].amount > 2 * own[0].amount
    (still,) = weigh_out(read, [batch], begun={batch.no: (1, False)}).batches
    assert still.doses == own[1:]
    text = " ".join(sheet_text(weigh_sheet(read)).split())
    for layer, dose in enumerate(own, 1):
        assert f"soak before layer {layer}: 4 L water, then {dose_text(read, dose)} vinegar 5 %; used" in text


@pytest.mark.parametrize("water", [WATER, {}])
def test_a_section_that_stays_undyed_gets_no_acid_and_its_yarn_none(water: dict[str, str | None]) -> None:
    """Half of 400 g painted, with the acid in the paint: liquor and acid as for 200 g, all in the dyed section."""
    sections = "[{ share = 50, dyes = { Peat = 0.5 } }, { share = 50, dyes = {} }]"
    paint = {**water, "colourway.acid_in": '"paint"'}
    half = plan({**paint, "colourway.sections": sections})
    whole = one_dye(0.5, 1, 100, 2, paint)
    assert weigh_out(half).acid == pytest.approx(weigh_out(whole).acid)
    assert weigh_out(half).acid_poured == weigh_out(whole).acid_poured
    of_acid = [line for line in sheet_text(weigh_sheet(half)).splitlines() if line.startswith("[ ] section")]
    assert ["section 1" in line for line in of_acid if "vinegar" in line] == [True]
    assert re.search(r"section 2, 50 % +stays undyed", sheet_text(weigh_sheet(half)))


def test_of_unknown_water_acid_goes_by_weight() -> None:
    """100 g take 20 mL of 5 % vinegar (common practice)."""
    weighed = weigh_out(one_dye(1, 1, 100, 1))
    assert weighed.acid == pytest.approx(20)
    assert weighed.dyes[0].powder_g == 1


def test_yarn_that_was_weighed_is_dosed_by_its_weight() -> None:
    """Four skeins of 100 g that weigh 380 g take dye and water for 380 g."""
    read = one_dye(1, 1, 100, 4)
    one = weigh_batch(read, read.batches[0], 380)
    assert (one.wof_g, one.soak_l, one.dyes[0].powder_g) == pytest.approx((380, 3.8, 3.8))
    by_number = weigh_out(read, weights_g={read.batches[0].no: 380})
    assert by_number.dyes[0].powder_g == pytest.approx(3.8)


DOTS = """
[[colourway]]
name = "Dots"
how = "speckled"
powder = 0.1
fix = ["steam 30 min"]
sections = [{ dyes = { Peat = 1 } }]
"""


def test_dye_that_is_just_enough_is_not_short_by_a_rounding_error() -> None:
    """Specks of 0.1 and 0.2 g from a jar of 0.3 g: added as floats they are 5.6e-17 g more."""
    two = '[[order]]\nitem = "Two"\ncolourway = "Dots"\nbase = "Sock"\nskeins = 2\n'
    one = {"order.colourway": '"Dots"', "order.skeins": "1"}
    for on_hand, short_g in (("0.3 g", 0), ("0.2 g", pytest.approx(0.1))):
        read = plan({**one, "dye.on_hand": f'"{on_hand}"'}, DOTS + two)
        assert the_total(read).short_g == short_g


def test_a_speckle_of_powder_has_no_liquor_and_no_solution() -> None:
    """0.15 g per 100 g of 400 g is 0.6 g, by the dyes' parts, and none of it is mixed."""
    speckle = '\n[[colourway]]\nname = "Dots"\nhow = "speckled"\npowder = 0.15\nfix = ["steam 30 min"]\n'
    speckle += "sections = [{ dyes = { Peat = 3, Rose = 1 } }]\n"
    read = plan({"order.colourway": '"Dots"'}, f'\n[[dye]]\nname = "Rose"\n{speckle}')
    weighed = weigh_out(read)
    one = weighed.batches[0]
    assert one.liquor_ml == 0
    assert [(d.dye, d.solution_ml) for d in one.dyes] == [("Peat", None), ("Rose", None)]
    # As a scale that reads to 0.1 g weighs 0.45 and 0.15 g.
    assert [t.dry_powder_g for t in weighed.dyes] == pytest.approx([0.5, 0.2])
    assert all((t.mix_ml, t.mix_powder_g, t.from_bottle_ml) == (0, 0, 0) for t in weighed.dyes)


def test_what_is_mixed_has_a_twentieth_for_jugs_and_brushes() -> None:
    """100 mL needed, 105 mL mixed from 1.05 g."""
    total = the_total(one_dye(1, 1, 100, 1))
    assert WASTE_PCT == 5
    assert (total.mix_ml, total.mix_powder_g, total.from_bottle_ml) == pytest.approx((105, 1.05, 0))


@pytest.mark.parametrize(
    ("needed_ml", "mix_ml"),
    [(12, 13), (2, 2.1), (297.6, 315), (1115.5, 1175)],
    ids=["pipette", "drops", "jug", "litre"],
)
def test_powder_is_weighed_for_the_volume_that_is_made_up(needed_ml: float, mix_ml: float) -> None:
    """12 mL and a twentieth are 12.6 mL, made up to 13 mL: 0.13 g for its 1 %."""
    total = the_total(one_dye(1, 1, needed_ml, 1))
    assert (total.mix_ml, total.mix_powder_g) == pytest.approx((mix_ml, mix_ml / 100))


@pytest.mark.parametrize(
    ("left", "bottle_ml", "powder_g"),
    [("40 mL", 40, 0.65), ("105 mL", 105, 0.0), ("500 mL", 105, 0.0)],
)
def test_the_bottle_is_taken_before_powder(left: str, bottle_ml: float, powder_g: float) -> None:
    """105 mL of 1 % to mix: 40 old ones leave 65 mL, 0.65 g; a full bottle leaves nothing to weigh."""
    total = the_total(one_dye(1, 1, 100, 1, dye=f'bottle = {{ left = "{left}" }}'))
    assert (total.mix_ml, total.from_bottle_ml, total.mix_powder_g) == pytest.approx((105, bottle_ml, powder_g))


@pytest.mark.parametrize(("strength", "bottle_ml", "powder_g"), [(2, 40, 0.25), (0.5, 40, 0.85)])
def test_a_bottle_of_another_strength_brings_its_own_dye(strength: float, bottle_ml: float, powder_g: float) -> None:
    """1.05 g wanted: 40 mL of 2 % hold 0.8 g, of 0.5 % 0.2 g."""
    total = the_total(one_dye(1, 1, 100, 1, dye=f'bottle = {{ left = "40 mL", strength = {strength} }}'))
    assert (total.from_bottle_ml, total.mix_powder_g) == pytest.approx((bottle_ml, powder_g))


def test_a_strong_bottle_gives_no_more_dye_than_is_wanted() -> None:
    """1.05 g are 26.25 mL of 4 %, whatever more is in it."""
    total = the_total(one_dye(1, 1, 100, 1, dye='bottle = { left = "200 mL", strength = 4 }'))
    assert (total.from_bottle_ml, total.mix_powder_g) == pytest.approx((26.25, 0))


@pytest.mark.parametrize(
    ("dye", "short_g"),
    [
        ("", None),
        ("on_hand = 1.05", 0),
        ("on_hand = 1", 0.05),
        ("on_hand = 0", 1.05),
        ('on_hand = 0.65\nbottle = { left = "40 mL" }', 0),
        ('on_hand = 0.6\nbottle = { left = "40 mL" }', 0.05),
    ],
)
def test_what_is_short_is_the_powder_to_mix_less_what_is_on_hand(dye: str, short_g: float | None) -> None:
    """Never negative, nothing where the stock is unknown, and zero on hand is known."""
    total = the_total(one_dye(1, 1, 100, 1, dye=dye))
    assert total.short_g == (None if short_g is None else pytest.approx(short_g, abs=1e-9))


def test_chosen_batches_alone_are_weighed() -> None:
    """The day's total is of what was asked for."""
    read = one_dye(1, 1, 100, 8)
    assert len(read.batches) == 2
    assert weigh_out(read, read.batches[:1]).dyes[0].powder_g == pytest.approx(4)
    assert weigh_out(read, []).dyes == ()


@given(
    st.lists(st.tuples(st.integers(1, 40), st.floats(0.01, 5), st.floats(0.01, 5)), min_size=1, max_size=5),
    st.floats(1, 500),
    st.floats(0.1, 10),
)
def test_totals_are_the_sum_of_the_batches(
    lots: list[tuple[int, float, float]], skein_g: float, solution_pct: float
) -> None:
    """Dye by dye and in acid, whatever the day is made of."""
    colourways = tuple(
        Colourway(
            f"C{n}",
            (
                Layer(
                    DyeMethod.PAINTED,
                    (Section(60, None, (("A", a),)), Section(40, None, (("A", b), ("B", a)))),
                    STEAM,
                ),
            ),
        )
        for n, (_, a, b) in enumerate(lots)
    )
    read = replace(
        WATERED,
        bases=(replace(WATERED.bases[0], skein_g=skein_g),),
        colourways=colourways,
        dyes=(Dye("A", solution_pct), Dye("B", solution_pct)),
    )
    batches = [Batch(f"{n:02d}", f"C{n}", "Sock", skeins) for n, (skeins, _, _) in enumerate(lots)]
    weighed = weigh_out(read, batches)
    for total in weighed.dyes:
        mine = [d for one in weighed.batches for d in one.dyes if d.dye == total.dye]
        assert total.powder_g == pytest.approx(sum(d.powder_g for d in mine))
        assert total.solution_ml == pytest.approx(sum(d.solution_ml or 0 for d in mine))
        assert total.solution_ml * solution_pct / 100 == pytest.approx(total.powder_g)
    assert weighed.acid == pytest.approx(sum(dose.amount for one in weighed.batches for dose in one.doses))
    by_hand = {"A": 0.0, "B": 0.0}
    for skeins, a, b in lots:
        by_hand["A"] += skeins * skein_g * (0.6 * a + 0.4 * b) / 100
        by_hand["B"] += skeins * skein_g * 0.4 * a / 100
    assert {t.dye: t.powder_g for t in weighed.dyes} == pytest.approx(by_hand)


WATERED = plan(WATER)


@given(st.lists(st.integers(1, 30), min_size=1, max_size=6), st.floats(0.01, 5))
def test_splitting_a_lot_conserves_its_grams(parts: list[int], dos: float) -> None:
    """However a lot is divided, dye, solution, soak water and acid are those of the whole."""
    layer = Layer(DyeMethod.PAINTED, (Section(100, None, (("Peat", dos),)),), STEAM)
    read = replace(WATERED, colourways=(Colourway("Bog", (layer,)),))
    whole = weigh_out(read, [Batch("01", "Bog", "Sock", sum(parts))])
    split = weigh_out(read, [Batch(f"{n:02d}", "Bog", "Sock", part) for n, part in enumerate(parts)])
    assert split.dyes[0].powder_g == pytest.approx(whole.dyes[0].powder_g)
    assert split.dyes[0].mix_ml == pytest.approx(whole.dyes[0].mix_ml)
    assert split.acid == pytest.approx(whole.acid)
    assert sum(one.soak_l for one in split.batches) == pytest.approx(whole.batches[0].soak_l)


def warned(read: Plan) -> list[str]:
    return warnings(read, weigh_out(read))


def test_amounts_that_jug_and_scale_can_do_are_not_remarked_on() -> None:
    """A jug of 5 mL is sure to 5 % from 50 mL on."""
    assert warned(one_dye(0.5, 1, 100, 4)) == []


def test_a_powder_without_liquor_takes_no_acid_for_one() -> None:
    """Even where its layer says that its acid is in the paint."""
    changes: dict[str, str | None] = {
        **WATER,
        "colourway.how": '"speckled"',
        "colourway.powder": '"0.2 g"',
        "colourway.acid_in": '"paint"',
    }
    weighed = weigh_out(plan(changes))
    assert weighed.acid == 0
    assert weighed.batches[0].liquors[0].dose is None


@pytest.mark.parametrize(("powder", "remarked"), [(0.25, False), (0.2, True)])
def test_powder_to_sprinkle_that_the_scale_weighs_badly_is_given_in_pinches(powder: float, remarked: bool) -> None:
    """Half a step of 0.1 g in 1 g is 5 %; in 0.8 g it is 6 %, and 16 pinches of 0.05 g (common practice)."""
    read = plan({"colourway.how": '"speckled"', "colourway.powder": str(powder)})
    said = [line for line in warned(read) if "of powder may be off" in line]
    assert bool(said) is remarked
    if remarked:
        assert said[0].startswith(
            "Peat for 01: 0.8 g of powder may be off by 6 % on a scale that reads to 0.1 g; about 16 pinches of"
        )


def test_powder_to_mix_that_the_scale_weighs_badly_is_remarked_on() -> None:
    """1000 g at 0.05 % and a twentieth more are 0.525 g: half a step of 0.1 g is 9.5 % of it."""
    (said,) = [line for line in warned(one_dye(0.05, 0.1, 250, 4)) if "on a scale" in line]
    assert said.startswith(
        "Peat: 0.5 g in all may be off by 10 % on a scale that reads to 0.1 g; mix more and keep the rest"
    )


@pytest.mark.parametrize(("dos", "remarked"), [(0.0095, False), (0.009, True)])
def test_less_powder_than_the_scale_can_weigh_is_remarked_on(dos: float, remarked: bool) -> None:
    """1000 g at 0.0095 % are made up to 100 mL, 0.1 g on a scale of 0.1 g; 95 mL are below it."""
    said = [
        line for line in warned(one_dye(dos, 0.1, 250, 4)) if "too little for a scale that reads to 0.1 g" in line
    ]
    assert bool(said) is remarked


def test_a_finer_scale_weighs_it() -> None:
    """[scale] resolution = 0.001."""
    read = one_dye(0.0095, 0.1, 250, 4, {"scale.resolution": "0.001"})
    assert not [line for line in warned(read) if "scale" in line]


ROOM: dict[str, str | None] = {"colourway.liquor": "150"}
"""liquor with room for a weaker solution"""


def weaker(read: Plan) -> list[str]:
    """Return the weaker solutions that are offered."""
    return [line for line in warned(read) if "by pipette, or " in line]


@pytest.mark.parametrize(("dos", "remarked"), [(0.5, False), (0.49, True)])
def test_a_solution_the_jug_measures_badly_is_remarked_on_with_a_weaker_one(dos: float, remarked: bool) -> None:
    """Half a step of 5 mL in 50 mL is 5 %; in 49 mL it is more, and 0.5 % solution makes it 98 mL."""
    said = "Peat for 01: 50 mL by pipette, or 100 mL of a 0.5 % solution (1.0 g powder made up to 200 mL) and 50 mL"
    assert weaker(one_dye(dos, 1, 100, 1, ROOM)) == [f"{said} less water"] * remarked


def test_no_weaker_solution_is_named_that_its_section_has_no_room_for() -> None:
    """98 mL of 0.5 % do not go into the 90 mL of liquor for 100 g."""
    assert not weaker(one_dye(0.49, 1, 100, 1))


def two_orders(more: dict[str, str | None]) -> Plan:
    """Return a recipe for one skein and, by another name, for four: a small and a large amount of its dye."""
    small = one_dye(0.49, 1, 100, 1, more)
    (large,) = one_dye(0.49, 1, 100, 4, more).batches
    (colourway,) = small.colourways
    large = replace(large, no="02", colourway="Other")
    colourways = (colourway, replace(colourway, name="Other"))
    return replace(small, colourways=colourways, batches=(large, *small.batches))


def test_what_is_hard_to_measure_is_remarked_on_in_the_measures_of_its_row() -> None:
    """49 mL are 3.3 US tablespoons of 14.79 mL, and the jug's mark is a teaspoon of 4.93 mL: NIST Handbook 44."""
    (said,) = weaker(one_dye(0.49, 1, 100, 1, {**ROOM, "session.units": '"US"'}))
    assert said.startswith("Peat for 01: 3¼ tbsp by pipette, or ")


def test_of_several_amounts_of_a_dye_all_that_are_hard_to_measure_are_remarked_on() -> None:
    """196 mL are measured fairly in a jug read to 5 mL, 49 mL are not; so with powder on a scale of 0.1 g."""
    (poured,) = weaker(two_orders(ROOM))
    assert poured.startswith("Peat for 01: 50 mL by pipette, or ")
    speckled: dict[str, str | None] = {"colourway.how": '"speckled"', "colourway.powder": "0.25"}
    (sprinkled,) = [line for line in warned(two_orders(speckled)) if "of powder may be off" in line]
    assert sprinkled.startswith("Peat for 01: 0.3 g of powder may be off by 17 %")
    coarse = {**speckled, "scale.resolution": "0.2"}
    (of_both,) = [line for line in warned(two_orders(coarse)) if "of powder may be off" in line]
    assert of_both.startswith("Peat for 01, 02: 0.2 g to 1 g of powder may be off by up to 50 %")
    assert "about 4 pinches of 0.05 g make 0.2 g" in of_both


def test_what_a_jug_measures_badly_is_judged_by_the_mix_that_several_batches_are_poured_from() -> None:
    """49 mL of a batch and 196 mL of another, in one mix: 245 mL, of which half a step of 5 mL is 1 %."""
    apart = two_orders(ROOM)
    as_one = replace(apart, batches=tuple(replace(b, colourway=apart.colourways[0].name) for b in apart.batches))
    assert weaker(apart)
    assert not weaker(as_one)


def test_a_finer_jug_measures_it() -> None:
    """[jug] resolution = 1."""
    assert weaker(one_dye(0.3, 1, 100, 1, ROOM))
    assert not weaker(one_dye(0.3, 1, 100, 1, {**ROOM, "jug.resolution": "1"}))


@pytest.mark.parametrize(("dos", "remarked"), [(0.9, False), (0.91, True)])
def test_solutions_that_do_not_go_into_the_liquor_are_remarked_on(dos: float, remarked: bool) -> None:
    """90 mL of liquor for 100 g hold 90 mL of solution and no more."""
    said = [line for line in warned(one_dye(dos, 1, 100, 1)) if "do not fit into" in line]
    assert bool(said) is remarked


def test_how_much_stronger_the_solutions_must_be_is_never_too_little() -> None:
    """100 mL in 90 mL: 1.11 times is said as 1.2, which does it, and not as 1.1, which does not."""
    (said,) = [line for line in warned(one_dye(1, 1, 100, 1)) if "do not fit into" in line]
    assert "01: 100 mL of solutions do not fit into 90 mL of liquor" in said
    assert "1.2 times as strong" in said
    assert not [line for line in warned(one_dye(1, 1.2, 100, 1)) if "do not fit into" in line]


def test_a_powdered_acid_of_the_paint_takes_no_room() -> None:
    """360 mL of solution just fill 360 mL of liquor, with citric acid stirred in."""
    more: dict[str, str | None] = {**WATER, "colourway.acid_in": '"paint"', "acid.kind": '"citric"'}
    assert not [line for line in warned(one_dye(0.9, 1, 100, 4, more)) if "do not fit into" in line]


def test_acid_in_the_paint_takes_room_in_the_liquor_too() -> None:
    """360 mL of solution just fill 360 mL of liquor; 5 mL of vinegar for its water and 33 to 36 for 400 g of fibre
    do not go in beside them.
    """
    in_paint: dict[str, str | None] = {**WATER, "colourway.acid_in": '"paint"'}
    assert not [line for line in warned(one_dye(0.9, 1, 100, 4, WATER)) if "do not fit into" in line]
    (said,) = [line for line in warned(one_dye(0.9, 1, 100, 4, in_paint)) if "do not fit into" in line]
    assert "beside 38 mL of acid" in said
    assert pytest.approx(38, rel=0.06) == 0.36 * 12.79 + 400 * HALF_OF_FIBRE_ML_PER_G


def test_a_speckle_needs_no_room_for_its_solution() -> None:
    """What is flicked on is not made up to a liquor."""
    read = one_dye(1, 1, 100, 1, {"colourway.how": '"speckled"'})
    assert not [line for line in warned(read) if "do not fit into" in line]


def test_a_section_that_is_all_solution_gets_no_water_and_the_liquor_stays_what_it_is() -> None:
    """By hand: 360 mL in parts of 162, 126 and 72; solutions 225, 84 and 32; 19 mL of water for gaps of 42 and 40."""
    read = read_plan(HEAVY_DAY.read_text(encoding="utf-8"))
    one = next(each for each in weigh_out(read).batches if each.batch.no == "02")
    layer = read.colourway(one.batch.colourway).layers[0]
    assert section_waters_ml(one.dyes, one.liquors[0], layer) == pytest.approx((0, 19 * 42 / 82, 19 * 40 / 82))


def test_water_of_all_sections_is_the_water_of_the_layer() -> None:
    for path in (SHORT_DAY, HEAVY_DAY):
        read = read_plan(path.read_text(encoding="utf-8"))
        for one in weigh_out(read).batches:
            for liquor, layer in zip(one.liquors, read.colourway(one.batch.colourway).layers, strict=True):
                assert sum(section_waters_ml(one.dyes, liquor, layer)) == pytest.approx(liquor.water_ml)


def liquors_of(sections: str, how: str = "painted") -> tuple[float, float, float]:
    """Return (liquor, solutions, water) in mL for 400 g with these sections."""
    read = plan({"colourway.sections": sections, "colourway.how": f'"{how}"'})
    (liquor,) = weigh_out(read).batches[0].liquors
    return round(liquor.liquor_ml, 6), round(liquor.solutions_ml, 6), round(liquor.water_ml, 6)


def test_a_layer_of_which_a_part_stays_bare_has_liquor_for_its_dyed_part() -> None:
    """A quarter of 400 g at 90 mL per 100 g is 90 mL; its section gets all the water, the bare one none."""
    part = "[{ share = 75, dyes = {} }, { share = 25, dyes = { Peat = 0.5 } }]"
    assert liquors_of(part) == (90, 50, 40)
    read = plan({"colourway.sections": part})
    one = weigh_out(read).batches[0]
    assert section_waters_ml(one.dyes, one.liquors[0], read.colourways[0].layers[0]) == pytest.approx((0.0, 40.0))
    assert liquors_of("[{ dyes = { Peat = 0.5 } }]")[0] == pytest.approx(360)


def test_a_bath_wets_what_stays_bare_too() -> None:
    """An immersed layer is in all of its liquor."""
    part = "[{ share = 75, dyes = {} }, { share = 25, dyes = { Peat = 0.5 } }]"
    assert liquors_of(part, "immersed")[0] == pytest.approx(8000)


def test_a_speckled_layer_without_powder_is_its_solutions_and_no_wash() -> None:
    """Flicked on, its solutions get no water; a liquor that is asked for is made up."""
    assert liquors_of("[{ dyes = { Peat = 0.1 } }]", "speckled") == (40, 40, 0)
    made_up = plan({"colourway.sections": '[{ dyes = { Peat = 0.1 } }]', "colourway.how": '"speckled"',
                    "colourway.liquor": '"20 mL"'})  # fmt: skip
    assert weigh_out(made_up).batches[0].liquors[0].water_ml == pytest.approx(40)


def test_weaker_solutions_together_replace_no_more_water_than_a_section_has() -> None:
    """14 of the heavy day: 115 mL of water beside two small amounts; 55 mL for the one leave too few for 75 mL."""
    heavy = read_plan(HEAVY_DAY.read_text(encoding="utf-8"))
    weak = "55 mL of a 0.05 % solution (0.10 g powder made up to 200 mL) and 55 mL less water"
    assert weaker(heavy) == [f"Peat for 14: 1.4 mL by pipette, or {weak}"]


def test_the_percent_that_powder_may_be_off_is_of_the_grams_on_the_sheet() -> None:
    """Half a step of 0.1 g is 17 % of 0.3 g and 50 % of 0.1 g, though the recipe asks for a little more of each."""
    short = read_plan(SHORT_DAY.read_text(encoding="utf-8"))
    said = [line.partition(" on a scale")[0] for line in warnings(short, weigh_out(short)) if "of powder" in line]
    assert said == [
        "Peat for 05: 0.3 g of powder may be off by 17 %",
        "Rosehip for 05: 0.1 g of powder may be off by 50 %",
    ]


def test_a_section_of_too_much_liquid_is_poured_all_the_same_and_mended_in_the_plan() -> None:
    """A stronger solution for one section alone would be too much dye at the same mL, and is another batch's too."""
    heavy = read_plan(HEAVY_DAY.read_text(encoding="utf-8"))
    (said,) = [line for line in warned(heavy) if "section 1" in line]
    assert said == (
        "01, 02, 03, 04, 11, 12, 13: section 1 gets 1.4 times the liquor of its share, the others less: its colour "
        "needs that much; for less liquid, set `solution` of its dyes 1.4 times as strong in the plan"
    )


def test_extras_stand_beside_the_acid_on_the_sheet() -> None:
    """2 mL for each of 14 batches, 1 mL for each of 52 skeins."""
    text = sheet_text(weigh_sheet(read_plan(HEAVY_DAY.read_text(encoding="utf-8"))))
    assert "[ ] wetting agent: 2 mL for each batch, 28 mL in all" in text
    assert "[ ] wool wash: 1 mL for each skein, 52 mL in all" in text
