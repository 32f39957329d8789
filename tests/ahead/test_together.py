"""Small batches that lie together: in one tray, and in one load of a steamer."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise
from random import Random

import pytest

from dyeday.ahead.forecast import Forecast, forecast
from dyeday.ahead.foreseen_steps import Planned
from dyeday.ahead.kernel.search import solve
from dyeday.ahead.problem_parts.kit_units import JOIN_MIN
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.terms import State, StepKind, WarningKind
from dyeday.track.flags import flags_of
from dyeday.track.folding.fold import begin
from dyeday.track.timestamp import Moment
from tests.ahead.checker import violations
from tests.ahead.days import cut, random_problem
from tests.ahead.follow import follow
from tests.track.days import at, day_of, now

PLAN = """
[session]
name = "Samples"
date = 2026-04-18
start = "09:00"
stop = "18:00"
zone = "UTC"

[[kit]]
name = "tray"
kind = "tray"
holds = {tray}

[[kit]]
name = "steamer"
kind = "steamer"
holds = {steamer}

[[kit]]
name = "pegs"
kind = "pegs"
holds = 40

[[base]]
name = "Sock"
fibre = {{ "superwash wool" = 75, nylon = 25 }}
skein = "50 g"

[[dye]]
name = "Navy"
"""
COLOUR = """
[[colourway]]
name = "{name}"
fix = ["steam {minutes} min"]
sections = [{{ share = 100, dyes = {{ Navy = {depth} }} }}]

[[order]]
item = "sample {name}"
colourway = "{name}"
base = "Sock"
skeins = 2
"""


def text(*steam_min: int, steamer: int = 8, tray: int = 8) -> str:
    """Return a plan of one batch of two skeins for each steaming."""
    colours = [
        COLOUR.format(name=f"Shade {n}", minutes=minutes, depth=round(0.2 * n, 1))
        for n, minutes in enumerate(steam_min, 1)
    ]
    return PLAN.format(steamer=steamer, tray=tray) + "".join(colours)


def ahead(*steam_min: int, steamer: int = 8, tray: int = 8) -> Forecast:
    day = begin(read_plan(text(*steam_min, steamer=steamer, tray=tray)))
    found = forecast(day, now("09:00"), evaluations=300)
    assert violations(found.problem, found.advised.rows) == []
    return found


def runs(found: Forecast) -> list[Planned]:
    return sorted((step for step in found.steps if step.kind is StepKind.HEAT), key=lambda step: step.start)


def loads(found: Forecast) -> list[list[Planned]]:
    """Return the runs of the one steamer, those that overlap together."""
    out: list[list[Planned]] = []
    for run in runs(found):
        if out and run.start < max(other.end for other in out[-1]):
            out[-1].append(run)
        else:
            out.append([run])
    return out


def test_batches_of_as_long_a_steaming_go_into_one_load() -> None:
    """Four batches of two skeins in a steamer for eight: an hour sooner over than one after another."""
    together, alone = ahead(40, 40, 40, 40), ahead(40, 40, 40, 40, steamer=3)
    assert [len(load) for load in loads(alone)] == [1, 1, 1, 1]
    assert len(loads(together)) < 4
    assert alone.finish - together.finish >= timedelta(hours=1)
    for load in loads(together):
        assert load[-1].start - load[0].start <= timedelta(minutes=JOIN_MIN)


def test_a_load_holds_no_more_than_the_steamer_does() -> None:
    """Five batches of two in a steamer for four: two at a time at most."""
    assert max(len(load) for load in loads(ahead(40, 40, 40, 40, 40, steamer=4))) == 2


def test_what_steams_longer_goes_in_by_itself() -> None:
    """The lid stays on yarn that has twenty minutes to go."""
    found = ahead(40, 60, 40, 60)
    planned = {step.batch: step.minutes for step in runs(found)}
    assert all(len({planned[run.batch] for run in load}) == 1 for load in loads(found))


def test_small_batches_soak_in_one_tray() -> None:
    """One tray for eight skeins keeps no batch of two waiting for another's paint."""
    soaks = [step for step in ahead(40, 40, 40).steps if step.kind is StepKind.SOAK_LOAD]
    alone = [step for step in ahead(40, 40, 40, tray=3).steps if step.kind is StepKind.SOAK_LOAD]
    assert max(step.start for step in soaks) < max(step.start for step in alone)
    assert all(one.end <= other.start for one, other in pairwise(sorted(soaks, key=lambda step: step.start)))


@pytest.mark.parametrize("seed", [1, 2])
def test_a_day_of_shared_loads_followed_to_its_end_raises_no_flag_about_heat_or_room(seed: int) -> None:
    """What is planned together is neither too much in one unit nor too short in heat."""
    run = follow(read_plan(text(40, 40, 50, 50, 40)), seed, evaluations=40)
    assert all(batch.state == State.DRY for batch in run.day.unsplit)
    end = Moment(max(event.at for event in run.day.events))
    raised = {flag.rule for flag in flags_of(run.day, end)}
    assert not raised & {"over-full", "short-fix", "short-soak", WarningKind.DRIED_OUT, WarningKind.BOIL_DRY}


def test_a_tank_is_to_be_filled_before_the_load_it_would_not_last_through() -> None:
    """Not while the first of the load is in heat already; and where no fill lasts, that is said."""
    tanks = text(40, 40, 40, 40, 40, 40, 40, 40).replace(
        'kind = "steamer"\n', 'kind = "steamer"\ntank = "1 L"\nlasts = "134 min"\n'
    )
    day = begin(read_plan(tanks))
    found = forecast(day, now("09:00"), evaluations=300)
    opened = {load[0].start for load in loads(found)}
    low = [warned for warned in found.warned if warned.kind == WarningKind.BOIL_DRY]
    assert low
    assert {warned.at for warned in low} <= opened
    short = begin(read_plan(tanks.replace("134 min", "50 min")))
    said = [w.text for w in forecast(short, now("09:00"), evaluations=100).warned if w.kind == WarningKind.BOIL_DRY]
    assert any("one fill does not last" in text for text in said)


def test_a_batch_that_cannot_be_finished_keeps_its_room_in_a_steamer_that_is_shared() -> None:
    """Its microwave breaks down while it steams: nothing joins it beyond what the steamer holds."""
    oven = '\n[[kit]]\nname = "oven"\nkind = "microwave"\nholds = 4\n'
    plan = read_plan(
        text(40, 40, 40, steamer=6)
        .replace("[[base]]", oven + "\n[[base]]", 1)
        .replace('fix = ["steam 40 min"]', 'fix = ["steam 40 min", "rest 5 min", "microwave 3 min"]', 1)
        .replace("skeins = 2", "skeins = 4", 2)
    )
    day = day_of(
        [
            at("09:00", "01", to="soak", unit="tray 1"),
            at("09:30", "01", to="paint"),
            at("09:36", "01", to="fix"),
            at("09:40", "01", heat_no=1, run="start", unit="steamer 1"),
            at("09:41", "02", to="soak", unit="tray 1"),
            at("10:00", unit="oven 1", is_="down"),
        ],
        plan,
    )
    found = forecast(day, now("10:01"), evaluations=100)
    out = [name for name, _ in found.left_out]
    assert "01" in out
    assert violations(found.problem, found.earliest.rows, out) == []


@pytest.mark.parametrize("seed", [2110, 2237, 2248])
def test_the_heat_of_a_batch_that_cannot_be_finished_still_draws_its_amps(seed: int) -> None:
    """Cut days with a unit put down: their circuits are not overloaded, their trays not too full."""
    rng = Random(seed)  # noqa: S311 - no secret
    problem = random_problem(seed, batches=5)
    begun = cut(problem, solve(problem, 1, evaluations=40).rows, rng.randint(560, 900))
    for down in ("microwave", "steamer 1", "steamer 2", "bench"):
        units = tuple(replace(unit, free_at=None) if unit.name == down else unit for unit in begun.units)
        broken = replace(begun, units=units)
        for objective in (1, 2):
            found = solve(broken, objective, evaluations=60)
            wrong = violations(broken, found.rows, [name for name, _ in found.left_out])
            assert [what for what in wrong if "too long" not in what] == []
