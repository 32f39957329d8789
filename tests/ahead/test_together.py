"""Small batches that lie together: in one tray, and in one load of a steamer."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise

import pytest

from dyeday.ahead.forecast import Forecast, forecast
from dyeday.ahead.from_day import JOIN_MIN
from dyeday.ahead.planned import Planned
from dyeday.plan.read import read_plan
from dyeday.track.flags import flags_of
from dyeday.track.fold import begin
from dyeday.track.instant import Now
from tests.ahead.checker import violations
from tests.ahead.follow import follow
from tests.track.days import now

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
    found = forecast(day, now("09:00"), evaluations=300, replays=0)
    assert violations(found.problem, found.advised.rows) == []
    return found


def runs(found: Forecast) -> list[Planned]:
    return sorted((step for step in found.steps if step.word == "run"), key=lambda step: step.start)


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
    assert alone.hands_off - together.hands_off >= timedelta(hours=1)
    for load in loads(together):
        assert load[-1].start - load[0].start <= timedelta(minutes=JOIN_MIN)


def test_a_load_holds_no_more_than_the_steamer_does() -> None:
    """Five batches of two in a steamer for four: two at a time at most."""
    assert max(len(load) for load in loads(ahead(40, 40, 40, 40, 40, steamer=4))) == 2


def test_what_steams_longer_goes_in_by_itself() -> None:
    """Nobody opens the lid on yarn that has twenty minutes to go."""
    found = ahead(40, 60, 40, 60)
    planned = {step.batch: step.minutes for step in runs(found)}
    assert all(len({planned[run.batch] for run in load}) == 1 for load in loads(found))


def test_small_batches_soak_in_one_tray() -> None:
    """One tray for eight skeins keeps no batch of two waiting for another's paint."""
    soaks = [step for step in ahead(40, 40, 40).steps if step.word == "soak" and step.attended]
    alone = [step for step in ahead(40, 40, 40, tray=3).steps if step.word == "soak" and step.attended]
    assert max(step.start for step in soaks) < max(step.start for step in alone)
    assert all(one.end <= other.start for one, other in pairwise(sorted(soaks, key=lambda step: step.start)))


@pytest.mark.parametrize("seed", [1, 2])
def test_a_day_of_shared_loads_followed_to_its_end_raises_no_doubt_about_heat_or_room(seed: int) -> None:
    """What is planned together is neither too much in one unit nor too short in heat."""
    run = follow(read_plan(text(40, 40, 50, 50, 40)), seed, evaluations=40, replays=0)
    assert all(batch.state == "dry" for batch in run.day.live)
    end = Now(max(event.at for event in run.day.events))
    raised = {flag.rule for flag in flags_of(run.day, end)}
    assert not raised & {"over-full", "short-fix", "short-soak", "dried-out", "boil-dry"}
