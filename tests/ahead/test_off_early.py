"""Heat that is on goes off before a break, an absence, the stop or a low tank would meet it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from dyeday.ahead.advising.advice import DAY_CAN_END, advice
from dyeday.ahead.advising.reasons import timed_reason
from dyeday.ahead.forecast import forecast
from dyeday.ahead.foreseen_steps import Forecast
from dyeday.ahead.from_day import both_problems, problem_of
from dyeday.ahead.heat_first import loads_that_wait
from dyeday.ahead.problem_parts.mid_heat import hands_steps
from dyeday.ahead.warnings import foreseen
from dyeday.paper.sheets.day_chart import BarKind, coming_bars
from dyeday.paper.sheets.forecast_lines import table_lines
from dyeday.plan.model import Chore, Plan, Spans
from dyeday.plan.step_ids import StepId
from dyeday.terms import AdviceAction, ChorePer, ChoreWhen, DayAim, FlagId, KitKind, State, StepKind, WarningKind
from dyeday.track.day.day_state import AdviceWish, Day
from dyeday.track.flags import RULES
from dyeday.track.timestamp import Moment
from tests.track.days import Line, at, day_of, heated, instant, now, plan_with, soaked

ON = [*soaked(), *heated()[:2]]
"""batch 01 in heat: 40 min of steam after 10 min of warm-up, on at 10:30, so until 11:20"""
QUARTER = timedelta(minutes=15)
HEAT = (StepKind.LOAD, StepKind.HEAT, StepKind.UNLOAD)


def plan_of(**session: Any) -> Plan:
    plan = plan_with()
    return replace(plan, batches=plan.batches[:1], session=replace(plan.session, **session))


def heats(found: Forecast, batch: str = "01") -> list[tuple[str, str, str]]:
    return [
        (step.id.words, f"{step.start:%H:%M}", f"{step.end:%H:%M}")
        for step in found.steps
        if step.batch == batch and step.kind in HEAT
    ]


def first_row(day: Day, time: str, found: Forecast) -> tuple[str, str]:
    item = advice(day, now(time), 3, found)[0]
    return item.do, item.why


def looked(lines: list[Line], plan: Plan, time: str = "10:50") -> tuple[Day, Forecast]:
    day = day_of(lines, plan)
    return day, forecast(day, now(time), evaluations=10)


@pytest.mark.parametrize("away", ["breaks", "out"])
def test_heat_that_would_end_while_hands_are_away_goes_off_before_and_on_again_after(away: str) -> None:
    """28 of 40 min by 11:08; from 11:40 the same steamer gives the other 12 after its warm-up."""
    day, found = looked(ON, plan_of(**{away: ((670, 700),)}))
    assert heats(found) == [
        ("1st heat off for now", "11:08", "11:10"),
        ("1st heat on", "11:40", "11:41"),
        ("1st heat", "11:41", "12:03"),
        ("1st heat off", "12:03", "12:05"),
    ]
    rows = [line.split(maxsplit=3)[3].partition("  ")[0] for line in table_lines(found, day) if " heat o" in line]
    # Its yarn has stayed in the steamer: nothing is loaded.
    assert rows == ["1st heat off for now", "heat on again 11:41", "heat off again"]
    cause = "you leave" if away == "out" else "your break is"
    why = f"{cause} at 11:10; 28 of 40 min by then, 12 more after it"
    assert first_row(day, "10:50", found) == ("heat off steamer 1", f"11:08: {why}")
    on = [bar for bar in coming_bars(found, day) if bar.kind is BarKind.HEAT]
    assert [(f"{bar.start:%H:%M}", f"{bar.end:%H:%M}") for bar in on] == [("11:41", "12:03"), ("10:50", "11:08")]
    after = foreseen(day, found.steps, found.at.utc)
    assert after.batches["01"].state is State.DRY
    assert not list(RULES[FlagId.SHORT_FIX].find(after, after.batches["01"], Moment(instant("23:00"))))


def test_heat_that_has_enough_minutes_by_then_is_taken_out_before_the_break() -> None:
    """37 of 40 min are more than nine tenths."""
    day, found = looked(ON, plan_of(breaks=((679, 700),)))
    assert heats(found) == [("1st heat off", "11:17", "11:19")]
    assert first_row(day, "10:50", found)[1] == "11:17: your break is at 11:19; 37 of 40 min by then, enough"


def test_minutes_from_before_heat_broke_off_count_though_it_only_warms_up_again() -> None:
    """20 of 40 min by 11:00; on again at 11:55 with 10 min of warm-up, and off at 11:58 for a break at 12:00."""
    off, on = (at(time, "01", heat_no=1, run=run) for time, run in (("11:00", "end"), ("11:55", "start")))
    day, found = looked([*ON, off, {**on, "unit": "steamer 1"}], plan_of(breaks=((720, 760),)), "11:56")
    assert "20 of 40 min by then, 20 more" in first_row(day, "11:56", found)[1]
    assert heats(found)[2:] == [("1st heat", "12:41", "13:11"), ("1st heat off", "13:11", "13:13")]


def test_acid_that_was_put_in_before_heat_broke_off_is_not_asked_for_again() -> None:
    """The 2nd and last half of the pot's 90 mL goes in as it simmers at 10:12, and the heat breaks off at 10:25."""
    plan = plan_with(more='[water]\nalkalinity = "120 mg/L"')
    plan = replace(plan, batches=tuple(batch for batch in plan.batches if batch.no == "03"))
    pour = {"event": "acid put in", "unit": "pot 1", "acid_ml": 45}
    run = {"heat_no": 1, "unit": "pot 1"}
    lines = [at("10:00", "03", to="paint", unit="pot 1"), at("10:00", **pour), at("10:02", "03", to="fix")]
    lines += [at("10:02", "03", run="start", **run), at("10:20", **pour)]
    lines += [at("10:25", "03", heat_no=1, run="end"), at("10:40", "03", run="start", **run)]

    def asked(lines: list[Line], time: str) -> list[int]:
        day, found = looked(lines, plan, time)
        return [step.id.part for step in hands_steps(day, found) if step.kind is StepKind.ACID]

    assert asked(lines[:4], "10:15") == asked([*lines[:4], at("10:14", **pour | {"acid_ml": 20})], "10:15") == [0]
    assert [asked(lines[:n], time) for n, time in ((5, "10:21"), (6, "10:30"), (7, "10:41"))] == [[], [], []]


def test_acid_for_the_simmer_is_due_by_the_simmer_that_was_recorded() -> None:
    """Ten minutes to warm up, but it simmers after three."""
    plan = plan_with(more='[water]\nalkalinity = "120 mg/L"')
    plan = replace(plan, batches=tuple(batch for batch in plan.batches if batch.no == "03"))
    lines = [at("10:00", "03", to="paint", unit="pot 1"), at("10:00", event="acid put in", unit="pot 1", acid_ml=40)]
    lines += [at("10:02", "03", to="fix"), at("10:02", "03", run="start", heat_no=1, unit="pot 1")]
    day, found = looked([*lines, at("10:05", "03", run="heat", heat_no=1)], plan, "10:06")
    assert [step.start for step in hands_steps(day, found) if step.kind is StepKind.ACID] == [instant("10:06")]


@pytest.mark.parametrize("done", [1, 2])
def test_pots_still_to_take_their_turn_are_those_of_the_microwave_the_yarn_is_in(done: int) -> None:
    """Three skeins take three turns of 2 min in one microwave, and one turn in the plan's first."""
    plan = plan_with()
    oven = next(kit for kit in plan.kit if kit.kind is KitKind.MICROWAVE)
    kit = [replace(oven, holds_skeins=4), replace(oven, name="small", holds_skeins=1)]
    plan = replace(plan, kit=(*kit, *(kit for kit in plan.kit if kit is not oven)))
    lines = [*soaked("04"), at("10:30", "04", to="fix")]
    for n in range(done):
        lines.append(at(f"10:3{3 * n}", "04", heat_no=1, run="start", unit="small 1"))
        lines.append(at(f"10:3{3 * n + 2}", "04", heat_no=1, run="end"))
    problem = problem_of(day_of(lines, plan), now("10:36"), for_end=True)
    (batch,) = (batch for batch in problem.batches if batch.id == "04")
    assert [step.minutes for step in batch.steps if step.id == StepId(StepKind.HEAT, 1, 1)] == [2 * (3 - done)]


@pytest.mark.parametrize("pause", [(682, 700), (665, 675)])
def test_heat_that_ends_before_a_break_or_goes_on_through_it_has_all_its_minutes(pause: tuple[int, int]) -> None:
    """11:20 and two minutes to unload are before 11:22, and after a break from 11:05 to 11:15."""
    day, found = looked(ON, plan_of(breaks=(pause,)))
    assert heats(found) == [("1st heat off", "11:20", "11:22")]
    assert first_row(day, "10:50", found)[1].startswith("11:20: its heat ")


def test_heat_on_in_an_empty_house_is_not_planned_even_if_it_ends_after() -> None:
    """Out from 11:05 to 11:15: off by then, and 15 min more at home."""
    _, found = looked(ON, plan_of(out=((665, 675),)))
    assert heats(found)[0] == ("1st heat off for now", "11:03", "11:05")
    assert heats(found)[1][1] >= "11:15"


@pytest.mark.parametrize("since", [620, 635])
@pytest.mark.parametrize("away", ["breaks", "out"])
def test_heat_that_is_on_in_a_break_all_the_same_goes_off_on_its_minute(away: str, since: int) -> None:
    """On at 10:30, asked at 10:50, back at 11:40. No other work is planned before then."""
    plan = replace(plan_of(**{away: ((since, 700),)}), batches=plan_with().batches[:2])
    _, found = looked(ON, plan)
    assert heats(found)[0] == ("1st heat off", "11:20", "11:22")
    hands = [f"{step.start:%H:%M}" for step in found.steps if step.attended and step.batch == "02"]
    assert min(hands) == "11:40"
    remedies = [warned.do for warned in found.warned if warned.kind is WarningKind.LEFT_ALONE]
    assert remedies == (["turn it off, or stay"] if away == "out" else [])
    said = advice(day_of(ON, plan), now("10:50"), 5, found)[0]
    assert ((said.about, said.do) == ("01", "turn it off, or stay")) is (away == "out")


def by_stop(stop_min: int, *chores: Chore) -> Plan:
    plan = plan_of(stop_min=stop_min)
    return replace(plan, chores=chores, session=replace(plan.session, aim=DayAim.BY_STOP))


def test_heat_that_is_on_after_the_stop_goes_off_tonight_and_the_day_cannot_end_before() -> None:
    """Off at 11:20, an hour after the stop; then the yarn waits for tomorrow's rinse."""
    day, found = looked(ON, by_stop(620))
    assert heats(found) == [("1st heat off", "11:20", "11:22")]
    assert first_row(day, "10:50", found) == ("heat off steamer 1", "11:20: its heat ends")
    day, found = looked([*ON, *heated()[2:]], by_stop(620), "11:25")
    assert first_row(day, "11:25", found)[0] == DAY_CAN_END


@pytest.mark.parametrize(
    ("stop_min", "wiped", "first"),
    [
        (715, "11:22", ("heat off steamer 1", "11:20: its heat ends")),
        (710, "10:50", ("wipe down", "it ends the day")),
    ],
)
def test_the_chores_that_end_the_day_take_no_minute_from_heat(
    stop_min: int, wiped: str, first: tuple[str, str]
) -> None:
    """Half an hour of wiping down before a stop at 11:55 or 11:50 comes after heat until 11:20, or before its end."""
    wipe = Chore("wipe down", 30, ChorePer.DAY, ChoreWhen.END_OF_DAY)
    day, found = looked(ON, by_stop(stop_min, wipe))
    assert heats(found) == [("1st heat off", "11:20", "11:22")]
    last = next(step for step in found.steps if step.id.chore == wipe.name)
    assert f"{last.start:%H:%M}" == wiped
    assert first_row(day, "10:50", found) == first


def test_heat_ends_before_you_leave_after_the_stop_too() -> None:
    """The stop is at 11:00 and heat is due at 11:20: you may wait for it, but not out of the house from 11:10."""
    _, waits = looked(ON, plan_of(stop_min=660))
    _, leaves = looked(ON, plan_of(stop_min=660, out=((670, 760),)))
    assert [heat[1] for heat in heats(waits)] == ["11:20"]
    assert heats(leaves)[0][1] == "11:08"


@pytest.mark.parametrize("stop_min", [620, 665, 685, 1080])
@pytest.mark.parametrize("out", [(), ((670, 700),), ((640, 700),)])
def test_both_questions_are_about_one_day(stop_min: int, out: Spans) -> None:
    """One of them is made from the other, but where the stop takes heat off that goes on in an open evening."""
    day = day_of(ON, plan_of(stop_min=stop_min, out=out))
    ways = [problem_of(day, now("10:50"), for_end=for_end) for for_end in (True, False)]
    assert list(both_problems(day, now("10:50"), {})) == ways


@pytest.mark.parametrize(
    ("since", "painted", "offs"),
    [
        ("10:20", "10:30", ["11:20", "11:22"]),
        ("10:20", "11:10", ["11:22", "11:24"]),
        ("10:25", "11:15", ["11:20", "11:25"]),
    ],
)
def test_two_heats_that_end_in_a_break_go_off_one_after_the_other(since: str, painted: str, offs: list[str]) -> None:
    """05 takes 12 min to paint, some of it in the break: hands come behind its last skein, or between two."""
    lines = [*ON, *soaked("02", until="10:20"), *heated("02", since=since, unit="steamer 2")[:2]]
    lines += soaked("05", until=painted, unit="tray 2")
    plan = replace(
        plan_of(breaks=((620, 800),)), batches=tuple(b for b in plan_with().batches if b.no in ("01", "02", "05"))
    )
    _, found = looked(sorted(lines, key=lambda line: line["at"]), plan, "11:19")
    assert sorted(heat[1] for batch in ("01", "02") for heat in heats(found, batch)) == offs


@pytest.mark.parametrize(
    ("opens", "off"), [(685, ("1st heat off", "11:25")), (686, ("1st heat off for now", "10:58"))]
)
def test_heat_that_ends_five_minutes_before_a_break_does_stays_on_until_then(
    opens: int, off: tuple[str, str]
) -> None:
    """Until 11:20, in a break from 11:00: stopping it at 18 of 40 min costs more than five minutes too many."""
    _, found = looked(ON, plan_of(breaks=((660, opens),)))
    assert heats(found)[0][:2] == off


def test_heat_beyond_the_stop_is_waited_for_within_the_hour() -> None:
    """Fifteen minutes more at home bring all its minutes; an evening that stays open has them in any case."""
    plan = replace(plan_of(stop_min=665), batches=plan_with().batches[:2])
    for aim in (DayAim.BY_STOP, DayAim.TONIGHT):
        _, found = looked(ON, replace(plan, session=replace(plan.session, aim=aim)))
        assert heats(found)[0] == ("1st heat off", "11:20", "11:22")


def test_heat_beyond_the_stop_by_more_than_an_hour_goes_off_at_the_stop_and_on_in_the_morning() -> None:
    """110 min of steam, of which 25 are over by 11:05."""
    plan = replace(plan_of(stop_min=665), batches=plan_with().batches[:1])
    (layer,) = plan.colourways[0].layers
    long = replace(plan.colourways[0], layers=(replace(layer, fix=(replace(layer.fix[0], minutes=110.0),)),))
    plan = replace(plan, colourways=(long, *plan.colourways[1:]))
    day, found = looked(ON, replace(plan, session=replace(plan.session, aim=DayAim.BY_STOP)))
    off, on = [step for step in found.steps if step.batch == "01" and step.kind in HEAT][:2]
    assert (off.id.words, f"{off.start:%d %H:%M}", f"{on.start:%d}") == ("1st heat off for now", "18 11:03", "19")
    assert "you stop at 11:05" in next(item.why for item in advice(day, now("10:50"), 5, found) if item.about == "01")


def test_heat_begun_on_a_low_tank_goes_off_at_its_reserve_and_on_once_it_is_filled() -> None:
    """Steamer 1 ran for 50 of the 80 min to its reserve: 02, on at 11:25, has 20 of 50 min at 11:55.

    Filled at 11:40 it has 5 of 50 min, and goes on with the others 5 min later.
    """
    lines = [
        *soaked(), *heated(), *soaked("02", until="11:10"), *heated("02", since="11:25")[:2],
    ]  # fmt: skip
    plan = replace(plan_of(), batches=plan_with().batches[:2])
    day, found = looked(lines, plan, "11:30")
    assert heats(found, "02")[:2] == [
        ("1st heat off for now", "11:55", "11:57"),
        ("1st heat on", "11:57", "12:01"),
    ]
    (line,) = [item for item in advice(day, now("11:30"), 5, found) if item.about in ("02", "steamer 1")]
    assert (line.about, line.do) == ("steamer 1", "fill tank to 2 L")
    assert line.why == "low at 11:55: off, boiling water, on again; 02 has 20 of 50 min by then"
    filled = [*lines, at("11:40", unit="steamer 1", event="unit", **{"is": "topped up"})]
    _, found = looked(filled, plan, "11:41")
    assert heats(found, "02") == [("1st heat off", "12:30", "12:32")]


def test_until_the_next_forecast_a_unit_or_batch_with_a_new_entry_has_only_the_day_s_own_step() -> None:
    """02 is on heat with 5 of 50 min: by the forecast before its tank was filled it goes off and on again."""
    lines = [
        *soaked(), *heated(), *soaked("02", until="11:10"), *heated("02", since="11:25")[:2],
    ]  # fmt: skip
    plan = replace(plan_of(), batches=plan_with().batches[:2])
    _, before = looked(lines, plan, "11:39")
    day = day_of([*lines, at("11:40", unit="steamer 1", event="unit", **{"is": "topped up"})], plan)
    about = {about for item in advice(day, now("11:41"), 9, before) for about in item.abouts}
    assert not about & {"02", "steamer 1"}
    soaking = [at("09:00", "01", to="soak", unit="tray 1")]
    _, before = looked(soaking, plan, "09:20")
    read = day_of([*soaking, at("09:21", "01", reading="ph", value=4.5)], plan)
    assert [item.do for item in advice(read, now("10:01"), 9, before) if item.about == "01"] == ["paint"]


def test_heat_that_ends_while_the_last_chores_keep_you_there_goes_on_today() -> None:
    """Steam from 10:35 is over at 11:25; 30 min of chores end the day at 11:30, and there is nothing else to do."""
    wipe = Chore("wipe down", 30, ChorePer.DAY, ChoreWhen.END_OF_DAY)
    plan = replace(plan_of(stop_min=690, aim=DayAim.BY_STOP), chores=(wipe,))
    lines = [*soaked(), at("10:25", "01", event="covered", cover="wrapped")]
    day, found = looked(lines, plan, "10:29")
    assert first_row(day, "10:29", found)[0] == "heat on in steamer 1"
    assert [load.start.day for load in found.steps if load.kind is StepKind.LOAD] == [18]
    chore = next(step for step in found.steps if step.is_chore)
    assert f"{chore.start:%d %H:%M}" == "18 10:35"
    assert heats(found)[-1] == ("1st heat off", "11:25", "11:27")
    _, later = looked(lines, plan, "10:45")
    assert [load.start.day for load in later.steps if load.kind is StepKind.LOAD] == [19]


def test_heat_that_can_go_on_now_comes_before_long_work_in_list_and_timetable() -> None:
    """Steamer 1 is free for 01; a search this short would have yarn soaked and mixed for first, until 10:41."""
    soaks = [at("09:00", "02", to="soak", unit="tray 2"), at("09:05", "03", to="soak", unit="tray 3")]
    lines = [*soaked(), *soaks, at("10:25", "01", event="covered", cover="wrapped")]
    plan = plan_with()
    day = day_of(lines, replace(plan, session=replace(plan.session, stop_min=20 * 60)))
    found = forecast(day, now("10:29"), evaluations=40)
    first, *rest = found.next_steps
    assert (first.owner, first.kind, first.unit) == ("01", StepKind.LOAD, "steamer 1")
    assert forecast(day, now("10:29"), evaluations=40) == found
    items = advice(day, now("10:29"), 3, found)
    assert (items[0].about, items[0].do) == ("01", "heat on in steamer 1")
    assert items[1].begin == rest[0].start


def test_each_question_about_a_heat_that_comes_first_has_its_own_time_too() -> None:
    """Two questions, and the same two with 02's heat first, however little was asked of them before."""
    lines = [*soaked(), at("10:00", "01", to="fix"), *soaked("02", unit="tray 2"), at("10:30", "02", to="fix")]
    asked: list[bool] = []

    def budget() -> Callable[[], bool]:
        asked.append(True)
        return lambda: True

    forecast(day_of(lines), now("10:31"), budget=budget)
    assert len(asked) == 4


def test_only_yarn_that_waits_behind_long_work_for_heat_of_its_own_is_put_first() -> None:
    """Tying takes a quarter of an hour, and steamer 1 is free: 50 min of steam from 10:34 on, not from 10:50."""
    day, found = looked([*soaked(), at("10:25", "01", event="covered", cover="wrapped")], plan_of(), "10:29")
    load, heat, *rest = (step for step in found.steps if step.batch == "01")
    later = [replace(step, start=step.start + QUARTER, end=step.end + QUARTER) for step in (load, heat)]
    tie = replace(load, owner="02", id=StepId(StepKind.CHORE, chore="tie"), unit=None, end=load.start + QUARTER)
    tied_first = replace(found, steps=(tie, *later, *rest))
    assert loads_that_wait(found, day) == []
    assert loads_that_wait(tied_first, day) == [later[0]]
    shared = replace(later[1], owner="02", start=later[1].start + timedelta(minutes=1))
    assert loads_that_wait(replace(found, steps=(tie, *later, shared, *rest)), day) == []
    wish = AdviceWish(now("10:28"), "01", AdviceAction.THIS_FIRST, load.id, 30.0)
    assert loads_that_wait(tied_first, replace(day, wishes=(wish,))) == []


@pytest.mark.parametrize(("time", "first"), [("11:20", "01"), ("11:30", "01"), ("11:10", "11")])
def test_heat_that_is_over_goes_off_before_any_other_work(time: str, first: str) -> None:
    """Soaking 11 takes two minutes, and the end comes no later for it; but each new minute would say so again."""
    soaks = [at("09:00", "02", to="soak", unit="tray 2"), at("09:05", "03", to="soak", unit="tray 3")]
    found = forecast(day_of([*ON, *soaks]), now(time), evaluations=5)
    assert found.next_steps[0].owner == first
    if first == "01":
        assert (found.next_steps[0].kind, found.next_steps[0].start) == (StepKind.UNLOAD, instant(time))


@pytest.mark.parametrize(
    ("time", "says"), [("11:17:00", "11:20: its heat ends"), ("11:20:10", "its heat ends at 11:20")]
)
def test_heat_ends_in_the_minute_that_clocks_show_then(time: str, says: str) -> None:
    """It has its minutes at 11:20:28; a timer says "3 min left" at 11:17, so timetable and list say 11:20."""
    on = [*soaked(), at("10:30:28", "01", to="fix"), at("10:30:28", "01", heat_no=1, run="start", unit="steamer 1")]
    day, found = looked(on, plan_of(), time)
    (off,) = (step for step in found.steps if step.kind is StepKind.UNLOAD)
    assert off.start == instant("11:20")
    assert timed_reason(off, found, day) == says
