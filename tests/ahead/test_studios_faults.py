"""What is counted against a schedule is what a dyer could have done otherwise, and only that."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest

from dyeday.ahead.forecast import forecast
from dyeday.ahead.foreseen_steps import Planned
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.terms import StepKind
from dyeday.track.folding.fold import begin
from tests.ahead.studios_faults import faults
from tests.track.days import now

WAITS, APART, PUT_OFF = "hands wait for dry yarn", "siblings apart", "heat put off"
PLAN = """
[session]
name = "Two batches"
date = 2026-04-18
start = "09:00"
stop = "20:00"
zone = "UTC"

[[circuit]]
name = "shed"
volts = 230
amps = {amps}

[[kit]]
name = "tray"
kind = "tray"
units = {trays}
holds = 4

[[kit]]
name = "steamer"
kind = "steamer"
units = 2
holds = 4
power = "1400 W"
circuit = "shed"

[[kit]]
name = "oven"
kind = "microwave"
units = 1
holds = 4
power = "1250 W"
output = "800 W"
circuit = "shed"

[[base]]
name = "Sock"
fibre = {{ "superwash wool" = 75, nylon = 25 }}
skein = "100 g"

[[dye]]
name = "Navy"

[[colourway]]
name = "Shade"
{how}
sections = [{{ share = 100, dyes = {{ Navy = 1.0 }} }}]
fix = {fix}

[[order]]
item = "club"
colourway = "Shade"
base = "Sock"
skeins = {skeins}
match = true

[[chore]]
name = "mix"
minutes = 12
per = "lot"
when = "{mix}"
"""
STEAM = '["steam 40 min"]'
BURST_AND_STEAM = '["microwave 2 min", "rest 15 min", "steam 40 min"]'
PAINTED, STREWN = "minutes = 2", 'how = "speckled"\npowder = "0.2 g"\nminutes = 20'


def counted(move: Callable[[Planned], Planned], **given: object) -> Counter[str]:
    """Return what is counted in the forecast of a day, with every step moved."""
    usual = {"amps": 16, "trays": 2, "how": PAINTED, "skeins": 4, "mix": "before paint", "fix": STEAM}
    day = begin(read_plan(PLAN.format(**usual | given)))
    found = forecast(day, now("09:00"), evaluations=60)
    return Counter(faults(day, replace(found, steps=tuple(sorted(map(move, found.steps), key=lambda s: s.start)))))


def as_planned(step: Planned) -> Planned:
    return step


def later(step: Planned, minutes: int) -> Planned:
    by = timedelta(minutes=minutes)
    return replace(step, start=step.start + by, end=step.end + by)


def mixed_first(step: Planned) -> Planned:
    return later(step, -2) if step.kind is StepKind.CHORE else later(step, 12)


def second_much_later(step: Planned) -> Planned:
    return later(step, 90) if step.batch == "02" and step.kind is not StepKind.SOAK_LOAD else step


@pytest.mark.parametrize(
    ("move", "given", "times"),
    [
        (as_planned, {}, 0),
        (mixed_first, {}, 1),
        (as_planned, {"mix": "before soak"}, 0),
    ],
)
def test_a_wait_for_dry_yarn_counts_where_it_could_have_soaked_before_other_work(
    move: Callable[[Planned], Planned], given: dict[str, object], times: int
) -> None:
    """Dye is mixed while yarn soaks, but where the soak's own bath has to be mixed first."""
    assert counted(move, **given)[WAITS] == times


@pytest.mark.parametrize(
    ("move", "given", "times"),
    [
        (as_planned, {"skeins": 8}, 0),
        (second_much_later, {"skeins": 8}, 1),
        (second_much_later, {"skeins": 8, "amps": 8}, 0),
        (second_much_later, {"skeins": 8, "how": STREWN}, 0),
    ],
)
def test_a_lot_that_must_match_counts_as_apart_where_kit_and_yarn_let_it_be_together(
    move: Callable[[Planned], Planned], given: dict[str, object], times: int
) -> None:
    """Not on a circuit for one steamer, nor where specks would wait for over an hour."""
    assert counted(move, **given)[APART] == times


@pytest.mark.parametrize(
    ("fix", "hour", "times"),
    [(STEAM, "18:40", 1), (STEAM, "19:40", 0), (BURST_AND_STEAM, "18:40", 1), (BURST_AND_STEAM, "19:40", 0)],
)
def test_heat_counts_as_put_off_where_all_heats_of_its_layer_fit_before_the_stop(
    fix: str, hour: str, times: int
) -> None:
    """A burst alone would fit at 19:40, but the steaming that must follow it would not."""
    end = now(hour).utc

    def heated_tomorrow(step: Planned) -> Planned:
        if step.kind is StepKind.PAINT:
            return replace(step, start=end - (step.end - step.start), end=end)
        heat = step.kind in (StepKind.LOAD, StepKind.HEAT, StepKind.UNLOAD)
        return later(step, 24 * 60) if heat else step

    assert counted(heated_tomorrow, fix=fix)[PUT_OFF] == times
