"""The forecast of a day: learned minutes, how late it may become, advice that stays, what the dyer wished."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from math import ceil
from typing import Any, cast

import pytest

from dyeday.ahead.accuracy import RecordedForecast, ended_at
from dyeday.ahead.advising.advice import advice
from dyeday.ahead.advising.hysteresis import WORTH_MIN, advised
from dyeday.ahead.advising.reasons import chore_text, reason, timed_reason
from dyeday.ahead.forecast import forecast
from dyeday.ahead.foreseen_steps import Forecast, Planned
from dyeday.ahead.from_day import problem_of
from dyeday.ahead.kernel.problem import Batch, Problem, Row, Solution, Step, Value
from dyeday.ahead.kernel.search import COUNT, END, solve
from dyeday.ahead.late_case import StudioTimes, scale_of
from dyeday.ahead.problem_parts.hours import break_met, no_hands_met, wall
from dyeday.ahead.problem_parts.session_days import windows_of
from dyeday.ahead.what_if import without_batches
from dyeday.plan.model import Chore, Plan
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.step_ids import StepId
from dyeday.terms import ChorePer, ChoreWhen, CoolWhere, KitKind, State, StepKind, TimerKind, WorkKind
from dyeday.track.day.day_state import Day
from dyeday.track.day.progress import hanging_text
from dyeday.track.day.room_air import weather_ratio
from dyeday.track.durations import OF_HOW, Learned
from dyeday.track.folding.fold import begin, fold
from dyeday.track.timers.timers import timers_of
from dyeday.track.timestamp import Moment
from tests.ahead.late_case import drawn_ends
from tests.fakes import HEAVY_DAY, HOME_DAY, SHORT_DAY, FakeClock
from tests.track.days import Line, at, day_of, events, heated, instant, now, plan_with, proper, soaked

SHORT = read_plan(SHORT_DAY.read_text(encoding="utf-8"))
MORNING = problem_of(begin(SHORT), now("09:00"), for_end=True).now


def ahead(lines: Sequence[Line] = (), time: str = "09:00", plan: Plan | None = None, **how: Any) -> Forecast:
    """Return a small forecast of the test plan's day after some events."""
    how = {"evaluations": 40, **how}
    return forecast(day_of(list(lines), plan or plan_with()), now(time), **how)


def first(found: Forecast, batch: str) -> Planned:
    return next(step for step in found.next_steps if step.batch == batch)


def with_chores(*chores: Chore, **session: Any) -> Plan:
    plan = plan_with()
    return replace(plan, chores=chores, session=replace(plan.session, **session))


def test_the_studios_own_times_stretch_the_work_they_were_learned_from() -> None:
    """Painting that takes twice the plan's minutes takes them here too; rinsing stays the plan's."""
    plain, slow = ahead(), ahead(own=StudioTimes({WorkKind.PAINTED: Learned(2.0, 0.1, 20)}))
    minutes, slowed = (Counter[tuple[str, str]](), Counter[tuple[str, str]]())
    for found, into in ((plain, minutes), (slow, slowed)):
        for step in found.next_steps:
            factor = 2 if found is plain and step.kind is StepKind.PAINT else 1
            into[step.batch, step.id.text] += factor * step.minutes
    assert slowed == minutes
    assert slow.finish > plain.finish


def test_yarn_that_cools_sooner_than_planned_is_not_rinsed_sooner() -> None:
    """The plan's time is the one that harms nothing."""
    plain = ahead(own=StudioTimes({WorkKind.COOL_OUT: Learned(0.5, 0.1, 30)}))
    assert plain.finish == ahead().finish
    assert ahead(own=StudioTimes({WorkKind.COOL_OUT: Learned(2.0, 0.1, 30)})).finish > plain.finish


def test_yarn_is_not_soaked_for_its_next_layer_before_it_has_cooled() -> None:
    """06 comes out of the steam at 11:20 and cools for an hour, as its timer says."""
    lines = [*soaked("06"), *heated("06")]
    plan = plan_with()
    plan = replace(plan, batches=tuple(batch for batch in plan.batches if batch.no == "06"))
    step = first(ahead(lines, "11:22", plan), "06")
    assert (step.kind, f"{step.start:%H:%M}") == (StepKind.SOAK_LOAD, "12:20")
    day = day_of(lines, plan)
    (timer,) = timers_of(day, day.batches["06"], now("11:22"))
    assert (timer.kind, timer.left_s) == (TimerKind.COOL, 58 * 60)


def test_a_pot_in_which_a_layer_cools_is_free_once_the_next_layer_begins() -> None:
    """03 is dyed twice and cools five hours in its pot each time."""
    plan = plan_with()
    (peat,) = (colourway for colourway in plan.colourways if colourway.name == "Peat")
    twice = replace(peat, layers=(replace(peat.layers[0], cool_where=CoolWhere.IN_PLACE),) * 2)
    plan = replace(plan, colourways=tuple(twice if one is peat else one for one in plan.colourways))
    (batch,) = (one for one in problem_of(day_of([], plan), now("09:00"), for_end=True).batches if one.id == "03")
    ends = [cast(StepId, batch.steps[hold.last].id).text for hold in batch.holds if hold.kind == KitKind.POT.value]
    assert ends == ["dye 2", "rinse"]
    assert not any(hold.to_end for hold in batch.holds if hold.kind == KitKind.POT.value)


def test_every_layer_of_a_lot_is_set_up_once_for_the_first_batch_that_gets_it() -> None:
    """Two batches of one lot, 20 min to set up each of two layers; 09 is painted from 10:00, before 08."""
    plan = plan_with()
    layer = replace(plan.colourways[0].layers[0], setup_min=20.0)
    plan = replace(plan, colourways=(replace(plan.colourways[0], layers=(layer, layer)), *plan.colourways[1:]))

    def dyeing_min(lines: list[Line], time: str) -> list[int]:
        batches = problem_of(day_of(lines, plan), now(time), for_end=True).batches
        ids = [StepId(StepKind.PAINT, layer_no, part=0) for layer_no in (1, 2)]
        of_lot = [batch.steps for batch in batches if batch.id in ("08", "09")]
        return [
            sum(s.minutes for s in steps if cast(StepId, s.id)._replace(part=0) == id_)
            for steps in of_lot
            for id_ in ids
        ]

    work_min = ceil(4 * layer.minutes_per_100g)
    assert dyeing_min([], "09:00") == [work_min + 20, work_min + 20, work_min, work_min]
    painting = soaked("09")
    assert dyeing_min(painting, "10:00") == [work_min, work_min + 20, work_min + 20, work_min]


@pytest.mark.parametrize(("reached", "off"), [("10:40", 680), ("10:45", 685), ("10:37", 677)])
def test_a_heat_that_is_on_ends_its_minutes_after_real_heat_as_recorded(reached: str, off: int) -> None:
    """40 min of steam after 10 min of warm-up, on at 10:30; at heat at 10:40 ends at 11:20, minute 680."""
    lines = [*soaked(), *heated()[:2], at(reached, "01", heat_no=1, run="heat")]
    problem = problem_of(day_of(lines), now("10:50"), for_end=False)
    (batch,) = [one for one in problem.batches if one.id == "01"]
    assert batch.past[-1][1] == off


@pytest.mark.parametrize("time", ["10:02", "10:06", "10:09"])
def test_painted_yarn_goes_into_a_free_steamer_at_once_as_painting_is_put_down_between_skeins(time: str) -> None:
    """01 is painted, 02 is begun at 10:00 and has 21 min in parts: heat waits for none of them, and takes two."""
    lines = [*soaked("01", until="09:45"), *soaked("02", until="10:00"), at("09:59", "01", to="fix")]
    found = forecast(day_of(sorted(lines, key=lambda line: line["at"])), now(time), evaluations=20)
    on = next(step for step in found.next_steps if step.kind is StepKind.LOAD and step.batch == "01")
    assert f"{on.start:%H:%M}" == time
    rest = [step for step in found.steps if step.batch == "02" and step.kind.puts_dye_on]
    assert f"{rest[-1].end:%H:%M}" == "10:23"


def test_one_load_of_two_batches_takes_hands_from_painting_once() -> None:
    """08 is painted from 10:20 in 24 min; 02 and 05 go into the steamer together at 10:22, in two."""
    lines = [*soaked("02", unit="tray 2"), *soaked("05", unit="tray 3"), *soaked("08", until="10:20")]
    lines += [at("10:10", batch, to="fix") for batch in ("02", "05")]
    load = {"event": "load", "batches": ["02", "05"], "unit": "steamer 1", "heat_no": 1, "run": "start"}

    def painted_by(lines: list[Line]) -> int:
        batches = problem_of(day_of(sorted(lines, key=lambda line: line["at"])), now("10:25"), for_end=True).batches
        (batch,) = [batch for batch in batches if batch.id == "08"]
        to_come = [step for step in batch.steps[len(batch.past) :] if cast(StepId, step.id).kind is StepKind.PAINT]
        return batch.past[-1][1] + sum(step.minutes for step in to_come)

    assert painted_by([*lines, at("10:22", **load)]) == painted_by(lines) + 2


def test_the_later_end_grows_with_the_spread_of_the_studios_times() -> None:
    """Steady hands have a narrow band."""
    times = (StudioTimes({kind: Learned(1.0, spread, 50) for kind in KINDS}) for spread in (0.03, 0.5))
    steady, wild = (ahead(own=own) for own in times)
    assert steady.finish == wild.finish
    assert steady.finish <= steady.finish_late < wild.finish_late


KINDS = (*OF_HOW.values(), WorkKind.RINSE, WorkKind.LOAD, WorkKind.UNLOAD)


@pytest.mark.parametrize(("down", "first_load"), [((), "09:20"), ((1,), "09:22"), ((1, 2, 3, 4), "")])
def test_moving_yarn_out_of_a_tray_that_leaks_takes_hands_as_long_as_its_load(
    down: Sequence[int], first_load: str
) -> None:
    """01 soaks in tray 1; two minutes for a load. With no tray left it stays, and no other yarn goes in."""
    lines = [at("09:00", "01", to="soak", unit="tray 1")]
    found = ahead([*lines, *(at("09:20", unit=f"tray {n}", is_="down") for n in down)], "09:20")
    loads = [f"{step.start:%H:%M}" for step in found.steps if step.kind is StepKind.SOAK_LOAD]
    assert min(loads, default="") == first_load


def test_two_looks_at_one_plan_differ_little_in_how_much_later_it_may_become() -> None:
    """Other ways through the day, found with another seed, have the same work in them."""
    looks = [ahead(seed=seed) for seed in range(4)]
    later = [(found.finish_late - found.finish).total_seconds() / 60 for found in looks]
    assert max(later) - min(later) <= 5


def test_nine_days_in_ten_end_by_the_late_answer() -> None:
    """Days drawn with minutes of their own, in which hands take the next in the advised order that can start."""
    day = begin(SHORT)
    found = forecast(day, now("09:00"), evaluations=60)
    problem = problem_of(day, now("09:00"), for_end=True)
    late = problem.now + (found.finish_late - found.at.utc).total_seconds() / 60
    ends = drawn_ends(problem, found.earliest.rows, 60)
    assert 0.8 <= sum(end <= late for end in ends) / len(ends) <= 1.0


@pytest.mark.parametrize(("days", "error_min", "scale"), [(9, 90, 1.0), (10, 90, 1.5), (12, 30, 0.5), (10, -5, 0.3)])
def test_ten_closed_days_say_how_late_days_become_here(days: int, error_min: int, scale: float) -> None:
    """Foreseen an hour later at most, ended so much later: the late case moves by their ratio, within bounds."""
    at, likely = instant("09:00"), instant("17:00")
    ended = likely + timedelta(minutes=error_min)
    found = scale_of([RecordedForecast(at, likely, likely + timedelta(hours=1), ended)] * days)
    assert found == pytest.approx(scale)
    studios = (StudioTimes(late_scale=factor) for factor in (1.0, found))
    later = [forecast(begin(SHORT), now("09:00"), evaluations=20, own=studio) for studio in studios]
    plain, own = ((f.finish_late - f.finish).total_seconds() / 60 for f in later)
    assert own == pytest.approx(plain * scale, abs=1)


def test_yarn_whose_heat_broke_off_goes_first_where_no_wish_of_the_dyer_can_hold() -> None:
    """Overrides left out are as a day without any."""
    lines = [*soaked("01"), *heated("01")[:2], *soaked("10", unit="tray 2")]
    day = day_of([*lines, at("10:45", unit="steamer 1", is_="down")])
    heeded, left_out = (problem_of(day, now("11:00"), for_end=True, wishes=wishes).links for wishes in (True, False))
    assert heeded == left_out != ()


def test_other_yarn_does_not_wait_for_yarn_whose_heat_broke_off_and_that_is_put_off() -> None:
    lines = [*soaked("01"), *heated("01")[:2], *soaked("10", unit="tray 2")]
    down = at("10:45", unit="steamer 1", is_="down")
    wished = at("10:50", "01", event="advice", is_="not now", step="load 1.1", minutes=60)
    links = [problem_of(day_of([*lines, down, *more]), now("11:00"), for_end=True).links for more in ([], [wished])]
    first = [{link.to for link in each if link.of == "01"} for each in links]
    assert "10" in first[0]
    assert first[1] == set()


def test_what_closed_days_say_of_late_days_is_not_learned_twice() -> None:
    """Each of thirty days ends twice as late as an hour without the factor; the late end on record has the factor."""
    at, likely = instant("09:00"), instant("17:00")
    days: list[RecordedForecast] = []
    for _ in range(30):
        scale = scale_of(days)
        late = likely + timedelta(hours=scale)
        days.append(RecordedForecast(at, likely, late, likely + timedelta(hours=2), late_scale=scale))
    assert scale_of(days) == pytest.approx(2.0)


def test_advice_stays_from_minute_to_minute() -> None:
    """Asked again while nothing happened, the same steps in the same order, though the search goes on."""
    found = ahead()
    for minute in range(1, 6):
        again = ahead(time=f"09:0{minute}", before=found, seed=minute)
        if not again.changed:
            assert order(again)[:5] == order(found)[:5]
        found = again


@pytest.mark.parametrize("seed", [0, 2])
def test_batches_that_differ_in_their_number_only_are_begun_in_its_order(seed: int) -> None:
    """01 to 04, 05 to 07 and 08 to 09 are each alike; the search comes upon 06 before 05, or 04 before 03."""
    plan = read_plan(HOME_DAY.read_text(encoding="utf-8"))
    found = forecast(begin(plan), Moment(wall(plan, 9 * 60)), evaluations=60, seed=seed, warn=False)
    begun = list(dict.fromkeys(step.batch for step in found.next_steps if step.batch))
    for alike in (("01", "02", "03", "04"), ("05", "06", "07"), ("08", "09")):
        assert tuple(no for no in begun if no in alike) == alike


def order(found: Forecast) -> list[tuple[str, str]]:
    return [(step.batch, step.id.text) for step in found.next_steps]


@pytest.mark.parametrize(("gain", "stays"), [(WORTH_MIN - 1, True), (WORTH_MIN, False)])
def test_another_sequence_is_advised_only_where_it_gains_five_minutes(gain: int, *, stays: bool) -> None:
    """A short paint first delays the long heat behind it by its own minutes: what is said compares the two orders."""
    heated = Batch("01", (Step("paint 1", 10), Step("run 1.1", 60, attended=False), Step("unload 1.1", 1)))
    short = Batch("02", (Step("paint 1", gain),))
    problem = Problem(540, ((540, None),), 1080, (), (heated, short))
    found = solve(problem, END, evaluations=20)
    before = [Row("02", "paint 1", None, 540, 540 + gain, True)]
    before += [Row("01", "paint 1", None, 540 + gain, 550 + gain, True)]
    kept, why = advised(problem, END, found, before)
    assert kept.rows[0].batch == ("02" if stays else "01")
    assert why == ("" if stays else f"otherwise you would finish {gain} min later")


def test_another_sequence_that_brings_more_batches_by_stop_is_advised_and_says_how_many() -> None:
    """A long paint first leaves neither short one before stop; short ones first bring both."""
    minutes = {"01": 50, "02": 25, "03": 25}
    batches = tuple(Batch(no, (Step("paint 1", of),), goal=0) for no, of in minutes.items())
    problem = Problem(540, ((540, None),), 600, (), batches)
    long_first = [Row("01", "paint 1", None, 540, 590, True)]
    long_first += [Row(no, "paint 1", None, start, start + 25, True) for no, start in (("02", 590), ("03", 615))]
    found = solve(problem, COUNT, evaluations=20)
    assert advised(problem, COUNT, found, long_first) == (found, "otherwise 1 batch fewer by stop")
    assert advised(problem, COUNT, found, long_first, 2)[1] == "otherwise 1 batch fewer by stop"
    assert advised(problem, COUNT, found, long_first, found.value.missed)[1] == "to keep as many batches by stop"
    assert advised(problem, COUNT, found, found.rows)[1] == ""


def test_what_took_less_time_than_expected_is_won_back() -> None:
    """The sequence stays, its minutes do not: hands do not wait for the minute a step was once foreseen at."""
    problem = Problem(540, ((540, None),), 1080, (), (Batch("01", (Step("paint 1", 30),)),))
    found = solve(problem, END, evaluations=5)
    before = tuple(replace(row, start=row.start + 4, end=row.end + 4) for row in found.rows)
    assert advised(problem, END, found, before)[0].rows[0].start == 540


def test_advice_that_became_impossible_changes_and_says_why() -> None:
    """A unit that breaks down is named, where another step comes first for it."""
    lines = [line for no, unit in (("01", "tray 1"), ("02", "tray 2")) for line in soaked(no, unit=unit)]
    lines += [at("10:30", no, to="fix") for no in ("01", "02")]
    found = ahead(lines, "10:31")
    was, unit = found.next_steps[0], found.next_steps[0].unit
    assert unit is not None
    broken = ahead([*lines, at("10:32", unit=unit, is_="down")], "10:32", before=found)
    assert all(step.unit != unit for step in broken.steps)
    first = broken.next_steps[0]
    if (first.batch, first.id.text) == (was.batch, was.id.text):
        assert broken.changed == ""
    else:
        assert f"{unit} is down" in broken.changed


@pytest.mark.parametrize("is_down", [True, False])
def test_yarn_in_a_unit_that_is_down_goes_on_in_another(*, is_down: bool) -> None:
    """As the first row moves it: from tray 1 to tray 2, which no other takes meanwhile; from pot 1 to pot 2."""
    plan = replace(plan_with(), batches=plan_with().batches[:3])
    into_pot = [at("10:00", "03", to="paint", unit="pot 1"), at("10:10", "03", to="fix")]
    for no, lines in (("01", []), ("03", [*into_pot, at("10:10", "03", heat_no=1, run="start", unit="pot 1")])):
        lines = [at("09:00", no, to="soak", unit="tray 1"), *lines]
        unit, other = ("pot 1", "pot 2") if no == "03" else ("tray 1", "tray 2")
        if is_down:
            lines.append(at("10:20", unit=unit, event="unit", **{"is": "down"}))
        found = ahead(lines, "10:21", plan)
        used = [
            step.unit for step in found.steps if step.batch == no and step.kind in (StepKind.PAINT, StepKind.UNLOAD)
        ]
        assert used[0] == (other if is_down else unit)
        first_row = advice(day_of(lines, plan), now("10:21"), 1, found)[0]
        assert (first_row.do == f"move out of {unit} to {other}") is is_down
        assert not [step for step in found.steps if is_down and step.unit == unit]


@pytest.mark.parametrize(("is_down", "unit"), [(False, "steamer 2"), (True, "steamer 1")])
def test_an_urgent_row_names_the_forecast_s_unit_where_it_is_as_good(*, is_down: bool, unit: str) -> None:
    """Painted yarn about to dry out goes before any plan, into the steamer that chart and timetable have."""
    lines = [*soaked(), at("10:20", "01", cover="open"), at("10:20", "01", to="fix")]
    if is_down:
        lines.append(at("10:59", unit="steamer 2", event="unit", **{"is": "down"}))
    found = ahead(lines, "11:00")
    steps = tuple(
        replace(s, unit="steamer 2") if s.batch == "01" and s.unit == "steamer 1" else s for s in found.steps
    )
    row = advice(day_of(lines), now("11:00"), 1, replace(found, steps=steps))[0]
    assert (row.about, row.do, row.unit) == ("01", f"heat on in {unit}", unit)


@pytest.mark.parametrize(
    ("now_at", "cool"), [("11:35", "it is cool"), ("12:15", "cool from 12:20"), ("12:30", "cool since 12:20")]
)
def test_a_rinse_planned_for_later_says_from_when_its_yarn_is_cool(now_at: str, cool: str) -> None:
    """'14:53: it is cool' reads as cool at 14:53 only."""
    lines = [*soaked(), at("09:01", unit="tray 1", event="acid put in", acid_ml=400), *heated()]
    found, begins = ahead(lines, now_at), "12:20" if cool == "it is cool" else "14:53"
    rinse = next(step for step in found.steps if step.batch == "01" and step.kind is StepKind.RINSE)
    rinse = replace(rinse, start=instant(begins), end=instant("15:00"))
    words = timed_reason(rinse, replace(found, steps=(rinse,)), day_of(lines))
    assert words == f"{begins}: {cool}"


def test_not_now_is_not_proposed_again_for_its_minutes() -> None:
    """And after them it is."""
    found = ahead()
    step = found.next_steps[0]
    wished = at("09:00", step.batch, event="advice", is_="not now", step=step.id.text, minutes=20)
    later = ahead([wished], "09:01", before=found)
    assert first(later, step.batch).start >= instant("09:20")
    assert later.next_steps[0].batch != step.batch
    assert first(ahead([wished], "09:21"), step.batch).start >= instant("09:21")


def test_not_now_never_leaves_heat_on_for_longer() -> None:
    """The bench does not offer it, but an entry of a file may say so."""
    on = [*soaked(), *heated()[:2]]
    wished = at("11:15", "01", event="advice", is_="not now", step="unload 1.1", minutes=60)
    for lines in (on, [*on, wished]):
        assert first(ahead(lines, "11:16"), "01").start == instant("11:20")


def test_this_one_instead_goes_first_until_it_is_begun() -> None:
    """Whatever the search thinks of it."""
    found = ahead()
    last = found.next_steps[-1].batch
    what = first(found, last).id.text
    wished = at("09:00", last, event="advice", is_="instead", step=what)
    wanted = ahead([wished], "09:01", before=found)
    assert (wanted.next_steps[0].batch, wanted.next_steps[0].id.text) == (last, what)
    begun = ahead([wished, at("09:02", last, to="soak", unit="tray 1")], "09:03", before=wanted)
    assert begun.next_steps[0].batch != last


def test_a_wish_that_nothing_can_follow_is_passed_over() -> None:
    """First a batch whose heat needs the pot that another lies in."""
    lines: list[Line] = [at("09:00", "11", event="advice", is_="instead", step="soak load 1")]
    lines += [at("09:00", unit=f"tray {n}", is_="down") for n in range(1, 5)]
    assert ahead(lines, "09:05").left_out
    lines = [at("09:00", f"0{n}", to="soak", unit=f"tray {n}") for n in range(1, 5)]
    lines += [at("09:01", "11", event="advice", is_="instead", step="soak load 1")]
    assert ahead(lines, "09:05").next_steps


def test_a_wish_undone_does_not_count() -> None:
    """The log keeps it; the advice is as before."""
    step = ahead().next_steps[0]
    lines = [
        {**at("09:00", step.batch, event="advice", is_="not now", step=step.id.text), "id": "wish"},
        at("09:01", strikes="wish"),
    ]
    assert first(ahead(lines, "09:02"), step.batch).start < instant("09:20")
    assert day_of(lines).wishes == ()


def test_an_older_session_may_have_its_aim_in_an_entry_about_advice() -> None:
    """It counts as the aim of the day; both answers stand all the same."""
    plan = with_chores(stop_min=12 * 60)
    assert ahead(plan=plan).for_end is False
    found = ahead([at("09:00", event="advice", is_="serves", serves="tonight")], "09:01", plan)
    assert found.for_end
    assert found.reached < found.of


def test_what_ends_the_day_is_done_by_the_stop_and_inside_the_hands_hours() -> None:
    """Twenty minutes of wiping down are twenty minutes fewer for rinsing, and wait for the end of the break."""
    wipe = Chore("wipe down", 30, ChorePer.DAY, ChoreWhen.END_OF_DAY)
    found = ahead(plan=with_chores(wipe, stop_min=15 * 60))
    rinses = [step for step in found.steps if step.state is State.RINSE and step.end <= instant("15:00")]
    assert all(step.end <= instant("14:30") for step in rinses)
    end = max(step.end for step in found.next_steps if step.end <= instant("15:00"))
    assert next(step for step in found.steps if step.id.text == "wipe down").end == end
    whole = ahead(plan=with_chores(wipe, stop_min=23 * 60))
    wiped = next(step for step in whole.steps if step.id.text == "wipe down")
    assert wiped.end == whole.finish == max(step.end for step in whole.next_steps)


def test_the_forecast_plans_for_one_pair_of_hands_however_many_people_work() -> None:
    """So `dyeday help plan` says; of several people it does not know who does what."""
    plan = plan_with()
    two = replace(plan, session=replace(plan.session, hands=2))
    assert ahead(plan=two).steps == ahead(plan=plan).steps


def test_a_break_before_the_last_chore_makes_the_finish_as_late_as_the_chore() -> None:
    """01 is rinsed from 12:40 to 12:46; 20 min of wiping down do not fit in before the break from 12:50 to 13:30."""
    plan = with_chores(Chore("wipe down", 20, ChorePer.DAY, ChoreWhen.END_OF_DAY), stop_min=23 * 60)
    plan = replace(plan, batches=plan.batches[:1], session=replace(plan.session, breaks=((770, 810),)))
    found = ahead([*soaked(), *heated()], "12:40", plan)
    wiped = next(step for step in found.steps if step.id.text == "wipe down")
    assert (wiped.start, wiped.end) == (instant("13:30"), instant("13:50"))
    assert found.finish == instant("13:50")


@pytest.mark.parametrize(
    ("per", "about"),
    [
        (ChorePer.LOT, {"when": "before soak", "lot": "01"}),
        (ChorePer.DAY, {"when": "before soak"}),
        (ChorePer.BATCH, {"batch": "01", "when": "before soak"}),
    ],
)
def test_a_chore_that_is_begun_takes_what_is_left_of_its_minutes(per: ChorePer, about: Line) -> None:
    """Of 40 min, 30 are gone: nothing else begins for 10 min, then the soak; begun is neither planned nor done."""
    plan = with_chores(Chore("tie", 40, per, ChoreWhen.BEFORE_SOAK))
    entry = {**at("09:00", about.get("batch"), event="chore begun", chore="tie"), **about}
    found = ahead([entry], "09:30", plan)
    mine = [step for step in found.next_steps if step.batch == "01"]
    assert mine[0].id.text == "soak load 1"
    assert min(step.start for step in found.next_steps) == instant("09:40")
    line = advice(day_of([entry], plan), now("09:30"), 3, found)[0]
    assert (line.do, line.why, line.is_chore) == ("tie", "begun 09:00: C when it is done", True)
    done = {**entry, "event": "chore", "at": at("09:20")["at"]}
    over = ahead([entry, done], "09:30", plan)
    assert min(step.start for step in over.next_steps) == instant("09:30")
    assert advice(day_of([entry, done], plan), now("09:30"), 3, over)[0].why != line.why


def test_a_chore_that_takes_longer_than_planned_lasts_until_it_is_done() -> None:
    plan = with_chores(Chore("tie", 40, ChorePer.DAY, ChoreWhen.BEFORE_SOAK))
    entry = at("09:00", event="chore begun", chore="tie", when="before soak")
    assert min(step.start for step in ahead([entry], "09:50", plan).next_steps) == instant("09:51")


@pytest.mark.parametrize(
    "left",
    [
        [at("10:30", "08", into={"08a": 2, "08b": 2})],
        [*heated("08"), at("11:30", "08", event="overdyed", colourway="Deep")],
    ],
    ids=["split", "overdyed"],
)
def test_a_chore_done_for_a_lot_stays_done_where_its_first_batch_is_split_or_leaves(left: list[Line]) -> None:
    """A chore once for the lot of 08 and 09, recorded under the lot's first batch."""
    plan = with_chores(Chore("stir", 5, ChorePer.LOT, ChoreWhen.AFTER_COOL))
    plan = replace(plan, batches=tuple(batch for batch in plan.batches if batch.no in ("08", "09")))
    done = at("10:20", event="chore", chore="stir", when="after cool", lot="08")
    lines = [*soaked("08"), done, *left]

    def asked(lines: list[Line]) -> list[str]:
        return [step.id.chore for step in ahead(lines, "11:35", plan).steps if step.is_chore]

    assert asked(lines[:3]) == ["stir"]
    assert asked(lines) == []


@pytest.mark.parametrize("per", [ChorePer.LOT, ChorePer.DAY])
@pytest.mark.parametrize(("taken", "time"), [(4, "12:29"), (5, "12:31"), (7, "12:46")], ids=["cool", "rinse", "dry"])
def test_a_chore_after_the_rinse_of_a_lot_or_the_day_stays_until_it_is_done(
    per: ChorePer, taken: int, time: str
) -> None:
    plan = with_chores(Chore("wash sink", 10, per, ChoreWhen.AFTER_RINSE))
    plan = replace(plan, batches=tuple(batch for batch in plan.batches if batch.no == "01"))
    lines = [*soaked(), *proper()[3 : 4 + taken]]
    lot = {"lot": "01"} if per is ChorePer.LOT else {}
    done = at(time, event="chore", chore="wash sink", when="after rinse", **lot)

    def asked(lines: list[Line]) -> list[str]:
        return [step.id.chore for step in ahead(lines, time, plan).steps if step.is_chore]

    assert asked(lines) == ["wash sink"]
    assert asked([*lines, done]) == []


@pytest.mark.parametrize(
    ("per", "minutes"), [(ChorePer.DAY, 5), (ChorePer.LOT, 10), (ChorePer.BATCH, 15), (ChorePer.SKEIN, 55)]
)
def test_work_on_yarn_ends_in_time_for_a_last_chore_for_each_batch_skein_or_lot(per: ChorePer, minutes: int) -> None:
    """01, 08 and 09 are 11 skeins of two lots."""
    plan = with_chores(Chore("label", 5, per, ChoreWhen.END_OF_DAY), stop_min=18 * 60)
    plan = replace(plan, batches=tuple(batch for batch in plan.batches if batch.no in ("01", "08", "09")))
    (label,) = [step for step in ahead(plan=plan).steps if step.is_chore]
    assert label.minutes == minutes
    windows = problem_of(day_of([], plan), now("09:00"), for_end=False).windows
    assert windows[0] == (540, 18 * 60 - minutes)


@pytest.mark.parametrize("event", ["chore begun", "chore"])
def test_a_chore_during_the_soak_does_not_end_the_soak(event: str) -> None:
    """Soaked from 09:00 for 20 min; the chore before painting takes 5 of them."""
    plan = with_chores(Chore("measure", 5, ChorePer.BATCH, ChoreWhen.BEFORE_PAINT))
    lines = [*soaked()[:2], at("09:05", "01", event=event, chore="measure", when="before paint", layer=1)]
    found = ahead(lines, "09:06", plan)
    (painted,) = [step for step in found.next_steps if step.batch == "01" and step.kind is StepKind.PAINT][:1]
    assert painted.start >= instant("09:20")
    assert not [step for step in found.next_steps if step.batch == "01" and step.is_chore]


def test_yarn_that_dries_overnight_needs_no_hands() -> None:
    """Re-skeining waits for another day; what is dry already is today's."""
    chore = Chore("re-skein", 2, ChorePer.BATCH, ChoreWhen.AFTER_DRY)
    assert ahead(plan=with_chores(chore)).finish == ahead().finish
    hung = [at("09:00", "01", to="dry", unit="pegs 1")]
    tomorrow = day_of(hung, with_chores(chore))
    found = forecast(tomorrow, now("33:30"), evaluations=20)
    assert ("01", "re-skein") in order(found)


@pytest.mark.parametrize(
    ("per", "hung", "asked"),
    [
        (ChorePer.LOT, ["08"], []),
        (ChorePer.LOT, ["08", "09"], [("", "pack")]),
        (ChorePer.DAY, ["08", "09"], []),
        (ChorePer.DAY, ["01", "08", "09"], [("", "pack")]),
    ],
)
def test_what_a_lot_or_the_day_wants_once_dry_waits_until_all_its_yarn_hangs(
    per: ChorePer, hung: list[str], asked: list[tuple[str, str]]
) -> None:
    """08 and 09 are one lot; hung at nine, looked at the next morning, and gone once it is recorded."""
    plan = with_chores(Chore("pack", 5, per, ChoreWhen.AFTER_DRY))
    plan = replace(plan, batches=tuple(batch for batch in plan.batches if batch.no in ("01", "08", "09")))
    lines = [at("09:00", no, to="dry", unit="pegs 1") for no in hung]

    def packing(lines: list[Line]) -> list[tuple[str, str]]:
        found = forecast(day_of(lines, plan), now("33:30"), evaluations=20)
        return [(step.batch, step.id.chore) for step in found.next_steps if step.is_chore]

    assert packing(lines) == asked
    of = {"lot": "08"} if per is ChorePer.LOT else {}
    assert packing([*lines, at("33:20", event="chore", chore="pack", when="after dry", **of)]) == []


@pytest.mark.parametrize("factor", [1.0, 0.5])
def test_yarn_is_re_skeined_once_it_has_left_its_pegs_dry(factor: float) -> None:
    """Both by the plan's hours, the day's cold and damp air and the studio's own times."""
    plan = with_chores(Chore("re-skein", 2, ChorePer.BATCH, ChoreWhen.AFTER_DRY), stop_min=34 * 60)
    plan = replace(plan, air_temperature_c=10.0, air_humidity_pct=80.0)
    colourways = tuple(replace(colourway, dry_h=6.0) for colourway in plan.colourways)
    day = day_of([at("09:00", "01", to="dry", unit="pegs 1")], replace(plan, colourways=colourways))
    own = {WorkKind.DRY: Learned(factor, 0.1, 20)}
    problem = problem_of(day, now("09:30"), for_end=True, learned=own)
    (hangs,) = [batch for batch in problem.batches if batch.id == ("drying", "01")]
    (packed,) = [batch for batch in problem.batches if batch.id == "01"]
    assert packed.release == hangs.past[-1][1] == 540 + ceil(factor * 6 * 60 * weather_ratio(plan))


def test_tomorrow_has_the_same_break_where_it_is_not_said_otherwise() -> None:
    """Hands that pause today pause tomorrow."""
    plan = with_chores(stop_min=11 * 60, breaks=((10 * 60, 10 * 60 + 30),))
    for step in ahead(plan=plan).next_steps:
        if step.start >= instant("33:00"):
            assert step.end <= instant("34:00") or step.start >= instant("34:30")


def test_a_break_is_of_every_day_and_an_absence_of_its_own() -> None:
    """A break from 13:00 to 13:30 and an absence from 15:05 to 15:40, asked about on the second day."""
    plan = with_chores(breaks=((780, 810),), out=((905, 940),))
    second = [(1980, 2220), (2250, 2520)]
    assert [span for span in windows_of(plan, instant("09:00"), for_end=False) if 1440 <= span[0] < 2880] == second
    assert windows_of(plan, instant("36:00"), for_end=False)[:2] == tuple(second)
    assert windows_of(plan, instant("36:00"), for_end=True)[-1] == (2250, None)
    assert break_met(plan, instant("37:10")) == (instant("37:00"), instant("37:30"))
    assert no_hands_met(plan, instant("39:10")) is None
    other_hours = with_chores(breaks=((780, 810),), tomorrow=((600, 1000),))
    assert break_met(other_hours, instant("37:10")) is None
    # 09:00 to 12:00 and 13:00 to 17:00 tomorrow: what is between is a break then.
    in_two = with_chores(breaks=((780, 810),), tomorrow=((780, 1020), (540, 720)))
    assert windows_of(in_two, instant("34:00"), for_end=True) == ((540, 780), (810, 2160), (2220, None))
    assert break_met(in_two, instant("36:30")) == (instant("36:00"), instant("37:00"))


def test_hands_have_their_nights_however_long_the_work_is() -> None:
    """71 batches, eleven days of it."""
    more = '[[order]]\nitem = "many"\ncolourway = "Harbour"\nbase = "Wool"\nskeins = 240\n'
    plan = plan_with(more=more)
    found = forecast(day_of([], plan), now("09:00"), evaluations=1, warn=False)
    hours = windows_of(plan, instant("09:00"), for_end=False)
    by_hand = [row for row in found.by_stop.rows if row.attended]
    assert max(row.end for row in by_hand) > 9 * 1440
    assert all(any(a <= row.start < (b or 0) for a, b in hours) for row in by_hand)


def test_whatever_wants_hands_after_the_stop_is_tomorrows() -> None:
    """Also where all is rinsed by then: spinning out may be left."""
    spin = Chore("spin out", 60, ChorePer.BATCH, ChoreWhen.AFTER_RINSE)
    plan = with_chores(spin, stop_min=15 * 60)
    found = ahead(plan=plan)
    left = [step for step in found.next_steps if step.start >= found.stop]
    assert (found.tomorrow_finish is not None) == bool(left)
    assert found.tomorrow_finish == max(step.end for step in left)


def test_every_step_has_a_reason() -> None:
    """One sentence, without a line's end, naming a time where it lies ahead."""
    found = ahead(
        plan=with_chores(
            Chore("mix", 5, ChorePer.LOT, ChoreWhen.BEFORE_PAINT),
            Chore("tidy", 5, ChorePer.DAY, ChoreWhen.END_OF_DAY),
        )
    )
    day = day_of([], plan_with())
    for step in found.next_steps:
        assert timed_reason(step, found, day).strip()
    painted = next(step for step in found.next_steps if step.state is State.PAINT)
    assert f"takes {painted.minutes} min" in timed_reason(painted, found, day)


def test_heat_that_is_on_is_said_to_be_over_when_it_is_whenever_hands_come_to_it() -> None:
    """Warm-up and minutes count, not the minute at which it is taken off."""
    lines = [*soaked(), *heated()]
    plan = replace(plan_with(), batches=plan_with().batches[:1])  # nothing else goes into the steamer
    on = next(n for n, line in enumerate(lines) if line.get("run") == "end")
    for time in ("11:00", "12:30"):
        day = day_of(lines[:on], plan)
        found = ahead(lines[:on], time, plan)
        off = next(step for step in found.steps if step.batch == "01" and step.kind is StepKind.UNLOAD)
        over = next(
            c.due_at(now(time)) for c in timers_of(day, day.batches["01"], now(time)) if c.kind is TimerKind.HEAT
        )
        assert over is not None
        assert over <= off.start
        said = timed_reason(off, found, day)
        if off.start > now(time).utc:
            assert said == f"{over:%H:%M}: its heat ends"
        else:
            assert said == f"its heat ended at {over:%H:%M}"


def test_a_line_of_heat_to_come_off_names_one_time() -> None:
    """When hands come to it; how much later than its end that is is a length."""
    plan = plan_with()
    found = ahead(plan=plan)
    offs = [step for step in found.next_steps if step.kind is StepKind.UNLOAD and step.start > now("09:02").utc]
    reasons = [timed_reason(step, found, day_of([], plan)) for step in offs]
    assert any(" min after its heat ends" in text for text in reasons)
    assert all(len(re.findall(r"\d\d:\d\d", text)) == 1 for text in reasons)


def test_an_order_of_the_first_priority_is_wanted_earlier_than_one_as_usual_and_that_than_the_last() -> None:
    """Due alike; due sooner counts as well."""

    def weight(**order: Any) -> int:
        plan = plan_with()
        plan = replace(plan, orders=tuple(replace(one, **order) for one in plan.orders))
        return problem_of(day_of([], plan), now("09:00"), for_end=True).batches[0].weight

    soon = plan_with().session.date + timedelta(days=2)
    assert weight(priority=9, due=soon) < weight(priority=5, due=soon) < weight(priority=1, due=soon)
    assert weight(due=soon) > weight(due=soon + timedelta(days=20)) > 0


def test_the_forecast_of_a_reopened_day_is_that_of_the_day_kept_open() -> None:
    """What was waved off is in the events, so a restart keeps it."""
    wished = at("09:00", "01", event="advice", is_="not now", step="soak load 1", minutes=45)
    day = day_of([wished])
    again: Day = fold(plan_with(), events([wished]))
    assert day.wishes == again.wishes != ()
    one, other = (forecast(d, now("09:05"), evaluations=20) for d in (day, again))
    assert one.steps == other.steps


def test_an_answer_of_nothing_is_not_advice_to_leave() -> None:
    """With no batch there is nothing to keep."""
    empty = Solution((), Value(0, 0, 540), 0)
    problem = Problem(540, ((540, None),), 1080, (), ())
    assert advised(problem, END, empty, ())[0] is empty


def test_the_finish_is_never_before_now() -> None:
    """Long after midnight, with yarn still soaking."""
    found = ahead([at("09:00", "01", to="soak", unit="tray 1")], "26:00")
    assert found.finish >= instant("26:00")
    assert found.finish - found.at.utc < timedelta(days=1)


@pytest.mark.parametrize("stop_min", range(15 * 60 + 30, 16 * 60, 5))
def test_a_day_that_is_all_rinsed_by_stop_is_not_said_to_last_longer(stop_min: int) -> None:
    """Of the two answers the one that was found ends the day for both; here no chore comes after."""
    plan = replace(SHORT, session=replace(SHORT.session, stop_min=stop_min, zone="UTC"))
    found = forecast(begin(plan), FakeClock()(), evaluations=30, warn=False)
    assert found.reached < found.of or found.finish <= found.stop


def test_ready_work_is_among_the_first_three_lines_also_where_chores_come_before_it() -> None:
    """03 has soaked while six chores stand before its paint in the day's order."""
    plan = with_chores(*(Chore(f"tie {n}", 5, ChorePer.BATCH, ChoreWhen.BEFORE_SOAK) for n in range(3)))
    day = day_of(soaked("03", "08:00")[:2], plan)
    found = forecast(day, now("09:00"), evaluations=40)
    steps = [step for step in found.next_steps if step.batch != "03"][:6]
    late = [replace(step, start=step.start + timedelta(hours=3)) for step in found.next_steps if step.batch == "03"]
    lines = advice(day, now("09:00"), 8, replace(found, steps=(*steps, *late)))
    assert [line.about for line in lines[:3]].count("03") == 1
    assert lines[2].about == "03"
    assert lines[2].mark == "*"


def test_a_later_step_names_no_unit_that_other_yarn_is_in_and_its_time_if_it_is_not_soon() -> None:
    plan = with_chores(Chore("tie", 5, ChorePer.BATCH, ChoreWhen.BEFORE_SOAK))
    free, taken = (day_of(lines, plan) for lines in ([], soaked("03", "08:55")[:2]))
    found = forecast(free, now("09:00"), evaluations=40)
    tie = next(step for step in found.next_steps if step.is_chore and step.batch != "03")
    load = next(step for step in found.next_steps if step.batch == tie.batch and step.kind is StepKind.SOAK_LOAD)
    steps = tuple(replace(step, unit="tray 1") if step is load else step for step in found.steps)
    assert reason(tie, replace(found, steps=steps), free) == "then into the soak in tray 1"
    assert reason(tie, replace(found, steps=steps), taken) == "then into the soak"
    late = replace(load, unit="tray 1", start=load.start + timedelta(hours=2), end=load.end + timedelta(hours=2))
    steps = tuple(late if step is load else step for step in found.steps)
    at_two_hours = f"then at {free.time_text(late.start)} into the soak"
    assert reason(tie, replace(found, steps=steps), free) == at_two_hours


def test_a_lots_chore_is_named_with_the_batches_that_wait_for_it() -> None:
    """Two lots may be mixed one after the other: which one is done must be said before it is recorded."""
    found = ahead(plan=SHORT, evaluations=20)
    mixes = [chore_text(step, found) for step in found.steps if step.is_chore and not step.batch]
    assert sorted(mixes) == ["mix liquor for 01, 02", "mix liquor for 03", "mix liquor for 04", "mix liquor for 05"]
    tied = next(step for step in found.steps if step.is_chore and step.batch == "03")
    assert chore_text(tied, found) == "03 tie and count"


def test_a_chore_of_yarn_that_simmers_already_is_not_followed_by_heat_on() -> None:
    """Dyed and switched on in one entry, for the moment until the next forecast."""
    plan = read_plan(HEAVY_DAY.read_text(encoding="utf-8").replace("date = 2026-05-09", "date = 2026-04-18"))
    on = {"batches": ["09"], "to": "paint", "unit": "stockpot 1", "pass": 1, "run": "start"}
    soaks = at("09:00", "09", to="soak", unit="tray 1")
    before, after = (day_of(lines, plan) for lines in ([soaks], [soaks, at("10:00", event="load", **on)]))
    found = forecast(before, now("10:00"), evaluations=20)
    cover = next(s for s in found.steps if s.batch == "09" and s.id.when is ChoreWhen.AFTER_PAINT)
    assert reason(cover, found, before) == "then heat on in stockpot 1"
    assert "heat on" not in reason(cover, found, after)


def test_a_batch_that_dries_between_two_layers_is_neither_rinsed_nor_finished() -> None:
    """05 hangs after its wash and has its speckle to come: it counts once, as work that is left."""
    cooled = [*soaked("05"), *heated("05", "10:30", "11:20")]
    day = day_of([*cooled, at("12:10", "05", to="dry", unit="pegs 1")])
    before, after = ahead(cooled, "12:10"), forecast(day, now("12:10"), evaluations=40)
    assert (before.of, after.of) == (len(day.batches), len(day.batches))
    assert after.reached + len(after.not_by_stop) == after.of
    assert not day.batches["05"].only_dries
    assert hanging_text(day) == ""
    others = [at("12:15", no, to="scrapped") for no in day.batches if no != "05"]
    alone = [*cooled, at("12:10", "05", to="dry", unit="pegs 1"), *others]
    assert ended_at(day_of(alone)) is None


def test_a_load_keeps_its_unit_busy_once_and_from_now_on_if_it_is_under_way() -> None:
    """Two batches are put on in one steamer, which is busy for as long as either is in it."""
    steamer = "steamer 1"
    loaded = [
        line
        for no, tray in (("07", "tray 1"), ("10", "tray 2"))
        for line in (
            *soaked(no, unit=tray),
            at("10:10", no, to="fix"),
            at("10:10", no, heat_no=1, run="start", unit=steamer),
        )
    ]
    day = day_of(loaded)
    day = without_batches(day, [no for no in day.batches if no not in ("07", "10")])
    found = forecast(day, now("10:30"), evaluations=60, warn=False)
    out = max(step.end for step in found.steps if step.kind is StepKind.UNLOAD)
    span = found.finish - found.at.utc
    assert dict(found.busy)[steamer] == pytest.approx((out - found.at.utc) / span)
    assert 0 < dict(found.busy)["hands"] < 1


def test_the_schedule_soaks_yarn_in_acid_apart_from_yarn_that_gets_its_acid_later() -> None:
    """One tray for 40 skeins has room for all, but its bath has acid or not."""
    kit = tuple(replace(k, units=1, holds_skeins=40) if k.kind is KitKind.TRAY else k for k in plan_with().kit)
    found = ahead(plan=replace(plan_with(), kit=kit))
    soaks = [(s.batch in {"03", "07", "11"}, s.start, s.end) for s in found.steps if s.kind is StepKind.SOAK]
    bare, acid = ([(a, b) for is_bare, a, b in soaks if is_bare is way] for way in (True, False))
    assert bare
    assert not [(one, other) for one in bare for other in acid if one[0] < other[1] and other[0] < one[1]]


def test_dried_yarn_is_named_to_be_taken_down_behind_the_steps_of_the_forecast() -> None:
    """The forecast plans no work at the pegs; without a line for it the list ended with what it plans."""
    day, time = day_of([at("09:00", "01", to="dry", unit="pegs 1")]), now("09:00").later(25 * 3600)
    lines = advice(day, time, 99, forecast(day, time, evaluations=1))
    assert lines[-1].do.startswith("take down")
    assert [line.about for line in lines if line.do.startswith("take down")] == ["01"]


def test_a_chore_that_goes_before_ready_rinses_says_that_it_fits_before_the_next_heat_and_they_do_not() -> None:
    """08 is cool; three minutes are left until heat: enough for a chore of two, not for a rinse of eight."""
    plan = with_chores(Chore("tie", 2, ChorePer.BATCH, ChoreWhen.BEFORE_SOAK))
    day = day_of([*soaked("08", "08:00"), *heated("08", "09:00", "10:00")], plan)
    found = forecast(day, now("12:30"), evaluations=40)
    at = found.at.utc
    chore, load, rinse = (
        next(step for step in found.steps if step.kind is kind)
        for kind in (StepKind.CHORE, StepKind.LOAD, StepKind.RINSE)
    )
    three, eleven = at + timedelta(minutes=3), at + timedelta(minutes=11)
    first = replace(chore, start=at, end=at + timedelta(minutes=2))
    rest = (replace(load, start=three, end=three), replace(rinse, start=three, end=eleven))
    others = tuple(step for step in found.steps if step.kind is StepKind.HEAT)
    assert rinse.batch == "08"
    fits = reason(first, replace(found, steps=(first, *rest, *others)), day)
    assert fits == f"fits before {day.time_text(three)}, rinsing 08 does not"
    short = (rest[0], replace(rinse, start=three, end=three + timedelta(minutes=2)))
    assert "rinsing" not in reason(first, replace(found, steps=(first, *short, *others)), day)
