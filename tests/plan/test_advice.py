"""What a dyer would raise an eyebrow at in a plan that is sound."""

from __future__ import annotations

import pytest

from dyeday.plan.lint import advice
from tests.plan.plans import plan

STRONG: dict[str, str | None] = {"dye.solution": "8"}
KNOWN_WATER: dict[str, str | None] = {"water.alkalinity": "180", **STRONG}
STEAMER = '\n[[kit]]\nname = "steamer"\nkind = "steamer"\nholds = 4\nlasts = 60\n'
POT = '\n[[kit]]\nname = "pot"\nkind = "pot"\nholds = 4\n'
MICROWAVE = '\n[[kit]]\nname = "microwave"\nkind = "microwave"\nholds = 4\n'


def remarks(changes: dict[str, str | None], more: str = STEAMER) -> list[str]:
    """Return the advice on the small plan, with its water known and a steamer at hand, changed."""
    return [str(item) for item in advice(plan({**KNOWN_WATER, **changes}, more))]


def test_a_plan_as_the_trade_would_do_it_needs_no_advice() -> None:
    """Silence means that all is usual."""
    assert remarks({}) == []


def test_solutions_that_do_not_go_into_the_liquor_are_reported_once_a_layer() -> None:
    """400 g at 1 % of a 1 % solution are 400 mL, the liquor 360; made at 1.2 % they fit; flicked on, they may."""
    (one,) = remarks({"dye.solution": "1"})
    assert one.startswith(
        "01 'Bog': 400 mL of solutions do not fit into 360 mL of liquor; set `solution` of its dyes 1.2 times"
    )
    assert remarks({"dye.solution": "1.2"}) == []
    assert remarks({"dye.solution": "1", "colourway.how": '"speckled"'}) == []


def test_two_prices_for_one_item_are_pointed_out_and_none_beside_one_is_not() -> None:
    """Skeins dyed again are added without a price; a plan is not refused for it, as a running day may have it."""
    again = '[[order]]\nitem = "{0.item}"\ncolourway = "{0.colourway}"\nbase = "{0.base}"\nskeins = 1\n'
    (order,) = plan(KNOWN_WATER, STEAMER).orders
    alike = STEAMER + again.format(order)
    assert not [one for one in remarks({"order.price": "20"}, alike) if "two prices" in one]
    assert [one for one in remarks({"order.price": "20"}, alike + "price = 30\n") if "two prices" in one]


def test_light_minis_that_are_split_by_their_number_are_pointed_out() -> None:
    """Ten minis of 20 g go in batches of four where kit holds four pieces; by weight they are one load."""
    minis: dict[str, str | None] = {"base.form": '"mini"', "base.skein": "20", "order.skeins": "10"}
    assert [one for one in remarks(minis) if "are 3 batches: kit holds 4 pieces" in one and 'holds = "400 g"' in one]
    by_weight = {**minis, "kit.holds": '"400 g"'}
    assert not [
        one for one in remarks(by_weight, STEAMER.replace("holds = 4", 'holds = "400 g"')) if "batches" in one
    ]
    assert not [one for one in remarks({**minis, "base.skein": "100"}) if "for more minis give a weight" in one]


ODD: dict[str, tuple[dict[str, str | None], str, str]] = {
    "more than 5 % DOS (US patent 5,925,149, background: 0.1-5.0 % owf)": (
        {"colourway.sections": '[{ dyes = { "Peat" = 5.5 } }]', "dye.min_steam": "40"},
        "'Bog' puts 5.5 % DOS on a section of 100 %",
        "rinses out",
    ),
    "less steam than 30 min (common practice)": (
        {"colourway.fix": '["steam 20 min"]'},
        "'Bog' has 20 min at heat",
        "its dyes need 30 min: timers run 20 min, the flag short fix goes by 30; plan 30 min, or set",
    ),
    "less steam than 45 min above 2 % (common practice)": (
        {"colourway.sections": '[{ dyes = { "Peat" = 3 } }]'},
        "'Bog' has 40 min at heat",
        "its dyes need 45 min",
    ),
    "a boil lowered by altitude": (
        {"air.altitude": '"1500 m"'},
        "at 1500 m water boils at 95 °C",
        "hold heats longer",
    ),
    "air too cold for a drying time": ({"air.temperature": "4"}, "air of 4 °C is below 5 °C", "are guesses"),
    "less steam than the dye says": (
        {"dye.min_steam": '"1 h"'},
        "'Bog' has 40 min at heat",
        "`min_steam` of Peat is 60 min: timers run 40 min, the flag short fix goes by 60; plan 60 min",
    ),
    "half cotton": (
        {"base.fibre": "{ wool = 50, cotton = 50 }"},
        "'Sock' is 50 % cotton, which acid dye does not colour",
        "undyed",
    ),
    "cotton and linen together": (
        {"base.fibre": "{ wool = 70, cotton = 15, linen = 15 }"},
        "'Sock' is 15 % cotton and 15 % linen",
        "undyed",
    ),
    "acid in a bath it never has": ({"colourway.acid_in": '"bath"'}, "no bath for its acid", '"soak"'),
    "acid in the paint of a layer that has none": (
        {"colourway.how": '"speckled"', "colourway.powder": '"0.2 g"', "colourway.acid_in": '"paint"'},
        "is speckled, and has no liquor for its acid to be in",
        '"soak"',
    ),
    "a rest in the open": (
        {"colourway.cover": '"open"', "colourway.fix": '["rest 30 min", "steam 40 min"]'},
        "rests open before its first heat",
        "wrap it",
    ),
    "a target below the usual": ({"acid.target_ph": "3"}, "a target of pH 3 is unusual", "pH 4 to 5.5"),
    "acid of 25 % and more (ECHA: corrosive)": (
        {"acid.strength": "25"},
        "acetic acid of 25 % is corrosive",
        "gloves",
    ),
    "an order that was due before the day": ({"order.due": "2026-03-13"}, "'Shop' was due 13 Mar", "check the date"),
}


def test_powder_that_would_be_simmered_is_reported() -> None:
    (one,) = remarks({"colourway.how": '"speckled"', "colourway.fix": '["simmer 45 min"]'}, POT)
    assert one.startswith("'Bog' is speckled and simmers, which washes the powder off")


@pytest.mark.parametrize("case", ODD)
def test_what_is_odd_is_reported_once_with_its_numbers_and_what_would_be_right(case: str) -> None:
    """One sentence for one oddity."""
    changes, what, right = ODD[case]

    (one,) = remarks(changes)

    assert what in one.split("; ")[0]
    assert right in one


@pytest.mark.parametrize(
    "changes",
    [
        {"colourway.sections": '[{ dyes = { "Peat" = 5 } }]', "dye.min_steam": "40"},
        {"colourway.fix": '["steam 30 min"]'},
        {"colourway.sections": '[{ dyes = { "Peat" = 2 } }]', "colourway.fix": '["steam 30 min"]'},
        {"base.fibre": "{ wool = 85, cotton = 15 }"},
        {"acid.strength": "24"},
        {"order.due": "2026-03-14"},
        {"acid.target_ph": "5.5"},
        {"air.altitude": "800"},
        {"air.temperature": "5"},
        {"colourway.fix": '["steam 15 min", "rest 5 min", "steam 15 min"]'},
    ],
)
def test_what_is_just_within_the_usual_is_passed_over(changes: dict[str, str | None]) -> None:
    """The limits themselves are usual."""
    assert remarks(changes) == []


def test_dyes_that_make_five_percent_together_are_within_it() -> None:
    """0.4 + 3.7 + 0.9 is 5 % DOS, though 5.000000000000001 as floats."""
    three = "{ Peat = 0.4, Moss = 3.7, Ink = 0.9 }"
    dyes = "".join(f'\n[[dye]]\nname = "{name}"\nsolution = 8\n' for name in ("Moss", "Ink"))
    changes: dict[str, str | None] = {"colourway.sections": f"[{{ dyes = {three} }}]"}
    assert remarks({**changes, "colourway.fix": '["steam 45 min"]'}, STEAMER + dyes) == []


def test_where_only_hardness_is_known_it_stands_in_as_an_upper_guess() -> None:
    """Alkalinity and not hardness uses up acid (USGS, definition of alkalinity)."""
    (one,) = (str(item) for item in advice(plan({"water.hardness": "250", **STRONG}, STEAMER)))

    assert "only hardness is known and stands in for alkalinity" in one
    assert "stands in for alkalinity" in one


def test_where_only_alkalinity_is_known_nothing_is_missing() -> None:
    """Soft water of no alkalinity at all is known water too."""
    assert remarks({"water.alkalinity": "0"}) == []
    assert remarks({"water.alkalinity": "0", "water.hardness": "0"}) == []


def test_where_nothing_is_known_of_the_water_no_acid_can_be_worked_out() -> None:
    """Unknown is not taken for zero."""
    (one,) = (str(item) for item in advice(plan(STRONG, STEAMER)))

    assert "the water is unknown, so acid goes by weight, 20 mL of vinegar 5 % per 100 g" in one


def test_where_acid_goes_by_weight_advice_says_how_much_of_the_plans_own() -> None:
    """1 g of citric acid per 100 g (1 % of the yarn's weight); of a dose the plan gives, there is nothing to say."""
    citric: dict[str, str | None] = {**STRONG, "acid.kind": '"citric"'}
    (one,) = (str(item) for item in advice(plan(citric, STEAMER)))
    assert "so acid goes by weight, 1 g of citric per 100 g" in one
    assert advice(plan({**citric, "acid.dose": '"2 g per 100 g"'}, STEAMER)) == ()


@pytest.mark.parametrize("how", ["", "powder = 0.2"])
def test_specks_have_no_liquor_for_acid_whether_of_powder_or_of_solution(how: str) -> None:
    """No water is added to solution that is flicked on; with a liquor of its own there is room for acid."""
    specks: dict[str, str | None] = {"colourway.how": f'"speckled"\n{how}', "colourway.acid_in": '"paint"'}
    assert remarks(specks) == ["'Bog' is speckled, and has no liquor for its acid to be in; acid_in = \"soak\""]
    assert bool(remarks({**specks, "colourway.liquor": "90"})) is bool(how)


def test_microwave_alone_is_advised_to_look_at_the_bath() -> None:
    """Bursts do not count as a hold at heat (common practice)."""
    (one,) = remarks({"colourway.fix": '["microwave 2 min", "rest 3 min", "microwave 2 min"]'}, MICROWAVE)

    assert "fixed by microwave alone, 4 min" in one
    assert "look at the bath" in one


@pytest.mark.parametrize(
    ("liquor", "odd"), [('"7 L/kg"', True), ('"8 L/kg"', False), ('"40 L/kg"', False), ("41", True)]
)
def test_an_immersed_layer_takes_eight_to_forty_litres_a_kilogram(liquor: str, odd: bool) -> None:
    """8-20 L/kg by US patent 5,925,149; to 40 in a hand dyer's pot (common practice)."""
    immersed: dict[str, str | None] = {"colourway.how": '"immersed"', "colourway.fix": '["simmer 45 min"]'}

    found = remarks({**immersed, "colourway.liquor": liquor}, POT)

    assert ["L/kg of liquor" in one for one in found] == [True] * odd


def test_kit_that_is_not_there_is_missed() -> None:
    """A colourway that is ordered and steamed wants a steamer."""
    (one,) = remarks({}, more="")

    assert one.startswith("the kit has no steamer")


def test_a_steamer_without_the_time_of_a_fill_is_asked_for_it() -> None:
    """A tank and a power tell it as well as `lasts` does."""
    unknown = STEAMER.replace("lasts = 60\n", "")
    (one,) = remarks({}, more=unknown)
    assert one.startswith("how long a fill of 'steamer' lasts is not known")
    assert 'lasts = "60 min"' in one
    assert remarks({}, more=unknown + 'tank = "2 L"\npower = "1400 W"\n') == []


def test_a_colourway_without_an_order_wants_no_kit() -> None:
    """A library of colourways may hold more than this day needs."""
    other = '\n[[colourway]]\nname = "Deep"\nhow = "immersed"\nsections = [{ dyes = {} }]\nfix = ["simmer 45 min"]\n'

    assert remarks({}, STEAMER + other) == []


def test_a_layer_is_named_where_there_are_several() -> None:
    """Advice says which layer it is about."""
    layer = '\n[[colourway.layer]]\nsections = [{ dyes = { "Peat" = 1 } }]\nfix = ["steam '
    two = f'\n[[colourway]]\nname = "Moor"\n{layer}40 min"]\n{layer}10 min"]\n'

    assert [one.split(";")[0] for one in remarks({}, STEAMER + two)] == ["'Moor' layer 2 has 10 min at heat"]
