"""An entry of another batch: what depends on it goes along, and the day is as if it had been typed right."""

from __future__ import annotations

from collections.abc import Sequence

from hypothesis import given
from hypothesis import strategies as st

from dyeday.terms import State
from dyeday.track.day.day_state import Day
from dyeday.track.folding.fold import current, dependents, keys_for
from tests.track.days import Line, at, batch_of, day_of, heated, proper, soaked

SOAK, FIX, HEAT = 0, 3, 4
"""places in a soak and a heat as they are recorded one after the other"""


def numbered(lines: Sequence[Line]) -> list[Line]:
    return [{"id": f"e{n}", **line} for n, line in enumerate(lines)]


def said(day: Day, place: int, batch: str = "01") -> list[str]:
    return [event.id for event in dependents(day, day.events[place], batch)]


def moved(lines: Sequence[Line], place: int, was: str, to: str) -> Day:
    """Return the day once an entry and what depends on it were corrected to another batch."""
    day = day_of(lines)
    out = list(lines)
    for event in (day.events[place], *dependents(day, day.events[place], was)):
        keys, batch = keys_for(current(day, event), was, to)
        out.append(at("20:00", batch, event="corrected", corrects=event.id, why="mistyped", **(keys or {})))
    return day_of(out)


def test_with_a_soak_goes_what_was_recorded_in_it_and_not_the_paint_after_it() -> None:
    """Its acid, a reading; the move to paint may well have been this batch's own."""
    lines = numbered([*soaked(), at("09:30", "01", reading="pH", value=4.6), at("09:40", "02", to="soak")])
    assert said(day_of(lines), SOAK) == ["e1", "e3"]


def test_with_a_move_to_paint_goes_the_dye_used_and_the_count() -> None:
    """Poured for the batch that was painted, counted on its table."""
    lines = [*soaked(), at("10:05", "01", event="used", used={"Navy": 40}), at("10:10", "01", skeins=2)]
    day = moved(numbered(lines), len(soaked()) - 1, "01", "02")
    assert (day.batches["01"].used_ml, day.batches["01"].skeins) == ((), 3)
    assert (day.batches["02"].used_ml, day.batches["02"].skeins) == ((("Navy", 40),), 2)


def test_with_a_heat_goes_its_end_and_the_way_out_to_cool() -> None:
    """What never went into the steamer cannot come out of it."""
    lines = numbered([*soaked(), *heated(), at("12:30", "01", to="rinse", unit="sink 1")])
    assert said(day_of(lines), FIX) == ["e4", "e5", "e6"]
    assert said(day_of(lines), HEAT) == ["e5", "e6"]
    day = moved(lines, FIX, "01", "02")
    assert day.batches["02"].state is State.COOL
    assert [run.unit for run in day.batches["02"].heats] == ["steamer 1"]
    assert not day.batches["01"].heats


def test_a_reading_goes_alone_and_so_does_a_note() -> None:
    lines = numbered([*proper(), at("12:50", "01", note="felt soft")])
    reading = next(n for n, line in enumerate(lines) if "reading" in line)
    assert said(day_of(lines), reading) == []
    assert said(day_of(lines), len(lines) - 1) == []


def test_of_a_load_one_batch_is_replaced_with_the_heat_it_had() -> None:
    lines = numbered(
        [
            at(
                "10:00", batches=["01", "02"], to="fix", unit="steamer 1", **{"pass": {"01": 1, "02": 1}}, run="start"
            ),
            at("10:50", batches=["01", "02"], unit="steamer 1", to="cool", heat_no=1, run="end"),
        ]
    )
    day = moved(lines, 0, "02", "03")
    assert {no: day.batches[no].state for no in ("01", "02", "03")} == {
        "01": State.COOL,
        "02": State.WAITING,
        "03": State.COOL,
    }


@given(place=st.integers(0, len(proper()) - 1))
def test_a_whole_batch_typed_with_the_wrong_number_becomes_the_right_one(place: int) -> None:
    """Wherever it is begun, no entry before it goes along, and none twice."""
    lines = numbered(proper())
    day = day_of(lines)
    ids = [day.events[place].id, *said(day, place)]
    assert len(ids) == len(set(ids))
    assert all(int(name[1:]) >= place for name in ids)
    assert batch_of(lines).state is State.DRY
