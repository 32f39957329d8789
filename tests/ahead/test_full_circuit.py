"""What is advised where two steamers and a microwave are on one lead of 13 A: 17.4 A are never advised at once."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta

import pytest

from dyeday.ahead.advising.advice import advice, advised_steps
from dyeday.ahead.advising.next_step import next_step
from dyeday.ahead.advising.next_up import next_up
from dyeday.ahead.advising.reasons import timed_reason, with_change_reason
from dyeday.ahead.advising.still_to_do import to_do
from dyeday.ahead.forecast import forecast
from dyeday.bench.view.bench_view import fit_text
from dyeday.plan.reading.plan_reader import read_plan
from dyeday.plan.step_ids import StepId
from dyeday.terms import AdviceAction, KitKind, StepKind
from dyeday.track.day.day_state import Event
from dyeday.track.events.remarks import AdviceWished
from dyeday.track.events.rewriting import Undone
from dyeday.track.flags.circuits import overload_with
from tests.fakes import HEAVY_DAY
from tests.track.days import Line, at, day_of, heated, now, soaked

PLAN = read_plan(
    HEAVY_DAY.with_name("late-night.toml").read_text(encoding="utf-8").replace("2026-10-16", "2026-04-18")
)


def painted(no: str, tray: str, since: str) -> list[Line]:
    soak = at("13:00", event="load", batches=[no], to="soak", unit=tray, water="new", acid_ml=75)
    return [soak, at(since, no, to="paint")]


def heat_on(time: str, no: str, heat_no: int, unit: str) -> Line:
    return at(time, event="load", batches=[no], to="fix", unit=unit, heat_no=heat_no, run="start")


BURSTS = [
    *painted("10", "tray 1", "13:20"),
    heat_on("13:32", "10", 1, "microwave 1"),
    *painted("11", "tray 3", "13:34"),
    heat_on("13:42", "10", 2, "microwave 1"),
    heat_on("13:55", "10", 3, "steamer 1"),
    heat_on("13:55", "11", 1, "microwave 1"),
    *painted("09", "tray 2", "13:55"),
    heat_on("14:03", "11", 2, "microwave 1"),
    heat_on("14:16", "09", 1, "microwave 1"),
]
"""10 steams until 14:35, 11 had its bursts, 09 is in the microwave until 14:20"""
STEAMED = [*BURSTS, heat_on("14:23", "11", 3, "steamer 2")]


def test_a_unit_that_is_loaded_while_its_circuit_is_full_is_advised_with_the_time_it_may_go_on() -> None:
    """Steamer 2 is filled and loaded from 14:16 on; steamer 1 and the microwave are on until 14:20."""
    day, moment = day_of(BURSTS, PLAN), now("14:16")
    assert overload_with(day, "steamer 2", moment)
    found = forecast(day, moment, evaluations=60)
    lines = advice(day, moment, 3, found)
    (line,) = [item for item in lines if item.about == "11"]
    assert line.do == "heat on in steamer 2"
    assert lines[0] is not line, "return does what stands first"
    assert advised_steps(day, moment, 3, found)[0].batch == lines[0].about, "and *not now* puts that off"
    assert re.fullmatch(r"not before 14:2\d, shed is full until then", line.why)
    later = now("14:21")
    assert not overload_with(day, "steamer 2", later)
    (line,) = [item for item in advice(day, later, 3, forecast(day, later, evaluations=60)) if item.about == "11"]
    assert "full" not in line.why


def test_yarn_that_has_rested_is_not_put_first_while_its_circuit_is_full() -> None:
    """Two steamers are on: nothing hands can do for 09 but wait. Where one is on, its second burst comes first."""
    for lines, comes in ((STEAMED, False), (BURSTS, True)):
        day, moment = day_of(lines, PLAN), now("14:24")
        about = [item.about for item in next_up(day, moment)]
        assert ("09" in about) is comes
        found = forecast(day, moment, evaluations=60)
        first = advice(day, moment, 3, found)[0]
        assert first.about != "09" or comes


def test_a_dish_that_the_microwave_is_done_with_is_not_to_be_taken_out_for_ever() -> None:
    """No entry is made as it is taken out: two minutes of hands from 14:20, none at half past."""
    found = forecast(day_of(BURSTS, PLAN), now("14:30"), evaluations=20)
    kinds = {(step.kind, step.heat_no) for step in found.steps if step.batch == "09"}
    assert (StepKind.UNLOAD, 1) not in kinds
    assert (StepKind.LOAD, 2) in kinds


def test_the_next_dish_goes_in_where_the_one_before_was_done_by_itself() -> None:
    """11 rests in the microwave since 14:07, though no entry says so: 12 need not wait for a microwave."""
    lines = [line for line in BURSTS if line.get("batches") != ["09"]] + painted("12", "tray 4", "14:00")
    step = next_step(day := day_of(lines, PLAN), day.batches["12"], now("14:16"))
    assert step is not None
    assert step.unit == "microwave 1"
    early = next_step(day, day.batches["12"], now("14:05"))
    assert early is not None
    assert early.text == "wait for a microwave"


def test_a_steamer_that_is_on_is_foreseen_off_in_its_time_though_it_is_emptied_later() -> None:
    """Steamer 1 is due at 14:35: a microwave going on before the yarn is lifted is not an overload."""
    for time in ("14:23", "14:26", "14:33"):
        moment = now(time)
        found = forecast(day_of(STEAMED, PLAN), moment, evaluations=30)
        assert [warned for warned in found.warned if "overload" in warned.text] == []


def test_a_change_of_advice_names_what_is_still_to_be_begun() -> None:
    """What is left of 09's painting after a knob was turned is not a step of its own."""
    lines = [line for line in BURSTS if line.get("batches") != ["09"] or line["to"] == "soak"]
    day, moment = day_of(lines, PLAN), now("14:03")
    found = forecast(day, moment, evaluations=30)
    first, second = [s for s in found.next_steps if to_do(s, day) and s.batch not in ("", "09")][:2]
    rest = replace(first, owner="09", id=StepId(StepKind.PAINT, 1, part=1), unit=None)
    before = replace(found, steps=(second, first))
    after = with_change_reason(replace(found, steps=(rest, first, second)), before, "you would wait 9 min", day)
    assert after.changed.startswith(f"advice changed: {first.batch} ")
    # A soak of more than a day is not advised, so it is not named.
    soak = replace(first, owner="14", id=StepId(StepKind.SOAK_LOAD, 1))
    dyed_at = soak.start + timedelta(hours=30)
    dye = replace(soak, id=StepId(StepKind.PAINT, 1), start=dyed_at, end=dyed_at + timedelta(hours=1))
    waits = with_change_reason(replace(found, steps=(soak, first, second, dye)), before, "1 batch more", day)
    assert waits.changed.startswith(f"advice changed: {first.batch} ")
    for minutes, changes in ((-1, True), (1, False)):
        undone = Event("undone", Undone(target_id="none"), moment.utc, moment.later(60 * minutes).utc)
        rewritten = replace(day, events=(*day.events, undone))
        again = with_change_reason(
            replace(found, steps=(rest, first, second)), before, "you would wait 9 min", rewritten
        )
        assert (again.changed != "") is changes
    wish = AdviceWished(what=AdviceAction.THIS_FIRST, step=first.id.text)
    asked = replace(day, events=(*day.events, Event("asked", wish, moment.utc, moment.utc, first.batch)))
    wished = with_change_reason(replace(found, steps=(first, second)), before, "you would wait 9 min", asked)
    assert wished.changed.endswith("; as you asked")


@pytest.mark.parametrize(("time", "says"), [("13:37:10", "13:39: rested; "), ("13:39:10", "")])
def test_a_burst_is_advised_with_the_minute_its_rest_is_over(time: str, says: str) -> None:
    """10 had its burst from 13:32 to 13:36 and rests 3 min: done as soon as it is read, 13:38 would scorch it."""
    day = day_of([*painted("10", "tray 1", "13:20"), heat_on("13:32", "10", 1, "microwave 1")], PLAN)
    moment = now(time)
    found = forecast(day, moment, evaluations=60)
    (load,) = [s for s in found.steps if s.batch == "10" and (s.kind, s.heat_no) == (StepKind.LOAD, 2)]
    reason = timed_reason(replace(load, start=moment.utc), found, day)
    assert reason.startswith(says)
    assert bool(says) or "rested" not in reason


def test_heat_that_was_taken_off_is_not_advised_again_by_the_forecast_before_it() -> None:
    """The line said "heat off" and Enter offered to rinse the hot yarn."""
    found = forecast(day_of(STEAMED, PLAN), now("14:34"), evaluations=30)
    assert any(s.batch == "10" and s.kind is StepKind.UNLOAD for s in found.next_steps)
    off = at("14:35", event="load", batches=["10"], to="cool", unit="steamer 1", heat_no=3, run="end")
    lines = advice(day_of([*STEAMED, off], PLAN), now("14:35:20"), 5, found)
    assert ("10", "heat off steamer 1") not in [(item.about, item.do) for item in lines]


def test_a_sink_is_asked_to_be_emptied_from_the_last_minute_of_its_rinse() -> None:
    """Eight minutes for 400 g: in the last of them the next batch would else stand before it."""
    wet = [at("13:00", "10", to="paint"), at("13:10", "10", to="cool"), at("14:20:30", "10", to="rinse")]
    for time, asked in (("14:26", False), ("14:28", True)):
        rows = next_up(day_of(wet, PLAN), now(time))
        assert [item.why.startswith("rinsed? 7 min") for item in rows if item.about == "10"] == [asked]


@pytest.mark.parametrize("sinks", [1, 0])
@pytest.mark.parametrize(("other", "waits"), [("06", True), ("11", False)])
def test_another_colour_is_rinsed_once_the_one_in_the_sink_or_in_hands_is_out(
    other: str, waits: bool, sinks: int
) -> None:
    """10 and 06 are of two colours, 10 and 11 of one; from its last minute on 10 is foreseen to be out."""
    kit = tuple(one for one in PLAN.kit if sinks or one.kind is not KitKind.SINK)
    plan = replace(PLAN, kit=kit, chores=(), batches=tuple(b for b in PLAN.batches if b.no in (other, "10")))
    cool = [at("13:00", no, to=to) for to in ("paint", "cool") for no in ("10", other)]
    wet = day_of([*cool, at("20:00", "10", to="rinse", **({"unit": "sink 1"} if sinks else {}))], plan)
    found = forecast(wet, now("20:07"), evaluations=20)
    items = advice(wet, now("20:07"), 9, found)
    (line,) = [item for item in items if item.about == other]
    assert (line.do, line.why == "once 10 is rinsed") == ("rinse", waits)
    before = [(item.about, item.why) for item in items[: items.index(line)]]
    assert before == ([("10", "when it is rinsed")] if waits else [])
    offers = [item.do for item in next_up(wet, now("20:07")) if other in item.abouts]
    assert offers == ([] if waits else [f"rinse{' in sink 1' if sinks else ''}"])


@pytest.mark.parametrize(
    ("time", "out", "why_not"),
    [
        ("17:55", False, "18:45: takes 8 min, and your break is at 18:00"),
        ("17:55", True, "18:45: takes 8 min, and you leave at 18:00"),
        ("18:10", False, "18:45: cool since 15:00"),
    ],
)
def test_work_that_does_not_fit_before_a_break_says_so(time: str, *, out: bool, why_not: str) -> None:
    """From 18:00 to 18:45; rinsing 400 g takes 8 min."""
    plan = replace(PLAN, chores=(), batches=tuple(batch for batch in PLAN.batches if batch.no == "10"))
    session = plan.session
    plan = replace(plan, session=replace(session, out=session.breaks, breaks=())) if out else plan
    cool = day_of([*painted("10", "tray 1", "13:30"), at("14:00", "10", to="cool")], plan)
    (line,) = [item for item in advice(cool, now(time), 9, forecast(cool, now(time), evaluations=20)) if item.about]
    assert (line.do, line.why) == ("rinse", why_not)


def test_once_all_heat_is_off_the_top_line_says_when_the_rinsing_ends_next_day() -> None:
    """A night for heat alone: its finish is not what rinsing everything tonight would make it."""
    lines = [*painted("01", "tray 1", "21:20"), heat_on("21:40", "01", 1, "steamer 1")]
    off = at("22:25", event="load", batches=["01"], to="cool", unit="steamer 1", heat_no=1, run="end")
    steaming, cooling = (day_of(some, PLAN) for some in (lines, [*lines, off]))
    text = fit_text(forecast(steaming, now("22:15"), evaluations=20), "UTC")
    assert "last heat off 2" in text
    text = fit_text(forecast(cooling, now("23:05"), evaluations=20), "UTC")
    assert re.fullmatch(r"1 of 16 through heat · rinsed by Mon 1\d:\d\d", text)


def test_yarn_that_can_only_wait_for_a_unit_cannot_be_put_off() -> None:
    """01 lies in a steamer that broke down, and 02 has the other until 11:30."""
    both = [*soaked("01"), *soaked("02", unit="tray 2"), *heated("01")[:2], *heated("02", unit="steamer 2")[:2]]
    day, moment = day_of([*both, at("10:45", event="unit", unit="steamer 1", is_="down")]), now("10:46")
    found = forecast(day, moment, evaluations=30)
    (line,) = [item for item in advice(day, moment, 8, found) if item.about == "01"]
    assert line.do == "wait for steamer 2, from 11:30"
    assert "01" not in [step.batch for step in advised_steps(day, moment, 9, found)]
