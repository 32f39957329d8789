"""Lots of a day: which batches are one, what they are called, and what is kept of them."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from dyeday.paper.sheets.lot_list import csv_rows
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.serialize import from_plain, to_plain
from dyeday.quick_dataclass import altered
from dyeday.store.records.lots import NUMBER
from dyeday.studio.lots.lot import (
    Lot,
    LotAcid,
    LotBatch,
    LotDye,
    LotFact,
    LotFactKind,
    LotFlag,
    LotNote,
    LotReading,
    LotStay,
)
from dyeday.studio.lots.lot_making import book_day, lots_of_day
from dyeday.studio.lots.lot_numbers import lot_numbers
from dyeday.studio.lots.lot_view import asked, row_of, words_of
from dyeday.studio.lots.repeat_lot import again
from dyeday.studio.shelf.movements import Shelf
from dyeday.terms import HeatKind, ReadingKind, State
from dyeday.track.day.carried import EntryChange
from dyeday.track.day.day_state import Day
from dyeday.track.folding.fold import take
from dyeday.track.typed_entries import typed_batches
from tests.track.days import PLAN, THE_PLAN, Line, at, day_of, events, heated, instant, now, proper, soaked

SESSION = "2026-04-18-1"
NEXT_DAY = "34:00"


def finished(batch: str = "01", at_time: str = "33:00") -> list[Line]:
    return [*proper(batch), at(at_time, batch, to="done")]


def lots(day: Day) -> list[Lot]:
    return lots_of_day(day, SESSION, now(NEXT_DAY))


def test_batches_of_one_mix_are_one_lot_named_after_its_day_and_its_first_batch() -> None:
    """Both batches of the jumper are one lot; each other order is its own."""
    numbers = lot_numbers(day_of([]), SESSION)
    assert numbers["01"] == "260418-01"
    assert numbers["08"] == numbers["09"] == "260418-08"
    assert len(set(numbers.values())) == 10


def test_batch_100_comes_after_99_in_a_lot_and_in_a_typed_stretch() -> None:
    """The plan has 98 batches; the same rush order comes twice, dyed from one mix."""
    plan = read_plan(PLAN.replace('base = "Wool"\nskeins = 8', f'base = "Wool"\nskeins = {8 + 87 * 4}'))
    rush = {"item": "rush", "colourway": "Peat", "base": "Wool", "skeins": 2}
    day = day_of([at("08:00", order=rush), at("08:10", order=rush)], plan)
    numbers = lot_numbers(day, SESSION)
    assert (numbers["99"], numbers["100"]) == ("260418-99", "260418-99")
    assert [batch.no for batch in typed_batches(day, "98-100")] == ["98", "99", "100"]


def test_lots_of_a_second_session_of_the_date_have_other_numbers() -> None:
    """Numbers are never used twice."""
    assert lot_numbers(day_of([]), "2026-04-18-2")["01"] == "260418.2-01"


def test_a_batch_dyed_from_another_mix_is_another_lot() -> None:
    """The second batch of the jumper had a fresh jug."""
    lines = [at("10:00", "08", to="paint"), at("10:30", "09", to="paint", mix="second jug")]
    numbers = lot_numbers(day_of(lines), SESSION)
    assert (numbers["08"], numbers["09"]) == ("260418-08", "260418-09")


def test_parts_of_a_split_batch_are_one_lot_until_their_mixes_differ() -> None:
    """The number of the whole stays with what is dyed from its mix; a part that went another way has its letter."""
    split = [at("09:00", "01", into={"01a": 2, "01b": 1})]
    numbers = lot_numbers(day_of(split), SESSION)
    assert (numbers["01a"], numbers["01b"]) == ("260418-01", "260418-01")
    apart = [*split, at("10:00", "01a", to="paint"), at("10:00", "01b", to="paint", mix="more")]
    numbers = lot_numbers(day_of(apart), SESSION)
    assert (numbers["01a"], numbers["01b"]) == ("260418-01", "260418-01b")


def test_an_overdyed_batch_leaves_its_lot() -> None:
    """It is no longer what its lot is."""
    numbers = lot_numbers(day_of([at("15:00", "09", event="overdyed", colourway="Heather")]), SESSION)
    assert numbers["09"] == "260418-09"
    assert numbers["08"] == "260418-08"


@pytest.mark.parametrize(
    "left",
    [
        [at("15:00", "08", event="overdyed", colourway="Heather")],
        [at("10:00", "08", to="paint", mix="second jug")],
    ],
)
def test_what_stays_with_a_mix_keeps_the_number_that_its_labels_have(left: list[Line]) -> None:
    """08 gave its lot the number; when it leaves, 09 keeps it, and 08 gets a new one that can be looked up."""
    before, after = lot_numbers(day_of([]), SESSION), lot_numbers(day_of(left), SESSION)
    assert (before["08"], before["09"]) == ("260418-08", "260418-08")
    assert (after["08"], after["09"]) == ("260418-08x", "260418-08")
    assert {no: after[no] for no in after if no != "08"} == {no: before[no] for no in before if no != "08"}
    assert NUMBER.match(after["08"])


def test_a_batch_of_an_earlier_day_gives_no_number_to_a_lot_of_today() -> None:
    begun = replace(day_of([]).batches["08"], lot="260417-03")
    morning = altered(day_of([]), batches={**day_of([]).batches, "08": begun})
    numbers = lot_numbers(morning, SESSION)
    assert (numbers["08"], numbers["09"]) == ("260417-03", "260418-09")
    (again_painted,) = events([at("10:00", "08", to="paint", mix="second jug")])
    assert lot_numbers(take(morning, again_painted), SESSION)["09"] == "260418-09"


def test_only_what_is_done_is_a_lot() -> None:
    """On the pegs is not done, and scrapped yarn makes no lot."""
    assert lots(day_of(proper())) == []
    assert lots(day_of([*proper(), at("15:00", "01", to="scrapped")])) == []
    assert [lot.number for lot in lots(day_of(finished()))] == ["260418-01"]


def test_a_lot_keeps_recipe_amounts_times_readings_and_who_got_it() -> None:
    """Three skeins of 100 g at 1 % are 3 g of dye, 300 mL; 280 mL were used."""
    day = day_of([*finished(), at("10:01", "01", used={"Navy": 300}), at("10:20", "01", left_over={"Navy": 20})])
    (lot,) = lots(day)
    (batch,) = lot.batches
    assert lot.colourway.name == "Harbour"
    assert [dye.name for dye in lot.dyes] == ["Navy"]
    (dye,) = batch.dyes
    assert (dye.recipe_g, dye.recipe_ml, dye.used_ml, dye.used_g) == (3.0, 300.0, 280.0, None)
    assert [(put.acid_ml, put.bath) for put in batch.acids] == [(50.0, False)]
    states = [(stay.state, round(stay.minutes)) for stay in batch.stays]
    assert states[:4] == [(State.SOAK, 60), (State.PAINT, 30), (State.FIX, 50), (State.COOL, 70)]
    assert batch.stays[0].units == ("tray 1",)
    (heat,) = batch.heats
    assert (heat.how, heat.unit, heat.minutes, heat.planned_min) == (HeatKind.STEAM, "steamer 1", 40.0, 40.0)
    look = next(reading for reading in batch.readings if reading.name == ReadingKind.EYE)
    assert (look.exhausted_pct, look.expected_pct) == ((95.0, 100.0), 90.0)
    assert lot.shares == (("harbour for Ida", 3),)
    assert batch.done_at == instant("33:00")


def test_an_entry_whose_time_was_corrected_is_marked_at_the_time_that_counts() -> None:
    """Nothing happened when it was first said to have happened."""
    lines = [
        {**at("12:40", "01", note="two ties"), "id": "note"},
        at("12:30", corrects="note"),
        *proper(),
        at("33:00", "01", to="done"),
    ]
    (lot,) = lots(day_of(lines))
    (changed,) = (change for change in lot.batches[0].changes if change.what is EntryChange.CORRECTED)
    assert changed.at == instant("12:30")


def test_flags_corrections_and_late_entries_stay_with_the_lot() -> None:
    """A flag with its reason, what was corrected, and what was undone."""
    lines = [
        *soaked(until="09:10"),
        *heated(),
        {**at("12:30", "01", reading="eye", value="clear", where="puddle"), "id": "look"},
        at("12:30", "01", to="rinse"),
        {**at("12:35", "01", note="wrong batch"), "id": "wrong"},
        at("12:45", "01", to="dry"),
        at("13:00", "01", event="resolved", rule="short-soak", why="soaked the evening before"),
        at("13:05", corrects="look", value="coloured", why="looked again"),
        at("13:06", strikes="wrong"),
        at("33:00", "01", to="done"),
    ]
    (lot,) = lots(day_of(lines))
    (batch,) = lot.batches
    resolved = {flag.rule: flag.cleared_why for flag in batch.flags}
    assert resolved["short-soak"] == "soaked the evening before"
    assert resolved["under-exhausted"] == ""
    assert [flag.rule for flag in batch.open_flags] == ["under-exhausted"]
    changed = [(change.what, change.text) for change in batch.changes if change.what != EntryChange.LATE]
    assert changed == [
        (
            EntryChange.CORRECTED,
            "corrected 01 puddle clear: puddle coloured (looked again)",
        ),
        (EntryChange.VOIDED, "undone 01 note: wrong batch"),
    ]
    assert batch.notes == ()


def test_a_crowded_rack_does_not_flag_a_lot() -> None:
    """Its flag is kept with the lot, and nothing of the yarn is left to check."""
    plan = read_plan(PLAN.replace("holds = 40", "holds = 2"))
    (lot,) = lots(day_of(finished(), plan=plan))
    assert [flag.rule for flag in lot.batches[0].flags] == ["crowded-rack"]
    assert row_of(lot).mark == ""


def test_the_parts_of_a_split_batch_share_what_the_whole_used() -> None:
    """300 mL on three skeins, then one more for the single skein."""
    lines = [
        *soaked(),
        at("10:01", "01", used={"Navy": 300}),
        at("10:10", "01", into={"01a": 2, "01b": 1}),
        at("10:12", "01b", used={"Navy": 15}),
        *heated("01a"),
        *heated("01b", unit="steamer 2"),
        at("33:00", "01a", to="done"),
        at("33:00", "01b", to="done"),
    ]
    (lot,) = lots(day_of(lines))
    assert {batch.no: batch.dyes[0].used_ml for batch in lot.batches} == {"01a": 200.0, "01b": 115.0}


@pytest.mark.parametrize(
    ("more", "back"),
    [
        ([], False),
        (
            [at("12:50", "01", to="fix"), at("12:51", "01", heat_no=1, run="start"), at("13:30", "01", to="cool")],
            True,
        ),
        ([at("12:50", "01", to="rinse"), at("13:30", "01", to="dry")], False),
    ],
)
def test_a_batch_that_was_fixed_again_went_back(more: list[Line], back: bool) -> None:
    """Rinsing again is not going back; heat after the rinse is."""
    (lot,) = lots(day_of([*proper(), *more, at("33:00", "01", to="done")]))
    assert lot.batches[0].went_back is back


def test_a_second_layer_does_not_go_back() -> None:
    """Each layer has its own fix."""
    lines = [
        *soaked("05"),
        *heated("05"),
        at("13:00", "05", to="paint"),
        *heated("05", since="13:30", until="14:20"),
        at("33:00", "05", to="done"),
    ]
    (lot,) = lots(day_of(lines))
    assert not lot.batches[0].went_back


def test_a_batch_begun_on_another_day_keeps_that_days_number() -> None:
    """It comes to the lot the others of its mix are in."""
    day = day_of(finished())
    carried = {**day.batches, "01": replace(day.batches["01"], lot="260417-05")}
    assert [lot.number for lot in lots(replace(day, batches=carried))] == ["260417-05"]


def test_what_is_kept_of_a_lot_and_a_day_comes_back_the_same_from_json() -> None:
    """Through text and back, every value."""
    day = day_of([*finished(), at("12:31", "01", reading="jar", value={"match": 12, "left_l": 0.1})])
    (lot,) = lots(day)
    text = json.dumps(to_plain(lot))
    assert from_plain(Lot, json.loads(text)) == lot
    kept: Any = book_day(day, now(NEXT_DAY))
    assert from_plain(type(kept), json.loads(json.dumps(to_plain(kept)))) == kept


TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
AMOUNTS = st.floats(0, 1e6, allow_nan=False)
MOMENTS = st.datetimes(datetime(1990, 1, 1), datetime(2090, 1, 1), timezones=st.just(UTC))  # noqa: DTZ001
VALUES = TEXTS | AMOUNTS | st.integers(0, 10**9) | st.dictionaries(TEXTS, AMOUNTS, max_size=3)
BATCHES = st.builds(
    LotBatch,
    session=TEXTS,
    no=TEXTS,
    skeins=st.integers(1, 5000),
    wof_g=AMOUNTS,
    done_at=MOMENTS,
    weighed=st.booleans(),
    shares=st.lists(st.tuples(TEXTS, st.integers(1, 99)), max_size=2).map(tuple),
    dyes=st.lists(st.builds(LotDye, TEXTS, AMOUNTS, AMOUNTS, st.none() | AMOUNTS), max_size=2).map(tuple),
    acids=st.lists(st.builds(LotAcid, MOMENTS, AMOUNTS, AMOUNTS, st.booleans()), max_size=2).map(tuple),
    stays=st.lists(
        st.builds(LotStay, st.sampled_from(State), st.integers(1, 5), MOMENTS, st.none() | MOMENTS, AMOUNTS,
                  st.just(("tray 1",))),
        max_size=2,
    ).map(tuple),
    readings=st.lists(
        st.builds(LotReading, MOMENTS, st.sampled_from(ReadingKind), VALUES, st.none() | TEXTS,
                  st.sampled_from(State), st.integers(1, 5),
                  st.none() | st.tuples(AMOUNTS, AMOUNTS), st.none() | AMOUNTS),
        max_size=2,
    ).map(tuple),
    flags=st.lists(
        st.builds(LotFlag, TEXTS, TEXTS, TEXTS, MOMENTS, st.none() | MOMENTS, TEXTS), max_size=2
    ).map(tuple),
    notes=st.lists(st.builds(LotNote, MOMENTS, TEXTS), max_size=2).map(tuple),
)  # fmt: skip


@example(batches=(LotBatch("", "", 1, 1.0, instant("12:00"), notes=(LotNote(instant("12:00"), "\x85"),)),), added=())
@given(
    batches=st.lists(BATCHES, min_size=1, max_size=2).map(tuple),
    added=st.lists(st.builds(LotFact, MOMENTS, st.sampled_from(LotFactKind), TEXTS, TEXTS), max_size=2).map(tuple),
)
def test_any_lot_comes_back_the_same_from_json_and_is_found_by_its_texts(
    batches: tuple[LotBatch, ...], added: tuple[LotFact, ...]
) -> None:
    """Whatever people wrote, to the last digit and the microsecond."""
    (real,) = lots(day_of(finished()))
    lot = replace(real, batches=batches, added=added)
    again = from_plain(Lot, json.loads(json.dumps(to_plain(lot), ensure_ascii=False).encode("utf-8")))
    assert again == lot
    said = words_of(lot)
    assert "\t" not in said and "\n" not in said
    for batch in batches:
        assert all(word in said for note in batch.notes for word in asked([note.text]))


def test_acid_is_shared_only_in_a_bath_that_other_batches_were_in_too() -> None:
    """A tray that one batch had for itself is not shared, and acid in it is of its bath all the same."""

    def reminder(*batches: str) -> str:
        load = at("09:00", batches=list(batches), unit="tray 1", to="soak", acid_ml=60, event="load")
        rest = [line for line in finished(batches[0]) if line.get("to") != "soak" and "acid_ml" not in line]
        lot = next(lot for lot in lots(day_of([load, *rest])) if lot.number == f"260418-{batches[0]}")
        return next(said for said in again(lot, None, Shelf()).reminders if "of acid was put in" in said)

    assert reminder("01") == "60 mL of acid was put in for 300 g of yarn"
    assert (
        reminder("01", "02")
        == "60 mL of acid was put in for 300 g of yarn, some of it in baths shared with other batches"
    )
    assert "shared" in reminder("08", "02")


def test_dye_of_lost_skeins_is_not_a_reminder_and_goes_to_the_parts_whole() -> None:
    """300 mL went on three skeins as the recipe has it; one felts in the rinse, before or after a split."""
    used = at("09:35", "01", used={"Navy": 300})
    counted = [*proper(), used, at("20:00", "01", skeins=2), at("33:00", "01", to="done")]
    ((dye,),) = [batch.dyes for batch in lots(day_of(counted))[0].batches]
    assert (dye.recipe_ml, dye.used_ml) == (300, 300)
    parts = [at("33:00", "01", into={"01a": 2, "01b": 1}), at("33:10", "01a", skeins=1)]
    ends = [at("33:30", no, to="done") for no in ("01a", "01b")]
    (lot,) = lots(day_of([*proper(), used, *parts, *ends]))
    assert [dye.used_ml for batch in lot.batches for dye in batch.dyes] == [200, 100]


def test_dye_recorded_of_one_layer_is_not_held_against_the_recipe_of_two() -> None:
    """Rain's first layer took its 200 mL of Navy, as recorded; of the specks that followed nothing was recorded."""
    first = [*soaked("05"), at("10:10", "05", used={"Navy": 200}), *heated("05")]
    specks = [at("13:00", "05", to="paint"), *heated("05", "13:30", "14:15"), at("16:00", "05", to="done")]
    (lot,) = lots(day_of([*first, *specks]))
    ((dye,),) = [batch.dyes for batch in lot.batches]
    assert dye.used_ml == dye.recipe_ml
    assert not [text for text in again(lot, None, Shelf()).reminders if "the recipe says" in text]
    short = [line if "used" not in line else line | {"used": {"Navy": 100}} for line in first]
    (lot,) = lots(day_of([*short, *specks]))
    assert [text for text in again(lot, None, Shelf()).reminders if "the recipe says" in text]


def test_dye_recorded_before_and_after_an_overdye_is_not_held_against_the_last_recipe() -> None:
    """The record does not tell what is beneath from what went on last."""
    navy = [at(time, "01", used={"Navy": 300}) for time in ("10:10", "14:10")]
    overdyed = [at("13:00", "01", event="overdyed", colourway="Harbour"), *soaked("01", "13:10", "14:00")]
    again_on = [navy[1], *heated("01", "14:30", "15:20"), at("16:40", "01", to="done")]
    (lot,) = lots(day_of([*soaked(), navy[0], *heated(), *overdyed, *again_on]))
    reminders = again(lot, None, Shelf()).reminders
    assert [text for text in reminders if "recipe" in text] == [
        "batch 01 was overdyed, from Harbour: the recipe is what went on last"
    ]


@pytest.mark.parametrize("second", ["10:10", "10:11"])
@pytest.mark.parametrize("in_bath", [True, False])
def test_acid_of_two_parts_is_two_doses_also_in_one_minute(second: str, in_bath: bool) -> None:
    """60 mL for each half, into two pots or for the batches themselves."""
    lines = [at("09:00", "03", into={"03a": 2, "03b": 2})]
    for no, unit, time in (("03a", "1", "10:10"), ("03b", "2", second)):
        pot = {"unit": f"pot {unit}"} if in_bath else {}
        lines += [
            at("09:01", no, to="soak", unit=f"tray {unit}"),
            at("10:00", no, to="paint", unit=f"pot {unit}"),
            at(time, no, acid_ml=60, **pot),
            *heated(no, unit=f"pot {unit}"),
            at("18:30", no, to="rinse"),
            at("18:45", no, to="dry"),
            at("20:00", no, to="done"),
        ]
    (lot,) = lots(day_of(lines))
    assert "120 mL of acid was put in for 400 g of yarn" in again(lot, None, Shelf()).reminders
    head, row = csv_rows([lot])
    assert row[list(head).index("acid_ml")] == 120


@pytest.mark.parametrize("into", [{"unit": "tray 1"}, {}])
def test_two_equal_doses_of_one_minute_are_two(into: dict[str, str]) -> None:
    """Poured twice into the bath, or for the batch itself: also of two parts that had both before they were split."""
    dose = at("09:01", "03", event="acid put in", acid_ml=60, **into)
    whole = [at("09:00", "03", to="soak", unit="tray 1"), dose, dose]
    parts = [at("10:00", "03", into={"03a": 2, "03b": 2})]
    ends = [at("18:00", no, to="done") for no in ("03a", "03b")]
    for lines in ([*whole, at("18:00", "03", to="done")], [*whole, *parts, *ends]):
        head, row = csv_rows(lots(day_of(lines)))
        assert row[list(head).index("acid_ml")] == 120


def test_what_a_lot_took_is_of_its_own_skeins_whatever_is_ordered() -> None:
    (lot,) = lots(day_of(finished()))
    three, six = (again(lot, THE_PLAN, Shelf(), skeins) for skeins in (3, 6))
    assert [(dye.then_g, round(dye.now_g, 6)) for one in (three, six) for dye in one.dyes] == [(3, 3), (3, 6)]
    assert [(one.acid_then, one.acid_now) for one in (three, six)] == [(60, 60), (60, 120)]
    assert not six.differs
