"""Chores once for a lot or for the day: what they wait for, and what waits for them."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from dyeday.ahead.forecast import forecast
from dyeday.ahead.foreseen_steps import Forecast
from dyeday.plan.model import Chore, Plan
from dyeday.plan.step_ids import ChoreId
from dyeday.terms import ChorePer, ChoreWhen, StepKind
from tests.track.days import Line, at, day_of, heated, now, plan_with, soaked

MOSS = """
[[colourway]]
name = "Moss"
how = "immersed"
cool_where = "in place"
cool = 60
fix = ["simmer 30 min"]
sections = [{ share = 100, dyes = { Navy = 1.0 } }]
[[order]]
item = "moss"
colourway = "Moss"
base = "Wool"
skeins = 18
"""


def of(plan: Plan, numbers: str, *chores: Chore) -> Plan:
    """Return a plan of these batches only, with these chores."""
    batches = tuple(batch for batch in plan.batches if batch.no in numbers.split())
    return replace(plan, batches=batches, chores=chores)


def ahead(plan: Plan, time: str = "09:00", *lines: Line) -> Forecast:
    return forecast(day_of(lines, plan), now(time), evaluations=40)


def untie(per: ChorePer) -> Chore:
    return Chore("untie", 10, per, ChoreWhen.AFTER_COOL)


@pytest.mark.parametrize("per", [ChorePer.BATCH, ChorePer.LOT, ChorePer.DAY])
def test_a_chore_after_cooling_comes_before_the_rinse_whatever_it_is_done_once_for(per: ChorePer) -> None:
    plan = of(plan_with(), "01", untie(per))
    off, chore, rinse = ahead(plan, "11:00", *soaked(), *heated()[:2]).steps[:3]
    assert [step.kind for step in (off, chore, rinse)] == [StepKind.UNLOAD, StepKind.CHORE, StepKind.RINSE]
    cool_min = plan.colourway("Harbour").layers[-1].cool_min
    assert off.start + timedelta(minutes=cool_min) <= chore.start and chore.end <= rinse.start


def test_a_chore_of_a_lot_after_cooling_does_not_keep_cool_yarn_from_its_rinse_until_the_rest_is_heated() -> None:
    """09 is heated in the afternoon: 08 is rinsed before, and the chore waits until 09 has cooled too."""
    found = ahead(of(plan_with(), "08 09", untie(ChorePer.LOT)), "11:30", *soaked("08"), *heated("08"))
    chore = next(step for step in found.steps if step.is_chore)
    off = next(step for step in found.steps if step.batch == "09" and step.kind is StepKind.UNLOAD)
    rinse = next(step for step in found.steps if step.batch == "08" and step.kind is StepKind.RINSE)
    assert rinse.end <= chore.start
    assert chore.start >= off.start + timedelta(minutes=60)


def test_no_chore_holds_a_pot_in_which_yarn_cools() -> None:
    """Three batches in two pots that cool in place: the third waits for a pot, which does not wait for the chore."""
    plan = plan_with(more=MOSS)
    nos = [batch.no for batch in plan.batches if batch.colourway == "Moss"]
    found = ahead(of(plan, " ".join(nos), untie(ChorePer.LOT)))
    assert (len(nos), found.left_out) == (3, ())
    (chore,) = [step for step in found.steps if step.is_chore]
    assert chore.start >= max(step.end for step in found.steps if step.kind is StepKind.HEAT)


def test_a_chore_wanted_first_comes_after_all_that_its_yarn_waits_for() -> None:
    """The sink is washed after the rinse of a lot that is tied before its soak: 07 waits, the tying does not."""
    tie = Chore("tie", 10, ChorePer.LOT, ChoreWhen.BEFORE_SOAK)
    wash = Chore("wash sink", 10, ChorePer.LOT, ChoreWhen.AFTER_RINSE)
    wish = at("09:00", event="advice", is_="instead", step="chore", chore="wash sink", when="after rinse", lot="01")
    steps = ahead(of(plan_with(), "01 07", tie, wash), "09:01", wish).steps
    washed = next(step for step in steps if step.owner == ChoreId("wash sink", ChoreWhen.AFTER_RINSE, "01"))
    assert all(step.start >= washed.end for step in steps if step.batch == "07")
