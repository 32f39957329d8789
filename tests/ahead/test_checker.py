"""The checker finds each kind of mistake; otherwise its silence would mean nothing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from dyeday.ahead.kernel.problem import Batch, Circuit, Hold, Lag, Link, Problem, Row, Step, Unit
from tests.ahead.checker import violations

STEPS = (
    Step("into soak", 3),
    Step("soak", 20, attended=False, exact=False),
    Step("paint", 10),
    Step("load", 2, lags=(Lag(2, 5, 60),)),
    Step("heat", 30, attended=False, draws=True),
    Step("unload", 2),
    Step("rinse", 6, lags=(Lag(4, 40),)),
    Step("dry", 300, attended=False),
)
HOLDS = (Hold("tray", 0, 2, to_end=False), Hold("steamer", 3, 5, to_end=False), Hold("pegs", 7, 7))
UNITS = (
    Unit("tray 1", "tray", holds=6),
    Unit("tray 2", "tray", holds=2),
    Unit("steamer 1", "steamer", holds=6, milliamps=8000, circuit="wall"),
    Unit("steamer 2", "steamer", holds=6, holds_mg=500_000, milliamps=8000, circuit="wall"),
    Unit("steamer 3", "steamer", holds=6, shared=True, join_within=5),
    Unit("steamer 4", "steamer", holds=6, free_at=None),
    Unit("pegs", "pegs", holds=6, shared=True),
)
PROBLEM = Problem(
    now=600,
    windows=((600, 720), (750, None)),
    stop=900,
    units=UNITS,
    batches=(Batch("01", STEPS, HOLDS, 4, 400_000), Batch("02", STEPS, HOLDS, 3, 300_000)),
    circuits=(Circuit("wall", 12000),),
    links=(Link("01", 2, "02", 2, 5),),
)


def rows_for(batch: str, tray: str, steamer: str, *starts: int) -> list[Row]:
    """The rows of one batch: starts of soak, paint, load, unload and rinse."""
    soak, paint, load, unload, rinse = starts
    return [
        Row(batch, "into soak", tray, soak, soak + 3, True),
        Row(batch, "soak", tray, soak + 3, paint, False),
        Row(batch, "paint", None, paint, paint + 10, True),
        Row(batch, "load", steamer, load, load + 2, True),
        Row(batch, "heat", steamer, load + 2, load + 32, False),
        Row(batch, "unload", steamer, unload, unload + 2, True),
        Row(batch, "rinse", None, rinse, rinse + 6, True),
        Row(batch, "dry", "pegs", rinse + 6, rinse + 306, False),
    ]


FIRST = rows_for("01", "tray 1", "steamer 1", 600, 630, 650, 690, 760)
SECOND = rows_for("02", "tray 1", "steamer 1", 640, 670, 692, 750, 1067)
GOOD = FIRST + SECOND


def test_a_good_day_has_nothing_against_it() -> None:
    """One after the other, the second rinsed when the first is off the pegs."""
    assert violations(PROBLEM, GOOD) == []


def second(
    tray: str = "tray 1", steamer: str = "steamer 1", at: tuple[int, ...] = (640, 670, 692, 750, 1067)
) -> list[Row]:
    """The good day, with another second batch."""
    return FIRST + rows_for("02", tray, steamer, *at)


def changed(batch: str, step: str, **change: object) -> list[Row]:
    return [replace(r, **change) if (r.batch, r.step) == (batch, step) else r for r in GOOD]  # type: ignore[arg-type]


MISTAKES: dict[str, Callable[[], list[Row]]] = {
    "missing row 02.paint": lambda: [r for r in GOOD if (r.batch, r.step) != ("02", "paint")],
    "unknown row 03.paint": lambda: [*GOOD, Row("03", "paint", None, 900, 910, True)],
    "01.paint: lasts 9, must be 10": lambda: changed("01", "paint", end=639),
    "01.paint: attended is wrong": lambda: changed("01", "paint", attended=False),
    "02.into soak: starts before it may": lambda: second(at=(590, 670, 692, 750, 1067)),
    "01.rinse: starts before the step ahead of it ends": lambda: changed("01", "rinse", start=690, end=696),
    "01.heat: does not start at once": lambda: changed("01", "heat", start=655, end=685),
    "02.load: starts too soon after paint": lambda: second(at=(640, 670, 682, 750, 1067)),
    "02.rinse: starts too soon after heat": lambda: second(at=(640, 670, 692, 750, 757)),
    "02: starts before 01 allows": lambda: second(tray="tray 2", at=(604, 640, 692, 750, 1067)),
    "02.load: waited 20 min too long": lambda: second(at=(640, 670, 760, 800, 1067)),
    "02.paint: 715 to 725 is outside the hands' windows": lambda: second(at=(640, 715, 770, 810, 1067)),
    "hands at 02.into soak and 01.paint at once": lambda: second(tray="tray 2", at=(628, 670, 692, 750, 1067)),
    "02: is in [] for its tray": lambda: second(tray="bench"),
    "02 in steamer 4: the unit is down": lambda: second(steamer="steamer 4"),
    "02 in tray 2: 3 skeins do not fit": lambda: second(tray="tray 2"),
    "02 in tray 1: 01 is in it": lambda: second(at=(620, 670, 692, 750, 1067)),
    "02 in pegs: no room for its skeins beside the others": lambda: second(at=(640, 670, 692, 750, 800)),
    "circuit wall: 16000 mA at 687, limit 12000": lambda: (
        rows_for("01", "tray 1", "steamer 1", 600, 630, 662, 694, 780)
        + rows_for("02", "tray 1", "steamer 2", 640, 670, 685, 750, 1087)
    ),
}  # fmt: skip


@pytest.mark.parametrize("text", MISTAKES)
def test_each_kind_of_mistake_is_found(text: str) -> None:
    """One thing is wrong in the day, and that is what the checker says."""
    assert text in violations(PROBLEM, MISTAKES[text]())


def test_shared_units_are_watched_for_room_weight_and_joining() -> None:
    """Two batches in one steamer that is open to both for five minutes."""
    rows = rows_for("01", "tray 1", "steamer 3", 600, 630, 660, 695, 760)
    rows += rows_for("02", "tray 2", "steamer 3", 604, 645, 671, 705, 1080)
    found = violations(PROBLEM, rows)
    assert "02 in steamer 3: no room for its skeins beside the others" in found
    assert "02 in steamer 3: joins too late" in found
    roomy = replace(PROBLEM, units=tuple(replace(u, holds=9, holds_mg=600_000) for u in UNITS))
    assert "02 in steamer 3: no room for its weight beside the others" in violations(roomy, rows)


def test_weight_that_does_not_fit_is_found() -> None:
    """400 g in a steamer for 300."""
    units = tuple(replace(u, holds_mg=300_000) if u.name == "steamer 1" else u for u in UNITS)
    assert "01 in steamer 1: 400000 mg do not fit" in violations(replace(PROBLEM, units=units), GOOD)


def test_heat_in_an_empty_house_is_found() -> None:
    """The first batch is in heat from 652 to 682, the second from 694 to 724."""
    empty = replace(PROBLEM, closed=((640, 653), (682, 694)))
    assert violations(empty, GOOD) == ["01.heat: runs while the house is empty"]


def test_heat_that_hands_end_is_found_where_it_ends_between_two_windows() -> None:
    """The second batch's heat ends at 724, after hands have left at 720."""
    steps = tuple(replace(step, by_hand=step.draws) for step in STEPS)
    problem = replace(PROBLEM, batches=tuple(replace(batch, steps=steps) for batch in PROBLEM.batches))
    assert violations(problem, GOOD) == ["02.heat: ends at 724, when hands are away"]
    assert violations(replace(problem, heat_ends=((720, 724),)), GOOD) == []
