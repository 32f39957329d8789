"""The acid of a bath that several batches soaked in, and of a batch that was split: each has its share by weight."""

from __future__ import annotations

import pytest

from dyeday.paper.layout.sheet_text import sheet_text
from dyeday.paper.sheets.lot_sheet import lot_sheet
from dyeday.studio.carry_over import carried_event
from dyeday.studio.lots.lot_making import lots_of_day
from dyeday.studio.lots.repeat_lot import again
from dyeday.studio.shelf.movements import Shelf
from dyeday.terms import FlagId
from dyeday.track.flags import flags_of
from tests.track.days import Line, at, day_of, now

LOAD = at("09:00", batches=["01", "05"], to="soak", unit="tray 1")
"""three skeins of 01 and two of 05, 100 g each"""


def next_day(lines: list[Line], *nos: str) -> list[Line]:
    """Return how batches of the day of ``lines`` come to the next, where they are painted."""
    day = day_of(lines)
    came = [at("33:00", no, **carried_event(day, "2026-04-17-1", day.batches[no]).to_json()) for no in nos]
    return [*came, *(at("33:10", no, to="paint") for no in nos)]


def weak_acid(lines: list[Line], until: str) -> list[str]:
    """Return the acid recorded and needed of each flag, "5 of 46 mL"."""
    raised = (flag.why for flag in flags_of(day_of(lines), now(until)) if flag.rule is FlagId.WEAK_ACID)
    return [why.split("acid ")[1].split(" that ")[0] for why in raised]


@pytest.mark.parametrize("acid", [{"unit": "tray 1"}, {}])
def test_the_acid_of_a_soak_is_as_much_the_next_day(acid: dict[str, str]) -> None:
    """A bath that two batches soaked in overnight has its acid once, wherever that was recorded."""
    soak = [LOAD, at("09:01", "05", acid_ml=5, **acid)]
    painted = weak_acid([*soak, *(at("10:00", no, to="paint") for no in ("01", "05"))], "20:00")
    lines = next_day(soak, "01", "05")
    assert weak_acid(lines, "34:00") == painted
    assert painted[0].startswith("5 of ")


def test_a_batch_carried_alone_brings_its_share_of_the_acid_that_the_lot_says_is_one() -> None:
    """50 mL for three skeins and two: 30 mL and 20 mL, and never 50 for both; the lot has no more than went in."""
    lines = next_day([LOAD, at("09:01", unit="tray 1", acid_ml=50)], "01", "05")
    assert [put.amount_ml for no in ("01", "05") for put in day_of(lines).batches[no].acids] == pytest.approx(
        [30, 20]
    )
    done = (at("50:00", no, to="done") for no in ("01", "05"))
    one, five = lots_of_day(day_of([*lines, *done]), "2026-04-18-1", now("51:00"))
    for lot, amount in ((one, 30), (five, 20)):
        assert f"{amount} mL of acid was put in for {amount * 10} g of yarn" in again(lot, None, Shelf()).reminders
        assert f"{amount} mL, its share" in sheet_text(lot_sheet(lot))


@pytest.mark.parametrize("unit", [{"unit": "tray 1"}, {}])
def test_a_part_has_its_share_of_the_acid_of_the_whole_batch(unit: dict[str, str]) -> None:
    """15 mL for 01 is too little for three skeins, and no more for one and two of them; the parts are one bath."""
    soak = [at("09:00", "01", to="soak", **unit), at("09:01", "01", acid_ml=15)]
    whole = [*soak, at("10:00", "01", to="paint")]
    painted = (at("10:00", no, to="paint") for no in ("01a", "01b"))
    parts = weak_acid([*soak, at("09:40", "01", into={"01a": 1, "01b": 2}), *painted], "20:00")
    (of_whole,) = weak_acid(whole, "20:00")
    has, need = (float(figure) for figure in of_whole.removesuffix(" mL").split(" of "))
    of_parts = [[float(figure) for figure in text.removesuffix(" mL").split(" of ")] for text in parts]
    expected = [[has, need]] if unit else [[has / 3, need / 3], [has * 2 / 3, need * 2 / 3]]
    assert of_parts == [pytest.approx(pair, abs=1) for pair in expected]
