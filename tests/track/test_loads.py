"""A load: one movement of the hands with several batches, one entry; and the baths that loads make of a unit."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dyeday.ahead.advising.next_step import next_step, shared_step
from dyeday.terms import FlagId, State, WorkKind
from dyeday.track.day.batch_record import BatchRecord
from dyeday.track.day.bath_contents import acids_had, baths_of_stay
from dyeday.track.day.day_state import Day
from dyeday.track.day.unit_record import Bath, UnitRecord
from dyeday.track.durations import durations_of
from dyeday.track.event_keys import EventError
from dyeday.track.events.event_json import read_event
from dyeday.track.folding.fold import fold, refuse, refuse_all
from tests.track.days import THE_PLAN, Line, at, day_of, events, flags, now

LOAD = at("10:30", batches=["01", "05"], unit="steamer 1", to="fix", tank="filled", heat_no=1, run="start")


def records(day: Day) -> tuple[list[BatchRecord], dict[str, UnitRecord]]:
    """Return what a day has of batches and units, without the ids of the events it came from."""
    return [replace(batch, last_id=None) for batch in day.unsplit], dict(day.units)


@pytest.mark.parametrize(
    ("load", "singly"),
    [
        (
            at("09:00", batches=["01", "02"], unit="tray 1", to="soak", acid_ml=60),
            [
                at("09:00", "01", to="soak", unit="tray 1"),
                at("09:00", "02", to="soak", unit="tray 1"),
                at("09:00", acid_ml=60, unit="tray 1"),
            ],
        ),
        (
            LOAD,
            [
                at("10:30", unit="steamer 1", is_="filled"),
                at("10:30", "01", to="fix", unit="steamer 1"),
                at("10:30", "05", to="fix", unit="steamer 1"),
                at("10:30", "01", heat_no=1, run="start", unit="steamer 1"),
                at("10:30", "05", heat_no=1, run="start", unit="steamer 1"),
            ],
        ),
        (
            at("10:30", batches=["01", "02"], to="paint", layer=1, cover="lidded"),
            [
                at("10:30", "01", to="paint", layer=1),
                at("10:30", "01", cover="lidded"),
                at("10:30", "02", to="paint", layer=1),
                at("10:30", "02", cover="lidded"),
            ],
        ),
    ],
)
def test_a_load_is_to_the_day_what_its_single_entries_would_be(load: Line, singly: list[Line]) -> None:
    """Every batch and every unit, to the last field."""
    assert records(day_of([load])) == records(day_of(singly))


def test_off_and_out_to_cool_is_one_load() -> None:
    """The heat ends and the batches leave the unit that is named: it is where they were."""
    day = day_of([LOAD, at("11:30", batches=["01", "05"], unit="steamer 1", run="end", heat_no=1, to="cool")])
    for no in ("01", "05"):
        batch = day.batches[no]
        assert (batch.state, batch.unit, batch.open_heat) == (State.COOL, None, None)
        assert batch.heats[0].end is not None


def test_a_load_goes_to_another_unit_where_that_is_named_with_the_end_of_its_heat() -> None:
    """Out of the steamer and into a tray to cool."""
    day = day_of([LOAD, at("11:30", batches=["01"], unit="tray 3", run="end", heat_no=1, to="cool")])
    assert (day.batches["01"].unit, day.batches["05"].unit) == ("tray 3", "steamer 1")


def test_each_batch_of_a_load_may_have_its_own_heat() -> None:
    """Two pots of a microwave: the first burst of one, the second of the other."""
    first = at("10:30", "04", heat_no=1, run="start", unit="oven 1")
    both = at("10:40", batches=["01", "04"], unit="oven 1", run="start", **{"pass": {"01": 1, "04": 2}})
    day = day_of([first, both])
    assert [run.heat_no for run in day.batches["04"].heats] == [1, 2]
    assert [run.heat_no for run in day.batches["01"].heats] == [1]


@pytest.mark.parametrize(
    ("before", "batch", "unit", "state"),
    [
        ([], "01", "tray 1", State.SOAK),
        ([at("09:00", "01", to="cool")], "01", "tray 1", State.COOL),
        ([at("09:00", "01", to="paint")], "01", "steamer 1", State.FIX),
        ([at("09:00", "03", to="soak")], "03", "pot 1", State.PAINT),
        ([at("09:00", "03", to="paint")], "03", "pot 1", State.FIX),
        ([at("09:00", "01", to="cool")], "01", "sink 1", State.RINSE),
        ([at("09:00", "01", to="rinse")], "01", "pegs 1", State.DRY),
    ],
)
def test_a_load_that_does_not_say_where_to_goes_on_to_what_follows(
    before: list[Line], batch: str, unit: str, state: State
) -> None:
    """By the kind of unit, and what the batch has had."""
    day = day_of([*before, at("10:00", batches=[batch], unit=unit)])
    assert (day.batches[batch].state, day.batches[batch].unit) == (state, unit)


def test_one_dose_of_a_load_is_one_dose_of_its_bath() -> None:
    """It is in the bath once, and every batch of the load has it."""
    day = day_of([at("09:00", batches=["01", "02"], unit="tray 1", acid_ml=60)])
    assert [put.amount_ml for put in day.units["tray 1"].acids] == [60]
    assert [[put.amount_ml for put in acids_had(day, day.batches[no])] for no in ("01", "02")] == [[60], [60]]


def test_voiding_a_load_voids_all_of_it() -> None:
    """And taking that back brings all of it back."""
    load = {**LOAD, "id": "load-1"}
    gone = at("10:31", strikes="load-1", why="not yet")
    assert records(day_of([load, gone])) == records(day_of([]))
    back = {**at("10:32", event="unstruck", strikes="load-1")}
    struck = {**gone, "id": "gone"}
    assert records(day_of([load, struck, back])) == records(day_of([load]))


def test_a_correction_changes_the_batches_of_a_load() -> None:
    """Batch 02 was never in it; a heat of each of its batches goes with them."""
    load = {**at("10:30", batches=["01", "02"], unit="steamer 1", run="start", **{"pass": {"01": 1, "02": 1}})}
    day = day_of([{**load, "id": "load-1"}, at("10:40", corrects="load-1", batches=["01"], why="mistyped")])
    assert day.batches["02"] == day_of([]).batches["02"]
    assert day.batches["01"].open_heat is not None


def test_a_load_in_the_log_says_all_that_was_done() -> None:
    """Its batches first."""
    (soak,) = events([at("09:00", batches=["01", "02"], unit="tray 1", to="soak", water="new", acid_ml=60)])
    assert f"{soak.whose}{soak.text()}" == "01, 02 to soak in tray 1, new water, 60 mL acid"
    (heat,) = events([LOAD])
    assert f"{heat.whose}{heat.text()}" == "01, 05 to fix in steamer 1, 1st heat started, tank filled"
    (out,) = events([at("11:30", batches=["01"], unit="steamer 1", run="end", heat_no=1, to="cool")])
    assert f"{out.whose}{out.text()}" == "01 1st heat ended in steamer 1, to cool"
    (plain,) = events([at("09:00", batches=["01"], unit="tray 1")])
    assert f"{plain.whose}{plain.text()}" == "01 into tray 1"


@pytest.mark.parametrize(
    "entry",
    [
        at("09:30", batches=["05"], to="paint"),
        at("09:30", "05", to="paint"),
        {**at("09:30", batches=["05"], to="paint", unit="steamer 1", run="start"), "pass": 1},
    ],
)
def test_an_entry_keeps_its_word_once_its_batch_is_in_the_next_layer(entry: Line) -> None:
    """The first layer is painted, the second speckled."""
    lines = [at("09:00", "05", to="soak"), entry, at("10:00", "05", to="fix"), at("11:00", "05", to="paint", layer=2)]
    day = day_of(lines)
    texts = [event.text(day) for event in day.events if event.at in (now("09:30").utc, now("11:00").utc)]
    assert [text.split(" in ")[0] for text in texts] == [
        "to paint",
        "to speckle, layer 2",
    ]


def test_a_corrected_load_says_which_batches_it_is_of() -> None:
    """In the day's own words."""
    load = {**LOAD, "id": "load-1"}
    day = day_of([load, at("10:40", corrects="load-1", batches=["01"], why="mistyped")])
    said = day.events[-1].text(day)
    assert said == ("corrected 01, 05 to fix in steamer 1, 1st heat started, tank filled: of 01 alone (mistyped)")


REFUSED: list[tuple[dict[str, Any], str]] = [
    ({"batches": [], "to": "soak"}, "batches is not a list of batches"),
    ({"batches": "01", "to": "soak"}, "batches is not a list of batches"),
    ({"batches": ["1"], "to": "soak"}, "'1' is not a batch number"),
    ({"batches": ["01", "01"], "to": "soak"}, "names a batch twice"),
    ({"batches": ["01"]}, "has no movement"),
    ({"batches": ["01"], "batch": "02", "to": "soak"}, "a batch of its own"),
    ({"batches": ["01"], "to": "soak", "acid_ml": 5}, "acid_ml and no unit"),
    ({"batches": ["01"], "to": "soak", "water": "kept"}, "water and no unit"),
    ({"batches": ["01"], "unit": "tray 1", "water": "old"}, "water cannot be 'old'"),
    ({"batches": ["01"], "unit": "steamer 1", "run": "start"}, "without the other"),
    ({"batches": ["01", "02"], "run": "start", "pass": {"01": 1}}, "no heat for 02"),
    ({"batches": ["01"], "run": "start", "pass": {"01": 1, "02": 1}}, "a heat for 02"),
    ({"batches": ["01"], "run": "start", "pass": {"01": 0}, "unit": "steamer 1"}, "pass 01 cannot be 0"),
]


@pytest.mark.parametrize(("line", "why"), REFUSED)
def test_a_load_that_cannot_be_is_refused(line: dict[str, Any], why: str) -> None:
    """With the reason."""
    with pytest.raises(EventError, match=why):
        read_event({**at("09:00"), **line}, now("20:00"))


@pytest.mark.parametrize(
    ("line", "why"),
    [
        (at("09:00", batches=["01", "77"], to="soak"), "no batch '77'"),
        (at("09:00", batches=["01"], unit="tray 9"), "the kit has no unit 'tray 9'"),
        (at("11:00", batches=["01", "02"], run="end", heat_no=1), "no heat is on for batch 02"),
        (at("11:00", batches=["01", "02"], run="start", heat_no=3), "has no heat 3"),
    ],
)
def test_a_load_is_refused_for_any_of_its_batches(line: Line, why: str) -> None:
    """The second as well as the first."""
    day = day_of([at("10:00", "01", heat_no=1, run="start", unit="steamer 1")])
    (load,) = events([line])
    with pytest.raises(EventError, match=why):
        refuse(day, load)
    assert why in str(refuse_all(THE_PLAN, day.events, [replace(load, id="new")], [])["new"])


def test_how_long_loading_takes_is_not_learned_from_one_entry() -> None:
    """Into the steamer and heat on in one entry says nothing of the minutes between."""
    kinds = {
        one.kind for one in durations_of(day_of([LOAD, at("11:30", batches=["01", "05"], run="end", heat_no=1)]))
    }
    assert not kinds & {WorkKind.LOAD, WorkKind.UNLOAD}


SOAKED = at("09:00", batches=["01"], unit="tray 1", acid_ml=60)
OUT = at("10:00", "01", to="paint")


def baths(lines: list[Line], unit: str = "tray 1") -> tuple[Bath, ...]:
    return day_of(lines).units[unit].baths


def doses(bath: Bath) -> list[float]:
    return [put.amount_ml for put in bath.acids]


def test_a_bath_begins_when_the_last_batch_leaves() -> None:
    """What is put in from then on is the next load's, also before that goes in."""
    dosed, loaded = at("10:05", acid_ml=40, unit="tray 1"), at("10:10", "02", to="soak", unit="tray 1")
    first, second = baths([SOAKED, OUT, dosed, loaded])
    assert (first.number, doses(first), [no for no, _ in first.entered]) == (1, [60], ["01"])
    assert first.ended is not None and first.ended.utc == now("10:00").utc
    assert second.began is not None and second.began.utc == now("10:00").utc
    assert (second.number, doses(second), [no for no, _ in second.entered]) == (2, [40], ["02"])


@pytest.mark.parametrize(
    "line",
    [at("11:00", "03", to="fix"), {**at("11:00", "03", run="start"), "pass": 1}],
    ids=["into fix", "heat switched on"],
)
def test_yarn_dyed_in_a_pot_is_heated_there_where_no_unit_is_named(line: Line) -> None:
    """It neither leaves the pot nor its bath."""
    day = day_of([at("10:00", "03", to="paint", unit="pot 1"), at("10:30", unit="pot 1", acid_ml=50), line])
    assert (day.batches["03"].state, day.batches["03"].unit) == (State.FIX, "pot 1")
    assert len(day.units["pot 1"].baths) == 1


def test_a_batch_that_joins_others_is_in_their_bath() -> None:
    """While one is still in it, the bath goes on."""
    (bath,) = baths([SOAKED, at("09:30", "02", to="soak", unit="tray 1"), OUT])
    assert ([no for no, _ in bath.entered], bath.ended) == (["01", "02"], None)


@pytest.mark.parametrize(
    "kept",
    [
        at("10:10", batches=["02", "05"], unit="tray 1", water="kept", acid_ml=20),
        at("10:10", "02", to="soak", unit="tray 1", water="kept"),
        at("10:10", "02", unit="tray 1", water="kept"),
    ],
)
def test_water_that_is_kept_is_the_bath_that_was_left(kept: Line) -> None:
    """With all the acid that went into it, and the batches that had of it before."""
    (bath,) = baths([SOAKED, OUT, at("10:05", acid_ml=5, unit="tray 1"), kept])
    assert doses(bath) == [60, 5, *([20] if "acid_ml" in kept else [])]
    assert (bath.number, [no for no, _ in bath.entered][:2]) == (1, ["01", "02"])


def test_water_that_was_poured_away_cannot_be_kept() -> None:
    """Emptied is emptied."""
    emptied, loaded = at("10:05", unit="tray 1", is_="emptied"), at("10:10", "02", unit="tray 1", water="kept")
    assert doses(baths([SOAKED, OUT, emptied, loaded])[-1]) == []


def test_new_water_takes_away_the_acid_that_was_there() -> None:
    """The bath is another from when the unit was left, and the flag of a missed soak stands."""
    lines = [SOAKED, OUT, at("10:10", batches=["02"], unit="tray 1", water="new"), at("11:10", "02", to="paint")]
    assert flags(lines, FlagId.MISSED_ACID_SOAK, "11:10", batch="02")
    dosed = [*lines[:2], at("10:05", acid_ml=60, unit="tray 1"), *lines[2:]]
    assert not flags(dosed, FlagId.MISSED_ACID_SOAK, "11:10", batch="02")


def test_a_batch_is_in_one_bath_more_for_each_change_of_its_water() -> None:
    """Fresh water under a batch that soaks."""
    day = day_of([SOAKED, at("09:20", unit="tray 1", is_="emptied"), at("09:21", acid_ml=30, unit="tray 1")])
    batch = day.batches["01"]
    found = baths_of_stay(day, batch, batch.stays[-1], now("09:30"))
    assert [(bath.number, doses(bath)) for bath, _ in found] == [(1, [60]), (2, [30])]


def test_the_parts_of_a_split_batch_were_in_the_bath_of_the_whole() -> None:
    """And the bath ends when the last part leaves."""
    split = [SOAKED, at("09:30", "01", into={"01a": 2, "01b": 1}), at("10:00", "01a", to="paint")]
    day = day_of(split)
    part = day.batches["01b"]
    assert [bath.number for bath, _ in baths_of_stay(day, part, part.stays[-1], now("10:00"))] == [1]
    assert len(day.units["tray 1"].baths) == 1
    assert len(baths([*split, at("10:10", "01b", to="paint")])) == 2


@given(st.permutations(range(5)))
def test_the_baths_do_not_depend_on_the_order_of_recording(order: list[int]) -> None:
    """Late entries fold in at their time."""
    lines = [
        SOAKED,
        OUT,
        at("10:05", acid_ml=5, unit="tray 1"),
        at("10:10", batches=["02"], unit="tray 1", water="kept", acid_ml=20),
        at("11:00", batches=["02"], to="paint"),
    ]
    recorded = events(lines)
    assert fold(THE_PLAN, [recorded[n] for n in order]).units == day_of(lines).units


def test_one_pot_is_never_offered_for_two_colours() -> None:
    """11 has room beside 03 by weight, and another dye. Common practice."""
    soaks = [at("09:00", no, to="soak", unit=f"tray {n}") for n, no in enumerate(("03", "11"), 1)]
    day = day_of([*soaks, at("10:00", "03", to="paint", unit="pot 1"), at("10:01", unit="pot 2", is_="down")])
    step = next_step(day, day.batches["11"], now("10:05"))
    assert step is not None and (step.unit, step.text) == (None, "wait for a pot")
    day = day_of(soaks)
    with pytest.raises(ValueError, match=r"03: dye.* in Peat; 11: dye.* in Lagoon. Move them one by one"):
        shared_step(day, [day.batches["03"], day.batches["11"]], now("10:05"))
