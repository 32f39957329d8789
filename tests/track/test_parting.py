"""What the parts of a split batch have of it: the pots of a microwave, the unit, the tag."""

from __future__ import annotations

import pytest

from dyeday.ahead.advising.next_step import next_step
from dyeday.terms import FlagId
from dyeday.track.day.consumption import dyes_consumed
from tests.track.days import Line, at, batch_of, day_of, flags, now, soaked

POT_1 = [
    *soaked("04"),
    at("11:00", "04", to="fix"),
    at("11:00", "04", heat_no=1, run="start", unit="oven 1"),
    at("11:02", "04", heat_no=1, run="end"),
]
POT_2 = [at("11:02", "04", heat_no=1, run="start", unit="oven 1"), at("11:04", "04", heat_no=1, run="end")]


def split(a: int, b: int, time: str = "11:05") -> Line:
    return at(time, "04", into={"04a": a, "04b": b})


def asked(lines: list[Line], part: str, time: str = "11:06") -> str:
    day = day_of(lines)
    step = next_step(day, day.batches[part], now(time))
    assert step is not None
    return step.text


def test_the_pot_that_was_not_in_the_microwave_yet_is_still_asked_for() -> None:
    """Three skeins, an oven for two: the first part was the first pot, the second has had no heat."""
    lines = [*POT_1, split(2, 1)]
    assert len(batch_of(lines, "04a").heats) == 1
    assert batch_of(lines, "04b").heats == ()
    assert asked(lines, "04b") == "start microwave 2 min"


def test_both_pots_heated_before_the_split_are_not_asked_for_again() -> None:
    """Each part has its own pot's burst, and rests until the second."""
    lines = [*POT_1, *POT_2, split(2, 1)]
    assert [batch_of(lines, part).heats[-1].end for part in ("04a", "04b")] == [now("11:02"), now("11:04")]
    day = day_of(lines)
    assert [next_step(day, day.batches[part], now("11:20")).heat_no for part in ("04a", "04b")] == [2, 2]  # type: ignore[union-attr]
    assert not flags(lines, FlagId.SCORCH_RISK, "11:30", batch="04a")


def test_a_part_that_lay_in_two_pots_is_heated_again_unless_both_were() -> None:
    """One and two skeins: the second part's first skein was in the pot, its second was not."""
    assert batch_of([*POT_1, split(1, 2)], "04b").heats == ()
    assert len(batch_of([*POT_1, split(1, 2)], "04a").heats) == 1
    assert len(batch_of([*POT_1, *POT_2, split(1, 2)], "04b").heats) == 1


def test_split_while_a_pot_is_in_the_microwave_the_heat_is_its_parts_only() -> None:
    """The other part waits beside it, and no alarm of heat can be its."""
    lines = [*POT_1, POT_2[0], split(2, 1, "11:03")]
    assert batch_of(lines, "04a").open_heat is None
    assert batch_of(lines, "04a").unit is None
    assert batch_of(lines, "04b").open_heat is not None
    assert batch_of(lines, "04b").unit == "oven 1"


@pytest.mark.parametrize("parts", [(2, 1), (1, 2)])
def test_a_batch_in_pots_was_never_over_full_because_it_is_split_later(parts: tuple[int, int]) -> None:
    """Three skeins went through an oven for two in turn: no flag, neither now nor back in time."""
    lines = [*POT_1, *POT_2, split(*parts)]
    for part in ("04a", "04b"):
        assert not flags(lines, FlagId.OVER_FULL, "11:30", batch=part)


def test_two_parts_in_one_steamer_are_as_many_skeins_as_before() -> None:
    """Three of four; with two more put in, five are too many, shown with the parts' numbers."""
    lines = [*soaked(), at("10:30", "01", to="fix"), at("10:30", "01", heat_no=1, run="start", unit="steamer 1")]
    lines = [*lines, at("10:35", "01", into={"01a": 2, "01b": 1})]
    assert not flags(lines, FlagId.OVER_FULL, "10:50", batch="01a")
    more = at("10:40", "05", to="fix", unit="steamer 1")
    (flag,) = flags([*lines, more], FlagId.OVER_FULL, "10:50", batch="01b")
    assert "5 skeins, room for 4 (01a + 01b + 05)" in flag.why


def test_skeins_lost_before_a_split_took_their_dye_once() -> None:
    """Three painted, two left, split in two: dye of three, not of four."""
    counted = [*soaked(), at("10:10", "01", skeins=2)]
    for lines in (counted, [*counted, at("10:20", "01", into={"01a": 1, "01b": 1})]):
        day = day_of(lines)
        assert sum(used.solution_ml for batch in day.unsplit for used in dyes_consumed(day, batch)) == 300


def test_a_tie_is_on_one_bundle() -> None:
    """The first part keeps the tag; the other has none until it gets its own."""
    lines = [at("09:00", "04", tag="red"), split(2, 1)]
    assert [batch_of(lines, part).tag for part in ("04a", "04b")] == ["red", ""]
