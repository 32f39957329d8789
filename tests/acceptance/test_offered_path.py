"""What the bench offers, taken step by step with Enter alone: the recipe's path raises no flag, whatever is dyed."""

from __future__ import annotations

from datetime import timedelta
from itertools import count
from pathlib import Path

import pytest

from dyeday.ahead.advising.next_step import next_step
from dyeday.bench.prompts.offering import drafts_for
from dyeday.bench.prompts.offers import Offer, OfferTaken
from dyeday.plan.model import Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.terms import State, TimerKind, Water
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.day_state import Day, Event, make
from dyeday.track.day.transitions import heat_timed_out
from dyeday.track.flags import flags_of
from dyeday.track.folding.fold import fold
from dyeday.track.timers.timers import timer_of
from dyeday.track.timestamp import Moment
from tests.acceptance.played import instant

PLAN = Path(__file__).with_name("day.toml").read_text(encoding="utf-8")
KINDS = ["01", "05", "07", "09", "10", "11", "13", "14"]
"""painted; bursts then steam; two layers with specks; immersed wool, after a soak in two trays; mohair with silk;
deep shades; minis; immersed sock yarn"""
MOST_STEPS = 40

JUGS = ["1 mL", "5 mL", "25 mL", "100 mL"]
ACIDS = {
    "vinegar": "",
    "crystals": 'kind = "citric"\n',
    "solution": 'kind = "citric solution"\nstrength = 20\n',
    "own dose": 'kind = "vinegar"\nstrength = 5\ndose = "30 mL per 100 g"\n',
}
WATERS = {"as it is": "", "very soft": "alkalinity = 15\nhardness = 15\n", "unknown": "temperature = 10\n"}


def plan_of(jug: str = "5 mL", acid: str = "", water: str = "") -> Plan:
    text = PLAN.replace('resolution = "5 mL"', f'resolution = "{jug}"')
    for table, keys in (("acid", acid), ("water", water)):
        if keys:
            before, after = text.split(f"[{table}]\n")
            text = f"{before}[{table}]\n{keys}\n{after[after.index('[') :]}"
    return read_plan(text)


class Hands:
    """One pair of hands that takes what is offered, at the time it is due."""

    def __init__(self, plan: Plan, water: Water = Water.NEW) -> None:
        self.day, self.now, self.water = fold(plan, []), Moment(instant("10:00")), water
        self.events: list[Event] = []
        self.ids = count(1)

    def batch(self, no: str) -> BatchRecord:
        return self.day.batches[no]

    def wait(self, minutes: float) -> None:
        self.now = Moment(self.now.utc + timedelta(minutes=minutes))

    def take(self, offer: Offer) -> None:
        water = self.water if offer.into(offer.unit).may_keep_water else None
        taken = OfferTaken(
            offer.unit,
            offer.into(offer.unit, water).acid_figure,
            water=water,
            is_tank_filled=offer.tank is not None,
        )
        for draft in drafts_for(offer, taken):
            self.events.append(make(draft.body, self.now, lambda: f"e{next(self.ids)}", batch=draft.batch))
        self.day = fold(self.day.plan, self.events)

    def dye(self, no: str) -> Day:
        """Take a batch from waiting to the rack, each step as it is due."""
        for _ in range(MOST_STEPS):
            step = next_step(self.day, self.batch(no), self.now)
            if self.batch(no).state is State.DRY or step is None:
                return self.day
            self._until_due(no)
            step = next_step(self.day, self.batch(no), self.now)
            assert step is not None
            self.take(Offer(self.day, (self.batch(no),), step, self.now))
            self.wait(1)
        raise AssertionError(f"{no} is not done after {MOST_STEPS} steps")

    def _until_due(self, no: str) -> None:
        """Wait for the clock of the batch, but for a pot's acid no longer than until it simmers."""
        batch = heat_timed_out(self.batch(no), self.now)
        run = batch.open_heat
        if run is not None and run.at_heat_since.utc > self.now.utc:
            self.now = Moment(run.at_heat_since.utc)
        step = next_step(self.day, batch, self.now)
        timer = timer_of(self.day, heat_timed_out(batch, self.now), self.now)
        if batch.state in (State.PAINT, State.RINSE):
            self.wait(20)
        elif step is None or step.acid or timer is None or timer.kind is TimerKind.WAIT:
            return
        elif timer.left_s is not None and timer.left_s > 0:
            self.wait(timer.left_s / 60)
            if timer.kind is TimerKind.HEAT:
                self._until_due(no)  # what switched itself off rests


@pytest.mark.parametrize("water", list(Water))
@pytest.mark.parametrize("jug", JUGS)
def test_every_kind_of_colourway_dyed_as_offered_raises_nothing_with_any_jug(jug: str, water: Water) -> None:
    """One after the other, so that each tray and each pot is used again, in new water or in kept."""
    hands = Hands(plan_of(jug), water)
    for no in KINDS:
        hands.dye(no)
    assert [(f.about, f.rule.value, f.why) for f in flags_of(hands.day, hands.now)] == []
    assert all(hands.batch(no).state is State.DRY for no in KINDS)


@pytest.mark.parametrize("water", WATERS)
@pytest.mark.parametrize("acid", ACIDS)
def test_every_kind_of_colourway_dyed_as_offered_raises_nothing_with_any_acid_and_water(
    acid: str, water: str
) -> None:
    hands = Hands(plan_of("10 mL", ACIDS[acid], WATERS[water]))
    for no in KINDS:
        hands.dye(no)
    assert [(f.about, f.rule.value, f.why) for f in flags_of(hands.day, hands.now)] == []


def test_what_is_offered_and_not_poured_is_a_flag_of_each_kind() -> None:
    """The control: the same path with no acid at all; specks and a second layer ask for no soak of their own."""

    class Dry(Hands):
        def take(self, offer: Offer) -> None:
            if offer.step.acid:
                self.wait(offer.layer.heats[0].minutes)
            for draft in drafts_for(offer, OfferTaken(offer.unit, "", is_tank_filled=offer.tank is not None)):
                self.events.append(make(draft.body, self.now, lambda: f"e{next(self.ids)}", batch=draft.batch))
            self.day = fold(self.day.plan, self.events)

    hands = Dry(plan_of())
    for no in ("01", "07", "14"):
        hands.dye(no)
    found = {flag.about: flag.rule.value for flag in flags_of(hands.day, hands.now)}
    assert found == {"01": "missed-acid-soak", "07": "missed-acid-soak", "14": "no-acid"}
