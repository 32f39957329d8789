"""The pH a bath is brought to: by the class of its dyes, their own range, the layer, or the plan.

Classes and ranges: Broadbent, Basic Principles of Textile Coloration (SDC, 2001), Table 13.1, p. 242.
"""

from __future__ import annotations

import pytest

from dyeday.plan.doses import dose, layer_dose, soak_dose, target_ph
from dyeday.plan.lint import advice
from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.reading.problems import PlanError
from dyeday.plan.weigh_out import weigh_out
from dyeday.plan.weigh_out_warnings import warnings
from dyeday.plan.writing.plan_text import plan_text

TEXT = """
[session]
name = "Two dyes"
date = 2026-03-14
start = "09:00"
stop = "17:00"
[water]
alkalinity = 200
[acid]
kind = "{acid}"
[[kit]]
name = "pot"
kind = "pot"
holds = "600 g"
[[base]]
name = "Wool"
fibre = {{ wool = 100 }}
skein = "100 g"
[[dye]]
name = "One"
{one}
[[dye]]
name = "Other"
{other}
[[colourway]]
name = "Both"
how = "immersed"
{layer}
fix = ["simmer 45 min"]
sections = [{{ share = 100, dyes = {{ One = 0.5, Other = 0.5 }} }}]
[[order]]
item = "both"
colourway = "Both"
base = "Wool"
skeins = 2
"""


def plan(one: str = "", other: str = "", layer: str = "", acid: str = "citric") -> Plan:
    return read_plan(TEXT.format(one=one, other=other, layer=layer, acid=acid))


@pytest.mark.parametrize(
    ("one", "other", "layer", "target"),
    [
        ("", "", "", 4.5),
        ('class = "levelling"', "", "", 4.0),
        ('class = "milling"', 'class = "milling"', "", 5.0),
        ('ph = "5.5 - 6,5"', "", "", 5.5),
        ('class = "milling"\nph = "4-6"', "", "", 4.5),
        ('class = "levelling"', 'class = "milling"', "", 4.0),
        ('class = "milling"', "", "target_ph = 6.2", 6.2),
    ],
)
def test_the_target_goes_by_the_dyes_and_the_layer_has_the_last_word(
    one: str, other: str, layer: str, target: float
) -> None:
    found = plan(one, other, layer)
    current_layer = found.colourways[0].layers[0]

    assert target_ph(found, current_layer) == target
    wanted = layer_dose(found, current_layer, 200, found.bases[0])
    assert wanted is not None
    assert wanted.ph == target
    assert read_plan(plan_text(found)) == found


def test_wishes_that_do_not_agree_in_one_bath_are_reported() -> None:
    remarks = [str(one) for one in advice(plan('class = "levelling"', 'class = "milling"'))]
    agreed = [str(one) for one in advice(plan('class = "levelling"', 'class = "fast acid"'))]

    assert any("need different baths" in one and "set to pH 4:" in one for one in remarks)
    assert not any("need different baths" in one for one in agreed)


@pytest.mark.parametrize("said", ["4", "9-10", "6-4", "acid"])
def test_a_range_that_is_none_is_refused_with_one_that_would_be_right(said: str) -> None:
    with pytest.raises(PlanError, match='write ph = "4-6"'):
        plan(f'ph = "{said}"')


def test_citric_acid_in_water_of_unknown_hardness_is_weighed_out_as_a_range() -> None:
    # PHREEQC with USGS minteq.v4, alkalinity 200, pH 4.5: 0.4274 g/L with as much calcium, 0.5487 g/L without.
    found = plan()
    one = dose(found, 1.0)
    assert one is not None
    assert one.if_softened is not None
    assert one.amount == pytest.approx(0.4274, rel=0.015)
    assert one.if_softened == pytest.approx(0.5487, rel=0.015)
    weighed = weigh_out(found)
    # The fibre's half is the same in both, so they differ by the water's: 200 g immersed at 20 L/kg are 4 L.
    hard, softened = weighed.acid_poured
    assert softened - hard == pytest.approx(4 * (one.if_softened - one.amount), abs=found.scale_g)
    assert any("drop test" in line for line in warnings(found, weighed))
    more_pct = 100 * (one.if_softened / one.amount - 1)
    assert any("drop test" in str(line) and f"{more_pct:.0f} % more citric" in str(line) for line in advice(found))


def test_vinegar_in_water_of_unknown_hardness_is_one_amount() -> None:
    found = plan(acid="vinegar")

    weighed = weigh_out(found)

    assert weighed.acid_poured[0] == weighed.acid_poured[1]
    assert not any("drop test" in line for line in warnings(found, weighed))
    assert not any("drop test" in str(line) for line in advice(found))


def test_a_soak_is_brought_to_the_ph_of_the_layer_it_is_for() -> None:
    found = plan('class = "milling"')
    soak = soak_dose(found, 200, found.bases[0], found.colourways[0].layers[0])

    assert soak is not None
    assert soak.ph == 5.0
