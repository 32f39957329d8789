"""A batch dyed over in another colourway: each recipe judges its own past, and the new one is all to do."""

from __future__ import annotations

import pytest

from dyeday.ahead.advising.next_step import next_step
from dyeday.ahead.forecast import forecast
from dyeday.terms import FlagId, State
from tests.track.days import Line, at, batch_of, day_of, flags, heated, now, proper, soaked


def over(colourway: str, time: str = "18:00") -> Line:
    return at(time, "01", event="overdyed", colourway=colourway, why="too pale")


def test_heat_before_an_overdye_is_measured_against_its_own_recipe() -> None:
    """40 min are all that Harbour needs, whose depth needs 30; Heather needs 45."""
    assert not flags([*proper(), over("Heather")], FlagId.SHORT_FIX, "18:30")
    short = [*soaked(), *heated(until="11:00"), over("Heather")]
    (flag,) = flags(short, FlagId.SHORT_FIX, "18:30")
    assert "20 of 30 min" in flag.why


def test_heat_after_an_overdye_is_measured_against_the_new_recipe() -> None:
    """Forty minutes for Heather, whose depth needs 45, after forty for Harbour."""
    lines = [*proper(), over("Heather"), *soaked(since="18:10", until="19:10"), *heated(since="19:30", until="20:20")]
    (flag,) = flags(lines, FlagId.SHORT_FIX, "20:30")
    assert "40 of 45 min" in flag.why


@pytest.mark.parametrize(("again", "missed"), [([], True), (soaked(since="18:10", until="18:40"), False)])
def test_the_soak_of_the_first_colour_has_no_acid_for_the_second(again: list[Line], missed: bool) -> None:
    """Harbour's acid is taken up; Heather has its own in the soak."""
    lines = [*proper(), over("Heather"), *again, at("19:00", "01", to="paint")]
    assert [flag.since for flag in flags(lines, FlagId.MISSED_ACID_SOAK, "19:10")] == (
        [now("19:00").utc] if missed else []
    )


@pytest.mark.parametrize(
    ("into", "until", "to", "text"),
    [
        ("Heather", "11:30", State.SOAK, "soak for the overdye"),
        ("Heather", "12:35", State.SOAK, "soak for the overdye"),
        ("Heather", "18:00", State.SOAK, "soak for the overdye"),
        ("Inked", "11:30", State.PAINT, "paint over"),
        ("Inked", "18:00", State.SOAK, "soak for the overdye"),
    ],
)
def test_an_overdyed_batch_is_offered_its_new_colour_where_it_cools_rinses_or_dries(
    into: str, until: str, to: State, text: str
) -> None:
    """Cooling at 11:30, in the sink at 12:35, on the pegs by 18:00: dry yarn is soaked whatever the recipe says."""
    lines = [line for line in proper() if line["at"] <= at(until)["at"]]
    day = day_of([*lines, over(into, until)])
    step = next_step(day, day.batches["01"], now(until))
    assert step is not None
    assert (step.to, step.text, step.layer) == (to, text, 1)


@pytest.mark.parametrize("until", ["11:30", "12:35", "18:00"], ids=["cools", "rinses", "dries"])
def test_the_forecast_lays_out_all_of_the_new_recipe(until: str) -> None:
    """From the soak to the pegs, with one heat."""
    lines = [line for line in proper() if line["at"] <= at(until)["at"]]
    found = forecast(day_of([*lines, over("Heather", until)]), now(until), evaluations=40)
    steps = dict.fromkeys(step.id.text for step in found.next_steps if step.batch == "01")
    assert [*steps] == ["soak load 1", "paint 1", "load 1.1", "unload 1.1", "rinse"]


def test_a_batch_overdyed_before_its_dye_goes_on_keeps_its_soak() -> None:
    """Nothing of the first colour is on the yarn."""
    batch = batch_of([at("09:00", "01", to="soak", unit="tray 1"), over("Heather", "09:10")])
    assert (batch.layer, batch.state, batch.recipes_beneath) == (1, State.SOAK, ())
    assert [stay.layer for stay in batch.stays] == [1]


def test_a_batch_overdyed_twice_has_each_heat_under_its_own_recipe() -> None:
    """Rain had one of its two layers on, Heather its only one."""
    again = [over("Heather"), *soaked(since="18:10", until="19:10"), *heated(since="19:30", until="20:30")]
    batch = batch_of([*proper(), over("Rain", "13:00"), *_dyed_at(14), *again, over("Deep", "21:00")])
    assert [batch.planned_heat(heat).minutes for heat in batch.heats] == [40, 40, 50]
    assert [batch.layer_no(heat.layer) for heat in batch.heats] == [1, 1, 1]
    assert batch.layer == 0


def _dyed_at(hour: int) -> list[Line]:
    return [
        *soaked(since=f"{hour}:00", until=f"{hour}:30"),
        *heated(since=f"{hour}:40", until=f"{hour + 1}:30"),
    ]
