"""Which batches go first by priority and due date, and what is dry too late."""

from __future__ import annotations

from datetime import timedelta

import pytest

from dyeday.ahead.forecast import forecast
from dyeday.ahead.foreseen_steps import Forecast
from dyeday.ahead.problem_parts.hours import wall
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.terms import WarningKind
from dyeday.track.folding.fold import begin
from dyeday.track.timestamp import Moment

ONE_POT = """
[session]
name = "Pot"
date = 2026-11-30
zone = "UTC"
start = "08:30"
stop = "17:00"
[water]
alkalinity = "4 dKH"
[acid]
kind = "vinegar"
strength = "5 %"
target_ph = 4.3
[[kit]]
name = "tray"
kind = "tray"
units = 2
holds = 4
[[kit]]
name = "pot"
kind = "pot"
holds = "400 g"
warm_up = "30 min"
[[kit]]
name = "sink"
kind = "sink"
[[kit]]
name = "rack"
kind = "pegs"
holds = 20
[[base]]
name = "Sock"
fibre = { merino = 100 }
skein = "100 g"
[[base]]
name = "Lace"
fibre = { merino = 100 }
skein = "100 g"
[[dye]]
name = "Moss"
[[colourway]]
name = "Bog"
how = "immersed"
sections = [{ share = 100, dyes = { Moss = 1.0 } }]
fix = "simmer 45 min"
cool = "300 min"
cool_where = "in place"
[[order]]
item = "first"
colourway = "Bog"
base = "Sock"
skeins = 2
[[order]]
item = "shop"
colourway = "Bog"
base = "Lace"
skeins = 1
"""
"""one pot, in which either batch cools for five hours: one of the two is rinsed by the stop"""


def looked(first: str = "", second: str = "", before: Forecast | None = None, min_later: float = 0) -> Forecast:
    """Look at the day, with more keys of the first order, 01, and of the second, 02."""
    text = ONE_POT.replace('item = "first"', f'item = "first"\n{first}')
    plan = read_plan(text.replace('item = "shop"', f'item = "shop"\n{second}'))
    start = wall(plan, plan.session.start_min) + timedelta(minutes=min_later)
    return forecast(begin(plan), Moment(start), evaluations=40, before=before)


def left_over(found: Forecast) -> list[str]:
    """Return the orders whose batch is not rinsed by the stop: the first is of two skeins, the second of one."""
    return [{2: "first", 1: "shop"}[b.skeins] for b in found.problem.batches if b.id in found.not_by_stop]


@pytest.mark.parametrize(
    ("first", "second", "left"),
    [
        ("", "", "shop"),
        ("", "due = 2026-12-01", "first"),
        ("", "priority = 1", "first"),
        ("priority = 9", "", "first"),
        ("due = 2026-12-01", "due = 2026-12-04", "shop"),
        ("due = 2026-12-04", "due = 2026-12-01", "first"),
        ("due = 2026-12-04", "due = 2026-11-30", "first"),  # overdue by then, either way
        ("", "due = 2026-11-30", "first"),
    ],
)
def test_of_as_many_batches_the_one_due_earlier_or_of_smaller_priority_is_rinsed_by_the_stop(
    first: str, second: str, left: str
) -> None:
    assert left_over(looked(first, second)) == [left]


def test_a_due_batch_stays_first_at_the_next_look() -> None:
    before = looked(second="priority = 1")
    assert left_over(looked(second="priority = 1", before=before, min_later=1)) == ["first"]


def test_yarn_that_is_due_tomorrow_has_the_pot_first_where_both_are_through_their_heat_by_the_stop() -> None:
    """Either order has both through heat; what is heated second is rinsed on Tuesday and dry on Wednesday."""
    heat_first = ONE_POT.replace('stop = "17:00"', 'stop = "18:30"\naim = "heat by stop"')
    for due, other in (("first", "shop"), ("shop", "first")):
        text = heat_first.replace(f'item = "{due}"', f'item = "{due}"\ndue = 2026-12-01')
        plan = read_plan(text.replace(f'item = "{other}"', f'item = "{other}"\ndue = 2026-12-04'))
        found = forecast(begin(plan), Moment(wall(plan, plan.session.start_min)), evaluations=40)
        assert found.not_by_stop == ()
        assert [one for one in found.warned if one.kind is WarningKind.DUE_LATE] == []


def test_an_order_whose_yarn_is_dry_after_its_due_day_is_warned_of() -> None:
    found = looked(first="due = 2026-11-30", second="due = 2026-12-04")
    late = [str(warned) for warned in found.warned if warned.kind is WarningKind.DUE_LATE]
    assert late == ["first is due Mon 30 Nov: its yarn is dry Tue 01 Dec"]
