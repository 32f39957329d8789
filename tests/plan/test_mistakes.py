"""What people write in a plan by hand, and the message that names the mend."""

from __future__ import annotations

import pytest

from dyeday.plan.lint import advice
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.reading.problems import PlanError

SOUND = """[session]
name = "Saturday"
date = 2026-03-14
start = "09:00"
stop = "17:00"

[water]
alkalinity = "120 mg/L"

[[kit]]
name = "big one"
kind = "pot"
holds = "400 g"

[[kit]]
name = "steamer"
kind = "steamer"
holds = 4

[[base]]
name = "Sock"
fibre = { "superwash wool" = 75, nylon = 25 }
skein = "100 g"

[[dye]]
name = "Ochre"

[[colourway]]
name = "Peat"
sections = [{ share = 100, swatch = "#5b7f8c", dyes = { "Ochre" = 1.0 } }]
fix = ["steam 40 min"]

[[order]]
item = "Shop"
colourway = "Peat"
base = "Sock"
skeins = 3
"""


MISTAKES = [
    ('item = "Shop"', 'name = "Shop"', "order.name is not a key; did you mean 'item'?"),
    ('kind = "pot"', 'kind = "stockpot"', "did you mean 'pot'?"),
    ('kind = "pot"', 'kind = "slow cooker"', "did you mean 'pot'?"),
    ('kind = "steamer"', 'kind = "drying rack"', "did you mean 'pegs'?"),
    ('kind = "pot"', 'type = "pot"', "kit.type is not a key; did you mean 'kind'?"),
    ("holds = 4", "capacity = 4", "did you mean 'holds'?"),
    ('skein = "100 g"', 'weight = "100 g"', "did you mean 'skein'?"),
    ("fibre = {", "fiber = {", "did you mean 'fibre'?"),
    ('"superwash wool" = 75, nylon = 25', "wool = 75, polyamid = 25", "did you mean 'nylon'?"),
    ("skeins = 3", "quantity = 3", "did you mean 'skeins'?"),
    ("fix =", "heat =", "did you mean 'fix'?"),
    ("sections =", "colors =", "did you mean 'sections'?"),
    ("swatch =", "hex =", "did you mean 'swatch'?"),
    ('alkalinity = "120 mg/L"', 'kh = "7"', "did you mean 'alkalinity'?"),
    ('stop = "17:00"', 'end = "17:00"', "did you mean 'stop'?"),
    ('stop = "17:00"', "stop = 17.30", 'write stop = "17:30"'),
    ("date = 2026-03-14", "date = 14.03.2026", "write the year first: date = 2026-03-14"),
    ('name = "Saturday"', "name = Saturday", 'write name = "Saturday"'),
    ('name = "Saturday"', "name = “Saturday”", 'write name = "Saturday"'),
    ('name = "Ochre"', 'name = "Ochre', 'write name = "Ochre"'),
    ('["steam 40 min"]', '["steam 40 min"', "close it with ]"),
    ('holds = "400 g"', "holds = 400 g", 'write holds = "400 g"'),
    ("[[colourway]]", "[[color]]", "did you mean 'colourway'?"),
    ("[[order]]", "[[orders]]", "did you mean 'order'?"),
    ("[[order]]", "[order]", "write [[order]]"),
    ("[water]", "[Water]", "did you mean 'water'?"),
    ("skeins = 3", 'skeins = "three"', "write 1 to 5000"),
]


@pytest.mark.parametrize(("right", "wrong", "mend"), MISTAKES)
def test_a_mistake_made_by_hand_gets_a_message_that_names_the_mend(right: str, wrong: str, mend: str) -> None:
    assert right in SOUND
    with pytest.raises(PlanError) as refused:
        read_plan(SOUND.replace(right, wrong, 1))
    assert mend in str(refused.value)


@pytest.mark.parametrize("breed", ["BFL", "superwash Bluefaced Leicester", "Shetland", "Corriedale wool"])
def test_fibre_goes_by_the_name_of_its_breed(breed: str) -> None:
    plan = read_plan(SOUND.replace('"superwash wool" = 75', f'"{breed}" = 75'))
    assert plan.bases[0].fibre[0] == ("superwash wool" if "superwash" in breed else "wool", 75)


@pytest.mark.parametrize(
    ("right", "odd", "said"),
    [
        ('skein = "100 g"', 'skein = "200 g"\nform = "mini"', "a mini of 200 g is heavy"),
        ('"120 mg/L"', '"120 mg/L"\ntemperature = "51 °C"', "the tap of 51 °C is hot"),
        ('"120 mg/L"', '"26 mg/L"\nhardness = "320 mg/L"', "alkalinity of 26 mg/L beside a hardness of 320 mg/L"),
        ('"120 mg/L"', '"520 mg/L"\nhardness = "18 °dH"', "alkalinity of 520 mg/L beside a hardness of 321 mg/L"),
    ],
)
def test_what_can_be_read_and_is_odd_is_advice(right: str, odd: str, said: str) -> None:
    assert not any(said in each.what for each in advice(read_plan(SOUND)))
    assert any(said in each.what for each in advice(read_plan(SOUND.replace(right, odd, 1))))


@pytest.mark.parametrize("water", ['"260 mg/L"\nhardness = "18 °dH"', '"260 mg/L"\nhardness = "0.5 °dH"'])
def test_alkalinity_near_its_hardness_and_that_of_softened_water_are_usual(water: str) -> None:
    assert not any("alkalinity" in each.what for each in advice(read_plan(SOUND.replace('"120 mg/L"', water, 1))))
