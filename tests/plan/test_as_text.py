"""A plan written as TOML by the program reads back as the same plan."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.plan.model import HandBatch, Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.reading.table_reader import clock_min
from dyeday.plan.reading.toml_syntax import toml_of
from dyeday.plan.writing.plan_text import plan_text
from dyeday.plan.writing.toml_values import number, plan_time, text
from tests.fakes import HEAVY_DAY, SHORT_DAY
from tests.track.days import PLAN

FULL = """
[session]
name = 'A "quoted" day \\\\ night'
date = 2026-05-09
start = "09:00"
stop = "01:30+1"
tomorrow = ["10:00-13:00"]
breaks = ["13:00-13:30"]
zone = "Europe/London"
hands = 2
serves = "tonight"
units = "US"
screen_height = "174 mm"

[water]
alkalinity = "11 dH"
rinse_temperature = "20 °C"

[acid]
kind = "citric solution"
strength = "50 %"
target_ph = 4.2
ph_with = "meter"
price = 0.01

[rules]
exhaustion = "85 %"
soak = "30 min"
cloth = "4"
shock = "8 °C"

[scale]
resolution = "0.01 g"

[jug]
resolution = "1 mL"

[air]
temperature = "18 °C"
humidity = "70 %"

[money]
currency = "EUR"
hands = 12.5

[[circuit]]
name = "lead 1"
volts = 230
amps = 16
continuous_share = 0.8
lead_amps = 13

[[kit]]
name = "steamer"
kind = "steamer"
holds = "600 g"
power = "1.5 kW"
circuit = "lead 1"
tank = "2 L"
warm_up = 0
load = "3 min"

[[kit]]
name = "pot"
kind = "pot"
holds = 4

[[base]]
name = "Soft, thick"
fibre = { "superwash wool" = 75, nylon = 25 }
skein = "3.5 oz"
length = "437 yd"
form = "blank"
soak = "33 min"
price = 6.5
sells = 24
care = "hand wash"

[[dye]]
name = "Peat & co"
solution = "2 %"
price = 0.4
min_steam = "45 min"
expected_exhaustion = "80 %"
bottle = { left = "40 mL", strength = "2 %", made = 2026-03-01 }

[[colourway]]
name = "Two"
dry = "30 h"
rinse = "3 min"
steps = ["first", "then"]
[[colourway.layer]]
how = "immersed"
liquor = "15 L/kg"
fix = ["simmer 30 min"]
cool_where = "in place"
sections = [{ share = 100, swatch = "#3d5a3c", dyes = { "Peat & co" = 0.7 } }]
[[colourway.layer]]
acid_in = "soak"
fix = ["steam 20 min", "rest 5 min", "steam 20 min"]
sections = [{ share = 33.3, dyes = { "Peat & co" = 0.7 } }, { share = 66.7, dyes = { "Peat & co" = 2.1 } }]
[[colourway.layer]]
how = "speckled"
powder = "0.15 g"
cover = "open"
fix = ["steam 20 min"]
sections = [{ share = 100, dyes = { "Peat & co" = 3 } }]

[[chore]]
name = "wrap"
minutes = 2.5
per = "skein"
when = "after paint"

[[extra]]
name = "soap"
amount = "2 mL"
per = "skein"

[[order]]
item = "for Ida"
colourway = "Two"
base = "Soft, thick"
skeins = 5
due = 2026-05-20
priority = 2
match = true
spare = 1
price = 30
"""


def without_batches(plan: Plan) -> Plan:
    return replace(plan, batches=())


@pytest.mark.parametrize("said", [FULL, PLAN, SHORT_DAY.read_text("utf-8"), HEAVY_DAY.read_text("utf-8")])
def test_a_plan_written_reads_back_the_same(said: str) -> None:
    """Every key, of the tests' plan, of both examples and of one that sets them all."""
    plan = read_plan(said)
    assert without_batches(read_plan(plan_text(plan))) == without_batches(plan)


def test_batches_by_hand_come_back_with_their_number_tag_and_where_they_come_from() -> None:
    """Also one with letters."""
    plan = read_plan(PLAN)
    hand = (
        HandBatch("03", "peat blanket", 3, "red knot", "2026-04-18-1/03b"),
        HandBatch("01a", "harbour for Ida", 2),
    )
    back = {batch.no: batch for batch in read_plan(plan_text(plan, hand)).batches}
    assert (back["03"].skeins, back["03"].tag, back["03"].carried) == (3, "red knot", "2026-04-18-1/03b")
    assert back["01a"].skeins == 2


def test_only_what_differs_from_the_usual_is_written() -> None:
    """A person goes on from it."""
    assert "[rules]" not in plan_text(read_plan(PLAN))
    assert "priority" not in plan_text(read_plan(PLAN))
    assert 'due = "' not in plan_text(
        replace(read_plan(PLAN), orders=(replace(read_plan(PLAN).orders[0], due=date(2026, 5, 1)),))
    )


@given(st.floats(0, 1e9, allow_nan=False))
def test_numbers_come_back_as_they_were(value: float) -> None:
    assert float(toml_of(f"x = {number(value)}")[0]["x"]) == value


@given(st.text(max_size=40))
def test_texts_come_back_as_they_were(value: str) -> None:
    if all(not 0xD800 <= ord(c) <= 0xDFFF for c in value):
        assert toml_of(f"x = {text(value)}")[0]["x"] == value


@given(st.integers(0, 2879))
def test_times_of_day_come_back_as_they_were(minutes: int) -> None:
    assert clock_min(plan_time(minutes)) == minutes


@pytest.mark.parametrize("typed", ["11 dKH", "7.5 dKH", "4.3 meq/L", "196.3 mg/L", "12.4 gpg"])
def test_water_is_written_in_no_more_digits_than_it_was_typed_in(typed: str) -> None:
    plan = read_plan(FULL.replace("11 dH", typed))
    assert f'alkalinity = "{typed}"' in plan_text(plan)
    assert read_plan(plan_text(plan)) == plan
