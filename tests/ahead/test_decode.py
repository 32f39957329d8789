"""An order of tasks becomes a schedule: little days whose best is plain, and laws that shortcuts must keep."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dyeday.ahead.kernel.compile_problem import tabulate
from dyeday.ahead.kernel.compiled import BIG, Tables
from dyeday.ahead.kernel.decode import EVERY, Decoded, Known, Limits, decode
from dyeday.ahead.kernel.partial_schedule import PartialSchedule, beginning
from dyeday.ahead.kernel.problem import Batch, Circuit, Hold, Lag, Problem, Step, Unit
from dyeday.ahead.kernel.search import solve
from tests.ahead.days import random_case, random_problem
from tests.ahead.naive import single
from tests.speed.case_format import problem_of

ALL_DAY = ((540, None),)
TRAYS = (Unit("tray 1", "tray"), Unit("tray 2", "tray"))


def a_day(
    *batches: Batch, units: tuple[Unit, ...] = (), stop: int = 1080, circuits: tuple[Circuit, ...] = ()
) -> Tables:
    return tabulate(Problem(540, ALL_DAY, stop, units, batches, circuits))


def played(tables: Tables, *order: int) -> PartialSchedule:
    out = decode(tables, list(order), beginning(tables))
    assert out is not None
    return out.state


def in_tray(name: str, minutes: int = 10, release: int = 0) -> Batch:
    return Batch(name, (Step("soak", minutes),), (Hold("tray", 0, 0),), release=release)


def in_steamer(name: str, release: int = 0) -> Batch:
    steps = (Step("load", 2), Step("heat", 30, attended=False, draws=True), Step("unload", 2))
    return Batch(name, steps, (Hold("steamer", 0, 2, to_end=False),), skeins=1, release=release)


def test_a_batch_goes_into_the_tray_that_is_free_though_another_comes_first() -> None:
    trays = (replace(TRAYS[0], free_at=600), TRAYS[1])
    assert played(a_day(in_tray("a"), units=trays), 0).starts == [540]


def test_of_trays_that_are_free_equally_soon_the_first_is_taken() -> None:
    day = played(a_day(in_tray("a"), in_tray("b"), units=TRAYS), 0, 1)
    assert (day.starts, day.units) == ([540, 550], [0, 0])


def test_a_step_done_by_hand_that_draws_takes_its_amps_from_its_first_minute() -> None:
    """8 A and 8 A are too many for 15 A: the second begins as the first ends, though it has a unit of its own."""
    guns = (
        Unit("gun 1", "gun", milliamps=8000, circuit="left"),
        Unit("pan 1", "pan", milliamps=8000, circuit="left"),
    )
    blow = Batch("a", (Step("blow", 1), Step("heat", 20, attended=False, draws=True)), (Hold("gun", 0, 1),))
    fry = Batch("b", (Step("fry", 5, draws=True),), (Hold("pan", 0, 0),))
    day = played(a_day(blow, fry, units=guns, circuits=(Circuit("left", 15000),)), 0, 1)
    assert day.starts == [540, 561]
    day = played(a_day(fry, blow, units=guns, circuits=(Circuit("left", 15000),)), 0, 1)
    assert day.starts == [540, 545]
    fries = (fry, replace(fry, id="c", holds=(Hold("gun", 0, 0),)))
    assert played(a_day(*fries, units=guns, circuits=(Circuit("left", 15000),)), 0, 1).starts == [540, 545]


def test_amps_that_fill_a_circuit_exactly_are_not_too_many() -> None:
    pans = tuple(Unit(f"pan {n}", "pan", milliamps=8000, circuit="left") for n in (1, 2, 3))
    heats = [
        Batch(name, (Step("on", 1), Step("heat", 20, attended=False, draws=True)), (Hold("pan", 0, 1),))
        for name in "abc"
    ]
    for milliamps, starts in ((16000, [540, 541, 560]), (15999, [540, 560, 580])):
        tables = a_day(*heats, units=pans, circuits=(Circuit("left", milliamps),))
        assert played(tables, 0, 1, 2).starts == starts


def test_a_batch_done_at_the_very_minute_of_the_stop_counts() -> None:
    assert played(a_day(in_tray("a"), units=TRAYS, stop=550), 0).done == 1
    assert played(a_day(in_tray("a"), units=TRAYS, stop=549), 0).done == 0


def test_a_batch_done_at_the_very_minute_of_the_stop_meets_a_limit_of_one() -> None:
    tables = a_day(in_tray("a"), in_tray("b"), units=TRAYS, stop=550)
    assert decode(tables, [0, 1], beginning(tables), Limits(done=1, count=True)) is not None
    assert decode(tables, [0, 1], beginning(tables), Limits(done=2, count=True)) is None


@pytest.mark.parametrize(
    ("now", "minutes", "starts"),
    [(500, 10, 540), (500, 15, 600), (500, 30, 700), (540, 10, 540), (545, 10, 600), (540, 15, 600), (540, 30, 700)],
)
def test_a_task_begins_in_the_first_hours_that_hold_it(now: int, minutes: int, starts: int) -> None:
    """Ten minutes in the morning, twenty after a first break, any number after a second."""
    problem = Problem(now, ((540, 550), (600, 620), (700, None)), 1080, TRAYS, (in_tray("a", minutes),))
    assert played(tabulate(problem), 0).starts == [starts]


@pytest.mark.parametrize(("release", "idle"), [(0, 0), (630, 30)])
def test_hands_that_idle_longer_than_may_be_are_stopped_and_breaks_are_not_idling(release: int, idle: int) -> None:
    batches = (in_tray("a"), in_tray("b", release=release), in_tray("c"))
    tables = tabulate(Problem(540, ((540, 550), (600, None)), 1080, TRAYS, batches))
    assert decode(tables, [0, 1, 2], beginning(tables), Limits(idle=540 + idle)) is not None
    assert decode(tables, [0, 1, 2], beginning(tables), Limits(idle=540 + idle - 1)) is None


def test_what_cannot_wait_goes_before_a_task_that_would_keep_the_hands_too_long() -> None:
    """Painted yarn that dries within 30 min goes before an hour of winding, which the order had first."""
    painted = Batch("a", (Step("paint", 10), Step("load", 2, lags=(Lag(0, 0, 30),))), (Hold("tray", 0, 0),))
    wind = Batch("b", (Step("wind", 60),), counts=False)
    order = [0, 1, 0]
    out = decode(tables := a_day(painted, wind, units=TRAYS), order, beginning(tables))
    assert out is not None
    assert (out.state.starts, out.state.late, order) == ([540, 550, 552], 0, [0, 0, 1])
    short = replace(wind, steps=(Step("wind", 30),))
    assert played(a_day(painted, short, units=TRAYS), 0, 1, 0).starts == [540, 580, 550]


EVENING = ((540, 600), (1980, None))


def heated(most: int) -> Batch:
    """A heater on for 30 min that must be emptied soon after."""
    steps = (
        Step("load", 2),
        Step("heat", 30, attended=False, draws=True),
        Step("unload", 2, lags=(Lag(1, 0, most),)),
    )
    return Batch("a", steps, (Hold("steamer", 0, 2, to_end=False),), skeins=1)


def test_heat_is_taken_off_tonight_though_the_order_has_something_first_that_only_fits_tomorrow() -> None:
    wind = Batch("b", (Step("wind", 60),), counts=False)
    tables = tabulate(Problem(540, EVENING, 600, (Unit("steamer", "steamer"),), (heated(5), wind)))
    day = played(tables, 0, 1, 0)
    assert (day.starts, day.late) == ([540, 572, 1980], 0)


def test_heat_is_taken_off_tonight_though_what_comes_for_a_blocked_step_only_fits_tomorrow() -> None:
    """The second load finds the heater full; winding would go ahead of it, but not before the heat is off."""
    wind = Batch("c", (Step("wind", 60),), counts=False)
    batches = (heated(5), replace(heated(5), id="b"), wind)
    tables = tabulate(Problem(540, EVENING, 600, (Unit("steamer", "steamer"),), batches))
    day = played(tables, 0, 1, 2, 0, 1)
    assert (day.starts[1], day.late) == (572, 0)


def test_between_two_parts_of_painting_comes_only_what_is_brief() -> None:
    painted = Batch("a", (Step("paint", 10, goes_on=True), Step("paint on", 10)))
    wind, knob = (Batch("b", (Step("wind", 30),)), Batch("c", (Step("knob", 2, brief=True),)))
    day = played(a_day(painted, wind, knob), 0, 1, 2, 0)
    assert day.starts == [540, 550, 560, 590]
    day = played(a_day(painted, wind, knob), 0, 2, 0, 1)
    assert day.starts == [540, 552, 562, 550]


def test_minutes_too_late_add_up() -> None:
    """Painted by 500 and to be heated by 510, both batches start after 540."""
    steps = (Step("paint", 40), Step("load", 2, lags=(Lag(0, 0, 10),)))
    day = played(a_day(*(Batch(name, steps, past=((460, 500),)) for name in "ab")), 0, 1)
    assert (day.starts, day.late) == ([540, 542], 30 + 32)


def test_a_minute_of_heat_left_on_outweighs_many_of_yarn_that_waits() -> None:
    """A slow unloading goes before a quick load, where either comes too late."""
    hot = (Step("load", 2), Step("heat", 30, attended=False), Step("unload", 20, lags=(Lag(1, most=5, weight=60),)))
    wet = (Step("paint", 40), Step("load", 2, lags=(Lag(0, most=10),)))
    heat = Batch("a", hot, past=((500, 502), (502, 532)))
    tables = a_day(heat, Batch("b", wet, past=((460, 500),)))
    assert [played(tables, *order).late for order in ((0, 1), (1, 0))] == [3 * 60 + 50] * 2
    found = solve(tables.problem, 1, evaluations=20)
    assert [row.step for row in found.rows] == ["unload", "load"]
    equal = replace(heat, steps=(*hot[:2], replace(hot[2], lags=(Lag(1, most=5),))))
    found = solve(replace(tables.problem, batches=(equal, tables.problem.batches[1])), 1, evaluations=20)
    assert [row.step for row in found.rows] == ["load", "unload"]


def test_a_blocked_task_gives_way_to_the_one_that_frees_its_unit() -> None:
    tables = a_day(in_steamer("a"), in_steamer("b"), units=(Unit("steamer", "steamer"),))
    order = [0, 1, 1, 0]
    out = decode(tables, order, beginning(tables))
    assert out is not None
    assert order == [0, 0, 1, 1]
    assert out.state.starts == [540, 572, 574, 606]


def test_batches_that_come_too_late_to_join_a_load_let_it_be_emptied_first() -> None:
    """When they are looked at, both could still join it: neither may take the place of the other for that."""
    steamer = Unit("steamer", "steamer", holds=8, shared=True, join_within=2)
    tables = a_day(in_steamer("a"), in_steamer("b", 550), in_steamer("c", 550), units=(steamer,))
    order = [0, 1, 2, 0, 1, 2]
    out = decode(tables, order, beginning(tables))
    assert out is not None
    assert order == [0, 0, 1, 2, 1, 2]
    assert out.state.starts == played(tables, 0, 0, 1, 2, 1, 2).starts


def as_known(tables: Tables, order: list[int]) -> Known | None:
    """An order that has been decoded, of which nothing says how late a task may be."""
    begin = beginning(tables)
    out = decode(tables, order, begin.copy(), save=True)
    never = [BIG] * len(tables.tasks)
    return None if out is None else Known([begin, *out.saved], out.state, never, never)


def from_place(tables: Tables, order: list[int], known: Known, place: int, upto: int) -> Decoded:
    begin = known.saved[place // EVERY].resumed(known.state.starts, known.state.units)
    out = decode(tables, order, begin, save=True, known=known, upto=upto)
    assert out is not None
    return out


def twenty(stop: int = 1080) -> Tables:
    """Twenty tasks of ten minutes, each in a unit of its own."""
    kinds = [f"k{n}" for n in range(20)]
    batches = [Batch(kind, (Step("do", 10),), (Hold(kind, 0, 0),)) for kind in kinds]
    return a_day(*batches, units=tuple(Unit(kind, kind) for kind in kinds), stop=stop)


@pytest.mark.parametrize(("done", "kept"), [(7, True), (8, True), (9, False)])
def test_an_order_resumed_at_the_very_minute_of_the_stop_has_done_what_it_can(done: int, kept: bool) -> None:
    """Eight batches are done by then, at the first saved state."""
    tables, order = twenty(540 + 80), list(range(20))
    known = as_known(tables, order)
    assert known is not None
    resumed = known.saved[1].resumed(known.state.starts, known.state.units)
    assert (decode(tables, order, resumed, Limits(done=done, count=True)) is not None) is kept


@pytest.mark.parametrize("swapped", [0, 3, 6])
def test_an_order_that_comes_to_the_same_day_again_is_taken_over_from_there(swapped: int) -> None:
    """Two tasks that change places leave units free at other moments, all of them past by the next saved state."""
    tables = twenty()
    order = list(range(20))
    known = as_known(tables, order)
    assert known is not None
    assert [state.at for state in known.saved] == [0, 8, 16]
    order[swapped : swapped + 2] = order[swapped : swapped + 2][::-1]
    out = from_place(tables, order, known, swapped, swapped + 2)
    assert (out.same_from, len(out.saved)) == (swapped + 2, 0)
    assert out.state.starts[swapped : swapped + 2] == [540 + 10 * (swapped + 1), 540 + 10 * swapped]
    assert out.state.starts == played(tables, *order).starts


def test_a_day_in_which_a_unit_is_free_later_is_not_taken_over() -> None:
    """The tray lies under yarn that soaks until long after the next saved state, and is wanted again then."""
    steps = (Step("in", 10), Step("soak", 300, attended=False))
    batches = [Batch(f"{n}", (Step("do", 10),)) for n in range(18)]
    soaks = Batch("s", steps, (Hold("tray", 0, 1),))
    tables = a_day(*batches, soaks, in_tray("last"), units=TRAYS[:1])
    known = as_known(tables, [0, 18, *range(1, 18), 19])
    assert known is not None
    order = [18, 0, *range(1, 18), 19]
    out = from_place(tables, order, known, 0, 2)
    assert out.same_from == BIG
    assert out.state.starts[-1] == played(tables, *order).starts[-1] == 850


@pytest.mark.parametrize(
    ("behind", "early", "lenience", "kept"),
    [
        *((False, early, lenience, early <= lenience) for early, lenience in ((0, 0), (1, 0), (5, 5), (5, 4))),
        *((True, early, 0, not early) for early in (0, 1)),
    ],
)
def test_a_task_later_than_the_known_order_could_bear_ends_it(
    behind: bool, early: int, lenience: int, kept: bool
) -> None:
    """Every task may be as late as it is less ``early``; before the change ``lenience`` later, ``behind`` it not."""
    tables, order = twenty(), list(range(20))
    known = as_known(tables, order)
    assert known is not None
    bounds, never = [start - early for start in known.state.starts], [BIG] * 20
    known.latest, known.loose = (bounds, never) if behind else (never, bounds)
    out = decode(tables, order, beginning(tables), known=known, upto=1 if behind else 20, lenience=lenience)
    assert (out is not None) is kept


def test_a_day_in_which_another_unit_is_still_taken_is_not_taken_over() -> None:
    """Whichever comes first of a long soak and a short one lies in tray 1; tray 2 is wanted later."""
    steps = (Step("in", 10), Step("soak", 300, attended=False))
    others = [Batch(f"{n}", (Step("do", 10),)) for n in range(17)]
    soaks = Batch("s", steps, (Hold("tray", 0, 1),))
    last = Batch("last", (Step("soak", 10),), (Hold("tray", 0, 0, unit="tray 2"),))
    tables = a_day(
        *others, soaks, replace(soaks, id="t", steps=(steps[0], replace(steps[1], minutes=20))), last, units=TRAYS
    )
    known = as_known(tables, [17, 18, *range(17), 19])
    assert known is not None
    order = [18, 17, *range(17), 19]
    out = from_place(tables, order, known, 0, 2)
    assert out.same_from == BIG
    assert out.state.starts[-1] == played(tables, *order).starts[-1] == 860


def some_day(seed: int) -> Problem:
    return random_problem(seed, 4) if seed % 2 else problem_of(random_case(seed, 5), 1)


def gist(state: PartialSchedule) -> tuple[object, ...]:
    return state.now, state.late, state.done, state.starts, state.units


@given(st.integers(0, 10_000))
@settings(max_examples=60, deadline=None)
def test_a_neighbour_of_a_known_order_comes_out_as_from_the_morning(seed: int) -> None:
    """From the last saved state before the change, and with what is taken over behind it."""
    rng = Random(seed)  # noqa: S311 - no secret
    tables = tabulate(some_day(seed))
    known_order = single(tables)
    known = as_known(tables, known_order)
    if known is None:
        return
    for _ in range(8):
        order = known_order[:]
        place = rng.randrange(len(order) - 1)
        order[place], order[place + 1] = order[place + 1], order[place]
        whole = decode(tables, order[:], beginning(tables))
        begin = known.saved[place // EVERY].resumed(known.state.starts, known.state.units)
        out = decode(tables, order, begin, save=True, known=known, upto=place + 2)
        assert (out is None) == (whole is None)
        if out is not None and whole is not None:
            assert gist(out.state) == gist(whole.state)


@given(st.integers(0, 10_000))
@settings(max_examples=60, deadline=None)
def test_a_limit_stops_an_order_exactly_where_it_comes_out_worse(seed: int) -> None:
    """By its end; or by the batches done at the stop, then by its end; from the morning and from any saved state."""
    tables = tabulate(some_day(seed))
    order = single(tables)
    known = as_known(tables, order)
    if known is None:
        return
    now, done = known.state.now, known.state.done

    def kept(saved: PartialSchedule, limits: Limits) -> bool:
        begin = saved.resumed(known.state.starts, known.state.units)
        return decode(tables, order[:], begin, limits) is not None

    last = max(known.state.starts)
    for saved in known.saved[: len(order) // EVERY - 1]:
        assert kept(saved, Limits(end=now))
        assert not kept(saved, Limits(end=now - 1))
        assert kept(saved, Limits(last_start=last))
        assert not kept(saved, Limits(last_start=last - 1))
        assert kept(saved, Limits(end=now, done=done, count=True))
        if now > tables.stop:
            assert not kept(saved, Limits(end=now - 1, done=done, count=True))
            assert kept(saved, Limits(end=now - 1, done=done - 1, count=True))
            assert saved.now > tables.stop or not kept(saved, Limits(done=done + 1, count=True))


def test_decoding_ends_as_soon_as_so_many_batches_are_done() -> None:
    tables = a_day(in_tray("a"), Batch("chore", (Step("mix", 5),), counts=False), in_tray("b"), units=TRAYS)
    out = decode(tables, [1, 0, 2], beginning(tables), Limits(wanted=1))
    assert out is not None
    assert (out.state.at, out.state.done, out.state.now) == (2, 1, 555)
