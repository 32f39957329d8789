"""What a dyer would rather do: siblings together, rests kept, hands not waiting for a soak."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest

from dyeday.ahead.kernel.compile_problem import tabulate
from dyeday.ahead.kernel.decode import decode
from dyeday.ahead.kernel.list_schedule import play
from dyeday.ahead.kernel.partial_schedule import beginning
from dyeday.ahead.kernel.problem import Batch, Circuit, Hold, Lag, Near, Problem, Row, Step, Unit
from dyeday.ahead.kernel.search import solve
from dyeday.ahead.kernel.sense import dyed_later, mended, tie, together

STEAMERS = (Unit("steamer 1", "steamer"), Unit("steamer 2", "steamer"))
NAMES = ("a", "b", "c", "d")
LOAD = 1


def painted(name: str) -> Batch:
    steps = (
        Step("paint", 10),
        Step("load", 2),
        Step("heat", 60, attended=False, draws=True),
        Step("unload", 2),
        Step("rinse", 5, lags=(Lag(2, least=30),)),
    )
    return Batch(name, steps, (Hold("steamer", 1, 3, to_end=False),), skeins=1)


def start_of(rows: tuple[Row, ...], batch: str, step: str) -> int:
    return next(row.start for row in rows if (row.batch, row.step) == (batch, step))


@pytest.mark.parametrize("pair", list(combinations(NAMES, 2)))
def test_batches_that_must_match_go_into_heat_together_where_kit_allows(pair: tuple[str, str]) -> None:
    """Whichever two of four alike they are, and the day is over no later for it."""
    batches = tuple(painted(name) for name in NAMES)
    near = (Near(tuple((name, LOAD) for name in pair), 2, 20),)
    free = solve(Problem(540, ((540, None),), 1080, STEAMERS, batches), 1, evaluations=100)
    found = solve(Problem(540, ((540, None),), 1080, STEAMERS, batches, near=near), 1, evaluations=100)
    loads = sorted(start_of(found.rows, name, "load") for name in pair)
    assert loads[1] - loads[0] <= 20
    assert found.value.senseless == 0
    assert found.value.end == free.value.end


def test_siblings_with_one_steamer_are_not_asked_to_be_together() -> None:
    near = (Near((("a", LOAD), ("b", LOAD)), 1, 20),)
    found = solve(Problem(540, ((540, None),), 1080, STEAMERS[:1], (painted("a"), painted("b")), near=near), 1)
    assert found.value.senseless == 0
    assert start_of(found.rows, "b", "load") - start_of(found.rows, "a", "load") not in range(-20, 21)


@pytest.mark.parametrize(("length", "expected"), [(10, 0), (40, 5), (41, 6), (45, 6)])
def test_what_follows_later_than_wished_weighs_a_minute_for_every_five_begun(length: int, expected: int) -> None:
    """A rest of up to fifteen minutes, while hands are away for ``length``."""
    rest = (Lag(0, least=5, soft_most=15),)
    steps = (Step("burst", 4), Step("burst again", 4, lags=rest))
    windows = ((540, 544), (544 + length, None))
    found = solve(Problem(540, windows, 1080, (), (Batch("a", steps),)), 1)
    assert found.value.senseless == expected
    assert found.value.end == 544 + length + 4


def test_a_soak_for_which_hands_would_wait_is_begun_sooner() -> None:
    trays = (Unit("tray 1", "tray"), Unit("tray 2", "tray"))
    steps = (Step("into soak", 2), Step("soak", 30, attended=False, exact=False), Step("paint", 20))
    soaked = Batch("a", steps, (Hold("tray", 0, 2, to_end=False),), skeins=1)
    plain = Batch("b", (Step("paint", 25),), skeins=1)
    tables = tabulate(Problem(540, ((540, None),), 1080, trays, (soaked, plain)))
    order = [1, 0, 0]
    out = decode(tables, order, beginning(tables))
    assert out is not None
    better = []
    for other in mended(tables, order, out.state):
        again = decode(tables, other, beginning(tables))
        assert again is not None
        better.append((again.state.now, tie(tables, again.state), other))
    end, worth, mend = min(better)
    assert mend == [0, 1, 0]
    assert end < out.state.now
    assert worth < tie(tables, out.state)


def test_painted_yarn_had_better_be_in_a_free_steamer_before_work_that_can_wait() -> None:
    """Hands are busy for 201 minutes in either order; in the first, painted yarn waits for an hour."""
    tray = Unit("tray 1", "tray")
    steps = (Step("into soak", 2), Step("soak", 20, attended=False), *painted("a").steps)
    holds = (Hold("tray", 0, 2, to_end=False), Hold("steamer", 3, 5, to_end=False))
    batches = (Batch("a", steps, holds, skeins=1), Batch("b", (Step("wind", 60),) * 3))
    tables = tabulate(Problem(540, ((540, None),), 1080, (tray, STEAMERS[0]), batches))
    waits, better = [0, 1, 0, 1, 0, 1, 0, 0], [0, 1, 0, 0, 1, 1, 0, 0]
    seen = [decode(tables, order[:], beginning(tables)) for order in (waits, better)]
    states = [out.state for out in seen if out is not None]
    assert [state.now for state in states] == [741, 741]
    assert tie(tables, states[0]) - tie(tables, states[1]) >= 50
    assert better in mended(tables, waits, states[0])


def test_yarn_painted_before_now_had_better_be_in_the_free_steamer_first_too() -> None:
    """Its rinse is tomorrow's in either order; with an hour of winding first, it waits for an hour."""
    over = replace(painted("a"), past=((500, 510),))
    hours = ((540, 664), (1980, None))
    tables = tabulate(Problem(540, hours, 1080, STEAMERS[:1], (over, Batch("b", (Step("wind", 60),) * 2))))
    waits, better = [1, 0, 1, 0, 0], [0, 1, 1, 0, 0]
    seen = [decode(tables, order[:], beginning(tables)) for order in (waits, better)]
    states = [out.state for out in seen if out is not None]
    assert [state.now for state in states] == [1985, 1985]
    assert tie(tables, states[0]) - tie(tables, states[1]) >= 50
    assert better in mended(tables, waits, states[0])


def test_heat_is_not_left_on_while_hands_wait_for_the_heat_of_yarn_that_has_waited_too_long() -> None:
    """Yarn painted hours ago can be loaded at 598, for its steaming would end in a break; a steaming ends at 582."""
    steamed = Batch(
        "a",
        (
            Step("load", 2),
            Step("heat", 40, attended=False, by_hand=True, draws=True),
            Step("unload", 2, lags=(Lag(1, most=5, weight=60),)),
        ),
        (Hold("steamer", 0, 2, to_end=False, unit="steamer 1"),),
        skeins=1,
        past=((538, 540), (540, 582)),
    )
    dry = Batch(
        "b",
        (
            Step("paint", 10),
            Step("load", 2, lags=(Lag(0, most=60),)),
            Step("heat", 60, attended=False, by_hand=True, draws=True),
            Step("unload", 2),
        ),
        (Hold("steamer", 1, 3, to_end=False),),
        skeins=1,
        past=((300, 310),),
    )
    units = tuple(replace(unit, milliamps=8000, circuit="shed") for unit in STEAMERS)
    tables = tabulate(
        Problem(540, ((540, 630), (660, None)), 1080, units, (steamed, dry), circuits=(Circuit("shed", 10000),))
    )
    out = decode(tables, [1, 1, 0], beginning(tables))
    assert out is not None
    assert out.state.starts[:2] == [582, 598]


def test_yarn_that_would_dry_out_is_painted_later_before_anything_else_is_mended() -> None:
    """Hands that wait for a soak matter less than painted yarn that waits beyond its longest."""
    tray = Unit("tray 1", "tray")
    soaked = Batch("s", (Step("into soak", 2), Step("soak", 30, attended=False, exact=False), Step("paint", 20)))
    paint, load, *rest = painted("a").steps
    steps = (Step("into soak", 2), paint, replace(load, lags=(Lag(1, most=20),)), *rest[:2])
    holds = (Hold("tray", 0, 1, to_end=False, unit="tray 1"), Hold("steamer", 2, 4, to_end=False))
    fresh = Batch("a", steps, holds, skeins=1, past=((530, 532),))
    tables = tabulate(Problem(540, ((540, None),), 1080, (*STEAMERS, tray), (fresh, soaked)))
    order = [0, 1, 1, 0, 0]
    out = decode(tables, order[:], beginning(tables))
    assert out is not None
    assert next(mended(tables, order, replace(out.state, late=1))) == [0, 0, 1, 1, 0]
    assert next(mended(tables, order, replace(out.state, late=0))) == [1, 0, 1, 0, 0]


@pytest.mark.parametrize(("apart", "first"), [(60, "a"), (30, "b")])
def test_yarn_painted_an_hour_before_other_yarn_goes_into_heat_before_it(apart: int, first: str) -> None:
    """The other's rest after heat is 5 min longer, so it would end the day earlier to heat that one first."""
    early = replace(painted("a"), past=((400, 410),))
    steps = painted("b").steps
    late = Batch("b", (*steps[:-1], replace(steps[-1], lags=(Lag(2, least=35),))), early.holds, skeins=1)
    late = replace(late, past=((400 + apart, 410 + apart),))
    rows = solve(Problem(540, ((540, None),), 1080, STEAMERS[:1], (early, late)), 1, evaluations=60).rows
    other = "b" if first == "a" else "a"
    assert start_of(rows, first, "load") < start_of(rows, other, "load")


def test_siblings_of_two_heats_come_together_when_the_first_waits_for_the_other() -> None:
    """Hands wind for an hour between them; no move of a single heat mends that."""

    def twice(name: str) -> Batch:
        paint, load, heat, unload, rinse = painted(name).steps
        again = (replace(load, id="load 2", lags=(Lag(2, least=5),)), replace(heat, id="heat 2"), unload)
        steps = (paint, load, heat, unload, *again, replace(rinse, lags=(Lag(5, least=30),)))
        holds = (Hold("steamer", 1, 3, to_end=False), Hold("steamer", 4, 6, to_end=False))
        return Batch(name, steps, holds, skeins=1)

    batches = (twice("a"), twice("b"), Batch("c", (Step("wind", 60),)))
    near = tuple(Near((("a", step), ("b", step)), 2, 20) for step in (1, 4))
    tables = tabulate(Problem(540, ((540, None),), 1080, STEAMERS, batches, near=near))
    order = [0, 0, 2, 0, 0, 1, 1, 0, 0, 1, 1, 1, 1]
    out = decode(tables, order, beginning(tables))
    assert out is not None
    assert abs(out.state.starts[1] - out.state.starts[7]) > 20
    days = [play(tables, numbers, 0, lead=lead) for numbers, lead in together(tables, order, out.state)]
    assert any(
        max(abs(day.state.starts[n] - day.state.starts[n + 6]) for n in (1, 3)) <= 20
        for day in days
        if day is not None
    )


@pytest.mark.parametrize(("tray", "parts"), [(True, 1), (False, 1), (False, 2)])
def test_yarn_that_would_dry_out_in_a_queue_for_the_steamer_is_painted_just_before_its_turn(
    tray: bool, parts: int
) -> None:
    """All of it, also where it lies in no tray: a second layer, strewn on skein by skein."""

    def fresh(name: str) -> Batch:
        paint, load, *rest = painted(name).steps
        painting = [replace(paint, id=f"paint {part}", goes_on=part < parts) for part in range(1, parts + 1)]
        steps = (Step("into soak", 2), *painting, replace(load, lags=(Lag(parts, most=60),)), *rest[:2])
        tray_hold = (Hold("tray", 0, parts, to_end=False, unit=f"tray {name}"),) if tray else ()
        holds = (*tray_hold, Hold("steamer", parts + 1, parts + 3, to_end=False))
        return Batch(name, steps, holds, skeins=1, past=((530, 532),))

    trays = tuple(Unit(f"tray {name}", "tray") for name in "abc")
    batches = tuple(fresh(name) for name in "abc")
    tables = tabulate(Problem(540, ((540, None),), 1080, (STEAMERS[0], *trays), batches))
    order = [b for b in range(3) for _ in range(parts)] + [0, 0, 1, 1, 2, 2]
    out = decode(tables, order, beginning(tables))
    assert out is not None
    later = dyed_later(tables, order, out.state)
    again = decode(tables, later, beginning(tables))
    assert again is not None
    assert again.state.late == 0 < out.state.late
    assert dyed_later(tables, later, again.state) == later


def test_yarn_that_would_dry_out_and_shares_a_load_is_painted_before_the_first_of_it_goes_in() -> None:
    """Painted between the two, it would come too late for that load."""
    pot = Unit("steamer 1", "steamer", holds=2, shared=True, join_within=10)

    def fresh(name: str) -> Batch:
        paint, load, *rest = painted(name).steps
        steps = (replace(paint, minutes=15), replace(load, lags=(Lag(0, most=60),)), *rest[:2])
        return Batch(name, steps, (Hold("steamer", 1, 3, to_end=False),), skeins=2 if name == "a" else 1)

    tables = tabulate(Problem(540, ((540, None),), 1080, (pot,), tuple(fresh(name) for name in "abc")))
    order = [0, 1, 2, 0, 0, 1, 2, 1, 2]
    out = decode(tables, order, beginning(tables))
    assert out is not None
    assert out.state.late
    assert dyed_later(tables, order, out.state) == [0, 0, 0, 1, 2, 1, 2, 1, 2]


def test_yarn_that_waits_too_long_before_both_of_its_heats_keeps_all_its_steps() -> None:
    """It is painted and heated just before its second heat, once other yarn has left the steamer for good."""
    paint, load, heat, unload, _ = painted("a").steps
    longer = replace(heat, minutes=90)
    first = (paint, replace(load, lags=(Lag(0, most=60),)), heat, unload)
    second = (replace(load, id="load 2", lags=(Lag(2, least=5, most=35),)), replace(heat, id="heat 2"), unload)
    fresh = Batch("a", (*first, *second), tuple(Hold("steamer", n, n + 2, to_end=False) for n in (1, 4)), skeins=1)
    again = (replace(load, id="load 2"), replace(longer, id="heat 2"), unload)
    holds = tuple(Hold("steamer", n, n + 2, to_end=False) for n in (0, 3))
    other = Batch("b", (load, longer, unload, *again), holds, skeins=1)
    tables = tabulate(Problem(540, ((540, None),), 1440, STEAMERS[:1], (fresh, other)))
    order = [0, 1, 1, 0, 0, 1, 1, 0, 0]
    out = decode(tables, order, beginning(tables))
    assert out is not None
    later = dyed_later(tables, order, out.state)
    assert later == [1, 1, 1, 1, 0, 0, 0, 0, 0]
    sooner = decode(tables, later, beginning(tables))
    assert sooner is not None
    assert sooner.state.late == 0 < out.state.late
